"""Lines whose letters can't be told apart: said to be not read, and nothing alleged of them.

In joined script, or where type is smeared, the reader goes astray for whole lines. What it makes of
such a line is neither the copy nor what is printed; to allege each difference, or that one line is
missing and a foreign one in its place, cries wolf. The line is hatched for a person to read, and
the proof is never clean.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from rapidfuzz.distance import Levenshtein

from proofcheck.base.found import Unread
from proofcheck.base.kinds import Group, Kind, of_group
from proofcheck.sheet.ink import line_ink
from proofcheck.sheet.whereabouts import size_words

if TYPE_CHECKING:
    from collections.abc import Container, Iterator, Mapping, Sequence

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
    alleged = {
        line
        for each in found
        if each.difference.kind in kinds
        for line in (each.difference.line, *each.difference.other_lines)
    }
    unlike = {
        reading.line
        for reading in readings
        if reading.line in placed and reading.line in alleged
        if _is_unlike(reading.text, held[reading.line])
    }
    astray = {number for number in unlike if placed[number] is None}
    missing = _pairs(found, lines, astray, placed, held)
    held |= {line: _words(copy, found[at].difference.copy) for line, at in missing.items()}
    by_number = {sheet.number: sheet for sheet in sheets}
    joined = _joined(by_number, lines, missing, held)
    lost = [
        line
        for line, reading in zip(lines, readings, strict=True)
        if line.number in unlike
        if _is_guesswork(reading) or line.number in joined
    ]
    beside = _beside(found, lost, list(placed), readings, held)
    for number, (at, words) in beside.items():
        if number not in missing and at not in missing.values():
            missing[number], held[number] = at, words
    return _without(found, lost, missing, _told(by_number, lost, held))


def _beside(
    found: Sequence[Found],
    lost: Sequence[Line],
    order: Sequence[int],
    readings: Sequence[Reading],
    held: Mapping[int, str],
) -> dict[int, tuple[int, str]]:
    """Words missing at the end of the line before one that is not read, or where the next begins.

    Where a line ends is known by what the next was read as: they may be its own. By the line, which
    finding it is, and what the line may hold with it.
    """
    told: dict[int, tuple[int, str]] = {}
    place = {number: at for at, number in enumerate(order)}
    ends = {reading.line: len(reading.letters) for reading in readings}
    by_number = {line.number: line for line in lost}
    for at, each in enumerate(found):
        difference, here = each.difference, place.get(each.difference.line)
        if difference.kind is not Kind.WORD_MISSING or here is None:
            continue
        words = difference.copy_text.strip()
        after, before = order[here + 1 : here + 2], order[max(here - 1, 0) : here]
        if difference.proof.start == ends.get(difference.line) and set(after) & by_number.keys():
            number, whole = after[0], f"{words} {held[after[0]]}"
        elif difference.proof.end == 0 and set(before) & by_number.keys():
            number, whole = before[0], f"{held[before[0]]} {words}"
        else:
            continue
        if _wide(by_number[number]) >= _SET_WIDTH_X[0] * len(_closed(whole)):
            told[number] = at, whole
    return told


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


def _pairs(
    found: Sequence[Found],
    lines: Sequence[Line],
    astray: Container[int],
    placed: Mapping[int, Span | None],
    held: Mapping[int, str],
) -> dict[int, int]:
    """For lines of no place in the copy the finding of copy missing just there, as wide set.

    Copy of several lines is missing as one: then as many of them stand for it as are as wide.
    """
    pairs: dict[int, int] = {}
    by_number = {line.number: line for line in lines}
    order = [number for number in placed if number in by_number]
    place = {number: at for at, number in enumerate(order)}
    usual = _usual_width(by_number, held)
    whole = [(at, each) for at, each in enumerate(found) if each.difference.kind in _WHOLE_LINES]
    words = [(at, e) for at, e in enumerate(found) if e.difference.kind is Kind.WORD_MISSING]
    for at, each in (*whole, *words):
        wanted = max(len(_closed(each.difference.copy_text)), 1)
        fits: list[tuple[float, list[int]]] = []
        for way in _ways(each, order, place.get(each.difference.line, -1)):
            run, wide = [], 0.0
            for number in way:
                if number not in astray or number in pairs:
                    break
                run.append(number)
                wide += _wide(by_number[number]) / wanted
                if wide > _SET_WIDTH_X[1]:
                    break
                if wide >= _SET_WIDTH_X[0]:
                    fits.append((abs(math.log(wide / usual)), [*run]))
        if fits:
            pairs |= dict.fromkeys(min(fits)[1], at)
    return pairs


def _ways(each: Found, order: Sequence[int], place: int) -> Iterator[Sequence[int]]:
    """The lines from where something is missing on: those after, those up to there, and before.

    A word alone in its line is told as missing before the first of the next.
    """
    yield order[place + 1 :]
    if place >= 0:
        yield order[place::-1]
    if place > 0 and each.difference.proof.start == 0:
        yield order[place - 1 :: -1]


def _wide(line: Line) -> float:
    """Width of a line, x-heights."""
    return line.box.width / max(line.x_height_px, 1.0)


def _usual_width(lines: Mapping[int, Line], held: Mapping[int, str]) -> float:
    """X-heights of a line to a character of what it holds, spaces left out, on the whole proof."""
    shares = [
        _wide(lines[number]) / len(_closed(words))
        for number, words in held.items()
        if number in lines and _closed(words)
    ]
    return float(np.median(shares)) if shares else 1.0


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
