"""How far letters lean: the slope of their ink."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.metal.patch_store import blocks
from proofcheck.metal.patches import TALL, WIDE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.metal.patches import Cut

__all__ = ["slopes", "slopes_of"]


def slopes(ink: NDArray[np.float32], half_width: NDArray[np.float32]) -> NDArray[np.float64]:
    """How far each letter's ink leans to the right from foot to head, as a share of its rise.

    Args:
        ink: (n, TALL, WIDE), patches with the letter in the middle.
        half_width: (n,), half the width of each letter, patch pixels.
    """
    away = np.abs(np.arange(WIDE) + 0.5 - WIDE / 2)
    ink = ink * (away[None, None, :] < half_width[:, None, None] + 0.5)
    total = np.maximum(ink.sum(axis=(1, 2)), 1e-3)
    x, y = np.arange(WIDE, dtype=np.float32), np.arange(TALL, dtype=np.float32)
    middle_x = (ink.sum(axis=1) @ x) / total
    middle_y = (ink.sum(axis=2) @ y) / total
    cross = np.einsum("nyx,y,x->n", ink, y, x, optimize=True) / total - middle_x * middle_y
    tall = (ink.sum(axis=2) @ (y * y)) / total - middle_y**2
    lean = -cross / np.maximum(tall, 1.0)
    return np.asarray(lean, np.float64)


def slopes_of(cut: Cut, who: NDArray[np.intp] | None = None) -> NDArray[np.float64]:
    """The slopes of letters by their numbers, or of all; a block of them at a time."""
    numbers = np.arange(len(cut.ink)) if who is None else who
    found = [slopes(cut.ink[part], cut.half_width[part]) for part in blocks(numbers)]
    return np.concatenate(found) if found else np.zeros(0)
