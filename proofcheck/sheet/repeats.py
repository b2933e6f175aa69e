"""White gutters between tickets of one sheet that stand side by side with no rule between them.

The same matter set again is as long, line for line, and level with the first. Text in columns is
not: its full lines are all of one length and say nothing, its short ones are of any.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from proofcheck.sheet.on_one_line import rows_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.sheet.rows import Segment

__all__ = ["repeated_bands"]

_MOST_ACROSS = 8
_GUTTER = 1.5
"""Narrowest gutter, in common letter heights."""
_OFF_PITCH = 0.25
"""A gutter is at most so far from where even pitch has it, in pitches."""
_SAME = 0.75
"""Share of a band's lines, by their letters, that stand in the next as they stand in it."""
_LEAST = 2
"""So many lines shorter than the band are wanted to tell."""
_FULL = 0.92


def repeated_bands(segments: Sequence[Segment], size: float) -> list[list[Segment]]:
    """The segments of each of several bands of one matter, from left to right; [] for none.

    Args:
        segments: runs of letters.
        size: common letter height, pixels.
    """
    lasting = [s for s in segments if len(s.members) >= 2]
    if len(lasting) < 2 * _LEAST:
        return []
    gutters = _gutters(lasting, size)
    for count in range(min(_MOST_ACROSS, len(gutters) + 1), 1, -1):
        cuts = _cuts(lasting, gutters, count)
        if cuts is None:
            continue
        edges = [-np.inf, *cuts, np.inf]
        bands = [[s for s in segments if low <= _middle(s) < high] for low, high in pairwise(edges)]
        if all(_repeats(bands[0], band, size) for band in bands[1:]):
            return bands
    return []


def _middle(segment: Segment) -> float:
    return (segment.x + segment.right) / 2


def _gutters(segments: Sequence[Segment], size: float) -> list[tuple[float, float]]:
    """Clear upright bands: left and right edge."""
    found, reach = [], -np.inf
    for segment in sorted(segments, key=lambda s: s.x):
        if np.isfinite(reach) and segment.x - reach >= _GUTTER * size:
            found.append((float(reach), segment.x))
        reach = max(reach, segment.right)
    return found


def _cuts(
    segments: Sequence[Segment], gutters: Sequence[tuple[float, float]], count: int
) -> list[float] | None:
    """The middles of the gutters that part the matter evenly into so many bands."""
    left, right = min(s.x for s in segments), max(s.right for s in segments)
    pitch = (right - left) / count
    cuts = []
    for turn in range(1, count):
        near = [
            (high - low, (low + high) / 2)
            for low, high in gutters
            if abs((low + high) / 2 - left - turn * pitch) < _OFF_PITCH * pitch
        ]
        if not near:
            return None
        cuts.append(max(near)[1])
    return cuts


class _Row(NamedTuple):
    """A row of one band."""

    x: float
    right: float
    bottom: float
    letters: int


def _rows(band: Sequence[Segment]) -> list[_Row]:
    """The rows of a band that are not as long as it is wide."""
    rows = [
        _Row(
            min(s.x for s in row),
            max(s.right for s in row),
            float(np.median([s.bottom for s in row])),
            sum(len(s.members) for s in row),
        )
        for row in rows_of(band)
    ]
    wide = max(row.right for row in rows) - min(row.x for row in rows) if rows else 0.0
    return [row for row in rows if row.right - row.x < _FULL * wide or wide < 1.0]


def _repeats(one: Sequence[Segment], other: Sequence[Segment], size: float) -> bool:
    """Whether two bands hold the same matter, as far as the shorter of them goes."""
    fewer, more = sorted((_rows(one), _rows(other)), key=len)
    if len(fewer) < _LEAST:
        return False
    pairs = [
        (place, a.x - b.x, b.letters)
        for place, b in enumerate(fewer)
        for a in more
        if abs(a.bottom - b.bottom) < 0.6 * size and abs((a.right - a.x) - (b.right - b.x)) < size
    ]
    best = 0
    for _, shift, _ in pairs:
        held = {place: letters for place, dx, letters in pairs if abs(dx - shift) < 0.6 * size}
        best = max(best, sum(held.values()) if len(held) >= _LEAST else 0)
    return best > _SAME * sum(row.letters for row in fewer)
