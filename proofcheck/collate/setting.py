"""The printed lines as they stand on their sheets: columns, rows, heads and feet."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from statistics import median
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.base.values import Line, Reading

__all__ = ["Setting"]

_PITCH_OF_X_HEIGHT = 2.6
"""From line to line in x-heights, where a sheet has too few lines to measure it; common practice
for text leaded by a sixth."""
_APART = 1.3
"""A line so many times as far from its neighbour as lines usually are stands apart."""

_LEVEL = 0.2
_BETWEEN_ROWS = (0.3, 1.6)
"""So far apart are the baselines of a row and of what stands beside a brace, x-heights: of two rows
set solid they are 2.2 apart (a body of 1 em, an x-height of 0.45)."""


@dataclass(frozen=True)
class Setting:
    """The printed lines as they stand: readings in order, and their geometry if known."""

    readings: Sequence[Reading]
    lines: Mapping[int, Line]
    """By number; empty where the geometry isn't known."""

    @cached_property
    def place(self) -> dict[int, int]:
        """Place in the proof, from 0, of each line by its number."""
        return {reading.line: at for at, reading in enumerate(self.readings)}

    @cached_property
    def _by_sheet(self) -> dict[int, list[Line]]:
        held: dict[int, list[Line]] = {}
        for line in self.lines.values():
            if line.home is None:
                held.setdefault(line.sheet, []).append(line)
        return held

    @cached_property
    def _tops(self) -> dict[int, tuple[int, int]]:
        """For each sheet the top of its first row and of its last, in pixels.

        What has neither letter nor figure, a speck or an ornament, is no row unless all are so.
        """
        of_matter = {held.line for held in self.readings if any(map(str.isalnum, held.text))}
        tops = {}
        for sheet, lines in self._by_sheet.items():
            held = [line.box.y for line in lines if line.number in of_matter]
            ys = held or [line.box.y for line in lines]
            tops[sheet] = (min(ys), max(ys))
        return tops

    @cached_property
    def first_rows(self) -> tuple[int, ...]:
        """Places in the proof of the lines in the first row of each sheet."""
        return tuple(
            at
            for at in range(len(self.readings))
            if (line := self.line(at))
            and line.home is None
            and line.box.y <= self._tops[line.sheet][0] + line.box.height // 2
        )

    def line(self, at: int) -> Line | None:
        """The geometry of the line at a place in the proof, None if not known."""
        return self.lines.get(self.readings[at].line)

    def column(self, at: int) -> tuple[int, int] | None:
        """Sheet and column of the line at a place in the proof, None if not known."""
        line = self.line(at)
        return (line.sheet, line.column) if line else None

    def on_sheet(self, sheet: int) -> Sequence[Line]:
        """All lines of one sheet that stand upright."""
        return self._by_sheet.get(sheet, [])

    def at_head(self, at: int) -> bool:
        """Whether a line is the first of its sheet (of the proof, if that isn't known)."""
        line = self.line(at)
        if line is None:
            return at == 0
        return line.home is None and line.box.y <= self._tops[line.sheet][0] + line.box.height

    def at_foot(self, at: int) -> bool:
        """Whether a line is the last of its sheet (of the proof, if that isn't known)."""
        line = self.line(at)
        if line is None:
            return at == len(self.readings) - 1
        return line.home is None and line.box.y >= self._tops[line.sheet][1] - line.box.height

    def alone_in_row(self, at: int) -> bool:
        """Whether nothing else stands in a line's row; True where the geometry isn't known."""
        line = self.line(at)
        return line is None or not any(
            other is not line and _in_one_row(line, other) for other in self.on_sheet(line.sheet)
        )

    def next_in_row(self, one: int, other: int) -> bool:
        """Whether the second of two lines stands in the first's row, in a column to the right."""
        first, second = self.line(one), self.line(other)
        if first is None or second is None or first.sheet != second.sheet:
            return False
        # What stands beside a brace is level with none of the lines it holds.
        return first.column < second.column and _in_one_row(first, second, _LEVEL)

    def is_between_rows(self, one: int, other: int) -> bool:
        """Whether a line stands half a row lower or higher than another, as beside a brace.

        Which of the two comes first their places do not say.
        """
        first, second = self.line(one), self.line(other)
        if first is None or second is None or first.sheet != second.sheet:
            return False
        size = max(first.x_height_px, second.x_height_px)
        least, most = _BETWEEN_ROWS
        return least * size < abs(_height(first) - _height(second)) < most * size

    def stands_apart(self, at: int, least: float = _APART) -> bool:
        """Whether a line is further from the rows beside it than rows of its sheet usually are.

        True where the geometry isn't known, or nothing else is on the sheet.
        """
        line = self.line(at)
        others = [o for o in self.on_sheet(line.sheet) if o is not line] if line else []
        if line is None or not others:
            return True
        return min(abs(_height(o) - _height(line)) for o in others) >= least * _pitch(others)

    def well_in(self, at: int) -> bool:
        """Whether a line begins well in from the left edge of its sheet's matter, by two ems."""
        line = self.line(at)
        others = [o.box.x for o in self.on_sheet(line.sheet) if o is not line] if line else []
        return line is None or not others or line.box.x > min(others) + 4 * line.x_height_px

    def towards_right(self, at: int) -> bool:
        """Whether a line begins in the right half of its sheet's matter and ends before its edge.

        Neither text nor a centred line, nor one set to the edge, stands so.
        """
        line = self.line(at)
        others = [o.box for o in self.on_sheet(line.sheet) if o is not line] if line else []
        if line is None or not others:
            return True
        left, right = min(o.x for o in others), max(o.right for o in others)
        past = line.box.x > (left + right) / 2 + 4 * line.x_height_px
        return past and line.box.right < right - 4 * line.x_height_px

    def other_heads(self, at: int) -> list[int]:
        """Places in the proof of other sheets' first rows, if the line is of one itself."""
        here = self.line(at)
        if here is None or at not in self.first_rows:
            return []
        return [k for k in self.first_rows if (o := self.line(k)) and o.sheet != here.sheet]


def _in_one_row(first: Line, second: Line, share: float = 0.5) -> bool:
    """Whether two lines of one sheet stand side by side, to a share of the lower one's height."""
    shared = min(first.box.bottom, second.box.bottom) - max(first.box.y, second.box.y)
    return shared > share * min(first.box.height, second.box.height)


def _height(line: Line) -> float:
    """Height of a line's baseline in its middle, sheet pixels."""
    return sum(line.baseline) / 2


def _pitch(lines: Sequence[Line]) -> float:
    """How far apart the rows of some lines of one sheet usually stand, in pixels."""
    size = median(line.x_height_px for line in lines)
    heights = sorted(map(_height, lines))
    steps = [b - a for a, b in pairwise(heights) if b - a > size]
    usual = _PITCH_OF_X_HEIGHT * size
    # A sheet of few rows may have space between all of them.
    return min(median(steps), 1.5 * usual) if steps else usual
