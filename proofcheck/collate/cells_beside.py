"""Cells of several lines side by side that were read across: each is read by itself.

The head of a table, a name of two lines beside its number, what a brace holds: their lines stand
level with no others, or with some, and row by row the cells run into one another. Nor do the last
lines under columns belong to them where they stand apart, level with each other.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import replace
from itertools import pairwise
from statistics import median
from typing import TYPE_CHECKING

from proofcheck.base.values import Box
from proofcheck.collate.gutters import Lists
from proofcheck.collate.parted_lines import LEVEL, by_rows, foot_of, parted, wide_whites

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from proofcheck.base.values import Line, Reading

__all__ = ["cells_in", "feet_in"]

_MOST = 10
"""Lines that stand round one another in cells."""
_BESIDE = 0.5
"""Share of the lower one's height to which cells stand beside one another."""
_GRID = 3
"""So many rows level with each other are of lists, not of two cells."""
_APART = 1.3
"""So many times the distance of the lines over it a line at the foot stands from them."""
_NEAR = 3
"""Lines over it that are looked at for that."""
_MOST_FEET = 6

_Set = tuple["Line", "Reading"]


def cells_in(held: Sequence[_Set]) -> list[Lists]:
    """Ways to read stretches of one sheet's lines cell by cell, the shortest first.

    Cells have white between them all the way down. One that comes before another though some of it
    stands lower must stand beside it: what stands wholly under it is out of its place.
    """
    found: dict[tuple[int, ...], Lists] = {}
    for size in range(2, _MOST + 1):
        for first in range(len(held) - size + 1):
            way = _cell_by_cell(held, first, first + size)
            if way is not None:
                found.setdefault(_changed(held[first : first + size], way), way)
    return list(found.values())


def _changed(window: Sequence[_Set], way: Lists) -> tuple[int, ...]:
    """What a way changes: where, and what stands there instead."""
    was, now = ([line.box for line, _ in lines] for lines in (window, way.lines))
    while was and now and was[-1] == now[-1]:
        was, now = was[:-1], now[:-1]
    same = next(at for at, box in enumerate(now) if box != was[at])
    return (way.first + same, *(side for box in now[same:] for side in (box.x, box.y)))


def _cell_by_cell(held: Sequence[_Set], first: int, end: int) -> Lists | None:
    """A stretch of lines read cell by cell; None where that changes nothing or may not be."""
    window = held[first:end]
    cuts = _cuts(window)
    cells: list[list[_Set]] = [[] for _ in range(len(cuts) + 1)]
    come: dict[int, int] = {}
    for at, one in enumerate(window):
        for part in parted([one], cuts):
            come[id(part)] = at
            cells[bisect_right(cuts, part[0].box.x)].append(part)
    cells = [by_rows(cell) for cell in cells if cell]
    lines = [one for cell in cells for one in cell]
    turns = [come[id(one)] for one in lines]
    if turns == sorted(turns) or not _stand(cells):
        return None
    column = min(line.column for line, _ in window)
    numbered = [
        (replace(line, column=column + at), reading)
        for at, cell in enumerate(cells)
        for line, reading in cell
    ]
    apart = not any(_level_rows(one, other) for one, other in _taken(cells))
    return Lists(first, end, numbered, _level(cells, lines), apart)


def _level(
    cells: Sequence[list[_Set]], lines: Sequence[_Set]
) -> tuple[tuple[tuple[int, int], tuple[int, int]], ...]:
    """Where two rows go through two cells that are taken out of them."""
    place = {id(one): at for at, one in enumerate(lines)}
    return tuple(
        ((place[id(upper[0])], place[id(lower[0])]), (place[id(upper[1])], place[id(lower[1])]))
        for one, other in _taken(cells)
        for upper, lower in pairwise(_level_rows(one, other))
    )


def _cuts(window: Sequence[_Set]) -> list[float]:
    """Middles of the white that runs down all of some lines."""
    inked: list[tuple[float, float]] = []
    for line, reading in window:
        gaps = wide_whites((line, reading))
        edges = [float(line.box.x), *(side for gap in gaps for side in gap), float(line.box.right)]
        inked += zip(edges[::2], edges[1::2], strict=True)
    cuts, reach = [], float("inf")
    for left, right in sorted(inked):
        if left > reach:
            cuts.append((reach + left) / 2)
        reach = right if reach == float("inf") else max(reach, right)
    return cuts


def _stand(cells: Sequence[list[_Set]]) -> bool:
    """Whether all cells that are taken out of their rows stand beside those they come before."""
    return all(
        _are_beside(one, other) and len(_level_rows(one, other)) < _GRID
        for one, other in _taken(cells)
    )


def _taken(cells: Sequence[list[_Set]]) -> list[tuple[list[_Set], list[_Set]]]:
    """Two and two, cells of which some of the second stands over some of the first."""
    return [
        (one, other)
        for at, one in enumerate(cells)
        for other in cells[at + 1 :]
        if foot_of(other[0][0]) < foot_of(one[-1][0]) - LEVEL * one[-1][0].x_height_px
    ]


def _are_beside(one: Sequence[_Set], other: Sequence[_Set]) -> bool:
    left, right = (Box.around(line.box for line, _ in cell) for cell in (one, other))
    shared = min(left.bottom, right.bottom) - max(left.y, right.y)
    return shared >= _BESIDE * min(left.height, right.height)


def _level_rows(one: Sequence[_Set], other: Sequence[_Set]) -> list[tuple[_Set, _Set]]:
    """Lines of two cells that stand in one row; what has neither letter nor figure is no line."""
    ours, theirs = ([o for o in cell if any(map(str.isalnum, o[1].text))] for cell in (one, other))
    return [
        (mine, its)
        for mine in ours
        for its in theirs
        if abs(foot_of(mine[0]) - foot_of(its[0]))
        < LEVEL * min(mine[0].x_height_px, its[0].x_height_px)
    ]


def feet_in(held: Sequence[_Set]) -> Iterator[Lists]:
    """Ways to read the last rows under columns after all of them, where they stand apart."""
    first = 0
    for end in range(1, len(held) + 1):
        if end < len(held) and held[end][0].column >= held[end - 1][0].column:
            continue
        yield from _feet(held, first, end)
        first = end


def _feet(held: Sequence[_Set], first: int, end: int) -> Iterator[Lists]:
    """Those of lines whose columns follow one another."""
    zone = by_rows(held[first:end])
    for count in range(2, min(len(zone), _MOST_FEET) + 1):
        last = zone[-count:]
        columns = {line.column for line, _ in last}
        if len(columns) > 1 and all(_stands_apart(c, held[first:end], last) for c in columns):
            begin = next(k for k in range(first, end) if held[k] in last)
            rest = [one for one in held[begin:end] if one not in last]
            yield Lists(begin, end, [*rest, *last])


def _stands_apart(column: int, zone: Sequence[_Set], last: Sequence[_Set]) -> bool:
    """Whether the first of some lines has more white over it than those over it in its column."""
    feet = sorted(foot_of(line) for line, _ in zone if line.column == column)
    top = min(foot_of(line) for line, _ in last if line.column == column)
    above = [foot for foot in feet if foot < top]
    steps = [b - a for a, b in pairwise(above[-_NEAR - 1 :])]
    return bool(steps) and top - above[-1] > _APART * median(steps)
