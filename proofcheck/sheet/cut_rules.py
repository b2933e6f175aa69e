"""Dashed rules to cut by, upright between tickets: each dash by itself is as high as a letter."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.sheet.pieces import Pieces

__all__ = ["are_cut_dashes"]

_LEAST = 8
"""Dashes in one rule."""
_SLENDER = 2.5
"""A dash is at least so many times as high as wide."""
_EVEN = 0.25
"""Most dashes are one pitch apart, within this share of it."""
_REACH = 0.8
"""Share of the height of the sheet's matter that a rule runs down."""
_CLOSER = 1.6
"""Pitch of dashes in common letter heights, at most: lines of type stand further apart."""


def are_cut_dashes(pieces: Pieces, letters: NDArray[np.bool_], size: float) -> NDArray[np.bool_]:
    """The dashes of upright cut rules.

    They stand under one another at an even pitch, closer than lines of type, nearly as far down as
    the sheet's matter goes, with white on both sides. A column of figures or capitals has the
    pitch of its lines.

    Args:
        pieces: all ink.
        letters: which may be letters.
        size: their common height, pixels.
    """
    found = np.zeros(len(pieces), bool)
    slender = (pieces.height >= _SLENDER * pieces.width) & (pieces.width < 0.4 * size)
    dashes = np.flatnonzero(slender & (pieces.height < 2 * size) & (pieces.fill > 0.6))
    if len(dashes) < _LEAST:
        return found
    dashes = dashes[np.argsort(pieces.middle[dashes])]
    parted = np.flatnonzero(np.diff(pieces.middle[dashes]) > 0.15 * size) + 1
    for column in np.split(dashes, parted):
        if len(column) >= _LEAST and _is_rule(pieces, letters, column, size):
            found[column] = True
    return found


def _is_rule(
    pieces: Pieces, letters: NDArray[np.bool_], column: NDArray[np.intp], size: float
) -> bool:
    ordered = column[np.argsort(pieces.y[column])]
    steps = np.array([b - a for a, b in pairwise(pieces.y[ordered])])
    pitch = float(np.median(steps))
    even = np.mean(np.abs(steps - pitch) < _EVEN * pitch)
    others = letters.copy()
    others[column] = False
    if not others.any() or even < 0.8 or pitch > _CLOSER * size:
        return False
    top, bottom = pieces.y[others].min(), pieces.bottom[others].max()
    if pieces.bottom[ordered[-1]] - pieces.y[ordered[0]] < _REACH * (bottom - top):
        return False
    left, right = pieces.x[column].min() - size, pieces.right[column].max() + size
    beside = others & (pieces.right > left) & (pieces.x < right)
    return int(np.count_nonzero(beside)) <= len(column) // 8
