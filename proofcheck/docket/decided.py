"""A proof on the docket as it was decided: the report its papers are drawn from."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from proofcheck.base.found import Fault, Status
from proofcheck.docket.against import disputed_words
from proofcheck.docket.own_marks import (
    OF_NO_LINE,
    OF_THE_TYPE,
    difference_at,
    stored_report,
)
from proofcheck.marks.assign import asked_mark, mark_for
from proofcheck.results.paper_names import Paper
from proofcheck.results.ruled import Ruling, ruled

if TYPE_CHECKING:
    from collections.abc import Collection

    from proofcheck.docket.book import Docket
    from proofcheck.docket.facts import Found, ProofPulled
    from proofcheck.docket.job import Job
    from proofcheck.results.report import Report

__all__ = [
    "NOT_DECIDED",
    "as_decided",
    "decided_report",
    "disputes_of",
    "paper_of",
    "undecided_words",
]

NOT_DECIDED = "Not decided yet, and listed as if to be corrected"
"""Said on the lists for machine and stone, with the numbers."""
_MOST_NAMED = 20


def decided_report(docket: Docket, proof: ProofPulled) -> Report:
    """The record of a proof with all that was decided; nothing is read again.

    Raises:
        DocketError: its record is gone or was changed.
        RecordError: it is of a version that holds too little.
    """
    return as_decided(stored_report(docket, proof), proof)


def paper_of(job: Job, proof: ProofPulled) -> Paper:
    """The name that a proof's papers bear."""
    return Paper(job.number, proof.number, proof.entry.sha256[:16])


def as_decided(report: Report, proof: ProofPulled, *, plan: bool = True, only: str = "") -> Report:
    """The report with the decisions on its proof, the reader's own marks, and the plan anew.

    Args:
        report: as read.
        proof: what the docket has of it.
        plan: make the plan of recasting anew; else it is left as it was read.
        only: nothing but the fault of this name.
    """
    held = [found for found in proof.found if only in ("", found.id)]
    if only:
        report = replace(report, faults=tuple(f for f in report.faults if f.id == only))
    rulings = {
        found.id: Ruling(
            found.decision.what, _question(found), disputed_words(found) if found.others else ""
        )
        for found in held
        if found.decision is not None
    }
    hand_set = bool(report.provenance.settings.get("hand_set"))
    own = [_own(found, hand_set=hand_set) for found in held if found.place is not None]
    told = ruled(report, rulings, own)
    told = replace(told, warnings=(*told.warnings, *disputes_of(proof, only=only)))
    if not plan or not report.provenance.settings.get("recast", True) or not told.judged:
        return told
    from proofcheck.recast.from_options import cast_settings_as_read
    from proofcheck.recast.plan import plan_recast

    made = plan_recast(
        told.lines,
        told.readings,
        told.copy,
        told.collation,
        told.faults,
        dpi={sheet.number: sheet.dpi for sheet in told.sheets},
        settings=cast_settings_as_read(told.provenance.settings),
        alterations=[found.id for found in proof.found if found.charged == "AA"],
    )
    open_ = undecided_words(proof, {f.id for f in told.faults if f.status is Status.FAULT})
    said = (f"{NOT_DECIDED}: {open_}",) if open_ else ()
    made = replace(made, notes=(*made.notes, *said, *disputes_of(proof, only=only)))
    return replace(told, plan=made, recast=made.recasts())


def undecided_words(proof: ProofPulled, names: Collection[str]) -> str:
    """Which of the faults of these names nobody has decided, the first of many; "" for none."""
    shown = [each.shown for each in proof.found if each.decision is None and each.id in names]
    more = len(shown) - _MOST_NAMED
    return ", ".join(shown[:_MOST_NAMED]) + (f" and {more} more" if more > 0 else "")


def disputes_of(proof: ProofPulled, *, only: str = "") -> tuple[str, ...]:
    """What of a proof two have decided differently, a line each; `only` the fault of that name."""
    return tuple(
        f"{found.shown} is in dispute, to be settled: {disputed_words(found)}"
        for found in proof.found
        if found.others and only in ("", found.id)
    )


def _question(found: Found) -> str:
    """What the customer is asked, where a person has put it in words."""
    decision = found.decision
    return decision.note if decision is not None and decision.what == "query" else ""


def _own(found: Found, *, hand_set: bool) -> Fault:
    told, sheet, box = difference_at(found)
    unchanged = told.proof_text == told.copy_text and told.kind.value not in (
        *OF_THE_TYPE,
        *OF_NO_LINE,
    )
    mark = asked_mark(found.words) if unchanged else mark_for(told, hand_set=hand_set)
    return Fault(
        id=found.id,
        kind=told.kind,
        line=told.line,
        sheet=sheet,
        box=box,
        copy=told.copy,
        copy_text=told.copy_text,
        proof_text=told.proof_text,
        mark=mark,
        certainty=1.0,
        status=Status.FAULT,
    )
