"""Part letters of two lines that touch, before lines are looked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.sheet.pieces import Pieces
    from proofcheck.sheet.sift import Sifted

__all__ = ["part_touching"]

_NECK = 0.35
"""Widest neck between two letters that touch, in common letter heights. The stem of a dropped
initial is stouter, and it stands by itself."""


def part_touching(
    mask: NDArray[np.uint8], pieces: Pieces, labels: NDArray[np.int32], sifted: Sifted
) -> int:
    """Cut tall pieces at their neck where letters of common height stand level with both halves.

    Args:
        mask: ink of the sheet; the cuts are made in it.
        pieces: its pieces.
        labels: their map.
        sifted: what they may be.

    Returns:
        How many pieces were cut.
    """
    size, height = sifted.size_px, pieces.height
    if not size:
        return 0
    tall = sifted.letter & (height > 2.2 * size) & (height < 6 * size) & (pieces.width < 8 * size)
    common = np.flatnonzero(sifted.letter & (height < 1.8 * size))
    x, right = pieces.x[common], pieces.right[common]
    top, bottom = pieces.y[common], pieces.bottom[common]
    cuts = 0
    for index in np.flatnonzero(tall):
        near = (x < pieces.right[index] + 2 * size) & (right > pieces.x[index] - 2 * size)
        part = ((top + bottom)[near] / 2 - pieces.y[index]) / height[index]
        above, below = (part > 0.05) & (part < 0.45), (part > 0.55) & (part < 0.95)
        # Two lines, not the tall and the hanging letters of one (beside a parenthesis).
        clear = bottom[near][above].min(initial=np.inf) <= top[near][below].max(initial=-np.inf)
        if above.any() and below.any() and clear:
            cuts += _cut(mask, pieces, labels, int(index), size)
    return cuts


def _cut(
    mask: NDArray[np.uint8], pieces: Pieces, labels: NDArray[np.int32], index: int, size: float
) -> int:
    """Whiten the thinnest row of a piece, if it is thin enough and well inside."""
    x, y, right, bottom = (
        int(getattr(pieces, side)[index]) for side in ("x", "y", "right", "bottom")
    )
    own = labels[y:bottom, x:right] == index + 1
    first, last = int(0.8 * size), bottom - y - int(0.8 * size)
    rows = own[first:last].sum(axis=1)
    if not len(rows) or rows.min() > _NECK * size:
        return 0
    thin = np.flatnonzero(rows <= rows.min() + 1)
    row = first + int(thin[np.argmin(np.abs(thin - len(rows) / 2))])
    mask[y + row, x:right][own[row]] = 0
    return 1
