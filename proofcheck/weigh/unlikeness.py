"""How unlike two letters are: one slid over the other until they overlap best."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Patch = NDArray[np.float32]

__all__ = ["is_near", "nearest"]

SPARE_PX = 3
"""They may sit so far off and still be laid true."""
NEAREST = 3
"""A letter is judged by so many fellows that are most like it: of its own size and style."""


def nearest(patch: Patch, fellows: Sequence[Patch]) -> float:
    """How unlike a letter is to the nearest of some others, 0 to 1."""
    if not fellows or float(patch.sum()) < 1.0:
        return 1.0
    return float(np.mean(np.sort(_unlike(patch, fellows))[:NEAREST]))


def is_near(patch: Patch, fellows: Sequence[Patch], most: float) -> bool:
    """Whether `nearest` comes to no more than that, or each of so many fellows is as near."""
    if not fellows or float(patch.sum()) < 1.0:
        return most >= 1.0
    apart = np.sort(_unlike(patch, fellows))
    return int((apart <= most).sum()) >= NEAREST or float(np.mean(apart[:NEAREST])) <= most


def _unlike(patch: Patch, fellows: Sequence[Patch]) -> NDArray[np.float32]:
    """For each fellow 1 less its best overlap with a letter that is not blank; 0 = alike.

    The letter is slid a little over them: all slides of it against all of them are one product.
    """
    held = np.stack(fellows)
    inked = np.maximum(held.max(axis=0), patch) > 0
    rows, columns = _spared(inked.any(axis=1)), _spared(inked.any(axis=0))
    flat = held[:, rows, columns].reshape(len(held), -1).T
    overlap = _slides(patch[rows, columns]) @ flat
    # Of a fellow that much counts as lies where the letter's frame, slid with it, covers it.
    covered = _covers(rows.stop - rows.start, columns.stop - columns.start) @ flat**2
    size = np.sqrt(np.maximum(covered * (patch**2).sum(), 1e-12))
    alike = np.minimum((overlap / size).max(axis=0), 1)
    return np.where(flat.sum(axis=0) < 1, 1, 1 - alike).astype(np.float32)


def _spared(inked: NDArray[np.bool_]) -> slice:
    """From the first that is inked to the last, with room to slide as far as there is any."""
    at = np.flatnonzero(inked)
    return slice(max(int(at[0]) - SPARE_PX, 0), min(int(at[-1]) + 1 + SPARE_PX, len(inked)))


def _slides(patch: Patch) -> Patch:
    """(slides, pixels): a picture in its frame, slid each way by up to so many pixels."""
    # `np.pad` takes ten times as long, hundreds of times a page.
    framed = np.zeros((patch.shape[0] + 2 * SPARE_PX, patch.shape[1] + 2 * SPARE_PX), patch.dtype)
    framed[SPARE_PX:-SPARE_PX, SPARE_PX:-SPARE_PX] = patch
    return np.lib.stride_tricks.sliding_window_view(framed, patch.shape).reshape(-1, patch.size)


@lru_cache(maxsize=256)
def _covers(height: int, width: int) -> Patch:
    """The same of a frame that is inked all over."""
    return _slides(np.ones((height, width), np.float32))
