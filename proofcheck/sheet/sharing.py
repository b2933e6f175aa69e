"""Share out what is left among the lines: points, dots, quotes, touching letters, initials."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.values import Box
from proofcheck.sheet.dittos import with_dittos
from proofcheck.sheet.dotted_blanks import without_blanks

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.sheet.baselines import Fit
    from proofcheck.sheet.pieces import Pieces
    from proofcheck.sheet.sift import Sifted

__all__ = ["ABOVE_X", "BELOW_X", "LEAST_OF_ROW", "Share", "is_clear", "share_out"]

ABOVE_X = 1.85
"""How far above its baseline a line's own small pieces may have their middle, in x-heights."""
BELOW_X = 0.6
"""… and how far below. In solid matter lines are some 2.2 x-heights apart."""
_REACH = 1.6
"""How far beside a line's last letter a point, quote or leader may stand, in x-heights."""
_FURTHER = 0.6
"""… and how much further a whole dash: no dirt has its shape and its height."""
_FOLIO = 4
"""A row of no more letters may be a folio, whose dashes stand off from it by an em and more
(common practice):"""
_OFF_FOLIO = 1.2
"""so much further than others, in x-heights."""
_FLAT, _MID = 1.5, 0.3
"""A bit of a dash is so many times as wide as high, so near the middle of the x-height."""
_ASCENDERS = 1.35
"""What stands wholly over this is over the line's tall letters too, x-heights."""
_DEEP = 0.15
"""What begins no higher over the baseline is under its letters, x-heights: a comma may."""
_OVER, _UNDER = 2.2, 0.5
"""A small line that ends so near over a line's baseline, or begins so near under it, could pass for
points of that line, x-heights."""
LEAST_OF_ROW, _SET = 4, 0.7
"""So many pieces side by side with no more white between two, in heights of the taller, are a line
by themselves: accents and dots have the width of letters between them."""
_SPECK = 0.13
"""Smaller pieces are dirt (x-heights); a worn full point has some 0.2."""


@dataclass(frozen=True, slots=True, eq=False)
class Share:
    """What belongs to one line."""

    members: NDArray[np.intp]
    box: Box


def share_out(
    pieces: Pieces,
    labels: NDArray[np.int32],
    sifted: Sifted,
    rows: Sequence[NDArray[np.intp]],
    fits: Sequence[Fit],
) -> list[Share]:
    """Each row with the small and tall pieces that belong to it, and the box round its ink."""
    taken = np.zeros(len(pieces), bool)
    for row in rows:
        taken[row] = True
    free = np.flatnonzero((sifted.letter | sifted.small) & ~taken)
    members = [np.asarray(row) for row in rows]
    for _ in range(3):
        owner = _owners(pieces, free, members, fits)
        if not (owner >= 0).any():
            break
        for index in np.unique(owner[owner >= 0]):
            members[index] = np.concatenate([members[index], free[owner == index]])
        free = free[owner < 0]
    members = with_dittos(pieces, labels, free, members, fits)
    members = without_blanks(pieces, free, members, fits)
    shares = [Share(row, _box(pieces, row)) for row in members]
    return _with_tall(pieces, labels, free[sifted.letter[free]], shares, fits)


def _owners(
    pieces: Pieces,
    free: NDArray[np.intp],
    members: Sequence[NDArray[np.intp]],
    fits: Sequence[Fit],
) -> NDArray[np.intp]:
    """For each free piece the line it belongs to, or −1."""
    part = pieces.take(free)
    centre = (part.y + part.bottom) / 2
    best = np.full(len(free), np.inf)
    owner = np.full(len(free), -1, np.intp)
    for index, (row, fit) in enumerate(zip(members, fits, strict=True)):
        size = fit.x_height
        low, high = pieces.x[row].min(), pieces.right[row].max()
        height = (fit.at(part.middle) - centre) / size
        beside = np.where(np.maximum(part.height, part.width) < 0.2 * size, 0.0, _REACH * size)
        # A spaced dash before or after the line ("— 12 —") has its near end within reach, and so
        # has each bit of one that prints broken.
        wide = part.width > 1.2 * size
        flat = (part.width > _FLAT * part.height) & (np.abs(height - 0.5) < _MID) & (beside > 0)
        beside += np.where(wide | flat, part.width / 2, 0.0)
        further = _FURTHER + (_OFF_FOLIO if fit.letters <= _FOLIO else 0.0)
        beside += np.where(wide & flat, further * size, 0.0)
        inside = (part.middle > low - beside) & (part.middle < high + beside)
        inside &= (height > -BELOW_X) & (height < ABOVE_X) & (part.height < 2.4 * size)
        inside &= (part.width < 8 * size) & (np.maximum(part.height, part.width) > _SPECK * size)
        if inside.any():
            inside &= ~_small_line_by(pieces, row, fit)[free]
        away = np.abs(height - 0.5)
        closer = inside & (away < best)
        best[closer] = away[closer]
        owner[closer] = index
    return owner


def is_clear(
    top: NDArray[np.float64],
    bottom: NDArray[np.float64],
    base: NDArray[np.float64],
    size: NDArray[np.float64] | float,
) -> NDArray[np.bool_]:
    """What stands wholly under a line's letters or over them: a small line, points of letters.

    Args:
        top: its top edge.
        bottom: its bottom edge.
        base: the line's baseline there.
        size: the line's x-height.
    """
    return np.asarray((top > base - _DEEP * size) | (bottom < base - _ASCENDERS * size))


def _small_line_by(pieces: Pieces, row: NDArray[np.intp], fit: Fit) -> NDArray[np.bool_]:
    """Which pieces close over or under a line stand side by side as letters of a small line do."""
    size, base = fit.x_height, fit.at(pieces.middle)
    near = (pieces.bottom > base - _OVER * size) & (pieces.y < base + _UNDER * size)
    near &= pieces.height < size
    near &= (pieces.middle > pieces.x[row].min()) & (pieces.middle < pieces.right[row].max())
    near &= is_clear(pieces.y, pieces.bottom, base, size) & (pieces.height > _SPECK * size)
    near[row] = False
    found = np.zeros(len(pieces), bool)
    under = pieces.y > base - size
    for side in (near & under, near & ~under):
        run: list[int] = []
        ordered = np.flatnonzero(side)
        for at in [*ordered[np.argsort(pieces.x[ordered])].tolist(), -1]:
            if run and at >= 0 and _are_side_by_side(pieces, run[-1], at):
                run.append(at)
                continue
            if len(run) >= LEAST_OF_ROW:
                found[run] = True
            run = [at]
    return found


def _are_side_by_side(pieces: Pieces, one: int, other: int) -> bool:
    tall = float(max(pieces.height[one], pieces.height[other]))
    low, high = max(pieces.y[one], pieces.y[other]), min(pieces.bottom[one], pieces.bottom[other])
    return bool(pieces.x[other] - pieces.right[one] < _SET * tall and high - low > tall / 2)


def _box(pieces: Pieces, row: NDArray[np.intp]) -> Box:
    mine = pieces.take(row)
    x, y = int(mine.x.min()), int(mine.y.min())
    return Box(x, y, int(mine.right.max()) - x, int(mine.bottom.max()) - y)


def _with_tall(
    pieces: Pieces,
    labels: NDArray[np.int32],
    tall: NDArray[np.intp],
    shares: Sequence[Share],
    fits: Sequence[Fit],
) -> list[Share]:
    """Give tall pieces to the lines they run through.

    One that runs through a single line (a brace, a raised initial) is that line's. A dropped
    initial is its first line's. Letters of several lines that touch are shared: each line's box
    reaches over them sideways, not in height.
    """
    found = list(shares)
    if not found:
        return found
    level, slope, size = np.array([(f.level, f.slope, f.x_height) for f in fits]).T
    ends = np.array([(s.box.x, s.box.right) for s in shares], float)
    for piece in tall:
        x, right = pieces.x[piece], pieces.right[piece]
        top, bottom = pieces.y[piece], pieces.bottom[piece]
        base = level + slope * (x + right) / 2
        # Beside or in the line, over most of the height of its small letters.
        through = (top < base - 0.7 * size) & (bottom > base - 0.3 * size)
        through &= (right > ends[:, 0] - _REACH * size) & (x < ends[:, 1] + _REACH * size)
        lines = np.flatnonzero(through & (bottom - top < 12 * size))
        if not len(lines):
            continue
        first = int(lines[np.argmin(base[lines])])
        if len(lines) == 1 or _is_initial(pieces, labels, piece, shares[first], fits[first]):
            members = np.append(found[first].members, piece)
            found[first] = Share(members, _box(pieces, members))
            continue
        for index in lines.tolist():
            box = found[index].box
            low, high = min(box.x, int(x)), max(box.right, int(right))
            found[index] = Share(found[index].members, Box(low, box.y, high - low, box.height))
    return found


def _is_initial(
    pieces: Pieces, labels: NDArray[np.int32], piece: int, share: Share, fit: Fit
) -> bool:
    """Whether a tall piece stands before a line's first letter, about level with its top.

    Two letters that touch, one under the other, have a neck under the baseline; an initial's
    stem is stouter than that.
    """
    middle, size = (pieces.x[piece] + pieces.right[piece]) / 2, fit.x_height
    base = float(fit.at(middle))
    before = pieces.right[piece] < share.box.x + 1.2 * size
    high, wide = base - pieces.y[piece] > 0.9 * size, pieces.width[piece] > 0.8 * size
    if not (before and high and wide):
        return False
    columns = slice(int(pieces.x[piece]), int(pieces.right[piece]))
    under = labels[int(base + 0.1 * size) : int(base + 0.9 * size), columns] == piece + 1
    return bool(under.sum(axis=1).min(initial=columns.stop) > 0.3 * size)
