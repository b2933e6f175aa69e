"""The closing words on a proof: its verdict and what was counted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.base.found import Verdict
from proofcheck.base.visible import visible

if TYPE_CHECKING:
    from proofcheck.base.found import Unread
    from proofcheck.results.report import Report

__all__ = ["tally", "unread_words"]


def tally(report: Report) -> str:
    """The closing sentence: the verdict and the counts, in words."""
    name = visible(report.copy.name)
    if report.verdict is Verdict.MISMATCH:
        share = f"{report.collation.agreement:.0%}"
        return f"This proof is not of this copy: {share} of what is printed agrees with {name}."
    if report.verdict is Verdict.UNREADABLE:
        return "The proof was not judged: no scan of it could be read."
    counts = report.counts
    unread = sum(not reading.letters for reading in report.readings)
    lines = _number(len(report.lines) - unread, "line")
    found = _number(counts.faults, "fault") if counts.faults else "No fault"
    if counts.queries:
        found += f", {_number(counts.queries, 'query', 'queries')}"
        found += "" if counts.faults else " to settle"
    if counts.stand:
        found += f", {counts.stand} let stand"
    told = f"{found} in {lines} read against {name}."
    if report.unread:
        told += f" Not wholly read: {_number(len(report.unread), 'place')} left out."
    return told


def _number(count: int, one: str, many: str = "") -> str:
    return f"{count:,} {one if count == 1 else many or one + 's'}"


def unread_words(report: Report, unread: Unread) -> str:
    """A line on ink that was not read: how much, where, and of several sheets on which."""
    sheet = f" of sheet {unread.sheet + 1}" if len(report.sheets) > 1 else ""
    return f"Not read: {unread.words}{sheet}."
