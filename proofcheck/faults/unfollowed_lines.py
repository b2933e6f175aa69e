"""Lines whose letters can't be told apart: said to be not read, and nothing alleged of them.

In joined script, or where type is smeared, the reader goes astray for whole lines. What it makes of
such a line is neither the copy nor what is printed; to allege each difference, or that one line is
missing and a foreign one in its place, cries wolf. The line is hatched for a person to read, and
the proof is never clean.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from rapidfuzz.distance import Levenshtein

from proofcheck.base.found import Unread
from proofcheck.base.kinds import Group, Kind, of_group
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
_SET_WIDTH_X: Final = (0.5, 2.5)
"""X-heights of a line to a character of the copy that it may hold, spaces left out: from script
whose capitals are taken for the x-height (0.56 to 0.6 of two faces) to wide capitals."""
_WHOLE_LINES: Final = frozenset({Kind.LINE_MISSING, Kind.MATTER_MISSING})
"""Missing beside a line that is not read, and not taken for it, they may be one more."""
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
    kinds = _OF_A_LINE | _WHOLE_LINES
    alleged = {each.difference.line for each in found if each.difference.kind in kinds}
    unlike = {
        reading.line
        for reading in readings
        if reading.line in placed and reading.line in alleged
        if _is_unlike(reading.text, held[reading.line])
    }
    missing = _pairs(found, [line for line in lines if line.number in unlike], placed)
    held |= {line: _words(copy, found[at].difference.copy) for line, at in missing.items()}
    by_number = {sheet.number: sheet for sheet in sheets}
    lost = [
        line
        for line, reading in zip(lines, readings, strict=True)
        if line.number in unlike
        if _is_guesswork(reading)
        or (line.number in missing and _is_joined(by_number[line.sheet], line, held[line.number]))
    ]
    return _without(found, lost, missing, _told(by_number, lost, held))


def _without(
    found: Sequence[Found],
    lost: Sequence[Line],
    missing: Mapping[int, int],
    unread: tuple[Unread, ...],
) -> Followed:
    numbers = {line.number for line in lost}
    there = {at for line, at in missing.items() if line in numbers}
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
    read, off = _closed(text), _off(text, held)
    if len(read) < _LEAST_LETTERS:
        return False
    return off / (len(read) + off) > 1 - _LEAST_LIKE


def _off(text: str, held: str) -> int:
    """Characters read otherwise, too many or too few; what of the copy is beyond either end is not.

    It may be of a line that is missing.
    """
    read, wanted = _closed(text), _closed(held)
    beyond = (0, len(read))
    edits = Levenshtein.editops(read, wanted)
    return sum(edit.tag != "insert" or edit.src_pos not in beyond for edit in edits)


def _closed(text: str) -> str:
    """Without spaces, and case: in large display the two are hardly told apart."""
    return "".join(text.split()).casefold()


def _is_guesswork(reading: Reading) -> bool:
    """Whether too many of a line's letters are not known."""
    sure = [each.certainty for each in reading.letters if not each.text.isspace()]
    return sum(each < _UNSURE for each in sure) >= _MOST_UNSURE * len(sure)


def _is_joined(sheet: Sheet, line: Line, held: str) -> bool:
    """Whether the letters of a line run together, if it holds those words, and fill it."""
    pieces = line_ink(sheet, line).pieces
    high = (pieces.bottom - pieces.y) >= _A_LETTER_X * line.x_height_px
    wide = int((pieces.right - pieces.x)[high].sum())
    filled = wide >= _FILLED * line.box.width
    return bool(filled and int(high.sum()) <= _MOST_JOINED * sum(map(str.isalnum, held)))


def _pairs(
    found: Sequence[Found], unlike: Sequence[Line], placed: Mapping[int, Span | None]
) -> dict[int, int]:
    """For lines of no place in the copy the finding of copy missing just there, as wide set."""
    pairs: dict[int, int] = {}
    before = {line: earlier for earlier, line in pairwise(placed)}
    after = dict(pairwise(placed))
    missing = _WHOLE_LINES | {Kind.WORD_MISSING}
    for line in unlike:
        if placed.get(line.number) is not None:
            continue
        # A word alone in its line is told as missing before the first of the next.
        there = (before.get(line.number, 0), line.number)
        below = after.get(line.number)
        for at, each in enumerate(found):
            difference = each.difference
            if difference.kind not in missing or at in pairs.values():
                continue
            wanted = len("".join(difference.copy_text.split()))
            wide = line.box.width / max(line.x_height_px, 1.0) / max(wanted, 1)
            is_there = difference.line in there
            is_there |= difference.line == below and difference.proof.start == 0
            if is_there and _SET_WIDTH_X[0] <= wide <= _SET_WIDTH_X[1]:
                pairs[line.number] = at
                break
    return pairs


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
