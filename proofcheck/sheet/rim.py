"""Paint out what is left of the desk along the sides of a sheet that was laid flat.

Four straight lines are laid through the sides of the sheet, but a side is cut by hand and bends,
curls or has a corner turned down: between line and paper a sliver of the desk is left, which reads
as ink at the very edge.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.base.values import Grey

__all__ = ["rim_cleared", "stretches"]

_REACH: Final = 0.1
"""How far inside its straight side the paper may begin, as a share of the sheet's lesser side."""
_BEYOND: Final = 0.05
"""How far outside it is painted: the sheet's lines may still be turned a little."""
_AWAY: Final = 0.004
"""How far outside it the desk is looked at."""
_SPARE_PX: Final = 2.0
"""The edge of the paper is soft in a picture."""
_PARTS: Final = 24
"""Parts of a side, each painted as bright as its own paper."""
_STROKE: Final = 0.02
"""Share of a side that strokes of type which run off the paper may take; a bend is longer."""


def rim_cleared(grey: Grey, corners: NDArray[np.float64]) -> Grey:
    """The picture with paper in place of the desk, out to a little beyond the sheet's sides.

    Where ink runs off the paper it is left as it is: that type is cut off must be seen.

    Args:
        grey: the picture.
        corners: (4, 2) corners of the sheet in it, x and y, clockwise from top left.
    """
    cleared = grey.copy()
    for start, end in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        _clear_side(grey, cleared, start, end, _lesser_side(corners))
    return cleared


def _lesser_side(corners: NDArray[np.float64]) -> float:
    sides = np.roll(corners, -1, axis=0) - corners
    return float(np.hypot(sides[:, 0], sides[:, 1]).min())


def _clear_side(
    grey: Grey,
    cleared: Grey,
    start: NDArray[np.float64],
    end: NDArray[np.float64],
    lesser_px: float,
) -> None:
    along = end - start
    length = max(float(np.hypot(*along)), 1.0)
    inward = np.array([-along[1], along[0]]) / length
    places = start + np.linspace(0, 1, max(round(length), _PARTS))[:, None] * along
    away = max(3.0, _AWAY * lesser_px)
    offsets = np.arange(-away, _REACH * lesser_px, 1.0)
    levels = _levels(grey, places, offsets, inward)
    paper = _along(np.quantile(levels, 0.85, axis=1))
    desk = _along(levels[:, : max(2, round(away / 2))].mean(axis=1))
    bare = levels > ((paper + desk) / 2)[:, None]
    bare[:, -1] = True
    depth = offsets[bare.argmax(axis=1)]
    usual = _along(depth)
    ink = depth > usual + 2 * _SPARE_PX
    told = (desk < 0.9 * paper) & ~ink & (usual < offsets[-1] - 2)
    for part in np.array_split(np.arange(len(places)), _PARTS):
        for first, last in stretches(told[part]):
            at = part[first:last]
            inner = places[at] + (np.maximum(usual, depth)[at] + _SPARE_PX)[:, None] * inward
            outer = places[at] - _BEYOND * lesser_px * inward
            outline = np.vstack([inner, outer[::-1]]).round().astype(np.int32)
            cv2.fillPoly(cleared, [outline], float(np.median(paper[at])))


def _levels(
    grey: Grey,
    places: NDArray[np.float64],
    offsets: NDArray[np.float64],
    inward: NDArray[np.float64],
) -> NDArray[np.float32]:
    """Levels of the picture, one row for each place, from outside the side inwards."""
    grid = (places[:, None] + offsets[None, :, None] * inward).astype(np.float32)
    seen = cv2.remap(
        grey, grid[..., 0], grid[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    return np.asarray(seen, np.float32)


def _along(values: NDArray[np.floating]) -> NDArray[np.float64]:
    """Running median along a side: strokes are passed over, bends followed."""
    half = max(2, round(_STROKE * len(values)))
    # Beyond its ends a side goes on as it came: a bend is steepest at the corners.
    padded = np.pad(np.asarray(values, np.float64), half, mode="reflect", reflect_type="odd")
    step = max(1, half // 12)
    windows = np.lib.stride_tricks.sliding_window_view(padded, 2 * half + 1)
    return np.asarray(np.median(windows[:, ::step], axis=1))


def stretches(told: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """The first place and the one past the last of each unbroken stretch."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], told, [False]]).astype(np.int8)))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))
