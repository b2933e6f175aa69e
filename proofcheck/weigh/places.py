"""Where on its sheet a difference stands."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.base.kinds import KINDS, Kind
from proofcheck.base.values import Box

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.found import Difference
    from proofcheck.base.values import Letter, Line, Reading

__all__ = ["Places"]

_ALL_OF_A_LINE = frozenset(kind for kind, row in KINDS.items() if row.whole_line)


class Places:
    """Lines and readings by number, and where on its sheet a difference stands."""

    def __init__(self, lines: Sequence[Line], readings: Sequence[Reading]) -> None:
        self.lines = {line.number: line for line in lines}
        self.readings = {reading.line: reading for reading in readings}

    def of(self, difference: Difference) -> tuple[int, Box]:
        """Number of the sheet, and the box; for a gap a box of no width."""
        line = self.lines.get(difference.line)
        if line is None:
            if not self.lines:
                return 0, Box(0, 0, 0, 0)
            # What should stand before the first line is put in at its head.
            first = self.lines[min(self.lines)]
            return first.sheet, Box(first.box.x, first.box.y, 0, first.box.height)
        if difference.kind in _ALL_OF_A_LINE:
            return line.sheet, line.box
        letters = self.readings[line.number].letters
        start, end = difference.proof
        if end > start:
            return line.sheet, Box.around(letter.box for letter in letters[start:end])
        at_end = difference.kind is Kind.LINE_MISSING
        gap = line.box.right if at_end else _gap_x(letters, start, line)
        return line.sheet, Box(gap, line.box.y, 0, line.box.height)


def _gap_x(letters: Sequence[Letter], at: int, line: Line) -> int:
    """The column of the gap before letter `at`."""
    if not letters:
        return line.box.x
    if at == 0:
        return letters[0].box.x
    if at >= len(letters):
        return letters[-1].box.right
    return (letters[at - 1].box.right + letters[at].box.x) // 2
