"""A set of marks: the signs of one practice, and which of them each kind of fault gets."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from proofcheck.base.found import Difference, Mark
from proofcheck.base.kinds import Kind
from proofcheck.marks.strokes import DRAWN

if TYPE_CHECKING:
    from proofcheck.marks.table import Sign

__all__ = ["INSTRUCTIONS", "Maker", "SetOfMarks"]

INSTRUCTIONS = frozenset(
    (
        "align", "bold", "italic", "lead", "lead-out", "less-space", "move-left", "move-right",
        "roman",
    )
)  # fmt: skip
"""Signs that findings of the type ask for by name, where the usual mark of their kind won't do."""

Maker: TypeAlias = Callable[[Difference, bool], Mark]
"""Makes the mark for a difference; the second value says that the type is set by hand."""


@dataclass(frozen=True, slots=True)
class SetOfMarks:
    """The marks of one practice.

    Raises:
        ValueError: a kind or an instruction has no mark, or a sign can't be drawn.
    """

    name: str
    signs: Mapping[str, Sign]
    """Its table, by name of the sign."""
    makers: Mapping[Kind, Maker]
    """How each kind is marked."""

    def __post_init__(self) -> None:
        if lacking := [kind.value for kind in Kind if kind not in self.makers]:
            msg = f"the marks {self.name!r} have none for: {', '.join(lacking)}"
            raise ValueError(msg)
        if lacking := sorted(INSTRUCTIONS - self.signs.keys()):
            msg = f"the marks {self.name!r} have no sign for: {', '.join(lacking)}"
            raise ValueError(msg)
        if strange := sorted(self.signs.keys() - DRAWN):
            msg = f"signs of {self.name!r} that nothing is drawn for: {', '.join(strange)}"
            raise ValueError(msg)
