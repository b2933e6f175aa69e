"""Find a sheet of paper on the background it was photographed on: its four corners."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.sheet.sides import straight_steps

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.values import Grey

__all__ = ["find_corners", "flat_size", "is_plain_rectangle"]

_WORK_PX: Final = 720
_LEAST_SHARE: Final = 0.2
"""A sheet smaller than this share of the picture is too far off to read anyway."""
_LEAST_STEP: Final = 0.1
"""Along each side the paper must be brighter than what lies outside by this much, in natural
logarithm of brightness: so the slope of the light plays no part."""
_ENOUGH_STEP: Final = 0.25
_SAMPLES: Final = 48
"""Places along each side where paper and background are compared."""


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
    level = _log_level(small)
    quads = _quads(straight_steps(level), _swapped(straight_steps(level.T)), small.shape)
    if len(quads) == 0:
        return None
    steps, areas = _weakest_steps(level, quads), _areas(quads)
    worth = np.minimum(steps, _ENOUGH_STEP) * np.sqrt(areas)
    worth[(steps < _LEAST_STEP) | (areas < _LEAST_SHARE * small.size)] = 0.0
    best = int(np.argmax(worth))
    if worth[best] <= 0 or not _is_paper(small, level, quads[best]):
        return None
    return _refined(grey, (quads[best] + 0.5) / scale - 0.5)


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


def _log_level(small: Grey) -> NDArray[np.float32]:
    """Brightness as its logarithm, with the type closed over and the background quietened."""
    reach = max(3, round(max(small.shape) / 60)) | 1
    closed = cv2.morphologyEx(small, cv2.MORPH_CLOSE, np.ones((reach, reach), np.uint8))
    smooth = cv2.GaussianBlur(cv2.medianBlur(closed, 5), (0, 0), 1.0)
    return np.log(np.maximum(_u8(smooth), 12).astype(np.float32))


def _is_paper(small: Grey, level: NDArray[np.float32], quad: NDArray[np.float64]) -> bool:
    """Whether most of the quad is bright by itself, and not by closing over bright type."""
    share = np.linspace(0.03, 0.97, _SAMPLES)
    left = quad[0] + share[:, None] * (quad[3] - quad[0])
    right = quad[1] + share[:, None] * (quad[2] - quad[1])
    points = left[:, None] + share[:, None] * (right - left)[:, None]
    own = _sampled(np.log(np.maximum(small, 12).astype(np.float32)), points)
    return bool(np.nanmedian(_sampled(level, points) - own) < 0.25)


def _swapped(lines: NDArray[np.float64]) -> NDArray[np.float64]:
    """Lines (a, b, c) found on the transposed picture, on the picture itself."""
    return lines[:, [1, 0, 2]]


def _quads(
    level: NDArray[np.float64], upright: NDArray[np.float64], shape: tuple[int, ...]
) -> NDArray[np.float64]:
    """All quadrilaterals of two level and two upright lines: (n, 4, 2), clockwise from top left.

    Corners may lie a little outside the picture: a corner of the sheet may be cut off by it.
    """
    pairs = [_ordered_pairs(level, shape[1], 1), _ordered_pairs(upright, shape[0], 0)]
    if min(len(p) for p in pairs) == 0:
        return np.empty((0, 4, 2))
    rows, columns = len(pairs[0]), len(pairs[1])
    top, bottom = (np.repeat(pairs[0][:, k], columns, axis=0) for k in (0, 1))
    left, right = (np.tile(pairs[1][:, k], (rows, 1)) for k in (0, 1))
    corners = [
        np.cross(*two) for two in ((top, left), (top, right), (bottom, right), (bottom, left))
    ]
    quads = np.stack([c[:, :2] / c[:, 2:] for c in corners], axis=1)
    limit = np.array([shape[1], shape[0]])
    inside = (quads > -0.05 * limit) & (quads < 1.05 * limit)
    return quads[inside.all(axis=(1, 2))]


def _ordered_pairs(lines: NDArray[np.float64], length: int, along: int) -> NDArray[np.float64]:
    """Pairs of lines that do not cross in the picture and lie well apart: (n, 2, 3).

    The first of each pair is the one nearer the top (or the left).
    """
    # a·x + b·y + c = 0 solved for y at both ends of the picture (or for x at its head and foot).
    start, stop = (
        -(lines[:, 1 - along] * place + lines[:, 2]) / lines[:, along]
        for place in (0.0, float(length))
    )
    least = 0.15 * length
    first, second = np.nonzero(
        (start[None, :] - start[:, None] > least) & (stop[None, :] - stop[:, None] > least)
    )
    return np.stack([lines[first], lines[second]], axis=1)


def _areas(quads: NDArray[np.float64]) -> NDArray[np.float64]:
    x, y = quads[..., 0], quads[..., 1]
    turned_x, turned_y = np.roll(x, -1, axis=1), np.roll(y, -1, axis=1)
    return np.asarray(np.abs((x * turned_y - turned_x * y).sum(axis=1)) / 2)


def _weakest_steps(level: NDArray[np.float32], quads: NDArray[np.float64]) -> NDArray[np.float64]:
    """How much brighter the paper is just inside than just outside, at each quad's worst place.

    A side that lies on the picture's own edge has no outside and counts nothing: there the sheet
    runs out of the picture.
    """
    away = max(4.0, max(level.shape) / 120)
    along = np.roll(quads, -1, axis=1) - quads
    length = np.maximum(np.hypot(along[..., 0], along[..., 1]), 1e-9)
    outward = np.stack([along[..., 1], -along[..., 0]], axis=-1) / length[..., None]
    share = np.linspace(0.03, 0.97, _SAMPLES)
    points = quads[:, :, None] + share[:, None] * along[:, :, None]
    inside = _sampled(level, points - away * outward[:, :, None])
    outside = _sampled(level, points + away * outward[:, :, None])
    step = np.nan_to_num(inside - outside, nan=0.0)
    fifth = _SAMPLES // 5
    starts, stops = (
        np.median(step[:, :, part], axis=2) for part in (np.s_[:fifth], np.s_[-fifth:])
    )
    at_corners = np.minimum(starts, np.roll(stops, 1, axis=1))
    # One corner may be torn, folded or under a thumb: the second worst must hold.
    second_worst = np.sort(at_corners, axis=1)[:, 1]
    return np.asarray(np.minimum(np.quantile(step, 0.3, axis=2).min(axis=1), second_worst))


def _sampled(picture: NDArray[np.float32], points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Levels at points (…, 2) of x, y; NaN outside the picture."""
    height, width = picture.shape
    x, y = np.moveaxis(np.round(points).astype(int), -1, 0)
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
