"""The strokes that close boxes in: rules and frames, joined where they nearly meet, and panels."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.sheet.rows import RULE
from proofcheck.sheet.sift import are_frames
from proofcheck.sheet.surrounds import find_surrounds

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Box
    from proofcheck.sheet.pieces import Pieces
    from proofcheck.sheet.surrounds import Surround

__all__ = ["box_strokes", "with_panels"]

_CORNER: Final = 0.6
"""Widest gap where two rules of a box should meet, in common letter heights …"""
_MOST_PX: Final = 30
"""… and in pixels of the picture worked on: large type says nothing of how tickets stand apart."""
_BROKEN_PX: Final = 5
"""Widest gap in a frame that is no ruled one: what hangs on it may come close to the next."""


def box_strokes(
    pieces: Pieces, labels: NDArray[np.int32], ruled: Pieces, size: float, *, least: int
) -> NDArray[np.uint8] | None:
    """Rules and frames drawn by themselves, those that nearly meet joined.

    None for fewer than `least` of either direction: a panel has a side of each.
    """
    level, upright = _straight(pieces, size)
    # What was taken off as a rule may be thick beside small type, and short beside large.
    also_level = ruled.width > RULE * ruled.height
    also_upright = ruled.height > RULE * ruled.width
    frames, surrounds = are_frames(pieces, labels), find_surrounds(pieces, labels)
    most = [np.count_nonzero(each) for each in (level, upright, also_level, also_upright)]
    if not (frames.any() or surrounds) and min(most[0] + most[2], most[1] + most[3]) < least:
        return None
    table = np.concatenate([[False], level | upright | frames]).astype(np.uint8)
    mask = table[labels]
    for at in np.flatnonzero(also_level | also_upright):
        across = slice(int(ruled.x[at]), int(ruled.right[at]))
        mask[int(ruled.y[at]) : int(ruled.bottom[at]), across] = 1
    reach = min(max(int(_CORNER * size), 3), _MOST_PX)
    strokes = np.asarray(cv2.dilate(mask, np.ones((reach, reach), np.uint8)), np.uint8)
    return np.maximum(strokes, _of_surrounds(labels, surrounds)) if surrounds else strokes


def _of_surrounds(
    labels: NDArray[np.int32], surrounds: Mapping[int, Surround]
) -> NDArray[np.uint8]:
    """Frames known by what they hold, closed where the sides of their boxes close them."""
    table = np.zeros(int(labels.max()) + 1, np.uint8)
    table[np.array(list(surrounds)) + 1] = 1
    mask = table[labels]
    for surround in surrounds.values():
        for side in surround.sides:
            mask[side.y : side.bottom, side.x : side.right] = 1
    return np.asarray(cv2.dilate(mask, np.ones((_BROKEN_PX, _BROKEN_PX), np.uint8)), np.uint8)


def with_panels(strokes: NDArray[np.uint8], panels: Sequence[Box]) -> NDArray[np.uint8]:
    """The rules, and the sides of the panels that any of them goes on from: they close a box."""
    closed = strokes.copy()
    for box in panels:
        corners = (box.x, box.y), (box.right - 1, box.bottom - 1)
        ring = cv2.rectangle(np.zeros_like(strokes), *corners, 1, 3)
        if cv2.countNonZero(cv2.bitwise_and(ring, strokes)):
            closed = np.maximum(closed, np.asarray(ring, np.uint8))
    return closed


def _straight(pieces: Pieces, size: float) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Which pieces are level strokes, and which upright ones."""
    level = (pieces.width > 6 * size) & (pieces.height < 0.5 * size)
    upright = (pieces.height > 4 * size) & (pieces.width < 0.5 * size)
    return level, upright
