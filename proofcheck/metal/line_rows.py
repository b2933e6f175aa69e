"""The lines of a proof by their place in it ("row"), and what of the copy each holds."""

from __future__ import annotations

from bisect import bisect_right
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.units import pt_to_px
from proofcheck.metal.patches import baseline_at

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.base.found import Collation
    from proofcheck.base.values import Copy, Line, Reading, Sheet, Span

__all__ = ["Rows"]

_SMALL_OF_WORDS = 0.3
"""Share of small letters among letters and figures; a head in capitals with an "of" has less."""


class Rows:
    """Lines counted by their place in `lines`, from 0 ("row"); `context.Matter` holds them."""

    sheets: dict[int, Sheet]
    lines: tuple[Line, ...]
    readings: tuple[Reading, ...]
    collation: Collation
    copy: Copy

    @cached_property
    def placed(self) -> tuple[Span | None, ...]:
        """For each row the stretch of copy it holds."""
        by_number = {placing.line: placing.copy for placing in self.collation.placings}
        return tuple(by_number.get(line.number) for line in self.lines)

    @cached_property
    def on_sheet(self) -> dict[int, list[int]]:
        """The rows of each sheet, by its number."""
        found: dict[int, list[int]] = {}
        for row, line in enumerate(self.lines):
            found.setdefault(line.sheet, []).append(row)
        return found

    @cached_property
    def _paragraph_starts(self) -> list[int]:
        return [paragraph.start for paragraph in self.copy.paragraphs]

    def paragraph_at(self, place: int) -> Span | None:
        """The last paragraph of the copy that begins at a place or before it."""
        at = bisect_right(self._paragraph_starts, place)
        return self.copy.paragraphs[at - 1] if at else None

    def in_one_paragraph(self, start: int, end: int) -> bool:
        """Whether one paragraph of the copy holds both ends of a stretch."""
        paragraph = self.paragraph_at(start)
        return paragraph is not None and end <= paragraph.end

    @cached_property
    def body_x_height(self) -> float:
        """The x-height most letters of the proof have, sheet pixels."""
        sizes = [line.x_height_px for line in self.lines]
        weights = np.array([len(reading.letters) for reading in self.readings], np.float64)
        if not sizes or weights.sum() == 0:
            return 1.0
        order = np.argsort(sizes)
        total = np.cumsum(weights[order])
        return float(sizes[order[int(np.searchsorted(total, total[-1] / 2))]])

    @cached_property
    def running(self) -> NDArray[np.bool_]:
        """For each row whether it is running text: of the text's size and mostly small letters."""
        rows = range(len(self.lines))
        return np.array([self.is_text(row) and self.is_mostly_small(row) for row in rows], bool)

    def em_px(self, row: int) -> float:
        """The em of a line's body, sheet pixels."""
        line = self.lines[row]
        return pt_to_px(line.body_pt, self.sheets[line.sheet].dpi)

    def is_text(self, row: int) -> bool:
        """Whether a line is of the size the proof is mostly set in, and has a few words."""
        size = self.lines[row].x_height_px / self.body_x_height
        words = self.readings[row].text.count(" ") + 1
        return bool(abs(size - 1) < 0.12 and words >= 3)

    def is_mostly_small(self, row: int) -> bool:
        """Whether more than half of a line's characters are small letters; spaces don't count."""
        letters = [each.text for each in self.readings[row].letters if not each.text.isspace()]
        return sum(map(str.islower, letters)) > 0.5 * len(letters)

    def is_words(self, row: int) -> bool:
        """Whether a line is a few words, of the text's size or less, and no head in capitals.

        An entry with a name in capitals and a date or two is spaced as other lines are.
        """
        text = self.readings[row].text
        letters = sum(map(str.isalnum, text))
        size = self.lines[row].x_height_px / self.body_x_height
        words = size < 1.3 and text.count(" ") >= 3
        return bool(words and sum(map(str.islower, text)) > _SMALL_OF_WORDS * letters)

    def baseline(self, row: int, x: float) -> float:
        """Height of a line's baseline at x."""
        return baseline_at(self.lines[row], x)
