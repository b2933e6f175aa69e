"""Which order the lines are read in, and whether they stand several up: the copy says.

The layout reads what stands on a sheet down its columns and box by box. Where boxes or gutters make
another order as likely, the one that lays best on the copy is taken; where the copy comes again
and again, each ticket is laid on it by itself.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from rapidfuzz.distance import Indel

from proofcheck.collate.each_ticket import ticket_in_order
from proofcheck.collate.laying import lay_lines, unexplained
from proofcheck.collate.numbering import Numbers, numbers_of, printed_numbers, run_of
from proofcheck.collate.place import loose
from proofcheck.collate.setting import Setting
from proofcheck.collate.several_up import several_up
from proofcheck.collate.sheet_order import sheet_in_order
from proofcheck.collate.sideways_lines import with_sideways_placed
from proofcheck.collate.tickets import Gang, gangs, of_parts, parts_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.found import Collation
    from proofcheck.base.values import Copy, Line, Reading
    from proofcheck.collate.same import Rules
    from proofcheck.collate.several_up import SeveralUp

__all__ = ["Arranged", "arrange", "with_reordered"]

_OFTEN = 1.6
"""So many times the copy's letters stand on a sheet that is several up."""
_OF_COPY = 0.6
"""Likeness of a ticket to the copy from which on it is one of it …"""
_THE_COPY = 0.8
"""… and from which on nothing else could be, whatever parts it from the others."""


@dataclass(frozen=True, slots=True, eq=False)
class Arranged:
    """The lines in the order they are to be laid in, numbered so."""

    lines: tuple[Line, ...]
    readings: tuple[Reading, ...]
    gang: SeveralUp | None = None
    """Where the copy is of one of several tickets."""
    notes: tuple[str, ...] = ()
    reordered: int = 0
    """Sheets that are read in another order than the layout's, since the copy bears that out."""


def arrange(
    copy: Copy,
    lines: Sequence[Line],
    readings: Sequence[Reading],
    rules: Rules,
    *,
    up: int = 0,
    part: bool = False,
) -> Arranged:
    """Put the lines in the order that lays best on the copy, ticket by ticket if there are any.

    Args:
        copy: the approved copy.
        lines: all lines, in the order they were read in.
        readings: one for each.
        rules: the allowances made.
        up: how many tickets there are to be on each sheet; 0 to find out.
        part: the proof holds only part of the copy; then no tickets are looked for.
    """
    read = Arranged(tuple(lines), tuple(readings))
    found = None
    if lines and not part:
        parts = parts_of(copy.text, up)
        if parts > 1:
            found = _with_sideways(copy, _in_best_order(copy, read, rules, parts), rules)
        elif _is_often(copy, readings, up):
            found = _several(copy, read, rules, up)
    if found is not None:
        return found
    bare = (replace(line, ticket=0) if line.ticket else line for line in lines)
    read = replace(read, lines=tuple(bare))
    if rules.reading_order and lines:
        read = _reordered(copy, read, rules)
    return _with_sideways(copy, read, rules)


def _is_often(copy: Copy, readings: Sequence[Reading], up: int) -> bool:
    """Whether there are tickets to look for: by request, or since far more is printed."""
    printed = sum(len(loose(reading.text).codes) for reading in readings)
    return up > 1 or printed >= _OFTEN * max(len(loose(copy.text).codes), 1)


def _by_sheet(lines: Sequence[Line]) -> list[list[int]]:
    sheets = sorted({line.sheet for line in lines})
    return [[k for k, line in enumerate(lines) if line.sheet == sheet] for sheet in sheets]


def _several(copy: Copy, read: Arranged, rules: Rules, up: int) -> Arranged | None:
    """The tickets of one copy; None where the sheets don't fall into such."""
    whole = loose(copy.text).codes.tolist()
    proof = list(zip(read.lines, read.readings, strict=True))
    found: list[Gang] = []
    for sheet in _by_sheet(read.lines):
        best = max(
            gangs([read.lines[k] for k in sheet], sheet),
            key=lambda gang: (_likeness(gang, read, whole), len(gang.places) == up),
        )
        if not up and not _is_plainly(best, read, whole):
            return None
        own = (ticket_in_order(copy, proof, place, rules) for place in best.places)
        found.append(best._replace(places=tuple(own)))
    lines, readings = zip(*proof, strict=True)
    read = replace(read, lines=lines, readings=readings)
    chosen = [_filled(gang, up) for gang in found]
    places = [place for gang in chosen for place in gang.places]
    if len(places) < 2:
        return None
    numbers = _numbers(copy, places, chosen, read, rules)
    return _arranged(copy, read, found, numbers, up)


def _alike(place: Sequence[int], read: Arranged, whole: Sequence[int]) -> float:
    mine = loose("".join(read.readings[k].text for k in place)).codes.tolist()
    return Indel.normalized_similarity(mine, whole)


def _likeness(gang: Gang, read: Arranged, whole: Sequence[int]) -> float:
    """How like the copy the tickets are, in the mean."""
    held = [place for place in gang.places if place]
    return round(sum(_alike(place, read, whole) for place in held) / max(len(held), 1), 3)


def _is_plainly(gang: Gang, read: Arranged, whole: Sequence[int]) -> bool:
    """Whether a sheet is several up though nobody said so.

    Boxes or gutters show it, and most of the tickets are plainly of the copy, of more lines than
    one; or every one of them is nearly all of it.
    """
    held = [place for place in gang.places if place]
    if len(held) < 2 or any(len(place) < 2 for place in held):
        return False
    alike = [_alike(place, read, whole) for place in held]
    good = sum(each >= _OF_COPY for each in alike)
    plain = gang.plain and good >= 2 and 3 * good >= 2 * len(held)
    return plain or min(alike) >= _THE_COPY


def _filled(gang: Gang, up: int) -> Gang:
    """With empty places for tickets that are not there, and those too many outside of all."""
    if not up:
        return gang
    places = gang.places
    if len(places) > up:
        places = tuple(place for place in places if place)
    more = tuple(k for place in places[up:] for k in place)
    places = (*places[:up], *((),) * (up - len(places)))
    return gang._replace(places=places, outside=(*gang.outside, *more))


def _numbers(
    copy: Copy,
    places: Sequence[Sequence[int]],
    chosen: Sequence[Gang],
    read: Arranged,
    rules: Rules,
) -> Numbers:
    """What the copy's numbers are to be on each ticket."""
    spans = numbers_of(copy.text)
    own = [copy.text[a:b] for a, b in spans]
    if not rules.numbering:
        return Numbers(tuple((number,) * len(places) for number in own), (False,) * len(own))
    printed: list[list[int | None]] = []
    for place in places:
        mine = [read.readings[k] for k in place]
        setting = Setting(mine, {line.number: line for line in (read.lines[k] for k in place)})
        nothing: list[int | None] = [None] * len(spans)
        laid = lay_lines(copy, setting, rules, part=False) if mine else None
        printed.append(printed_numbers(laid, spans) if laid else nothing)
    orders = [_order(chosen, down=down) for down in (False, True)]
    return run_of(own, printed, orders)


def _order(chosen: Sequence[Gang], *, down: bool) -> list[int]:
    """All places, sheet after sheet, across or down."""
    out: list[int] = []
    for gang in chosen:
        first = len(out)
        out += [first + at for at in gang.order(down=down) if at < len(gang.places)]
    return out


def _arranged(
    copy: Copy, read: Arranged, found: Sequence[Gang], numbers: Numbers, up: int
) -> Arranged:
    """The lines ticket by ticket, and the copy taken once for each."""
    chosen = [_filled(gang, up) for gang in found]
    places = [place for gang in chosen for place in gang.places]
    turns = _order(chosen, down=numbers.down)
    outside = [k for gang in chosen for k in gang.outside]
    ordered = [k for at in turns for k in places[at]] + outside
    ticket = {k: turn for turn, at in enumerate(turns, start=1) for k in places[at]}
    lines, readings = _numbered(read, ordered, ticket)
    number = {k: at for at, k in enumerate(ordered, start=1)}
    held = [[number[k] for k in places[at]] for at in turns]
    wanted = tuple(tuple(own[at] for at in turns) for own in numbers.wanted)
    gang = several_up(copy, held, numbers._replace(wanted=wanted))
    count = sum(1 for place in held if place)
    whole = sum(1 for gang in found for place in gang.places if place)
    notes = [f"several up: {count} tickets, each read against the whole copy"]
    if up and whole != up * len(chosen):
        notes.append(f"{up * len(chosen)} tickets were asked for, and {whole} are there")
    return Arranged(lines, readings, gang, tuple(notes))


def _numbered(
    read: Arranged, ordered: Sequence[int], ticket: dict[int, int]
) -> tuple[tuple[Line, ...], tuple[Reading, ...]]:
    """Lines and readings in another order, numbered anew from 1."""
    lines = tuple(
        replace(read.lines[k], number=at, ticket=ticket.get(k, 0))
        for at, k in enumerate(ordered, start=1)
    )
    readings = tuple(replace(read.readings[k], line=at) for at, k in enumerate(ordered, start=1))
    return lines, readings


def _in_best_order(copy: Copy, read: Arranged, rules: Rules, parts: int) -> Arranged:
    """The tickets in the order that the copy, which has them all, has them in."""
    best, least = read, _cost(copy, read, rules)
    sheets = _by_sheet(read.lines)
    if len(sheets) != 1:
        return read
    for gang in of_parts(gangs(read.lines, sheets[0]), parts):
        for down in (False, True):
            turns = gang.order(down=down)
            ordered = [k for at in turns for k in gang.places[at]] + list(gang.outside)
            ticket = {k: turn for turn, at in enumerate(turns, 1) for k in gang.places[at]}
            other = Arranged(*_numbered(read, ordered, ticket))
            cost = _cost(copy, other, rules)
            if cost < least or (cost == least and not any(line.ticket for line in best.lines)):
                best, least = other, cost
    return best


def _reordered(copy: Copy, read: Arranged, rules: Rules) -> Arranged:
    """The lines by rows or down columns, sheet by sheet, where that lays far better."""
    for every in reversed(_by_sheet(read.lines)):
        sheet = [k for k in every if read.lines[k].home is None]
        as_read = [(read.lines[k], read.readings[k]) for k in sheet]
        held = sheet_in_order(copy, as_read, rules)
        if held != as_read:
            read = _with_sheet(read, sheet, held)
    return read


def _with_sideways(copy: Copy, read: Arranged, rules: Rules) -> Arranged:
    """The lines with what is set sideways where it lays best, sheet by sheet."""
    if all(line.home is None for line in read.lines):
        return read
    proof, sheets = list(zip(read.lines, read.readings, strict=True)), _by_sheet(read.lines)
    order = [k for sheet in sheets for k in with_sideways_placed(copy, proof, sheet, rules)]
    lines, readings = zip(*proof, strict=True)
    read = replace(read, lines=lines, readings=readings)
    lines, readings = _numbered(read, order, {k: line.ticket for k, line in enumerate(lines)})
    return replace(read, lines=lines, readings=readings)


def _with_sheet(
    read: Arranged, sheet: Sequence[int], way: Sequence[tuple[Line, Reading]]
) -> Arranged:
    """The proof with one sheet's lines put in another way, all numbered anew."""
    every = list(zip(read.lines, read.readings, strict=True))
    laid = [*every[: sheet[0]], *way, *every[sheet[-1] + 1 :]]
    return replace(
        read,
        lines=tuple(replace(line, number=at) for at, (line, _) in enumerate(laid, start=1)),
        readings=tuple(replace(one, line=at) for at, (_, one) in enumerate(laid, start=1)),
        reordered=read.reordered + 1,
    )


def _cost(copy: Copy, tried: Arranged, rules: Rules) -> int:
    """Letters left unexplained by what stands upright."""
    upright = {line.number: line for line in tried.lines if line.home is None}
    setting = Setting([one for one in tried.readings if one.line in upright], upright)
    return unexplained(lay_lines(copy, setting, rules, part=False))


def with_reordered(collation: Collation, sheets: int) -> Collation:
    """The collation with so many sheets counted that were read in another order."""
    if not sheets or collation.mismatch:
        return collation
    waived = Counter(collation.waived) + Counter({"reading-order": sheets})
    return replace(collation, waived=dict(sorted(waived.items())))
