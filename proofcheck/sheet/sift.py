"""Tell letters from rules, cuts, borders and dirt, by the size and shape of each piece."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from proofcheck.sheet.run_round import matter_beside
from proofcheck.sheet.surrounds import find_surrounds

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from proofcheck.sheet.pieces import Pieces
    from proofcheck.sheet.surrounds import Surround

__all__ = [
    "TALLEST_OF_SHEET", "Sifted", "are_blots", "are_frames", "are_straight", "go_round", "sift",
]  # fmt: skip

TALLEST_OF_SHEET = 1 / 3
"""Taller pieces than this share of the sheet don't tell how large its letters are."""
_RULE_LEVEL, _RULE_UPRIGHT = 5, 12
"""How many times as long as thick a rule is at least."""
_SMALL_DOT_PX = 8
_LEAST_FRAME_PX = 40
_FRAME_FILL = 0.2
"""A frame fills less of its box; a table of hair rules some 0.1."""
_FRAME_HOLDS = 3
"""A frame has more pieces than this in its box, itself counted; letters have none."""
_FRAME_STROKE = 0.15
"""Strokes of a frame are longer than this share of its shorter side."""
_FRAME_STRAIGHT, _FRAME_WAVER = 0.92, 5
"""Share of a frame's ink in such strokes, and the pixels that worn rules waver: worn frames have
0.93 and more, line drawings in books 0.9 at most."""
_BLOCK_PX, _THIN = (15, 7), 0.4
"""Solid blocks in a frame are larger, their edge so wide; so much of it is left beside them."""

_WAVER, _CLOSED, _CLOSED_FILL = 7, 0.9, 0.35
"""Pixels that a side may waver, and share of it that is inked, where a box is closed all round; and
how much of it ink fills, if it is as small as a square to write a figure in."""


@dataclass(frozen=True, slots=True, eq=False)
class Sifted:
    """The pieces of a sheet by what they may be: masks over the pieces."""

    letter: NDArray[np.bool_]
    """Tall enough for a letter of this sheet, not too tall, and no rule."""
    small: NDArray[np.bool_]
    """Points, dots, quotes, hyphens, dashes, broken bits: they follow the letters beside them."""
    upright: NDArray[np.bool_]
    """Upright rules: column rules, sides of boxes."""
    size_px: float
    """Common height of a letter on this sheet (between x-height and capitals); 0 if none."""


def _common_height(pieces: Pieces, tallest: float, frames: NDArray[np.bool_]) -> float:
    """Median height of what may be letters.

    First with each piece counted as often as it is high, which neither specks nor a few large
    cuts outweigh; then by count, without the specks. Round solid pieces (full points, dots of a
    halftone) don't count.
    """
    height, width = pieces.height, pieces.width
    fair = (height >= 4) & (height <= tallest) & (width <= 6 * height) & (height <= 10 * width)
    # The fewer pixels a dot has, the more of its box is edge.
    solid = pieces.fill > np.where(height < _SMALL_DOT_PX, 0.5, 0.7)
    dots = solid & (width < 1.6 * height) & (height < 1.6 * width)
    fair &= ~dots & ~frames
    if not fair.any():
        return 0.0
    heights, weights = height[fair], height[fair]
    order = np.argsort(heights)
    share = np.cumsum(weights[order])
    middle = float(heights[order][np.searchsorted(share, share[-1] / 2)])
    kept = heights[(heights > 0.3 * middle) & (heights < 3 * middle)]
    return float(np.median(kept))


def _in_cuts(
    pieces: Pieces,
    labels: NDArray[np.int32],
    size: float,
    frames: NDArray[np.bool_],
    surrounds: Mapping[int, Surround],
) -> tuple[NDArray[np.bool_], NDArray[np.intp], NDArray[np.bool_]]:
    """What is as large as cuts are, which of it holds what is in its box, and all that is held.

    Rules, boxes and borders hold nothing, and no frame what is in its rooms for type.
    """
    height, width = pieces.height, pieces.width
    huge = (np.minimum(height, width) > 4 * size) & (np.maximum(height, width) > 9 * size)
    held, edge = np.zeros(len(pieces), bool), _at_edge(pieces, labels)
    level, middle, spare = (pieces.y + pieces.bottom) / 2, pieces.middle, size / 2
    holding = []
    for index in np.flatnonzero(huge & ~frames):
        if pieces.fill[index] < 0.35 and _is_ruled(labels, pieces, int(index), size, edge[index]):
            continue
        holding.append(index)
        inside = (
            (middle > pieces.x[index] - spare)
            & (middle < pieces.right[index] + spare)
            & (level > pieces.y[index] - spare)
            & (level < pieces.bottom[index] + spare)
        )
        if int(index) in surrounds:
            inside[surrounds[int(index)].held] = False
        held |= inside
    return huge, np.array(holding, np.intp), held


def are_frames(pieces: Pieces, labels: NDArray[np.int32]) -> NDArray[np.bool_]:
    """Ruled frames, boxes and grids: thin straight strokes round other pieces.

    Inked rules waver by a pixel and are broken here and there. Whatever stands in a frame is
    looked at for itself.
    """
    found = np.zeros(len(pieces), bool)
    across = np.minimum(pieces.width, pieces.height)
    level = (pieces.y + pieces.bottom) / 2
    for index in np.flatnonzero((across >= _LEAST_FRAME_PX) & (pieces.fill < _CLOSED_FILL)):
        held = (pieces.middle > pieces.x[index]) & (pieces.middle < pieces.right[index])
        held &= (level > pieces.y[index]) & (level < pieces.bottom[index])
        mask = _mask_of(pieces, labels, int(index))
        has_matter = pieces.fill[index] < _FRAME_FILL and np.count_nonzero(held) > _FRAME_HOLDS
        if has_matter or _is_closed(mask):
            long = max(int(_FRAME_STROKE * across[index]), 8)
            found[index] = _is_of_strokes(mask, long)
    return found


def _is_of_strokes(mask: NDArray[np.uint8], long: int) -> bool:
    """Whether a piece is of straight strokes, but for solid blocks, as in the corners of a border.

    Of what is mostly solid the strokes are an edge.
    """
    block, beside = (np.ones((side, side), np.uint8) for side in _BLOCK_PX)
    solid = cv2.dilate(cv2.morphologyEx(mask, cv2.MORPH_OPEN, block), beside)
    thin = np.asarray(cv2.subtract(mask, np.asarray(solid, np.uint8)), np.uint8)
    parts = [mask]
    if cv2.countNonZero(thin) > _THIN * cv2.countNonZero(mask):
        parts.append(thin)
    return any(
        _straight(part, long, _FRAME_WAVER) > _FRAME_STRAIGHT * cv2.countNonZero(part)
        for part in parts
    )


def _is_closed(mask: NDArray[np.uint8]) -> bool:
    """Whether ink goes round a piece's whole box, as round a square to write in, empty or not."""
    sides = (mask[:_WAVER], mask[-_WAVER:], mask[:, :_WAVER].T, mask[:, -_WAVER:].T)
    return all(side.any(axis=0).mean() >= _CLOSED for side in sides)


def are_straight(pieces: Pieces, labels: NDArray[np.int32]) -> NDArray[np.bool_]:
    """Rules, level or upright, plain or swelled, and frames.

    A stroke of a sans face (I, l) is up to ten times as high as it is wide, a dash is lost among
    rules: neither is matter by itself.
    """
    level = pieces.width > _RULE_LEVEL * pieces.height
    upright = pieces.height > _RULE_UPRIGHT * pieces.width
    return np.asarray(level | upright | go_round(pieces, labels))


def go_round(pieces: Pieces, labels: NDArray[np.int32]) -> NDArray[np.bool_]:
    """Frames of any kind: ruled ones, and what goes round lines of type."""
    found = are_frames(pieces, labels)
    found[list(find_surrounds(pieces, labels))] = True
    return found


def _mask_of(pieces: Pieces, labels: NDArray[np.int32], index: int) -> NDArray[np.uint8]:
    """One piece alone, cut to its box."""
    x, y, right, bottom = (
        int(getattr(pieces, side)[index]) for side in ("x", "y", "right", "bottom")
    )
    return np.asarray(labels[y:bottom, x:right] == index + 1, np.uint8)


def _straight(mask: NDArray[np.uint8], long: int, waver: int) -> int:
    """Pixels of a mask in level or upright strokes of at least `long`."""
    inside = np.pad(mask, waver)
    strokes = np.zeros_like(inside)
    for level in (True, False):
        across, along = ((waver, 1), (1, long)) if level else ((1, waver), (long, 1))
        thick = cv2.dilate(inside, np.ones(across, np.uint8))
        opened = cv2.morphologyEx(thick, cv2.MORPH_OPEN, np.ones(along, np.uint8))
        strokes = np.asarray(cv2.bitwise_or(strokes, np.asarray(opened, np.uint8)), np.uint8)
    return int(cv2.countNonZero(cv2.bitwise_and(strokes, inside)))


def _at_edge(pieces: Pieces, labels: NDArray[np.int32]) -> NDArray[np.bool_]:
    """Pieces that touch an edge of the sheet."""
    height, width = labels.shape
    beside = (pieces.x <= 1) | (pieces.right >= width - 1)
    return np.asarray(beside | (pieces.y <= 1) | (pieces.bottom >= height - 1))


def _is_ruled(
    labels: NDArray[np.int32], pieces: Pieces, index: int, size: float, edge: np.bool_
) -> bool:
    """True where nearly all the ink of a piece is in long level or upright strokes.

    The strokes are thin, unless they are the dark border of a scan, at its edge.
    """
    mask = _mask_of(pieces, labels, index)
    long, thick = max(int(4 * size), 8), max(int(1.2 * size), 3)
    level = cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((1, long), np.uint8))
    upright = cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((long, 1), np.uint8))
    strokes = cv2.bitwise_or(level, upright)
    if not edge:
        solid = cv2.morphologyEx(mask, cv2.MORPH_OPEN, np.ones((thick, thick), np.uint8))
        strokes = cv2.subtract(strokes, solid)
    return float(cv2.countNonZero(strokes)) > 0.85 * float(pieces.area[index])


def sift(
    pieces: Pieces, labels: NDArray[np.int32], dpi: float, tallest: float = TALLEST_OF_SHEET
) -> Sifted:
    """Sort the pieces of a sheet into letters, small stuff and upright rules.

    Args:
        pieces: all pieces of the sheet.
        labels: their map, as `find_pieces` gives it.
        dpi: pixels an inch, only to bound what can tell the common size: up to 144 pt.
        tallest: share of the sheet's height, or of 6 inches, that bounds it.
    """
    height, width = pieces.height, pieces.width
    none = np.zeros(len(pieces), bool)
    if not len(pieces):
        return Sifted(none, none, none, 0.0)
    frames, surrounds = are_frames(pieces, labels), find_surrounds(pieces, labels)
    size = _common_height(pieces, tallest * min(labels.shape[0], 6 * dpi), frames)
    if size < 4:
        return Sifted(none, none, none, 0.0)
    huge, cuts, held = _in_cuts(pieces, labels, size, frames, surrounds)
    huge |= frames
    huge[list(surrounds)] = True
    solid = (height < 0.4 * size) | (pieces.fill > 0.75) | (width > 25 * size)
    flat_rule = (width > 6 * height) & solid
    upright = (height > 8 * width) & (height > 3 * size)
    border = _at_edge(pieces, labels) & (height > 3 * size)
    out = huge | upright | border
    letter = (height >= 0.4 * size) & (height <= 14 * size) & ~out & ~flat_rule
    letter &= (width <= 20 * np.minimum(height, 3 * size)) | (height > 3 * size)
    dash = flat_rule & (width <= 5 * size) & (height < 0.5 * size)
    speck = np.maximum(height, width) < max(0.1 * size, 2)
    small = ~out & ~letter & ~speck & ((height < 0.4 * size) & (~flat_rule | dash))
    if held.any():
        held &= ~matter_beside(pieces, labels, cuts, held, letter, size)
        letter &= ~held
        small &= ~held
    return Sifted(letter, small, upright & ~held, size)


def are_blots(
    pieces: Pieces, labels: NDArray[np.int32], chosen: NDArray[np.intp]
) -> NDArray[np.bool_]:
    """Which of a few chosen pieces are solid and without hollows: blots, lozenges, squares.

    A letter has hollows unless it is a bare upright stroke, which is narrow. More than seven
    pieces are taken for letters unseen.
    """
    found = np.zeros(len(chosen), bool)
    if len(chosen) > 7:
        return found
    for place, index in enumerate(chosen):
        if pieces.width[index] <= 0.45 * pieces.height[index]:
            continue
        mask = _mask_of(pieces, labels, int(index))
        points = cv2.findNonZero(mask)
        hull = cv2.fillConvexPoly(np.zeros_like(mask), cv2.convexHull(points), 1)
        found[place] = np.count_nonzero(mask) > 0.88 * np.count_nonzero(hull)
    return found
