"""What a revise showed, as the docket records it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from proofcheck.docket.alterations import carried_span
from proofcheck.revise.values import Made, Standing

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.docket.job import Found, Job
    from proofcheck.report import Report
    from proofcheck.revise.values import Revise

__all__ = ["asked_of", "findings_data", "revise_data"]


def asked_of(job: Job, earlier: Report) -> dict[str, str]:
    """References of the corrections a job waits for, each with the id of its fault on `earlier`.

    Faults are known again by what they are, not by their number: the proof may have been read
    anew. One that is not found there has the id "".
    """
    out = {}
    for found in job.corrections:
        span = found.copy
        if job.proof is not None:
            copies = job.copies[job.proofs[found.proof - 1].copy : job.proof.copy]
            for copy in copies:
                span = carried_span(span, copy.alterations)
        out[found.ref] = _same_fault(found, span, earlier)
    return out


def _same_fault(found: Found, span: tuple[int, int], earlier: Report) -> str:
    for fault in earlier.faults:
        same = fault.kind.value == found.kind and (fault.copy.start, fault.copy.end) == span
        if same and fault.proof_text == found.printed:
            return fault.id
    return ""


def revise_data(
    job: Job,
    asked: Mapping[str, str],
    proofs: tuple[Report, Report],
    told: Revise,
    changes: Sequence[Any] = (),
) -> dict[str, Any]:
    """What the docket records of a revise: each correction waited for, by reference."""
    by_id = {correction.fault: correction.made for correction in told.corrections}
    made = {}
    for found in job.corrections:
        fault = asked.get(found.ref, "")
        made[found.ref] = (
            by_id[fault] if fault in by_id else _by_place(found, proofs, told, changes)
        ).value
    return {
        "against": len(job.proofs),
        "corrections": made,
        "new_slugs": [s.line for s in told.slugs if s.standing is not Standing.STOOD],
        "gone": list(told.gone),
    }


def _by_place(
    found: Found, proofs: tuple[Report, Report], told: Revise, changes: Sequence[Any]
) -> Made:
    """A correction whose fault the earlier proof does not show: by the slug, then by the copy.

    A revise's own finding (a slug out of its place) is made where it is found no more.
    """
    if found.status == "revise":
        still = any(f.kind.value == found.kind for f in told.findings)
        return Made.PARTLY if still else Made.MADE
    earlier, later = proofs
    line = next(
        (
            p.line
            for p in earlier.collation.placings
            if p.copy is not None and p.copy.start <= found.copy[0] < max(p.copy.end, 1)
        ),
        None,
    )
    slug = next((s for s in told.slugs if line is not None and s.earlier == line), None)
    if slug is not None and slug.standing in (Standing.STOOD, Standing.MOVED):
        return Made.MISSED
    start, end = carried_span(found.copy, changes)
    wrong = any(f.copy.start <= end and start <= f.copy.end for f in later.faults)
    return Made.PARTLY if wrong else Made.MADE


def findings_data(told: Revise) -> tuple[dict[str, Any], ...]:
    """The findings as the docket records them; a new fault is recorded as a fault already."""
    return tuple(
        {"id": f.id, "kind": f.kind.value, "line": f.line, "words": f.words}
        for f in told.findings
        if not f.fault
    )
