"""One sheet's lines taken apart where they are white, and put row by row."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import replace
from itertools import pairwise
from statistics import median
from typing import TYPE_CHECKING

from proofcheck.base.values import Box, Reading

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from proofcheck.base.values import Letter, Line

__all__ = ["LEVEL", "bands_of", "by_rows", "foot_of", "part_of", "parted", "wide_whites"]

_WIDE = 1.4
"""Narrowest white that may be a gutter, in x-heights: a word space has some 0.7."""
_LEADERS = frozenset(".…·⸳")
LEVEL = 0.5
"""Lines stand in one row whose baselines are no further apart, in x-heights."""
_APART = 1.3
"""So many times the usual distance of two rows parts a band of them from the next …"""
_AS_WIDE = 0.8
"""… and so much of the widest there is is as wide."""
_WHITES = 2
"""So many widths of white between bands are tried."""

_Set = tuple["Line", "Reading"]


def wide_whites(one: _Set) -> list[tuple[float, float]]:
    """Wide white within a line: left and right edge; but for that between the points of leaders."""
    line, reading = one
    letters = [letter for letter in reading.letters if letter.text != " "]
    found, reach, before = [], float("-inf"), ""
    for letter in sorted(letters, key=lambda each: each.box.x):
        wide = letter.box.x - reach >= _WIDE * line.x_height_px and reach > float("-inf")
        if wide and not (before in _LEADERS and letter.text in _LEADERS):
            found.append((reach, float(letter.box.x)))
        reach, before = max(reach, float(letter.box.right)), letter.text
    return found


def foot_of(line: Line) -> float:
    """Height of a line's baseline in its middle, sheet pixels."""
    return sum(line.baseline) / 2


def by_rows(held: Sequence[_Set]) -> list[_Set]:
    """The lines row by row, each from left to right."""
    rows: list[list[_Set]] = []
    for one in sorted(held, key=lambda each: foot_of(each[0])):
        line = one[0]
        if rows and foot_of(line) - foot_of(rows[-1][0][0]) < LEVEL * line.x_height_px:
            rows[-1].append(one)
        else:
            rows.append([one])
    return [one for row in rows for one in sorted(row, key=lambda each: each[0].box.x)]


def bands_of(held: Sequence[_Set]) -> Iterator[list[list[_Set]]]:
    """Ways to part lines, in the order of their rows, into bands: the widest white first.

    So labels stand in a sheet of them: each band has one of them beside the other. A heading over
    the first may stand closer to it than they stand apart.
    """
    steps = [foot_of(b[0]) - foot_of(a[0]) for a, b in pairwise(held)]
    left = [step for step in steps if step >= _APART * median(steps)] if steps else []
    for _ in range(_WHITES):
        if not left:
            return
        least = _AS_WIDE * max(left)
        edges = [0, *(at for at, step in enumerate(steps, start=1) if step >= least), len(held)]
        yield [list(held[a:b]) for a, b in pairwise(edges)]
        left = [step for step in left if step < least]


def parted(held: Sequence[_Set], cuts: Sequence[float]) -> list[_Set]:
    """Lines parted at the cuts, the columns that makes from left to right."""
    columns: list[list[_Set]] = [[] for _ in range(len(cuts) + 1)]
    for one in held:
        for column, part in _parts(one, cuts):
            mine = replace(part[0], column=held[0][0].column + column)
            columns[column].append((mine, part[1]))
    return [part for column in columns for part in column]


def _parts(one: _Set, cuts: Sequence[float]) -> list[tuple[int, _Set]]:
    """A line parted at the cuts, and in which column each part stands."""
    line, reading = one
    columns: dict[int, list[Letter]] = {}
    for letter in reading.letters:
        at = bisect_right(cuts, letter.box.x + letter.box.width / 2)
        columns.setdefault(at, []).append(letter)
    out = []
    for column, letters in sorted(columns.items()):
        part = part_of(line, letters)
        if part is not None:
            out.append((column, part))
    return out if len(out) > 1 else [(out[0][0], one)] if out else []


def part_of(line: Line, letters: Sequence[Letter]) -> _Set | None:
    """A line's part with some of its letters, spaces at its ends left out; None for spaces only."""
    inked = [k for k, letter in enumerate(letters) if letter.text != " "]
    if not inked:
        return None
    kept = tuple(letters[inked[0] : inked[-1] + 1])
    return _cut_to(line, kept), Reading(line.number, kept)


def _cut_to(line: Line, letters: Sequence[Letter]) -> Line:
    """A line's part that holds some of its letters."""
    box = Box.around(letter.box for letter in letters)
    left, right = line.baseline
    slope = (right - left) / max(line.box.width, 1)
    foot = [left + slope * (x - line.box.x) for x in (box.x, box.right)]
    whole = Box(box.x, line.box.y, box.width, line.box.height)
    return replace(line, box=whole, baseline=(foot[0], foot[1]))
