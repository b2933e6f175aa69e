"""Paint out the background of a sheet that runs out of its picture."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.sheet.quads import (
    areas_of,
    is_paper,
    log_level,
    quads_of,
    side_lines,
    weakest_steps,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.base.values import Grey

__all__ = ["background_hidden"]

_WORK_PX: Final = 720
_LEAST_STEP: Final = 0.25
"""Natural logarithm: more than for a whole sheet, as fewer sides bear witness."""
_LEAST_SHARE: Final = 0.2
_MOST_BRIGHT_OUTSIDE: Final = 0.1
"""Share of what would be painted out that may be as bright as paper: text beyond a dark cut
stands on paper, a bench does not."""


def background_hidden(grey: Grey) -> tuple[Grey, tuple[tuple[float, float], ...]]:
    """The picture with paper in place of a dark background on two or three of its sides.

    With fewer than four sides in sight the perspective is not known; the sheet stays as it lies.
    A picture without such a background comes back unchanged.

    Returns:
        The picture, and the outline (x, y) within which nothing was painted; no points where
        nothing was painted at all.
    """
    scale = min(1.0, _WORK_PX / max(grey.shape))
    reduced = cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    small = np.asarray(reduced, np.uint8)
    quad = _visible_part(small)
    if quad is None:
        return grey, ()
    inside = np.zeros(small.shape, np.uint8)
    cv2.fillConvexPoly(inside, np.round(quad).astype(np.int32), 1)
    inside = np.asarray(cv2.erode(inside, np.ones((5, 5), np.uint8)), np.uint8)  # the edge's shade
    mask = cv2.resize(inside, (grey.shape[1], grey.shape[0]), interpolation=cv2.INTER_NEAREST)
    hidden = grey.copy()
    hidden[mask == 0] = np.percentile(small[inside > 0], 75)
    return hidden, _outline(inside, scale)


def _outline(inside: NDArray[np.uint8], scale: float) -> tuple[tuple[float, float], ...]:
    """Corners of what lies within a reduced mask, whichever way that was rounded."""
    within = cv2.erode(np.pad(inside, 1), np.ones((3, 3), np.uint8))[1:-1, 1:-1]
    points = cv2.findNonZero(within)
    if points is None:
        return ()
    hull = cv2.convexHull(points).reshape(-1, 2) / scale
    return tuple((float(x), float(y)) for x, y in hull)


def _visible_part(small: Grey) -> NDArray[np.float64] | None:
    """Corners of the part of the sheet in sight, in pixels of the reduced picture."""
    height, width = small.shape
    level = log_level(small)
    across, down = side_lines(level)
    frame_across = np.array([(0.0, 1.0, 0.0), (0.0, 1.0, 1.0 - height)])
    frame_down = np.array([(1.0, 0.0, 0.0), (1.0, 0.0, 1.0 - width)])
    quads = quads_of(np.vstack([across, frame_across]), np.vstack([down, frame_down]), small.shape)
    if len(quads) == 0:
        return None
    steps = weakest_steps(level, quads, frame_sides=2)
    areas = areas_of(quads)
    worth = np.minimum(steps, 2 * _LEAST_STEP) * np.sqrt(areas)
    worth[(steps < _LEAST_STEP) | (areas < _LEAST_SHARE * small.size)] = 0.0
    best = int(np.argmax(worth))
    if worth[best] <= 0 or not is_paper(small, level, quads[best]):
        return None
    return quads[best] if _is_dark_outside(small, quads[best]) else None


def _is_dark_outside(small: Grey, quad: NDArray[np.float64]) -> bool:
    inside = np.zeros(small.shape, np.uint8)
    cv2.fillConvexPoly(inside, np.round(quad).astype(np.int32), 1)
    wide = cv2.dilate(inside, np.ones((9, 9), np.uint8))
    outside = small[wide == 0]
    if len(outside) < 0.01 * small.size:
        return False
    paper = float(np.percentile(small[inside > 0], 70))
    return bool((outside > 0.8 * paper).mean() < _MOST_BRIGHT_OUTSIDE)
