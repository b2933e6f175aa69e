"""Find a sheet of paper on the background it was photographed on: its four corners."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.sheet.outline import quad_of_outline
from proofcheck.sheet.quads import (
    areas_of,
    is_paper,
    log_level,
    quads_of,
    side_lines,
    weakest_steps,
)
from proofcheck.sheet.windows import is_window

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.base.values import Grey

__all__ = ["find_corners", "flat_size", "is_plain_rectangle"]

_WORK_PX: Final = 720
_LEAST_SHARE: Final = 0.2
"""A sheet smaller than this share of the picture is too far off to read anyway."""
_LEAST_STEP: Final = 0.1
"""Along each side the paper must be brighter than what lies outside by this much, in natural
logarithm of brightness: so the slope of the light plays no part."""
_ENOUGH_STEP: Final = 0.25


def find_corners(grey: Grey) -> NDArray[np.float64] | None:
    """Corners of the sheet, or None where it fills the picture or stands out from nothing.

    Straight steps of brightness are gathered, and of all quadrilaterals they make the largest is
    taken along whose four sides the paper is brighter than what lies outside.

    Returns:
        (4, 2) array of x, y in pixels of the picture: top left, top right, bottom right, bottom
        left, each to a fraction of a pixel where the sides are straight.
    """
    scale = min(1.0, _WORK_PX / max(grey.shape))
    small = _u8(cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA))
    level = log_level(small)
    quads = quads_of(*side_lines(level), small.shape)
    if len(quads) == 0:
        return _of_outline(level, scale)
    steps, areas = weakest_steps(level, quads), areas_of(quads)
    worth = np.minimum(steps, _ENOUGH_STEP) * np.sqrt(areas)
    worth[(steps < _LEAST_STEP) | (areas < _LEAST_SHARE * small.size)] = 0.0
    best = int(np.argmax(worth))
    if worth[best] <= 0 or not is_paper(small, level, quads[best]):
        return _of_outline(level, scale)
    if is_window(small, quads[best]):
        return None
    return _refined(grey, (quads[best] + 0.5) / scale - 0.5)


def _of_outline(level: NDArray[np.float32], scale: float) -> NDArray[np.float64] | None:
    """Corners of a sheet with bent sides, in pixels of the picture; None if there is none."""
    quad = quad_of_outline(level)
    return None if quad is None else (quad + 0.5) / scale - 0.5


def is_plain_rectangle(corners: NDArray[np.float64]) -> bool:
    """Whether the corners are those of a rectangle seen straight on (a flat-bed scan)."""
    sides = np.roll(corners, -1, axis=0) - corners
    lengths = np.hypot(sides[:, 0], sides[:, 1])
    angles = np.rad2deg(np.arctan2(sides[:, 1], sides[:, 0]))
    bends = (np.diff(np.append(angles, angles[0])) + 360) % 360
    equal = np.abs(lengths[:2] / lengths[2:] - 1).max() < 0.006
    return bool(equal and np.abs(bends - 90).max() < 0.6)


def flat_size(corners: NDArray[np.float64]) -> tuple[int, int]:
    """Width and height in pixels of the sheet laid flat, losing none of its detail."""
    sides = np.roll(corners, -1, axis=0) - corners
    top, right, bottom, left = np.hypot(sides[:, 0], sides[:, 1])
    return max(1, round(max(top, bottom))), max(1, round(max(left, right)))


def _u8(picture: object) -> Grey:
    return np.asarray(picture, np.uint8)


def _refined(grey: Grey, quad: NDArray[np.float64]) -> NDArray[np.float64]:
    """Corners as the crossings of lines fitted to the steepest step across each side."""
    reach = max(6.0, max(grey.shape) / 150)
    soft = _u8(cv2.GaussianBlur(grey, (0, 0), max(1.0, reach / 8)))
    lines = []
    for start, end in zip(quad, np.roll(quad, -1, axis=0), strict=True):
        fitted = _side_line(soft, start, end, reach)
        lines.append(fitted if fitted is not None else _line_through(start, end))
    corners = quad.copy()
    for i in range(4):
        cross = np.cross(lines[i - 1], lines[i])
        if abs(cross[2]) > 1e-9:
            point = cross[:2] / cross[2]
            if np.hypot(*(point - quad[i])) < 3 * reach:
                corners[i] = point
    return corners


def _side_line(
    soft: Grey, start: NDArray[np.float64], end: NDArray[np.float64], reach: float
) -> NDArray[np.float64] | None:
    along = end - start
    outward = np.array([along[1], -along[0]]) / max(np.hypot(*along), 1e-9)
    places = start + np.linspace(0.05, 0.95, 120)[:, None] * along
    offsets = np.arange(-reach, reach + 0.5, 1.0)
    grid = (places[:, None, :] + offsets[None, :, None] * outward).astype(np.float32)
    levels = cv2.remap(
        soft, grid[..., 0], grid[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    ).astype(np.float64)
    fall = levels[:, :-2] - levels[:, 2:]  # bright inside, dark outside
    at = fall.argmax(axis=1)
    strong = fall.max(axis=1) > 0.4 * np.median(fall.max(axis=1))
    points = places[strong] + offsets[at[strong] + 1][:, None] * outward
    if len(points) < 20:
        return None
    vx, vy, x0, y0 = cv2.fitLine(points.astype(np.float32), cv2.DIST_HUBER, 0, 0.01, 0.01).ravel()
    return _line_through(np.array([x0, y0]), np.array([x0 + vx * 1000, y0 + vy * 1000]))


def _line_through(start: NDArray[np.float64], end: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(np.cross(np.append(start, 1.0), np.append(end, 1.0)))
