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
    from collections.abc import Sequence

    from proofcheck.base.values import Letter, Line

__all__ = ["other_orders"]

_WIDE = 1.4
"""Narrowest white that may be a gutter, in x-heights: a word space has some 0.7."""
_LEAST = 3
"""So many lines have it."""
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
    cuts: tuple[float, ...]


class _Whites(NamedTuple):
    """Where a line begins and ends, and its wide white."""

    left: int
    right: int
    gaps: list[tuple[float, float]]


def other_orders(held: Sequence[_Set]) -> list[list[_Set]]:
    """Other orders in which one sheet's lines may as well be read; [] for none.

    Where the layout has columns: row by row, or with what stands under all other columns last.
    Where it has lines with wide white in them: down the columns that make of them.
    """
    ways = _down_the_columns(held)
    if len({line.column for line, _ in held}) > 1:
        ways += [_by_rows(held), *_feet_last(held)]
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


def _down_the_columns(held: Sequence[_Set]) -> list[list[_Set]]:
    """Ways to read one sheet's lines down the columns that gutters make of them; [] for none.

    Lines under the gutter's last that stand on one side of it may be of the list or follow it.
    """
    whites = [_Whites(line.box.x, line.box.right, _gaps((line, read))) for line, read in held]
    zone = _longest(held, whites)
    if zone is None:
        return []
    last = max(k for k in range(zone.first, zone.end) if _within(whites[k], zone.cuts[0]))
    ways = [zone] if last + 1 == zone.end else [zone, zone._replace(end=last + 1)]
    return [_parted(held, way) for way in ways]


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
    return any(left < x < right for left, right in one.gaps)


def _clear(one: _Whites, x: float) -> bool:
    """Whether a line has wide white at a place, or ends before it or begins after it."""
    return x <= one.left or x >= one.right or _within(one, x)


def _longest(held: Sequence[_Set], whites: Sequence[_Whites]) -> _Zone | None:
    """The longest run of lines that a gutter runs down."""
    best: tuple[int, _Zone] | None = None
    places = sorted({(a + b) / 2 for one in whites for a, b in one.gaps})
    for x in places:
        first = 0
        for end in range(len(held) + 1):
            if end < len(held) and _clear(whites[end], x):
                continue
            run = range(first, end)
            count = sum(_within(whites[k], x) for k in run)
            if count >= _LEAST and (best is None or count > best[0]):
                start = min(k for k in run if _within(whites[k], x))
                best = count, _Zone(start, end, (x,))
            first = end + 1
    return _with_more_cuts(held, whites, best[1], places) if best else None


def _with_more_cuts(
    held: Sequence[_Set], whites: Sequence[_Whites], zone: _Zone, places: Sequence[float]
) -> _Zone:
    """A zone with all the gutters that run down it."""
    lines, within = held[zone.first : zone.end], whites[zone.first : zone.end]
    cuts = list(zone.cuts)
    for x in places:
        beside = all(_apart(lines, x, cut) for cut in cuts)
        clear = all(_clear(one, x) for one in within)
        if beside and clear and sum(_within(one, x) for one in within) >= _LEAST:
            cuts.append(x)
    return zone._replace(cuts=tuple(sorted(cuts)))


def _apart(lines: Sequence[_Set], x: float, cut: float) -> bool:
    """Whether matter stands between two places, line after line."""
    low, high = sorted((x, cut))
    between = sum(
        any(low < letter.box.x < high for letter in reading.letters if letter.text != " ")
        for _, reading in lines
    )
    return between >= _LEAST


def _parted(held: Sequence[_Set], zone: _Zone) -> list[_Set]:
    """The lines before, the columns from left to right, the lines after."""
    columns: list[list[_Set]] = [[] for _ in range(len(zone.cuts) + 1)]
    first = held[zone.first][0].column
    for one in held[zone.first : zone.end]:
        for column, part in _parts(one, zone.cuts):
            columns[column].append((replace(part[0], column=first + column), part[1]))
    within = [part for column in columns for part in column]
    return [*held[: zone.first], *within, *held[zone.end :]]


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
