"""Divisions at line ends: where the word may not be divided, and too many running."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from proofcheck.base.divisions import may_divide, running_divisions
from proofcheck.base.found import Difference, Status
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Span
from proofcheck.collate.edits import How

if TYPE_CHECKING:
    from collections import Counter

    from proofcheck.collate.aligning import Alignment
    from proofcheck.collate.edits import Edit
    from proofcheck.collate.same import Compared, Rules
    from proofcheck.collate.setting import Setting

__all__ = ["division_faults"]

_WORD = re.compile(r"[^ —–…]+")


def division_faults(
    alignment: Alignment,
    copy: Compared,
    setting: Setting,
    rules: Rules,
    language: str,
    waived: Counter[str],
) -> list[Difference]:
    """Words divided where they may not be, and the third division running and after."""
    divided = {
        alignment.stream.row(edit.p0): edit for edit in alignment.edits if edit.how is How.DIVISION
    }
    out = []
    bad: set[int] = set()
    for row, edit in divided.items():
        if _unsure(alignment, edit):
            continue
        status = _status(copy.text, edit.c0, language)
        if status is not None:
            bad.add(row)
            query = status is Status.QUERY
            out.append(_difference(alignment, copy, setting, edit, only_query=query))
    for row in _too_many(alignment, setting, divided) - bad:
        if rules.division_run:
            waived["division-run"] += 1
        else:
            out.append(_difference(alignment, copy, setting, divided[row], only_query=False))
    return out


def _unsure(alignment: Alignment, hyphen: Edit) -> bool:
    """Whether the word has another fault, so that where it is divided is a guess."""
    start, end = _word_around(alignment.copy, hyphen.c0)
    return any(
        edit is not hyphen and start <= edit.c0 <= edit.c1 <= end for edit in alignment.edits
    )


def _word_around(copy: str, at: int) -> tuple[int, int]:
    """Where the copy's word at an offset begins and ends, dashes being between words."""
    start = max(copy.rfind(char, 0, at) for char in " —–…") + 1
    found = _WORD.match(copy, start)
    return start, found.end() if found else start


def _status(copy: str, at: int, language: str) -> Status | None:
    """What is to be said of a division before copy letter `at`."""
    start, end = _word_around(copy, at)
    if not start < at < end:
        return None
    return may_divide(copy[start:end], at - start, language).status


def _too_many(alignment: Alignment, setting: Setting, divided: dict[int, Edit]) -> set[int]:
    """Rows that are the third or later of divisions running, in lines that stand together."""
    order = alignment.stream.order
    flags: list[int | None] = []
    for row in range(len(order)):
        together = row == 0 or (
            order[row] == order[row - 1] + 1
            and setting.column(order[row]) == setting.column(order[row - 1])
        )
        if not together:
            flags.append(None)
        flags.append(row if row in divided else None)
    runs = running_divisions([flag is not None for flag in flags])
    return {late for run in runs for k in run[2:] if (late := flags[k]) is not None}


def _difference(
    alignment: Alignment, copy: Compared, setting: Setting, edit: Edit, *, only_query: bool
) -> Difference:
    """The hyphen of a bad division."""
    stream = alignment.stream
    row = stream.row(edit.p0)
    reading = setting.readings[stream.order[row]]
    at = edit.p0 - int(stream.line_start[row])
    proof = stream.parts[row].span(at, at + 1)
    gap = copy.span(edit.c0, edit.c0)
    return Difference(
        kind=Kind.BAD_DIVISION,
        line=reading.line,
        proof=Span(*proof),
        proof_text=reading.text[proof.start : proof.end],
        copy=gap,
        copy_text="",
        only_query=only_query,
    )
