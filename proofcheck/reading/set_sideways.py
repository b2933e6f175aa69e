"""Type set sideways read: turned the way it reads, its lines found and laid at the sheet's foot.

It may read upwards or downwards; which, the reader says, as of a sheet that lies turned
(`sheet.orient`). What reads neither way stays as it is, and is told as not read.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from proofcheck.base.errors import SheetUnfitError
from proofcheck.base.found import Unread
from proofcheck.reading.sized_anew import read_at_other_sizes
from proofcheck.reading.turned import is_turned
from proofcheck.sheet.again import are_sure, look_again, with_more
from proofcheck.sheet.insets import alone_upright, sideways_parts, with_insets
from proofcheck.sheet.lines import lay_lines, ticket_at
from proofcheck.sheet.unclaimed import unclaimed
from proofcheck.sheet.whereabouts import place_words, size_words

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from proofcheck.base.values import Box, Inset, Lifted, Line, Reading, Sheet
    from proofcheck.sheet.lines import Laid

__all__ = ["SetSideways", "read_sideways"]

_TRIAL: Final = 2_000_000
"""Number of the first line on trial, out of the way of those read already."""
_UPRIGHT: Final = 0.7
"""Share of a block's letters that stand the right way up for certain at least: of "No. 7", one of
four may be turned."""
_EITHER_WAY: Final = frozenset("01689HINOSXZlosxz-–— ")
"""What is a letter or a figure upside down too; a full point shows which way it stands."""


@dataclass(frozen=True, slots=True, eq=False)
class SetSideways:
    """A sheet with what reads of its type set sideways."""

    sheet: Sheet
    """With an inset for each block that reads."""
    lines: tuple[Line, ...] = ()
    """Of the insets, in order; their numbers, columns and tickets mean nothing yet."""
    unread: tuple[Unread, ...] = ()
    """Ink of the insets that is of no line."""

    def after(self, others: Sequence[Line], laid: Laid) -> tuple[Line, ...]:
        """All lines of the sheet: those that stand upright, then block by block these.

        Each block is a column of its own, on the ticket where it is printed.
        """
        lines = list(others)
        column = max((line.column for line in others), default=-1)
        home = None
        for line in self.lines:
            column += line.home != home
            home = line.home
            ticket = ticket_at(laid, home) if home else 0
            number = lines[-1].number + 1 if lines else 1
            lines.append(replace(line, number=number, column=column, ticket=ticket))
        return tuple(lines)


@dataclass(frozen=True, slots=True, eq=False)
class _Block:
    """One block turned one way, on a sheet of its own."""

    part: Lifted
    turned_deg: int
    box: Box
    lines: tuple[Line, ...]
    readings: tuple[Reading, ...]
    unread: tuple[Box, ...]


def read_sideways(
    sheet: Sheet,
    read: Callable[[Sheet, Sequence[Line]], Sequence[Reading]],
    legibility: Callable[[Sequence[Reading]], float],
) -> SetSideways:
    """Lay what reads of a sheet's type set sideways upright at its foot.

    Args:
        sheet: the sheet; `lifted` holds what is set sideways.
        read: reads lines.
        legibility: scores readings, 0 to 1: how much of them the copy bears out.
    """
    blocks = []
    for part in sideways_parts(sheet):
        ways = [_tried(sheet, part, turned_deg, read) for turned_deg in (90, 270)]
        best = max(ways, key=lambda way: legibility(way.readings) + _stands(way.readings))
        if _reads(best) and not _read_as_others(ways):
            blocks.append(best)
    laid = with_insets(sheet, [(block.part.box, block.turned_deg) for block in blocks])
    lines: list[Line] = []
    unread: list[Unread] = []
    for block, inset in zip(blocks, laid.insets, strict=True):
        by = inset.box.x - block.box.x, inset.box.y - block.box.y
        lines += [replace(_moved(line, by), home=inset.home) for line in block.lines]
        unread += [_told(sheet, inset, _box_moved(box, by)) for box in block.unread]
    return SetSideways(laid, tuple(lines), tuple(unread))


def _tried(
    sheet: Sheet,
    part: Lifted,
    turned_deg: int,
    read: Callable[[Sheet, Sequence[Line]], Sequence[Reading]],
) -> _Block:
    alone, box = alone_upright(sheet, part, turned_deg)
    try:
        laid = lay_lines(alone, _TRIAL)
    except SheetUnfitError:
        return _Block(part, turned_deg, box, (), (), ())
    readings = read(alone, laid.lines)
    seen = look_again(alone, laid, readings, read)
    lines = with_more(laid.lines, seen.lines, _TRIAL)
    readings = read(alone, lines) if seen.lines else readings
    lines, readings = read_at_other_sizes(alone, lines, readings, read)
    left = tuple(each.box for each in unclaimed(alone, laid, seen, lines).unread)
    return _Block(part, turned_deg, box, lines, tuple(readings), left)


def _told(sheet: Sheet, inset: Inset, box: Box) -> Unread:
    words = f"{size_words(sheet, box)} in type set sideways {place_words(sheet, inset.home, ())}"
    return Unread(sheet.number, box, words)


def _reads(block: _Block) -> bool:
    """Whether every line of a block is read for certain, most of it the right way up."""
    sure = bool(block.readings) and all(are_sure([reading]) for reading in block.readings)
    return sure and _stands(block.readings) > _UPRIGHT


def _read_as_others(ways: Sequence[_Block]) -> bool:
    """Whether a block reads for certain either way, as other matter: 8998 is 8668 upside down.

    Then the copy would choose what is printed.
    """
    texts = [" ".join(reading.text for reading in way.readings) for way in ways]
    turn = all(set(text) <= _EITHER_WAY for text in texts)
    return turn and len(set(texts)) > 1 and all(map(_reads, ways))


def _stands(readings: Sequence[Reading]) -> float:
    """How sure the reader is of letters the right way up, in the mean of all."""
    letters = [c for reading in readings for c in reading.letters if c.text != " "]
    upright = sum(c.certainty for c in letters if not is_turned(c.text))
    return upright / len(letters) if letters else 0.0


def _moved(line: Line, by: tuple[int, int]) -> Line:
    left, right = line.baseline
    return replace(line, box=_box_moved(line.box, by), baseline=(left + by[1], right + by[1]))


def _box_moved(box: Box, by: tuple[int, int]) -> Box:
    return box._replace(x=box.x + by[0], y=box.y + by[1])
