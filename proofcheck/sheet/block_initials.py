"""Block initials: a solid ornamented block at the head of a paragraph with its letter white in it.

The letter is what the copy has of it. It is freed of the tendrils round it, which are thinner than
its strokes, and stands in the block's place as a dropped initial does, so that it is read as one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.base.values import Box
from proofcheck.sheet.letterlike import are_letterlike, white_row
from proofcheck.sheet.pieces import MOST_PIECES, find_pieces, ink_mask, worked_on
from proofcheck.sheet.sift import sift

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.base.values import Sheet
    from proofcheck.sheet.pieces import Pieces
    from proofcheck.sheet.sift import Sifted

__all__ = ["BlockInitial", "find_block_initials", "places_of_initials"]

_HIGH: Final = (2.5, 14.0)
"""Of two lines to six, in common letter heights."""
_SQUARE: Final = (0.7, 1.4)
_INK: Final = (0.3, 0.97)
_RIM: Final = 0.85
"""Share of its rim that is solid."""
_RIM_DEEP: Final = 0.02
_WORN_PX: Final = 2
_TENDRIL: Final = (0.025, 0.04, 0.055, 0.075, 0.1)
"""Thickness of its tendrils, in its heights, the least first."""
_LETTER: Final = (0.35, 0.5)
"""Least height of its letter, in heights of the block, and least share of the white in it."""
_ALONE: Final = 0.6
"""Nothing else in it is as high as this share of its letter: two letters are lettering."""
_ROW: Final = 3
"""So many white letters side by side are lettering, and no initial."""
_NEAR: Final = 3.0
"""The lines beside it begin so near, in common letter heights."""
_AFTER: Final = 0.25
"""White left between its letter and the line, so that they are one word."""
_LINES: Final = 1.2
"""Letters of two lines have their middles so far apart, in common letter heights."""


@dataclass(frozen=True, slots=True, eq=False)
class BlockInitial:
    """A block with its letter."""

    box: Box
    """The block, and what of the white after it its letter is moved over."""
    letter: NDArray[np.uint8] | None
    """1 = the letter's own strokes, cut to them; None where it can't be told from the rest."""


def find_block_initials(
    ink: NDArray[np.uint8], pieces: Pieces, labels: NDArray[np.int32], sifted: Sifted
) -> list[BlockInitial]:
    """Solid square blocks with lines of type close at their right and none at their left.

    Args:
        ink: the sheet, 1 = ink.
        pieces: its pieces.
        labels: their map.
        sifted: what they may be.
    """
    size, height, width = sifted.size_px, pieces.height, pieces.width
    fair = (height > _HIGH[0] * size) & (height < _HIGH[1] * size)
    fair &= (width > _SQUARE[0] * height) & (width < _SQUARE[1] * height)
    fair &= pieces.area > _INK[0] * width * height
    found: list[BlockInitial] = []
    if not fair.any():
        return found
    text = pieces.take(sifted.letter & (height < 2.5 * size))
    for index in np.flatnonzero(fair):
        x, y, right, bottom = (
            int(getattr(pieces, side)[index]) for side in ("x", "y", "right", "bottom")
        )
        white = _white_after((x, y, right, bottom), text, size)
        if white is None:
            continue
        block = np.ascontiguousarray(ink[y:bottom, x:right])
        own = np.asarray(labels[y:bottom, x:right] == index + 1, np.uint8)
        if not _is_block(own) or white_row(own, own, _dpi_for(size), size / 4)[0] >= _ROW:
            continue
        spare = max(int(white - _AFTER * size), 0)
        found.append(BlockInitial(Box(x, y, right - x + spare, bottom - y), _letter(block)))
    return found


def places_of_initials(sheet: Sheet) -> list[Box]:
    """Where block initials stand on a sheet whose letters can be told, in its pixels."""
    image, step = worked_on(sheet)
    ink = ink_mask(image)
    pieces, labels = find_pieces(ink)
    if len(pieces) > MOST_PIECES:
        return []
    blocks = find_block_initials(ink, pieces, labels, sift(pieces, labels, sheet.dpi / step))
    return [
        Box(*(step * side for side in block.box)) for block in blocks if block.letter is not None
    ]


def _dpi_for(size: float) -> float:
    """Resolution at which dots of a halftone are no larger than a third of a letter."""
    return size * 8


def _white_after(box: tuple[int, int, int, int], text: Pieces, size: float) -> float | None:
    """White between a place and the lines that begin at its right; None where it heads none."""
    x, y, right, bottom = box
    level = (text.y + text.bottom) / 2
    inside = (level > y - size / 2) & (level < bottom + size / 2)
    after = inside & (text.x >= right - 2) & (text.x < right + _NEAR * size)
    before = inside & (text.right <= x) & (text.right > x - _NEAR * size)
    rows = level[after]
    if len(rows) < 2 or float(np.ptp(rows)) < _LINES * size or before.any():
        return None
    return float(text.x[after].min() - right)


def _is_block(own: NDArray[np.uint8]) -> bool:
    """Whether a piece is solid all along its rim and partly white inside."""
    # Its outermost edge is worn, and may lie a little aslant.
    own = own[_WORN_PX:-_WORN_PX, _WORN_PX:-_WORN_PX]
    height, width = own.shape
    share = float(own.mean())
    deep = max(round(_RIM_DEEP * height), 2)
    inner = own[deep : height - deep, deep : width - deep]
    rim = (own.sum() - inner.sum()) / max(own.size - inner.size, 1)
    return _INK[0] < share < _INK[1] and float(rim) > _RIM


def _letter(block: NDArray[np.uint8]) -> NDArray[np.uint8] | None:
    """The letter in a block: the white that is left where all that is thinner than it is gone."""
    height, _ = block.shape
    white = np.asarray(1 - block, np.uint8)
    for share in _TENDRIL:
        thick = max(round(share * height), 2)
        brush = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (thick, thick))
        opened = np.asarray(cv2.morphologyEx(white, cv2.MORPH_OPEN, brush), np.uint8)
        pieces, labels = find_pieces(opened)
        if not len(pieces):
            return None
        largest = int(np.argmax(pieces.area))
        high = pieces.height[largest] > _LETTER[0] * height
        chief = pieces.area[largest] > _LETTER[1] * pieces.area.sum()
        alone = np.count_nonzero(pieces.height > _ALONE * pieces.height[largest]) == 1
        if high and chief and alone and are_letterlike(pieces, labels, np.array([largest]))[0]:
            core = np.asarray(labels == largest + 1, np.uint8)
            grown = cv2.bitwise_and(cv2.dilate(core, np.ones((3, 3), np.uint8)), white)
            x, y, wide, tall = cv2.boundingRect(grown)
            return np.asarray(grown[y : y + tall, x : x + wide], np.uint8)
    return None
