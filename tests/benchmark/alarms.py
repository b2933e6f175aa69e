"""What is reported on pages as printed, less the true differences that are listed by name."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from .score import on_scan

if TYPE_CHECKING:
    from proofcheck.results.report import Report

__all__ = ["TRUE_DIFFERENCES", "Alarm", "TrueDifference", "alarms_of", "load_true_differences"]

TRUE_DIFFERENCES = Path(__file__).with_name("true_differences.csv")
"""Columns: page; context, the page's text with the place in ⟦ ⟧; printed, what the page has
there instead; why (whose slip it is)."""

_REACH = 18
"""Characters of context on either side."""


@dataclass(frozen=True, slots=True)
class TrueDifference:
    """A place where page and text do differ."""

    page: str
    context: str
    printed: str
    why: str

    def span_in(self, text: str) -> tuple[int, int] | None:
        """Where the place stands in the page's text; None where it isn't there just once."""
        before, rest = self.context.split("⟦")
        there, after = rest.split("⟧")
        pattern = "(" + ")(".join(map(_loosely, (before, there, after))) + ")"
        found = list(re.finditer(pattern, text))
        return found[0].span(2) if len(found) == 1 else None


def _loosely(text: str) -> str:
    """A pattern of a text in which any white matches any white."""
    return r"\s+".join(re.escape(part) for part in re.split(r"\s+", text))


@dataclass(frozen=True, slots=True)
class Alarm:
    """One fault or query reported on a page as printed."""

    book: str
    page: str
    status: str
    kind: str
    printed: str
    wanted: str
    certainty: float
    context: str
    """The copy round the place, which stands in ⟦ ⟧: as in the list of true differences."""
    box: tuple[float, float, float, float]
    """Left, top, right, bottom in pixels of the scan."""
    listed: str
    """Why the difference is true, "" for a false alarm."""


def load_true_differences(path: Path = TRUE_DIFFERENCES) -> dict[str, list[TrueDifference]]:
    """The list by page; empty where there is none yet."""
    listed: dict[str, list[TrueDifference]] = {}
    if path.exists():
        with path.open(encoding="utf-8", newline="") as file:
            for row in csv.DictReader(file):
                listed.setdefault(row["page"], []).append(TrueDifference(**row))
    return listed


def alarms_of(report: Report, book: str, page: str, listed: list[TrueDifference]) -> list[Alarm]:
    """Everything reported on one page, each with the name it is excused by, if any."""
    text = report.copy.text
    places = [(true.span_in(text), true.why) for true in listed]
    found = []
    for fault in report.faults:
        start, end = fault.copy
        why = next(
            (why for span, why in places if span and start <= span[1] and end >= span[0]), ""
        )
        found.append(
            Alarm(
                book,
                page,
                str(fault.status),
                str(fault.kind),
                fault.proof_text,
                fault.copy_text,
                fault.certainty,
                context_of(text, start, end),
                on_scan(report, fault),
                why,
            )
        )
    return found


def context_of(text: str, start: int, end: int) -> str:
    """The text round a place, on one line, the place in brackets."""
    before, after = text[max(start - _REACH, 0) : start], text[end : end + _REACH]
    there = text[start:end]
    return re.sub(r"\s", " ", f"{before}⟦{there}⟧{after}")
