"""What a revise showed, as the docket records it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from proofcheck.base.carried import carried_span
from proofcheck.revise.shown import Made, Move, Standing

if TYPE_CHECKING:
    from collections.abc import Mapping

    from proofcheck.docket.facts import Found
    from proofcheck.docket.job import Job
    from proofcheck.results.report import Report
    from proofcheck.revise.shown import Revise

__all__ = ["asked_of", "findings_data", "revise_data", "to_put_back"]


def asked_of(job: Job, earlier: Report) -> dict[str, str]:
    """References of the corrections a job waits for, each with the id of its fault on `earlier`.

    Faults are known again by what they are, not by their number: the proof may have been read
    anew. One that is not found there has the id "".
    """
    out = {}
    for found in job.corrections:
        span = found.copy
        if job.proof is not None:
            span = carried_span(span, _copy_of(job, found.proof), _copy_of(job, len(job.proofs)))
        out[found.ref] = _same_fault(found, span, earlier)
    return out


def _copy_of(job: Job, proof: int) -> str:
    """The copy a proof was read against."""
    return str(job.copies[job.proofs[proof - 1].copy - 1].entry.data["text"])


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
) -> dict[str, Any]:
    """What the docket records of a revise: each correction waited for, by reference."""
    by_id = {correction.fault: correction.made for correction in told.corrections}
    made = {}
    for found in job.corrections:
        fault = asked.get(found.ref, "")
        if by_id.get(fault) is Made.UNSEEN:
            continue  # It goes on being waited for.
        made[found.ref] = (
            by_id[fault] if fault in by_id else _by_place(job, found, proofs, told)
        ).value
    return {
        "against": len(job.proofs),
        "corrections": made,
        "new_slugs": [s.line for s in told.slugs if s.standing is not Standing.STOOD],
        "gone": list(told.gone),
    }


def _by_place(job: Job, found: Found, proofs: tuple[Report, Report], told: Revise) -> Made:
    """A correction whose fault the earlier proof does not show: by the slug, then by the copy.

    A revise's own finding (a slug out of its place) is made where something moved there since and
    it is found no more.
    """
    if found.status == "revise":
        if not _stirred(found, told):
            return Made.MISSED
        there = _lines_of(found)
        still = any(
            f.kind.value == found.kind and {f.earlier, f.line} & there for f in told.findings
        )
        return Made.PARTLY if still else Made.MADE
    earlier, later = proofs
    was = _copy_of(job, found.proof)
    at, _ = carried_span(found.copy, was, earlier.copy.text)
    line = next(
        (
            p.line
            for p in earlier.collation.placings
            if p.copy is not None and p.copy.start <= at < max(p.copy.end, 1)
        ),
        None,
    )
    slug = next((s for s in told.slugs if line is not None and s.earlier == line), None)
    if slug is not None and slug.standing in (Standing.STOOD, Standing.MOVED):
        return Made.MISSED
    start, end = carried_span(found.copy, was, later.copy.text)
    told_there = [*(f.copy for f in later.faults), *(f.copy for f in later.let_go)]
    wrong = any(span.start <= end and start <= span.end for span in told_there)
    return Made.PARTLY if wrong else Made.MADE


def to_put_back(job: Job) -> frozenset[int]:
    """Lines of the last proof that it found out of their places itself, and that are to go back."""
    return frozenset(
        line
        for found in job.corrections
        if found.proof == len(job.proofs) and found.kind in _MOVED
        for line in _lines_of(found)
    )


_MOVED = {Move.MOVED.value, Move.SWAPPED.value}


def _lines_of(found: Found) -> set[int]:
    """Lines a revise's own finding is about: of a swap both, as its words name them."""
    named = re.match(r"slugs (\d+) and (\d+) ", found.words)
    return {int(named[1]), int(named[2])} if named else {found.line, found.line + 1}


def _stirred(found: Found, told: Revise) -> bool:
    """Whether anything moved at what an earlier revise found; else it is as it was found.

    A slug found dropped is put in below the line named.
    """
    if found.kind in _MOVED:
        own = _lines_of(found)
        return any(s.earlier in own and s.standing is not Standing.STOOD for s in told.slugs)
    near = {found.line, found.line + 1}
    lines = {s.line for s in told.slugs if s.standing is Standing.STOOD and s.earlier in near}
    stayed = {s.earlier for s in told.slugs if s.line in lines}
    if found.kind == "slug-dropped":
        return any(
            s.standing is not Standing.STOOD and s.line in {found.line + 1, found.line + 2}
            for s in told.slugs
        )
    return found.line not in stayed


def findings_data(told: Revise) -> tuple[dict[str, Any], ...]:
    """The findings as the docket records them; a new fault is recorded as a fault already."""
    return tuple(
        {"id": f.id, "kind": f.kind.value, "line": f.line, "words": f.words}
        for f in told.findings
        if not f.fault
    )
