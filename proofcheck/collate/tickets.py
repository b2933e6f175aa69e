"""How lines fall into tickets: the places of a sheet several up, by boxes or by white gutters."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from rapidfuzz.distance import Indel

from proofcheck.base.values import Box
from proofcheck.sheet.box_rows import in_rows

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from proofcheck.base.values import Line

__all__ = ["Gang", "gangs", "of_parts", "parts_of"]

_MOST_ACROSS, _MOST_DOWN = 8, 16
_GUTTER = 1.5
"""Narrowest white between two tickets side by side, in x-heights."""
_OFF_PITCH = 0.25
"""A gutter is at most so far from where even pitch has it, in pitches."""
_PARTS_ALIKE = 0.9
"""Likeness of two tickets' copy, figures left out of it."""
_MOST_PARTS, _MOST_ROWS = 64, 1000
_APART = 1.5
"""So many times the usual white between its lines a ticket stands from the next."""


class Gang(NamedTuple):
    """The places of one sheet, row by row, and the lines that stand on each."""

    places: tuple[tuple[int, ...], ...]
    """For each place the lines, by their place in the proof; none where it is empty."""
    across: int
    outside: tuple[int, ...] = ()
    """Lines that stand on no ticket."""
    plain: bool = True
    """Whether boxes or wide gutters show the places without the copy's help."""

    def order(self, *, down: bool) -> list[int]:
        """The places row by row, or column by column."""
        at = range(len(self.places))
        return sorted(at, key=lambda k: (k % self.across, k // self.across)) if down else list(at)


def gangs(lines: Sequence[Line], proof: Sequence[int]) -> list[Gang]:
    """Ways in which the lines of one sheet may stand on tickets, one alone among them.

    Args:
        lines: the sheet's lines.
        proof: the place of each in the proof, from 0.
    """
    if any(line.ticket for line in lines):
        return [_boxed(lines, proof)]
    return [Gang((tuple(proof),), 1), *_white(lines, proof)]


def of_parts(ways: Sequence[Gang], parts: int) -> list[Gang]:
    """Those ways that make so many tickets, then those that make one fewer."""
    full = [sum(1 for place in gang.places if place) for gang in ways]
    wanted = parts, parts - 1
    return [gang for want in wanted for gang, at in zip(ways, full, strict=True) if at == want]


def _boxed(lines: Sequence[Line], proof: Sequence[int]) -> Gang:
    """Tickets in boxes, as the layout numbered them; a row may lack some."""
    upright = [line for line in lines if line.home is None]
    numbers = sorted({line.ticket for line in upright} - {0})
    boxes = [Box.around(line.box for line in upright if line.ticket == n) for n in numbers]
    rows = in_rows(boxes)
    longest = max(rows, key=len)
    middles = [_middle(boxes[at]) for at in longest]
    places: list[tuple[int, ...]] = []
    for row in rows:
        held: list[tuple[int, ...]] = [()] * len(longest)
        for at in row:
            off = [abs(middle - _middle(boxes[at])) for middle in middles]
            column = off.index(min(off))
            mine = (k for k, line in zip(proof, lines, strict=True) if line.ticket == numbers[at])
            held[column] = (*held[column], *mine)
        places += held
    outside = tuple(k for k, line in zip(proof, lines, strict=True) if not line.ticket)
    return Gang(tuple(places), len(longest), outside)


def _middle(box: Box) -> float:
    return box.x + box.width / 2


def _white(lines: Sequence[Line], proof: Sequence[int]) -> Iterator[Gang]:
    """Tickets parted by white alone: at an even pitch, no line across the gutters.

    Those that stand upright tell; what is set sideways goes with the ticket it is printed on.
    """
    upright = [line for line in lines if line.home is None]
    size = float(np.median([line.x_height_px for line in upright])) if upright else 0.0
    sides = [(float(line.box.x), float(line.box.right)) for line in upright]
    heights = [(_foot(line) - line.x_height_px, _foot(line)) for line in upright]
    for across in range(1, _MOST_ACROSS + 1):
        columns = [[]] if across == 1 else _even(sides, across, _GUTTER * size)
        for down in range(1, _MOST_DOWN + 1):
            if across * down == 1 or across * down > len(upright) or not columns:
                continue
            for rows in [[]] if down == 1 else _even(heights, down, 0.5 * size):
                yield _gang(lines, proof, (columns[0], rows), heights)


def _foot(line: Line) -> float:
    return sum(line.baseline) / 2


def _gaps(spans: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """White between spans, from where the ink before ends to where the next begins."""
    found, reach = [], min(start for start, _ in spans)
    for start, end in sorted(spans):
        if start > reach:
            found.append((reach, start))
        reach = max(reach, end)
    return found


def _nearest(gaps: Sequence[tuple[float, float]], start: float) -> tuple[float, float]:
    """The gap after which something begins nearest to a place."""
    return min(gaps, key=lambda gap: abs(gap[1] - start))


def _even(spans: Sequence[tuple[float, float]], count: int, least: float) -> list[list[float]]:
    """Sets of cuts, in the middles of gaps, that part spans evenly into so many."""
    gaps = [gap for gap in _gaps(spans) if gap[1] - gap[0] >= least]
    first, last = min(start for start, _ in spans), max(end for _, end in spans)
    pitch = (last - first) / count
    widest, found = [], []
    for turn in range(1, count):
        near = [g for g in gaps if abs(sum(g) / 2 - first - turn * pitch) < _OFF_PITCH * pitch]
        if not near:
            return []
        widest.append(max(near, key=lambda g: g[1] - g[0]))
    found.append([sum(gap) / 2 for gap in widest])
    # The pitch as the heads of the tickets have it: one may have more white in it than below.
    for _, start in gaps:
        step = start - first
        if abs(step - pitch) > _OFF_PITCH * pitch:
            continue
        cut = [_nearest(gaps, first + turn * step) for turn in range(1, count)]
        off = [abs(g[1] - first - turn * step) for turn, g in enumerate(cut, start=1)]
        if max(off) < 0.6 * _OFF_PITCH * step:
            found.append([sum(gap) / 2 for gap in cut])
    return [list(cuts) for cuts in dict.fromkeys(map(tuple, found))]


def _gang(
    lines: Sequence[Line],
    proof: Sequence[int],
    cuts: tuple[Sequence[float], Sequence[float]],
    heights: Sequence[tuple[float, float]],
) -> Gang:
    columns, rows = cuts
    across = len(columns) + 1
    places: list[list[int]] = [[] for _ in range(across * (len(rows) + 1))]
    for k, line in zip(proof, lines, strict=True):
        foot = line.home.y + line.home.height / 2 if line.home else _foot(line)
        column = int(np.searchsorted(columns, _middle(line.home or line.box))) if columns else 0
        row = int(np.searchsorted(rows, foot)) if rows else 0
        places[row * across + column].append(k)
    gaps = _gaps(heights)
    between = [b - a for a, b in gaps if any(a < cut < b for cut in rows)]
    within = [b - a for a, b in gaps if not any(a < cut < b for cut in rows)]
    usual = float(np.median(within)) if within else 0.0
    plain = all(white >= _APART * usual for white in between) and bool(within)
    return Gang(tuple(map(tuple, places)), across, plain=plain)


def parts_of(copy: str, up: int = 0) -> int:
    """How many tickets the copy has, one after another: as many as it can be said to."""
    rows = [re.sub(r"\d", "0", " ".join(row.split())) for row in copy.split("\n") if row.strip()]
    if len(rows) > _MOST_ROWS:
        return 1
    counts = [n for n in range(min(len(rows) // 2, _MOST_PARTS), 1, -1) if len(rows) % n == 0]
    if up in counts:
        counts = [up, *counts]
    for count in counts:
        size = len(rows) // count
        parts = [" ".join(rows[at * size : (at + 1) * size]) for at in range(count)]
        alike = (Indel.normalized_similarity(parts[0], other) for other in parts[1:])
        if all(share >= _PARTS_ALIKE for share in alike):
            return count
    return 1
