"""Lines whose letters can't be told apart: said to be not read, and nothing alleged of them.

In joined script, or where type is smeared, the reader goes astray for whole lines. What it makes of
such a line is neither the copy nor what is printed; to allege each difference, or that one line is
missing and a foreign one in its place, cries wolf. The line is hatched for a person to read, and
the proof is never clean.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from rapidfuzz.distance import Levenshtein

from proofcheck.base.found import Unread
from proofcheck.base.kinds import Group, Kind, of_group
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
_LEAST_LIKE: Final = 0.8
"""A line as like its copy as this was followed all the same."""
_LEAST_LETTERS: Final = 5
_AS_LONG: Final = (0.2, 1.7)
"""Letters read of a line that the copy's may be, to those of the copy: joined ones are read as
fewer."""
_OF_NO_LINE: Final = frozenset({Kind.LINE_MISSING, Kind.WORD_MISSING, Kind.MATTER_MISSING})
_OF_A_LINE: Final = of_group(Group.LETTERS, Group.WORDS, Group.POINTS, Group.SPACES, Group.TYPE) | {
    Kind.LINE_FOREIGN,
    Kind.LINE_MISSING,
    Kind.MATTER_MISSING,
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
    lost = {
        reading.line
        for reading in readings
        if _is_lost(reading, copy, placed.get(reading.line)) and reading.line in placed
    }
    alleged = {each.difference.line for each in found if each.difference.kind in _OF_A_LINE}
    lost &= alleged
    if not lost:
        return Followed(tuple(found), (), ())
    text = {reading.line: reading.text for reading in readings}
    missing = _pairs(found, lost, placed, text)
    kept, let_go = [], []
    for at, each in enumerate(found):
        of_lost = each.difference.line in lost and each.difference.kind in _OF_A_LINE
        if at in missing.values() or (of_lost and not _is_of_another(each, missing, at)):
            let_go.append(each.let_go(NOT_FOLLOWED))
        else:
            kept.append(each)
    words = {
        line: _words(copy, found[missing[line]].difference.copy if line in missing else span)
        for line in lost
        for span in (placed.get(line),)
    }
    unread = _told(sheets, [line for line in lines if line.number in lost], words)
    return Followed(tuple(kept), tuple(let_go), unread)


def _is_lost(reading: Reading, copy: Copy, span: Span | None) -> bool:
    """Whether most of a line is guesswork, and it is not what the copy has there."""
    letters = [letter for letter in reading.letters if not letter.text.isspace()]
    if len(letters) < _LEAST_LETTERS:
        return False
    unsure = sum(letter.certainty < _UNSURE for letter in letters) / len(letters)
    if unsure < _MOST_UNSURE:
        return False
    if span is None:
        return True
    # In large display small letters and capitals of one shape are hardly told apart.
    wanted = "".join(copy.text[span.start : span.end].split()).casefold()
    read = "".join(letter.text for letter in letters).casefold()
    return Levenshtein.normalized_similarity(read, wanted) < _LEAST_LIKE


def _pairs(
    found: Sequence[Found],
    lost: set[int],
    placed: Mapping[int, Span | None],
    text: Mapping[int, str],
) -> dict[int, int]:
    """For lost lines of no place in the copy the finding of copy that is missing just there."""
    pairs: dict[int, int] = {}
    order = list(placed)
    for line in sorted(lost):
        if placed.get(line) is not None:
            continue
        before = order[order.index(line) - 1] if order.index(line) else 0
        for at, each in enumerate(found):
            difference = each.difference
            if difference.kind not in _OF_NO_LINE or at in pairs.values():
                continue
            wanted = len("".join(difference.copy_text.split()))
            ratio = len("".join(text[line].split())) / max(wanted, 1)
            if difference.line in (before, line) and _AS_LONG[0] <= ratio <= _AS_LONG[1]:
                pairs[line] = at
                break
    return pairs


def _is_of_another(each: Found, missing: Mapping[int, int], at: int) -> bool:
    """Whether what is missing by a lost line is a whole line more, which no lost line may be."""
    whole = each.difference.kind in (Kind.LINE_MISSING, Kind.MATTER_MISSING)
    return whole and at not in missing.values()


def _words(copy: Copy, span: Span | None) -> str:
    return " ".join(copy.text[span.start : span.end].split()) if span else ""


def _told(
    sheets: Sequence[Sheet], lost: Sequence[Line], words: Mapping[int, str]
) -> tuple[Unread, ...]:
    by_number = {sheet.number: sheet for sheet in sheets}
    told = []
    for line in lost:
        size = size_words(by_number[line.sheet], line.box)
        said = f"line {line.number} ({size}), whose letters can't be told apart"
        if words[line.number]:
            said += f"; “{words[line.number]}” of the copy may be it"
        told.append(Unread(line.sheet, line.box, said))
    return tuple(told)
