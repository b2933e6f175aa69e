"""Dashed rules to cut by, upright between tickets: each dash by itself is as high as a letter."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.sheet.pieces import Pieces

__all__ = ["find_cut_rules"]

_LEAST = 8
"""Dashes in one rule."""
_SLENDER = 1.7
"""A dash is at least so many times as high as wide: some 2 in the rules of many typesetters."""
_THICK = 0.5
"""A dash is less wide than this share of the common letter's height."""
_SOLID = (0.6, 0.75)
"""Share of its box that a dash fills, and most of a rule: a figure with its serifs fills less."""
_EVEN = 0.25
"""Most dashes are one pitch apart, within this share of it."""
_WORN = 1.3
"""A dash worn out of shape is no higher than this, in heights of the others."""
_REACH = 0.8
"""Share of the height of the sheet's matter that a rule runs down beside it."""
_LEVEL = 0.12
"""Letters of one row are level within this share of their height."""
_MOSTLY = 0.6
"""Share of a column of letters that is level with others."""
_CLOSER = 1.7
"""Pitch of dashes in common letter heights, or in their own, at most: lines of type, of capitals
too, stand further apart unless they are set solid."""


def find_cut_rules(
    pieces: Pieces, letters: NDArray[np.bool_], size: float
) -> list[NDArray[np.intp]]:
    """The dashes of each upright cut rule, from head to foot; one rule a ticket it stands by.

    They stand under one another at an even pitch, closer than lines of type, nearly as far down as
    the sheet's matter goes, with white on both sides. A column of figures or capitals has the
    pitch of its lines.

    Args:
        pieces: all ink.
        letters: which may be letters.
        size: their common height, pixels.
    """
    slender = (pieces.height >= _SLENDER * pieces.width) & (pieces.width < _THICK * size)
    dashes = np.flatnonzero(slender & (pieces.height < 2 * size) & (pieces.fill > _SOLID[0]))
    if len(dashes) < _LEAST:
        return []
    dashes = dashes[np.argsort(pieces.middle[dashes])]
    parted = np.flatnonzero(np.diff(pieces.middle[dashes]) > 0.15 * size) + 1
    found: list[NDArray[np.intp]] = []
    wider = letters.copy()
    wider[dashes] = False
    for slender_ones in np.split(dashes, parted):
        column = _with_worn(pieces, slender_ones)
        rule = len(column) >= _LEAST and _is_rule(pieces, letters, column, size)
        if rule and not _are_level(pieces, wider, column):
            ordered = column[np.argsort(pieces.y[column])]
            white = pieces.y[ordered[1:]] - pieces.bottom[ordered[:-1]]
            found += np.split(ordered, np.flatnonzero(white > _CLOSER * size) + 1)
    return found


def _with_worn(pieces: Pieces, column: NDArray[np.intp]) -> NDArray[np.intp]:
    """A column of dashes with those in its line that wear has made less slender or less solid."""
    if len(column) < _LEAST:
        return column
    mine = pieces.take(column)
    spare = float(np.median(mine.width)) / 2
    inside = (pieces.x >= mine.x.min() - spare) & (pieces.right <= mine.right.max() + spare)
    inside &= pieces.height <= _WORN * float(np.median(mine.height))
    inside &= (pieces.y >= mine.y.min()) & (pieces.bottom <= mine.bottom.max())
    return np.union1d(column, np.flatnonzero(inside))


def _is_rule(
    pieces: Pieces, letters: NDArray[np.bool_], column: NDArray[np.intp], size: float
) -> bool:
    ordered = column[np.argsort(pieces.y[column])]
    steps = np.array([b - a for a, b in pairwise(pieces.y[ordered])])
    pitch = float(np.median(steps))
    even = np.mean(np.abs(steps - pitch) < _EVEN * pitch)
    others = letters.copy()
    others[column] = False
    solid = float(np.median(pieces.fill[column])) > _SOLID[1]
    high = max(size, float(np.median(pieces.height[column])))
    if not others.any() or not solid or even < 0.8 or pitch > _CLOSER * high:
        return False
    top, bottom = pieces.y[others].min(), pieces.bottom[others].max()
    beside_it = min(pieces.bottom[ordered[-1]], bottom) - max(pieces.y[ordered[0]], top)
    if beside_it < _REACH * (bottom - top):
        return False
    left, right = pieces.x[column].min() - size, pieces.right[column].max() + size
    beside = others & (pieces.right > left) & (pieces.x < right)
    return int(np.count_nonzero(beside)) <= len(column) // 8


def _are_level(pieces: Pieces, others: NDArray[np.bool_], column: NDArray[np.intp]) -> bool:
    """Whether most of a column are letters: level, at head and foot, with letters of their rows."""
    mine, rest = pieces.take(column), pieces.take(others)
    spare = _LEVEL * mine.height[:, None]
    level = np.abs(mine.y[:, None] - rest.y) < spare
    level &= np.abs(mine.bottom[:, None] - rest.bottom) < spare
    return bool(np.mean(level.any(axis=1)) > _MOSTLY)
