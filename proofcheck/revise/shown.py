"""What a revise shows."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from proofcheck.base.fault_numbers import shown_number

__all__ = ["Correction", "Finding", "Made", "Move", "Revise", "Slug", "Standing"]


class Standing(StrEnum):
    """What a slug of the revise is, by the proof before it."""

    STOOD = "stood"
    """The same slug, in its order."""
    MOVED = "moved"
    """The same slug, elsewhere."""
    RECAST = "recast"
    """Another slug where one was to be recast, or in matter run over from it."""
    ANOTHER = "another cast"
    """Another slug where none was to be recast; it may read alike."""
    DOUBLED = "doubled"
    """A second slug of the same matter."""
    TURNED = "turned"
    """A slug that stands end for end."""
    FOREIGN = "foreign"
    """A slug that stands in neither the earlier proof nor the copy."""
    NEW = "new"
    """A slug of the copy that the earlier proof did not have."""


class Move(StrEnum):
    """Kinds of finding: what happened to a slug that nobody asked for."""

    ANOTHER_CAST = "slug-recast"
    SWAPPED = "slugs-swapped"
    MOVED = "slug-moved"
    DROPPED = "slug-dropped"
    DOUBLED = "slug-doubled"
    TURNED = "slug-turned"
    FOREIGN = "slug-foreign"
    NEW_FAULT = "new-fault"


class Made(StrEnum):
    """How a correction asked for stands."""

    MADE = "made"
    PARTLY = "partly"
    MISSED = "missed"
    UNSEEN = "not shown"
    """Its line is not on the revise, which holds only a part: it is still waited for."""


@dataclass(frozen=True, slots=True)
class Slug:
    """One line of the revise and what it is."""

    line: int
    """Its number on the revise."""
    standing: Standing
    earlier: int | None
    """Number of its line on the earlier proof, or of the one whose place it took."""
    shift: float
    """Letters off their places against that line, x-heights; 0 where there is none."""
    likeness: float
    """Likeness of the worst letters, −1 to 1."""
    odds: float = 0.0
    """Natural logarithm of the odds that it was cast again, by the seats of its letters."""


@dataclass(frozen=True, slots=True)
class Correction:
    """One correction asked for on the earlier proof."""

    fault: str
    """Id of the fault there."""
    line: int
    """Printed line of the earlier proof."""
    now: int | None
    """Printed line of the revise that has its place; None if there is none."""
    words: str
    made: Made
    why: str
    """What it is judged by, in a few words."""


@dataclass(frozen=True, slots=True)
class Finding:
    """Something nobody asked for."""

    id: str
    """ "R1", "R2" … down the revise."""
    kind: Move
    line: int
    """Printed line of the revise; for a dropped slug the line it should follow."""
    earlier: int | None
    words: str
    fault: str = ""
    """Id of the fault on the revise, where it is one."""


@dataclass(frozen=True, slots=True)
class Revise:
    """A later proof laid on an earlier one."""

    slugs: tuple[Slug, ...]
    """One a line of the revise, in order."""
    corrections: tuple[Correction, ...]
    """In the order of the earlier proof."""
    findings: tuple[Finding, ...]
    read_again: tuple[int, ...]
    """Lines of the revise to be read whole: each new slug and its neighbours, and matter run
    over to the end of its paragraph."""
    gone: tuple[int, ...] = ()
    """Lines of the earlier proof whose slugs are no longer there."""
    proofs: tuple[int, int] = (1, 2)
    """Which of the series the earlier proof and the revise are, from 1."""

    def asked_as(self, correction: Correction) -> str:
        """The number of a correction as people see it: "1/4"."""
        return shown_number(self.proofs[0], correction.fault)

    def told_as(self, finding: Finding) -> str:
        """The number of a finding: "2/R1"; of a new fault, its own on the revise: "2/3"."""
        return shown_number(self.proofs[1], finding.fault or finding.id)

    @property
    def clean(self) -> bool:
        """Every correction made, and nothing else moved."""
        return not self.findings and all(c.made is Made.MADE for c in self.corrections)

    def slug(self, line: int) -> Slug:
        """The slug of that line of the revise. KeyError if there is none."""
        for slug in self.slugs:
            if slug.line == line:
                return slug
        raise KeyError(line)
