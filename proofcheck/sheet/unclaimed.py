"""Tell of the ink on a sheet that belongs to nothing that was read.

Dirt, the scan's own edges and rules are no matter. A border, an ornament or a cut is none either,
where it shows for certain that it is one; a note says what was taken so. All else of some weight
is told: it may be type.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.base.found import Unread
from proofcheck.base.units import POINT_IN, pt_to_px
from proofcheck.base.values import Box
from proofcheck.sheet.letterlike import letter_row, white_row
from proofcheck.sheet.pieces import find_pieces
from proofcheck.sheet.scan_edge import are_at_edge
from proofcheck.sheet.sift import are_straight, go_round
from proofcheck.sheet.whereabouts import place_words, size_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Line, Sheet
    from proofcheck.sheet.again import Seen
    from proofcheck.sheet.lines import Laid
    from proofcheck.sheet.pieces import Pieces

__all__ = ["LeftOver", "unclaimed"]

_LEAST_PT: Final = 1.4
"""Smaller pieces are dirt and points."""
_REACH: Final = 1.0
"""Pieces stand together that are no farther apart, in heights of the lower."""
_ROW: Final = 3
"""Letters that make a row."""
_IN_CUT: Final = 0.45
"""Letters lower than this share of what is tallest beside them are lettering in a cut."""
_HALF: Final = 0.5
_CUT_PT: Final = 18.0
"""A cut is at least so wide and high."""
_WEIGHT_PT: Final = 8.0
"""What stands by itself and is less wide and high is dirt."""
_WORD_PT: Final = 5.0
"""A word of the smallest type is as wide."""
_SLENDER: Final = 3.0
"""What is so many times as long as thick is a rule, a brace or a stroke of the pen."""
_SURE_LETTER: Final = 0.95
_SURE_ROW: Final = 0.75
"""What read with this certainty, one letter or a row, may be type though it was not kept."""
_PAIR: Final = 2
_SURE_PAIR: Final = 0.6
"""Two large letters are type where they were read at least so surely."""
_WHITE_ROW: Final = 6
"""Letters of a row of white in a solid piece that they don't fill; else `_ROW` are enough."""
_MANY: Final = 6
"""Letters of such a row: fewer come of cuts too."""
_LIKE: Final = 0.2
"""Pieces of an ornamental border are of one size, within this share."""
_REDUCED: Final = 4
_MOST_TOLD: Final = 4


class _Look(StrEnum):
    """What a group of pieces is, by the look of it."""

    DIRT = "dirt"
    RULE = "rule"
    BORDER = "border"
    ORNAMENT = "ornament"
    CUT = "cut"
    TYPE = "type"


@dataclass(frozen=True, slots=True, eq=False)
class _Group:
    """Pieces that stand together."""

    index: NDArray[np.intp]
    box: Box
    """In pixels of the picture worked on."""


@dataclass(frozen=True, slots=True)
class LeftOver:
    """What the lines of a sheet left over of its ink."""

    unread: tuple[Unread, ...]
    """What may be type."""
    notes: tuple[str, ...]
    """One line on what was taken for no type, if anything was."""
    cuts: tuple[Box, ...] = ()
    """Round what was taken for cuts, in sheet pixels."""


def unclaimed(sheet: Sheet, laid: Laid, seen: Seen, lines: Sequence[Line]) -> LeftOver:
    """What of a sheet's ink was not read, and what was taken for no type.

    Args:
        sheet: the sheet.
        laid: what the first look at it gave.
        seen: what the second look gave.
        lines: all its lines.
    """
    pieces, pt = laid.pieces, pt_to_px(1.0, sheet.dpi / laid.step)
    left = seen.left & (np.maximum(pieces.width, pieces.height) > _LEAST_PT * pt)
    left[left] &= ~are_at_edge(sheet, pieces.take(left), laid.step)
    looks = [_Look(part.look) for part in sheet.lifted if part.look in set(_Look)]
    if not left.any():
        return LeftOver((), _notes(sheet, looks, ()))
    frames = go_round(pieces, laid.labels) & left
    straight = are_straight(pieces, laid.labels) & left & ~frames
    groups = _groups(pieces, np.flatnonzero(left & ~straight & ~frames), laid.labels.shape)
    of_groups = [_look(laid, group, seen, pt) for group in groups]
    looks += of_groups
    paired = list(zip(groups, of_groups, strict=True))
    places = [group.box for group, look in paired if look is _Look.TYPE]
    cuts = [group.box for group, look in paired if look is _Look.CUT]
    looks += [_Look.BORDER] * int(np.count_nonzero(frames))
    looks += [_Look.RULE] * int(np.count_nonzero(straight & ~_lie_in(pieces, cuts)))
    places, cuts = ([Box(*(laid.step * side for side in box)) for box in p] for p in (places, cuts))
    unread = tuple(
        Unread(sheet.number, box, f"{size_words(sheet, box)} {place_words(sheet, box, lines)}")
        for box in places
    )
    return LeftOver(unread, _notes(sheet, looks, cuts), tuple(cuts))


def _lie_in(pieces: Pieces, boxes: Sequence[Box]) -> NDArray[np.bool_]:
    """Which pieces have their middle in one of some boxes."""
    level = (pieces.y + pieces.bottom) / 2
    found = np.zeros(len(pieces), bool)
    for box in boxes:
        across = (pieces.middle > box.x) & (pieces.middle < box.right)
        found |= across & (level > box.y) & (level < box.bottom)
    return found


def _groups(pieces: Pieces, chosen: NDArray[np.intp], shape: tuple[int, int]) -> list[_Group]:
    """Pieces put together that stand near each other."""
    ground = np.zeros((shape[0] // _REDUCED + 1, shape[1] // _REDUCED + 1), np.uint8)
    mine = pieces.take(chosen)
    reach = _REACH / 2 * np.minimum(mine.height, mine.width * 2)
    corners = np.stack(
        [mine.x - reach, mine.y - reach, mine.right + reach, mine.bottom + reach], axis=1
    )
    for x, y, right, bottom in (corners / _REDUCED).round().astype(int).tolist():
        cv2.rectangle(ground, (x, y), (right, bottom), 1, cv2.FILLED)
    _, labels = find_pieces(ground)
    level = (mine.y + mine.bottom) / 2
    place = labels[(level / _REDUCED).astype(int), (mine.middle / _REDUCED).astype(int)]
    groups = []
    for number in np.unique(place):
        index = chosen[place == number]
        held = pieces.take(index)
        x, y = int(held.x.min()), int(held.y.min())
        box = Box(x, y, int(held.right.max()) - x, int(held.bottom.max()) - y)
        groups.append(_Group(index, box))
    return groups


def _look(laid: Laid, group: _Group, seen: Seen, pt: float) -> _Look:
    """What a group is; type where nothing else is certain."""
    mine, box = laid.pieces.take(group.index), group.box
    if max(box.width, box.height) < (_WEIGHT_PT if len(mine) < _ROW else _WORD_PT) * pt:
        return _Look.DIRT
    letters, sure = _surest(laid, group, seen)
    reversed_out = _is_reversed(laid, group, pt)
    slender = max(box.width, box.height) > _SLENDER * min(box.width, box.height)
    if len(mine) == 1 and slender and not reversed_out:
        return _Look.RULE
    row = letter_row(laid.pieces, laid.labels, group.index, pt / POINT_IN)
    if len(row) >= _ROW and _are_alike(mine):
        return _Look.ORNAMENT
    if (letters >= _MANY and sure > _SURE_ROW) or reversed_out:
        return _Look.TYPE
    large = (mine.width > _CUT_PT * pt) & (mine.height > _CUT_PT * pt)
    if len(mine) == 1:
        letter = letters == 1 and sure > _SURE_LETTER and len(row) == 1
        return _Look.TYPE if letter else _Look.CUT if large.any() else _Look.ORNAMENT
    least = _ROW if sure < _SURE_PAIR or not large.any() else _PAIR
    return _look_of_many(laid, group, row if len(row) >= least else row[:0], pt)


def _is_reversed(laid: Laid, group: _Group, pt: float) -> bool:
    """Whether a solid piece has a row of white letters in it."""
    pieces = laid.pieces
    mine = pieces.take(group.index)
    solid = (mine.fill > _HALF) & (np.minimum(mine.width, mine.height) > _WEIGHT_PT * pt)
    for index in group.index[solid]:
        x, y, right, bottom = (
            int(getattr(pieces, side)[index]) for side in ("x", "y", "right", "bottom")
        )
        window = laid.labels[y:bottom, x:right]
        solid_alone = np.asarray(window == index + 1, np.uint8)
        ink = np.asarray(window > 0, np.uint8)
        letters, fills = white_row(solid_alone, ink, pt / POINT_IN, _LEAST_PT * pt)
        if letters >= (_ROW if fills else _WHITE_ROW):
            return True
    return False


def _look_of_many(laid: Laid, group: _Group, row: NDArray[np.intp], pt: float) -> _Look:
    """Type or a cut: a cut is large, and letters are small in it."""
    pieces, tallest = laid.pieces, laid.pieces.height[group.index].max()
    if len(row) and float(np.median(pieces.height[row])) > _IN_CUT * tallest:
        return _Look.TYPE
    mine = pieces.take(group.index)
    large = np.minimum(mine.width, mine.height).max() > _CUT_PT * pt
    wide = min(group.box.width, group.box.height) > _CUT_PT * pt
    return _Look.CUT if wide or large else _Look.DIRT


def _surest(laid: Laid, group: _Group, seen: Seen) -> tuple[int, float]:
    """The row within a group that was read with most certainty: its letters, and how sure."""
    rows = [
        (certainty, letters)
        for line, letters, certainty in seen.doubtful
        if _shared(box := Box(*(side // laid.step for side in line.box)), group.box) > _HALF
        and (letters >= _MANY or _shared(group.box, box) > _HALF)
    ]
    certainty, letters = max(rows, default=(0.0, 0))
    return letters, certainty


def _shared(one: Box, other: Box) -> float:
    """Share of the first box that lies in the second."""
    wide = min(one.right, other.right) - max(one.x, other.x)
    high = min(one.bottom, other.bottom) - max(one.y, other.y)
    return max(wide, 0) * max(high, 0) / max(one.width * one.height, 1)


def _are_alike(mine: Pieces) -> bool:
    """Whether all pieces are of one size and weight, as those of a border are."""
    sizes = (mine.width, mine.height, np.sqrt(mine.area))
    return all(float(np.ptp(size)) < _LIKE * float(np.median(size)) for size in sizes)


def _notes(sheet: Sheet, looks: Sequence[_Look], cuts: Sequence[Box]) -> tuple[str, ...]:
    """One line on what was taken for no type."""
    cuts = [*cuts, *(part.box for part in sheet.lifted if part.look == _Look.CUT)]
    told = [f"a cut of {size_words(sheet, box)}" for box in cuts[:_MOST_TOLD]]
    if len(cuts) > _MOST_TOLD:
        told.append(f"{len(cuts) - _MOST_TOLD} more cuts")
    for look in (_Look.BORDER, _Look.ORNAMENT, _Look.RULE):
        count = looks.count(look)
        if count:
            told.append(f"{count} {look.value}{'s' if count > 1 else ''}")
    where = f" on sheet {sheet.number + 1}" if sheet.number else ""
    return (f"taken for no type{where}: {', '.join(told)}",) if told else ()
