"""Dropped initials: letters that reach down over several lines at the head of a paragraph.

A reader knows letters of one size, so in a strip the initial is brought to the height of the
line's capitals and set on its baseline.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from proofcheck.base.values import Box
from proofcheck.sheet.pieces import find_pieces, ink_mask

if TYPE_CHECKING:
    from proofcheck.base.values import Grey, Line, Sheet

__all__ = ["DROP", "Initial", "erased", "find_initial"]

DROP = 1.2
"""Ink that reaches further below the baseline (x-heights) than this is no descender."""


@dataclass(frozen=True, slots=True, eq=False)
class Initial:
    """A dropped initial by itself."""

    box: Box
    """Sheet pixels."""
    image: Grey
    """The sheet within the box, all but the initial white."""


def find_initial(sheet: Sheet, line: Line) -> Initial | None:
    """The dropped initial a line starts with, or None; costs nothing for other lines."""
    size, base = line.x_height_px, line.baseline[0]
    if line.box.bottom < max(line.baseline) + DROP * size:
        return None
    right = line.box.x + min(line.box.width, round(12 * size))
    cutting = sheet.image[max(line.box.y, 0) : line.box.bottom, max(line.box.x, 0) : right]
    pieces, labels = find_pieces(ink_mask(cutting))
    drops = pieces.bottom + line.box.y > base + DROP * size
    starts = (pieces.x < 0.5 * size) & (pieces.y + line.box.y < base - 0.9 * size)
    found = np.flatnonzero(drops & starts)
    if not len(found):
        return None
    index = int(found[np.argmax(pieces.area[found])])
    x, y = int(pieces.x[index]), int(pieces.y[index])
    box = Box(
        max(line.box.x, 0) + x,
        max(line.box.y, 0) + y,
        int(pieces.width[index]),
        int(pieces.height[index]),
    )
    window = (slice(y, y + box.height), slice(x, x + box.width))
    own = cv2.dilate((labels[window] == index + 1).astype(np.uint8), np.ones((3, 3), np.uint8))
    return Initial(box, np.where(own > 0, cutting[window], 255).astype(np.uint8))


def erased(image: Grey, initial: Initial) -> Grey:
    """The picture without the initial."""
    left = image.copy()
    box = initial.box
    window = left[box.y : box.bottom, box.x : box.right]
    window[initial.image < 255] = 255
    return left
