"""A proof laid ready to be judged: its letters, lines and copy by place, and their measures.

Nothing here is judged; that is done once, from this, by `judged`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.values import Box, Span
from proofcheck.metal.alone import cut_alone
from proofcheck.metal.findings import MetalFinding
from proofcheck.metal.fount import LEAST_FELLOWS, fount_of
from proofcheck.metal.into_copy import same_in_copy
from proofcheck.metal.line_rows import Rows
from proofcheck.metal.neighbours import median_beside
from proofcheck.sheet.lifted import in_blocks

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Unpack

    from numpy.typing import NDArray

    from proofcheck.base.found import Collation, Difference
    from proofcheck.base.kinds import Kind
    from proofcheck.base.values import Copy, Letter, Line, Reading, Sheet
    from proofcheck.metal.findings import MetalSettings, Told
    from proofcheck.metal.fount import Fount

__all__ = ["Matter"]

_LEAST_SPREAD = 0.15
"""Added to a kind's spread, so that few and very even letters don't make every other odd."""


@dataclass(frozen=True, eq=False)
class Matter(Rows):
    """All that the rooms look at: a proof's rows, and its letters by number in the fount."""

    sheets: dict[int, Sheet]
    lines: tuple[Line, ...]
    readings: tuple[Reading, ...]
    collation: Collation
    copy: Copy
    settings: MetalSettings
    fount: Fount
    row_of: dict[int, int] = field(default_factory=dict)
    """Line number → row."""

    @staticmethod
    def of(
        sheets: Sequence[Sheet],
        lines: Sequence[Line],
        readings: Sequence[Reading],
        collation: Collation,
        copy: Copy,
        settings: MetalSettings,
    ) -> Matter:
        """Lay a proof ready; one reading a line, in the same order."""
        return Matter(
            {sheet.number: sheet for sheet in sheets},
            tuple(lines),
            tuple(readings),
            collation,
            copy,
            settings,
            fount_of(sheets, lines, readings, collation),
            {line.number: row for row, line in enumerate(lines)},
        )

    @cached_property
    def starts(self) -> NDArray[np.intp]:
        """(rows + 1,): the number in the fount of the first letter of each row, and of none."""
        return np.searchsorted(self.fount.line, np.arange(len(self.lines) + 1))

    def number_at(self, row: int, at: int) -> int | None:
        """The number in the fount of a letter of a row's reading; None for one not in it."""
        if not 0 <= row < len(self.lines):
            return None
        first, last = self.starts[row : row + 2].tolist()
        number = first + int(np.searchsorted(self.fount.at[first:last], at))
        return number if number < last and self.fount.at[number] == at else None

    def of_row(self, row: int) -> slice:
        """The letters of the fount that stand in a row."""
        return slice(*self.starts[row : row + 2].tolist())

    @cached_property
    def boxes(self) -> list[Box]:
        """The box of each letter of the fount."""
        places = zip(self.fount.line.tolist(), self.fount.at.tolist(), strict=True)
        return [self.readings[row].letters[at].box for row, at in places]

    @cached_property
    def word(self) -> NDArray[np.intp]:
        """For each letter of the fount the number of its word."""
        found, count = np.zeros(len(self.fount.text), np.intp), 0
        for row, reading in enumerate(self.readings):
            spaces = np.cumsum([letter.text.isspace() for letter in reading.letters], dtype=np.intp)
            mine = self.of_row(row)
            found[mine] = count + 1 + spaces[self.fount.at[mine]]
            count += 1 + int(spaces[-1] if len(spaces) else 0)
        return found

    @cached_property
    def disputed(self) -> dict[tuple[int, int], Difference]:
        """(row, letter) → the difference that touches it."""
        found = {}
        for difference in self.collation.differences:
            row = self.row_of.get(difference.line)
            if row is not None:
                for at in range(*difference.proof):
                    found[row, at] = difference
        return found

    @cached_property
    def borne_out(self) -> NDArray[np.bool_]:
        """For each letter of the fount whether it is agreed and stands just so in the copy.

        What an allowance lets pass (capitals for small letters, figures of old style) does not.
        """
        fount = self.fount
        found = fount.agreed.copy()
        for row, (reading, held) in enumerate(zip(self.readings, self.placed, strict=True)):
            mine = self.of_row(row)
            found[mine] &= same_in_copy(reading.text, held, self.copy)[fount.at[mine]]
        return found

    @cached_property
    def cut_true(self) -> NDArray[np.bool_]:
        """For each letter whether it was cut out as one letter alone (`alone`).

        One that was freed of the ornamented block it stands in is not cut as it was cast.
        """
        freed = [
            in_blocks(self.sheets[self.lines[row].sheet], box)
            for box, row in zip(self.boxes, self.fount.line.tolist(), strict=True)
        ]
        return np.asarray(cut_alone(self.fount, self.boxes) & ~np.array(freed, bool))

    @cached_property
    def oddness(self) -> NDArray[np.float32]:
        """For each letter how far out it stands among those of its kind, in their own spreads.

        By the logarithm of how unlike it is; 0 where it has too few fellows. A kind that is
        frayed all through the proof so excuses its letters.
        """
        fount = self.fount
        found = np.zeros(len(fount.text), np.float32)
        for character in fount.fellows:
            mine = fount.text == character
            found[mine] = self.odd_as(character, fount.unlike[mine])
        return found

    def odd_as(self, character: str, unlike: NDArray[np.float32]) -> NDArray[np.float32]:
        """How far out letters so unlike its fellows would stand among those of a character."""
        middle, spread = self._usual_unlikeness[character]
        return np.asarray((_log_unlike(unlike) - middle) / spread, np.float32)

    @cached_property
    def _usual_unlikeness(self) -> dict[str, tuple[float, float]]:
        found = {}
        for character in self.fount.fellows:
            mine = (self.fount.text == character) & self.fount.agreed
            logs = _log_unlike(self.fount.unlike[mine])
            middle = float(np.median(logs))
            spread = 1.4826 * float(np.median(np.abs(logs - middle))) + _LEAST_SPREAD
            found[character] = middle, spread
        return found

    @cached_property
    def oddness_beside(self) -> NDArray[np.float64]:
        """For each letter the median oddness of the other letters of its word; 0 for none."""
        longest = int(np.bincount(self.word).max(initial=1))
        return np.nan_to_num(median_beside(self.oddness, self.word, longest, 1))

    @cached_property
    def usual_size(self) -> dict[str, tuple[float, float]]:
        """Width and height of each character's ink in the middle, in x-heights of its line."""
        fount, boxes = self.fount, self.boxes
        size = np.array([max(line.x_height_px, 1.0) for line in self.lines])[fount.line]
        wide = np.array([box.width for box in boxes]) / size
        high = np.array([box.height for box in boxes]) / size
        found = {}
        for text in dict.fromkeys(fount.text[fount.agreed].tolist()):
            mine = (fount.text == text) & fount.agreed
            if np.count_nonzero(mine) < LEAST_FELLOWS:
                continue
            found[text] = float(np.median(wide[mine])), float(np.median(high[mine]))
        return found

    def letter(self, number: int) -> Letter:
        """A letter of the fount as it was read."""
        row, at = int(self.fount.line[number]), int(self.fount.at[number])
        return self.readings[row].letters[at]

    def box_of(self, row: int, letters: Span) -> Box:
        """Round the letters' ink; for none the gap before the first, of no width."""
        held = self.readings[row].letters[letters.start : letters.end]
        if held:
            return Box.around(letter.box for letter in held)
        line = self.lines[row]
        return Box(line.box.x, line.box.y, 0, line.box.height)

    def finding(
        self,
        kind: Kind,
        row: int,
        letters: Span,
        certainty: float,
        box: Box | None = None,
        **told: Unpack[Told],
    ) -> MetalFinding:
        """A finding on letters of a row; its box goes round their ink if none is given."""
        line = self.lines[row]
        there = box or self.box_of(row, letters)
        return MetalFinding(kind, line.number, line.sheet, there, letters, certainty, **told)

    def finding_on(
        self, kind: Kind, number: int, certainty: float, **told: Unpack[Told]
    ) -> MetalFinding:
        """A finding on one letter of the fount, rightly read if nothing else is told."""
        row, at = int(self.fount.line[number]), int(self.fount.at[number])
        told.setdefault("proof_text", str(self.fount.text[number]))
        told.setdefault("copy_text", told["proof_text"])
        return self.finding(kind, row, Span(at, at + 1), certainty, **told)


def _log_unlike(unlike: NDArray[np.float32]) -> NDArray[np.float32]:
    return np.asarray(np.log(np.nan_to_num(unlike, nan=1.0) + 1e-3))
