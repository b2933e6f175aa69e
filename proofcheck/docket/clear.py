"""Clear for press: yes, or every reason why not. Nothing can talk it round.

A named person can answer for what was not proved (`vouch`), or order the job to press in spite of
given reasons (`override`); both stand in the record. An order holds for that proof, that copy and
those reasons alone, and never for a broken record.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.docket.against import reasons_against, record_reason
from proofcheck.docket.agreeing import reports_on, unnamed
from proofcheck.docket.chain import HOUSE, Draft, Entry
from proofcheck.docket.docket_errors import DocketError, RecordBrokenError
from proofcheck.docket.history import job_of
from proofcheck.docket.job import standing_proofs
from proofcheck.docket.one_job import checked_job
from proofcheck.docket.recording import checked_name, known
from proofcheck.docket.unproved import unproved_reasons
from proofcheck.docket.verify import go_through
from proofcheck.docket.vouching import Reason, facts_of, unless_vouched, vouched_for

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.docket.book import Docket
    from proofcheck.docket.checkpoint import Anchor
    from proofcheck.docket.facts import Override, SignOff, Vouched
    from proofcheck.docket.job import Job
    from proofcheck.docket.verify import Checked, Gone

__all__ = [
    "Clearance",
    "Reason",
    "clear_for_press",
    "order_for",
    "override",
    "reasons_against",
    "to_vouch_for",
    "vouch",
]


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
    vouched: tuple[Vouched, ...] = ()
    """What persons answer for, without which there would be more reasons."""
    checked: Checked | None = None
    """The record it rests on."""


def clear_for_press(
    docket: Docket,
    number: str,
    *,
    scans: Sequence[str] = (),
    copy: str = "",
    noted: Anchor | tuple[int, str] | None = None,
) -> Clearance:
    """Whether the job may go to press, and if not, every reason.

    Args:
        docket: the record.
        number: the job's.
        scans: hashes of the proof in hand, to be held against the record; none to ask about
            the latest proof.
        copy: hash of the copy in hand, likewise.
        noted: number and link of the docket's chain written down earlier.

    Raises:
        DocketError: no such job.
    """
    gone = checked_job(docket, number, noted)
    job, broken = _verified(docket, number, gone)
    if job is None:
        return Clearance(number, clear=False, reasons=broken, checked=gone.checked)
    doubtful = (*unproved_reasons(job), *_unnamed(docket, job, gone))
    answered = [held for r in doubtful if (held := vouched_for(job, r)) is not None]
    reasons = (
        *_in_hand(job, scans, copy),
        *unless_vouched(job, _unnamed(docket, job, gone)),
        *reasons_against(job),
    )
    order = order_for(job, reasons) if reasons else None
    clear = not reasons or order is not None
    return Clearance(
        number,
        clear,
        reasons,
        order,
        job.signoffs[-1] if clear and not order else None,
        tuple({held.entry.place: held for held in answered}.values()),
        gone.checked,
    )


def _verified(docket: Docket, number: str, gone: Gone) -> tuple[Job | None, tuple[Reason, ...]]:
    """The job as the rows tell it that were just gone through; or why they can't be trusted."""
    troubles = list(gone.checked.troubles)
    if not troubles:
        chain = gone.chains.get(number, []) if number != HOUSE else []
        if not chain:
            # Raises for a job that is not there, in the words used everywhere.
            docket.job(number)
            troubles = ["its entries are not found by its number; run verify"]
        else:
            try:
                return job_of(chain, gone.chains.get(HOUSE, ())), ()
            except RecordBrokenError as error:
                troubles = [str(error)]
    return None, tuple(record_reason(words) for words in troubles)


def _unnamed(docket: Docket, job: Job, gone: Gone) -> tuple[Reason, ...]:
    """Reports on this job's copy or scans that no entry names: was a proof taken off the record?"""
    lying = gone.unnamed
    if lying is None:
        every = (entry for chain in gone.chains.values() for entry in chain)
        lying = unnamed(docket, {o["sha256"] for entry in every for o in entry.originals})
    if not lying:
        return ()
    own = {original["sha256"] for entry in job.entries for original in entry.originals}
    return tuple(
        Reason(
            f"unnamed:{sha256[:12]}",
            f"a report on this job lies among the originals that no entry names ({sha256[:12]}…): "
            "a recording was broken off, or a proof was taken off the record",
            facts_of("unnamed", {"sha256": sha256}),
        )
        for sha256 in reports_on(docket, own, lying)
    )


# ------------------------------------------------------------------ a person's word for it


def to_vouch_for(docket: Docket, number: str) -> tuple[Reason, ...]:
    """What a person can answer for in a job as it stands. Raises DocketError for no such job."""
    return tuple(r for r in clear_for_press(docket, number).reasons if r.facts)


def vouch(docket: Docket, number: str, keys: Sequence[str], *, by: str, reason: str) -> Entry:
    """Record that a named person answers for what was not proved.

    Args:
        docket: the record.
        number: the job's.
        keys: of the reasons, as `clear_for_press` names them.
        by: the name of whoever answers for it.
        reason: why: how it was proved instead.

    Raises:
        DocketError: no such job or reason, one that nobody can answer for, or no name or reason
            given.
    """
    if not reason.strip():
        msg = "it needs a reason (how it was proved instead); it stands in the record"
        raise DocketError(msg)
    name = checked_name(by, "the name of whoever answers for it")
    answer = clear_for_press(docket, number)
    held = {r.key: r for r in answer.reasons}
    for key in keys:
        if key not in held or not held[key].facts:
            there = ", ".join(r.key for r in answer.reasons if r.facts) or "nothing"
            msg = f"no {visible(key)!r} to answer for in job {visible(number)}; there is: {there}"
            raise DocketError(msg)
    if not keys:
        msg = "nothing is named to answer for; name what clear shows in brackets"
        raise DocketError(msg)
    asked = [held[key] for key in dict.fromkeys(keys)]
    data = {
        "reason": visible(reason),
        "keys": [r.key for r in asked],
        "words": [r.words for r in asked],
        "facts": [r.facts for r in asked],
    }
    return docket.record(number, lambda _: Draft("vouched", name, data))


def override(docket: Docket, number: str, *, by: str, reason: str) -> Entry:
    """Order a job to press in spite of every reason that now stands against it.

    Raises:
        DocketError: the job is clear and needs no order, the record is broken, or no name or
            reason is given.
    """
    if not reason.strip():
        msg = "an override needs a reason; it stands in the record"
        raise DocketError(msg)
    gone = go_through(docket, originals_of=number)
    verified, broken = _verified(docket, number, gone)
    if verified is None:
        msg = f"a broken record can't be overridden: {broken[0].words}"
        raise DocketError(msg)
    lying = unless_vouched(verified, _unnamed(docket, verified, gone))

    def draft(job: Job | None) -> Draft:
        held = known(job, number)
        reasons = (*lying, *reasons_against(held))
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
    held = tuple(dict.fromkeys(scans))
    standing = standing_proofs(job)
    # Where several proofs hold the copy between them, one of them or all in their order.
    right = [proof.hashes for proof in standing]
    right.append(tuple(dict.fromkeys(sha256 for proof in right for sha256 in proof)))
    if scans and held not in right:
        told = "is none of this job's"
        for proof in job.proofs:
            if held == proof.hashes and job.proof is not None:
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
