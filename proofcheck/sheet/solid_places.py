"""Solid places of a sheet, inked all over but for what may be lettering: where panels may be."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.base.units import pt_to_px
from proofcheck.base.values import Box
from proofcheck.sheet.pieces import find_pieces, ink_mask

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from proofcheck.base.values import Sheet
    from proofcheck.sheet.pieces import Pieces

__all__ = ["PANEL_PT", "SolidPlace", "solid_boxes", "solid_places"]

_REDUCED: Final = 4
PANEL_PT: Final = (12.0, 6.0)
"""Least length and height of a panel."""
_RULES_PT: Final = (2.2, 4.0, 7.0)
"""A rule that goes on from a panel round other matter is no thicker: none of the panel. A thicker
one, as a border's or a shield's, is looked for where the place is of no panel's outline with it."""
_DEPTH: Final = len(_RULES_PT)
_MOSTLY, _DARKER, _PART = 0.65, 0.15, 0.15
"""Of a frame with a panel in it less is inked, of the panel by so much more; and it is at least
such a part of the frame's ground."""
_LEAST_CONVEX: Final = 0.88
"""Share of its hull that a panel fills, its lettering filled in: a square or oval has nearly 1,
a worn edge bites a little off, letters that run together have less."""
_INK: Final = (0.35, 0.995)
"""Share of a panel that is inked; the rest is lettering."""
_RIM: Final = 0.85
"""Share of a panel's rim that is solid: a row of letters that touch has gaps at head and foot."""
_IN_A_ROW: Final = 0.97
"""The same where such places stand in a row: letters of fat faces that touch had 0.93 at most in
words, 0.97 two by two, squares with a white letter in each have 0.98 and more."""
_MANY: Final = 30
"""White pieces in a place, so many as no word of letters that touch has in it and between them."""
_AS_HIGH, _WORD = 0.08, 3.0
"""Fellows of a row end within this share of their height, and are so many times as wide at most."""


@dataclass(frozen=True, slots=True, eq=False)
class SolidPlace:
    """A solid place on the sheet."""

    box: Box
    mask: NDArray[np.uint8]
    """1 within its outline, lettering filled in."""


def solid_boxes(sheet: Sheet) -> tuple[Box, ...]:
    """Where panels may stand on the cleaned sheet."""
    return tuple(found.box for found in solid_places(sheet))


def solid_places(sheet: Sheet) -> Iterator[SolidPlace]:
    """Places inked all over but for what may be lettering, as large as a word."""
    height, width = sheet.image.shape
    rows, columns = height // _REDUCED, width // _REDUCED
    if min(rows, columns) < 8:
        return
    small = cv2.resize(sheet.image, (columns, rows), interpolation=cv2.INTER_AREA)
    dark = ink_mask(np.asarray(small, np.uint8))
    for filled in _filled_in(dark, dark, sheet.dpi):
        yield _at_full_size(filled, (height, width))


def _filled_in(
    held: NDArray[np.uint8],
    dark: NDArray[np.uint8],
    dpi: float,
    rule: int = 0,
    least_rim: float = _RIM,
) -> Iterator[NDArray[np.uint8]]:
    """The outlines of the panels in some ink, once rules so thick are taken from it.

    What then is no panel is looked at again without its thicker rules; so is one that is mostly
    white, which may be a frame with a panel in it.
    """
    thick = max(round(pt_to_px(_RULES_PT[rule], dpi) / _REDUCED), 3 + 2 * rule) | 1
    core = cv2.morphologyEx(held, cv2.MORPH_OPEN, np.ones((thick, thick), np.uint8))
    pieces, labels = find_pieces(np.asarray(core, np.uint8))
    least = [max(pt_to_px(size, dpi) / _REDUCED, 2.0 * thick * (rule > 0)) for size in PANEL_PT]
    large = (pieces.width > least[0]) & (pieces.height > least[1])
    for index in np.flatnonzero(large):
        piece = np.asarray(labels == index + 1, np.uint8)
        across = float(min(pieces.width[index], pieces.height[index]))
        filled = _outline(piece, across)
        in_a_row = _has_fellows(pieces, int(index)) and not _holds_many(filled, dark)
        rim = _IN_A_ROW if in_a_row else least_rim
        inked, is_panel = _inked(filled, dark), _is_panel(filled, dark, rim)
        within: list[NDArray[np.uint8]] = []
        if (not is_panel or inked < _MOSTLY) and rule + 1 < _DEPTH:
            within += _filled_in(piece, dark, dpi, rule + 1, rim)
        darker = any(
            _inked(one, dark) > inked + _DARKER and one.sum() > _PART * filled.sum()
            for one in within
        )
        if is_panel and not darker:
            yield filled
        else:
            yield from within


def _outline(core: NDArray[np.uint8], across: float) -> NDArray[np.uint8]:
    """A solid place with its holes filled, and bays that letters near its edge make.

    They are as large as its shorter side lets them be: the notch of a hanging ribbon is no bay.
    """
    close = max(int(across / 4), 2) | 1  # odd: an even kernel shifts what it closes
    spare = close + 1
    held = cv2.copyMakeBorder(core, spare, spare, spare, spare, cv2.BORDER_CONSTANT, value=0)
    held = cv2.morphologyEx(held, cv2.MORPH_CLOSE, np.ones((close, close), np.uint8))
    outlines, _ = cv2.findContours(held, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    filled = cv2.drawContours(np.zeros_like(held), outlines, -1, 1, cv2.FILLED)
    return np.asarray(filled[spare:-spare, spare:-spare], np.uint8)


def _has_fellows(pieces: Pieces, index: int) -> bool:
    """Whether a place has others as high beside it, as one of fat letters that touch has."""
    high, wide = pieces.height[index], pieces.width
    level = np.abs(pieces.y - pieces.y[index]) <= _AS_HIGH * high + 1
    level &= np.abs(pieces.bottom - pieces.bottom[index]) <= _AS_HIGH * high + 1
    level[index] = False
    apart = np.maximum(pieces.x - pieces.right[index], pieces.x[index] - pieces.right)
    return bool((level & (wide <= _WORD * high) & (apart <= high)).any())


def _holds_many(filled: NDArray[np.uint8], dark: NDArray[np.uint8]) -> bool:
    """Whether so much stands white in a place that it is no letter."""
    white = cv2.bitwise_and(filled, np.asarray(1 - dark, np.uint8))
    pieces, _ = find_pieces(np.asarray(white, np.uint8))
    return int(np.count_nonzero(pieces.area > 1)) >= _MANY


def _is_panel(filled: NDArray[np.uint8], dark: NDArray[np.uint8], least_rim: float) -> bool:
    """Whether a place has the outline of a panel, a solid rim and white in it."""
    outlines, _ = cv2.findContours(filled, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    area = float(cv2.countNonZero(filled))
    hull = float(cv2.contourArea(cv2.convexHull(np.vstack(outlines))))
    if not outlines or area < _LEAST_CONVEX * hull:
        return False
    padded = np.pad(filled, 1)
    rim = padded - cv2.erode(padded, np.ones((3, 3), np.uint8))
    rim = rim[1:-1, 1:-1]
    solid = cv2.countNonZero(cv2.bitwise_and(rim, dark)) / max(cv2.countNonZero(rim), 1)
    return _INK[0] < _inked(filled, dark) < _INK[1] and solid > least_rim


def _inked(filled: NDArray[np.uint8], dark: NDArray[np.uint8]) -> float:
    """Share of a place that is inked."""
    return cv2.countNonZero(cv2.bitwise_and(filled, dark)) / max(cv2.countNonZero(filled), 1)


def _at_full_size(filled: NDArray[np.uint8], shape: tuple[int, int]) -> SolidPlace:
    """A place found on the reduced picture, in pixels of the sheet with a little to spare."""
    x, y, width, height = cv2.boundingRect(filled)
    box = Box(x * _REDUCED, y * _REDUCED, width * _REDUCED, height * _REDUCED)
    left, top = max(box.x - _REDUCED, 0), max(box.y - _REDUCED, 0)
    right, bottom = min(box.right + _REDUCED, shape[1]), min(box.bottom + _REDUCED, shape[0])
    part = filled[y : y + height, x : x + width]
    whole = cv2.resize(part, (box.width, box.height), interpolation=cv2.INTER_NEAREST)
    mask = np.zeros((bottom - top, right - left), np.uint8)
    mask[box.y - top : box.bottom - top, box.x - left : box.right - left] = whole
    return SolidPlace(Box(left, top, right - left, bottom - top), mask)
