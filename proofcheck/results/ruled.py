"""A report as persons have ruled on it: what stands, what is asked, what was wrongly alleged."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from proofcheck.base.found import Fault, Mark, Status
from proofcheck.marks.assign import plain_mark, query_mark, stet_mark
from proofcheck.results.report import verdict_of, wholly_read

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.results.report import Report

__all__ = ["RULINGS", "Ruling", "ruled"]

RULINGS = ("correct", "stand", "query", "sound")
"""It is to be set right; it stands (stet); the customer is asked; it was wrongly alleged."""


@dataclass(frozen=True, slots=True)
class Ruling:
    """What was ruled on one fault."""

    what: str
    """One of `RULINGS`."""
    words: str = ""
    """What is asked of the customer, or why it stands; for the instruction."""
    dispute: str = ""
    """Who ruled what, where two have ruled differently: nothing is ruled then."""


def ruled(report: Report, rulings: Mapping[str, Ruling], own: Sequence[Fault] = ()) -> Report:
    """The report with its faults as ruled: from it the same papers are drawn.

    What was wrongly alleged is left out; what is to stand gets the dots and "stet", what is to be
    asked the ringed query. A fault not ruled on stays as it was read. One that is in dispute is to
    be settled first: it is ringed as a query, says who ruled what, and asks for no slug. The plan
    of recasting is not made anew here.

    Args:
        report: as read.
        rulings: by the fault's name.
        own: faults that a person saw, marked.

    Raises:
        ValueError: a ruling is none.
    """
    kept = [found for fault in report.faults if (found := _ruled(fault, rulings.get(fault.id)))]
    for fault in own:
        found = _ruled(fault, rulings.get(fault.id))
        if found is not None:
            kept.insert(_place_for(found, kept), found)
    unfit = bool(report.provenance.settings.get("unfit"))
    verdict = verdict_of(kept, wholly_read=wholly_read(report.unread, unfit=unfit))
    return replace(report, faults=tuple(kept), verdict=verdict if report.judged else report.verdict)


def _place_for(fault: Fault, among: Sequence[Fault]) -> int:
    """Where it comes in the order of the proof."""
    later = ((other.line, other.box.x) > (fault.line, fault.box.x) for other in among)
    return next((at for at, past in enumerate(later) if past), len(among))


def _ruled(fault: Fault, ruling: Ruling | None) -> Fault | None:
    if ruling is None:
        return fault
    if ruling.dispute:
        mark = fault.mark if fault.status is Status.QUERY else query_mark(fault.mark)
        words = f"in dispute ({ruling.dispute}); {mark.words}"
        return replace(fault, status=Status.QUERY, mark=replace(mark, words=words))
    if ruling.what == "sound":
        return None
    mark = plain_mark(fault.mark) if fault.status is Status.QUERY else fault.mark
    if ruling.what == "correct":
        return replace(fault, status=Status.FAULT, mark=mark)
    if ruling.what == "stand":
        return replace(fault, status=Status.STAND, mark=stet_mark(mark))
    if ruling.what == "query":
        return replace(fault, status=Status.QUERY, mark=_asked(mark, ruling.words))
    msg = f"no ruling {ruling.what!r}"
    raise ValueError(msg)


def _asked(mark: Mark, words: str) -> Mark:
    asked = query_mark(mark)
    return replace(asked, words=f"query: {words}") if words else asked
