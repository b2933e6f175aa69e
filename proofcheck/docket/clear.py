"""Clear for press: yes, or every reason why not. Nothing can talk it round.

A named person can order the job to press in spite of given reasons; that stands in the record,
holds for that proof, that copy and those reasons alone, and never for a broken record.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from proofcheck.docket.chain import Draft, Entry
from proofcheck.docket.recording import checked_name, known
from proofcheck.docket.signoff import WORDS
from proofcheck.docket.troubles import DocketError
from proofcheck.docket.verify import job_troubles
from proofcheck.visible import visible

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.docket.book import Docket
    from proofcheck.docket.job import CopyVersion, Found, Job, Override, ProofPulled, SignOff

__all__ = ["Clearance", "Reason", "clear_for_press", "order_for", "override", "reasons_against"]


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason why a job may not go to press."""

    key: str
    """What an override names it by."""
    words: str


@dataclass(frozen=True, slots=True)
class Clearance:
    """The answer."""

    job: str
    clear: bool
    reasons: tuple[Reason, ...]
    """Every reason against, also those overridden."""
    overridden: Override | None = None
    """The order that overrides them all, if there is one."""
    signoff: SignOff | None = None
    """The customer's word it rests on, if it is clear of itself."""


def clear_for_press(
    docket: Docket,
    number: str,
    *,
    scans: Sequence[str] = (),
    copy: str = "",
) -> Clearance:
    """Whether the job may go to press, and if not, every reason.

    Args:
        docket: the record.
        number: the job's.
        scans: hashes of the proof in hand, to be held against the record; none to ask about
            the latest proof.
        copy: hash of the copy in hand, likewise.

    Raises:
        DocketError: no such job.
    """
    troubles = job_troubles(docket, number)
    if troubles:
        broken = tuple(Reason("record", f"the record is broken: {words}") for words in troubles)
        return Clearance(number, clear=False, reasons=broken)
    job = docket.job(number)
    reasons = (*_in_hand(job, scans, copy), *reasons_against(job))
    order = order_for(job, reasons) if reasons else None
    clear = not reasons or order is not None
    return Clearance(
        number, clear, reasons, order, job.signoffs[-1] if clear and not order else None
    )


def reasons_against(job: Job) -> tuple[Reason, ...]:
    """Every reason on the record why the job may not go to press; none if it may."""
    if job.copy is None:
        return (Reason("no-copy", "no copy is on the docket"),)
    if job.proof is None:
        return (Reason("no-proof", "no proof has been pulled"),)
    return (
        *_copy_changed(job.copy, job.proof),
        *(
            Reason(f"undecided:{f.ref}", f"{_named(f.status)} {f.ref} is undecided: {_plain(f)}")
            for f in job.undecided
        ),
        *(
            Reason(f"query:{f.ref}", f"query {f.ref} to the customer is open: {_asked(f)}")
            for f in job.open_queries
        ),
        *(
            Reason(
                f"correction:{f.ref}",
                f"correction {f.ref} is not shown made{_seen(job, f.ref)}: {f.words}",
            )
            for f in job.corrections
        ),
        *_word_of_customer(job, job.copy, job.proof),
    )


def override(docket: Docket, number: str, *, by: str, reason: str) -> Entry:
    """Order a job to press in spite of every reason that now stands against it.

    Raises:
        DocketError: the job is clear and needs no order, the record is broken, or no name or
            reason is given.
    """
    if not reason.strip():
        msg = "an override needs a reason; it stands in the record"
        raise DocketError(msg)
    troubles = job_troubles(docket, number)
    if troubles:
        msg = f"a broken record can't be overridden: {troubles[0]}"
        raise DocketError(msg)

    def draft(job: Job | None) -> Draft:
        held = known(job, number)
        reasons = reasons_against(held)
        if not reasons or held.proof is None or held.copy is None:
            what = "is clear for press" if not reasons else "has no proof"
            msg = f"job {visible(number)} {what}; there is nothing to override"
            raise DocketError(msg)
        data = {
            "reason": visible(reason),
            "proof_hashes": list(held.proof.hashes),
            "copy_sha256": held.copy.sha256,
            "keys": [reason.key for reason in reasons],
            "words": [reason.words for reason in reasons],
        }
        return Draft("overridden", checked_name(by, "the name behind an override"), data)

    return docket.record(number, draft)


def order_for(job: Job, reasons: Sequence[Reason]) -> Override | None:
    """The order that overrides all these reasons, for this very proof and copy, if there is one."""
    if not job.overrides or job.proof is None or job.copy is None:
        return None
    order = job.overrides[-1]
    same = order.proof_hashes == job.proof.hashes and order.copy_sha256 == job.copy.sha256
    return order if same and {r.key for r in reasons} <= set(order.keys) else None


def _in_hand(job: Job, scans: Sequence[str], copy: str) -> list[Reason]:
    """What the proof and copy in hand are, if not those that hold."""
    out = []
    if scans and (job.proof is None or tuple(dict.fromkeys(scans)) != job.proof.hashes):
        told = "is none of this job's"
        for proof in job.proofs:
            if tuple(dict.fromkeys(scans)) == proof.hashes and job.proof is not None:
                told = f"is the {proof.name}, superseded by the {job.proof.name}"
            elif set(scans) == set(proof.hashes):
                told = f"has the pages of the {proof.name} in another order"
        out.append(Reason("proof-in-hand", f"the proof in hand {told}"))
    if copy and (job.copy is None or copy != job.copy.sha256):
        told = "is none of this job's"
        for version in job.copies:
            if version.sha256 == copy:
                told = f"is version {version.number}, changed since"
        out.append(Reason("copy-in-hand", f"the copy in hand {told}"))
    return out


def _copy_changed(copy: CopyVersion, proof: ProofPulled) -> list[Reason]:
    if proof.copy == copy.number:
        return []
    words = (
        f"the copy was changed since: the {proof.name} was read against version {proof.copy}, "
        f"version {copy.number} holds"
    )
    return [Reason("copy-changed", words)]


def _word_of_customer(job: Job, copy: CopyVersion, proof: ProofPulled) -> list[Reason]:
    if not job.signoffs:
        return [Reason("no-ok", "the customer has not given his O.K.")]
    word = job.signoffs[-1]
    if word.words == "revise-wanted":
        return _revise_wanted(word, proof)
    out = []
    said = f"{WORDS[word.words]} of {word.by}"
    if word.copy_sha256 != copy.sha256:
        out.append(Reason("ok-other-copy", f"the {said} was given on another copy"))
    if word.proof_hashes != proof.hashes and not _met(job, word, proof):
        named = job.proofs[word.proof - 1].name
        out.append(
            Reason(
                "ok-other-proof",
                f"the {said} was given on another proof: the {named}, superseded by the "
                f"{proof.name}",
            )
        )
    if word.words == "ok-with-corrections":
        out += [
            Reason(f"ok-correction:{ref}", f"the {said} asks for {ref}, not shown made")
            for ref in word.corrections
            if job.made.get(ref) != "made" and ref not in {f.ref for f in job.corrections}
        ]
    return out


def _revise_wanted(word: SignOff, proof: ProofPulled) -> list[Reason]:
    if word.proof < proof.number:
        return [Reason("no-ok", f"{word.by} wanted a revised proof and has not O.K.’d it")]
    return [Reason("revise-wanted", f"{word.by} wants a revised proof")]


def _met(job: Job, word: SignOff, proof: ProofPulled) -> bool:
    """Whether an O.K. with corrections carries over to a later proof.

    It does where every proof since was laid on the one before it, so that nothing else moved
    unseen; what a revise found and whether the corrections are made is reckoned beside.
    """
    later = job.proofs[word.proof :]
    return (
        word.words == "ok-with-corrections"
        and proof.number > word.proof
        and all(p.revise is not None and p.copy == proof.copy for p in later)
        and job.proofs[word.proof - 1].copy == proof.copy
    )


def _named(status: str) -> str:
    return {"fault": "fault", "query": "query", "revise": "finding of the revise"}[status]


def _plain(found: Found) -> str:
    return found.words.removeprefix("query: ")


def _asked(found: Found) -> str:
    return (found.decision.note if found.decision else "") or _plain(found)


def _seen(job: Job, ref: str) -> str:
    return f" ({job.made[ref]} on the revise)" if ref in job.made else ""
