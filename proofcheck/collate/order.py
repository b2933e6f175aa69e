"""The order of the printed lines against the copy's: lines doubled, strayed, swapped."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from rapidfuzz.distance import Indel

from proofcheck.collate.place import Candidate, Loose, candidates, chain

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["Order", "alike", "find_order", "steady_of", "stray_blocks"]

_SURE_SHARE = 0.5
"""Share of its letter runs a line out of order must have at its place to be put there."""
_SURE_VOTES = 3
_COVERED = 0.6
_ALIKE = 0.7
"""Likeness of two lines of which one is the other over again, faults and all."""


@dataclass(frozen=True, slots=True)
class Order:
    """What becomes of each line (by its place in the proof, from 0)."""

    places: dict[int, tuple[int, int]] = field(default_factory=dict)
    """About where in the copy's compared form, for lines that could be placed."""
    doubled: dict[int, int] = field(default_factory=dict)
    """Line that stands there twice → the one it repeats."""

    def sequence(self, count: int, left_out: frozenset[int] = frozenset()) -> list[int]:
        """All lines but doubled and left out ones, in order of the copy.

        A line that could not be placed follows the line it follows in the proof.
        """
        taken = left_out | self.doubled.keys()
        placed = sorted((k for k in self.places if k not in taken), key=lambda k: self.places[k])
        steady = set(_rising(placed))
        after: dict[int, list[int]] = {}
        last = -1
        for k in range(count):
            if k in taken:
                continue
            if k in self.places:
                # A line astray carries none with it, unless its neighbour strays too.
                last = k if k in steady or (k - 1 in self.places and k - 1 not in steady) else last
            else:
                after.setdefault(last, []).append(k)
        out = list(after.get(-1, []))
        for k in placed:
            out += [k, *after.get(k, [])]
        return out


def find_order(copy: Loose, lines: Sequence[Loose], skip: frozenset[int]) -> Order:
    """Place the lines; those in `skip` are left alone."""
    empty = Loose(np.empty(0, dtype=np.uint32), np.empty(0, dtype=np.int64))
    kept = [empty if k in skip else one for k, one in enumerate(lines)]
    found = candidates(copy, kept)
    main = chain(found, [len(one.codes) for one in kept])
    held = {c.line: (c.start, c.end) for c in main}
    spans = sorted((c.start, c.end, c.line) for c in main)
    order = Order()
    for line, options in _left_over(found, held).items():
        free = [c for c in options if _overlap(c, spans)[0] < 1 - _COVERED]
        if free:
            held[line] = (free[0].start, free[0].end)
            continue
        share, twin = _overlap(options[0], spans)
        if share >= _COVERED and alike(kept[line], kept[twin]):
            order.doubled[line] = twin
    order.places.update({k: _in_text(copy, span) for k, span in held.items()})
    return order


def alike(one: Loose, other: Loose) -> bool:
    """Whether two lines are the same but for a few letters."""
    return Indel.normalized_similarity(one.codes.tolist(), other.codes.tolist()) >= _ALIKE


def _in_text(copy: Loose, span: tuple[int, int]) -> tuple[int, int]:
    """A span of loose letters in the compared form."""
    return int(copy.at[span[0]]), int(copy.at[span[1] - 1]) + 1


def _left_over(
    found: Sequence[Candidate], held: dict[int, tuple[int, int]]
) -> dict[int, list[Candidate]]:
    """Good candidates of the lines outside the chain, best first."""
    out: dict[int, list[Candidate]] = {}
    for c in found:
        if c.line in held or c.share < _SURE_SHARE or c.votes < _SURE_VOTES:
            continue
        best = out.get(c.line)
        if best is None or c.votes >= 0.8 * best[0].votes:
            out.setdefault(c.line, []).append(c)
    return out


def _overlap(candidate: Candidate, spans: list[tuple[int, int, int]]) -> tuple[float, int]:
    """Greatest share of a candidate's place that one chained line holds, and that line."""
    at = bisect_left(spans, (candidate.start, 0, 0))
    best, line = 0.0, -1
    for start, end, row in spans[max(0, at - 3) : at + 3]:
        shared = min(end, candidate.end) - max(start, candidate.start)
        share = shared / max(1, candidate.end - candidate.start)
        if share > best:
            best, line = share, row
    return best, line


def _rising(sequence: Sequence[int]) -> list[int]:
    """The longest rising run (not of neighbours only) of a sequence."""
    tails: list[int] = []
    ends: list[int] = []
    prior: dict[int, int] = {}
    for value in sequence:
        at = bisect_left(tails, value)
        if at:
            prior[value] = ends[at - 1]
        if at == len(tails):
            tails.append(value)
            ends.append(value)
        else:
            tails[at] = ends[at] = value
    out: list[int] = []
    last = ends[-1] if ends else None
    while last is not None:
        out.append(last)
        last = prior.get(last)
    return out[::-1]


def steady_of(sequence: Sequence[int]) -> frozenset[int]:
    """The lines that stand in good order: as many as can be said to."""
    return frozenset(_rising(sequence))


def stray_blocks(sequence: Sequence[int]) -> list[list[int]]:
    """Runs of lines that stand out of order in the proof, as they follow one another.

    Lines that are in no order (foreign, doubled) part no run.

    Args:
        sequence: places in the proof of the lines, in order of the copy.
    """
    steady = steady_of(sequence)
    rank = {line: k for k, line in enumerate(sorted(sequence))}
    blocks: list[list[int]] = []
    for here, line in enumerate(sequence):
        if line in steady:
            continue
        before = sequence[here - 1] if here else None
        follows = blocks and blocks[-1][-1] == before and rank[before] == rank[line] - 1
        if follows:
            blocks[-1].append(line)
        else:
            blocks.append([line])
    return blocks
