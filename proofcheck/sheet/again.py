"""Look once more at the ink that no line holds: display, small matter apart, what stood in a cut.

The first look takes one common size for the whole sheet. What is far larger or smaller than that
is looked at by itself here, as long as lines come of it; each is kept only if it reads.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.base.errors import SheetUnfitError
from proofcheck.base.units import pt_to_px
from proofcheck.sheet.letterlike import are_letterlike
from proofcheck.sheet.lines import lay_lines
from proofcheck.sheet.sift import are_straight

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Box, Grey, Letter, Line, Reading, Sheet
    from proofcheck.sheet.lines import Laid
    from proofcheck.sheet.pieces import Pieces

__all__ = [
    "Seen", "are_sure", "held_by", "is_lone", "look_again", "only_left", "rows_left", "with_more",
]  # fmt: skip

_ROUNDS: Final = 3
_LEAST_PT: Final = 1.4
"""Pieces less high are points and dirt: the x-height of 4-point type is some 1.8 points."""
_LONE_PT: Final = 18.0
"""A figure or letter that stands by itself is looked at from this height on: display."""
_MOST_LINES: Final = 40
_MOST_PIECES: Final = 4000
"""More is a picture, and no line is looked for in it."""
_TALLEST: Final = 0.9
_CLOSE: Final = 0.35
"""Share of a row that its letters fill: letterspaced capitals some 0.5, points of a leader 0.3."""
SURE, SURE_OF_FEW = 0.8, 0.9
"""Mean certainty of the letters of a line from which on it is type: on worn type of strange faces
it is 0.9 and more, on cuts and ornaments 0.7 at most."""
FEW_LETTERS = 4
_LEAST_LETTERS: Final = 2
_LETTERS: Final = 0.5
"""Share of what is read in a line that is letters and figures."""
_LEADER: Final = re.compile(r"[.…·]{3,}")
_SIGNS: Final = "&£$"
"""Signs that stand alone in display as letters and figures do."""
_LETTERLIKE: Final = 0.7
"""Share of a row, by width, that has the look of letters."""
_LEAST_X_HEIGHT_PX: Final = 6.0
_FRINGE_PX: Final = 2
_TRIAL: Final = 1_000_000
"""Number of the first line on trial, out of the way of those read already."""


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """What a second look at a sheet gave."""

    lines: tuple[Line, ...]
    """More lines, that read; their numbers mean nothing yet."""
    doubtful: tuple[tuple[Line, int, float], ...]
    """Rows like lines that don't read: how many letters each gave, and their mean certainty."""
    left: NDArray[np.bool_]
    """Which pieces of the first look no line holds."""


def how_sure(readings: Sequence[Reading]) -> tuple[int, float]:
    """How many letters and figures were read, and the mean certainty of all that was read.

    Points and signs alone, which come of dirt and of drawings, are worth nothing. The points of a
    leader that goes on from some words are left out.
    """
    seen = [c for reading in readings for c in _but_leaders(reading) if c.text != " "]
    letters = sum(c.text.isalnum() or c.text in _SIGNS for c in seen)
    if not seen or letters < _LETTERS * len(seen):
        return 0, 0.0
    return letters, float(np.mean([c.certainty for c in seen]))


def _but_leaders(reading: Reading) -> list[Letter]:
    """The letters of a line without the leaders after its first words."""
    points = {
        at
        for leader in _LEADER.finditer(reading.text)
        if sum(char.isalnum() for char in reading.text[: leader.start()]) > FEW_LETTERS
        for at in range(*leader.span())
    }
    return [letter for at, letter in enumerate(reading.letters) if at not in points]


def are_sure(readings: Sequence[Reading], least: float = 0.0) -> bool:
    """Whether what was read is type: a reader is seldom sure of what is no letter.

    Args:
        readings: what was read.
        least: mean certainty that is enough; by how many letters there are if 0.
    """
    count, certainty = how_sure(readings)
    least = least or (SURE if count > FEW_LETTERS else SURE_OF_FEW)
    return count >= _LEAST_LETTERS and certainty > least


def look_again(
    sheet: Sheet,
    laid: Laid,
    readings: Sequence[Reading],
    read: Callable[[Sheet, Sequence[Line]], Sequence[Reading]],
    copy_text: str = "",
) -> Seen:
    """Find lines in the ink that the first look left over.

    Args:
        sheet: the sheet.
        laid: what the first look gave.
        readings: what was read on its lines; a line on which nothing was read holds nothing.
        read: reads lines.
        copy_text: the copy as loaded: a letter of display that it has by itself may be a line.
    """
    words = frozenset(copy_text.split())
    heard = [bool(reading.text) for reading in readings]
    lines = [line for line, some in zip(laid.lines, heard, strict=True) if some]
    members = [own for own, some in zip(laid.members, heard, strict=True) if some]
    left = ~held_by(lines, laid, members)
    kept: list[Line] = []
    doubtful: list[tuple[Line, int, float]] = []
    for rest, rows in _rounds(sheet, laid, left):
        new = []
        for line, reading in zip(rows, read(rest, rows), strict=True):
            if are_sure([reading]) or is_lone(reading, words):
                new.append(line)
            else:
                doubtful.append((line, *how_sure([reading])))
        kept += new
        left &= ~held_by(new, laid)
    return Seen(tuple(kept), tuple(doubtful), left)


def is_lone(reading: Reading, words: frozenset[str]) -> bool:
    """Whether one letter was read for certain, and is one that the copy has by itself.

    Args:
        reading: what was read.
        words: the words of the copy.
    """
    count, certainty = how_sure([reading])
    return count == 1 and certainty > SURE_OF_FEW and reading.text in words


def only_left(laid: Laid) -> Seen:
    """What the first look left over, with no second look at it: where the lines are given."""
    return Seen((), (), ~held_by(laid.lines, laid, laid.members))


def rows_left(sheet: Sheet, laid: Laid) -> list[Line]:
    """Rows that are set as type is in the ink the first look left over, by their form alone."""
    left = ~held_by(laid.lines, laid, laid.members)
    return [line for _, rows in _rounds(sheet, laid, left) for line in rows]


def _rounds(
    sheet: Sheet, laid: Laid, left: NDArray[np.bool_]
) -> Iterator[tuple[Sheet, list[Line]]]:
    """The ink left over, round by round, and the rows in it that are set as type is."""
    tried = left & ~are_straight(laid.pieces, laid.labels)
    for _ in range(_ROUNDS):
        if not _is_of_weight(laid.pieces.take(tried), sheet.dpi / laid.step):
            return
        rest = replace(sheet, image=_alone(sheet.image, laid, tried))
        found, rows = _tried(rest)
        if not found:
            return
        yield rest, rows
        tried &= ~held_by(found, laid)


def _tried(rest: Sheet) -> tuple[tuple[Line, ...], list[Line]]:
    """The lines found in ink alone, and the longest of those that are set as type is."""
    try:
        again = lay_lines(rest, _TRIAL, tallest=_TALLEST)
    except SheetUnfitError:
        return (), []
    rows = [
        line
        for line, own in zip(again.lines, again.members, strict=True)
        if _is_set(again, line, own)
    ]
    return again.lines, sorted(rows, key=lambda line: line.box.width, reverse=True)[:_MOST_LINES]


def _is_set(laid: Laid, line: Line, members: NDArray[np.intp]) -> bool:
    """Whether a row is as close as type is, and most of it has the look of letters."""
    if line.x_height_px < _LEAST_X_HEIGHT_PX:
        return False
    width = laid.pieces.width[members]
    if laid.step * width.sum() < _CLOSE * line.box.width:
        return False
    tall = laid.pieces.height[members] * laid.step > 0.6 * line.x_height_px
    like = are_letterlike(laid.pieces, laid.labels, members[tall])
    return bool(width[tall][like].sum() > _LETTERLIKE * width[tall].sum())


def held_by(
    lines: Sequence[Line], laid: Laid, members: Sequence[NDArray[np.intp]] = ()
) -> NDArray[np.bool_]:
    """Which pieces lines hold: their own, and those in their boxes that are no taller than they."""
    pieces, step = laid.pieces, laid.step
    held = np.zeros(len(pieces), bool)
    for own in members:
        held[own] = True
    level = (pieces.y + pieces.bottom) / 2
    for line in lines:
        x, y, right, bottom = (side / step for side in _sides(line.box))
        inside = (pieces.middle > x) & (pieces.middle < right) & (level > y) & (level < bottom)
        held |= inside & (pieces.height < 1.5 * (bottom - y)) & (pieces.width < 1.2 * (right - x))
    return held


def _sides(box: Box) -> tuple[int, int, int, int]:
    return box.x, box.y, box.right, box.bottom


def _is_of_weight(pieces: Pieces, dpi: float) -> bool:
    """Whether there is ink left that could be two letters, or one of display."""
    tall = int(np.count_nonzero(pieces.height > pt_to_px(_LEAST_PT, dpi)))
    alone = bool((pieces.height > pt_to_px(_LONE_PT, dpi)).any())
    return (tall >= 2 or alone) and len(pieces) < _MOST_PIECES


def _alone(image: Grey, laid: Laid, chosen: NDArray[np.bool_]) -> Grey:
    """The chosen pieces with their grey fringe, and nothing else."""
    drawn = np.zeros(laid.labels.shape, np.uint8)
    sides = (laid.pieces.y, laid.pieces.bottom, laid.pieces.x, laid.pieces.right)
    for index in np.flatnonzero(chosen).tolist():
        top, bottom, left, right = (int(side[index]) for side in sides)
        window = slice(top, bottom), slice(left, right)
        drawn[window] |= laid.labels[window] == index + 1
    mask = cv2.dilate(drawn, np.ones((2 * _FRINGE_PX + 1,) * 2, np.uint8))
    if laid.step > 1:
        mask = cv2.resize(mask, image.shape[::-1], interpolation=cv2.INTER_NEAREST)
    _, paper = cv2.threshold(mask, 0, 255, cv2.THRESH_BINARY_INV)
    return np.asarray(cv2.max(image, paper), np.uint8)


def with_more(
    lines: Sequence[Line],
    more: Sequence[Line],
    first_number: int,
    cell: Callable[[Line], int] = lambda _: 0,
) -> tuple[Line, ...]:
    """Lines found later put among the others where they stand, all numbered anew.

    A line comes after the last one of its box that stands over it, side by side with it at least
    in part. `cell` says in which of the sheet's boxes a line stands.
    """
    ordered = list(lines)
    for line in sorted(more, key=lambda each: (each.baseline[0], each.box.x)):
        mine = [(at, each) for at, each in enumerate(ordered) if cell(each) == cell(line)]
        at, column = _place(mine or list(enumerate(ordered)), line)
        ticket = mine[0][1].ticket if mine else 0
        ordered.insert(at, replace(line, column=column, ticket=ticket))
    return tuple(replace(line, number=first_number + at) for at, line in enumerate(ordered))


def _place(ordered: Sequence[tuple[int, Line]], line: Line) -> tuple[int, int]:
    """Where in the order a line belongs, and in which column."""
    over = [
        (at, each)
        for at, each in ordered
        if min(each.box.right, line.box.right) > max(each.box.x, line.box.x)
    ]
    if not over:
        # A figure of display before several lines, with nothing over or under it, comes first.
        after = [
            (at, each.column)
            for at, each in ordered
            if each.box.x >= line.box.right and line.box.y <= _middle(each) < line.box.bottom
        ]
        if len(after) > 1:
            return after[0]
        over = list(ordered)
    above = [(at, each) for at, each in over if _middle(each) < _middle(line)]
    if above:
        at, each = max(above, key=lambda pair: (_middle(pair[1]), pair[0]))
        return at + 1, each.column
    return (over[0][0], over[0][1].column) if over else (0, 0)


def _middle(line: Line) -> float:
    return line.box.y + line.box.height / 2
