"""What was found on a proof: differences, faults, what was let go and what was not read."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from proofcheck.base.kinds import Kind
    from proofcheck.base.values import Box, Span

__all__ = [
    "Cause",
    "Collation",
    "Difference",
    "Fault",
    "Found",
    "Grade",
    "LetGo",
    "Mark",
    "Placing",
    "Status",
    "Unread",
    "Verdict",
]


class Cause(StrEnum):
    """Likely causes the trade knows; only ever a hint."""

    NEIGHBOUR_KEY = "neighbouring key"
    LATE_MAT = "late mat"
    DOUBLED_KEY = "key struck twice"
    MAT_NOT_FALLEN = "mat not fallen"
    FOUL_CASE = "foul case"
    TURNED_SORT = "turned sort"
    LOOK_ALIKE = "look-alike"
    RUN_DOWN_LINE = "run-down line"
    SLUG_LEFT_IN = "slug left in twice"
    SLUG_MISPLACED = "slug in the wrong place"
    COLUMN_MISPLACED = "column in the wrong place"
    PAGE_MISPLACED = "page in the wrong place"
    OTHER_JOB = "matter of another job"


class Status(StrEnum):
    """Whether a difference is called a fault or only put to a person."""

    FAULT = "fault"
    QUERY = "query"
    STAND = "stand"
    """A person has decided to let it stand; no reading says so of itself."""


class Grade(StrEnum):
    """How much a fault of the type itself matters, by the bar that the page's own spread sets."""

    RESET = "reset"
    """What a foreman would send back."""
    LOOK = "look"
    """Worn or filled, spaced beyond the shop's habit: worth a look, seldom a new line."""


class Verdict(StrEnum):
    """What the report says of the whole proof."""

    CLEAN = "clean"
    """All of it was read, and nothing was found."""
    QUERIES = "queries"
    """No fault, but something for a person to settle."""
    FAULTS = "faults"
    NOT_WHOLLY_READ = "not-wholly-read"
    """No fault in what was read, but there is ink on the sheet that was not."""
    MISMATCH = "mismatch"
    UNREADABLE = "unreadable"


@dataclass(frozen=True, slots=True)
class Difference:
    """One place where the reading and the copy part, told as the trade would tell it."""

    kind: Kind
    line: int
    """Printed line where it shows. For missing lines or matter: the line it should follow
    (0 = before the first line)."""
    proof: Span
    """Letters of that line's `Reading`; empty at the gap where something is missing."""
    proof_text: str
    """What is printed there."""
    copy: Span
    """Where in `Copy.text`; empty where the copy has nothing."""
    copy_text: str
    """What the copy has there, as it should be set (compared form, one space for any white)."""
    cause: Cause | None = None
    other_lines: tuple[int, ...] = ()
    """Other printed lines concerned: the first of two doubled, the partner of a swap."""
    follows: int | None = None
    """Of lines astray: the printed line they should follow (0 = at the head). None for two lines
    that change places, and for all other kinds."""
    make_up: str = ""
    """Of lines astray that are a whole column or page: where that belongs, in plain words ("page 1
    should follow page 2"). Pages are the sheets of the proof, from 1."""
    only_query: bool = False
    """True for what only a person can settle, however plain it is in print: a word all in
    capitals where the copy has small letters may be the style of a head."""


@dataclass(frozen=True, slots=True)
class Placing:
    """Which stretch of copy a printed line holds."""

    line: int
    copy: Span | None
    """None for a line that is not in this copy."""


@dataclass(frozen=True, slots=True)
class Collation:
    """The lines laid against the copy."""

    placings: tuple[Placing, ...]
    """One a line, in order of the proof."""
    differences: tuple[Difference, ...]
    """In order of the proof."""
    waived: Mapping[str, int] = field(default_factory=dict)
    """How often each allowance was made, by the name of its rule."""
    agreement: float = 1.0
    """Share of the printed characters that the copy bears out, 0 to 1."""
    mismatch: bool = False
    """True where the sheet is plainly not of this copy; then there are no differences."""


@dataclass(frozen=True, slots=True)
class Mark:
    """How one fault is marked on the proof."""

    sign: str
    """Name of the sign in the table of marks (`proofcheck.marks`)."""
    matter: str
    """New matter to be set, written before the closing stroke; "" for a bare instruction."""
    margin: str
    """The margin as plain text: "n/", "tr", "(?)"."""
    text: str
    """Name of the mark in the text: "stroke", "line-through", "caret", "ring", …"""
    words: str
    """The instruction in plain words: "change u to n"."""


@dataclass(frozen=True, slots=True)
class Fault:
    """A difference the image bears out, or a fault of the type itself."""

    id: str
    """ "F1", "F2" … in the order of the proof."""
    kind: Kind
    line: int
    sheet: int
    box: Box
    """Where, in sheet pixels; a gap has width 0."""
    copy: Span
    copy_text: str
    proof_text: str
    mark: Mark
    certainty: float
    """Chance that it is a real fault of the type, 0 to 1."""
    status: Status
    cause: Cause | None = None
    other_lines: tuple[int, ...] = ()
    evidence: Mapping[str, float] = field(default_factory=dict)
    """What the witnesses said, by name; a witness with nothing to say is left out."""
    grade: Grade | None = None
    """Of a fault of the type itself; None for one of the text."""


@dataclass(frozen=True, slots=True)
class LetGo:
    """A difference between reading and copy that was not alleged, and why not."""

    kind: Kind
    line: int
    sheet: int
    box: Box
    """Where, in sheet pixels; a gap has width 0."""
    copy: Span
    copy_text: str
    proof_text: str
    """What the reader took it for."""
    certainty: float
    """Chance that it is a real fault after all, 0 to 1."""
    reason: str
    """In a few plain words, the same for all of a kind, so that they can be counted."""


@dataclass(frozen=True, slots=True)
class Unread:
    """Ink on a sheet that belongs to nothing that was read."""

    sheet: int
    box: Box
    """Round it, in sheet pixels."""
    words: str
    """Its size and place, to be said after "not read: ": "40 × 12 mm at the foot"."""
    whole_sheet: bool = False
    """True where all of a sheet is left out as of no part of the proof: no option lets that pass
    as wholly read."""
    in_shadow: bool = False
    """True where the shadow at the edge of the scan lies over a line."""


@dataclass(frozen=True, slots=True)
class Found:
    """A difference the image bears out, or a fault of the type told as one: not marked yet."""

    difference: Difference
    sheet: int
    box: Box
    """Where, in sheet pixels; a gap has width 0."""
    certainty: float
    """Chance that it is a real fault of the type, 0 to 1."""
    status: Status
    evidence: Mapping[str, float] = field(default_factory=dict)
    """What the witnesses said, by name."""
    sign: str = ""
    """Name of its own sign, where that is not the usual one of its kind."""
    words: str = ""
    """Its own instruction, where that is not the usual one of its kind."""
    grade: Grade | None = None
    """Of a fault of the type itself; None for one of the text."""

    def let_go(self, reason: str) -> LetGo:
        """The same as not alleged; the reason in a few plain words, the same for all of a kind."""
        difference = self.difference
        return LetGo(
            kind=difference.kind,
            line=difference.line,
            sheet=self.sheet,
            box=self.box,
            copy=difference.copy,
            copy_text=difference.copy_text,
            proof_text=difference.proof_text,
            certainty=self.certainty,
            reason=reason,
        )
