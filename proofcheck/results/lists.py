"""The correction list: for the terminal, and as CSV for a spreadsheet."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Callable
from typing import TYPE_CHECKING, Literal, TypeAlias

from rich.box import SIMPLE_HEAD
from rich.cells import cell_len
from rich.console import Console, Group
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from proofcheck.base.fault_numbers import shown_number
from proofcheck.base.found import Status
from proofcheck.base.visible import in_ascii, visible
from proofcheck.base.writing import write_whole
from proofcheck.results.excerpts import Excerpt, elided, excerpts, ticket_words, where
from proofcheck.results.line_names import with_named_lines
from proofcheck.results.report import scan_box
from proofcheck.results.tally import tally, unread_words

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from rich.console import RenderableType

    from proofcheck.base.found import Fault
    from proofcheck.results.line_names import LineNames
    from proofcheck.results.report import Report

__all__ = [
    "CSV_COLUMNS",
    "Order",
    "cell",
    "correction_csv",
    "correction_list",
    "write_csv",
]

Tone: TypeAlias = Callable[[str], str]
"""Last turn given to every text: as it is, or in ASCII."""

_ToTell: TypeAlias = "tuple[Sequence[Fault], LineNames]"
"""Faults in the order they are told in, and what their lines are called."""

Order = Literal["proof", "certainty"]
"""Down the proof, as a compositor works; or the surest first."""

TABLE_MIN_COLUMNS = 76
"""Terminals narrower than this get a block of lines a fault in place of a table row."""

TO_DO_COLUMNS = 16
SURE_COLUMNS = 5
RULING_COLUMNS = 17
"""Fewest columns of a table for the instruction and the certainty; what lies between columns."""

GAP_SIGN = "‸"
CELL_LIMIT = 2000
"""Characters kept of one CSV cell; spreadsheets hold 32,767, people read far fewer."""

CSV_COLUMNS = (
    "fault",
    "status",
    "line",
    "kind",
    "printed",
    "copy has",
    "mark",
    "mark in the text",
    "instruction",
    "certainty",
    "likely cause",
    "printed, with its neighbours",
    "copy, with its neighbours",
    "copy start",
    "copy end",
    "scan",
    "page",
    "left px",
    "top px",
    "width px",
    "height px",
    "ticket",
    "proof",
    "grade",
    "sheet and line",
)

_FORMULA_STARTS = re.compile(r"""(^[\s"]*|;[\s"]*)(?=[=+\-@＝＋－＠])""")
"""Where a spreadsheet may take the start of a formula (OWASP, “CSV Injection”): at the head of a
cell, and after a semicolon where that parts the cells."""


def correction_list(
    report: Report,
    *,
    width: int = 100,
    order: Order = "proof",
    colour: bool = False,
    ascii_only: bool = False,
    proof: int = 1,
) -> str:
    """The list of corrections as text, at most `width` terminal columns wide (at least 24).

    Each entry gives the line, what is printed and what the copy has there (the place itself in
    square brackets, a gap as a caret), the mark, the certainty and the likely cause. Nothing in
    copy or file names can drive the terminal. `colour` adds colour and weight to the same text;
    `ascii_only` is for terminals without Unicode; `proof` says which of its series it is, from 1.
    """
    width = max(24, width)
    report, names = with_named_lines(report)
    tone = in_ascii if ascii_only else str
    parts: list[RenderableType] = []
    if report.faults:
        faults = _ordered(report.faults, order)
        layout = _table if width >= TABLE_MIN_COLUMNS else _blocks
        parts.append(layout(report, (faults, names), tone, (width, proof)))
    parts.append(_closing(report, tone))
    out = io.StringIO()
    console = Console(
        file=out,
        width=width,
        force_terminal=colour,
        color_system="standard" if colour else None,
        legacy_windows=False,
        _environ={},
    )
    console.print(Group(*parts))
    lines = [line.rstrip() for line in out.getvalue().split("\n")]
    text = "\n".join(lines).strip("\n") + "\n"
    return text.replace("─", "-") if ascii_only else text


def _ordered(faults: Sequence[Fault], order: Order) -> list[Fault]:
    """Down the proof as given, or the surest first (equals down the proof)."""
    if order == "certainty":
        return sorted(faults, key=lambda fault: -fault.certainty)
    return list(faults)


def _table(report: Report, told: _ToTell, tone: Tone, room_for: tuple[int, int]) -> Table:
    (faults, names), (width, proof) = told, room_for
    marks = max(6, min(16, max(cell_len(tone(fault.mark.margin)) for fault in faults)))
    placed = [(where(fault, names), ticket_words(report, fault)) for fault in faults]
    numbers = max(4, *(len(words) for place in placed for words in place))
    named = [shown_number(proof, fault.id) for fault in faults]
    longest = max(map(len, named))
    free = width - longest - numbers - marks - SURE_COLUMNS - RULING_COLUMNS
    room = min(60, free - max(TO_DO_COLUMNS, round(0.36 * free)))
    table = Table(box=SIMPLE_HEAD, pad_edge=False, padding=(0, 1), header_style="bold")
    table.add_column("No.", justify="right", width=longest)
    table.add_column("Line", justify="right", width=numbers)
    table.add_column("Printed, over copy", overflow="fold", width=room)
    table.add_column("Mark", overflow="fold", width=marks)
    table.add_column("To do", overflow="fold", width=min(44, free - room))
    table.add_column("Sure", justify="right", width=SURE_COLUMNS)
    for fault, name, place in zip(faults, named, placed, strict=True):
        margin, words = elided(fault.mark.margin, 40), elided(fault.mark.words, 100)
        cause = f"\n{fault.cause.value}?" if fault.cause else ""
        table.add_row(
            Text(tone(name)),
            Text(tone("\n".join(filter(None, place)))),
            _over(report, fault, tone, room),
            Text(tone(margin), style="bold"),
            Text(tone(words)).append(tone(cause), style="dim"),
            Text("\n".join(_sure(fault)), style=_style(fault)),
        )
    return table


def _blocks(report: Report, told: _ToTell, tone: Tone, room_for: tuple[int, int]) -> Group:
    (faults, names), (width, proof) = told, room_for
    parts: list[RenderableType] = []
    for fault in faults:
        cause = f"  {fault.cause.value}?" if fault.cause else ""
        place = ", ".join(filter(None, (where(fault, names), ticket_words(report, fault))))
        head = Text(tone(f"{shown_number(proof, fault.id)}  Line {place}"), style="bold")
        head.append("  " + "  ".join(_sure(fault)), style=_style(fault)).append(cause, style="dim")
        body = _over(report, fault, tone, max(16, width - 8))
        mark = Text(tone(elided(fault.mark.margin, 40)), style="bold")
        mark.append(tone("  " + elided(fault.mark.words, 100)), style="not bold")
        parts += [head, Padding(Group(body, mark), (0, 0, 1, 2))]
    return Group(*parts)


def _over(report: Report, fault: Fault, tone: Tone, room: int) -> Text:
    """The printed words over those of the copy, the places under one another."""
    printed, wanted = excerpts(report, fault, room - len(tone("[……]")))
    indent = max(cell_len(tone(printed.before)), cell_len(tone(wanted.before)))
    text = _excerpt(printed, tone, "red", indent).append("\n")
    return text.append_text(_excerpt(wanted, tone, "green", indent))


def _sure(fault: Fault) -> list[str]:
    """The certainty in hundredths, never rounded up to 100; "query"; and the grade of the type."""
    said = [f"{min(99, int(fault.certainty * 100 + 0.5))} %"]
    said += ["query"] if fault.status is Status.QUERY else []
    return [*said, fault.grade.value] if fault.grade is not None else said


def _style(fault: Fault) -> str:
    return "yellow" if fault.status is Status.QUERY else ""


def _excerpt(excerpt: Excerpt, tone: Tone, colour: str, indent: int) -> Text:
    before = tone(excerpt.before)
    text = Text(" " * (indent - cell_len(before)) + before)
    text.append(tone(f"[{excerpt.at}]" if excerpt.at else GAP_SIGN), style=f"bold {colour}")
    return text.append(tone(excerpt.after))


def _closing(report: Report, tone: Tone) -> Group:
    notes = (*report.copy.notes, *report.warnings)
    lines = [Text(tone(f"Note: {visible(note)}")) for note in notes]
    lines += [Text(tone(visible(unread_words(report, each)))) for each in report.unread]
    closing = Text(tone(tally(report)), style="bold")
    if report.counts.queries and report.judged:
        closing.append(" A query is for a person to settle.", style="not bold")
    lines.append(closing)
    waived = {name: count for name, count in report.collation.waived.items() if count}
    if waived:
        counted = ", ".join(f"{visible(name)} {count}" for name, count in waived.items())
        lines.append(Text(tone(f"Let pass as the same on paper: {counted}.")))
    if report.let_go:
        reasons = Counter(each.reason for each in report.let_go)
        counted = "; ".join(f"{visible(why)}: {count}" for why, count in reasons.most_common())
        lines.append(Text(tone(f"Read otherwise and let go, since {counted}.")))
    return Group(*lines)


def write_csv(report: Report, path: Path | str, *, overwrite: bool = False, proof: int = 1) -> Path:
    """Write the list as CSV; see `correction_csv`.

    Raises:
        OutputError: as for `proofcheck.base.writing.whole_file`.
    """
    return write_whole(path, correction_csv(report, proof).encode("utf-8-sig"), overwrite=overwrite)


def correction_csv(report: Report, proof: int = 1) -> str:
    """The list as CSV (RFC 4180: CRLF line ends), every text cell quoted, a row a fault.

    For people with spreadsheets; programs are better served by the JSON report. So that no cell
    is taken for a formula, what starts like one gets an apostrophe before it (OWASP, “CSV
    Injection”); for the same reason the fault and the proof's number ("2/4" elsewhere) stand in
    cells of their own. Long matter is cut in the middle; what can't be seen is shown as a sign.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
    writer.writerow(CSV_COLUMNS)
    report, names = with_named_lines(report)
    for fault in report.faults:
        sheet = next(sheet for sheet in report.sheets if sheet.number == fault.sheet)
        printed, wanted = excerpts(report, fault, 60)
        writer.writerow(
            [
                fault.id,
                fault.status.value,
                fault.line,
                fault.kind.value,
                cell(fault.proof_text),
                cell(fault.copy_text),
                cell(fault.mark.margin),
                cell(fault.mark.text),
                cell(fault.mark.words),
                round(fault.certainty, 4),
                fault.cause.value if fault.cause else "",
                cell(_in_one(printed)),
                cell(_in_one(wanted)),
                fault.copy.start,
                fault.copy.end,
                cell(sheet.scan.name),
                sheet.scan.page + 1,
                *scan_box(sheet, fault.box),
                line.ticket if (line := report.line(fault.line)) and line.ticket else "",
                proof,
                fault.grade.value if fault.grade is not None else "",
                where(fault, names),
            ]
        )
    return out.getvalue()


def _in_one(excerpt: Excerpt) -> str:
    if not any(excerpt):
        return ""
    return excerpt.before + (f"[{excerpt.at}]" if excerpt.at else GAP_SIGN) + excerpt.after


def cell(text: str) -> str:
    """Text for a cell of a spreadsheet: cut where it is long, and never taken for a formula."""
    shown = elided(text, CELL_LIMIT)
    return _FORMULA_STARTS.sub(r"\1'", shown)
