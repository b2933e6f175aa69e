"""Sheets that are no part of the proof they were given with: scanned twice, or of another job.

Such a sheet is told once and its lines are read no further. Its lines keep their numbers and its
picture its place, so that all else is named as it was given. What is left out is never let pass
unseen: a sheet of another job, or a second scan that reads otherwise than the first, leaves the
proof not wholly read.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from itertools import combinations
from typing import TYPE_CHECKING

from rapidfuzz.distance import Indel

from proofcheck.base.found import Placing, Unread
from proofcheck.base.values import Box
from proofcheck.base.visible import visible
from proofcheck.collate.laying import BORNE_OUT, lay_lines
from proofcheck.collate.place import loose
from proofcheck.collate.setting import Setting

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.base.found import Collation
    from proofcheck.base.values import Copy, Line, Reading
    from proofcheck.collate.laying import Laying
    from proofcheck.collate.same import Rules

__all__ = ["Apart", "set_apart", "with_all_placed", "without_sheets"]

_AGAIN = 0.9
"""Likeness of the letters of two sheets from which on one may be the other over again: a page
with slips of the reading, and far from what two pages of like matter share."""
_LEAST = 12
"""Letters, some two words, below which a sheet is compared with no other."""
_TWICE = 1.5
"""So often, of two like sheets' matter together, the copy has room for both."""
_MATTER = 10
"""Words from which on a sheet the copy does not have is matter of another job, not a scrap."""
_LONGEST = 40
"""Characters told of where two scans of one sheet part."""
_SURE = 0.8
"""The reader's mean certainty of the letters of a sheet from which on it is known what stands
there; a sheet that can be read at all lies well above 0.9."""


@dataclass(frozen=True, slots=True, eq=False)
class Apart:
    """The readings with those of the sheets left out made empty, and what is to be told."""

    readings: tuple[Reading, ...]
    left_out: frozenset[int] = frozenset()
    """Numbers of the sheets left out, from 0."""
    notes: tuple[str, ...] = ()
    unread: tuple[Unread, ...] = ()
    """The sheets left out for which the proof can't be called wholly read."""


def set_apart(
    copy: Copy, lines: Sequence[Line], readings: Sequence[Reading], rules: Rules, *, part: bool
) -> Apart:
    """Leave out what is another sheet over again, and what is of another job.

    Args:
        copy: the approved copy.
        lines: all lines of the proof.
        readings: one for each.
        rules: the allowances made.
        part: the proof holds only part of the copy.
    """
    read = Apart(tuple(readings))
    sheets: dict[int, list[int]] = {}
    for k, line in enumerate(lines):
        sheets.setdefault(line.sheet, []).append(k)
    if len(sheets) < 2:
        return read
    setting = Setting(read.readings, {line.number: line for line in lines})
    held = _held(lay_lines(copy, setting, rules, part=part))
    size = {k: len(loose(reading.text).codes) for k, reading in enumerate(readings)}
    foreign = [sheet for sheet, own in sheets.items() if _is_foreign(own, held, size, readings)]
    if len(foreign) == len(sheets):
        return read  # Then the proof as a whole is not of this copy, which is told elsewhere.
    of_copy = {sheet: own for sheet, own in sheets.items() if sheet not in foreign}
    again = _again(of_copy, held, size, readings)
    out = {k for sheet in (*foreign, *again) for k in sheets[sheet]}
    notes, unread = [], []
    for sheet in sorted((*foreign, *again)):
        around = Box.around(lines[k].box for k in sheets[sheet])
        words = _not_of_this_copy(sheets[sheet], readings)
        if sheet in again:
            first = again[sheet]
            other = _otherwise(
                _text(sheets[first], readings), _text(sheets[sheet], readings), copy.text
            )
            if not other:
                notes.append(f"sheet {sheet + 1} is sheet {first + 1} again: left out")
                continue
            words = f"sheet {first + 1} over again but for {other}, the whole"
        unread.append(Unread(sheet, around, words, whole_sheet=True))
    kept = (replace(one, letters=()) if k in out else one for k, one in enumerate(readings))
    return Apart(tuple(kept), frozenset((*foreign, *again)), tuple(notes), tuple(unread))


def without_sheets(
    lines: Sequence[Line], readings: Sequence[Reading], left_out: frozenset[int]
) -> tuple[list[Line], list[Reading]]:
    """Lines and readings of the sheets kept, that follow one another over what is left out."""
    kept = [k for k, line in enumerate(lines) if line.sheet not in left_out]
    return [lines[k] for k in kept], [readings[k] for k in kept]


def with_all_placed(collation: Collation, readings: Sequence[Reading]) -> Collation:
    """The collation with the lines of sheets left out among its own, in no place of the copy."""
    own = {placing.line: placing for placing in collation.placings}
    placings = tuple(own.get(one.line) or Placing(one.line, None) for one in readings)
    return replace(collation, placings=placings)


def _held(laying: Laying) -> dict[int, float]:
    """Share of each line that the copy bears out; of a line too many, minus 1."""
    shares = laying.alignment.borne_out()
    held = dict(zip(laying.sequence, map(float, shares), strict=True))
    return held | dict.fromkeys(laying.order.doubled, -1.0)


def _is_foreign(
    own: Sequence[int],
    held: Mapping[int, float],
    size: Mapping[int, int],
    readings: Sequence[Reading],
) -> bool:
    """Whether the copy has hardly anything of what stands on a sheet."""
    words = sum(len(readings[k].text.split()) for k in own)
    borne = sum(abs(held.get(k, 0.0)) * size[k] for k in own)
    return len(own) > 1 and words >= _MATTER and borne < BORNE_OUT * sum(size[k] for k in own)


def _not_of_this_copy(own: Sequence[int], readings: Sequence[Reading]) -> str:
    """What a sheet is called of which the copy has hardly anything: a poor scan is no other job."""
    sure = [letter.certainty for k in own for letter in readings[k].letters]
    if sum(sure) < _SURE * len(sure):
        return "too poorly printed or scanned to be laid against the copy, the whole"
    return "matter of another job, the whole"


def _again(
    sheets: Mapping[int, Sequence[int]],
    held: Mapping[int, float],
    size: Mapping[int, int],
    readings: Sequence[Reading],
) -> dict[int, int]:
    """Sheets that are another over again, and which.

    Where the copy has the matter twice, both stand. Of two that follow one another the first is
    kept; of others the one that stands in its place.
    """
    codes = {s: loose(_text(own, readings)).codes.tolist() for s, own in sheets.items()}
    placed = {s: sum(size[k] for k in own if held.get(k, 0.0) > 0) for s, own in sheets.items()}
    again: dict[int, int] = {}
    for one, other in combinations(sheets, 2):
        least, most = sorted((len(codes[one]), len(codes[other])))
        if one in again or other in again or least < max(_LEAST, _AGAIN * _AGAIN * most):
            continue
        alike = Indel.normalized_similarity(codes[one], codes[other], score_cutoff=_AGAIN)
        if alike and placed[one] + placed[other] < _TWICE * most:
            between = any(one < s < other and s not in again for s in sheets)
            first_wanted = placed[one] >= placed[other] or not between
            first, second = (one, other) if first_wanted else (other, one)
            again[second] = first
            # Its place in the copy is that of both.
            placed[first] = max(placed[one], placed[other])
    return again


def _text(own: Sequence[int], readings: Sequence[Reading]) -> str:
    return " ".join(" ".join(readings[k].text for k in own).split())


def _otherwise(kept: str, left: str, copy: str) -> str:
    """Where the sheet left out parts from the one kept and from the copy too; "" if nowhere.

    What the second scan has as the copy has it hides nothing: the sheet kept is judged by itself.
    """
    ours, theirs, held = kept.split(), left.split(), " ".join(copy.split())
    for step in SequenceMatcher(None, ours, theirs, autojunk=False).get_opcodes():
        tag, start, end, begin, close = step
        near = " ".join(theirs[max(0, begin - 1) : close + 1])
        if tag == "equal" or near in held:
            continue
        said = [visible(" ".join(words)) for words in (theirs[begin:close], ours[start:end])]
        mine, yours = (f"“{one[:_LONGEST]}”" if one else "nothing" for one in said)
        return f"{mine} in place of {yours}"
    return ""
