"""What is known of a job, fact by fact: a version of its copy, a proof, what was found on it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from proofcheck.base.fault_numbers import proof_name, shown_number

if TYPE_CHECKING:
    from collections.abc import Mapping

    from proofcheck.docket.chain import Entry

__all__ = [
    "CopyVersion",
    "Decision",
    "Found",
    "Override",
    "ProofPulled",
    "SignOff",
    "TakenIn",
    "Vouched",
]


SETTLED = frozenset({"stand", "sound"})
"""Decisions after which nothing is to be done in the metal."""


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
    alike: int = 0
    """Changes that print alike (another shape of a quote): none is charged."""


@dataclass(frozen=True, slots=True)
class Decision:
    """What was decided about a fault."""

    what: str
    """ "correct", "stand", "query" or "sound" (`decisions.DECISIONS`)."""
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
    """ "fault", "query", "revise" for what the revise itself showed, "reader" for what a person
    saw and the tool did not."""
    cause: str
    charge: str
    """ "PE" or "AA"."""
    decision: Decision | None = None
    place: Mapping[str, Any] | None = None
    """Of a reader's own mark: where on the proof it stands (`own_marks`)."""
    beside: tuple[Decision, ...] = ()
    """What others decided of it before the latest, each his last, till one settles it."""
    carried_from: str = ""
    """Reference of the same fault on an earlier proof whose decision holds here too."""

    @property
    def ref(self) -> str:
        """How it is named in the job: "2/F3" is F3 of the second proof."""
        return f"{self.proof}/{self.id}"

    @property
    def shown(self) -> str:
        """How people see it named: "2/3" is the third of the second proof."""
        return shown_number(self.proof, self.id)

    @property
    def others(self) -> tuple[Decision, ...]:
        """What others decided differently, standing beside the latest till it is settled."""
        latest = self.decision
        if not self.beside:
            return ()
        return tuple(one for one in self.beside if latest is not None and one.what != latest.what)

    @property
    def settled(self) -> bool:
        """Whether nothing is to be done about it in the metal, by a person's decision.

        Not while another has decided differently.
        """
        return self.decision is not None and self.decision.what in SETTLED and not self.others

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
    recorded_by: str = ""
    """Initials of whoever put it on record; "" where it was not said."""
    signature: Mapping[str, Any] | None = None
    """Of a sheet that was signed electronically: `certificate` (its SHA-256), whether it was
    `known` to the shop, and when by the signer's clock (`at`)."""


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
