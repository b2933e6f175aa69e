"""Boxes that part a sheet: tickets, labels and their counterfoils, each read by itself.

Rules set round matter close it in, whether or not they meet at the corners. Where two boxes or
more hold nearly all that stands on a sheet, its lines are read box by box, and no line runs from
one into the next. The squares of a ruled table are no boxes of this kind: its rows go across.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from proofcheck.base.values import Box
from proofcheck.sheet.box_rows import are_beside, in_rows, of_a_size
from proofcheck.sheet.box_strokes import box_strokes, with_panels
from proofcheck.sheet.lifted import in_box, pieces_of
from proofcheck.sheet.pieces import Pieces, find_pieces, joined, linked

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Line
    from proofcheck.sheet.rows import Segment

__all__ = ["Cell", "cell_of", "find_cells", "with_tickets"]

_HOLD = 0.9
"""Share of a sheet's letters that its boxes hold."""
_ALIKE = 0.7
"""Share of a ticket's lines that stand at the same place, and are as long, in another."""
_TABLE = 4
"""Squares from which on a ruled frame may be a table."""
_NOTICE, _DISPLAYED = 3, 1.8
"""Rows of a notice, letters of one that tell its size; and how many times as high as the lowest its
highest is at least: capitals are some 1.5 times as high as small letters of their body."""
_DOWN = 0.6
"""Share of the height of a ticket that the rule beside its counterfoil runs down."""
_LEVEL = 0.6
"""Share of the rows of one box that stand level with rows of the next, in a table."""


class Cell(NamedTuple):
    """A box, or one compartment of it, in pixels of the picture worked on."""

    box: Box
    ticket: int
    """Which of several tickets of one size it is of, from 1; 0 where the boxes are of no size."""


class _Room(NamedTuple):
    """Paper closed in by rules."""

    box: Box
    segments: tuple[Segment, ...]


def find_cells(
    pieces: Pieces,
    labels: NDArray[np.int32],
    segments: Sequence[Segment],
    size: float,
    off: tuple[Sequence[Box], Sequence[Box]] = ((), ()),
) -> list[Cell]:
    """The boxes of a sheet in order of reading, from left to right and down; [] for none or one.

    Args:
        pieces: all ink of the sheet.
        labels: its map, as `find_pieces` gives it.
        segments: runs of letters.
        size: common letter height, pixels.
        off: places of rules that were taken off the sheet before, and of its panels.
    """
    ruled, panels = pieces_of(off[0]), off[1]
    strokes = box_strokes(pieces, labels, ruled, size, least=1 if panels else 2)
    if strokes is None:
        return []
    strokes = with_panels(strokes, panels)
    pieces = joined(pieces, ruled)
    upright = pieces.take((pieces.height > 4 * size) & (pieces.width < 0.5 * size))
    frames = [
        _unless_table([part for room in rooms for part in _divided(room, upright)], size)
        for rooms in _with_inner(_frames(strokes, segments))
    ]
    held = sum(len(s.members) for rooms in frames for room in rooms for s in room.segments)
    boxes = [Box.around(room.box for room in rooms) for rooms in frames]
    whole = held >= _HOLD * sum(len(s.members) for s in segments)
    apart = whole or (_are_of_a_row(boxes, segments) and not _hold_the_same(frames, size))
    if len(frames) == 1 and _are_notices(frames[0], size):
        apart = apart or _hold_all_beside([room.box for room in frames[0]], segments)
    if not frames or not apart:
        return []
    if len(frames) == 1:
        return _compartments(frames[0], size)
    alike = of_a_size(boxes)
    order = [at for row in in_rows(boxes) for at in row]
    return [
        Cell(room.box, (turn + 1) * alike)
        for turn, at in enumerate(order)
        for room in _in_order(frames[at])
    ]


def _hold_the_same(frames: Sequence[Sequence[_Room]], size: float) -> bool:
    """Whether all frames hold the same matter: the tables of a form that stands several up."""
    wholes = [_put_together(rooms) for rooms in frames]
    return all(_repeats(wholes[0], other, size) for other in wholes[1:])


def _are_of_a_row(boxes: Sequence[Box], segments: Sequence[Segment]) -> bool:
    """Whether boxes of one size stand side by side, all else of the sheet over or under them."""
    several = len(in_rows(boxes)) < len(boxes) and of_a_size(boxes)
    return several and _hold_all_beside(boxes, segments)


def _hold_all_beside(boxes: Sequence[Box], segments: Sequence[Segment]) -> bool:
    """Whether all that is not over or under some boxes stands in one of them."""
    top, foot = min(box.y for box in boxes), max(box.bottom for box in boxes)
    levels = ((s.x + s.right, s.top + s.bottom) for s in segments)
    within = [(x / 2, y / 2) for x, y in levels if top <= y / 2 < foot]
    cells = [Cell(box, 0) for box in boxes]
    return all(cell_of(cells, *place) >= 0 for place in within)


def _frames(strokes: NDArray[np.uint8], segments: Sequence[Segment]) -> list[list[_Room]]:
    """What each frame closes in, frame by frame.

    Parts that overlap are one frame, as where a banner goes through it.
    """
    parts, rules = find_pieces(np.pad(strokes, 1))
    paper = np.pad(1 - strokes, 1, constant_values=1)
    boxes, rooms = find_pieces(paper, connectivity=4)
    held: dict[int, list[Segment]] = {}
    for segment in segments:
        x, y = (segment.x + segment.right) / 2, (segment.top + segment.bottom) / 2
        held.setdefault(int(rooms[int(y) + 1, int(x) + 1]), []).append(segment)
    frames: dict[int, list[_Room]] = {}
    for name, inner in held.items():
        if name in (0, int(rooms[0, 0])):
            continue
        sides = (boxes.x, boxes.y, boxes.width, boxes.height)
        x, y, width, height = (int(side[name - 1]) for side in sides)
        first = int(np.flatnonzero(rooms[y : y + height, x] == name)[0])
        room = _Room(Box(x - 1, y - 1, width, height), tuple(inner))
        frames.setdefault(int(rules[y + first, x - 1]), []).append(room)
    names = np.array(list(frames), np.intp)
    one, other = np.nonzero(_overlap(parts.take(names - 1)))
    return [
        [room for rooms in several for room in rooms]
        for several in linked(list(frames.values()), one, other)
    ]


def _overlap(parts: Pieces) -> NDArray[np.bool_]:
    """Which parts have ground in common with which, neither of them within the other."""
    x, y, right, bottom = (
        np.stack(np.broadcast_arrays(side[:, None], side))
        for side in (parts.x, parts.y, parts.right, parts.bottom)
    )
    meet = (x.max(0) < right.min(0)) & (y.max(0) < bottom.min(0))
    within = (x[0] >= x[1]) & (y[0] >= y[1]) & (right[0] <= right[1]) & (bottom[0] <= bottom[1])
    return np.asarray(meet & ~within & ~within.T)


def _with_inner(frames: list[list[_Room]]) -> list[list[_Room]]:
    """Frames with the rooms of those within them, where that leaves several: a ticket's own table.

    Within the one border of a sheet a table and what stands round it are apart.
    """
    boxes = [Box.around(room.box for room in rooms) for rooms in frames]
    order = sorted(range(len(frames)), key=lambda at: -boxes[at].width * boxes[at].height)
    outer: dict[int, list[_Room]] = {}
    for at in order:
        home = next((k for k in outer if in_box(boxes[at], boxes[k])), at)
        outer.setdefault(home, []).extend(frames[at])
    return [outer[at] for at in sorted(outer)] if len(outer) > 1 else frames


def _divided(room: _Room, upright: Pieces) -> list[_Room]:
    """A room parted by upright rules that run down most of it without touching its frame."""
    box = room.box
    inside = (upright.x > box.x) & (upright.right < box.right)
    inside &= (upright.y > box.y) & (upright.bottom < box.bottom)
    inside &= upright.height > _DOWN * box.height
    edges = [box.x, *sorted(int(x) for x in upright.middle[inside]), box.right]
    parts = []
    for left, right in pairwise(edges):
        held = tuple(s for s in room.segments if left <= (s.x + s.right) / 2 < right)
        if held:
            parts.append(_Room(Box(left, box.y, right - left, box.height), held))
    return parts


def _unless_table(rooms: list[_Room], size: float) -> list[_Room]:
    """The rooms of one frame; a table's are put together."""
    if _are_notices(rooms, size):
        return rooms
    rows = [_rows(room.segments, size) for room in rooms]
    squares = len(rooms) >= _TABLE and 2 * sum(count < 2 for count in rows) >= len(rooms)
    across = any(
        min(_rows(one.segments, size), _rows(other.segments, size)) >= 3
        and are_beside(one.box, other.box)
        and _share(one, other, size, across=True) > _LEVEL
        and not _repeats(one, other, size)
        for one, other in combinations(sorted(rooms, key=lambda room: room.box.x), 2)
    )
    return [_put_together(rooms)] if squares or across else rooms


def _are_notices(rooms: Sequence[_Room], size: float) -> bool:
    """Whether each of several rooms holds rows of several sizes, as a notice does by itself.

    The rows of a table are of one size; what its head is set in stands in rooms of its own.
    """
    return len(rooms) >= _TABLE and all(
        _rows(room.segments, size) >= _NOTICE and _sizes(room.segments) > _DISPLAYED
        for room in rooms
    )


def _sizes(segments: Sequence[Segment]) -> float:
    """How many times as high the highest rows of letters are as the lowest."""
    high = [s.bottom - s.top for s in segments if len(s.members) >= _NOTICE]
    return max(high) / max(min(high), 1.0) if high else 1.0


def _put_together(rooms: Sequence[_Room]) -> _Room:
    """Rooms as one."""
    held = tuple(segment for room in rooms for segment in room.segments)
    return _Room(Box.around(room.box for room in rooms), held)


def _rows(segments: Sequence[Segment], size: float) -> int:
    """How many rows of letters there are."""
    feet = np.sort([s.bottom for s in segments])
    return int(1 + np.count_nonzero(np.diff(feet) > 0.6 * size))


def _share(one: _Room, other: _Room, size: float, *, across: bool = False) -> float:
    """Share of the second room's letters level with the first's; in one place and as long, too."""
    held = 0
    for mine in other.segments:
        for its in one.segments:
            near = abs(mine.bottom - its.bottom) < 0.45 * size
            if not across:
                down = (mine.bottom - other.box.y) - (its.bottom - one.box.y)
                right = (mine.x - other.box.x) - (its.x - one.box.x)
                wider = abs((mine.right - mine.x) - (its.right - its.x))
                near = max(abs(down), abs(right), wider) < size
            if near:
                held += len(mine.members)
                break
    return held / sum(len(s.members) for s in other.segments)


def _repeats(one: _Room, other: _Room, size: float) -> bool:
    """Whether two rooms hold the same matter, as the widths of its lines tell."""
    both = _share(one, other, size), _share(other, one, size)
    return of_a_size([one.box, other.box]) and min(both) > _ALIKE


def _compartments(rooms: list[_Room], size: float) -> list[Cell]:
    """The compartments of the one frame of a sheet: tickets where they hold the same matter."""
    if len(rooms) < 2:
        return []
    ordered = _in_order(rooms)
    alike = all(_repeats(ordered[0], room, size) for room in ordered[1:])
    return [Cell(room.box, (turn + 1) * alike) for turn, room in enumerate(ordered)]


def _in_order(rooms: Sequence[_Room]) -> list[_Room]:
    return [rooms[at] for row in in_rows([room.box for room in rooms]) for at in row]


def cell_of(cells: Sequence[Cell], x: float, y: float) -> int:
    """In which cell a point lies, by its place among them; -1 for none."""
    inside = (
        at
        for at, (box, _) in enumerate(cells)
        if box.x <= x < box.right and box.y <= y < box.bottom
    )
    return next(inside, -1)


def with_tickets(lines: Sequence[Line], cells: Sequence[Cell], step: int) -> tuple[Line, ...]:
    """Lines with the number of the ticket each stands on; `step` sheet pixels to a cell's one."""
    if not any(cell.ticket for cell in cells):
        return tuple(lines)
    out = []
    for line in lines:
        middle = line.box.x + line.box.width / 2, line.box.y + line.box.height / 2
        at = cell_of(cells, middle[0] / step, middle[1] / step)
        out.append(replace(line, ticket=cells[at].ticket if at >= 0 else 0))
    return tuple(out)
