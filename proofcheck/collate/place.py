"""Find each printed line's place in the copy, whatever order the lines stand in.

Runs of a few letters that the proof and the copy share vote for a place; the heaviest chain of
places in rising order is the proof as it should run. The work grows with the length of the copy,
never with its square.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from proofcheck.collate.same import code_points

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

__all__ = ["Candidate", "Loose", "candidates", "chain", "loose"]

_GRAM = 6
"""Letters in a run that votes: about a word and a half of English."""
_SPREAD = 3
"""Votes whose offsets are at most so many letters apart are for the same place."""
_COMMON = 64
"""Runs of letters found oftener than this in the copy say too little to vote."""
_LINES_AT_ONCE = 1000
"""The runs of letters that lines share with the copy grow as both do: of 500 pages, taken together,
they would fill half a gigabyte."""
_MOST_PLACES = 24
"""Places kept for one line (a chorus, a table of like rows)."""
_LOOK_BACK = 600
"""Candidates looked back over when the chain is drawn."""


@dataclass(frozen=True, slots=True, eq=False)
class Loose:
    """A text's letters and figures alone, small."""

    codes: NDArray[np.uint32]
    at: NDArray[np.int64]
    """Where each stands in the compared form."""


def loose(text: str) -> Loose:
    """Letters and figures of a compared form, as small letters."""
    small = text.lower()
    if len(small) != len(text):
        small = "".join(low if len(low := char.lower()) == 1 else char for char in text)
    codes = code_points(small)
    kinds = np.unique(codes)
    kept = kinds[[chr(code).isalnum() for code in kinds]]
    at = np.flatnonzero(np.isin(codes, kept))
    return Loose(codes[at], at)


class Candidate(NamedTuple):
    """One place a line may have in the copy, in loose letters."""

    line: int
    """Place of the line among the lines, from 0."""
    start: int
    end: int
    votes: int
    share: float
    """Votes of all the line could give, 0 to 1."""


def candidates(copy: Loose, lines: Sequence[Loose]) -> list[Candidate]:
    """Places the lines may have, in order of the lines, best first within each."""
    copied, sizes = _grams(copy.codes), [len(one.codes) for one in lines]
    # One vote is no place but of a line that has no more; there are as many such as letters.
    found = [
        (first + row, start, votes)
        for first in range(0, len(lines), _LINES_AT_ONCE)
        for row, start, votes in _voted(copied, lines[first : first + _LINES_AT_ONCE])
        if votes > 1 or sizes[first + row] == _GRAM
    ]
    out: list[Candidate] = []
    by_line: dict[int, list[tuple[int, int]]] = {}
    for row, start, votes in found:
        by_line.setdefault(row, []).append((votes, start))
    for row in sorted(by_line):
        places = sorted(by_line[row], key=lambda place: (-place[0], place[1]))[:_MOST_PLACES]
        possible = sizes[row] - _GRAM + 1
        for votes, start in places:
            if votes >= max(2, places[0][0] // 4) or votes == possible:
                begin = max(0, start)
                end = min(len(copy.codes), start + sizes[row])
                out.append(Candidate(row, begin, end, votes, votes / possible))
    return out


def _voted(copied: NDArray[np.uint64], lines: Sequence[Loose]) -> list[tuple[int, int, int]]:
    """(line, start in copy, votes) for every place that letters of some lines vote for."""
    line, offset, gram = _grams_of_lines(lines)
    return _clustered(*_votes(copied, line, offset, gram)) if len(gram) else []


def _grams(codes: NDArray[np.uint32]) -> NDArray[np.uint64]:
    """A number for each run of letters, by the place it begins."""
    count = len(codes) - _GRAM + 1
    if count <= 0:
        return np.empty(0, dtype=np.uint64)
    total = np.zeros(count, dtype=np.uint64)
    for k in range(_GRAM):
        total = total * np.uint64(0x9E3779B97F4A7C15) + codes[k : k + count].astype(np.uint64)
    return total


def _grams_of_lines(
    lines: Sequence[Loose],
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.uint64]]:
    """Line, offset in it and number of every run of letters in the lines."""
    grams = [_grams(one.codes) for one in lines]
    sizes = [len(g) for g in grams]
    line = np.repeat(np.arange(len(lines)), sizes)
    offset = np.concatenate([np.arange(s) for s in sizes] or [np.empty(0, dtype=np.int64)])
    return line, offset.astype(np.int64), np.concatenate(grams or [np.empty(0, dtype=np.uint64)])


def _votes(
    copy: NDArray[np.uint64],
    line: NDArray[np.int64],
    offset: NDArray[np.int64],
    gram: NDArray[np.uint64],
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Line, copy place less place in line, and place in line, of every shared run of letters."""
    kinds, which, count = np.unique(gram, return_inverse=True, return_counts=True)
    slot = np.minimum(np.searchsorted(kinds, copy), len(kinds) - 1)
    shared = np.flatnonzero(kinds[slot] == copy)
    slot = slot[shared]
    often = np.bincount(slot, minlength=len(kinds))
    rare = often[slot] <= _COMMON
    shared, slot = shared[rare], slot[rare]
    by_kind = np.argsort(which, kind="stable")
    first = np.cumsum(count) - count
    repeats = count[slot]
    within = np.arange(repeats.sum()) - np.repeat(np.cumsum(repeats) - repeats, repeats)
    entry = by_kind[np.repeat(first[slot], repeats) + within]
    place = np.repeat(shared, repeats)
    return line[entry], place - offset[entry], offset[entry]


def _clustered(
    line: NDArray[np.int64], diagonal: NDArray[np.int64], within: NDArray[np.int64]
) -> list[tuple[int, int, int]]:
    """(line, start in copy, votes) for every place that any line's letters vote for."""
    if not len(line):
        return []
    order = np.lexsort((within, diagonal, line))
    line, diagonal = line[order], diagonal[order]
    new = np.ones(len(line), dtype=bool)
    new[1:] = (np.diff(line) != 0) | (np.diff(diagonal) > _SPREAD)
    begins = np.flatnonzero(new)
    votes = np.diff(np.append(begins, len(line)))
    middle = diagonal[begins + votes // 2]
    rows = line[begins]
    return list(zip(rows.tolist(), middle.tolist(), votes.tolist(), strict=True))


def chain(found: Sequence[Candidate], sizes: Sequence[int]) -> list[Candidate]:
    """The heaviest run of candidates in rising order of line and of copy.

    Args:
        found: candidates in order of the lines.
        sizes: loose letters in each line.
    """
    if not found:
        return []
    row = np.array([c.line for c in found])
    start = np.array([c.start for c in found], dtype=np.float64)
    end = np.array([c.end for c in found], dtype=np.float64)
    votes = np.array([c.votes for c in found], dtype=np.float64)
    before = np.concatenate([[0], np.cumsum(sizes)])
    # Overlap allowed at a join: a few letters, or a part of a short line.
    slack = np.minimum(12.0, 3 + 0.15 * (end - start))
    best, prior = votes.copy(), np.full(len(found), -1)
    for k in range(1, len(found)):
        low = max(0, k - _LOOK_BACK)
        seen = slice(low, k)
        fits = (row[seen] < row[k]) & (start[k] >= end[seen] - slack[seen])
        fits &= start[k] > start[seen]
        if not fits.any():
            continue
        between = before[row[k]] - before[row[seen] + 1]
        excess = np.abs(start[k] - end[seen] - between)
        score = best[seen] - np.minimum(8.0, 0.6 * np.log2(1 + excess))
        score[~fits] = -np.inf
        # Of equals the first, so that of two like lines the second is the one too many.
        at = int(np.argmax(np.round(score, 6)))
        if score[at] > 0:
            best[k] = votes[k] + score[at]
            prior[k] = low + at
    return _followed(found, prior, int(np.argmax(best)))


def _followed(found: Sequence[Candidate], prior: NDArray[np.int64], last: int) -> list[Candidate]:
    """The chain that ends at `last`."""
    links = []
    while last >= 0:
        links.append(found[last])
        last = int(prior[last])
    return links[::-1]
