"""Rows that are no type but strokes of a drawing: dimension lines, outlines, broken frames."""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.sheet.pieces import Pieces

__all__ = ["is_drawn"]

_LONG = 1.5
"""Level strokes longer than this, in heights of the row's pieces, are in no letter: the bar of a T
is as long as it is high at most. Joined scripts have no level strokes so long."""
_SHARE = 0.45
"""Least share of a row's ink in such strokes; the serifs of letters that run together make up less
than a third."""
_FEW = 8
"""A row of more pieces is taken for letters unseen."""


def is_drawn(pieces: Pieces, labels: NDArray[np.int32], members: NDArray[np.intp]) -> bool:
    """Whether most of the ink of a row is in long level strokes.

    Args:
        pieces: all pieces of the sheet.
        labels: their map.
        members: the row's pieces.
    """
    mine = pieces.take(members)
    long = int(_LONG * float(np.median(mine.height)))
    if len(members) > _FEW or long < 4 or float(mine.width.max()) < long:
        return False
    window = (
        slice(int(mine.y.min()), int(mine.bottom.max())),
        slice(int(mine.x.min()), int(mine.right.max())),
    )
    mask = np.pad(np.isin(labels[window], members + 1), ((1, 1), (long, long))).astype(np.uint8)
    # A drawn stroke wavers by a pixel.
    thick = cv2.dilate(mask, np.ones((3, 1), np.uint8))
    level = cv2.morphologyEx(thick, cv2.MORPH_OPEN, np.ones((1, long), np.uint8))
    drawn = cv2.countNonZero(cv2.bitwise_and(level, mask))
    return drawn > _SHARE * cv2.countNonZero(mask)
