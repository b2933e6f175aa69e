"""Where the signs of each line stand in the margin.

Signs of one line stand in the order of their places in it, left to right, in one row; where a
line has more than a row holds they go on in the next row. Rows keep to their line's height as
nearly as they can without touching, and always keep the order of the lines.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from proofcheck.marks.paths import Drawing, Extent, extent

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["Group", "Placed", "Sign", "least_moved", "place_groups"]

FIRST_ROW = 10.0
"""Longest row to begin with, in units of the pen's x-height; rows grow where the page is full."""
_GROWTH = 1.35
SIGN_GAP = 0.62
ROW_GAP = 0.16
CROWDED = 4
"""From this many signs on one side of one line a lead line is drawn to them."""


@dataclass(frozen=True, slots=True, eq=False)
class Sign:
    """A sign to be placed: its fault's id and its strokes from x = 0, y up, in units."""

    fault: str
    drawing: Drawing
    held: Extent


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """The signs of one line on one side, left to right as their places in it."""

    line: int
    baseline: float
    """Of the printed line, in units from the sheet's top, downwards."""
    signs: tuple[Sign, ...]


@dataclass(frozen=True, slots=True)
class Placed:
    """A sign's place: how far out its left edge and how far down its baseline, in units."""

    sign: Sign
    line: int
    row: int
    from_row_start: float
    """From the left end of its row."""
    row_width: float
    baseline: float
    displaced: float
    """How far its line's first row stands from the line's own height."""


def sign_of(fault: str, drawing: Drawing, pen: float) -> Sign:
    """A sign with the room it needs, the pen's width included."""
    held = extent(drawing)
    half = pen / 2 * 1.7
    return Sign(
        fault,
        drawing,
        Extent(held.left - half, held.low - half, held.right + half, held.high + half),
    )


def place_groups(groups: Sequence[Group], room: float) -> list[Placed]:
    """A place for every sign, all groups on one side.

    Args:
        groups: in the order of their lines down the sheet.
        room: height there is for them, in units; rows are made longer until they fit it.
    """
    if not groups:
        return []
    longest = max([FIRST_ROW, *(s.held.width for g in groups for s in g.signs)])
    rows = [_rows(group, longest) for group in groups]
    while sum(map(_height, rows)) > room and any(len(r) > 1 for r in rows):
        longest *= _GROWTH
        rows = [_rows(group, longest) for group in groups]
    wanted = [g.baseline - _ascent(r[0]) for g, r in zip(groups, rows, strict=True)]
    tops = least_moved(wanted, [_height(r) for r in rows])
    placed = []
    for group, group_rows, top, want in zip(groups, rows, tops, wanted, strict=True):
        placed.extend(_place(group, group_rows, top, top - want))
    return placed


def _place(group: Group, rows: list[list[Sign]], top: float, displaced: float) -> list[Placed]:
    out = []
    for number, row in enumerate(rows):
        baseline = top + _ascent(row)
        width, x = _width(row), 0.0
        for sign in row:
            out.append(
                Placed(sign, group.line, number, x - sign.held.left, width, baseline, displaced)
            )
            x += sign.held.width + SIGN_GAP
        top += _ascent(row) + _descent(row) + ROW_GAP
    return out


def _rows(group: Group, longest: float) -> list[list[Sign]]:
    rows: list[list[Sign]] = [[]]
    for sign in group.signs:
        if rows[-1] and _width([*rows[-1], sign]) > longest:
            rows.append([])
        rows[-1].append(sign)
    return rows


def _width(row: list[Sign]) -> float:
    return sum(s.held.width for s in row) + SIGN_GAP * (len(row) - 1)


def _ascent(row: list[Sign]) -> float:
    return max(s.held.high for s in row)


def _descent(row: list[Sign]) -> float:
    return max(-s.held.low for s in row)


def _height(rows: list[list[Sign]]) -> float:
    return sum(_ascent(r) + _descent(r) + ROW_GAP for r in rows)


def least_moved(wanted: Sequence[float], heights: Sequence[float]) -> list[float]:
    """Tops of blocks in order, none overlapping, the sum of squared shifts the least possible.

    This is isotonic regression of the wanted tops less the heights above them, by pooling
    neighbours that are out of order (Ayer and others, Ann. Math. Statist. 26, 1955).
    """
    pools: list[tuple[float, int]] = []
    above = 0.0
    offsets = []
    for want, height in zip(wanted, heights, strict=True):
        offsets.append(above)
        pools.append((want - above, 1))
        above += height
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            (a, m), (b, n) = pools[-2:]
            pools[-2:] = [((a * m + b * n) / (m + n), m + n)]
    levels = [mean for mean, count in pools for _ in range(count)]
    return [level + offset for level, offset in zip(levels, offsets, strict=True)]
