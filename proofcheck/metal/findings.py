"""What the rooms for the type itself hand back, and what a shop can set about them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypedDict

from proofcheck.base.found import Grade

if TYPE_CHECKING:
    from pathlib import Path

    from proofcheck.base.found import Cause
    from proofcheck.base.kinds import Kind
    from proofcheck.base.values import Box, Span

__all__ = ["MetalFinding", "MetalSettings", "Told"]


@dataclass(frozen=True, slots=True)
class MetalFinding:
    """One fault of the type itself, as seen in the picture."""

    kind: Kind
    line: int
    """Number of the printed line."""
    sheet: int
    box: Box
    """Where, in sheet pixels."""
    letters: Span
    """Letters of that line's `Reading`; empty at a gap."""
    certainty: float
    """Chance that a person who looks agrees, 0 to 1."""
    words: str = ""
    """The instruction, where it says more than the mark of the kind does; else ""."""
    sign: str = ""
    """Name of the sign in the table of marks, where it is not the usual one of the kind."""
    cause: Cause | None = None
    proof_text: str = ""
    """The letters concerned, as they were read."""
    copy_text: str = ""
    """The same as they should be; with neither, the finding is of no letter."""
    other_lines: tuple[int, ...] = ()
    """Other printed lines with the same: the places of one damaged mat."""
    only_query: bool = False
    """For a person to settle, however plain it is."""
    gives_way: bool = False
    """A fault of the text at the same place is likelier."""
    grade: Grade = Grade.RESET
    """How much it matters; settled for all together (`grading`)."""


class Told(TypedDict, total=False):
    """What a finding says beside its kind, place and certainty; see `MetalFinding`."""

    words: str
    sign: str
    cause: Cause
    proof_text: str
    copy_text: str
    other_lines: tuple[int, ...]
    only_query: bool
    gives_way: bool


@dataclass(frozen=True, slots=True)
class MetalSettings:
    """What the shop holds to. Lengths in ems are of the line's own body."""

    hand_set: bool = False
    """Type from the case: closer bands for word spaces than slugs, which only spread."""
    least_space_em: float = 0.12
    """A word space thinner than this is a fault."""
    widest_space_em: float | None = None
    """One wider than this is a fault; None for the usual: 0.67 hand-set, 1.1 on slugs."""
    doubled: float = 2.0
    """A space so many times the others of its line is two standing together."""
    off_line_x: float = 0.14
    """X-heights a letter may stand off its line."""
    edge_em: float = 0.5
    """A full line may end or begin so far from its fellows."""
    lead_pt: float = 1.5
    """A line may stand so much nearer to or farther from its neighbours than they do."""
    comparer: Path | None = None
    """Another set of weights for comparing letters with their fellows; None for the package's."""
    faces: Path | None = None
    """The shop's book of faces; None for none."""

    @property
    def widest_em(self) -> float:
        """`widest_space_em`, or what is usual for the matter.

        Hand-set: two 3-to-em spaces (De Vinne). Slugs: measured spaces of sound slugs have their
        90th percentile at 0.51 to 0.64 em, and wedges of small bodies open to more than an em.
        """
        if self.widest_space_em is not None:
            return self.widest_space_em
        return 0.67 if self.hand_set else 1.1
