"""What was decided about the faults of a proof, as replies to them for other programs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.base.decision_words import in_full
from proofcheck.docket.decided import as_decided
from proofcheck.results.exchange.web_annotations import Reply

if TYPE_CHECKING:
    from proofcheck.base.found import Fault
    from proofcheck.docket.facts import Found, ProofPulled
    from proofcheck.results.report import Report

__all__ = ["own_marks_of", "replies_of"]


def replies_of(proof: ProofPulled) -> list[Reply]:
    """One reply for each decision on a proof, and one more for a customer's answer."""
    return [reply for found in proof.found for reply in _of(found)]


def _of(found: Found) -> list[Reply]:
    made = found.decision
    if made is None:
        return []
    words = in_full(made.what)
    said = f"{words}. {made.note}" if made.note else words
    replies = [Reply(found.id, said, made.by, made.entry.at)]
    if made.answer:
        replies.append(Reply(found.id, made.answer, made.answered_by, made.entry.at))
    return replies


def own_marks_of(report: Report, proof: ProofPulled) -> tuple[Fault, ...]:
    """What a reader marked on a proof and the tool had not seen, but for what was taken back.

    Args:
        report: the proof as it was read.
        proof: what the docket has of it.
    """
    read = {fault.id for fault in report.faults}
    told = as_decided(report, proof, plan=False)
    return tuple(fault for fault in told.faults if fault.id not in read)
