"""Frames known by what they hold: ink that goes round lines of type, however its outline looks.

A ruled frame is known by its strokes (`sift.are_frames`). Others are rings, ovals, labels with
scooped corners; they have teeth, a strip of engine-turned work, a banner or a shield hanging on
them, or only arches are left of them where a panel went through. What makes each a frame is a room
in it, white all over but for rows of letters. In a picture's rooms there are strokes, dots and a
few names: its letters stand in no rows, or most that stands there is no letter. A ring may hold a
price or a number and nothing else.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

import cv2
import numpy as np

from proofcheck.base.values import Box
from proofcheck.sheet.rows import find_segments, words_joined
from proofcheck.sheet.run_round import is_set, sides_taken

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from proofcheck.sheet.pieces import Pieces

__all__ = ["Surround", "find_surrounds"]

_LEAST_PX: Final = 40
"""Frames have no shorter side."""
_LOWEST_PX: Final = 6
"""Lower pieces are points and specks: they are no letters of a row."""
_ROOM: Final = 0.15
"""Share of the box that a room for type has at least; a board lettered in a picture has less."""
_ROW: Final = 6
"""Letters of a row that makes what is round it a frame: names in a picture have as many, too …"""
_IN_ROWS: Final = 1 / 3
"""… but they are a small part of what stands there: of rooms in plans, maps and drawings a sixth at
most is in such rows, of a form that is mostly blanks two fifths."""
_VARIED: Final = 1.3
"""How many times as wide the wide letters of a row are as its narrow ones: a few may have no m and
no i among them; windows, pales and bricks are of one width."""
_PART: Final = 0.5
"""Letters are less than this share of their room in height and width; larger is a frame in it."""
_LONG: Final = 12
"""Rules are longer, in their thicknesses."""
_CLOSED: Final = 3
"""Sides on which a frame has its ink round type at least; matter in the angle of a cut, which is no
frame, has it on two."""
_MOSTLY: Final = 0.8
"""Share of the rows' letters that have it so."""
_RING_ROOM: Final = 0.45
"""Share of a ring's box that is its room: of a circle's three quarters, less its stroke."""
_IN_RING: Final = 8
"""Letters at most in a ring that holds too few to be known by …"""
_JOINED: Final = 1.2
"""… and if it is one piece, it is wider than high, two that touch, or its ring is, as one round a
sum. One alone is of a sign else, as ©."""
_SPANS: Final = 0.8
"""Share of a ring's width that what stands in it takes up at most, but another ring, or what is
left of one whose straight sides were taken off as rules."""
_ROUND, _SOLID = 0.1, 0.7
"""A ring is as wide as high, within this share; a dot in it fills its box so far."""
_LEVEL: Final = 0.35
"""Letters of a row stand on a line, within this share of the tallest."""
_GAP_PX: Final = 5
"""A frame may be broken by less than this."""
_MOST: Final = 5_000
"""Pieces in a room past which they are the dots and strokes of pictures, unseen."""


class Surround(NamedTuple):
    """What is known of a frame by what it holds."""

    held: NDArray[np.intp]
    """The pieces in its rooms for type. What else lies in its box may be part of an ornament or a
    picture on it."""
    sides: tuple[Box, ...]
    """Where the sides of its box close a room that its ink does not."""


class _Room(NamedTuple):
    """A white part of a piece's box."""

    share: float
    """Of the box."""
    held: NDArray[np.intp]
    """The pieces in it."""
    size: tuple[int, int]
    """Height and width."""
    sides: tuple[Box, ...]
    """What of the box's sides closes it."""


def find_surrounds(pieces: Pieces, labels: NDArray[np.int32]) -> dict[int, Surround]:
    """Which pieces are frames by what they hold.

    Args:
        pieces: all pieces of the sheet.
        labels: their map.
    """
    found: dict[int, Surround] = {}
    across = np.minimum(pieces.width, pieces.height)
    stand = pieces.height >= _LOWEST_PX
    for index in np.flatnonzero(across >= _LEAST_PX).tolist():
        within = (pieces.x >= pieces.x[index]) & (pieces.right <= pieces.right[index])
        within &= (pieces.y >= pieces.y[index]) & (pieces.bottom <= pieces.bottom[index])
        within[index] = False
        if not (within & stand).any():
            continue
        rooms = [
            room
            for room in _rooms(pieces, labels, index, np.flatnonzero(within))
            if _holds_type(pieces, labels, index, room) or _rings_a_few(pieces, index, room)
        ]
        if rooms:
            held = np.concatenate([room.held for room in rooms])
            found[index] = Surround(held, tuple(side for room in rooms for side in room.sides))
    return found


def _rooms(
    pieces: Pieces, labels: NDArray[np.int32], index: int, held: NDArray[np.intp]
) -> Iterator[_Room]:
    """The large white parts of a piece's box, with what of some pieces stands in each.

    The box's own sides close them too: of a ring that a panel goes through only arches are left.
    """
    x, y, right, bottom = (
        int(getattr(pieces, side)[index]) for side in ("x", "y", "right", "bottom")
    )
    mask = np.pad(np.asarray(labels[y:bottom, x:right] == index + 1, np.uint8), _GAP_PX)
    whole = cv2.morphologyEx(mask, cv2.MORPH_CLOSE, np.ones((_GAP_PX, _GAP_PX), np.uint8))
    white = np.asarray(1 - whole[_GAP_PX:-_GAP_PX, _GAP_PX:-_GAP_PX], np.uint8)
    _, rooms, stats, _ = cv2.connectedComponentsWithStats(white, connectivity=4)
    level = (pieces.y[held] + pieces.bottom[held]) / 2
    at = rooms[level.astype(np.intp) - y, pieces.middle[held].astype(np.intp) - x]
    large = stats[:, cv2.CC_STAT_AREA] >= _ROOM * white.size
    for room in (np.flatnonzero(large[1:]) + 1).tolist():
        size = int(stats[room, cv2.CC_STAT_HEIGHT]), int(stats[room, cv2.CC_STAT_WIDTH])
        share = float(stats[room, cv2.CC_STAT_AREA]) / white.size
        yield _Room(share, held[at == room], size, _open_sides(rooms == room, x, y))


def _open_sides(room: NDArray[np.bool_], x: int, y: int) -> tuple[Box, ...]:
    """The parts of a box's sides, from where a room meets them first to where last, as strokes."""
    high, wide = room.shape
    sides = []
    for row, top in ((room[0], 0), (room[-1], high - 1)):
        met = np.flatnonzero(row)
        if len(met):
            sides.append(Box(x + int(met[0]), y + top, int(met[-1] - met[0]) + 1, 1))
    for column, left in ((room[:, 0], 0), (room[:, -1], wide - 1)):
        met = np.flatnonzero(column)
        if len(met):
            sides.append(Box(x + left, y + int(met[0]), 1, int(met[-1] - met[0]) + 1))
    return tuple(sides)


def _holds_type(pieces: Pieces, labels: NDArray[np.int32], index: int, room: _Room) -> bool:
    """Whether a good part of what stands in a room are rows of letters with a frame's ink round."""
    inside, size = room.held, room.size
    high, wide = pieces.height[inside], pieces.width[inside]
    fair = (high >= _LOWEST_PX) & (wide < _LONG * high) & (high < _LONG * wide)
    fair &= (high <= _PART * size[0]) & (wide <= _PART * size[1])
    if not _ROW <= np.count_nonzero(fair) <= _MOST:
        return False
    letters = np.zeros(len(pieces), bool)
    letters[inside[fair]] = True
    rows = [
        row.members
        for row in words_joined(pieces, find_segments(pieces, letters))
        if len(row.members) >= _ROW
        and is_set(pieces, labels, row, np.ones(len(row.members), bool), _VARIED)
    ]
    if not rows or sum(map(len, rows)) < _IN_ROWS * np.count_nonzero(fair):
        return False
    sides = sides_taken(pieces, labels, np.array([index]), np.concatenate(rows))
    return bool(np.mean(sides >= _CLOSED) >= _MOSTLY)


def _rings_a_few(pieces: Pieces, index: int, room: _Room) -> bool:
    """Whether a piece is a ring round a few letters side by side, and nothing else of any size.

    There may be another ring between. What is left white in a letter holds nothing, or its own
    outlines one over the other.
    """
    if room.sides or room.share < _RING_ROOM:
        return False
    inside = room.held[pieces.height[room.held] >= _LOWEST_PX]
    inside = inside[pieces.width[inside] <= _SPANS * pieces.width[index]]
    high = int(pieces.height[inside].max(initial=0))
    tall = inside[pieces.height[inside] >= _PART * high]
    if not 0 < len(tall) <= _IN_RING or high > _PART * pieces.height[index]:
        return False
    if len(tall) == 1:
        wide = pieces.width[tall[0]] > _JOINED * high
        wide |= pieces.width[index] > _JOINED * pieces.height[index]
        return bool(wide) or _is_eye(pieces, index, int(tall[0]))
    foot = pieces.bottom[tall]
    order = np.argsort(pieces.x[tall])
    beside = pieces.x[tall][order][1:] >= pieces.middle[tall][order][:-1]
    return bool(np.ptp(foot) <= _LEVEL * high and beside.all())


def _is_eye(pieces: Pieces, index: int, inner: int) -> bool:
    """Whether a piece is a round ring with a dot in it, an ornament; a dotted nought is narrow."""
    sides = [(float(pieces.width[k]), float(pieces.height[k])) for k in (index, inner)]
    are_round = all(abs(wide - high) <= _ROUND * high + 1 for wide, high in sides)
    return are_round and bool(pieces.fill[inner] > _SOLID)
