"""What a proof is read with, and what has come of it so far."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from proofcheck.base.found import Collation

if TYPE_CHECKING:
    from collections.abc import Callable

    from proofcheck.base.found import Fault, Found, LetGo, Unread
    from proofcheck.base.options import Options
    from proofcheck.base.values import Copy, Line, Reading, Sheet
    from proofcheck.collate.lacking import Lacking
    from proofcheck.collate.same import Rules
    from proofcheck.collate.several_up import SeveralUp
    from proofcheck.marks import SetOfMarks
    from proofcheck.reading import Reader
    from proofcheck.recast.plan import RecastPlan
    from proofcheck.recast.settings import CastSettings

__all__ = ["Proof", "Work"]


@dataclass(frozen=True, slots=True)
class Work:
    """With what a proof is read: the same for every stage."""

    options: Options
    rules: Rules
    """What counts as the same on paper."""
    reader: Reader
    lacks: Lacking
    """What of the copy the reader can't read."""
    casting: CastSettings
    marks: SetOfMarks
    tell: Callable[[str], None]


@dataclass(frozen=True, slots=True, eq=False)
class Proof:
    """A proof so far: what each stage has added."""

    copy: Copy
    sheets: tuple[Sheet, ...] = ()
    lines: tuple[Line, ...] = ()
    readings: tuple[Reading, ...] = ()
    unread: tuple[Unread, ...] = ()
    collation: Collation = field(default_factory=lambda: Collation((), ()))
    found: tuple[Found, ...] = ()
    faults: tuple[Fault, ...] = ()
    """What was found, numbered and marked."""
    let_go: tuple[LetGo, ...] = ()
    plan: RecastPlan | None = None
    reordered: int = 0
    """Sheets read in another order than the layout's, since the copy bears it out."""
    left_out: frozenset[int] = frozenset()
    """Sheets that are no part of the proof: another over again, or of another job."""
    gang: SeveralUp | None = None
    """Where one copy stands several times on a sheet; `copy` is that so many times over then."""
    warnings: tuple[str, ...] = ()
