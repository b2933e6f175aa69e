"""Where a line stands and how large its letters are: baseline, x-height, body.

Heights are measured from piece edges, so a baseline is the lower edge of the letters that stand
on it: the first white row of a level line. Round letters overshoot the line and the x-height by
some hundredths of it, and a mean over pieces takes in some of that; `edges` takes it out again.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from statistics import median
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.sheet.pieces import Pieces

__all__ = [
    "CAPITALS_TO_X",
    "EM_TO_X",
    "Fit",
    "fit_row",
    "share_sizes",
    "straighten_short",
    "with_dots",
]

_LONG, _FAIR, _SEVERAL = 20, 8, 3
"""Letters of a row that shows its slope by itself, and of one that does beside others like it; and
how many of these."""
_STEADY = 0.003
"""Slopes (a sixth of a degree) within which neighbouring lines of a deskewed sheet keep."""
_NO_QUOTE = 0.45
"""Quotes are a third of a capital's height (common practice); small letters beside an ascender or
a descender are half of its height and more."""
_SAME = 0.03
"""Lines of one face and size keep their x-height within this share on a sheet."""
_ONE_SIZE = 0.045
"""x-heights of lines of one size are within this share: sizes of type stand at least 8 % apart (11
and 12 point)."""
CAPITALS_TO_X = 0.68
"""x-height over height of capitals, for lines that have no small letters (common practice)."""
EM_TO_X = 0.45
"""x-height over body, typical of book faces: 0.40 for old style, 0.48 for modern faces
(from memory)."""


@dataclass(frozen=True, slots=True)
class Fit:
    """A line's geometry: baseline y = `level` + `slope` · x, sheet pixels."""

    level: float
    slope: float
    x_height: float
    letters: int
    width: float
    """From its first to its last letter."""
    sure: bool
    """True where small letters and taller ones were told apart."""
    height: float
    """Height of the commonest letters: x-height or capitals."""
    signs: int = 0
    """Letters that rise over the commonest or hang below the line, as few capitals do; and, once
    counted, letters with dots over them, as no capitals have."""
    dotted: bool = False
    """Whether there are such letters."""

    def at(self, x: float | NDArray[np.float64]) -> NDArray[np.float64]:
        """The baseline at x."""
        return np.asarray(self.level + self.slope * np.asarray(x, np.float64))


def _densest(values: NDArray[np.float64], reach: float) -> tuple[float, int]:
    """The value with most others within `reach`, and their number."""
    ranked = np.sort(values)
    count = np.searchsorted(ranked, ranked + reach, side="right") - np.searchsorted(
        ranked, ranked - reach
    )
    best = np.flatnonzero(count == count.max())
    return float(ranked[best[len(best) // 2]]), int(count.max())


def _baseline(
    x: NDArray[np.float64], bottom: NDArray[np.float64], tall: float, slope: float | None
) -> tuple[float, float]:
    """Level and slope through the bottoms of the letters that stand on the line."""
    pitch = 0.0 if slope is None else slope
    free = slope is None and len(x) >= 8 and np.ptp(x) > 8 * tall
    level = _standing(bottom - pitch * x, tall)
    for reach in (0.3, 0.2, 0.12):
        near = np.abs(bottom - level - pitch * x) <= max(reach * tall, 1.5)
        if free and np.count_nonzero(near) >= 6:
            pitch, level = np.polyfit(x[near], bottom[near], 1)
        elif near.any():
            level = float(np.mean((bottom - pitch * x)[near]))
    return float(level), float(pitch)


def _standing(rest: NDArray[np.float64], tall: float) -> float:
    """The level most letters stand on.

    Where descenders outnumber the rest ("pygmy"), the baseline is the next level above theirs.
    """
    reach = max(0.12 * tall, 1.0)
    level, count = _densest(rest, reach)
    above = rest[rest < level - 2 * reach]
    if len(above):
        higher, fewer = _densest(above, reach)
        if fewer >= 0.4 * count:
            return higher
    return level


def _lowest_pair(values: NDArray[np.float64], reach: float) -> float | None:
    """The lowest of some values that another is within `reach` of; None if there is none."""
    ranked = np.sort(values)
    close = np.flatnonzero(np.diff(ranked) <= reach)
    return float(ranked[close[0]]) if len(close) else None


def _x_height(above: NDArray[np.float64], hanging: int) -> tuple[float, bool, float, int]:
    """x-height, whether small letters were told from tall, the commonest height, and its signs.

    `hanging` letters reach below the line: only small letters do (but for Q and J).
    """
    reach = max(0.06 * median(above.tolist()), 1.0)
    most, count = _densest(above, reach)
    low = above[(above < most / 1.2) & (above > most / 1.9)]
    high = above[(above > most * 1.2) & (above < most * 1.9)]
    found, sure = most, True
    if len(low) >= 3 and _densest(low, reach)[1] >= max(0.25 * count, 3):
        found = _densest(low, reach)[0]
    elif hanging and not len(high) and (pair := _lowest_pair(low, reach)):
        # Where none rises over the commonest though some hang, those are the tall ones ("phil").
        found = pair
    elif len(high) + hanging < max(0.08 * len(above), 1):
        sure = False
    near = np.abs(above - found) <= 1.3 * reach
    exact = float(np.mean(above[near]))
    signs = len(high) + hanging
    return (exact if sure else exact * CAPITALS_TO_X), sure, exact, signs


def fit_row(pieces: Pieces, members: NDArray[np.intp], slope: float | None = None) -> Fit:
    """Baseline and x-height of one row of letters.

    Args:
        pieces: all pieces of the sheet.
        members: the row's letters.
        slope: rise of the baseline in pixels a pixel where it is known; found if None.
    """
    row = pieces.take(members)
    tall = float(median(row.height.tolist()))
    fit = row.height >= 0.55 * tall
    if len(row) < 8:
        # Quotes beside a letter or two would be taken for the letters.
        tall = float(np.percentile(row.height, 70))
        fit = row.bottom > row.bottom.max() - 0.6 * tall
        if np.count_nonzero(fit) <= len(row) / 3:
            # One hangs ("pièce") that all others end so high over: quotes are no half as tall, and
            # end in the upper half of the row.
            middle = (row.y.min() + row.bottom.max()) / 2
            fit |= (row.height > _NO_QUOTE * row.height.max()) & (row.bottom > middle)
    letters = row.take(fit)
    level, pitch = _baseline(letters.middle, letters.bottom, tall, slope)
    off = letters.bottom - level - pitch * letters.middle
    above = level + pitch * letters.middle - letters.y
    standing = (above > 0.4 * tall) & (off > -0.25 * tall)
    if not standing.any():
        standing = above > -np.inf
    hanging = np.count_nonzero((off > 0.25 * tall) & (letters.height > 1.15 * tall))
    x_height, sure, common, signs = _x_height(np.maximum(above[standing], 1.0), int(hanging))
    count, width = len(letters), float(row.right.max() - row.x.min())
    return Fit(level, pitch, x_height, count, width, sure and count >= 4, common, signs)


def straighten_short(pieces: Pieces, rows: Sequence[NDArray[np.intp]]) -> list[Fit]:
    """Fit every row; rows too short to show their slope take that of the long rows nearest.

    On a ticket or a small table no row is long: there several of fair length speak together.
    """
    fits = [fit_row(pieces, row) for row in rows]
    letters = np.array([f.letters for f in fits])
    long = letters >= _LONG
    if not long.any():
        long = letters >= _FAIR
        if np.count_nonzero(long) < _SEVERAL:
            return fits
    slopes = np.array([f.slope for f in fits])
    levels = np.array([float(np.median(pieces.bottom[row])) for row in rows])
    for index, row in enumerate(rows):
        near = np.argsort(np.abs(levels[long] - levels[index]))[:7]
        slope = float(np.median(slopes[long][near]))
        if not long[index] or abs(slopes[index] - slope) > _STEADY:
            fits[index] = fit_row(pieces, row, slope)
    return fits


def with_dots(fit: Fit, dots: int) -> Fit:
    """Take a row with two signs of small letters, one of them a dot, for small letters."""
    signs = fit.signs + dots
    if fit.sure or not dots or signs < 2:
        return replace(fit, signs=signs, dotted=dots > 0)
    return replace(fit, signs=signs, dotted=True, sure=True, x_height=fit.height)


_PITCH = 1.3
"""Widest pitch of a row of letters in their height: spaced capitals have no more; common
practice."""


def share_sizes(
    fits: Sequence[Fit], flush: Sequence[bool], blocks: Sequence[int] = ()
) -> list[Fit]:
    """Lines of one size take its common x-height; lines that could be either join a known size.

    A line with next to no taller letters and no dots is capitals, figures, or a few small letters
    ("me."). It is taken for what a surer line of the sheet has at that
    height: small letters where it is very short, or starts `flush` with its column and is short or
    has a letter that rises or hangs and just the height of those; for capitals otherwise.
    Where it could be small letters of one size or capitals of another, the nearer sure line of its
    block says which of them stand there.

    Args:
        fits: the geometry of each line.
        flush: which start where their column does.
        blocks: of which block of matter each is; of one if left out.
    """
    sizes = _common_sizes([f for f in fits if f.sure])
    blocks = blocks or [0] * len(fits)
    return [
        replace(f, x_height=_settled(f, _about(f, block, fits, blocks, sizes), at))
        for f, at, block in zip(fits, flush, blocks, strict=True)
    ]


def _about(
    fit: Fit, block: int, fits: Sequence[Fit], blocks: Sequence[int], sizes: Sequence[float]
) -> Sequence[float]:
    """The sizes a line may have; one of them where it may be of two and the next line tells."""
    small, tall = _may_be(fit, sizes)
    if fit.sure or not (small and tall):
        return sizes
    near = [
        (abs(other.level - fit.level), size)
        for other, where in zip(fits, blocks, strict=True)
        if other.sure and where == block
        for size in (*small, *tall)
        if abs(other.x_height - size) < _ONE_SIZE * size
    ]
    return [min(near)[1]] if near else sizes


def _may_be(fit: Fit, sizes: Sequence[float]) -> tuple[list[float], list[float]]:
    """The sizes of whose small letters a line's may be, and those of whose capitals."""
    small = [s for s in sizes if abs(fit.height - s) < 0.09 * s]
    return small, [s for s in sizes if 1.3 * s < fit.height < 1.65 * s]


def _common_sizes(fits: Sequence[Fit]) -> list[float]:
    """x-heights of the sheet's sizes, commonest first: means over the lines of each."""
    heights = np.array([f.x_height for f in fits])
    letters = np.array([float(f.letters) for f in fits])
    sizes: list[float] = []
    while letters.any():
        near = np.abs(heights[:, None] / heights - 1) < _ONE_SIZE
        mine = near[int(np.argmax(near @ letters))] & (letters > 0)
        sizes.append(float(np.average(heights[mine], weights=letters[mine])))
        letters[np.abs(heights / sizes[-1] - 1) < _ONE_SIZE] = 0
        letters[mine] = 0
    return sizes


def _settled(fit: Fit, sizes: Sequence[float], flush: bool) -> float:
    if fit.sure:
        near = [s for s in sizes if abs(s - fit.x_height) < 0.1 * s]
        return min(near, key=lambda s: abs(s - fit.x_height)) if near else fit.x_height
    small, tall = _may_be(fit, sizes)
    # White before a figure at the end of a row makes it no longer.
    close = _PITCH * fit.height * fit.letters
    width = close if fit.width > 2 * close else fit.width
    if small and width < (12 if flush else 2.6) * fit.height:
        return small[0]
    same = [s for s in small if abs(fit.height - s) < _SAME * s]
    if same and ((flush and fit.signs) or (fit.dotted and not tall)):
        return same[0]
    if tall:
        return min(tall, key=lambda s: abs(fit.height * CAPITALS_TO_X - s))
    return fit.x_height
