"""What was just recorded, in a line, with what is to be done next."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.docket.billing import Bill, slugs_words
from proofcheck.docket.clear import reasons_against
from proofcheck.docket.proved import how_taken
from proofcheck.docket.record_words import counted, reason_words, waits_for
from proofcheck.docket.signoff import WORDS

if TYPE_CHECKING:
    from proofcheck.docket.chain import Entry
    from proofcheck.docket.job import Job

__all__ = ["copy_text", "left_text", "proof_text", "signed_text", "vouched_text"]


def copy_text(job: Job) -> str:
    """The copy just taken in."""
    copy = job.copies[-1]
    text = f"copy {copy.number} of job {visible(job.number)} taken in"
    if copy.number == 1:
        return text
    text += f", {counted(len(copy.alterations), 'alteration')}"
    if copy.alike:
        text += f", and {counted(copy.alike, 'change')} printing alike, not charged"
    if job.proof is None or not copy.alterations:
        return text
    return f"{text}: {slugs_words(Bill(0, copy.new_slugs, copy.taken_out))}"


def proof_text(job: Job) -> str:
    """The proof just recorded."""
    proof = job.proofs[-1]
    return f"{proof.name} of job {visible(job.number)} recorded, {_next(job)}"


def left_text(job: Job) -> str:
    """What a decision left to do."""
    return f"recorded; {_next(job)}"


def signed_text(job: Job) -> str:
    """The customer's word just recorded, and what it comes to."""
    word = job.signoffs[-1]
    said = f"{WORDS[word.words]} of the {job.proofs[word.proof - 1].name} recorded"
    taken = how_taken(job.proofs[word.proof - 1])
    said += f" (not read here: {taken})" if taken else ""
    reasons = reason_words(reasons_against(job))
    return (
        f"{said}; not yet clear for press: {'; '.join(reasons)}"
        if reasons
        else (f"{said}; job {visible(job.number)} is clear for press")
    )


def vouched_text(job: Job, entry: Entry) -> str:
    """What a person just answered for, and what it comes to."""
    said = f"recorded: {entry.by} answers for {counted(len(entry.data['keys']), 'thing')}"
    reasons = reason_words(reasons_against(job))
    return f"{said}; still against the press: {'; '.join(reasons)}" if reasons else said


def _next(job: Job) -> str:
    found = len(job.proofs[-1].found)
    who, what = waits_for(job)
    return (
        f"{found} found, {len(job.undecided)} undecided, "
        f"{counted(len(job.open_queries), 'query', 'queries')} open; waits for the {who}: {what}"
    )
