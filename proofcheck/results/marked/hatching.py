"""Places that were not read, hatched on the marked proof, each with a word beside it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.marks.lettering import write
from proofcheck.marks.paths import Drawing, Stroke, extent, moved
from proofcheck.results.marked.parts import Inked, PlacedUnread, Rect

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.found import Unread
    from proofcheck.base.values import Box

__all__ = ["hatched"]

_WORD = "not read"
_SIZE = 0.9
"""x-height of the word, in units."""
_APART = 1.0
"""From one stroke of the hatching to the next, in units."""
_AIR = 0.4
"""Round the ink, in units."""
_THIN = 0.5
"""Weight of the hatching beside the frame's: what lies under it must stay legible."""


def hatched(
    places: Sequence[Unread], sheet_width: int, unit: float, pen: float
) -> list[PlacedUnread]:
    """Places of one sheet, in its pixels: a frame, strokes aslant over it, "not read" at a corner.

    The word stands once over several that lie close under one another.

    Args:
        places: what was not read.
        sheet_width: in pixels; the word keeps within it.
        unit: x-height of the sheet's type, in pixels.
        pen: width of the pen in pixels.
    """
    frames = [_frame(place.box, _AIR * unit) for place in places]
    out = []
    for place, frame in zip(places, frames, strict=True):
        drawing = (*_outline(frame), *_strokes(frame, _APART * unit))
        if not any(_is_close_under(frame, other, unit) for other in frames):
            drawing = (*drawing, *_word(frame, sheet_width, unit))
        held, half = extent(drawing), pen / 2
        rect = Rect(held.left - half, held.low - half, held.right + half, held.high + half)
        out.append(PlacedUnread(place.words, rect, Inked(drawing, pen)))
    return out


def _frame(box: Box, air: float) -> Rect:
    return Rect(box.x - air, box.y - air, box.right + air, box.bottom + air)


def _is_close_under(frame: Rect, other: Rect, unit: float) -> bool:
    """Whether a word over a frame would lie on another place."""
    beside = frame.left < other.right and other.left < frame.right
    return beside and other.top < frame.top and frame.top - other.bottom < 2 * _SIZE * unit


def _word(frame: Rect, sheet_width: int, unit: float) -> Drawing:
    """The word over a frame, or under one at the head of the sheet."""
    word = moved(write(_WORD, 0.0), scale=_SIZE * unit, flip=True)
    x = min(frame.left, sheet_width - extent(word).right - _AIR * unit)
    y = frame.top - 0.5 * unit
    if y < 2 * _SIZE * unit:
        y = frame.bottom + 2 * _SIZE * unit
    return moved(word, by=(x, y))


def _outline(frame: Rect) -> Drawing:
    left, top, right, bottom = frame
    corners = [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)]
    return (Stroke(np.array(corners, np.float64), 1.0),)


def _strokes(frame: Rect, apart: float) -> Drawing:
    """Strokes at 45° across the frame, cut at its edges."""
    left, top, right, bottom = frame
    high = bottom - top
    strokes = []
    for start in np.arange(left - high + apart, right, apart * np.sqrt(2)):
        x, end = max(start, left), min(start + high, right)
        if end > x:
            points = [(x, bottom - (x - start)), (end, bottom - (end - start))]
            strokes.append(Stroke(np.array(points, np.float64), _THIN))
    return tuple(strokes)
