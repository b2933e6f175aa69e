"""Places that were not read, hatched on the marked proof, each with a word beside it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.marks.lettering import write
from proofcheck.marks.paths import Drawing, Stroke, extent, moved
from proofcheck.results.marked.parts import Inked, PlacedUnread, Rect

if TYPE_CHECKING:
    from proofcheck.base.found import Unread

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


def hatched(place: Unread, sheet_width: int, unit: float, pen: float) -> PlacedUnread:
    """One place in sheet pixels: a frame, strokes aslant over it, and "not read" at its corner.

    Args:
        place: what was not read.
        sheet_width: in pixels; the word keeps within it.
        unit: x-height of the sheet's type, in pixels.
        pen: width of the pen in pixels.
    """
    box, air = place.box, _AIR * unit
    frame = Rect(box.x - air, box.y - air, box.right + air, box.bottom + air)
    word = moved(write(_WORD, 0.0), scale=_SIZE * unit, flip=True)
    x = min(frame.left, sheet_width - extent(word).right - air)
    y = frame.top - 0.5 * unit
    if y < 2 * _SIZE * unit:
        y = frame.bottom + 2 * _SIZE * unit
    drawing = (*_outline(frame), *_strokes(frame, _APART * unit), *moved(word, by=(x, y)))
    held, half = extent(drawing), pen / 2
    rect = Rect(held.left - half, held.low - half, held.right + half, held.high + half)
    return PlacedUnread(place.words, rect, Inked(drawing, pen))


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
