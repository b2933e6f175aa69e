"""A few words round a fault, as printed and as the copy has them, for people to read."""

from __future__ import annotations

from bisect import bisect_right
from typing import TYPE_CHECKING, NamedTuple

from proofcheck.base.kinds import Kind
from proofcheck.base.values import Span
from proofcheck.base.visible import visible

if TYPE_CHECKING:
    from proofcheck.base.found import Fault
    from proofcheck.base.values import Copy, Reading
    from proofcheck.results.line_names import LineNames
    from proofcheck.results.report import Report

__all__ = ["Excerpt", "elided", "excerpts", "printed_span", "ticket_words", "where"]

ELLIPSIS = "…"


class Excerpt(NamedTuple):
    """Text cut round one place; each part on one line with nothing in it that can't be seen."""

    before: str
    at: str
    """The place itself; "" for a gap."""
    after: str


def where(fault: Fault, names: LineNames) -> str:
    """The printed line in words: "12"; for a missing line "after 12", "head" before the first."""
    if fault.line == 0:
        return "head"
    named = names.name(fault.line)
    return f"after {named}" if fault.kind is Kind.LINE_MISSING else named


def ticket_words(report: Report, fault: Fault) -> str:
    """Which ticket of a sheet several up the fault is on: "ticket 3"; "" where it is not."""
    line = report.line(fault.line)
    return f"ticket {line.ticket}" if line and line.ticket else ""


def printed_span(report: Report, fault: Fault) -> Span | None:
    """Which letters of its line's reading the fault is at; None if the line was not read.

    The collation's own difference says it where there is one; for faults of the type itself the
    letters are those whose middle lies in the fault's box.
    """
    reading = report.reading(fault.line)
    if reading is None:
        return None
    if fault.kind is Kind.LINE_MISSING:
        return Span(len(reading.letters), len(reading.letters))
    for difference in report.collation.differences:
        same_place = (difference.line, difference.copy) == (fault.line, fault.copy)
        if same_place and difference.proof_text == fault.proof_text:
            return difference.proof
    return _span_by_box(reading, fault)


def _span_by_box(reading: Reading, fault: Fault) -> Span:
    middles = [letter.box.x + letter.box.width / 2 for letter in reading.letters]
    start = sum(middle < fault.box.x for middle in middles)
    end = sum(middle < fault.box.right for middle in middles)
    text = reading.text
    if not fault.proof_text or text[start:end] == fault.proof_text:
        return Span(start, max(start, end))
    places = [at for at in range(len(text)) if text.startswith(fault.proof_text, at)]
    if not places:
        return Span(start, max(start, end))
    nearest = min(places, key=lambda at: abs(at - start))
    return Span(nearest, nearest + len(fault.proof_text))


def excerpts(report: Report, fault: Fault, room: int = 32) -> tuple[Excerpt, Excerpt]:
    """What is printed there and what the copy has, with the words round them.

    Each is about `room` characters, cut alike, so that the two can be set one over the other.
    """
    printed, copied = _printed(report, fault), _copied(report, fault)
    longest = max(min(room, piece.span.end - piece.span.start) for piece in (printed, copied))
    side = max(0, room - longest) // 2
    return _cut(printed, room, side), _cut(copied, room, side)


class _Piece(NamedTuple):
    text: str
    span: Span
    bounds: Span


def _printed(report: Report, fault: Fault) -> _Piece:
    span, reading = printed_span(report, fault), report.reading(fault.line)
    if span is None or reading is None:
        whole = Span(0, len(fault.proof_text))
        return _Piece(fault.proof_text, whole, whole)
    return _Piece(reading.text, span, Span(0, len(reading.letters)))


def _copied(report: Report, fault: Fault) -> _Piece:
    bounds = report.placed(fault.line)
    if bounds is None or not bounds.start <= fault.copy.start <= fault.copy.end <= bounds.end:
        bounds = _paragraph(report.copy, fault.copy)
    return _Piece(report.copy.text, fault.copy, bounds)


def _paragraph(copy: Copy, span: Span) -> Span:
    """The paragraph that holds the start of the span, stretched to hold all of it."""
    at = bisect_right(copy.paragraphs, span.start, key=lambda p: p.start) - 1
    if at < 0:
        return span
    paragraph = copy.paragraphs[at]
    return Span(paragraph.start, max(paragraph.end, span.end))


def _cut(piece: _Piece, room: int, side: int) -> Excerpt:
    text, span, bounds = piece
    start, end = max(bounds.start, span.start - side), min(bounds.end, span.end + side)
    before, after = text[start : span.start], text[span.end : end]
    if start > bounds.start:
        before = ELLIPSIS + _from_word(before)
    if end < bounds.end:
        after = _from_word(after[::-1])[::-1] + ELLIPSIS
    return Excerpt(visible(before), elided(text[span.start : span.end], room), visible(after))


def _from_word(text: str) -> str:
    """The text from its first whole word on; unchanged if that would leave too little."""
    _, space, rest = text.partition(" ")
    return rest if space and len(rest) >= len(text) // 2 else text


def elided(text: str, room: int) -> str:
    """The text made visible, its middle left out where it is longer than `room` characters."""
    if len(text) > room:
        kept = max(2, room - 3)
        head, tail = text[: (kept + 1) // 2], text[len(text) - kept // 2 :]
        head, tail = _from_word(head[::-1])[::-1], _from_word(tail)
        text = f"{head.rstrip()} {ELLIPSIS} {tail.lstrip()}"
    return visible(text)
