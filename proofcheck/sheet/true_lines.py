"""Which rows of pieces are lines, no bits of others, strokes of drawings or dirt; in what order."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.sheet.drawings import is_drawn
from proofcheck.sheet.sharing import ABOVE_X, BELOW_X, LEAST_OF_ROW, is_clear
from proofcheck.sheet.sift import are_blots

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Box
    from proofcheck.sheet.baselines import Fit
    from proofcheck.sheet.pieces import Pieces

__all__ = ["Row", "in_order", "true_lines"]

_LEAST_X_HEIGHT_PX = 8
"""Letters smaller than this, and than half the common size, are the texture of a cut."""
_THINNEST = 0.36
"""A lone piece narrower than this and no taller than small letters is a sliver (x-heights)."""
_LEVEL = 0.5
"""Lines of one block are level whose baselines are no further apart, in x-heights."""
_CAPITALS = 1.4
"""Height of capitals, in x-heights."""
_LARGE = 2.2
"""Type that is so many times as tall as another's small letters is of another size: capitals with
tails or accents are less."""
_REACH_OF_BITS, _REACH_OF_ROW = 2.6, 1.2
"""How far beside a line its points and quotes stand, in x-heights; and how far several letters that
are no line by themselves: further off stands a side note."""
_SMALL_FIGURES = 1.3
"""Inferior and superior figures are no taller (x-heights of their line): those of seven points in
matter of ten are as high as its x-height or a little more, as also on a catalogue of 1880."""


@dataclass(frozen=True, slots=True, eq=False)
class Row:
    """A line on its way: its pieces, its column and, once fitted, its geometry."""

    members: NDArray[np.intp]
    block: int
    """Place in reading order of the block of matter it stands in."""
    column: int


def true_lines(
    pieces: Pieces,
    labels: NDArray[np.int32],
    rows: Sequence[Row],
    fits: Sequence[Fit],
    boxes: Sequence[Box] = (),
) -> list[tuple[Row, Fit]]:
    """Leave out bits of other lines, strokes of drawings, what stands alone out of proportion.

    Args:
        pieces: all pieces of ink.
        labels: their map.
        rows: what may be lines.
        fits: the geometry of each.
        boxes: those that the rules of the sheet make: what stands in one is not beside the matter.
    """
    common = float(np.median(np.repeat([f.x_height for f in fits], [f.letters for f in fits])))
    long = [row.members for row in rows if len(row.members) >= 8]
    measure = (-np.inf, np.inf)
    if long:
        held = pieces.take(np.concatenate(long))
        measure = (
            min([float(held.x.min()), *(box.x for box in boxes)]),
            max([float(held.right.max()), *(box.right for box in boxes)]),
        )
    parts = _are_parts(pieces, rows, fits)
    return [
        (row, fit)
        for row, fit, part in zip(rows, fits, parts, strict=True)
        if not part
        and not is_drawn(pieces, labels, row.members)
        and fit.x_height > min(0.5 * common, _LEAST_X_HEIGHT_PX)
        and not _is_dirt(
            pieces.take(row.members), are_blots(pieces, labels, row.members), common, measure
        )
    ]


def _is_dirt(
    mine: Pieces, blots: NDArray[np.bool_], common: float, measure: tuple[float, float]
) -> bool:
    """Nothing but blots or bits of rule; or one or two pieces beside the matter or out of size.

    The narrowest letter or figure that stands alone, an I without serifs, is as wide as its stem.
    """
    if blots.all() or (mine.width < 0.2 * mine.height).all():
        return True
    if len(mine) > 2:
        return False
    tall, wide = float(mine.height.max()), float(mine.right.max() - mine.x.min())
    if wide < _THINNEST * common and tall < 1.2 * common:
        return True
    middle = float(mine.x.min() + mine.right.max()) / 2
    if not measure[0] < middle < measure[1] or mine.y.min() == 0:
        return True
    height = float(mine.bottom.max() - mine.y.min())
    return not 0.7 * common < height < 6 * common


def _are_parts(pieces: Pieces, rows: Sequence[Row], fits: Sequence[Fit]) -> NDArray[np.bool_]:
    """Which rows are commas, quotes, an initial or touching letters in the height of a longer row.

    Small matter close under or over a large line is a line of its own: the body keeps its middle
    clear of that height.
    """
    table = [_extent(pieces.take(row.members)) for row in rows]
    x, right, top, bottom, count = np.array(table).T
    blocks = np.array([row.block for row in rows])
    level, slope, size = np.array([(f.level, f.slope, f.x_height) for f in fits]).T
    parts = np.zeros(len(rows), bool)
    for index in range(len(rows)):
        off = _REACH_OF_ROW if count[index] >= LEAST_OF_ROW else _REACH_OF_BITS
        reach = np.where(blocks == blocks[index], off * size, 0.0)
        beside = (count > count[index]) & (right[index] > x - reach) & (x[index] < right + reach)
        base = level + slope * (x[index] + right[index]) / 2
        tall = bottom[index] - top[index]
        shared = np.minimum(base, bottom[index]) - np.maximum(base - size, top[index])
        middle = (base - (top[index] + bottom[index]) / 2) / size
        within = (tall < size) & (middle > -BELOW_X) & (middle < ABOVE_X)
        if count[index] >= LEAST_OF_ROW:
            within &= ~is_clear(top[index], bottom[index], base, size)
        within |= shared > 0.5 * np.minimum(size, tall)
        # A price or a number in large type between words is no touching letters nor an initial.
        large = (count[index] >= LEAST_OF_ROW) & (tall > _LARGE * size)
        for host in np.flatnonzero(beside & within & large).tolist():
            within[host] = not _is_clear_of(pieces, rows[index].members, rows[host].members)
        found = beside & within
        small = beside & (tall < _SMALL_FIGURES * size) & (middle > -BELOW_X) & (middle < ABOVE_X)
        parts[index] = found.any() or any(
            _stands_in_a_gap(pieces, rows[index].members, rows[host].members)
            for host in np.flatnonzero(small).tolist()
        )
    return parts


def _stands_in_a_gap(pieces: Pieces, mine: NDArray[np.intp], others: NDArray[np.intp]) -> bool:
    """Whether a row stands between two letters of another, as an inferior figure does."""
    left, right = pieces.x[mine].min(), pieces.right[mine].max()
    before, behind = pieces.right[others] <= left, pieces.x[others] >= right
    return bool(before.any() and behind.any() and _is_clear_of(pieces, mine, others))


def _is_clear_of(pieces: Pieces, mine: NDArray[np.intp], others: NDArray[np.intp]) -> bool:
    """Whether no letter of another row stands over, under or in the width of a row."""
    left, right = pieces.x[mine].min(), pieces.right[mine].max()
    return not ((pieces.x[others] < right) & (pieces.right[others] > left)).any()


def _extent(row: Pieces) -> tuple[float, float, float, float, int]:
    """Left and right end, median top and bottom, number of pieces."""
    return (
        float(row.x.min()),
        float(row.right.max()),
        median(row.y.tolist()),
        median(row.bottom.tolist()),
        len(row),
    )


def in_order(
    pieces: Pieces, lines: Sequence[tuple[Row, Fit]], middle: float
) -> list[tuple[Row, Fit]]:
    """Blocks as they come, each from top to bottom, and what is level from left to right."""
    levels: list[list[tuple[Row, Fit]]] = []
    for row, fit in sorted(lines, key=lambda line: (line[0].block, float(line[1].at(middle)))):
        over = levels[-1][0] if levels else None
        if over and over[0].block == row.block and _are_level(pieces, over, (row, fit), middle):
            levels[-1].append((row, fit))
        else:
            levels.append([(row, fit)])
    return [
        line
        for level in levels
        for line in sorted(level, key=lambda line: float(pieces.x[line[0].members].min()))
    ]


def _are_level(
    pieces: Pieces, over: tuple[Row, Fit], under: tuple[Row, Fit], middle: float
) -> bool:
    """Whether two lines stand on a level: one baseline, or small type centred beside large."""
    high, low = float(over[1].at(middle)), float(under[1].at(middle))
    small, large = over[1].x_height, under[1].x_height
    if low - high < _LEVEL * min(small, large):
        return True
    one, other = over[0].members, under[0].members
    beside = pieces.right[one].max() < pieces.x[other].min()
    beside |= pieces.right[other].max() < pieces.x[one].min()
    return bool(beside and high - small > low - _CAPITALS * large)
