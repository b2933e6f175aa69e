"""What a job holds: its copy in versions, its proofs in series, what was decided and signed."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from proofcheck.docket.proved import held_by, own_parts, standing_proofs

if TYPE_CHECKING:
    from collections.abc import Mapping

    from proofcheck.docket.chain import Entry

__all__ = [
    "CopyVersion",
    "Decision",
    "Found",
    "Job",
    "Override",
    "ProofPulled",
    "SignOff",
    "TakenIn",
    "Vouched",
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
    """Author's alterations against the version before: what was, what is, the slugs that go for
    it, over-run ones too."""
    new_slugs: int = 0
    """Slugs to be cast anew for its alterations."""
    taken_out: int = 0
    """Lines that only go."""


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
    read: Mapping[str, Any] | None = None
    """What of the copy was read, with what and how (`proved.read_data`); None where an older
    version recorded it."""

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
    words: tuple[str, ...]
    """The same reasons in words."""
    entry: Entry


@dataclass(frozen=True, slots=True)
class Vouched:
    """What a named person answers for: read by eye, or right in spite of what was not proved."""

    by: str
    reason: str
    keys: tuple[str, ...]
    words: tuple[str, ...]
    facts: tuple[str, ...]
    """For each key the hash of the very facts it holds for; it holds for no others."""
    entry: Entry


@dataclass(frozen=True, slots=True)
class TakenIn:
    """Entries of the job that were made elsewhere and came with an archive."""

    first: int
    last: int
    """Places in the job's chain."""
    archive: str
    by: str


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


def proof_name(number: int) -> str:
    """Name of a proof in its series, from 1: first proof, revise, second revise and so on."""
    if number <= 2:
        return "first proof" if number == 1 else "revise"
    ordinals = ("second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth")
    place = number - 1
    return f"{ordinals[place - 2]} revise" if place - 2 < len(ordinals) else f"{place}th revise"
