"""Windows in a black cut: white places left in it for matter of their own, black on white."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.sheet.pieces import find_pieces

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.base.values import Grey

__all__ = ["find_windows", "is_window"]

_HOLDS: Final = 4
"""Pieces of ink in a window at least: no white letter has so many hollows."""
_CONVEX: Final = 0.88
"""Share of its hull that a window fills; white letters that touch, or a drawing, fill less."""
_WHITE: Final = 0.5
"""Share of it that is white at least, as of any matter set black on white."""
_INK: Final = 0.5
"""Ink is darker than this share of its paper."""
_SAME_PAPER: Final = 0.86
"""Paper is at least this share as bright as other paper of its sheet, on a flat-bed."""
_MATTER: Final = 6
"""Pieces beyond a window that make it one, and no sheet: black on paper, or white on the black."""
_PIECE_PX: Final = 3


def is_window(small: Grey, quad: NDArray[np.float64]) -> bool:
    """Whether a light place with black round it is a window in a cut, and not the sheet.

    Beyond the black the paper goes on to all four edges of the picture, and there is matter there,
    or in the black itself.

    Args:
        small: a reduced picture.
        quad: (4, 2) corners of the place in it.
    """
    inside = cv2.fillConvexPoly(np.zeros_like(small), quad.round().astype(np.int32), 1)
    if not inside.any():
        return False
    paper = float(np.median(small[inside > 0]))
    edges = (small[2], small[-3], small[:, 2], small[:, -3])
    if min(float(np.quantile(edge, 0.1)) for edge in edges) < _SAME_PAPER * paper:
        return False
    wide = cv2.dilate(inside, np.ones((9, 9), np.uint8))
    dark = np.where(wide > 0, 0, small < _INK * paper).astype(np.uint8)
    light = np.where(wide > 0, 0, 1 - dark).astype(np.uint8)
    close = cv2.dilate(wide, np.ones((3, 3), np.uint8)) - wide
    if float(np.mean(dark[close > 0])) < _SAME_PAPER:
        return False
    return any(_beside_largest(mask) >= _MATTER for mask in (dark, light))


def _beside_largest(mask: NDArray[np.uint8]) -> int:
    """How many pieces of some size there are beside the largest."""
    pieces, _ = find_pieces(mask)
    return int(np.count_nonzero(np.minimum(pieces.width, pieces.height) >= _PIECE_PX)) - 1


def find_windows(white: NDArray[np.uint8], least_px: float) -> NDArray[np.uint8]:
    """The windows in a black place, filled, as a mask of the same shape.

    Args:
        white: what is white within the place's outline, and does not hang together with the paper
            round it.
        least_px: a window's least width and height.
    """
    found = np.zeros_like(white)
    pieces, labels = find_pieces(white)
    large = np.minimum(pieces.width, pieces.height) > least_px
    for index in np.flatnonzero(large).tolist():
        x, y, right, bottom = (
            int(getattr(pieces, side)[index]) for side in ("x", "y", "right", "bottom")
        )
        own = np.asarray(labels[y:bottom, x:right] == index + 1, np.uint8)
        outlines, _ = cv2.findContours(own, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
        hull = float(cv2.contourArea(cv2.convexHull(np.vstack(outlines))))
        filled = cv2.drawContours(np.zeros_like(own), outlines, -1, 1, cv2.FILLED)
        window = np.asarray(filled, np.uint8)
        if cv2.countNonZero(window) > _CONVEX * hull and _holds_matter(
            window, white[y:bottom, x:right]
        ):
            found[y:bottom, x:right] |= window
    return found


def _holds_matter(window: NDArray[np.uint8], white: NDArray[np.uint8]) -> bool:
    """Whether a white place has ink in it as matter has: in pieces, and less than white."""
    ink = np.asarray(cv2.subtract(window, white), np.uint8)
    area = cv2.countNonZero(window)
    return area - cv2.countNonZero(ink) > _WHITE * area and len(find_pieces(ink)[0]) >= _HOLDS
