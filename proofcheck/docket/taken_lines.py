"""What taking in a paper that came back came to."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["TakenIn", "TakenLine"]


@dataclass(frozen=True, slots=True)
class TakenLine:
    """One thing said on the paper, and what became of it."""

    words: str
    recorded: bool
    """It is on the record now, or would be."""
    before: bool = False
    """It was on the record already, from a paper before."""


@dataclass(frozen=True, slots=True)
class TakenIn:
    """What taking a paper in came to."""

    job: str
    proof: int
    lines: tuple[TakenLine, ...]

    @property
    def left(self) -> int:
        """Things said that are not on the record, and are still to be seen to."""
        return sum(not line.recorded and not line.before for line in self.lines)
