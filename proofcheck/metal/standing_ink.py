"""The ink of one line column by column: how far each column's longest stroke stands up and down."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.values import Box
from proofcheck.metal.line_band import line_band
from proofcheck.sheet.grey_shares import grey_percentiles
from proofcheck.sheet.shelf import looked_at

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.metal.context import Matter

__all__ = ["BAND_X", "LEAST_CONTRAST", "StandingInk", "standing_ink"]

BAND_X = (2.15, 0.95)
"""x-heights over and under the baseline that are looked at."""
LEAST_CONTRAST = 60
"""Grey levels between paper and ink; with less nothing is seen."""


@dataclass(frozen=True, slots=True, eq=False)
class StandingInk:
    """A line's band, of so many columns; rows are counted from the band's own top."""

    x: int
    """Sheet column of its left edge."""
    top: NDArray[np.intp]
    """Sheet row of the band's top in each column: it follows the baseline."""
    base: int
    """Row of the band that stands on the baseline."""
    dark: NDArray[np.bool_]
    """(rows, columns)"""
    head: NDArray[np.intp]
    """Row where each column's longest stroke begins …"""
    foot: NDArray[np.intp]
    """… and the row after its last; the same where it has no ink."""

    def any_in(self, left: int, right: int) -> bool:
        """Whether any of some columns has ink."""
        held = slice(max(left - self.x, 0), max(right - self.x, 0))
        return bool((self.foot[held] > self.head[held]).any())

    def goes_on(self, first: int, column: int, play: float) -> bool:
        """Whether a column's stroke begins and ends as the first one's does, within some play."""
        one, other = first - self.x, column - self.x
        if not 0 <= other < len(self.head) or self.foot[other] <= self.head[other]:
            return False
        apart = max(
            abs(int(self.head[one] - self.head[other])), abs(int(self.foot[one] - self.foot[other]))
        )
        return apart <= max(play, 1.0)

    def reach(self, left: int, right: int) -> tuple[int, int]:
        """Head and foot of the columns' strokes in the middle, sheet rows."""
        held = slice(left - self.x, right - self.x)
        top = int(self.top[(left + right) // 2 - self.x])
        return top + int(np.median(self.head[held])), top + int(np.median(self.foot[held]))

    def baseline(self, x: int) -> int:
        """Sheet row of the baseline in a sheet column."""
        return int(self.top[x - self.x]) + self.base

    def beside(self, left: int, right: int, head: int, foot: int) -> float:
        """The least share of ink among columns, between two rows: 0 on paper alone."""
        columns = np.arange(max(left - self.x, 0), min(right - self.x, self.dark.shape[1]))
        if not len(columns):
            return 0.0
        top = int(self.top[columns[0]])
        rows = slice(max(head - top, 0), max(foot - top, 1))
        return float(self.dark[rows, columns].mean(axis=0).min())

    def box(self, left: int, right: int) -> Box:
        """Round the strokes of some columns."""
        head, foot = self.reach(left, right)
        return Box(left, head, right - left, foot - head)


def standing_ink(matter: Matter, row: int) -> StandingInk | None:
    """The ink of a line's band; None where there is too little of it to see."""
    line = matter.lines[row]
    image = looked_at(matter.sheets[line.sheet].image)
    size = line.x_height_px
    left, right = max(line.box.x, 0), min(line.box.right, image.shape[1])
    columns = np.arange(left, right)
    if not len(columns):
        return None
    slope = (line.baseline[1] - line.baseline[0]) / max(line.box.width, 1)
    base = np.round(matter.baseline(row, left) + slope * (columns - left)).astype(np.intp)
    steps = np.arange(round(-BAND_X[0] * size), round(BAND_X[1] * size) + 1)
    band = line_band(image, base, steps, left)
    paper, ink = grey_percentiles(band[::2, ::2], (85, 2))
    if paper - ink < LEAST_CONTRAST:
        return None
    dark = band < (paper + ink) / 2
    head, foot = _longest(dark)
    return StandingInk(left, base + steps[0], -int(steps[0]), dark, head, foot)


def _longest(dark: NDArray[np.bool_]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """The longest unbroken run of ink of each column."""
    count, ends, best = np.zeros((3, dark.shape[1]), np.int32)
    for row, inked in enumerate(dark, 1):
        count += 1
        count *= inked
        np.putmask(ends, count > best, row)
        np.maximum(best, count, out=best)
    return (ends - best).astype(np.intp), ends.astype(np.intp)
