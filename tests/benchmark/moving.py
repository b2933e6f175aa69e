"""Move ink about on a page so that it looks set and printed so.

Only whole pieces of ink move, cut out along their own edge; paper closes over where they stood,
and where they come to stand the darker of the two wins, as with ink.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import cv2
import numpy as np

from .seen import baseline_at

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from proofcheck.base.values import Box, Grey

    from .standing import Glyph, Standing

__all__ = ["Canvas", "Put", "reset_word", "spread"]

_FRINGE = 1
"""Pixels round a piece of ink that belong to it: its soft edge in a grey scan."""


@dataclass(frozen=True, slots=True)
class Put:
    """A letter of the page set somewhere else on it."""

    glyph: Glyph
    x: float
    """Left edge of its ink."""
    word: int
    """The word it comes to stand in; its baseline is taken there."""
    turned: bool = False


@dataclass(slots=True, eq=False)
class Canvas:
    """A page being changed. Pieces are always taken from the page as it was."""

    standing: Standing
    image: Grey = field(init=False)
    paper: int = field(init=False)

    def __post_init__(self) -> None:
        self.image = self.standing.image.copy()
        self.paper = int(np.median(self.image[self.standing.labels == 0]))

    def wipe(self, pieces: Iterable[int]) -> None:
        """Close the paper over pieces of ink."""
        for piece in pieces:
            rows, columns, mask = self._cut(piece)
            self.image[rows, columns][mask] = self.paper

    def put(self, pieces: Iterable[int], dx: int, dy: int) -> None:
        """Print pieces again, shifted."""
        for piece in pieces:
            rows, columns, mask = self._cut(piece)
            ink = np.where(mask, self.standing.image[rows, columns], 255).astype(np.uint8)
            self._print(ink, columns.start + dx, rows.start + dy)

    def put_turned(self, glyph: Glyph, dx: int, dy: int) -> None:
        """Print a letter on its head, turned about the middle of its body.

        The middle of the body lies about half an x-height above the baseline: so a turned n
        stands on the line as a u does.
        """
        line = self.standing.lines[glyph.line]
        box = glyph.box
        middle = baseline_at(line, box.x + box.width / 2) - line.x_height_px / 2
        edge = _FRINGE
        whole = np.full((box.height + 2 * edge, box.width + 2 * edge), 255, np.uint8)
        for piece in glyph.pieces:
            rows, columns, mask = self._cut(piece)
            y, x = rows.start - box.y + edge, columns.start - box.x + edge
            part = whole[y : y + mask.shape[0], x : x + mask.shape[1]]
            ink = np.where(mask, self.standing.image[rows, columns], 255)
            part[:] = np.minimum(part, ink[: part.shape[0], : part.shape[1]])
        top = 2 * middle - box.bottom
        self._print(whole[::-1, ::-1], box.x - edge + dx, round(top) - edge + dy)

    def grow(self, rows: int) -> None:
        """Add paper at the foot."""
        band = np.full((rows, self.image.shape[1]), self.paper, np.uint8)
        self.image = np.vstack([self.image, band])

    def _cut(self, piece: int) -> tuple[slice, slice, np.ndarray]:
        """Rows, columns and mask of a piece with its fringe, but of no other piece."""
        held = self.standing.pieces
        height, width = self.standing.image.shape
        rows = slice(
            max(int(held.y[piece]) - _FRINGE, 0), min(int(held.bottom[piece]) + _FRINGE, height)
        )
        columns = slice(
            max(int(held.x[piece]) - _FRINGE, 0), min(int(held.right[piece]) + _FRINGE, width)
        )
        labels = self.standing.labels[rows, columns]
        own = (labels == piece + 1).astype(np.uint8)
        reach = cv2.dilate(own, np.ones((3, 3), np.uint8)) > 0
        return rows, columns, reach & ((labels == 0) | (own > 0))

    def _print(self, ink: Grey, x: int, y: int) -> None:
        height, width = self.image.shape
        left, top = max(x, 0), max(y, 0)
        right, bottom = min(x + ink.shape[1], width), min(y + ink.shape[0], height)
        if right <= left or bottom <= top:
            return
        under = self.image[top:bottom, left:right]
        np.minimum(under, ink[top - y : bottom - y, left - x : right - x], out=under)


def spread(standing: Standing, word: int, delta: float) -> dict[int, int] | None:
    """How far each later word of the line moves when one grows by `delta` pixels.

    The spaces after it take it up between them, as in a line justified anew; None where they
    are too narrow to, or where there is none to take up more than a hair.
    """
    row = standing.of_line[standing.words[word].line]
    later = row[row.index(word) + 1 :]
    if abs(delta) < 1:
        return {}
    size = standing.lines[standing.words[word].line].x_height_px
    if not later:
        return {} if abs(delta) < size * 0.3 else None
    gaps = [
        standing.words[b].box.x - standing.words[a].box.right
        for a, b in zip([word, *later], later, strict=False)
    ]
    if min(gaps) - delta / len(gaps) < 0.45 * size:
        return None
    return {other: round(delta * (1 - (step + 1) / len(later))) for step, other in enumerate(later)}


def reset_word(canvas: Canvas, word: int, puts: Sequence[Put], shifts: dict[int, int]) -> Box:
    """Set one word anew from the given letters, and move the later words of its line.

    Returns where the word's ink now is.
    """
    from proofcheck.base.values import Box

    standing = canvas.standing
    canvas.wipe(standing.words[word].pieces)
    for other in shifts:
        canvas.wipe(standing.words[other].pieces)
    for other, dx in shifts.items():
        canvas.put(standing.words[other].pieces, dx, 0)
    boxes = []
    for put in puts:
        dx, dy = _offset(standing, put)
        if put.turned:
            canvas.put_turned(put.glyph, dx, dy)
        else:
            canvas.put(put.glyph.pieces, dx, dy)
        x, y, width, height = put.glyph.box
        boxes.append(Box(x + dx, y + dy, width, height))
    return Box.around(boxes)


def _offset(standing: Standing, put: Put) -> tuple[int, int]:
    """Shift that brings a letter to its place, on the baseline of the word it goes to."""
    box = put.glyph.box
    middle = box.x + box.width / 2
    dx = round(put.x - box.x)
    line = standing.words[put.word].line
    here = standing.baseline(put.glyph.line, middle)
    there = standing.baseline(line, put.x + box.width / 2)
    return dx, round(there - here)
