"""What the image says of one difference, as plain numbers, before they become a certainty."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from proofcheck.base.kinds import KINDS
from proofcheck.base.values import Span

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.found import Difference
    from proofcheck.base.values import Line, Reading, Sheet

__all__ = ["Dispute", "Evidence", "Witness", "disputes_of"]

_MOST_CHARACTERS = 2_000
"""More than this at one place of a line is no line's matter: no picture can be held against it."""
_WHOLE_LINE = frozenset(kind for kind, row in KINDS.items() if row.by_rule)


@dataclass(frozen=True, slots=True, eq=False)
class Dispute:
    """A difference with the two readings of its line between which the image must decide."""

    difference: Difference
    sheet: Sheet
    line: Line
    reading: Reading
    as_read: str
    """The line as the reader saw it."""
    as_copy: str
    """The same line with this one difference put right by the copy."""
    in_copy: Span
    """Where in `as_copy` the matter of the copy stands."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """Numbers for one difference; None where a witness could not speak to it."""

    ratio: float | None = None
    """Log-likelihood of the line as read less that of the line as the copy has it, in nats."""
    second_look: float | None = None
    """The OCR engine's word on the place alone: 1 = as read, -1 = as the copy has it."""
    own_letters: float | None = None
    """Likeness to the page's own good letters: 1 = those of the letter read, -1 = of the copy's."""
    certainty_read: float = 0.0
    """The reader's own certainty of the letters in dispute, the least of them, 0 to 1."""

    def as_numbers(self) -> dict[str, float]:
        """What was said, by the witness's name as a report has it."""
        said = {
            "ratio": self.ratio,
            "second-look": self.second_look,
            "own-letters": self.own_letters,
            "certainty-read": self.certainty_read,
        }
        return {name: value for name, value in said.items() if value is not None}


class Witness(Protocol):
    """Speaks to disputes from the image; one number for each, None where it has nothing to say."""

    def testify(self, disputes: Sequence[Dispute]) -> list[float | None]:
        """One number a dispute, in order; positive bears out the reading, negative the copy."""
        ...


def disputes_of(
    differences: Sequence[Difference],
    sheets: Sequence[Sheet],
    lines: Sequence[Line],
    readings: Sequence[Reading],
) -> dict[int, Dispute]:
    """The differences that lie within one line, by their place in `differences`.

    Whole lines, missing matter and faults of rule (a bad division) are not for the image to
    settle letter by letter and are left out.
    """
    line_at = {line.number: line for line in lines}
    reading_at = {reading.line: reading for reading in readings}
    sheet_at = {sheet.number: sheet for sheet in sheets}
    found: dict[int, Dispute] = {}
    for at, difference in enumerate(differences):
        if difference.kind in _WHOLE_LINE or difference.line not in line_at:
            continue
        if len(difference.copy_text) > _MOST_CHARACTERS:
            continue
        line, reading = line_at[difference.line], reading_at[difference.line]
        as_read = reading.text
        start, end = difference.proof
        as_copy = as_read[:start] + difference.copy_text + as_read[end:]
        found[at] = Dispute(
            difference=difference,
            sheet=sheet_at[line.sheet],
            line=line,
            reading=reading,
            as_read=as_read,
            as_copy=as_copy,
            in_copy=Span(start, start + len(difference.copy_text)),
        )
    return found
