"""The ink of one line: its pieces, a box for each of its letters, its word spaces."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.values import Box
from proofcheck.sheet.owning import foreign_ink, own_heights
from proofcheck.sheet.pieces import Pieces, find_pieces, ink_mask

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Line, Sheet

__all__ = ["LineInk", "line_ink", "place_letters"]

_NARROW = frozenset("iljftrI.,:;'’‘!|()[]1-")
_WIDE = frozenset("mwMWÆŒæœ—…&")
_DOTTED = frozenset('ij!?:;=%"“”„«»éèêëáàâäíìîïóòôöúùûüñÉÈÊËÁÀÂÄÍÓÖÚÜÑ÷½¼¾ç')
"""Characters made of parts one above the other, or apart."""
_LAST = 1e6
"""Added to how far off a piece is, pixels: only where there is no other."""


@dataclass(frozen=True, slots=True, eq=False)
class LineInk:
    """A line's own ink: what other lines, columns and rules put in its box is left out."""

    x: int
    """Sheet x of the mask's left edge."""
    y: int
    """Sheet y of the mask's top edge."""
    mask: NDArray[np.uint8]
    """1 = ink of this line."""
    pieces: Pieces
    """Connected components of that ink, sheet pixels, left to right."""


def line_ink(sheet: Sheet, line: Line) -> LineInk:
    """The connected components of a line's own ink."""
    size = max(line.x_height_px, 1.0)
    height, width = sheet.image.shape
    spare, beside = int(np.ceil(1.1 * size)), 2
    left, right = max(line.box.x - beside, 0), min(line.box.right + beside, width)
    top, bottom = max(line.box.y - spare, 0), min(line.box.bottom + spare, height)
    ink = ink_mask(sheet.image[top:bottom, left:right])
    if not ink.size:
        return LineInk(left, top, ink, find_pieces(np.zeros((1, 1), np.uint8))[0])
    slope = (line.baseline[1] - line.baseline[0]) / max(line.box.width, 1)
    level = line.baseline[0] - top
    baseline = np.array([level + slope * (left - line.box.x), level + slope * (right - line.box.x)])
    ends = (float(line.box.x - left), float(line.box.right - left))
    ink = ink - foreign_ink(ink, baseline, size, own_heights(line), ends).mask
    found, _ = find_pieces(ink)
    order = np.argsort(found.x, kind="stable")
    found = found.take(order)
    moved = Pieces(
        found.x + left, found.y + top, found.right + left, found.bottom + top, found.area
    )
    return LineInk(left, top, ink, moved)


def place_letters(
    sheet: Sheet, line: Line, text: str, centres_px: Sequence[float] | NDArray[np.float64]
) -> tuple[Box, ...]:
    """A box round each character's own ink.

    Args:
        sheet: the sheet.
        line: the line.
        text: its characters, words parted by single spaces.
        centres_px: about where the middle of each character is, sheet x, one a character.

    Returns:
        One box a character, sheet pixels. Dots, both halves of quotes and colons, and the bits of
        a broken letter are one box; letters that touch are parted at the thinnest place between
        their middles. A space has the gap between its neighbours, at x-height; a character that
        has no ink has the room between its neighbours.

    Raises:
        ValueError: the number of centres is not that of the characters.
    """
    if len(centres_px) != len(text):
        msg = f"{len(text)} characters but {len(centres_px)} centres"
        raise ValueError(msg)
    solid = [index for index, character in enumerate(text) if not character.isspace()]
    ink = line_ink(sheet, line)
    letters = "".join(text[index] for index in solid)
    centres = np.asarray(centres_px, np.float64)[solid]
    placed = dict(zip(solid, _letter_boxes(ink, line, letters, centres), strict=True))
    return tuple(
        placed[index] if index in placed else _gap(placed, index, line)
        for index in range(len(text))
    )


def _letter_boxes(
    ink: LineInk, line: Line, letters: str, centres: NDArray[np.float64]
) -> list[Box]:
    """Boxes of characters that are no spaces, in order."""
    if not letters:
        return []
    centres, pieces = np.maximum.accumulate(centres), ink.pieces
    home = _homes(pieces, centres, 0.2 * line.x_height_px, _is_over(line, letters, pieces))
    cuts = _cuts(ink, line, letters, centres, home)
    claims = np.bincount(home[home >= 0], minlength=len(pieces))
    owner = _owners(pieces, home, cuts)
    owner[claims > 1] = -1
    order = np.argsort(owner, kind="stable")
    bounds = np.searchsorted(owner[order], np.arange(len(letters) + 1)).tolist()
    boxes = []
    for index, character in enumerate(letters):
        mine = order[bounds[index] : bounds[index + 1]]
        if len(mine) > 1 and character not in _DOTTED:
            mine = _without_strays(pieces, mine, line.x_height_px)
        held = [_box(pieces, mine)] if len(mine) else []
        if home[index] >= 0 and claims[home[index]] > 1:
            low, high = _reach(home, index, cuts)
            part = _part_box(ink, pieces, int(home[index]), low, high)
            held += [part] if part else []
        if len(held) == 1:
            boxes.append(held[0])
        else:
            boxes.append(Box.around(held) if held else _room(line, *cuts[index : index + 2]))
    return boxes


def _is_over(line: Line, letters: str, pieces: Pieces) -> NDArray[np.bool_]:
    """For each letter and piece, whether the piece is no more than a dot or an accent over it.

    A letter or figure stands in the lower half of the x-height; points and quotes may hang.
    """
    slope = (line.baseline[1] - line.baseline[0]) / max(line.box.width, 1)
    base = line.baseline[0] + slope * (pieces.middle - line.box.x)
    hanging = pieces.bottom < base - 0.5 * line.x_height_px
    return np.asarray(np.array([each.isalnum() for each in letters], bool)[:, None] & hanging)


def _homes(
    pieces: Pieces, centres: NDArray[np.float64], unsure: float, is_over: NDArray[np.bool_]
) -> NDArray[np.intp]:
    """For each letter the piece its middle falls in, the best centred of several; −1 for none.

    A letter that overhangs its neighbour ("f" before a point) so leaves the neighbour its own; and
    a dot, which may stand off its stem in any face, is a letter's own only where nothing else is.
    """
    if not len(pieces):
        return np.full(len(centres), -1)
    middle = centres[:, None]
    away = np.abs(pieces.middle - middle)
    away[is_over] += _LAST
    away[(middle < pieces.x - unsure) | (middle > pieces.right + unsure)] = np.inf
    home = away.argmin(axis=1)
    return np.where(np.isfinite(away.min(axis=1)), home, -1)


def _owners(pieces: Pieces, home: NDArray[np.intp], cuts: NDArray[np.float64]) -> NDArray[np.intp]:
    """For each piece the letter it goes with.

    Its own letter where it has one; else the letter whose piece stands nearest (a dot over its
    stem, the other half of a quote), and of several the one between whose cuts most of it lies.
    """
    if not len(pieces):
        return np.zeros(0, np.intp)
    low, high = pieces.x[:, None], pieces.right[:, None]
    shared = np.minimum(high, cuts[1:]) - np.maximum(low, cuts[:-1])
    gap = np.maximum(low - pieces.right[home], pieces.x[home] - high)
    away = np.where(home >= 0, np.maximum(gap, 0.0), np.maximum(-shared, 0.0))
    owner = np.lexsort((-shared, away), axis=1)[:, 0]
    owner[home[home >= 0]] = np.flatnonzero(home >= 0)
    return np.asarray(owner)


def _reach(home: NDArray[np.intp], index: int, cuts: NDArray[np.float64]) -> tuple[float, float]:
    """Between which cuts a letter's part of a shared piece lies: the outermost have no bound."""
    others = np.flatnonzero(home == home[index])
    low = -np.inf if index == others[0] else float(cuts[index])
    high = np.inf if index == others[-1] else float(cuts[index + 1])
    return low, high


def _without_strays(pieces: Pieces, mine: NDArray[np.intp], beside_px: float) -> NDArray[np.intp]:
    """A letter's pieces less specks over, under or far beside it: of no letter without dots.

    Bits of a broken letter stand within its height, no farther beside it, or are a fair part of it.
    In wide white a speck would make the letter after it begin there.
    """
    main = mine[np.argmax(pieces.area[mine])]
    near = (pieces.y[mine] < pieces.bottom[main]) & (pieces.bottom[mine] > pieces.y[main])
    near &= pieces.x[mine] < pieces.right[main] + beside_px
    near &= pieces.right[mine] > pieces.x[main] - beside_px
    return np.asarray(mine[near | (pieces.area[mine] > 0.25 * pieces.area[main])])


def _cuts(
    ink: LineInk,
    line: Line,
    letters: str,
    centres: NDArray[np.float64],
    home: NDArray[np.intp],
) -> NDArray[np.float64]:
    """Sheet x of the cuts before, between and after the letters.

    A cut is where it is to be expected from how wide the two characters commonly are; between two
    letters of one piece, where the ink is thinnest near there.
    """
    widths = np.array([0.6 if c in _NARROW else 1.6 if c in _WIDE else 1.0 for c in letters])
    share = widths[:-1] / (widths[:-1] + widths[1:])
    cuts = np.empty(len(letters) + 1)
    cuts[0] = min(float(line.box.x), centres[0]) - 1
    cuts[-1] = max(float(line.box.right), centres[-1]) + 1
    cuts[1:-1] = centres[:-1] + share * np.diff(centres)
    touching = np.flatnonzero((home[:-1] == home[1:]) & (home[1:] >= 0))
    if len(touching):
        column = ink.mask.sum(axis=0) / max(line.x_height_px, 1.0)
        for index in touching.tolist():
            left, right = centres[index] - ink.x, centres[index + 1] - ink.x
            place = np.arange(max(round(left) + 1, 0), min(round(right), len(column)))
            if len(place):
                likely = cuts[index + 1] - ink.x
                off = (place + 0.5 - likely) / max((right - left) / 2, 1.0)
                best = place[np.argmin(4 * column[place] + 2 * off * off)]
                cuts[index + 1] = best + 0.5 + ink.x
    return cuts


def _box(pieces: Pieces, chosen: NDArray[np.intp]) -> Box:
    if len(chosen) == 1:  # nearly every letter: four least of one take as long as all else here
        chosen = chosen[0]
        x, y = pieces.x[chosen], pieces.y[chosen]
        right, bottom = pieces.right[chosen], pieces.bottom[chosen]
        return Box(int(x), int(y), int(right - x), int(bottom - y))
    x, y = pieces.x[chosen].min(), pieces.y[chosen].min()
    right, bottom = pieces.right[chosen].max(), pieces.bottom[chosen].max()
    return Box(int(x), int(y), int(right - x), int(bottom - y))


def _part_box(ink: LineInk, pieces: Pieces, index: int, low: float, high: float) -> Box | None:
    """Box of the ink of one piece's box between two cuts."""
    left = int(max(pieces.x[index], np.floor(low)))
    right = max(int(min(pieces.right[index], np.floor(high))), left)
    top, bottom = int(pieces.y[index]), int(pieces.bottom[index])
    part = ink.mask[top - ink.y : bottom - ink.y, left - ink.x : right - ink.x]
    rows, columns = np.flatnonzero(part.any(axis=1)), np.flatnonzero(part.any(axis=0))
    if not len(rows):
        return None
    return Box(
        left + int(columns[0]),
        top + int(rows[0]),
        int(columns[-1] - columns[0]) + 1,
        int(rows[-1] - rows[0]) + 1,
    )


def _room(line: Line, low: float, high: float) -> Box:
    """The room between two cuts, at x-height."""
    slope = (line.baseline[1] - line.baseline[0]) / max(line.box.width, 1)
    base = line.baseline[0] + slope * ((low + high) / 2 - line.box.x)
    tall = max(round(line.x_height_px), 1)
    return Box(round(low), round(base) - tall, max(round(high - low), 0), tall)


def _gap(placed: dict[int, Box], index: int, line: Line) -> Box:
    """The white between the letters before and after a space; `placed` goes from left to right."""
    last = next(reversed(placed), -1)
    before = next((i for i in reversed(range(index)) if i in placed), None)
    after = next((i for i in range(index + 1, last + 1) if i in placed), None)
    low = line.box.x if before is None else placed[before].right
    high = line.box.right if after is None else placed[after].x
    return _room(line, low, max(low, high))
