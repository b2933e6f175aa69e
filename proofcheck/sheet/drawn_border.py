"""Borders drawn by hand round all that a sheet holds: lines of ink that close on themselves.

It is not straight, as a ruled frame is, and does not come again, as ornaments do; a drawing has
strokes inside it that hang together with its outline, or there is nothing else on the sheet. There
may be several, one within the other.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.sheet.sift import are_frames

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.sheet.pieces import Pieces

__all__ = ["find_drawn_borders"]

_THIN: Final = 0.08
"""Share of its box that its ink fills at most."""
_WHITE: Final = 0.7
"""Share of its box that the one white inside it fills at least."""
_ROUND_ALL: Final = 0.95
"""Share of the sheet's other ink that it holds."""
_LEAST: Final = (0.3, 12)
"""Share of the sheet's height and width it has, and pieces it holds, at least."""


def find_drawn_borders(pieces: Pieces, labels: NDArray[np.int32]) -> NDArray[np.uint8] | None:
    """The ink of borders drawn round all else, as a mask; None where there are none.

    Args:
        pieces: of the sheet.
        labels: their map.
    """
    height, width = labels.shape
    wide = (pieces.width > _LEAST[0] * width) & (pieces.height > _LEAST[0] * height)
    wide &= pieces.fill < _THIN
    # A ruled frame is taken off as rules are; neither it nor another border is what one goes round.
    matter = float(pieces.area[~wide].sum())
    found: list[int] = []
    for index in np.flatnonzero(wide).tolist():
        held = _inside(pieces, index)
        if np.count_nonzero(held) < _LEAST[1]:
            continue
        if float(pieces.area[held & ~wide].sum()) < _ROUND_ALL * matter:
            continue
        mask = np.asarray(labels == index + 1, np.uint8)
        if _largest_white(mask) > _WHITE * pieces.width[index] * pieces.height[index]:
            found.append(index)
    drawn = np.zeros(len(pieces), bool)
    drawn[found] = True
    if not found or not (drawn := drawn & ~are_frames(pieces, labels)).any():
        return None
    return np.asarray(np.concatenate([[False], drawn])[labels], np.uint8)


def _inside(pieces: Pieces, index: int) -> NDArray[np.bool_]:
    level = (pieces.y + pieces.bottom) / 2
    held = (pieces.middle > pieces.x[index]) & (pieces.middle < pieces.right[index])
    held &= (level > pieces.y[index]) & (level < pieces.bottom[index])
    held[index] = False
    return np.asarray(held)


def _largest_white(mask: NDArray[np.uint8]) -> float:
    """Area of the largest white that the ink goes all round, pixels."""
    outlines, nesting = cv2.findContours(mask, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_SIMPLE)
    inner = [
        cv2.contourArea(each)
        for each, place in zip(outlines, nesting[0] if len(outlines) else (), strict=True)
        if place[3] >= 0
    ]
    return max(inner, default=0.0)
