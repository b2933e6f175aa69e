"""A job as its entries tell it: everything known of it is read off the record, in order."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from proofcheck.base.visible import visible
from proofcheck.docket.carrying import with_standing
from proofcheck.docket.docket_errors import RecordBrokenError
from proofcheck.docket.facts import (
    CopyVersion,
    Decision,
    Found,
    Override,
    ProofPulled,
    SignOff,
    TakenIn,
    Vouched,
)
from proofcheck.docket.job import Job
from proofcheck.docket.shapes import entry_misfit

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from proofcheck.docket.chain import Entry

__all__ = ["job_as_far", "job_of", "job_with", "taken_in"]


def job_of(chain: Sequence[Entry], house: Iterable[Entry] = ()) -> Job:
    """The job its entries tell of.

    Args:
        chain: all its entries, in order.
        house: the docket's own entries, which say what of it came with archives.

    Raises:
        RecordBrokenError: they make no sense.
    """
    job = Job(chain[0].job, {}, (), taken_in=taken_in(chain[0].job, house))
    return job_with(job, chain)


def job_as_far(chain: Sequence[Entry], broken: str = "", house: Iterable[Entry] = ()) -> Job:
    """The job as far as its entries can be read, with the reason where they can't."""
    job = Job(chain[0].job, {}, (), taken_in=taken_in(chain[0].job, house))
    with suppress(RecordBrokenError):
        return replace(job_with(job, chain), broken=broken)
    for entry in chain:
        try:
            job = job_with(job, [entry])
        except RecordBrokenError as error:
            return replace(job, broken=broken or str(error))
    return replace(job, broken=broken)


def taken_in(number: str, house: Iterable[Entry]) -> tuple[TakenIn, ...]:
    """What of a job came with archives, by the docket's own entries."""
    return tuple(
        TakenIn(entry.data["entries"][0], entry.data["entries"][1], entry.data["archive"], entry.by)
        for entry in house
        if entry.kind == "imported"
        and not entry_misfit(entry.kind, entry.data)
        and entry.data["job"] == number
    )


def job_with(job: Job, later: Sequence[Entry]) -> Job:
    """The job with what was recorded since. Raises RecordBrokenError as for `job_of`."""
    first = len(job.entries) + 1
    job = replace(job, entries=(*job.entries, *later))
    for place, entry in enumerate(later, first):
        telling = _TELLING.get(entry.kind)
        # An entry of a kind not known here may well be one that bars the press.
        wrong = entry_misfit(entry.kind, entry.data)
        if entry.place != place:
            wrong = f"entry {place} is missing before it"
        try:
            job = telling(job, entry) if telling and not wrong else job
        except (KeyError, TypeError, IndexError, AttributeError, ValueError) as error:
            wrong = f"it names what is not there: {error}"
        if wrong:
            msg = (
                f"entry {entry.place} of job {visible(entry.job)} makes no sense "
                f"({visible(wrong)}); run verify"
            )
            raise RecordBrokenError(msg)
    return job


def _opened(job: Job, entry: Entry) -> Job:
    return replace(job, details={**job.details, **entry.data["details"]})


def _copied(job: Job, entry: Entry) -> Job:
    original = entry.originals[0]
    version = CopyVersion(
        number=len(job.copies) + 1,
        sha256=original["sha256"],
        name=original["name"],
        by=entry.by,
        entry=entry,
        alterations=tuple(entry.data["alterations"]),
        new_slugs=int(entry.data.get("new_slugs", 0)),
        taken_out=int(entry.data.get("taken_out", 0)),
        alike=int(entry.data.get("alike", 0)),
    )
    return replace(job, copies=(*job.copies, version))


def _pulled(job: Job, entry: Entry) -> Job:
    data = entry.data
    number = len(job.proofs) + 1
    found = tuple(_found(number, told) for told in data["found"])
    revise = data.get("revise")
    made = {**job.made, **(revise["corrections"] if revise else {})}
    job = replace(job, made=made)
    proof = ProofPulled(
        number=number,
        scans=tuple(data["scans"]),
        copy=data["copy"],
        verdict=data["verdict"],
        people=data["people"],
        found=with_standing(job, found, data["copy"]),
        report_sha256=data["report"],
        entry=entry,
        revise=revise,
        read=data.get("read"),
    )
    if not 1 <= proof.copy <= len(job.copies):
        msg = "its copy"
        raise IndexError(msg)
    return replace(job, proofs=(*job.proofs, proof))


def _found(proof: int, told: Mapping[str, Any]) -> Found:
    return Found(
        proof=proof,
        id=told["id"],
        kind=told["kind"],
        line=told["line"],
        words=told["words"],
        printed=told["printed"],
        wanted=told["wanted"],
        copy=(told["copy"][0], told["copy"][1]),
        status=told["status"],
        cause=told["cause"],
        charge=told["charge"],
    )


def _decided(job: Job, entry: Entry) -> Job:
    data = entry.data
    decision = Decision(
        data["what"], entry.by, data.get("note", ""), entry, charge=data.get("charge", "")
    )
    if data["what"] == "undecided":
        return _with_decision(job, data["fault"], None)
    beside = () if data.get("settles") else _beside(job.at(data["fault"]), entry.by)
    return _with_decision(job, data["fault"], decision, beside)


def _beside(found: Found | None, by: str) -> tuple[Decision, ...]:
    """What others have decided, each his last; the customer's own answer is not argued with."""
    if found is None or found.decision is None or found.decision.answer:
        return ()
    return tuple(one for one in (*found.beside, found.decision) if one.by != by)


def _marked(job: Job, entry: Entry) -> Job:
    """A fault that a person saw and the tool did not, decided as it was put."""
    data = entry.data
    proof = job.proofs[data["proof"] - 1]
    if job.at(f"{proof.number}/{data['found']['id']}") is not None or data["proof"] < 1:
        msg = "a fault of that name is there already"
        raise ValueError(msg)
    decision = Decision(data["what"], entry.by, data.get("note", ""), entry)
    found = replace(_found(proof.number, data["found"]), decision=decision, place=data["place"])
    proof = replace(proof, found=(*proof.found, found))
    proofs = (*job.proofs[: proof.number - 1], proof, *job.proofs[proof.number :])
    return replace(job, proofs=proofs)


def _must_be(job: Job, ref: str) -> None:
    if job.at(ref) is None:
        msg = f"fault {ref}"
        raise KeyError(msg)


def _answered(job: Job, entry: Entry) -> Job:
    data = entry.data
    found = job.at(data["fault"])
    asked = found.decision if found else None
    decision = Decision(
        what=data["what"],
        by=entry.by,
        note=asked.note if asked else "",
        entry=entry,
        answer=data["answer"],
        answered_by=data["answered_by"],
        charge=data.get("charge", "") or (asked.charge if asked else ""),
    )
    return _with_decision(job, data["fault"], decision)


def _with_decision(
    job: Job, ref: str, decision: Decision | None, beside: tuple[Decision, ...] = ()
) -> Job:
    """The decision on that fault, and on the same fault carried to later proofs."""
    _must_be(job, ref)
    held = tuple(_decided_on(proof, ref, decision, beside) for proof in job.proofs)
    return replace(job, proofs=held)


def _decided_on(
    proof: ProofPulled, ref: str, decision: Decision | None, beside: tuple[Decision, ...]
) -> ProofPulled:
    """A proof with the decision where it has that fault, or the fault was carried to it."""
    number, _, name = ref.partition("/")
    own = name if number == str(proof.number) else None
    found = proof.found
    for at, each in enumerate(proof.found):
        if each.id == own:
            ruled = replace(each, decision=decision, beside=beside, carried_from="")
        elif each.carried_from == ref:
            ruled = replace(each, decision=decision, beside=beside)
        else:
            continue
        found = (*found[:at], ruled, *found[at + 1 :])
    return proof if found is proof.found else replace(proof, found=found)


def _signed(job: Job, entry: Entry) -> Job:
    data = entry.data
    if not 1 <= data["proof"] <= len(job.proofs):
        msg = "its proof"
        raise IndexError(msg)
    signed = SignOff(
        words=data["words"],
        by=entry.by,
        how=data["how"],
        proof=data["proof"],
        proof_hashes=tuple(data["proof_hashes"]),
        copy_sha256=data["copy_sha256"],
        corrections=tuple(data["corrections"]),
        note=data.get("note", ""),
        entry=entry,
        recorded_by=data.get("recorded_by", ""),
        signature=data.get("signature"),
    )
    return replace(job, signoffs=(*job.signoffs, signed))


def _vouched(job: Job, entry: Entry) -> Job:
    data = entry.data
    vouched = Vouched(
        by=entry.by,
        reason=data["reason"],
        keys=tuple(data["keys"]),
        words=tuple(data["words"]),
        facts=tuple(data["facts"]),
        entry=entry,
    )
    return replace(job, vouched=(*job.vouched, vouched))


def _overridden(job: Job, entry: Entry) -> Job:
    data = entry.data
    override = Override(
        by=entry.by,
        reason=data["reason"],
        proof_hashes=tuple(data["proof_hashes"]),
        copy_sha256=data["copy_sha256"],
        keys=tuple(data["keys"]),
        words=tuple(data["words"]),
        entry=entry,
    )
    return replace(job, overrides=(*job.overrides, override))


_TELLING = {
    "opened": _opened,
    "amended": _opened,
    "copy": _copied,
    "proof": _pulled,
    "decided": _decided,
    "marked": _marked,
    "answered": _answered,
    "signed": _signed,
    "overridden": _overridden,
    "vouched": _vouched,
}
