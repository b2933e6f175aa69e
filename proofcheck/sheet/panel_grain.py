"""What an uneven impression leaves white in a black panel, cleared away round its lettering."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.sheet.again import held_by
from proofcheck.sheet.light import PAPER
from proofcheck.sheet.pieces import find_pieces, ink_mask

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.values import Grey, Line
    from proofcheck.sheet.lines import Laid

__all__ = ["POINT", "without_grain", "without_specks"]

_GRAIN: Final = 0.8
"""Specks in a panel that no line holds are smaller than its smallest x-height by this."""
_SPECK: Final = 0.4
POINT: Final = 3.0
"""Specks of a starved panel are smaller than its letters by this, and no larger than so many times
the usual one: points are."""
_ROUND_PX: Final = 9
"""Half of this round a panel's ink its greys are kept: fine strokes print grey."""


def without_grain(patch: Grey, laid: Laid, small: Sequence[Line]) -> Grey:
    """The turned panel without what an uneven impression leaves white in it, specks and greys.

    Rows of smaller type than the lines it was known by are no specks. Beside the sheet's other ink
    the greys would count as ink.
    """
    pieces = laid.pieces
    least = _GRAIN * min(line.x_height_px for line in laid.lines) / laid.step
    held = held_by((*laid.lines, *small), laid, laid.members)
    grain = (np.maximum(pieces.width, pieces.height) < least) & ~held
    table = np.concatenate([[False], ~grain]).astype(np.uint8)
    kept = cv2.dilate(table[laid.labels], np.ones((_ROUND_PX, _ROUND_PX), np.uint8))
    kept = cv2.resize(kept, patch.shape[::-1], interpolation=cv2.INTER_NEAREST)
    return np.where(kept > 0, patch, np.uint8(PAPER)).astype(np.uint8)


def without_specks(patch: Grey, but: float = np.inf) -> Grey:
    """The turned panel without what a starved impression leaves white in it all over.

    There are more specks than letters, but the letters are the larger by far. Those so many times
    as large as the usual one are left, as points are.
    """
    pieces, labels = find_pieces(ink_mask(patch))
    if not len(pieces):
        return patch
    order = np.argsort(pieces.height)
    weight = np.cumsum((pieces.area * pieces.height)[order])
    tall = float(pieces.height[order][np.searchsorted(weight, weight[-1] / 2)])
    speck = np.maximum(pieces.height, pieces.width) < _SPECK * tall
    if speck.any():
        speck &= pieces.area < but * float(np.median(pieces.area[speck]))
    gone = np.concatenate([[False], speck])[labels]
    return np.where(gone, np.uint8(PAPER), patch)
