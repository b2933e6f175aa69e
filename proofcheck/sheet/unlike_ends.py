"""Rows of which two parts stand side by side and are no one line: their baselines or sizes differ.

A side note stands beside the text, the words of one compartment beside those of the next, the name
under a notice beside its date. Where they happen to be near a level they were gathered to one row;
measured as one, the x-height of neither comes out, and both are misread.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.sheet.baselines import CAPITALS_TO_X, straighten_short

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from proofcheck.sheet.baselines import Fit
    from proofcheck.sheet.pieces import Pieces
    from proofcheck.sheet.true_lines import Row

__all__ = ["parted_where_unlike"]

_GAP = 1.2
"""Least white between two parts, in heights of the taller's letters: no less is within runs."""
_WORDS, _SENTENCES = 3.0, 6.0
"""White that is no word space, in the same; and none between sentences either, where quotes stand
in it and old books have an em and a half besides."""
_FEWEST, _SEVERAL = 5, 8
"""Letters of a part that is measured by itself: fewer may be figures that all hang, or brackets;
and of one that is measured well."""
_LOW = 0.45
"""Pieces lower than this, beside the tallest, are points, quotes and dashes more than letters."""
_OFF, _FAR_OFF = 0.25, 0.6
"""Parts of one line have baselines no further apart, in x-heights of the smaller: several letters
tell theirs to a tenth, few old-style figures may be taken to stand where their tails end."""
_LEAST_OFF_PX = 2.5
_FEW, _ELSEWHERE, _MOST = 4, 0.8, 0.7
"""Parts of so few letters, far from each other, whose baselines are so far apart, in the same: no
hanging figure stands so low, but what stands beside the middle of two lines. So many of its letters
stand on its baseline; of dashes for a price fewer do."""
_ON, _SOME = 0.1, 0.2
"""A letter stands on a baseline so near it, in x-heights; of a line's letters this share does."""
_SIZES = 1.15
"""x-heights within this ratio may be of one size: italic and roman, old-style figures and letters
differ by a tenth."""


_TALL = 85
"""Ascenders and capitals are as tall as this percentile of letters, or taller."""


@dataclass(frozen=True, slots=True)
class _Cut:
    """A white in a row at which it may be parted."""

    row: int
    before: NDArray[np.bool_]
    """Which pieces of the row stand before it."""
    sides: tuple[NDArray[np.intp], NDArray[np.intp]]
    """The pieces on both sides."""
    ends: tuple[NDArray[np.intp], NDArray[np.intp]]
    """… and those of them next to it, which what stands further off does not spoil."""


def parted_where_unlike(pieces: Pieces, rows: Sequence[Row]) -> list[Row]:
    """Rows as they are, or each in its parts where these are of different lines."""
    tries = [cut for at, row in enumerate(rows) for cut in _cuts(pieces, at, row.members)]
    parts = [part for cut in tries for part in (*cut.sides, *cut.ends)]
    # With the whole rows, for the slope of the sheet where they stand.
    fits = straighten_short(pieces, [*(row.members for row in rows), *parts])[len(rows) :]
    cuts: list[list[NDArray[np.bool_]]] = [[] for _ in rows]
    for at, cut in enumerate(tries):
        left, right, end, start = fits[4 * at : 4 * at + 4]
        sides, ends = [[pieces.take(part) for part in two] for two in (cut.sides, cut.ends)]
        if _are_unlike(sides, (left, right)) and _are_unlike(ends, (end, start)):
            cuts[cut.row].append(cut.before)
    return [part for row, its in zip(rows, cuts, strict=True) for part in _parts(row, its)]


def _cuts(pieces: Pieces, row: int, members: NDArray[np.intp]) -> Iterator[_Cut]:
    """The whites of some width in a row with letters enough on both sides."""
    ordered = members[np.argsort(pieces.x[members], kind="stable")]
    starts, ends = pieces.x[ordered], np.maximum.accumulate(pieces.right[ordered])
    white = np.append(0.0, starts[1:] - ends[:-1])
    wide = np.flatnonzero(white > _GAP * float(np.median(pieces.height[members])))
    for at in wide.tolist():
        # What stands beyond a wider white is no neighbour.
        wider = [0, *wide[white[wide] > white[at]].tolist(), len(members)]
        bounds = [0, *wide.tolist(), len(members)]
        first, last = max(w for w in wider if w < at), min(w for w in wider if w > at)
        many, few = (
            (
                [w for w in bounds if first <= w <= at - some],
                [w for w in bounds if at + some <= w <= last],
            )
            for some in (_FEWEST, _FEW)
        )
        before, after = many[0] or few[0], many[1] or few[1]
        if before and after:
            sides = (ordered[:at], ordered[at:])
            next_to = (ordered[max(before) : at], ordered[at : min(after)])
            yield _Cut(row, pieces.x[members] < starts[at], sides, next_to)


def _parts(row: Row, cuts: Sequence[NDArray[np.bool_]]) -> list[Row]:
    """A row cut at some of its whites."""
    if not cuts:
        return [row]
    place = np.sum([~cut for cut in cuts], axis=0)
    return [replace(row, members=row.members[place == at]) for at in range(len(cuts) + 1)]


def _are_unlike(parts: Sequence[Pieces], fits: tuple[Fit, Fit]) -> bool:
    """Whether what stands before a white and what stands after it are of two lines."""
    before, after = fits
    low, high = float(parts[0].right.max()), float(parts[1].x.min())
    white, at = high - low, (low + high) / 2
    tall = max(before.height, after.height)
    if white < _GAP * tall:
        return False
    letters = min(_letters(part) for part in parts)
    small = min(before.x_height, after.x_height)
    off = abs(float(before.at(at) - after.at(at)))
    if letters < _FEWEST:
        elsewhere = off > _ELSEWHERE * small and white > _SENTENCES * tall
        stand = all(_stand_on(part, fit, _MOST) for part, fit in zip(parts, fits, strict=True))
        return letters >= _FEW and elsewhere and stand
    several = letters >= _SEVERAL
    least = _OFF if several else _FAR_OFF
    if off > max(least * small, _LEAST_OFF_PX):
        # Of "jolly giddy" most hang, and those that don't stand on the line of the others.
        return not (_stand_on(parts[0], after) or _stand_on(parts[1], before))
    far = white > (_WORDS if several else _SENTENCES) * tall
    return far and _are_of_two_sizes(parts, fits)


def _letters(part: Pieces) -> int:
    """How many letters a part has: points and dashes, as of a price, tell no size."""
    return int(np.count_nonzero(part.height > _LOW * part.height.max()))


def _stand_on(part: Pieces, fit: Fit, share: float = _SOME) -> bool:
    """Whether some of its letters, or so many, stand on a baseline, as on another part's."""
    off = np.abs(part.bottom - fit.at(part.middle))
    return float(np.mean(off <= max(_ON * fit.x_height, 1.5))) >= share


def _are_of_two_sizes(parts: Sequence[Pieces], fits: tuple[Fit, Fit]) -> bool:
    """Whether two parts can't be of one size, be what has no sure x-height small or capitals.

    Lining figures, of which a few may be bold, seem to be small letters as high as they are: what
    is of a larger size has tall letters that are taller too.
    """
    heights, talls = [], []
    for part, fit in zip(parts, fits, strict=True):
        heights.append([fit.x_height] if fit.sure else [fit.height, CAPITALS_TO_X * fit.height])
        talls.append(float(np.percentile(fit.at(part.middle) - part.y, _TALL)))
    one, other = heights
    unlike = all(max(a, b) > _SIZES * min(a, b) for a in one for b in other)
    return unlike and max(talls) > _SIZES * min(talls)
