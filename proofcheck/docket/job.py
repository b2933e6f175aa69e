"""What a job holds: its copy in versions, its proofs in series, what was decided and signed."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from proofcheck.docket.spans import matter, merged, without

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.docket.chain import Entry
    from proofcheck.docket.facts import (
        CopyVersion,
        Found,
        Override,
        ProofPulled,
        SignOff,
        TakenIn,
        Vouched,
    )

__all__ = ["Job", "held_by", "own_parts", "standing_proofs"]


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
    vouched: tuple[Vouched, ...] = ()
    taken_in: tuple[TakenIn, ...] = ()
    broken: str = ""
    """Why its record can't be read, where it can't; the rest is then as far as it could be."""

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
        proof, _, name = ref.partition("/")
        own = next((p for p in self.proofs if str(p.number) == proof), None)
        return next((f for f in own.found if f.id == name), None) if own is not None else None

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
        """What was found and not yet decided on the proofs that stand.

        They are the latest, and those of other parts of the copy.
        """
        out: list[Found] = []
        later: list[tuple[int, int]] = []
        for proof in reversed(standing_proofs(self)):
            own = own_parts(self, proof, later) if later else None
            out = [f for f in proof.found if f.decision is None and _within(f, own)] + out
            later = sorted([*later, *held_by(self, proof)])
        return tuple(out)

    @property
    def disputed(self) -> tuple[Found, ...]:
        """What two have decided differently, and nobody has settled."""
        return tuple(f for f in self.found if f.others and not f.carried_from)

    def word_on(self, found: Found) -> SignOff | None:
        """The customer's O.K. that a decision on a fault would come after; None for none."""
        given = next((w for w in reversed(self.signoffs) if w.proof == found.proof), None)
        return None if given is None or given.words == "revise-wanted" else given

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


def _within(found: Found, parts: list[tuple[int, int]] | None) -> bool:
    """Whether a place lies in the stretches of copy given; None for anywhere."""
    start, end = found.copy
    return (
        parts is None or found.status == "revise" or any(start <= b and a <= end for a, b in parts)
    )


def standing_proofs(job: Job) -> tuple[ProofPulled, ...]:
    """The proofs that say what stands now, in their order.

    They are the latest, and where it holds only part of the copy those before it that hold another
    part. A proof of the whole copy supersedes all before it; so does new copy.
    """
    out: list[ProofPulled] = []
    later: list[tuple[int, int]] = []
    for proof in reversed(job.proofs):
        if out and (job.copy is None or proof.copy != job.copy.number):
            break
        if not out or own_parts(job, proof, later):
            out.append(proof)
        later = merged([*later, *held_by(job, proof)])
        if not _is_part(proof):
            break
    return tuple(reversed(out))


def own_parts(
    job: Job, proof: ProofPulled, later: Sequence[tuple[int, int]]
) -> list[tuple[int, int]]:
    """Stretches of copy that a proof holds and those after it (`later`) do not."""
    return matter(without(held_by(job, proof), later), _text_of(job, proof))


def _is_part(proof: ProofPulled) -> bool:
    return proof.read is not None and proof.read["settings"].get("part") == "true"


def held_by(job: Job, proof: ProofPulled) -> list[tuple[int, int]]:
    """Stretches of copy that a proof accounts for; all of it where the record does not say."""
    if proof.read is None:
        return [(0, len(_text_of(job, proof)))]
    return [(start, end) for start, end in proof.read["held"]]


def _text_of(job: Job, proof: ProofPulled) -> str:
    return str(job.copies[proof.copy - 1].entry.data["text"])
