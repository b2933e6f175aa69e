"""Which pieces have the look of letters, whatever their size: for ink that no reader could read."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.sheet.pieces import find_pieces
from proofcheck.sheet.rows import find_segments

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.sheet.pieces import Pieces

__all__ = ["are_letterlike", "letter_row", "white_row"]

_HEIGHT_PX: Final = 40
"""Letters are looked at in this height: grain and wear are gone, form is not."""
_LETTER_WIDTH: Final = 0.6
"""Usual width of a letter in its heights; what is wider may be several that touch."""
_OUTLINE: Final = 6.0
"""Longest outline of a letter in its heights: an M has five, an ampersand four and a half; a
drawing of like size has ten and more."""
_HOLES: Final = 2
_HOLE: Final = 0.004
"""Least hole, as a share of the letter's box."""
_SOLID: Final = 0.93
"""A block without hollows fills more of its hull, the fattest U less; a bare stroke is narrow."""
_ALIGNED: Final = 0.15
"""Letters of a row keep their foot or head within this share of their height."""
_DOT_IN: Final = 1 / 25
"""Dots of a halftone are smaller, even where two run together."""
_CLEAR: Final = 0.3
"""Share of its width by which a letter may reach under the one before it."""
_WHITE: Final = 0.6
"""Share of all white in a panel that is in its longest row of letters; in a picture's lights the
screen has most of it."""
_FILLS: Final = (0.3, 0.4)
"""Shares of a panel's height and width that lettering has for which it was made."""
_EVEN: Final = 0.12
"""Half of the letters of a row are of one height within this share; slits in a picture are not."""
_MOST: Final = 400


def are_letterlike(
    pieces: Pieces, labels: NDArray[np.int32], chosen: NDArray[np.intp]
) -> NDArray[np.bool_]:
    """Which of some pieces have the outline of a letter, or of a few that touch.

    Letters have few holes and a short outline for their size; drawings and engravings have many
    and a long one. A solid block is none.
    """
    found = np.zeros(len(chosen), bool)
    for place, index in enumerate(chosen[:_MOST]):
        x, y, right, bottom = (
            int(getattr(pieces, side)[index]) for side in ("x", "y", "right", "bottom")
        )
        found[place] = _is_letterlike((labels[y:bottom, x:right] == index + 1).astype(np.uint8))
    return found


def _is_letterlike(mask: NDArray[np.uint8]) -> bool:
    height, width = mask.shape
    scale = _HEIGHT_PX / height
    if scale < 1:
        size = (max(round(width * scale), 1), _HEIGHT_PX)
        grey = cv2.resize(mask * np.uint8(255), size, interpolation=cv2.INTER_AREA)
        mask = np.asarray(grey > 127, np.uint8)
    mask = np.pad(mask, 2)
    height, width = mask.shape[0] - 4, mask.shape[1] - 4
    outlines, nesting = cv2.findContours(mask, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    if not outlines:
        return False
    inner = [each for each, place in zip(outlines, nesting[0], strict=True) if place[3] >= 0]
    outer = [each for each, place in zip(outlines, nesting[0], strict=True) if place[3] < 0]
    letters = max(width / (_LETTER_WIDTH * height), 1.0)
    holes = sum(cv2.contourArea(each) > _HOLE * height * width for each in inner)
    outline = sum(cv2.arcLength(each, closed=True) for each in outer)
    hull = cv2.contourArea(cv2.convexHull(np.vstack(outer)))
    solid = not holes and width > _LETTER_WIDTH * height and mask.sum() > _SOLID * hull
    return holes <= _HOLES * letters + 1 and outline < _OUTLINE * letters * height and not solid


def letter_row(
    pieces: Pieces, labels: NDArray[np.int32], index: NDArray[np.intp], dpi: float
) -> NDArray[np.intp]:
    """The longest row of letterlike pieces of like height among some, head or foot in line."""
    mine = pieces.take(index)
    order = np.argsort(mine.height)
    share = np.cumsum(mine.height[order])
    common = float(mine.height[order][np.searchsorted(share, share[-1] / 2)])
    like = (mine.height > 0.45 * common) & (mine.height < 2.2 * common)
    like &= mine.width < 4 * mine.height
    like[like] &= are_letterlike(pieces, labels, index[like])
    best = np.zeros(0, np.intp)
    for segment in find_segments(mine, like):
        row = mine.take(segment.members)
        if _are_dots(row, dpi):
            continue
        spare = max(_ALIGNED * float(np.median(row.height)), 1.5)
        for edge in (row.bottom, row.y):
            level = segment.members[np.abs(edge - np.median(edge)) < spare]
            level = level[_side_by_side(mine.take(level))]
            best = level if len(level) > len(best) else best
    return index[best]


def _side_by_side(row: Pieces) -> NDArray[np.bool_]:
    """Which pieces of a row, from the left, stand clear of the one before them."""
    reach = np.maximum.accumulate(np.concatenate([[-np.inf], row.right[:-1]]))
    narrower = np.minimum(row.width, np.concatenate([row.width[:1], row.width[:-1]]))
    return np.asarray(reach - row.x < _CLEAR * narrower)


def white_row(
    mask: NDArray[np.uint8], ink: NDArray[np.uint8], dpi: float, least_px: float
) -> tuple[int, bool]:
    """The longest row of white letters in a solid piece: how many, and whether they fill it.

    Args:
        mask: the piece alone, 1 = ink.
        ink: all ink there: what lies within a white O is a piece of its own, and makes it an O.
        dpi: pixels an inch.
        least_px: smaller white is grain.
    """
    outlines, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    inside = cv2.drawContours(np.zeros_like(mask), outlines, -1, 1, cv2.FILLED)
    pieces, labels = find_pieces(np.asarray(cv2.subtract(inside, ink), np.uint8))
    large = np.flatnonzero(pieces.height > least_px)
    if not 0 < len(large) <= _MOST:
        return 0, False
    row = letter_row(pieces, labels, large, dpi)
    tall = float(np.median(pieces.height[row])) if len(row) else 0.0
    even = np.abs(pieces.height[row] - tall) < _EVEN * tall
    if (
        tall < _DOT_IN * dpi
        or np.mean(even) < 0.5
        or pieces.area[row].sum() < _WHITE * pieces.area.sum()
    ):
        return 0, False
    across = pieces.right[row].max() - pieces.x[row].min()
    height, width = mask.shape
    return len(row), bool(tall > _FILLS[0] * height and across > _FILLS[1] * width)


def _are_dots(row: Pieces, dpi: float) -> bool:
    """Whether a row is dots of a halftone or points of a leader: round, solid, small."""
    round_ = np.abs(np.log(row.width / row.height)) < 0.5
    solid = round_ & (row.fill > 0.7)
    return float(np.median(row.height)) < _DOT_IN * dpi and float(np.mean(solid)) > 0.6
