"""Bowed lines: how far the letters of a straightened strip still stand off its baseline."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.sheet.pieces import Pieces

__all__ = ["find_bow"]

_LEAST, _MOST = 0.05, 1.0
"""Bows less than this (x-heights) are left alone; more are no bows."""
_OVERSHOOT = 0.02
"""Mean of what round letters reach below the line, in x-heights."""


def find_bow(
    pieces: Pieces, own: NDArray[np.bool_], baseline: float, x_height: float, width: int
) -> NDArray[np.float64] | None:
    """How far the line stands below its straight baseline at each column of a strip.

    A parabola through the feet of the letters, found from wide to narrow so that descenders drop
    out. None where the line is straight, or too short to tell.

    Args:
        pieces: the pieces of the strip.
        own: which of them are the line's own.
        baseline: row of the baseline.
        x_height: in rows.
        width: columns of the strip.
    """
    tall = own & (pieces.height > 0.7 * x_height) & (pieces.height < 2.4 * x_height)
    letters = pieces.take(tall & ~_are_tops(pieces, own))
    if len(letters) < 12 or np.ptp(letters.middle) < 12 * x_height:
        return None
    place = 2 * letters.middle / width - 1
    off = letters.bottom - baseline
    curve = np.zeros(3)
    for reach in (0.45, 0.35, 0.25, 0.16, 0.12):
        near = np.abs(off - np.polyval(curve, place)) < reach * x_height
        if np.count_nonzero(near) < 0.4 * len(letters):
            return None
        curve = np.polyfit(place[near], off[near], 2)
    columns = 2 * (np.arange(width) + 0.5) / width - 1
    # Beyond the outermost letters it goes through the parabola is a guess: it stays as it is there.
    held = place[near]
    fall = np.polyval(curve, np.clip(columns, held.min(), held.max())) - _OVERSHOOT * x_height
    most = float(np.abs(fall).max())
    return np.asarray(fall) if _LEAST * x_height < most < _MOST * x_height else None


def _are_tops(pieces: Pieces, own: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Which pieces are the upper part of a letter whose foot printed apart from it."""
    lower = own & (pieces.y >= pieces.bottom[:, None]) & (pieces.width > pieces.width[:, None] / 2)
    middle = pieces.middle[:, None]
    return np.asarray(own & (lower & (pieces.x < middle) & (pieces.right > middle)).any(axis=1))
