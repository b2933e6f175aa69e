"""How pieces of one sheet stand to one another: in one row, in one column, in one solid block."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.collate.parted_lines import foot_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Line

__all__ = ["Standing", "standing_of"]

_OVER = 0.3
"""Share of the narrower piece's width to which one stands over the other."""
_LEVEL = 0.5
"""Share of the smaller one's x-height to which two pieces stand in one row."""
_FLUSH = 1.0
"""Lines are flush whose edges stand so near each other, in x-heights."""
_SIZE = 0.2
"""Lines of one size differ by less than this share of it."""
_SOLID = 2.9
"""Distance of two lines set solid, at most, in x-heights …"""
_APART = 1.3
"""… and so many times as far apart they are of two blocks."""

_RUN_OVER = 3
"""Lines at most that run over in a cell."""


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """How each two pieces stand to one another."""

    level: NDArray[np.bool_]
    """They are in one row, and the second is to the right of the first."""
    under: NDArray[np.bool_]
    """They are in one column, and the second is lower."""
    x: NDArray[np.int64]
    right: NDArray[np.int64]
    foot: NDArray[np.float64]
    size: NDArray[np.float64]
    """x-heights, sheet pixels."""

    def left_of(self) -> dict[int, int]:
        """The next piece to the left in its row, for those that have one, from left to right."""
        return _last_before(self.level, self.x)

    def right_over(self) -> dict[int, int]:
        """The next piece over it in its column, for those that have one, from the head down."""
        return _last_before(self.under, self.foot)

    def right_under(self) -> dict[int, int]:
        """The next piece under it in its column, for those that have one."""
        return _last_before(self.under.T, -self.foot)

    def broken_by(self, order: Sequence[int]) -> list[tuple[int, int]]:
        """Where an order breaks a column set solid: its lower piece, and what comes before that.

        Between a piece and the one right under it come only pieces of their rows, or between these
        (what runs over in a cell is of the cell's row);
        and in a column that is not solid none that stands over both, while what is under it, which
        stands over both as well, comes after: so the head of a column would change places with the
        foot of another.
        """
        turn = {k: at for at, k in enumerate(order)}
        over, below = self.right_over(), self.right_under()
        top = self.foot - self.size
        row_top, row_foot = self._rows_of_cells(over)
        out: list[tuple[int, int]] = []
        for lower, upper in over.items():
            between = np.array(order[turn[upper] + 1 : turn[lower]], np.intp)
            if self._is_solid(upper, lower, over):
                apart = row_foot[between] <= row_top[upper]
                apart |= row_top[between] >= row_foot[lower]
                out += [(lower, k) for k in between[apart].tolist()]
            for k in between[self.foot[between] <= top[upper]].tolist():
                next_down = below.get(k, lower)
                if turn[next_down] > turn[lower] and self.foot[next_down] <= top[upper]:
                    out.append((lower, k))
        return out

    def _rows_of_cells(
        self, over: Mapping[int, int]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Head and foot of the row each piece is of: of a cell's, with the lines that run over.

        Those stand alone in their rows, solid under one that has others beside it.
        """
        top, foot = self.foot - self.size, self.foot.copy()
        beside: NDArray[np.bool_] = np.logical_or(self.level, self.level.T)
        alone: NDArray[np.bool_] = ~np.any(beside, axis=1)
        for k in np.argsort(self.foot, kind="stable").tolist():
            if not alone[k]:
                continue
            first, lines = k, 0
            while alone[first] and first in over and lines < _RUN_OVER:
                if not self._is_solid(over[first], first, over):
                    break
                first, lines = over[first], lines + 1
            if not alone[first]:
                top[k] = top[first]
                of_row = np.append(np.flatnonzero(beside[first]), first)
                foot[of_row] = np.maximum(foot[of_row], self.foot[k])
        return top, foot

    def wholly_over(self) -> NDArray[np.bool_]:
        """For each two pieces whether the first comes before the second and its block ends over it.

        A block is a column set solid; what stands beside one may be read before all of it.
        """
        count = len(self.foot)
        block = np.arange(count)
        over = self.right_over()
        for lower, upper in over.items():
            if self._is_solid(upper, lower, over):
                block[lower] = block[upper]
        top = np.full(count, np.inf)
        end = np.full(count, -np.inf)
        np.minimum.at(top, block, self.foot - self.size)
        np.maximum.at(end, block, self.foot)
        turn = np.arange(count)
        over_all: NDArray[np.bool_] = np.less_equal.outer(end[block], top[block])
        return over_all & np.less.outer(turn, turn)

    def beside_a_cell(self) -> NDArray[np.bool_]:
        """For each two pieces whether the second stands in a higher cell to the left of the first.

        What stands there by itself, in the middle of rows at its right that go on over and under
        it: the head of a column beside those of columns that are parted once more.
        """
        found = np.zeros_like(self.under)
        over, below = self.right_over(), self.right_under()
        left = np.less_equal.outer(self.right, self.x)
        for k in range(len(self.foot)):
            beside = np.flatnonzero(left[k])
            lowest = self.foot[below[k]] if k in below else np.inf
            highest = self.foot[over[k]] if k in over else -np.inf
            higher = beside[self.foot[beside] <= self.foot[k] - self.size[k]]
            higher = higher[self.foot[higher] - self.size[higher] >= highest]
            lower = beside[(self.foot[beside] > self.foot[k]) & (self.foot[beside] < lowest)]
            if len(lower):
                found[higher, k] = True
        return found

    def _is_solid(self, upper: int, lower: int, over: Mapping[int, int]) -> bool:
        """Whether two pieces of a column are flush and no farther apart than those over them."""
        size = float(self.size[upper])
        edges = [abs(one[upper] - one[lower]) for one in (self.x, self.right, self.x + self.right)]
        alike = min(edges) < _FLUSH * size and abs(self.size[lower] - size) < _SIZE * size
        step, usual = self.foot[lower] - self.foot[upper], _SOLID * size
        if upper in over:
            usual = min(usual, self.foot[upper] - self.foot[over[upper]])
        return bool(alike and step < _APART * usual)


def _last_before(before: NDArray[np.bool_], at: NDArray[np.number]) -> dict[int, int]:
    found = ((k, np.flatnonzero(before[:, k])) for k in np.argsort(at, kind="stable").tolist())
    return {k: int(ones[np.argmax(at[ones])]) for k, ones in found if len(ones)}


def standing_of(lines: Sequence[Line], rows: Sequence[int]) -> Standing:
    """How some pieces stand to one another.

    Args:
        lines: the geometry of each.
        rows: which line it is of; those of one line are level.
    """
    foot = np.array([foot_of(line) for line in lines])
    size = np.array([line.x_height_px for line in lines])
    x = np.array([line.box.x for line in lines])
    right = np.array([line.box.right for line in lines])
    shared = np.minimum.outer(foot, foot) - np.maximum.outer(foot - size, foot - size)
    level = (shared > _LEVEL * np.minimum.outer(size, size)) | np.equal.outer(rows, rows)
    over = np.minimum.outer(right, right) - np.maximum.outer(x, x)
    over = over > _OVER * np.minimum.outer(right - x, right - x)
    under = over & ~level & np.less.outer(foot, foot)
    return Standing(level & np.less.outer(x, x), under, x, right, foot, size)
