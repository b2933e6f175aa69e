"""Ditto marks: two quotes that stand alone under a word of the line above, far off from any letter.

The points and quotes of a line stand close to its letters (`sharing`), and what is small and far
off from all is dirt. A pair of marks as like as those of a quote, level with each other and with
nothing beside them, is neither: it belongs to the line in whose height it stands.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from proofcheck.sheet.baselines import Fit
    from proofcheck.sheet.pieces import Pieces

__all__ = ["with_dittos"]

_HIGH: Final = (0.28, 0.85)
"""Height of a mark, in x-heights."""
_LIKE: Final = 0.75
"""The lower of the two is as high as this share of the higher, and so for their ink."""
_LEVEL: Final = 0.12
"""Their tops are so nearly level, in x-heights."""
_SLIM: Final = 1.2
"""A mark is narrower than so many times its height."""
_DOUBLE: Final = (0.75, 1.8)
"""Width of two marks that print as one, in their height:"""
_DIP: Final = 0.8
"""between them there is at most this share of the ink of either."""
_APART: Final = (-0.12, 0.5)
"""White between the two, in x-heights; sloping ones reach over one another."""
_ALONE: Final = 0.8
"""No other ink so near on either side of the pair, in x-heights."""
_TOP: Final = (0.1, 1.85)
_FOOT: Final = (-0.7, 1.1)
"""How far over the baseline of its line the top of a mark may be, and its foot, in x-heights: from
commas on it to quotes over small letters."""
_FAR: Final = 20.0
"""How far beside the letters of its line a pair may stand, in x-heights."""


def with_dittos(
    pieces: Pieces,
    labels: NDArray[np.int32],
    free: NDArray[np.intp],
    members: Sequence[NDArray[np.intp]],
    fits: Sequence[Fit],
) -> list[NDArray[np.intp]]:
    """The pieces of each line with the pairs of ditto marks that stand in its height.

    Args:
        pieces: all of a sheet.
        labels: which piece each pixel is of, from 1; 0 for none.
        free: those that no line has.
        members: each line's.
        fits: the geometry of each line.
    """
    if not members:
        return []
    found = list(members)
    ends = np.array([(pieces.x[row].min(), pieces.right[row].max()) for row in members])
    level, slope, size = np.array([(fit.level, fit.slope, fit.x_height) for fit in fits]).T
    ink, usual = np.concatenate([free, *found]), float(np.median(size))
    high = pieces.height[free]
    marks = free[(high > _HIGH[0] * usual) & (high < _HIGH[1] * usual)]
    pairs = [*_pairs(pieces, marks, ink, usual), *_doubles(pieces, labels, marks, ink, usual)]
    measure = ends[:, 0].min(), ends[:, 1].max()
    middles = [float(pieces.x[pair[0]] + pieces.right[pair[-1]]) / 2 for pair in pairs]
    # From the middle of the sheet outwards: one that is of a line brings the next within its reach.
    for middle, pair in sorted(
        zip(middles, pairs, strict=True), key=lambda each: abs(each[0] - sum(measure) / 2)
    ):
        base = level + slope * middle
        off = np.maximum(np.maximum(ends[:, 0] - middle, middle - ends[:, 1]), 0.0) / size
        top, foot = (base - pieces.y[pair[0]]) / size, (base - pieces.bottom[pair[0]]) / size
        within = (_TOP[0] < top) & (top < _TOP[1]) & (_FOOT[0] < foot) & (foot < _FOOT[1])
        off[~within | (off > _FAR)] = np.inf
        if measure[0] < middle < measure[1] and np.isfinite(off).any():
            nearest = int(np.argmin(off))
            found[nearest] = np.append(found[nearest], pair)
            reach = pieces.x[pair[0]], pieces.right[pair[-1]]
            ends[nearest] = min(ends[nearest][0], reach[0]), max(ends[nearest][1], reach[1])
    return found


def _doubles(
    pieces: Pieces,
    labels: NDArray[np.int32],
    marks: NDArray[np.intp],
    all_ink: NDArray[np.intp],
    size: float,
) -> Iterator[tuple[int]]:
    """Two marks run together that stand alone: of ink in two humps, which no blot is."""
    high, wide = pieces.height[marks], pieces.width[marks]
    for one in marks[(wide > _DOUBLE[0] * high) & (wide < _DOUBLE[1] * high)].tolist():
        rows = slice(int(pieces.y[one]), int(pieces.bottom[one]))
        columns = slice(int(pieces.x[one]), int(pieces.right[one]))
        ink = (labels[rows, columns] == one + 1).sum(axis=0)
        third, half = len(ink) // 3, len(ink) // 2
        dip = ink[third : len(ink) - third].min(initial=len(labels))
        humps = min(ink[:half].max(initial=0), ink[half:].max(initial=0))
        if dip <= _DIP * humps and _stand_alone(pieces, all_ink, (one,), _ALONE * size):
            yield (one,)


def _pairs(
    pieces: Pieces, marks: NDArray[np.intp], all_ink: NDArray[np.intp], size: float
) -> Iterator[tuple[int, int]]:
    """Two marks side by side that are as one and stand alone."""
    marks = marks[pieces.width[marks] < _SLIM * pieces.height[marks]]
    for one in marks[np.argsort(pieces.x[marks], kind="stable")].tolist():
        white = (pieces.x[marks] - pieces.right[one]) / size
        beside = (white > _APART[0]) & (white < _APART[1])
        beside &= np.abs(pieces.y[marks] - pieces.y[one]) < _LEVEL * size
        for extent in (pieces.height, pieces.area):
            least = np.minimum(extent[marks], extent[one])
            beside &= least > _LIKE * np.maximum(extent[marks], extent[one])
        if np.count_nonzero(beside) == 1:
            other = int(marks[np.flatnonzero(beside)[0]])
            if _stand_alone(pieces, all_ink, (one, other), _ALONE * size):
                yield one, other


def _stand_alone(
    pieces: Pieces, ink: NDArray[np.intp], pair: tuple[int, ...], reach: float
) -> bool:
    """Whether there is no other ink within reach on either side of a pair."""
    one, other = pair[0], pair[-1]
    near = pieces.right[ink] > pieces.x[one] - reach
    near &= pieces.x[ink] < pieces.right[other] + reach
    near &= (pieces.bottom[ink] > pieces.y[one]) & (pieces.y[ink] < pieces.bottom[one])
    return int(np.count_nonzero(near)) == len(pair)
