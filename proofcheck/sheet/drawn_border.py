"""Borders drawn by hand round all that a sheet holds: lines of ink that close on themselves.

It is not straight all round, as a ruled frame is (its corners may be scooped out or rounded), and
is not made of parts that come again, as ornaments are; a drawing has strokes inside it that hang
together with its outline, or there is nothing else on the sheet. There may be several: one within
the other, or alike and side by side, as on tickets several up.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.sheet.sift import are_frames

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.sheet.pieces import Pieces

__all__ = ["find_drawn_borders"]

_THIN: Final = 0.08
"""Share of its box that its ink fills at most."""
_WHITE: Final = 0.7
"""Share of its box that the one white inside it fills at least."""
_ROUND_ALL: Final = 0.95
"""Share of the sheet's other ink that it holds."""
_LEAST: Final = 0.3
"""Share of the sheet's height and width that a border round all of it has at least."""
_OF_MANY: Final = 0.12
"""The same of one of several."""
_HELD: Final = 12
"""Pieces that a border holds at least."""
_ALIKE_PX: Final = 6
"""Borders of one make differ in height and width by no more."""


def find_drawn_borders(pieces: Pieces, labels: NDArray[np.int32]) -> NDArray[np.intp]:
    """Which pieces are borders drawn round all else, or round their part of it.

    Args:
        pieces: of the sheet.
        labels: their map.
    """
    height, width = labels.shape
    wide = (pieces.width > _OF_MANY * width) & (pieces.height > _OF_MANY * height)
    wide &= pieces.fill < _THIN
    # A ruled frame is taken off as rules are; neither it nor another border is what one goes round.
    matter = float(pieces.area[~wide].sum())
    held = {index: _inside(pieces, index) for index in np.flatnonzero(wide).tolist()}
    found: list[int] = []
    for index in (one for one, inside in held.items() if np.count_nonzero(inside) >= _HELD):
        alike = _alike(pieces, index, list(held))
        alone = len(alike) == 1
        whole = pieces.width[index] > _LEAST * width and pieces.height[index] > _LEAST * height
        inside = np.logical_or.reduce([held[one] for one in alike])
        if (alone and not whole) or float(pieces.area[inside & ~wide].sum()) < _ROUND_ALL * matter:
            continue
        mask = np.asarray(labels == index + 1, np.uint8)
        if _largest_white(mask) > _WHITE * pieces.width[index] * pieces.height[index]:
            found.append(index)
    if not found:
        return np.zeros(0, np.intp)
    ruled = are_frames(pieces, labels)
    return np.array([index for index in found if not ruled[index]], np.intp)


def _alike(pieces: Pieces, index: int, others: Sequence[int]) -> list[int]:
    """The borders of one make with this one, itself too."""
    return [
        one
        for one in others
        if abs(pieces.width[one] - pieces.width[index]) <= _ALIKE_PX
        and abs(pieces.height[one] - pieces.height[index]) <= _ALIKE_PX
    ]


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
