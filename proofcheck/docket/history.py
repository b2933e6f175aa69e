"""A job as its entries tell it: everything known of it is read off the record, in order."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from proofcheck.docket.troubles import RecordBrokenError

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from proofcheck.docket.chain import Entry

__all__ = [
    "CopyVersion",
    "Decision",
    "Found",
    "Job",
    "Override",
    "ProofPulled",
    "SignOff",
    "job_of",
    "proof_name",
]


@dataclass(frozen=True, slots=True)
class CopyVersion:
    """One version of the copy."""

    number: int
    """From 1."""
    sha256: str
    name: str
    by: str
    entry: Entry
    alterations: tuple[Mapping[str, Any], ...] = ()
    """Author's alterations against the version before: what was, what is, the slugs touched."""


@dataclass(frozen=True, slots=True)
class Decision:
    """What was decided about a fault."""

    what: str
    """ "correct", "stand" or "query"."""
    by: str
    note: str
    entry: Entry
    answer: str = ""
    """The customer's answer to a query, in his words; empty while it is open."""
    answered_by: str = ""
    charge: str = ""
    """ "PE" or "AA" where a person said which; else empty."""

    @property
    def open(self) -> bool:
        """Whether it is a query still waiting for its answer."""
        return self.what == "query"


@dataclass(frozen=True, slots=True)
class Found:
    """A fault or query found on a proof."""

    proof: int
    id: str
    kind: str
    line: int
    words: str
    """What to do about it, in plain words."""
    printed: str
    wanted: str
    copy: tuple[int, int]
    status: str
    """ "fault", "query", or "revise" for what the revise itself showed."""
    cause: str
    charge: str
    """ "PE" or "AA"."""
    decision: Decision | None = None
    carried_from: str = ""
    """Reference of the same fault on an earlier proof whose decision holds here too."""

    @property
    def ref(self) -> str:
        """How it is named in the job: "2/F3" is F3 of the second proof."""
        return f"{self.proof}/{self.id}"

    @property
    def charged(self) -> str:
        """PE or AA, as a person said or as it was reckoned."""
        return (self.decision.charge if self.decision else "") or self.charge


@dataclass(frozen=True, slots=True)
class ProofPulled:
    """One proof in the job's series."""

    number: int
    """From 1: the first proof."""
    scans: tuple[Mapping[str, Any], ...]
    """Each with its sha256 and name."""
    copy: int
    """Version of the copy it was read against."""
    verdict: str
    people: Mapping[str, str]
    """Initials of reader, copyholder, operator, corrector, as far as named."""
    found: tuple[Found, ...]
    report_sha256: str
    entry: Entry
    revise: Mapping[str, Any] | None = None
    """What laying it on the proof before showed, where that was done."""

    @property
    def name(self) -> str:
        """By the trade's series: first proof, revise, second revise and so on."""
        return proof_name(self.number)

    @property
    def hashes(self) -> tuple[str, ...]:
        """Hashes of its scans, in order, each once."""
        return tuple(dict.fromkeys(scan["sha256"] for scan in self.scans))


@dataclass(frozen=True, slots=True)
class SignOff:
    """The customer's word on a proof."""

    words: str
    """ "ok", "ok-with-corrections" or "revise-wanted"."""
    by: str
    how: str
    proof: int
    proof_hashes: tuple[str, ...]
    copy_sha256: str
    corrections: tuple[str, ...]
    """References of the faults to be corrected under it."""
    note: str
    entry: Entry


@dataclass(frozen=True, slots=True)
class Override:
    """A named person's order to go to press in spite of the reasons listed."""

    by: str
    reason: str
    proof_hashes: tuple[str, ...]
    copy_sha256: str
    keys: tuple[str, ...]
    """Keys of the reasons it overrides; it holds for no others."""
    entry: Entry


@dataclass(frozen=True, slots=True)
class Job:
    """A job as it stands."""

    number: str
    details: Mapping[str, str]
    """Customer, quantity, stock, ink, size, measure, face …"""
    entries: tuple[Entry, ...]
    copies: tuple[CopyVersion, ...] = ()
    proofs: tuple[ProofPulled, ...] = ()
    signoffs: tuple[SignOff, ...] = ()
    overrides: tuple[Override, ...] = ()
    made: Mapping[str, str] = field(default_factory=dict)
    """For each correction a revise looked at: "made", "partly" or "missed", by reference."""

    @property
    def copy(self) -> CopyVersion | None:
        """The copy that holds now."""
        return self.copies[-1] if self.copies else None

    @property
    def proof(self) -> ProofPulled | None:
        """The latest proof; all earlier ones are superseded."""
        return self.proofs[-1] if self.proofs else None

    @property
    def found(self) -> tuple[Found, ...]:
        """Everything found on all proofs, in order."""
        return tuple(found for proof in self.proofs for found in proof.found)

    def at(self, ref: str) -> Found | None:
        """What a reference names, if anything."""
        return next((found for found in self.found if found.ref == ref), None)

    @property
    def open_queries(self) -> tuple[Found, ...]:
        """Queries to the customer that wait for an answer, whichever proof they arose on."""
        return tuple(
            f
            for f in self.found
            if f.decision is not None and f.decision.open and not f.carried_from
        )

    @property
    def undecided(self) -> tuple[Found, ...]:
        """What was found on the latest proof and not yet decided."""
        return tuple(f for f in self.proof.found if f.decision is None) if self.proof else ()

    @property
    def corrections(self) -> tuple[Found, ...]:
        """Everything to be corrected that no revise has shown made."""
        return tuple(
            f
            for f in self.found
            if f.decision is not None
            and f.decision.what == "correct"
            and not f.carried_from
            and self.made.get(f.ref) != "made"
        )


def proof_name(number: int) -> str:
    """Name of a proof in its series, from 1: first proof, revise, second revise and so on."""
    if number <= 2:
        return "first proof" if number == 1 else "revise"
    ordinals = ("second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth")
    place = number - 1
    return f"{ordinals[place - 2]} revise" if place - 2 < len(ordinals) else f"{place}th revise"


def job_of(chain: Sequence[Entry]) -> Job:
    """The job its entries tell of. Raises RecordBrokenError where they make no sense."""
    job = Job(chain[0].job, {}, tuple(chain))
    for entry in chain:
        telling = _TELLING.get(entry.kind)
        try:
            job = telling(job, entry) if telling else job
        except (KeyError, TypeError, IndexError, AttributeError) as error:
            msg = f"entry {entry.place} of job {entry.job} makes no sense ({error}); run verify"
            raise RecordBrokenError(msg) from error
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
    )
    return replace(job, copies=(*job.copies, version))


def _pulled(job: Job, entry: Entry) -> Job:
    data = entry.data
    number = len(job.proofs) + 1
    found = tuple(_found(number, told) for told in data["found"])
    revise = data.get("revise")
    proof = ProofPulled(
        number=number,
        scans=tuple(data["scans"]),
        copy=data["copy"],
        verdict=data["verdict"],
        people=data["people"],
        found=_with_standing(job, found, data["copy"]),
        report_sha256=data["report"],
        entry=entry,
        revise=revise,
    )
    made = {**job.made, **(revise["corrections"] if revise else {})}
    return replace(job, proofs=(*job.proofs, proof), made=made)


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


def _with_standing(job: Job, found: Iterable[Found], copy: int) -> tuple[Found, ...]:
    """Let a fault stand, or wait, that did so on an earlier proof of the same copy."""
    earlier = {
        _sameness(old, job.proofs[old.proof - 1].copy): old
        for old in job.found
        if old.decision is not None and old.decision.what in ("stand", "query")
    }
    out = []
    for new in found:
        old = earlier.get(_sameness(new, copy))
        if old is None or new.status == "revise":
            out.append(new)
        else:
            first = old.carried_from or old.ref
            out.append(replace(new, decision=old.decision, carried_from=first))
    return tuple(out)


def _sameness(found: Found, copy: int) -> tuple[object, ...]:
    return (copy, found.kind, found.copy, found.printed, found.wanted)


def _decided(job: Job, entry: Entry) -> Job:
    data = entry.data
    decision = Decision(
        data["what"], entry.by, data.get("note", ""), entry, charge=data.get("charge", "")
    )
    return _with_decision(job, data["fault"], decision)


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


def _with_decision(job: Job, ref: str, decision: Decision) -> Job:
    """The decision on that fault, and on the same fault carried to later proofs."""

    def decided(found: Found) -> Found:
        if found.ref == ref:
            return replace(found, decision=decision, carried_from="")
        return replace(found, decision=decision) if found.carried_from == ref else found

    proofs = tuple(
        replace(proof, found=tuple(decided(found) for found in proof.found)) for proof in job.proofs
    )
    return replace(job, proofs=proofs)


def _signed(job: Job, entry: Entry) -> Job:
    data = entry.data
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
    )
    return replace(job, signoffs=(*job.signoffs, signed))


def _overridden(job: Job, entry: Entry) -> Job:
    data = entry.data
    override = Override(
        by=entry.by,
        reason=data["reason"],
        proof_hashes=tuple(data["proof_hashes"]),
        copy_sha256=data["copy_sha256"],
        keys=tuple(data["keys"]),
        entry=entry,
    )
    return replace(job, overrides=(*job.overrides, override))


_TELLING = {
    "opened": _opened,
    "amended": _opened,
    "copy": _copied,
    "proof": _pulled,
    "decided": _decided,
    "answered": _answered,
    "signed": _signed,
    "overridden": _overridden,
}
