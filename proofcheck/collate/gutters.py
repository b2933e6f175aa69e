"""Lists set side by side that were read across: the same lines parted where a gutter runs down.

Two ragged lists level with each other are read as the rows of a table. White at one place in line
after line may as well be a gutter; only the copy can say.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import replace
from itertools import pairwise
from statistics import median
from typing import TYPE_CHECKING, NamedTuple

from proofcheck.base.values import Box, Reading

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from proofcheck.base.values import Letter, Line

__all__ = ["Lists", "lists_in", "other_orders"]

_WIDE = 1.4
"""Narrowest white that may be a gutter, in x-heights: a word space has some 0.7."""
_LEAST = 3
"""So many lines have it,"""
_PLAIN = 2.5
"""or two where it is as wide as this, in x-heights. Whether they are lists the copy says."""
_LEVEL = 0.5
"""Lines stand in one row whose baselines are no further apart, in x-heights."""

_APART = 1.3
"""So many times the usual distance a line at the foot stands from the column it is not of."""
_MOST_FEET = 6
"""Lines at a foot that may not be of the column they stand under."""

_Set = tuple["Line", "Reading"]


class _Zone(NamedTuple):
    """Lines following one another that are white at the same places."""

    first: int
    end: int
    widest: float
    """Where most lines are white, and of such places where they are so most widely."""
    cuts: tuple[float, ...]
    """All such places."""


class Lists(NamedTuple):
    """One way to read a stretch of one sheet's lines, up to before `end`: as lists side by side."""

    first: int
    end: int
    lines: list[_Set]
    """In place of the stretch."""


class _Whites(NamedTuple):
    """Where a line begins and ends, and its wide white."""

    left: int
    right: int
    x_height_px: float
    gaps: list[tuple[float, float]]


def other_orders(held: Sequence[_Set]) -> list[list[_Set]]:
    """Other orders in which one sheet's lines may as well be read; [] for none.

    Where the layout has columns: row by row, or with what stands under all other columns last.
    """
    if len({line.column for line, _ in held}) < 2:
        return []
    ways = [_by_rows(held), *_feet_last(held)]
    as_read = list(held)
    return [way for way in ways if way != as_read]


def _by_rows(held: Sequence[_Set]) -> list[_Set]:
    """The lines row by row, each from left to right."""
    rows: list[list[_Set]] = []
    for one in sorted(held, key=lambda each: _foot(each[0])):
        line = one[0]
        if rows and _foot(line) - _foot(rows[-1][0][0]) < _LEVEL * line.x_height_px:
            rows[-1].append(one)
        else:
            rows.append([one])
    return [one for row in rows for one in sorted(row, key=lambda each: each[0].box.x)]


def _feet_last(held: Sequence[_Set]) -> list[list[_Set]]:
    """The lines with one or more of those last that stand under all that is of other columns."""
    low = [
        one
        for one in held
        if all(_foot(one[0]) > _foot(line) for line, _ in held if line.column != one[0].column)
    ]
    ways = []
    for count in range(1, min(len(low), _MOST_FEET) + 1):
        last = low[-count:]
        if _stands_apart(last[0], held):
            ways.append([one for one in held if one not in last] + last)
    return ways


def _stands_apart(one: _Set, held: Sequence[_Set]) -> bool:
    """Whether there is more white over a line than is usual in its column."""
    feet = sorted(_foot(line) for line, _ in held if line.column == one[0].column)
    steps = [b - a for a, b in pairwise(feet)]
    at = feet.index(_foot(one[0]))
    return at > 0 and steps[at - 1] > _APART * median(steps)


def _foot(line: Line) -> float:
    return sum(line.baseline) / 2


def lists_in(held: Sequence[_Set]) -> list[list[Lists]]:
    """Ways to read one sheet's lines down the columns that gutters make: those of each stretch.

    From the foot upwards, so that one may be put in its place before the next is looked at.
    """
    whites = [
        _Whites(line.box.x, line.box.right, line.x_height_px, _gaps((line, read)))
        for line, read in held
    ]
    zones = _zones(held, whites, range(len(held)))
    return [list(_ways(held, whites, zone)) for zone in zones]


def _ways(held: Sequence[_Set], whites: Sequence[_Whites], zone: _Zone) -> Iterator[Lists]:
    """Ways to read a zone's lines down its columns.

    Where lines without white stand between, the list may begin after them. Lines under the gutter's
    last that stand on one side of it may be of the list or follow it. White beside the widest may
    part but numbers from their entries.
    """
    rows = [k for k in range(zone.first, zone.end) if _within(whites[k], zone.widest)]
    for first in (k for k in rows if k - 1 not in rows):
        for end in dict.fromkeys((zone.end, rows[-1] + 1)):
            for cuts in dict.fromkeys((zone.cuts, (zone.widest,))):
                yield Lists(first, end, _parted(held[first:end], cuts))


def _zones(held: Sequence[_Set], whites: Sequence[_Whites], among: range) -> Iterator[_Zone]:
    """The longest run of these lines that a gutter runs down, those below it and those above."""
    zone = _longest(held, whites, among)
    if zone is not None:
        yield from _zones(held, whites, range(zone.end, among.stop))
        yield zone
        yield from _zones(held, whites, range(among.start, zone.first))


def _longest(held: Sequence[_Set], whites: Sequence[_Whites], among: range) -> _Zone | None:
    """The longest run of these lines that a gutter runs down."""
    best: tuple[tuple[int, float], range, float] | None = None
    places = sorted({(a + b) / 2 for k in among for a, b in whites[k].gaps})
    for x in places:
        first = among.start
        for end in range(among.start, among.stop + 1):
            if end < among.stop and _clear(whites[end], x):
                continue
            widths = {k: _width_at(whites[k], x) for k in range(first, end)}
            rows = [k for k, width in widths.items() if width > 0]
            worth = len(rows), sum(widths.values())
            if _is_gutter([widths[k] for k in rows]) and (best is None or worth > best[0]):
                best = worth, range(rows[0], end), x
            first = end + 1
    if best is None:
        return None
    _, run, x = best
    return _Zone(run.start, run.stop, x, _cuts(held, whites, run, [x, *places]))


def _is_gutter(widths: Sequence[float]) -> bool:
    """Whether white of these widths, in x-heights, at one place in line after line may be one."""
    return len(widths) >= _LEAST or (len(widths) > 1 and min(widths) >= _PLAIN)


def _cuts(
    held: Sequence[_Set], whites: Sequence[_Whites], run: range, places: Sequence[float]
) -> tuple[float, ...]:
    """The first of some places, and the others where a gutter runs down these lines as well."""
    lines, within = held[run.start : run.stop], whites[run.start : run.stop]
    cuts: list[float] = []
    for x in places:
        widths = [width for one in within if (width := _width_at(one, x)) > 0]
        beside = all(_apart(lines, x, cut) for cut in cuts)
        if beside and _is_gutter(widths) and all(_clear(one, x) for one in within):
            cuts.append(x)
    return tuple(sorted(cuts))


def _gaps(one: _Set) -> list[tuple[float, float]]:
    """Wide white within a line: left and right edge."""
    line, reading = one
    letters = [letter for letter in reading.letters if letter.text != " "]
    found, reach = [], float("-inf")
    for letter in sorted(letters, key=lambda each: each.box.x):
        if letter.box.x - reach >= _WIDE * line.x_height_px and reach > float("-inf"):
            found.append((reach, float(letter.box.x)))
        reach = max(reach, float(letter.box.right))
    return found


def _within(one: _Whites, x: float) -> bool:
    """Whether a line has matter on both sides of wide white at a place."""
    return _width_at(one, x) > 0


def _width_at(one: _Whites, x: float) -> float:
    """How wide the white within a line is at a place, in x-heights; 0 where it is not wide."""
    gap = next((right - left for left, right in one.gaps if left < x < right), 0.0)
    return gap / one.x_height_px


def _clear(one: _Whites, x: float) -> bool:
    """Whether a line has wide white at a place, or ends before it or begins after it."""
    return x <= one.left or x >= one.right or _within(one, x)


def _apart(lines: Sequence[_Set], x: float, cut: float) -> bool:
    """Whether matter stands between two places, line after line."""
    low, high = sorted((x, cut))
    between = sum(
        any(low < letter.box.x < high for letter in reading.letters if letter.text != " ")
        for _, reading in lines
    )
    return between >= min(_LEAST, len(lines))


def _parted(held: Sequence[_Set], cuts: Sequence[float]) -> list[_Set]:
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
        start = next((k for k, letter in enumerate(letters) if letter.text != " "), None)
        if start is None:
            continue
        end = max(k for k, letter in enumerate(letters) if letter.text != " ") + 1
        kept = tuple(letters[start:end])
        out.append((column, (_cut_to(line, kept), Reading(line.number, kept))))
    return out if len(out) > 1 else [(out[0][0], one)] if out else []


def _cut_to(line: Line, letters: Sequence[Letter]) -> Line:
    """A line's part that holds some of its letters."""
    box = Box.around(letter.box for letter in letters)
    left, right = line.baseline
    slope = (right - left) / max(line.box.width, 1)
    foot = [left + slope * (x - line.box.x) for x in (box.x, box.right)]
    whole = Box(box.x, line.box.y, box.width, line.box.height)
    return replace(line, box=whole, baseline=(foot[0], foot[1]))
