"""Share out what is left among the lines: points, dots, quotes, touching letters, initials."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.values import Box

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.sheet.baselines import Fit
    from proofcheck.sheet.pieces import Pieces
    from proofcheck.sheet.sift import Sifted

__all__ = ["ABOVE_X", "BELOW_X", "Share", "share_out"]

ABOVE_X = 1.85
"""How far above its baseline a line's own small pieces may have their middle, in x-heights."""
BELOW_X = 0.6
"""… and how far below. In solid matter lines are some 2.2 x-heights apart."""
_REACH = 1.6
"""How far beside a line's last letter a point, quote or leader may stand, in x-heights."""
_SPECK = 0.13
"""Smaller pieces are dirt (x-heights); a worn full point has some 0.2."""


@dataclass(frozen=True, slots=True, eq=False)
class Share:
    """What belongs to one line."""

    members: NDArray[np.intp]
    box: Box


def share_out(
    pieces: Pieces, sifted: Sifted, rows: Sequence[NDArray[np.intp]], fits: Sequence[Fit]
) -> list[Share]:
    """Each row with the small and tall pieces that belong to it, and the box round its ink."""
    taken = np.zeros(len(pieces), bool)
    for row in rows:
        taken[row] = True
    free = np.flatnonzero((sifted.letter | sifted.small) & ~taken)
    members = [np.asarray(row) for row in rows]
    for _ in range(3):
        owner = _owners(pieces, free, members, fits)
        if not (owner >= 0).any():
            break
        for index in np.unique(owner[owner >= 0]):
            members[index] = np.concatenate([members[index], free[owner == index]])
        free = free[owner < 0]
    tall = free[sifted.letter[free]]
    return [
        Share(row, _box(pieces, row, tall, fit)) for row, fit in zip(members, fits, strict=True)
    ]


def _owners(
    pieces: Pieces,
    free: NDArray[np.intp],
    members: Sequence[NDArray[np.intp]],
    fits: Sequence[Fit],
) -> NDArray[np.intp]:
    """For each free piece the line it belongs to, or −1."""
    part = pieces.take(free)
    centre = (part.y + part.bottom) / 2
    best = np.full(len(free), np.inf)
    owner = np.full(len(free), -1, np.intp)
    for index, (row, fit) in enumerate(zip(members, fits, strict=True)):
        size = fit.x_height
        low, high = pieces.x[row].min(), pieces.right[row].max()
        height = (fit.at(part.middle) - centre) / size
        beside = np.where(np.maximum(part.height, part.width) < 0.2 * size, 0.0, _REACH * size)
        inside = (part.middle > low - beside) & (part.middle < high + beside)
        inside &= (height > -BELOW_X) & (height < ABOVE_X) & (part.height < 2.4 * size)
        inside &= (part.width < 8 * size) & (np.maximum(part.height, part.width) > _SPECK * size)
        away = np.abs(height - 0.5)
        closer = inside & (away < best)
        best[closer] = away[closer]
        owner[closer] = index
    return owner


def _box(pieces: Pieces, row: NDArray[np.intp], tall: NDArray[np.intp], fit: Fit) -> Box:
    """Round the row's ink, tall pieces that run through it cut to its height."""
    mine = pieces.take(row)
    x, right = float(mine.x.min()), float(mine.right.max())
    top, bottom = float(mine.y.min()), float(mine.bottom.max())
    through = pieces.take(tall)
    base = fit.at(through.middle)
    beside = (through.right > x - _REACH * fit.x_height) & (through.x < right + fit.x_height)
    across = (through.y < base - 0.7 * fit.x_height) & (through.bottom > base - 0.3 * fit.x_height)
    for index in np.flatnonzero(beside & across):
        x, right = min(x, through.x[index]), max(right, through.right[index])
    return Box(int(x), int(top), int(right - x), int(bottom - top))
