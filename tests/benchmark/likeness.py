"""Does a letter look like the page's others of its name, or more like those of another?

A guard against letters named wrongly because their word's ink was shared out wrongly.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Grey

__all__ = ["misnamed"]

_SIDE = 24
_ABOVE, _BELOW, _WIDE = 1.9, 0.7, 2.0
"""The window round a letter in x-heights: above and below its baseline, and its width."""
_LEAST_SEEN = 3
_MARGIN = 0.08
"""By so much more like another letter than like its own kind, and it is named wrongly."""


def misnamed(image: Grey, letters: Sequence[tuple[str, float, float, float]]) -> NDArray[np.bool_]:
    """For each letter whether it looks like another than its name says.

    Args:
        image: the page, 0 = ink.
        letters: name, x of the middle, y of the baseline and x-height of each.
    """
    pictures = np.array([_picture(image, *place) for _, *place in letters], np.float32)
    by_name: dict[str, list[int]] = defaultdict(list)
    for number, (name, *_) in enumerate(letters):
        by_name[name].append(number)
    names = [name for name, held in by_name.items() if len(held) >= _LEAST_SEEN]
    if not names:
        return np.zeros(len(letters), bool)
    kinds = _unit(np.array([np.median(pictures[by_name[name]], axis=0) for name in names]))
    likeness = _unit(pictures) @ kinds.T
    column = {name: number for number, name in enumerate(names)}
    own = np.array(
        [
            likeness[n, column[name]] if name in column else 0.0
            for n, (name, *_) in enumerate(letters)
        ]
    )
    known = np.array([name in column for name, *_ in letters])
    return np.asarray(known & (likeness.max(axis=1) > own + _MARGIN))


def _picture(image: Grey, middle: float, base: float, size: float) -> NDArray[np.float32]:
    x, y = round(middle - _WIDE * size / 2), round(base - _ABOVE * size)
    right, bottom = round(middle + _WIDE * size / 2), round(base + _BELOW * size)
    height, width = image.shape
    window = np.full((bottom - y, right - x), 255, np.uint8)
    part = image[max(y, 0) : min(bottom, height), max(x, 0) : min(right, width)]
    top, left = max(-y, 0), max(-x, 0)
    window[top : top + part.shape[0], left : left + part.shape[1]] = part
    small = cv2.resize(window, (_SIDE, _SIDE), interpolation=cv2.INTER_AREA)
    # The letter itself counts more than its neighbours at the window's sides.
    weight = np.exp(-(((np.arange(_SIDE) - (_SIDE - 1) / 2) / (_SIDE / 5)) ** 2)).astype(np.float32)
    return ((255 - small.astype(np.float32)) * weight).ravel()


def _unit(rows: NDArray[np.float32]) -> NDArray[np.float32]:
    centred = rows - rows.mean(axis=1, keepdims=True)
    return np.asarray(centred / np.maximum(np.linalg.norm(centred, axis=1, keepdims=True), 1e-6))
