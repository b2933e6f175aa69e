"""Lay the lines on the copy: place them, align them, leave out what is not of this copy."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from proofcheck.collate.aligning import Alignment, lay
from proofcheck.collate.capitals import with_capitals
from proofcheck.collate.edits import How
from proofcheck.collate.order import Order, alike, find_order, stray_blocks
from proofcheck.collate.place import Loose, loose
from proofcheck.collate.rescue import found_out_of_place, not_too_many
from proofcheck.collate.same import Compared, Rules, compared
from proofcheck.collate.setting import Setting
from proofcheck.collate.spaced import with_initials, without_letterspace
from proofcheck.collate.stray import is_run_down
from proofcheck.collate.stream import stream_of

if TYPE_CHECKING:
    from collections.abc import Container, Sequence

    from proofcheck.base.values import Copy, Line, Reading

__all__ = ["BORNE_OUT", "Laying", "laid_alone", "lay_lines", "missing_letters", "unexplained"]

BORNE_OUT = 0.4
"""A line less of which the copy bears out is not of this copy; nor is a proof."""

_SIMPLER = 0.5
"""The proof's own order is taken where it leaves so much less unexplained."""


class _Whole(NamedTuple):
    """What every laying of one proof has in common."""

    copy: Compared
    lines: tuple[Compared, ...]
    small: list[Loose]
    setting: Setting
    run_down: frozenset[int]
    breaks: frozenset[int]
    """Spaces of the copy between two paragraphs."""


@dataclass(frozen=True, slots=True, eq=False)
class Laying:
    """Lines laid on the copy, before differences are told."""

    copy: Compared
    lines: tuple[Compared, ...]
    order: Order
    alignment: Alignment
    foreign: frozenset[int]
    run_down: frozenset[int]
    part: bool
    letterspaced: int = 0
    """How many lines have letters set off from one another: all of them, or a large initial."""

    @property
    def sequence(self) -> tuple[int, ...]:
        """Places in the proof of the lines that are in the copy, in its order."""
        return self.alignment.stream.order


def lay_lines(source: Copy, setting: Setting, rules: Rules, *, part: bool) -> Laying:
    """Place the lines and align them; what turns out not to be of this copy is left out."""
    readings = setting.readings
    copy = _compared_copy(source.text, rules)
    breaks = _breaks(copy, source)
    lines = tuple(compared(reading.text, rules) for reading in readings)
    if rules.small_caps:
        pairs = zip(lines, readings, strict=True)
        lines = tuple(with_capitals(line, reading) for line, reading in pairs)
    run_down = frozenset(k for k, reading in enumerate(readings) if is_run_down(reading.text))
    small = [loose(line.text) for line in lines]
    order = find_order(loose(copy.text), small, run_down)
    spaced: dict[int, Compared] = {}
    if rules.letter_space:
        spaced = with_initials(lines, readings, copy, order.places)
        spaced |= without_letterspace(lines, copy, order.places)
    lines = tuple(spaced.get(k, line) for k, line in enumerate(lines))
    whole = _Whole(copy, lines, small, setting, run_down, breaks)
    laying = _laid(whole, order, part=part)
    if laying.order.doubled or stray_blocks(laying.sequence):
        # Where the copy repeats itself, the proof's own order may explain it better.
        plain = _laid(whole, Order(), part=part)
        if unexplained(plain) < _SIMPLER * unexplained(laying):
            laying = plain
    return replace(laying, letterspaced=len(spaced))


@lru_cache(maxsize=1)
def _compared_copy(text: str, rules: Rules) -> Compared:
    """The copy as it is compared; kept, for the sheets of a long proof are laid on it in turn."""
    return compared(text, rules, typed=True)


def _laid(whole: _Whole, order: Order, *, part: bool) -> Laying:
    """The lines laid in an order; those that turn out not to be of this copy left out."""
    copy, lines, small, setting, run_down, _ = whole
    unsure = _in_another_column(order, setting) - run_down
    alignment = _aligned(whole, order, run_down | unsure)
    wanted_after_all = not_too_many(alignment, order.doubled, small)
    for k in wanted_after_all:
        del order.doubled[k]
    foreign = _foreign(alignment, whole, order)
    if foreign or unsure or wanted_after_all:
        rescued = found_out_of_place(alignment, {k: lines[k].text for k in foreign | unsure})
        order.places.update(rescued)
        foreign -= rescued.keys()
        for k in foreign:
            order.places.pop(k, None)
        order.doubled.update(_left_in(foreign, small))
        foreign -= order.doubled.keys()
        alignment = _aligned(whole, order, run_down | foreign)
        late = _foreign(alignment, whole, order) & (unsure | wanted_after_all)
        if late:
            order.doubled.update(_left_in(late, small))
            foreign |= late - order.doubled.keys()
            alignment = _aligned(whole, order, run_down | foreign)
    return Laying(copy, lines, order, alignment, frozenset(foreign), run_down, part)


def unexplained(
    laying: Laying,
    *,
    ends: bool = True,
    among: Container[int] | None = None,
    besides: frozenset[int] = frozenset(),
) -> int:
    """Letters that a laying leaves unexplained: wrong, missing, too many, out of order.

    `ends` says whether what is missing before the first and after the last line counts, `among`
    which lines alone are asked about, by their places in the proof, `besides` which letters of the
    copy do not count where they are missing.
    """
    stream = laying.alignment.stream
    edits = [e for e in laying.alignment.edits if e.how is not How.DIVISION]
    if not ends:
        edits = [e for e in edits if e.p0 != e.p1 or 0 < e.p0 < len(stream.text) - 1]
    astray = [k for block in stray_blocks(laying.sequence) for k in block]
    apart = [*astray, *laying.order.doubled, *laying.foreign]
    if among is not None:
        # Where no line is laid nothing stands in any.
        edits = [e for e in edits if stream.order and stream.order[stream.row(e.p0)] in among]
        apart = [k for k in apart if k in among]
    cost = sum(max(e.c1 - e.c0, e.p1 - e.p0) for e in edits)
    cost -= sum(at in besides for e in edits if e.p0 == e.p1 for at in range(e.c0, e.c1))
    return cost + sum(len(laying.lines[k].text) for k in apart)


def missing_letters(laying: Laying) -> frozenset[int]:
    """The letters of the copy, by their places, that a laying has in no line at all."""
    edits = (edit for edit in laying.alignment.edits if edit.p0 == edit.p1)
    return frozenset(at for edit in edits for at in range(edit.c0, edit.c1))


def laid_alone(copy: Copy, held: Sequence[tuple[Line, Reading]], rules: Rules) -> Laying:
    """Lines, of one sheet or ticket, laid on the copy in this order."""
    lines = {at: replace(line, number=at) for at, (line, _) in enumerate(held)}
    readings = [replace(reading, line=at) for at, (_, reading) in enumerate(held)]
    return lay_lines(copy, Setting(readings, lines), rules, part=False)


def _in_another_column(order: Order, setting: Setting) -> frozenset[int]:
    """Lines not placed, in a column after the one where the last placed line stands.

    A column of prices is read after the column of what they are for. What follows a line in its own
    row is read after it.
    """
    out = set()
    last: int | None = None
    in_row = -1
    for k in range(len(setting.readings)):
        if k in order.places:
            last = in_row = k
        elif last is None or k in order.doubled or setting.column(k) == setting.column(last):
            continue
        elif in_row == k - 1 and setting.next_in_row(in_row, k):
            in_row = k
        else:
            out.add(k)
    return frozenset(out)


def _left_in(foreign: frozenset[int], lines: Sequence[Loose]) -> dict[int, int]:
    """Foreign lines that are a line beside them over again, with faults: the old slug left in."""
    out = {}
    for k in sorted(foreign):
        for beside in (k - 1, k + 1):
            near = 0 <= beside < len(lines) and beside not in foreign
            if near and len(lines[k].codes) and alike(lines[k], lines[beside]):
                out[k] = beside
                break
    return out


def _aligned(whole: _Whole, order: Order, left_out: frozenset[int]) -> Alignment:
    """The lines but those left out, laid on the copy."""
    lines = whole.lines
    sequence = [k for k in order.sequence(len(lines), left_out) if lines[k].text]
    stream = stream_of(lines, sequence)
    anchors = {row: order.places[k] for row, k in enumerate(sequence) if k in order.places}
    return lay(stream, whole.copy.text, anchors, whole.breaks)


def _breaks(copy: Compared, source: Copy) -> frozenset[int]:
    """The spaces of the compared form that stand between two paragraphs of the copy."""
    ends = np.array([each.end for each in source.paragraphs[:-1]], np.int64)
    at = np.searchsorted(copy.start, ends) if len(ends) else ends
    return frozenset(k for k in at.tolist() if copy.text[k : k + 1] == " ")


def _foreign(alignment: Alignment, whole: _Whole, order: Order) -> frozenset[int]:
    """Places in the proof of lines that the copy hardly bears out.

    No line is so that has most of the letters that stand where it was placed, though hardly a word
    of it was read to the letter.
    """
    found = [
        k
        for k, share in zip(alignment.stream.order, alignment.borne_out(), strict=True)
        if share < BORNE_OUT
    ]
    placed = {k: whole.copy.text[slice(*order.places[k])] for k in found if k in order.places}
    read = {k for k, text in placed.items() if alike(whole.small[k], loose(text))}
    return frozenset(found) - read
