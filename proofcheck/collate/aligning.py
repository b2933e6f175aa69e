"""Lay the stream of printed lines on the copy, word by word and letter by letter."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.collate.edits import Edit, How
from proofcheck.collate.pair import block_edits
from proofcheck.collate.stream import Stream, Word, copy_words, proof_words
from proofcheck.collate.words import align_words

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from proofcheck.collate.pair import Matched

__all__ = ["Alignment", "lay"]

_FAR_APART = 2500
"""Copy between two placed lines past this is out, less a margin; it need not be searched."""
_MARGIN = 800
"""Copy kept on either side of such an out, and before the first and after the last line."""


@dataclass(frozen=True, slots=True, eq=False)
class Alignment:
    """The stream against the copy's compared form."""

    stream: Stream
    copy: str
    edits: tuple[Edit, ...]
    """In order of the stream."""
    copy_at: NDArray[np.int64]
    """For each character of the stream the one of the copy it agrees with, -1 for none."""

    def held_in(self, row: int) -> NDArray[np.int64]:
        """The characters of the copy that a line of the stream agrees with."""
        start, end = self.stream.line_start[row : row + 2]
        # A line end stands for the copy's space; it is of neither line.
        held = self.copy_at[start : end - 1]
        return held[held >= 0]

    def borne_out(self) -> list[float]:
        """For each line, the share of its letters and points that the copy bears out, 0 to 1."""
        starts = self.stream.line_start[:-1]
        if not len(starts):
            return []
        held = np.add.reduceat((self.copy_at >= 0).astype(np.int64), starts)
        # A hyphen of division is right without being in the copy.
        for edit in self.edits:
            if edit.how is How.DIVISION:
                held[self.stream.row(edit.p0)] += 1
        printed = [len(part.text) - part.text.count(" ") for part in self.stream.parts]
        return [min(1.0, int(h) / max(1, p)) for h, p in zip(held, printed, strict=True)]


def lay(
    stream: Stream,
    copy: str,
    anchors: Mapping[int, tuple[int, int]],
    breaks: frozenset[int] = frozenset(),
) -> Alignment:
    """Align the stream with the copy.

    Args:
        stream: the printed lines in the order of the copy.
        copy: its compared form.
        anchors: for rows of the stream placed beforehand, about where in `copy`.
        breaks: offsets of the spaces in `copy` that part two paragraphs; no dash links over them.
    """
    edits: list[Edit] = []
    copy_at = np.full(len(stream.text), -1, dtype=np.int64)
    done = 0
    for first, last, low, high in _segments(stream, copy, anchors):
        gap = max(0, int(stream.line_start[first]) - 1)
        edits += _left_out(copy, done, low, gap)
        found, matched = _laid(stream, copy, (first, last), (low, high), breaks)
        edits += found
        for c, p, size in matched:
            copy_at[p : p + size] = np.arange(c, c + size)
        done = high
    edits += _left_out(copy, done, len(copy), max(0, len(stream.text) - 1))
    edits = _with_hyphens(_merged(edits, stream.text, copy), stream.text, copy)
    edits = _instead_of_hyphens(edits, stream.text)
    edits = _first_of_twins(edits, copy, copy_at)
    return Alignment(stream, copy, tuple(edits), copy_at)


def _left_out(copy: str, start: int, end: int, gap: int) -> list[Edit]:
    """The words between two offsets of the copy, left out at one place of the proof."""
    words = copy[start:end].strip(" ")
    if not words:
        return []
    start += len(copy[start:end]) - len(copy[start:end].lstrip(" "))
    return [Edit(start, start + len(words), gap, gap, How.WORDS)]


def _segments(
    stream: Stream, copy: str, anchors: Mapping[int, tuple[int, int]]
) -> list[tuple[int, int, int, int]]:
    """(first row, last row, copy from, copy to), cut where much of the copy is out."""
    count = len(stream.order)
    rows = sorted(anchors)
    if not rows:
        return [(0, count, 0, len(copy))] if count else []
    lead = int(stream.line_start[rows[0]])
    low = _word_start(copy, anchors[rows[0]][0] - lead - _MARGIN)
    first, cuts = 0, []
    for here, there in pairwise(rows):
        end, start = anchors[here][1], anchors[there][0]
        between = int(stream.line_start[there] - stream.line_start[here + 1])
        if start - end - between > _FAR_APART:
            cuts.append((first, there, low, _word_start(copy, end + between + _MARGIN)))
            first, low = there, _word_start(copy, start - _MARGIN)
    tail = int(stream.line_start[-1] - stream.line_start[rows[-1] + 1])
    high = _word_start(copy, anchors[rows[-1]][1] + tail + _MARGIN)
    return [*cuts, (first, count, low, high)]


def _word_start(copy: str, at: int) -> int:
    """The nearest beginning of a word at or before an offset (the end, for one past it)."""
    if at >= len(copy):
        return len(copy)
    return copy.rfind(" ", 0, max(0, at)) + 1


def _laid(
    stream: Stream,
    copy: str,
    rows: tuple[int, int],
    part: tuple[int, int],
    breaks: frozenset[int],
) -> tuple[list[Edit], list[Matched]]:
    """One segment."""
    ours = copy_words(copy, *part, breaks)
    theirs = proof_words(stream, *rows, {word.text for word in ours})
    edits: list[Edit] = []
    matched: list[Matched] = []
    texts = (copy, stream.text)
    for block in align_words(ours, theirs):
        gap = (
            _gap(ours, block.ci, part[0]),
            _gap(theirs, block.pi, int(stream.line_start[rows[0]])),
        )
        found, agreed = block_edits(block, (ours, theirs), texts, gap)
        edits += found
        matched += agreed
    return edits, matched


def _gap(words: Sequence[Word], k: int, start: int) -> int:
    """Where something before word k is missing: the end of the word before it."""
    if not k:
        return words[0].start if words else start
    before = words[k - 1]
    return before.end - 2 if before.closes else before.end


def _merged(edits: list[Edit], proof: str, copy: str) -> list[Edit]:
    """Words left out on both sides of a line end, with halves of divided words, made one gap."""
    merged: list[Edit] = []
    for edit in edits:
        k = len(merged) - 1
        while k >= 0 and merged[k].how is How.DIVISION:
            k -= 1
        last = merged[k] if k >= 0 else None
        if last and _one_gap(last, edit, proof, copy):
            merged[k] = Edit(last.c0, edit.c1, last.p0, last.p0, How.WORDS)
        else:
            merged.append(edit)
    return merged


def _one_gap(first: Edit, second: Edit, proof: str, copy: str) -> bool:
    """Whether two pieces left out are one."""
    if first.p0 != first.p1 or second.p0 != second.p1 or How.WORDS not in (first.how, second.how):
        return False
    if copy[first.c1 : second.c0].strip(" "):
        return False
    between = proof[first.p0 : second.p0]
    if not between:
        # Within a line the end of a word and the words after it are two faults.
        return first.how is second.how or proof[first.p0 : first.p0 + 2] == "-\n"
    return between in ("\n", "-\n")


def _with_hyphens(edits: list[Edit], proof: str, copy: str) -> list[Edit]:
    """Hyphens at line ends that divide no word told as extra; gaps set after those that do."""
    out: list[Edit] = []
    moved: set[Edit] = set()
    for k, edit in enumerate(edits):
        if edit.how is not How.DIVISION:
            out.append(edit)
            continue
        beside = [e for e in edits[max(0, k - 2) : k + 3] if _touches(e, edit)]
        gap = next((e for e in beside if e.how is How.WORDS and _in_word(copy, e.c0)), None)
        if gap is None and edit.p1 >= len(proof):
            gap = next(iter(beside), None)
        if gap is not None:
            # What is out begins with the rest of the word: the hyphen is right as it stands.
            moved.add(gap)
            at = edit.p0 + 1
            out += [
                edit._replace(c0=gap.c0, c1=gap.c0),
                gap._replace(p0=at, p1=at, how=How.WORDS),
            ]
            continue
        start = min([edit.c0, *(e.c0 for e in beside)])
        end = max([edit.c1, *(e.c1 for e in beside)])
        divides = copy[start - 1 : start].strip() and copy[end : end + 1].strip()
        if divides:
            out.append(edit)
        else:
            out.append(Edit(edit.c0, edit.c1, edit.p0, edit.p0 + 1))
    return [edit for edit in out if edit not in moved]


def _instead_of_hyphens(edits: list[Edit], proof: str) -> list[Edit]:
    """A point too many where a divided word wants its hyphen: it stands in the hyphen's place."""
    out: list[Edit] = []
    for edit in edits:
        last = out[-1] if out else None
        if (
            last is not None
            and edit.how is How.BROKEN
            and last.how is How.LETTERS
            and (last.c0, last.p1) == (last.c1, edit.p0)
            and last.p1 - last.p0 == 1
            and not proof[last.p0].isalnum()
        ):
            out[-1] = last._replace(how=How.BROKEN)
        else:
            out.append(edit)
    return out


def _first_of_twins(edits: list[Edit], copy: str, copy_at: NDArray[np.int64]) -> list[Edit]:
    """One of two like letters missing at a hyphen told before it: words divide between the two."""
    out = list(edits)
    for k in range(len(out) - 1):
        hyphen, missing = out[k], out[k + 1]
        if hyphen.how is not How.DIVISION or missing.how is not How.LETTERS:
            continue
        c = hyphen.c0
        twin = (missing.c0, missing.c1) == (c + 1, c + 2) and copy[c] == copy[c + 1]
        if twin and missing.p0 == missing.p1 == hyphen.p1 + 1:
            out[k] = Edit(c, c + 1, hyphen.p0, hyphen.p0)
            out[k + 1] = hyphen._replace(c0=c + 1, c1=c + 1)
            copy_at[hyphen.p1] = c + 1
    return out


def _in_word(copy: str, at: int) -> bool:
    """Whether an offset lies inside a word."""
    return bool(copy[at - 1 : at].strip() and copy[at : at + 1].strip())


def _touches(edit: Edit, hyphen: Edit) -> bool:
    """Whether something is left out right at a hyphen."""
    left_out = edit.p0 == edit.p1 and edit.how in (How.WORDS, How.LETTERS)
    return left_out and edit.p0 in (hyphen.p0, hyphen.p1)
