"""Find a sheet of paper on the background it was photographed on: its four corners."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.values import Grey

__all__ = ["find_corners", "flat_size", "is_plain_rectangle"]

_WORK_PX: Final = 720
_LEAST_SHARE: Final = 0.2
"""A sheet smaller than this share of the picture is too far off to read anyway."""
_LEAST_STEP: Final = 0.12
"""Along each side the paper must be brighter than what lies outside by this share of white."""


def find_corners(grey: Grey) -> NDArray[np.float64] | None:
    """Corners of the sheet, or None where it fills the picture or stands out from nothing.

    Returns:
        (4, 2) array of x, y in pixels of the picture: top left, top right, bottom right, bottom
        left, each to a fraction of a pixel where the sides are straight.
    """
    scale = min(1.0, _WORK_PX / max(grey.shape))
    small = _u8(cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA))
    reach = max(3, round(max(small.shape) / 60)) | 1
    # Close over the type, so that the sheet is one bright piece; then quieten the background.
    closed = cv2.morphologyEx(small, cv2.MORPH_CLOSE, np.ones((reach, reach), np.uint8))
    smooth = _u8(cv2.medianBlur(closed, 5))
    best, best_step = None, _LEAST_STEP * 255
    for level in _levels(smooth):
        quad = _bright_quad(smooth > level)
        if quad is None:
            continue
        step = _weakest_side(smooth, quad)
        if step > best_step:
            best, best_step = quad, step
    if best is None:
        return None
    return _refined(grey, (best + 0.5) / scale - 0.5)


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


def _levels(smooth: Grey) -> list[float]:
    """Grey levels that may part the sheet from its background, the likeliest first."""
    otsu, _ = cv2.threshold(smooth, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    low, high = np.percentile(smooth, (5, 95))
    return [float(otsu), *(float(low + (high - low) * share) for share in (0.3, 0.4, 0.6, 0.7))]


def _bright_quad(bright: NDArray[np.bool_]) -> NDArray[np.float64] | None:
    """The largest bright piece as four corners, if it has four."""
    contours, _ = cv2.findContours(
        bright.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE
    )
    if not contours:
        return None
    hull = cv2.convexHull(max(contours, key=cv2.contourArea))
    area = cv2.contourArea(hull)
    if not _LEAST_SHARE * bright.size < area < 0.985 * bright.size:
        return None
    length = cv2.arcLength(hull, closed=True)
    for tolerance in (0.01, 0.02, 0.03, 0.05):
        corners = cv2.approxPolyDP(hull, tolerance * length, closed=True).reshape(-1, 2)
        if len(corners) == 4 and cv2.contourArea(corners) > 0.93 * area:
            return _in_order(corners.astype(np.float64))
    return None


def _in_order(corners: NDArray[np.float64]) -> NDArray[np.float64]:
    """Clockwise as seen, from the corner nearest the top left."""
    middle = corners.mean(axis=0)
    around = np.arctan2(*(corners - middle).T[::-1])
    corners = corners[np.argsort(around)]
    return np.roll(corners, -int(np.argmin(corners.sum(axis=1))), axis=0)


def _weakest_side(smooth: Grey, quad: NDArray[np.float64]) -> float:
    """How much brighter the paper is just inside than just outside, along the worst side.

    A side that lies on the picture's own edge has no outside: the sheet runs out of the picture.
    """
    away = max(4.0, max(smooth.shape) / 80)
    steps = []
    for start, end in zip(quad, np.roll(quad, -1, axis=0), strict=True):
        along = end - start
        outward = np.array([along[1], -along[0]]) / max(np.hypot(*along), 1e-9)
        points = start + np.linspace(0.08, 0.92, 40)[:, None] * along
        inside = _sampled(smooth, points - away * outward)
        outside = _sampled(smooth, points + away * outward)
        if np.isnan(outside).mean() > 0.3:
            return 0.0
        steps.append(float(np.nanquantile(inside - outside, 0.2)))
    return min(steps)


def _sampled(picture: Grey, points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Grey levels at points (x, y); NaN outside the picture."""
    height, width = picture.shape
    x, y = np.round(points).astype(int).T
    inside = (x >= 0) & (x < width) & (y >= 0) & (y < height)
    levels = picture[np.clip(y, 0, height - 1), np.clip(x, 0, width - 1)].astype(np.float64)
    return np.where(inside, levels, np.nan)


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
    grid = places[:, None, :] + offsets[None, :, None] * outward
    levels = cv2.remap(
        soft,
        grid[..., 0].astype(np.float32),
        grid[..., 1].astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
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
