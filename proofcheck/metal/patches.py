"""Letters cut out of their sheets at one size, each with a little of what stands beside it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from proofcheck.metal.patch_store import Patches, blocks
from proofcheck.sheet.grey_shares import grey_percentiles
from proofcheck.sheet.shelf import looked_at

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Grey, Line, Reading, Sheet

__all__ = [
    "BASELINE_ROW",
    "TALL",
    "WIDE",
    "X_HEIGHT",
    "Cut",
    "baseline_at",
    "cut_letters",
    "letter_windows",
]

TALL, WIDE = 48, 44
"""Rows and columns of a patch."""
X_HEIGHT = 18
BASELINE_ROW = 34
_INKED = 0.35
_RIM = 2.0
"""Columns beside a letter's own box that are still compared: paper there is part of its look."""
_BAND_ABOVE = 2.2
_BAND_BELOW = 1.1
"""Of a line's band, in x-heights over and under its baseline: more than a patch needs."""


@dataclass(frozen=True, slots=True, eq=False)
class Cut:
    """Letters as patches, n of them."""

    ink: Patches
    """(n, TALL, WIDE): 0 = paper, 1 = ink; neighbours show."""
    half_width: NDArray[np.float32]
    """Half the width of the letter's own box, in patch pixels, about the middle column."""
    offset: NDArray[np.float32]
    """(n, 2): what rounding to whole pixels moved the letter right and down."""

    def ink_within(self, rim: float) -> NDArray[np.float32]:
        """(n,): the ink of each letter in the columns of its own box and a rim, patch pixels."""
        away = np.abs(np.arange(WIDE) + 0.5 - WIDE / 2)
        found = np.zeros(len(self.ink), np.float32)
        for part in blocks(np.arange(len(self.ink))):
            inside = away[None, :] < self.half_width[part, None] + rim
            found[part] = (self.ink[part].sum(axis=1) * inside).sum(axis=1)
        return found

    def widest_piece(self, number: int) -> float:
        """Share of a letter's width that the widest piece of its ink has."""
        away = np.abs(np.arange(WIDE) + 0.5 - WIDE / 2)
        inked = (self.ink[number] * (away < self.half_width[number])[None, :] > _INKED).astype(
            np.uint8
        )
        count, _, sizes, _ = cv2.connectedComponentsWithStats(inked, connectivity=8)
        widths = sizes[1:count, cv2.CC_STAT_WIDTH]
        return float(widths.max(initial=0) / max(2 * float(self.half_width[number]), 1.0))


def letter_windows(half: NDArray[np.float32]) -> NDArray[np.float32]:
    """(n, TALL, WIDE): 1 in the columns of letters of the given half widths and their rims."""
    away = np.abs(np.arange(WIDE) + 0.5 - WIDE / 2)
    inside = (away[None, :] < half[:, None] + _RIM).astype(np.float32)
    return np.repeat(inside[:, None, :], TALL, axis=1)


def baseline_at(line: Line, x: float) -> float:
    """Height of a line's baseline (y, sheet pixels) at x."""
    left, right = line.baseline
    return left + (right - left) * (x - line.box.x) / max(line.box.width, 1)


def cut_letters(
    sheets: Sequence[Sheet],
    lines: Sequence[Line],
    readings: Sequence[Reading],
    line: NDArray[np.intp],
    at: NDArray[np.intp],
) -> Cut:
    """Cut out the letters at the given places (line in the sequence, letter in its reading)."""
    images = {sheet.number: sheet.image for sheet in sheets}
    count = len(line)
    ink = Patches(count, (TALL, WIDE))
    half = np.zeros(count, np.float32)
    offset = np.zeros((count, 2), np.float32)
    order = np.argsort(line, kind="stable")
    starts = np.searchsorted(line[order], np.arange(len(lines) + 1))
    for row, each in enumerate(lines):
        mine = order[starts[row] : starts[row + 1]]
        if not len(mine):
            continue
        band, left, top, scale = _band(looked_at(images[each.sheet]), each)
        for place in mine:
            box = readings[row].letters[at[place]].box
            middle = box.x + box.width / 2
            x = (middle - left) * scale - WIDE / 2 + WIDE
            y = (baseline_at(each, middle) - top) * scale - BASELINE_ROW + TALL
            column, level = round(x), round(y)
            patch = band[level : level + TALL, column : column + WIDE]
            whole = np.zeros((TALL, WIDE), np.float32)
            whole[: patch.shape[0], : patch.shape[1]] = patch
            ink.put(int(place), whole)
            half[place] = box.width * scale / 2
            offset[place] = x - column, y - level
    return Cut(ink, half, offset)


def _band(image: Grey, line: Line) -> tuple[NDArray[np.float32], int, int, float]:
    """A line's band at the patches' size with a patch of paper all round.

    Returns the ink (0 to 1), sheet x and y of the band's corner, and patch pixels a sheet pixel.
    """
    size = max(line.x_height_px, 1.0)
    scale = X_HEIGHT / size
    low, high = min(line.baseline), max(line.baseline)
    top = max(int(low - _BAND_ABOVE * size), 0)
    bottom = min(int(high + _BAND_BELOW * size) + 1, image.shape[0])
    left = max(int(line.box.x - size), 0)
    right = min(int(line.box.right + size) + 1, image.shape[1])
    piece = np.ascontiguousarray(image[top:bottom, left:right])
    how = cv2.INTER_AREA if scale < 1 else cv2.INTER_LINEAR
    small = cv2.resize(piece, None, fx=scale, fy=scale, interpolation=how)
    paper, ink = grey_percentiles(np.asarray(small[::2, ::2]), (85, 2))
    grey = np.clip((paper - small.astype(np.float32)) / max(float(paper - ink), 24.0), 0, 1)
    soft = cv2.GaussianBlur(grey, (0, 0), 0.7)
    framed = cv2.copyMakeBorder(soft, TALL, TALL, WIDE, WIDE, cv2.BORDER_CONSTANT, value=0)
    return np.asarray(framed, np.float32), left, top, scale
