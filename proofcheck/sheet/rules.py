"""Upright rules, and the boxes and tables they make with level ones: what of the ink they are.

A rule in the way of the lines is read as a bar or a bracket in each of them. It is known by its
shape alone: a thin straight stroke that stands free over most of its length and passes two lines
at least, or is the side of a box. A stroke in one line alone, or in a drawing, is none.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.sheet.pieces import Pieces, find_pieces, joined, without

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.sheet.sift import Sifted

__all__ = ["Ruled", "Strokes", "find_rules", "stroke_candidates"]

_LONG_IN: Final = 0.25
"""Shorter strokes are stems of letters: two lines of the smallest type take as much."""
_GAP_IN: Final = 0.02
"""Breaks in a worn rule, and where two lengths of rule meet; letters of solid lines stand farther
apart."""
_SLENDER: Final = 18.0
"""A rule is so many times as long as thick; the stem of a light sans capital some ten times."""
_THICKEST_IN: Final = 0.09
_FREE: Final = 0.6
"""Share of a rule's length that nothing touches."""
_PAIR: Final = 8.0
"""Two rules so long, in common letter heights, are a double one however near they stand; sides of
a box that is ruled twice are shorter."""
_ROWS: Final = 1.5
"""Letters of two lines have their middles so far apart, in common letter heights."""
_HATCH: Final = (4, 3.0)
"""So many strokes side by side within so many letter heights are a hatching."""
_OF_PIECE: Final = 0.5
"""Share of a piece that its rules are; the rest are letters that touch them. Of a drawing less."""
_MEET_PX: Final = 5
_EDGE_PX: Final = 3


@dataclass(frozen=True, slots=True, eq=False)
class Strokes:
    """Straight strokes of one direction."""

    upright: bool
    pieces: Pieces
    labels: NDArray[np.int32]
    """Their map over the sheet."""

    def thick(self) -> NDArray[np.float64]:
        """How thick each is, in pixels."""
        return self.pieces.area / (self.pieces.height if self.upright else self.pieces.width)

    def take(self, chosen: NDArray[np.bool_]) -> NDArray[np.uint8]:
        """The chosen ones, as a mask."""
        table = np.concatenate([[False], chosen]).astype(np.uint8)
        return np.asarray(table[self.labels], np.uint8)


@dataclass(frozen=True, slots=True, eq=False)
class Ruled:
    """The rules of a sheet, as masks of its ink."""

    upright: NDArray[np.uint8]
    level: NDArray[np.uint8]
    pieces: Pieces
    """Each rule by itself: first the upright ones, then the level ones."""
    count_upright: int


def stroke_candidates(ink: NDArray[np.uint8], dpi: float, *, upright: bool) -> Strokes:
    """Long thin straight strokes of one direction, whatever they belong to.

    Args:
        ink: the sheet, 1 = ink.
        dpi: its pixels an inch.
        upright: which direction.
    """
    long, gap = max(round(_LONG_IN * dpi), 12), max(round(_GAP_IN * dpi), 2)

    def size(length: int) -> NDArray[np.uint8]:
        return np.ones((length, 1) if upright else (1, length), np.uint8)

    # An inked rule wavers by a pixel, and may lie a little aslant.
    thick = cv2.dilate(ink, np.ones((1, 3) if upright else (3, 1), np.uint8))
    whole = cv2.morphologyEx(thick, cv2.MORPH_CLOSE, size(gap))
    core = cv2.erode(whole, size(long))
    none = find_pieces(np.zeros((1, 1), np.uint8))[0]
    nothing = Strokes(upright, none, np.zeros(ink.shape, np.int32))
    if not cv2.countNonZero(core):
        return nothing
    pieces, labels = find_pieces(np.asarray(cv2.dilate(core, size(long)), np.uint8))
    found = Strokes(upright, pieces, labels)
    length = pieces.height if upright else pieces.width
    across = np.maximum(found.thick() - 2, 1.0)
    right = (length > _SLENDER * across) & (across < _THICKEST_IN * dpi)
    height, width = ink.shape
    right &= (pieces.x > _EDGE_PX) & (pieces.right < width - _EDGE_PX)
    right &= (pieces.y > _EDGE_PX) & (pieces.bottom < height - _EDGE_PX)
    if not right.any():
        return nothing
    table = np.zeros(len(pieces) + 1, np.int32)
    table[1:][right] = np.arange(1, np.count_nonzero(right) + 1)
    kept = pieces.take(right)
    # Few strokes of a page are rules: the rest of the sheet is not gone through again.
    down = slice(int(kept.y.min()), int(kept.bottom.max()))
    over = slice(int(kept.x.min()), int(kept.right.max()))
    nothing.labels[down, over] = table[labels[down, over]]
    return Strokes(upright, kept, nothing.labels)


def find_rules(
    ink: NDArray[np.uint8], upright: Strokes, level: Strokes, sifted: Sifted, pieces: Pieces,
    labels: NDArray[np.int32], frames: NDArray[np.bool_],
) -> Ruled | None:  # fmt: skip
    """Which strokes are rules that pass lines of type, or sides of boxes; None if there are none.

    Args:
        ink: the sheet, 1 = ink.
        upright: its upright strokes.
        level: its level strokes.
        sifted: what its pieces may be.
        pieces: its pieces.
        labels: their map.
        frames: which pieces are ruled frames.
    """
    fair = _stand_free(ink, upright, _PAIR * sifted.size_px)
    fair &= ~_are_hatched(upright.pieces, sifted.size_px)
    free_level = _stand_free(ink, level)
    meets = _meetings(upright.pieces, level.pieces)
    sides = _are_sides(upright.pieces, level.pieces, meets & free_level[None, :])
    passing = _pass_lines(upright.pieces, pieces.take(_text(pieces, sifted)), sifted.size_px)
    upright_kept = fair & (sides | passing)
    level_kept = np.asarray((meets & upright_kept[:, None]).any(axis=0))
    drawn = _in_drawings(
        (upright.take(upright_kept) | level.take(level_kept)) & ink, pieces, labels, sifted, frames
    )
    upright_kept &= ~_meet(upright, labels, drawn)
    level_kept &= ~_meet(level, labels, drawn)
    if not upright_kept.any():
        return None
    sides_kept = upright.pieces.take(upright_kept)
    return Ruled(
        upright.take(upright_kept),
        level.take(level_kept),
        joined(sides_kept, level.pieces.take(level_kept)),
        len(sides_kept),
    )


def _text(pieces: Pieces, sifted: Sifted) -> NDArray[np.bool_]:
    return np.asarray(sifted.letter & (pieces.height < 3 * sifted.size_px))


def _stand_free(
    ink: NDArray[np.uint8], strokes: Strokes, long_px: float = np.inf
) -> NDArray[np.bool_]:
    """Which strokes have nothing at their sides over most of their length.

    Of long ones, as of a double rule between columns, the other may stand there.
    """
    found = np.zeros(len(strokes.pieces), bool)
    for index in range(len(found)):
        x, y, right, bottom = (
            int(getattr(strokes.pieces, side)[index]) for side in ("x", "y", "right", "bottom")
        )
        spare = 4
        window = (
            slice(max(y - spare, 0), bottom + spare), slice(max(x - spare, 0), right + spare)
        )  # fmt: skip
        own = np.asarray(strokes.labels[window] == index + 1, np.uint8)
        size = (1, 2 * spare + 1) if strokes.upright else (2 * spare + 1, 1)
        round_it = cv2.subtract(cv2.dilate(own, np.ones(size, np.uint8)), own)
        axis = 1 if strokes.upright else 0
        long = max(right - x, bottom - y) > long_px
        others = np.where(long & (strokes.labels[window] > 0), np.uint8(0), ink[window])
        beside = np.asarray(cv2.bitwise_and(round_it, others).any(axis=axis))
        along = np.asarray(own.any(axis=axis))
        found[index] = float(np.mean(~beside[along])) > _FREE
    return found


def _are_hatched(strokes: Pieces, size: float) -> NDArray[np.bool_]:
    """Strokes that stand close side by side, as those of an engraving do."""
    near = np.abs(strokes.middle[:, None] - strokes.middle) < _HATCH[1] * max(size, 1.0)
    shared = np.minimum(strokes.bottom[:, None], strokes.bottom) - np.maximum(
        strokes.y[:, None], strokes.y
    )
    near &= shared > 0.5 * np.minimum(strokes.height[:, None], strokes.height)
    return np.asarray(near.sum(axis=1) >= _HATCH[0])


def _meetings(upright: Pieces, level: Pieces) -> NDArray[np.bool_]:
    """Which upright stroke (row) meets which level one (column)."""
    across = (level.x < upright.right[:, None] + _MEET_PX) & (
        level.right > upright.x[:, None] - _MEET_PX
    )
    down = (level.y < upright.bottom[:, None] + _MEET_PX) & (
        level.bottom > upright.y[:, None] - _MEET_PX
    )
    return np.asarray(across & down)


def _are_sides(upright: Pieces, level: Pieces, meets: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Which upright strokes have a level one at their head and at their foot."""
    if not len(level) or not len(upright):
        return np.zeros(len(upright), bool)
    middle, spare = (level.y + level.bottom) / 2, 4 * _MEET_PX
    head = meets & (np.abs(middle - upright.y[:, None]) < spare)
    foot = meets & (np.abs(middle - upright.bottom[:, None]) < spare)
    return np.asarray(head.any(axis=1) & foot.any(axis=1))


def _pass_lines(strokes: Pieces, text: Pieces, size: float) -> NDArray[np.bool_]:
    """Which strokes have letters of two lines, at least, within their height."""
    level = (text.y + text.bottom) / 2
    found = np.zeros(len(strokes), bool)
    for index in range(len(strokes)):
        inside = level[(level > strokes.y[index]) & (level < strokes.bottom[index])]
        found[index] = len(inside) > 1 and float(np.ptp(inside)) > _ROWS * size
    return found


def _in_drawings(
    rules: NDArray[np.uint8], pieces: Pieces, labels: NDArray[np.int32], sifted: Sifted,
    frames: NDArray[np.bool_],
) -> NDArray[np.bool_]:  # fmt: skip
    """Pieces, large beside the type, that are not rules and letters alone; and all in them."""
    inked = np.bincount(labels[rules > 0], minlength=len(pieces) + 1)[1:]
    large = np.minimum(pieces.width, pieces.height) > 4 * sifted.size_px
    ruled = inked > _OF_PIECE * pieces.area
    ruled &= frames | ~_have_outlines(rules, pieces, labels, sifted.size_px)
    drawings = np.flatnonzero(large & ~ruled & ~frames)
    found = (inked > 0) & ~ruled
    level = (pieces.y + pieces.bottom) / 2
    for index in drawings:
        found |= (
            (pieces.middle > pieces.x[index])
            & (pieces.middle < pieces.right[index])
            & (level > pieces.y[index])
            & (level < pieces.bottom[index])
        )
    return found


def _have_outlines(
    rules: NDArray[np.uint8], pieces: Pieces, labels: NDArray[np.int32], size: float
) -> NDArray[np.bool_]:
    """Which pieces go on from their rules in strokes that are in no letter: long and thin, or tall.

    So drawings do, whose straight sides end in a curve or a torn edge.
    """
    rest, map_ = find_pieces(without(np.asarray(labels > 0, np.uint8), rules))
    near = cv2.dilate(rules, np.ones((3, 3), np.uint8)) > 0
    touching = np.bincount(map_[near], minlength=len(rest) + 1)[1:] > 0
    odd = (rest.height > 4 * size) | ((rest.width > 3 * size) & (rest.height < 0.7 * size))
    found = np.zeros(len(pieces) + 1, bool)
    found[labels[np.concatenate([[False], odd & touching])[map_]]] = True
    return found[1:]


def _meet(
    strokes: Strokes, labels: NDArray[np.int32], drawn: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """Which strokes are of some pieces."""
    inked = np.concatenate([[False], drawn])[labels]
    counts = np.bincount(strokes.labels[inked], minlength=len(strokes.pieces) + 1)
    return np.asarray(counts[1:] > 0)
