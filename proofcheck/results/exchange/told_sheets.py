"""The lines of one sheet as other programs want them: blocks, lines, words and letters."""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass
from itertools import groupby
from pathlib import PurePath
from typing import TYPE_CHECKING

from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box
from proofcheck.results.excerpts import printed_span

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.base.found import Fault, Unread
    from proofcheck.base.values import Letter, Line, Sheet, Span
    from proofcheck.results.report import Report

__all__ = ["Block", "PrintedLine", "ToldSheet", "Word", "in_xml", "told_sheets"]

_FORBIDDEN = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What no XML document can hold (XML 1.0, production 2)."""
_WHITE = re.compile("[ \t\n\r]+")


@dataclass(frozen=True, slots=True)
class Word:
    """One word as printed."""

    letters: tuple[Letter, ...]
    faults: tuple[Fault, ...]
    """Those that stand in it."""

    @property
    def text(self) -> str:
        """The word as read."""
        return "".join(letter.text for letter in self.letters)

    @property
    def box(self) -> Box:
        """Round its letters, in sheet pixels."""
        return Box.around(letter.box for letter in self.letters)

    @property
    def certainty(self) -> float:
        """The reader's of the letter it was least sure of, 0 to 1."""
        return min(1.0, max(0.0, min(letter.certainty for letter in self.letters)))


@dataclass(frozen=True, slots=True)
class PrintedLine:
    """One line with its words."""

    line: Line
    words: tuple[Word, ...]
    text: str
    """As printed; "" where nothing was read."""
    copy_text: str | None
    """As the copy has it, any white as one space; None for a line that is not laid on it."""
    faults: tuple[Fault, ...]
    """All that are told of it."""


@dataclass(frozen=True, slots=True)
class Block:
    """Lines of one column (and ticket) that are read one after the other."""

    number: int
    """On its sheet, from 1, in the order of reading."""
    column: int
    ticket: int
    lines: tuple[PrintedLine, ...]


@dataclass(frozen=True, slots=True)
class ToldSheet:
    """One sheet as it is told to other programs."""

    sheet: Sheet
    picture: str
    """Name of the scan's file, without its folder."""
    blocks: tuple[Block, ...]
    """In the order of reading."""
    unread: tuple[Unread, ...]


def told_sheets(report: Report) -> list[ToldSheet]:
    """Every sheet of a report; no picture is asked for."""
    faults: dict[int, list[Fault]] = defaultdict(list)
    for fault in report.faults:
        faults[fault.line].append(fault)
    read = {reading.line: reading.letters for reading in report.readings}
    placed = {p.line: p.copy for p in report.collation.placings} if report.judged else {}
    out = []
    for sheet in report.sheets:
        mine = [line for line in report.lines if line.sheet == sheet.number]
        told = [
            _line(report, line, read.get(line.number, ()), placed, faults[line.number])
            for line in mine
        ]
        unread = tuple(each for each in report.unread if each.sheet == sheet.number)
        name = PurePath(sheet.scan.name.replace("\\", "/")).name or sheet.scan.name
        out.append(ToldSheet(sheet, name, _blocks(told), unread))
    return out


def _blocks(lines: Sequence[PrintedLine]) -> tuple[Block, ...]:
    runs = groupby(lines, key=lambda told: (told.line.column, told.line.ticket))
    return tuple(
        Block(number, column, ticket, tuple(run))
        for number, ((column, ticket), run) in enumerate(runs, 1)
    )


def _line(
    report: Report,
    line: Line,
    letters: Sequence[Letter],
    placed: Mapping[int, Span | None],
    faults: Sequence[Fault],
) -> PrintedLine:
    span = placed.get(line.number)
    copied = None if span is None else report.copy.text[span.start : span.end]
    return PrintedLine(
        line,
        _words(report, letters, faults),
        "".join(letter.text for letter in letters),
        None if copied is None else _WHITE.sub(" ", copied).strip(" "),
        tuple(faults),
    )


def _words(report: Report, letters: Sequence[Letter], faults: Sequence[Fault]) -> tuple[Word, ...]:
    # A line that is missing after this one is no word of it.
    inside = [fault for fault in faults if fault.kind is not Kind.LINE_MISSING]
    spans = [(fault, span) for fault in inside if (span := printed_span(report, fault))]
    out, start = [], 0
    for end in [*(at for at, letter in enumerate(letters) if letter.text == " "), len(letters)]:
        if end > start:
            # A gap at the edge of a word is told of it; letters beside it are not.
            met = tuple(
                fault
                for fault, span in spans
                if (span.start < end and span.end > start)
                or (span.start == span.end and start <= span.start <= end)
            )
            out.append(Word(tuple(letters[start:end]), met))
        start = end + 1
    return tuple(out)


def in_xml(text: str) -> str:
    """The text with U+FFFD for every character that no XML document can hold."""
    return _FORBIDDEN.sub("\ufffd", text)
