"""Long straight steps of brightness that may be the sides of a sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["straight_steps"]

_LEAST_SLOPE: Final = 0.05
"""Change of the level per pixel that counts as a step (natural logarithm of brightness)."""
_MOST_LINES: Final = 12
_LEAST_VOTES: Final = 0.12
"""A side must be seen over this share of the picture's width."""


def straight_steps(level: NDArray[np.float32]) -> NDArray[np.float64]:
    """Straight steps that run across the picture, within 45° of level.

    Args:
        level: (height, width), logarithm of brightness; transpose it for steps that run down.

    Returns:
        (n, 3) lines a·x + b·y + c = 0 with a² + b² = 1, the strongest first, at most a dozen.
    """
    down = cv2.Sobel(np.ascontiguousarray(level), cv2.CV_32F, 0, 1, ksize=3) / 8
    across = cv2.Sobel(np.ascontiguousarray(level), cv2.CV_32F, 1, 0, ksize=3) / 8
    strength = np.abs(down)
    above, below = np.roll(strength, 1, axis=0), np.roll(strength, -1, axis=0)
    edge = (strength > _LEAST_SLOPE) & (strength > 0.8 * np.abs(across))
    edge &= (strength >= above) & (strength > below)  # one pixel thick
    edge[[0, -1]] = False
    # Bright above and bright below vote apart, so that a pale stripe gives both its sides.
    found = [_voted(edge & side, level.shape[1]) for side in (down > 0, down < 0)]
    lines = np.vstack(found)
    return _apart(lines[np.argsort(-lines[:, 2])], max(level.shape))


def _voted(edge: NDArray[np.bool_], width: int) -> NDArray[np.float64]:
    """Rows of (rho, theta, votes) from a Hough transform."""
    lines = cv2.HoughLinesWithAccumulator(
        edge.astype(np.uint8),
        1.5,
        np.pi / 360,
        max(20, round(_LEAST_VOTES * width)),
        min_theta=np.pi / 4,
        max_theta=3 * np.pi / 4,
    )
    return np.empty((0, 3)) if lines is None else np.asarray(lines, np.float64).reshape(-1, 3)


def _apart(lines: NDArray[np.float64], size: int) -> NDArray[np.float64]:
    """The strongest lines, none of them nearly the same as a stronger one."""
    near_px, near_rad = size / 60, np.deg2rad(3)
    kept: list[NDArray[np.float64]] = []
    for line in lines:
        if all(abs(line[0] - k[0]) > near_px or abs(line[1] - k[1]) > near_rad for k in kept):
            kept.append(line)
        if len(kept) == _MOST_LINES:
            break
    if not kept:
        return np.empty((0, 3))
    rho, theta, _ = np.array(kept).T
    return np.stack([np.cos(theta), np.sin(theta), -rho], axis=1)
