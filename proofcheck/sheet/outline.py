"""The corners of a sheet whose sides are bent: by its outline, where no straight sides make it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["quad_of_outline"]

_LEAST_SHARE: Final = 0.1
"""A sheet smaller than this share of the picture is too far off to read."""
_LEAST_STEP: Final = 0.3
"""Natural logarithm: the desk lies so far below the paper, the light's slope left out."""
_FULL: Final = 0.9
"""Share of its four corners' area that the paper fills at least, and it of them."""
_COARSER: Final = tuple(0.01 * step for step in range(1, 9))
"""How far, as shares of the outline's length, it is smoothed till four corners are left."""


def quad_of_outline(level: NDArray[np.float32]) -> NDArray[np.float64] | None:
    """Corners round the one light sheet in a picture, or None where there is no such thing.

    All of the sheet must lie in the picture. The sides are laid along the outermost of the paper,
    so that none of it is lost.

    Args:
        level: logarithm of brightness with the type closed over, as `quads.log_level` gives it.

    Returns:
        (4, 2) corners, clockwise from top left, in pixels of `level`.
    """
    paper = _paper(level)
    if paper is None:
        return None
    outlines, _ = cv2.findContours(paper, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    hull = cv2.convexHull(max(outlines, key=cv2.contourArea)).reshape(-1, 2).astype(np.float64)
    quad = _four_corners(hull)
    if quad is None:
        return None
    area, inked = _area(quad), float(np.count_nonzero(paper))
    if not (_FULL < inked / max(area, 1.0) < 1 / _FULL):
        return None
    return _widened(_clockwise(quad), hull)


def _paper(level: NDArray[np.float32]) -> NDArray[np.uint8] | None:
    """The largest light part of the picture, holes filled; None if it runs out of the picture."""
    low, high = float(level.min()), float(level.max())
    if high - low < _LEAST_STEP:
        return None
    scaled = ((level - low) * (255 / (high - low))).astype(np.uint8)
    _, light = cv2.threshold(scaled, 0, 1, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(np.asarray(light, np.uint8))
    if count < 2:
        return None
    best = 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))
    x, y, wide, high_px = (int(stats[best, side]) for side in range(4))
    inside = x > 1 and y > 1 and x + wide < level.shape[1] - 1 and y + high_px < level.shape[0] - 1
    paper = np.asarray(labels == best, np.uint8)
    step = float(np.median(level[paper > 0]) - np.median(level[paper == 0])) if inside else 0.0
    if step < _LEAST_STEP or stats[best, cv2.CC_STAT_AREA] < _LEAST_SHARE * level.size:
        return None
    return paper


def _four_corners(hull: NDArray[np.float64]) -> NDArray[np.float64] | None:
    outline = hull.astype(np.float32).reshape(-1, 1, 2)
    length = cv2.arcLength(outline, closed=True)
    for share in _COARSER:
        smooth = cv2.approxPolyDP(outline, share * length, closed=True).reshape(-1, 2)
        if len(smooth) == 4:
            return np.asarray(smooth, np.float64)
    return None


def _clockwise(quad: NDArray[np.float64]) -> NDArray[np.float64]:
    """Corners from the top left on, x to the right and y down."""
    middle = quad.mean(axis=0)
    order = np.argsort(np.arctan2(*(quad - middle).T[::-1]))
    turned = quad[order]
    return np.roll(turned, -int(np.argmin(turned.sum(axis=1))), axis=0)


def _widened(quad: NDArray[np.float64], hull: NDArray[np.float64]) -> NDArray[np.float64]:
    """The corners with each side moved out to the outermost of the paper along it."""
    lines = []
    for start, end in zip(quad, np.roll(quad, -1, axis=0), strict=True):
        along = (end - start) / max(float(np.hypot(*(end - start))), 1e-9)
        outward = np.array([along[1], -along[0]])
        out = max(0.0, float(((hull - start) @ outward).max()))
        lines.append(np.append(outward, -float(outward @ start) - out))
    corners = [np.cross(lines[at - 1], lines[at]) for at in range(4)]
    return np.array([corner[:2] / corner[2] for corner in corners])


def _area(quad: NDArray[np.float64]) -> float:
    return float(cv2.contourArea(quad.astype(np.float32)))
