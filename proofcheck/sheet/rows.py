"""Letters to segments: runs of letters side by side with no wide gap between them."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from statistics import median
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.sheet.pieces import Pieces, group, linked

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Box

__all__ = [
    "RULE", "Segment", "bridge_dashes", "find_segments", "links", "parted_by_rules", "run_of",
    "without_bits", "words_joined",
]  # fmt: skip

_GAP = 1.2
"""Widest gap within a segment, in heights of the taller neighbour. Word spaces are a third to a
half of an em, an em some 2.2 x-heights; the narrowest gutter between columns is about an em."""
_WORDS = 3.0
"""White between words of one line at most, in heights of its letters: an em and a half after a full
point."""
_OVERLAP = 0.45
"""Least share of the taller neighbour's height that both neighbours have in common: "p" and "d"
have 0.6, letters of two neighbouring lines next to nothing."""


_FEW = 9
"""Letters at an end of a run that tell where it stands there: among fewer, tall and hanging ones
could outnumber the others."""
_FEWEST = 4
"""So few pieces may be quotes or points more than letters."""
_LOW = 0.6
"""Where all letters have ink beside the tallest of them, in its height from the top: quotes end
higher, points begin lower."""


RULE = 10
"""A rule is at least so many times as long as thick."""


@dataclass(frozen=True, slots=True, eq=False)
class Segment:
    """A run of letters, sheet pixels."""

    members: NDArray[np.intp]
    """Its pieces (indices), left to right."""
    x: float
    right: float
    top: float
    """Median top of its letters."""
    bottom: float
    """Median bottom of its letters: near the baseline."""
    tall: float
    """Height of its tallest letter."""
    gap: float
    """Its widest gap."""
    head: tuple[float, float]
    """Median top and bottom of its first few letters: a bowed line is not level along it."""
    tail: tuple[float, float]
    """… and of its last few."""


def links(pieces: Pieces, reach: float) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Pairs of letters side by side: overlapping in height, with no more than `reach` between."""
    if not len(pieces):
        return np.empty(0, np.intp), np.empty(0, np.intp)
    height = pieces.height
    centre = (pieces.y + pieces.bottom) / 2
    order = np.argsort(centre, kind="stable")
    ranked = centre[order]
    span = (1 - _OVERLAP) * height
    first = np.searchsorted(ranked, centre - span)
    last = np.searchsorted(ranked, centre + span, side="right")
    ones, others = [], []
    for start in range(0, len(pieces), 2048):
        part = np.arange(start, min(start + 2048, len(pieces)))
        counts = last[part] - first[part]
        one = np.repeat(part, counts)
        offset = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
        other = order[np.repeat(first[part], counts) + offset]
        gap = np.maximum(pieces.x[other] - pieces.right[one], pieces.x[one] - pieces.right[other])
        near = (gap <= reach * height[one]) & (height[other] <= height[one]) & (one != other)
        one, other = one[near], other[near]
        shared = np.minimum(pieces.bottom[one], pieces.bottom[other]) - np.maximum(
            pieces.y[one], pieces.y[other]
        )
        beside = shared >= _OVERLAP * height[one]
        ones.append(one[beside])
        others.append(other[beside])
    return np.concatenate(ones), np.concatenate(others)


def _widest_gap(x: NDArray[np.float64], right: NDArray[np.float64]) -> float:
    """Widest white between pieces in order of their left edges; 0 for a single one."""
    return float((x[1:] - np.maximum.accumulate(right)[:-1]).max(initial=0.0))


def _segments_of(pieces: Pieces, index: NDArray[np.intp]) -> list[Segment]:
    part = pieces.take(index)
    one, other = links(part, _GAP)
    count, sets = group(len(part), one, other)
    order = np.lexsort((part.x, sets))
    bounds = np.searchsorted(sets[order], np.arange(count + 1))
    return [run_of(pieces, index[order[start:stop]]) for start, stop in pairwise(bounds)]


def run_of(pieces: Pieces, members: NDArray[np.intp]) -> Segment:
    """A run of these pieces."""
    mine = members[np.argsort(pieces.x[members], kind="stable")]
    return Segment(
        mine,
        float(pieces.x[mine].min()),
        float(pieces.right[mine].max()),
        _middle(pieces.y[mine]),
        _middle(pieces.bottom[mine]),
        float((pieces.bottom[mine] - pieces.y[mine]).max()),
        _widest_gap(pieces.x[mine], pieces.right[mine]),
        _core(pieces, mine[:_FEW]),
        _core(pieces, mine[-_FEW:]),
    )


def _core(pieces: Pieces, members: NDArray[np.intp]) -> tuple[float, float]:
    """Median top and bottom; of few pieces without those that hang high or stand low."""
    if len(members) <= _FEWEST:
        tallest = members[np.argmax(pieces.height[members])]
        low = pieces.y[tallest] + _LOW * pieces.height[tallest]
        members = members[(pieces.y[members] < low) & (pieces.bottom[members] > low)]
    return _middle(pieces.y[members]), _middle(pieces.bottom[members])


def _middle(values: NDArray[np.float64]) -> float:
    """Median of at least one value.

    A sheet full of specks has thousands of runs of one or two pieces, for which numpy's own takes
    many times as long as sorting them.
    """
    return float(median(values.tolist()))


def find_segments(pieces: Pieces, letters: NDArray[np.bool_]) -> list[Segment]:
    """Runs of letters side by side, from the left of each.

    Where letters of two lines touch, they would run the lines together: pieces more than twice as
    tall as the common letter of a run are set by, each alone, where that parts it into lines; they
    are shared out later.
    """
    index = np.flatnonzero(letters)
    if not len(index):
        return []
    found: list[Segment] = []
    tall = pieces.height
    for segment in _segments_of(pieces, index):
        mine = segment.members
        heights = tall[mine]
        long = heights > 2 * _middle(heights)
        short = _segments_of(pieces, mine[~long]) if len(mine) >= 4 and long.any() else []
        if _are_stacked(short):
            found += short
            found += [s for one in mine[long] for s in _segments_of(pieces, one[None])]
        else:
            found.append(segment)
    return found


def parted_by_rules(
    pieces: Pieces, segments: Sequence[Segment], rules: Sequence[Box]
) -> list[Segment]:
    """Runs of letters, cut where an upright rule stands through their whole height.

    In large display the white between two tickets is no wider than one between two words.

    Args:
        pieces: all pieces of ink.
        segments: the runs.
        rules: places of rules that were taken off the sheet.
    """
    upright = [rule for rule in rules if rule.height > RULE * rule.width]
    found: list[Segment] = []
    for segment in segments:
        through = sorted(
            rule.x + rule.width / 2
            for rule in upright
            if segment.x < rule.x and rule.right < segment.right
            if rule.y <= segment.top and rule.bottom >= segment.bottom
        )
        at = np.searchsorted(through, pieces.middle[segment.members])
        parts = [segment.members[at == k] for k in np.unique(at)]
        found += [segment] if len(parts) < 2 else [run_of(pieces, part) for part in parts]
    return found


def words_joined(pieces: Pieces, segments: Sequence[Segment]) -> list[Segment]:
    """Runs of letters, those that may be words of one line put together."""
    if not segments:
        return []
    x, right, top, bottom = np.array([(s.x, s.right, s.top, s.bottom) for s in segments]).T
    one, other = links(Pieces(x, top, right, bottom, (right - x) * (bottom - top)), _WORDS)
    return _together(pieces, segments, one, other)


def _together(
    pieces: Pieces, segments: Sequence[Segment], one: NDArray[np.intp], other: NDArray[np.intp]
) -> list[Segment]:
    """Segments that are linked, each set of them as one."""
    return [
        run[0] if len(run) == 1 else run_of(pieces, np.concatenate([s.members for s in run]))
        for run in linked(segments, one, other)
    ]


def _are_stacked(segments: Sequence[Segment]) -> bool:
    """Whether any two of a few segments stand one over the other."""
    x, right, top, bottom = (
        np.array([(s.x, s.right, s.top, s.bottom) for s in segments if len(s.members) >= 2])
        .reshape(-1, 4)
        .T
    )
    beside = np.minimum(right, right[:, None]) - np.maximum(x, x[:, None]) > 0
    clear = np.minimum(bottom, bottom[:, None]) - np.maximum(top, top[:, None]) < 0
    return bool((beside & clear).any())


def without_bits(segments: Sequence[Segment], size: float) -> list[Segment]:
    """Leave out commas, quotes and broken bits: they follow the letters beside them.

    A bit has four pieces at most, none as tall as the sheet's common letter, and does not stand
    level with letters near it.
    """
    if not segments:
        return []
    x, right, top, bottom, tall, count = np.array(
        [(s.x, s.right, s.top, s.bottom, s.tall, len(s.members)) for s in segments]
    ).T
    slight = (count <= 4) & (tall < 0.9 * size)
    core = np.maximum(bottom - top, 1.0)
    kept = []
    for index, segment in enumerate(segments):
        if slight[index]:
            gap = np.maximum(x - right[index], x[index] - right)
            off = np.abs((top + bottom) / 2 - (top[index] + bottom[index]) / 2) / core
            near = ~slight & (gap < 2.5 * size) & (off < 1.5)
            level = (off < 0.35) & (np.abs(bottom - bottom[index]) < 0.25 * size)
            if tall[index] < 0.6 * size or (near.any() and not level[near].any()):
                continue
        kept.append(segment)
    return kept


def bridge_dashes(
    pieces: Pieces, segments: Sequence[Segment], small: NDArray[np.bool_], size: float
) -> list[Segment]:
    """Join runs that a dash stands between: a dash is too thin to be linked as a letter is."""
    dashes = np.flatnonzero(small & (pieces.width > size))
    if not len(dashes) or len(segments) < 2:
        return list(segments)
    x, right, top, bottom = np.array([(s.x, s.right, s.top, s.bottom) for s in segments]).T
    ones, others = [], []
    for dash in dashes:
        middle = (pieces.y[dash] + pieces.bottom[dash]) / 2
        level = (top < middle) & (bottom > middle)
        before = level & (np.abs(pieces.x[dash] - right) < 0.8 * size)
        after = level & (np.abs(x - pieces.right[dash]) < 0.8 * size)
        if before.any() and after.any():
            ones.append(int(np.argmax(before)))
            others.append(int(np.argmax(after)))
    return _together(pieces, segments, np.array(ones, np.intp), np.array(others, np.intp))
