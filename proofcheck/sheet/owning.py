"""In a cutting from a sheet: which ink is the line's own, and which reaches in from elsewhere."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.sheet.initials import DROP
from proofcheck.sheet.pieces import find_pieces
from proofcheck.sheet.sharing import ABOVE_X, BELOW_X

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.base.values import Line
    from proofcheck.sheet.pieces import Pieces

__all__ = ["Foreign", "foreign_ink", "own_heights"]

_RUNS_ABOVE = 2.1
"""A piece of the line's own that reaches higher than this (x-heights) touches the line above."""
_RUNS_BELOW = 0.85
"""… or lower than this under the baseline, the line below."""


@dataclass(frozen=True, slots=True, eq=False)
class Foreign:
    """What in a cutting is not the line's own."""

    mask: NDArray[np.uint8]
    """1 = ink from elsewhere."""
    pieces: Pieces
    """All pieces of the cutting."""
    own: NDArray[np.bool_]
    """Which of them are the line's, wholly or in part."""


def own_heights(line: Line) -> tuple[float, float]:
    """Least and greatest height above the baseline of the line's ink, in x-heights."""
    low, high = min(line.baseline), max(line.baseline)
    size = max(line.x_height_px, 0.5)
    return (low - line.box.bottom) / size - 0.12, (high - line.box.y) / size + 0.12


def foreign_ink(
    ink: NDArray[np.uint8],
    baseline: NDArray[np.float64],
    x_height: float,
    own: tuple[float, float],
    ends: tuple[float, float],
) -> Foreign:
    """Ink of a cutting that belongs to other lines, other columns or rules.

    Args:
        ink: the cutting, 1 = ink; some x-height of the neighbours should show above and below.
        baseline: row of the baseline at the left and right edge of the cutting.
        x_height: in rows of the cutting.
        own: heights above the baseline between which the line's ink lies (`own_heights`).
        ends: columns between which the line's ink lies.

    Returns:
        What is not the line's own. Letters that touch a letter of the next line are parted where
        they are thinnest between the two.
    """
    pieces, labels = find_pieces(ink)
    foreign = np.zeros_like(ink)
    if not len(pieces):
        return Foreign(foreign, pieces, np.zeros(0, bool))
    slope = (baseline[1] - baseline[0]) / max(ink.shape[1], 1)
    base = baseline[0] + slope * pieces.middle
    top, bottom = (base - pieces.y) / x_height, (base - pieces.bottom) / x_height
    middle = (top + bottom) / 2
    other = (middle > ABOVE_X) | (middle < -BELOW_X) | (bottom > own[1]) | (top < own[0])
    other |= (pieces.x > ends[1]) | (pieces.right < ends[0])
    initial = (pieces.x < ends[0] + x_height / 2) & (top > 0.9) & (bottom < -DROP)
    initial &= own[0] < -DROP
    other &= ~initial
    if other.any():
        foreign = np.concatenate([[False], other]).astype(np.uint8)[labels]
    above, below = (top > _RUNS_ABOVE) & (bottom < 1), (bottom < -_RUNS_BELOW) & (top > 0)
    for index in np.flatnonzero(~other & ~initial & (above | below)):
        columns = slice(int(pieces.x[index]), int(pieces.right[index]))
        part = labels[:, columns] == index + 1
        low, high = _cuts(part, float(base[index]), x_height)
        if above[index]:
            foreign[:low, columns] |= part[:low].astype(np.uint8)
        if below[index]:
            foreign[high:, columns] |= part[high:].astype(np.uint8)
    return Foreign(foreign, pieces, ~other)


def _cuts(part: NDArray[np.bool_], base: float, x_height: float) -> tuple[int, int]:
    """Rows where a piece is thinnest above its capitals and below its descenders."""
    rows = part.sum(axis=1)

    def thinnest(first: float, last: float) -> int:
        start = int(np.clip(round(base + first * x_height), 0, len(rows) - 1))
        stop = int(np.clip(round(base + last * x_height), start + 1, len(rows)))
        return start + int(np.argmin(rows[start:stop]))

    return thinnest(-2.05, -1.2), thinnest(0.25, 0.75)
