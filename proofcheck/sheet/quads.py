"""Quadrilaterals that may be a sheet on its background, and how well their sides bear it out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.sheet.sides import straight_steps

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.base.values import Grey

__all__ = [
    "areas_of",
    "is_paper",
    "log_level",
    "quads_of",
    "sampled",
    "side_lines",
    "weakest_steps",
]

_SAMPLES: Final = 48
"""Places along each side where paper and background are compared."""
_NO_MATTER: Final = 100.0
"""A step no picture has."""
_SHADE: Final = 0.35
"""How much darker than the rest, in logarithm, paper may be along one side."""


def side_lines(level: NDArray[np.float32]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Straight steps that run across and down the picture: two (n, 3) arrays of lines."""
    return straight_steps(level), _swapped(straight_steps(level.T))


def log_level(small: Grey) -> NDArray[np.float32]:
    """Logarithm of a reduced picture's brightness, type closed over, background quietened."""
    reach = max(3, round(max(small.shape) / 60)) | 1
    closed = cv2.morphologyEx(small, cv2.MORPH_CLOSE, np.ones((reach, reach), np.uint8))
    smooth = cv2.GaussianBlur(cv2.medianBlur(closed, 5), (0, 0), 1.0)
    return np.log(np.maximum(np.asarray(smooth, np.uint8), 12).astype(np.float32))


def is_paper(small: Grey, level: NDArray[np.float32], quad: NDArray[np.float64]) -> bool:
    """Whether most of the quad is bright by itself, and not by closing over bright type."""
    share = np.linspace(0.03, 0.97, _SAMPLES)
    left = quad[0] + share[:, None] * (quad[3] - quad[0])
    right = quad[1] + share[:, None] * (quad[2] - quad[1])
    points = left[:, None] + share[:, None] * (right - left)[:, None]
    own = sampled(np.log(np.maximum(small, 12).astype(np.float32)), points)
    return bool(np.nanmedian(sampled(level, points) - own) < 0.25)


def _swapped(lines: NDArray[np.float64]) -> NDArray[np.float64]:
    """Lines (a, b, c) found on the transposed picture, on the picture itself."""
    return lines[:, [1, 0, 2]]


def quads_of(
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


def areas_of(quads: NDArray[np.float64]) -> NDArray[np.float64]:
    """Area of each quadrilateral, square pixels."""
    x, y = quads[..., 0], quads[..., 1]
    turned_x, turned_y = np.roll(x, -1, axis=1), np.roll(y, -1, axis=1)
    return np.asarray(np.abs((x * turned_y - turned_x * y).sum(axis=1)) / 2)


def weakest_steps(
    level: NDArray[np.float32], quads: NDArray[np.float64], *, frame_sides: int = 0
) -> NDArray[np.float64]:
    """How much brighter the paper is just inside than just outside, at each quad's worst place.

    Args:
        level: as `log_level` gives it.
        quads: (n, 4, 2) corners.
        frame_sides: how many sides may lie on the picture's own edge, where the sheet runs out of
            it: they have no outside and count nothing.
    """
    away = max(4.0, max(level.shape) / 120)
    along = np.roll(quads, -1, axis=1) - quads
    length = np.maximum(np.hypot(along[..., 0], along[..., 1]), 1e-9)
    outward = np.stack([along[..., 1], -along[..., 0]], axis=-1) / length[..., None]
    share = np.linspace(0.03, 0.97, _SAMPLES)
    points = quads[:, :, None] + share[:, None] * along[:, :, None]
    inside = sampled(level, points - away * outward[:, :, None])
    outside = sampled(level, points + away * outward[:, :, None])
    step = np.nan_to_num(inside - outside, nan=0.0)
    on_frame = np.isnan(outside).mean(axis=2) > 0.5
    excused = on_frame & (on_frame.sum(axis=1) <= frame_sides)[:, None]
    paper = np.nanmedian(inside, axis=(1, 2))[:, None, None]
    runs_out = np.where(inside > paper - _SHADE, _NO_MATTER, 0.0)  # paper right up to the frame
    step = np.where(excused[..., None], runs_out, step)
    fifth = _SAMPLES // 5
    starts, stops = (
        np.median(step[:, :, part], axis=2) for part in (np.s_[:fifth], np.s_[-fifth:])
    )
    at_corners = np.minimum(starts, np.roll(stops, 1, axis=1))
    # One corner may be torn, folded or under a thumb: the second worst must hold.
    second_worst = np.sort(at_corners, axis=1)[:, 1]
    return np.asarray(np.minimum(np.quantile(step, 0.3, axis=2).min(axis=1), second_worst))


def sampled(picture: NDArray[np.float32], points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Levels at points (…, 2) of x, y; NaN outside the picture."""
    height, width = picture.shape
    x, y = np.moveaxis(np.round(points).astype(int), -1, 0)
    inside = (x >= 0) & (x < width) & (y >= 0) & (y < height)
    levels = picture[np.clip(y, 0, height - 1), np.clip(x, 0, width - 1)].astype(np.float64)
    return np.where(inside, levels, np.nan)
