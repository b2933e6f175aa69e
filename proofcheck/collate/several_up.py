"""One copy, printed several times on a sheet: each ticket laid on the whole of it by itself.

The copy is taken as often as there are tickets, each time with the numbers that ticket is to have;
all that follows works on that, and what was found is carried back to the copy as it was given.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from proofcheck.base.found import Collation, Difference, Placing
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Copy, Emphasis, Span
from proofcheck.collate.numbering import numbers_of
from proofcheck.collate.run import collate
from proofcheck.collate.setting import Setting
from proofcheck.collate.stray import foreign_lines

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.values import Line, Reading
    from proofcheck.collate.numbering import Numbers
    from proofcheck.collate.same import Rules

__all__ = ["SeveralUp", "collate_tickets", "several_up"]

_BETWEEN = "\n\n"


@dataclass(frozen=True, slots=True)
class _Ticket:
    """The copy with one ticket's numbers."""

    text: str
    spans: tuple[Span, ...]
    """Where its numbers stand in it."""
    given: tuple[Span, ...]
    """Where they stand in the copy as given."""

    def there(self, at: int) -> int:
        """A place of the given copy, in this text."""
        k = bisect_right(self.given, at, key=lambda span: span.end) - 1
        return at if k < 0 else self.spans[k].end + at - self.given[k].end

    def home(self, at: int, *, end: bool = False) -> int:
        """A place of this text in the given copy; within a number no further than its end."""
        k = bisect_right(self.spans, at - end, key=lambda span: span.start) - 1
        if k < 0:
            return at
        mine, its = self.spans[k], self.given[k]
        if at < mine.end or (end and at == mine.end):
            whole = at == mine.end
            return its.end if whole else min(its.start + at - mine.start, its.end)
        return its.end + at - mine.end


@dataclass(frozen=True, slots=True)
class SeveralUp:
    """A proof of several tickets of one copy."""

    given: Copy
    copy: Copy
    """The given copy so many times over, each with its ticket's numbers."""
    tickets: tuple[_Ticket, ...]
    starts: tuple[int, ...]
    """Where each begins in it."""
    places: tuple[tuple[int, ...], ...]
    """The numbers of the lines on each ticket."""
    numbers: Numbers

    def home(self, span: Span) -> Span:
        """A stretch of the copy taken so many times, in the given copy."""
        at = bisect_right(self.starts, span.start) - 1
        if at + 1 < len(self.starts) and span == (self.starts[at + 1],) * 2:
            at += 1
        ticket, start = self.tickets[at], self.starts[at]
        begin, end = span.start - start, min(span.end - start, len(ticket.text))
        first = min(ticket.home(begin), len(self.given.text))
        return Span(first, max(first, ticket.home(end, end=True) if end > begin else first))


def several_up(given: Copy, places: Sequence[Sequence[int]], numbers: Numbers) -> SeveralUp:
    """The copy taken once for each place.

    Args:
        given: the copy of one ticket.
        places: the numbers of the lines on each ticket.
        numbers: what its numbers are to be on each.
    """
    spans = numbers_of(given.text)
    tickets = [
        _ticket(given.text, spans, [wanted[at] for wanted in numbers.wanted])
        for at in range(len(places))
    ]
    starts, text = [], ""
    paragraphs: list[Span] = []
    emphasis: list[Emphasis] = []
    for ticket in tickets:
        start = len(text)
        starts.append(start)
        moved = [[start + ticket.there(at) for at in span] for span in given.paragraphs]
        paragraphs += [Span(*span) for span in moved]
        emphasis += [
            Emphasis(Span(*(start + ticket.there(at) for at in each.span)), each.style)
            for each in given.emphasis
        ]
        text += ticket.text + _BETWEEN
    whole = replace(given, text=text, paragraphs=tuple(paragraphs), emphasis=tuple(emphasis))
    held = tuple(tuple(place) for place in places)
    return SeveralUp(given, whole, tuple(tickets), tuple(starts), held, numbers)


def _ticket(text: str, spans: Sequence[Span], wanted: Sequence[str]) -> _Ticket:
    out, mine, done = "", [], 0
    for span, number in zip(spans, wanted, strict=True):
        out += text[done : span.start]
        mine.append(Span(len(out), len(out) + len(number)))
        out += number
        done = span.end
    return _Ticket(out + text[done:], tuple(mine), tuple(spans))


def collate_tickets(
    gang: SeveralUp,
    readings: Sequence[Reading],
    lines: Sequence[Line],
    rules: Rules,
    *,
    language: str,
    hand_set: bool,
) -> Collation:
    """Each ticket laid on the copy by itself, and what was found put together.

    No number at the foot of a ticket is a page's: folios are not let pass. A ticket that is not of
    this copy is foreign, and the copy wanting there.

    Args:
        gang: the tickets.
        readings: of all lines, in order of the proof.
        lines: their geometry.
        rules: the allowances made.
        language: of the words.
        hand_set: decides between likely causes.
    """
    read = {reading.line: reading for reading in readings}
    shape = {line.number: line for line in lines}
    found: list[Collation] = []
    last = 0
    for turn, numbers in enumerate(gang.places):
        mine = [read[number] for number in numbers]
        if any(reading.text for reading in mine):
            laid = collate(
                _alone(gang, turn),
                mine,
                lines=[shape[number] for number in numbers],
                rules=rules.without("folio"),
                language=language,
                hand_set=hand_set,
            )
            found.append(_in_place(laid, gang, turn, mine))
            last = numbers[-1]
        else:
            found.append(Collation((), (_missing(gang, turn, read.get(last)),)))
    held = {number for numbers in gang.places for number in numbers}
    strays = [reading for reading in readings if reading.line not in held and reading.text]
    found.append(Collation((), tuple(_of_none(strays, 0))))
    return _joined(found, gang, readings)


def _joined(found: Sequence[Collation], gang: SeveralUp, readings: Sequence[Reading]) -> Collation:
    """What was found on the tickets, and last on what stands on none, as of one proof."""
    sizes = {reading.line: len(reading.text.replace(" ", "")) for reading in readings}
    borne = sum(
        one.agreement * sum(sizes[number] for number in numbers)
        for one, numbers in zip(found, gang.places, strict=False)
    )
    agreement = min(1.0, borne / max(sum(sizes.values()), 1))
    laid = [one for one in found if one.placings]
    if laid and all(one.mismatch for one in laid):
        none = tuple(Placing(reading.line, None) for reading in readings)
        return Collation(none, (), {}, agreement, mismatch=True)
    waived: Counter[str] = Counter(_runs(gang))
    for one in found:
        waived.update(one.waived)
    placed = {p.line: p.copy for one in found for p in one.placings}
    differences = [difference for one in found for difference in one.differences]
    return Collation(
        tuple(Placing(reading.line, placed.get(reading.line)) for reading in readings),
        tuple(sorted(differences, key=lambda one: one.line)),
        dict(sorted(waived.items())),
        agreement,
    )


def _in_place(
    laid: Collation, gang: SeveralUp, turn: int, readings: Sequence[Reading]
) -> Collation:
    """One ticket's collation, in the copy taken so many times."""
    start = gang.starts[turn]
    placings = tuple(Placing(p.line, _moved(p.copy, start)) for p in laid.placings)
    differences = [_told(one, gang, turn) for one in laid.differences]
    if laid.mismatch:
        read = [reading for reading in readings if reading.text]
        differences = [*_of_none(read, start), _missing(gang, turn, readings[-1])]
    return replace(laid, placings=placings, differences=tuple(differences))


def _alone(gang: SeveralUp, turn: int) -> Copy:
    """One ticket's copy by itself."""
    start = gang.starts[turn]
    ticket, count = gang.tickets[turn], len(gang.given.paragraphs)
    paragraphs = gang.copy.paragraphs[turn * count : (turn + 1) * count]
    count = len(gang.given.emphasis)
    emphasis = gang.copy.emphasis[turn * count : (turn + 1) * count]
    return replace(
        gang.given,
        text=ticket.text,
        paragraphs=tuple(Span(a - start, b - start) for a, b in paragraphs),
        emphasis=tuple(
            Emphasis(Span(e.span.start - start, e.span.end - start), e.style) for e in emphasis
        ),
    )


def _moved(span: Span | None, by: int) -> Span | None:
    return None if span is None else Span(span.start + by, span.end + by)


def _told(one: Difference, gang: SeveralUp, turn: int) -> Difference:
    """A ticket's difference, in the copy taken so many times; a doubtful number is only asked."""
    span, spans = one.copy, gang.tickets[turn].spans
    asked = any(
        doubtful and span.start <= number.end and number.start <= span.end
        for number, doubtful in zip(spans, gang.numbers.asked, strict=True)
    )
    start = gang.starts[turn]
    there = Span(span.start + start, span.end + start)
    return replace(one, copy=there, only_query=one.only_query or asked)


def _missing(gang: SeveralUp, turn: int, after: Reading | None) -> Difference:
    """A whole ticket that is not there, after the last line read before it."""
    text, start = gang.tickets[turn].text, gang.starts[turn]
    end = len(after.text) if after else 0
    inked = Span(len(text) - len(text.lstrip()), len(text.rstrip()))
    return Difference(
        kind=Kind.MATTER_MISSING,
        line=after.line if after else 0,
        proof=Span(end, end),
        proof_text="",
        copy=Span(start + inked.start, start + inked.end),
        copy_text=" ".join(text.split()),
    )


def _of_none(readings: Sequence[Reading], at: int) -> list[Difference]:
    """Lines that are of no ticket of this copy."""
    every = range(len(readings))
    return foreign_lines(every, frozenset(), Setting(readings, {}), dict.fromkeys(every, at))


def _runs(gang: SeveralUp) -> dict[str, int]:
    """How many numbers were let run on from the copy's."""
    given = [gang.given.text[a:b] for a, b in numbers_of(gang.given.text)]
    count = sum(
        number != own
        for own, wanted in zip(given, gang.numbers.wanted, strict=True)
        for number, place in zip(wanted, gang.places, strict=True)
        if place
    )
    return {"numbering": count} if count else {}
