"""Lists set side by side that were read across: the same lines parted where a gutter runs down.

Two ragged lists level with each other are read as the rows of a table. White at one place in line
after line may as well be a gutter; only the copy can say.
"""

from __future__ import annotations

from itertools import pairwise, product
from statistics import median
from typing import TYPE_CHECKING, NamedTuple

from proofcheck.collate.parted_lines import bands_of, by_rows, foot_of, parted, wide_whites

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from proofcheck.base.values import Line, Reading

__all__ = ["Lists", "lists_in", "lists_within", "other_orders"]

_LEAST = 3
"""So many lines have it,"""
_PLAIN = 2.5
"""or two where it is as wide as this, in x-heights. Whether they are lists the copy says."""

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
    above: tuple[float, ...]
    """Those of the lines down to the last that is white there: what follows may run across one."""


class _Run(NamedTuple):
    """Lines following one another that are white at one place, or end before or begin after it."""

    first: int
    end: int
    x: float
    rows: int
    white: float
    """Of so many rows, all together, in x-heights."""


class Lists(NamedTuple):
    """One way to read a stretch of one sheet's lines, up to before `end`: as lists side by side."""

    first: int
    end: int
    lines: list[_Set]
    """In place of the stretch."""
    level: tuple[tuple[tuple[int, int], tuple[int, int]], ...] = ()
    """Two by two, places among these of lines one over the other in cells level with each other:
    either pair must run on in the copy, or else the two in the middle have changed places."""
    between: bool = False
    """What is taken out of its row stands in none: level with no line of what it is taken from."""


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
    ways = [by_rows(held), *_feet_last(held)]
    as_read = list(held)
    return [way for way in ways if way != as_read]


def _feet_last(held: Sequence[_Set]) -> list[list[_Set]]:
    """The lines with one or more of those last that stand under all that is of other columns."""
    low = [
        one
        for one in held
        if all(foot_of(one[0]) > foot_of(line) for line, _ in held if line.column != one[0].column)
    ]
    ways = []
    for count in range(1, min(len(low), _MOST_FEET) + 1):
        last = low[-count:]
        if _stands_apart(last[0], held):
            ways.append([one for one in held if one not in last] + last)
    return ways


def _stands_apart(one: _Set, held: Sequence[_Set]) -> bool:
    """Whether there is more white over a line than is usual in its column."""
    feet = sorted(foot_of(line) for line, _ in held if line.column == one[0].column)
    steps = [b - a for a, b in pairwise(feet)]
    at = feet.index(foot_of(one[0]))
    return at > 0 and steps[at - 1] > _APART * median(steps)


def lists_in(held: Sequence[_Set]) -> list[list[Lists]]:
    """Ways to read one sheet's lines down the columns that gutters make: those of each stretch.

    From the foot upwards, so that one may be put in its place before the next is looked at.
    """
    whites = _whites(held)
    zones = _zones(held, whites, range(len(held)))
    return [list(_ways(held, whites, zone)) for zone in zones]


def lists_within(held: Sequence[_Set]) -> list[Lists]:
    """Ways to read one sheet's lines down any gutter that runs down some of them.

    Two tables side by side have more gutters than one, and that between them may end the soonest.
    """
    whites = _whites(held)
    runs = _runs(whites, range(len(whites)))
    places = [run.x for run in sorted(runs, key=lambda run: -run.white)]
    zones: dict[tuple[int, int], _Zone] = {}
    for run in sorted(runs, key=lambda run: (-run.rows, -run.white)):
        if run.rows >= _LEAST and (run.first, run.end) not in zones:
            zones[run.first, run.end] = _zone(held, whites, run, [run.x, *places])
    return [way for zone in zones.values() for way in _ways(held, whites, zone)]


def _whites(held: Sequence[_Set]) -> list[_Whites]:
    return [
        _Whites(line.box.x, line.box.right, line.x_height_px, wide_whites((line, read)))
        for line, read in held
    ]


def _ways(held: Sequence[_Set], whites: Sequence[_Whites], zone: _Zone) -> Iterator[Lists]:
    """Ways to read a zone's lines down its columns.

    Where lines without white stand between, the list may begin after them, or with lines over it
    that stand at its right. Lines under the gutter's last that stand on one side of it may be of
    the list or follow it, and so may the last row where it stands apart. White beside the widest
    may part but numbers from their entries, and any one of such places two tables.
    """
    rows = [k for k in range(zone.first, zone.end) if _within(whites[k], zone.widest)]
    firsts = [k for k in rows if k - 1 not in rows]
    firsts += _right_over(held, whites, zone)
    ends = [zone.end, rows[-1] + 1]
    if len(rows) > _LEAST and _is_apart([foot_of(held[k][0]) for k in rows]):
        ends.append(rows[-1])
    for first, end in product(firsts, dict.fromkeys(ends)):
        places = zone.cuts if end > rows[-1] + 1 else zone.above
        for cuts in dict.fromkeys((places, (zone.widest,), *((cut,) for cut in places))):
            yield Lists(first, end, parted(held[first:end], cuts))
            yield from _by_bands(held, first, end, cuts)


def _by_bands(
    held: Sequence[_Set], first: int, end: int, cuts: tuple[float, ...]
) -> Iterator[Lists]:
    """A stretch read band by band, each down its columns, as labels are that stand in a grid."""
    for bands in bands_of(held[first:end]):
        if any(len(band) > 1 for band in bands):
            yield Lists(first, end, [one for band in bands for one in parted(band, cuts)])


def _right_over(held: Sequence[_Set], whites: Sequence[_Whites], zone: _Zone) -> Iterator[int]:
    """Where a zone may begin with lines over it that stand at its right, no farther apart."""
    feet = [foot_of(line) for line, _ in held[zone.first : zone.end]]
    steps = [b - a for a, b in pairwise(feet) if b > a]
    for k in range(zone.first - 1, -1, -1):
        step = foot_of(held[k + 1][0]) - foot_of(held[k][0])
        if not steps or whites[k].left < zone.widest or not 0 < step <= _APART * median(steps):
            return
        yield k


def _is_apart(feet: Sequence[float]) -> bool:
    """Whether the last of some rows has more white over it than they usually have."""
    *steps, last = (b - a for a, b in pairwise(feet))
    return last > _APART * median(steps)


def _zones(held: Sequence[_Set], whites: Sequence[_Whites], among: range) -> Iterator[_Zone]:
    """The longest run of these lines that a gutter runs down, those below it and those above."""
    zone = _longest(held, whites, among)
    if zone is not None:
        yield from _zones(held, whites, range(zone.end, among.stop))
        yield zone
        yield from _zones(held, whites, range(among.start, zone.first))


def _longest(held: Sequence[_Set], whites: Sequence[_Whites], among: range) -> _Zone | None:
    """The longest run of these lines that a gutter runs down."""
    runs = _runs(whites, among)
    if not runs:
        return None
    best = max(runs, key=lambda run: (run.rows, run.white))
    places = [best.x, *(x for x in _places(whites, among) if x != best.x)]
    return _zone(held, whites, best, places)


def _zone(
    held: Sequence[_Set], whites: Sequence[_Whites], run: _Run, places: Sequence[float]
) -> _Zone:
    """A run of lines with the places where they are white."""
    last = max(k for k in range(run.first, run.end) if _within(whites[k], run.x))
    cuts = (_cuts(held, whites, range(run.first, end), places) for end in (run.end, last + 1))
    return _Zone(run.first, run.end, run.x, *cuts)


def _places(whites: Sequence[_Whites], among: range) -> list[float]:
    """Middles of the wide white within lines."""
    return sorted({(a + b) / 2 for k in among for a, b in whites[k].gaps})


def _runs(whites: Sequence[_Whites], among: range) -> list[_Run]:
    """Lines following one another that are white at one place, or end before it, for each place."""
    found = []
    for x in _places(whites, among):
        first = among.start
        for end in range(among.start, among.stop + 1):
            if end < among.stop and _clear(whites[end], x):
                continue
            widths = {k: _width_at(whites[k], x) for k in range(first, end)}
            rows = [k for k, width in widths.items() if width > 0]
            if _is_gutter([widths[k] for k in rows]):
                found.append(_Run(rows[0], end, x, len(rows), sum(widths.values())))
            first = end + 1
    return found


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
