"""A set of marks: the signs of one practice, and which of them each kind of fault gets."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from proofcheck.base.found import Difference, Mark
from proofcheck.base.kinds import Kind

if TYPE_CHECKING:
    from proofcheck.marks.table import Sign

__all__ = ["Maker", "SetOfMarks"]

Maker: TypeAlias = Callable[[Difference, bool], Mark]
"""Makes the mark for a difference; the second value says that the type is set by hand."""


@dataclass(frozen=True, slots=True)
class SetOfMarks:
    """The marks of one practice. ValueError where a kind has no mark."""

    name: str
    signs: Mapping[str, Sign]
    """Its table, by name of the sign."""
    makers: Mapping[Kind, Maker]
    """How each kind is marked."""

    def __post_init__(self) -> None:
        if lacking := [kind.value for kind in Kind if kind not in self.makers]:
            msg = f"the marks {self.name!r} have none for: {', '.join(lacking)}"
            raise ValueError(msg)
