"""Lines whose letters can't be told apart: said to be not read, and nothing alleged of them.

In joined script, or where type is smeared, the reader goes astray for whole lines. What it makes of
such a line is neither the copy nor what is printed; to allege each difference, or that one line is
missing and a foreign one in its place, cries wolf. The line is hatched for a person to read, and
the proof is never clean.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from rapidfuzz.distance import Levenshtein

from proofcheck.base.found import Unread
from proofcheck.base.kinds import Group, Kind, of_group
from proofcheck.faults.missing_there import WHOLE_LINES, closed, pairs_of, words_beside
from proofcheck.sheet.ink import line_ink
from proofcheck.sheet.whereabouts import size_words

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.base.found import Collation, Found, LetGo
    from proofcheck.base.values import Copy, Line, Reading, Sheet, Span

__all__ = ["NOT_FOLLOWED", "Followed", "leave_unfollowed"]

NOT_FOLLOWED = "its letters can't be told apart, and the line is not read"
_UNSURE: Final = 0.8
"""Certainty below which the reader does not know a letter."""
_MOST_UNSURE: Final = 0.3
"""Share of a line's letters it may not know."""
_MOST_JOINED: Final = 0.7
"""Pieces of ink to a letter of the copy from which down letters run together: of 100 lines of type
0.9 and more, of joined script 0.2 to 0.6."""
_FILLED: Final = 0.6
"""Share of a line's width that its pieces fill then; letters set apart do not."""
_A_LETTER_X: Final = 0.35
"""X-heights that a piece of a letter is high at least; dots and points are not."""
_LEAST_LIKE: Final = 0.8
"""A line of which so much is as the copy has it was followed all the same."""
_LEAST_LETTERS: Final = 5
_DOTS: Final = frozenset(" \t.…·_")
_LEADERS: Final = re.compile(r"[.…·_](?: ?[.…·_]){3,}")
_OF_A_LINE: Final = of_group(Group.LETTERS, Group.WORDS, Group.POINTS, Group.SPACES, Group.TYPE) | {
    Kind.LINE_FOREIGN,
    Kind.TURNED_SORT,
}


@dataclass(frozen=True, slots=True, eq=False)
class Followed:
    """What was found on lines that could be followed, and the others."""

    found: tuple[Found, ...]
    let_go: tuple[LetGo, ...]
    unread: tuple[Unread, ...]


def leave_unfollowed(
    found: Sequence[Found],
    sheets: Sequence[Sheet],
    lines: Sequence[Line],
    readings: Sequence[Reading],
    collation: Collation,
    copy: Copy,
) -> Followed:
    """Take back what is alleged of lines that could not be followed, and name these.

    Args:
        found: faults and queries of the text and the type.
        sheets: the sheets.
        lines: all lines.
        readings: one a line, in the same order.
        collation: which stretch of copy each line holds.
        copy: the approved copy.
    """
    placed = {each.line: each.copy for each in collation.placings}
    held = {line: _words(copy, span) for line, span in placed.items()}
    alleged = _alleged(found)
    unlike = {
        reading.line
        for reading in readings
        if reading.line in placed and reading.line in alleged
        if _is_unlike(reading.text, held[reading.line])
    }
    astray = {number for number in unlike if placed[number] is None}
    missing = pairs_of(found, lines, astray, placed, held)
    held |= {line: _words(copy, found[at].difference.copy) for line, at in missing.items()}
    by_number = {sheet.number: sheet for sheet in sheets}
    joined = _joined(by_number, lines, missing, held)
    lost = [
        line
        for line, reading in zip(lines, readings, strict=True)
        if line.number in unlike
        if _is_guesswork(reading) or line.number in joined
    ]
    beside = words_beside(found, lost, list(placed), readings, held)
    for number, (at, words) in beside.items():
        if number not in missing and at not in missing.values():
            missing[number], held[number] = at, words
    return _without(found, lost, missing, _told(by_number, lost, held))


def _alleged(found: Sequence[Found]) -> set[int]:
    """Lines of which anything of theirs, or of whole lines, is alleged."""
    kinds = _OF_A_LINE | WHOLE_LINES
    return {
        line
        for each in found
        if each.difference.kind in kinds
        for line in (each.difference.line, *each.difference.other_lines)
    }


def _without(
    found: Sequence[Found],
    lost: Sequence[Line],
    missing: Mapping[int, int],
    unread: tuple[Unread, ...],
) -> Followed:
    numbers = {line.number for line in lost}
    there = set(missing.values()) - {at for line, at in missing.items() if line not in numbers}
    kept, let_go = [], []
    for at, each in enumerate(found):
        of_lost = each.difference.line in numbers and each.difference.kind in _OF_A_LINE
        if at in there or of_lost:
            let_go.append(each.let_go(NOT_FOLLOWED))
        else:
            kept.append(each)
    return Followed(tuple(kept), tuple(let_go), unread)


def _is_unlike(text: str, held: str) -> bool:
    """Whether a line, of a few letters at least, is not what the copy has there."""
    read, off = closed(_unled(text)), _off(_unled(text), _unled(held))
    if len(read) < _LEAST_LETTERS:
        return False
    return off / (len(read) + off) > 1 - _LEAST_LIKE


def _unled(text: str) -> str:
    """A line without the leaders, or the blanks to write on, that lead from word to word."""
    return _LEADERS.sub(" ", text)


def _off(text: str, held: str) -> int:
    """Characters read otherwise, too many or too few; what of the copy is beyond either end is not.

    It may be of a line that is missing.
    """
    read, wanted = closed(text), closed(held)
    beyond = (0, len(read))
    edits = Levenshtein.editops(read, wanted)
    return sum(edit.tag != "insert" or edit.src_pos not in beyond for edit in edits)


def _is_guesswork(reading: Reading) -> bool:
    """Whether too many of a line's letters are not known; what dots of a leader are is no doubt."""
    sure = [each.certainty for each in reading.letters if each.text not in _DOTS]
    return sum(each < _UNSURE for each in sure) >= _MOST_UNSURE * len(sure)


def _joined(
    sheets: Mapping[int, Sheet],
    lines: Sequence[Line],
    missing: Mapping[int, int],
    held: Mapping[int, str],
) -> set[int]:
    """Lines whose letters run together, if they hold what is missing there, and fill them."""
    found: set[int] = set()
    for at in set(missing.values()):
        run = [line for line in lines if missing.get(line.number) == at]
        pieces, filled = 0, True
        for line in run:
            inked = line_ink(sheets[line.sheet], line).pieces
            high = (inked.bottom - inked.y) >= _A_LETTER_X * line.x_height_px
            filled &= int((inked.right - inked.x)[high].sum()) >= _FILLED * line.box.width
            pieces += int(high.sum())
        if filled and pieces <= _MOST_JOINED * sum(map(str.isalnum, held[run[0].number])):
            found |= {line.number for line in run}
    return found


def _words(copy: Copy, span: Span | None) -> str:
    return " ".join(copy.text[span.start : span.end].split()) if span else ""


def _told(
    sheets: Mapping[int, Sheet], lost: Sequence[Line], held: Mapping[int, str]
) -> tuple[Unread, ...]:
    told = []
    for line in lost:
        size = size_words(sheets[line.sheet], line.box)
        said = f"line {line.number} ({size}), whose letters can't be told apart"
        if held[line.number]:
            said += f"; “{held[line.number]}” of the copy may be it"
        told.append(Unread(line.sheet, line.box, said))
    return tuple(told)
