"""Which runs of letters of one column stand on one line."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.sheet.clear_zones import middle_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.sheet.rows import Segment

__all__ = ["as_index", "rows_of"]

_LARGE, _FEW = 2.2, 3
"""Letters so many times as tall as others are of another line, and so few a word of it: an initial
is one, and stands in the height of its lines too."""


def rows_of(segments: Sequence[Segment]) -> list[list[Segment]]:
    """Segments of one column put together to lines, however wide the gaps.

    Each segment joins the line whose last segment it stands beside, if half of the lower one's
    height is common to both where they meet and neither is far taller.
    """
    rows: list[list[Segment]] = []
    tops, bottoms = np.empty(len(segments)), np.empty(len(segments))
    for segment in sorted(segments, key=lambda s: s.x):
        top, bottom = tops[: len(rows)], bottoms[: len(rows)]
        starts, stands = segment.head
        height, heights = stands - starts, bottom - top
        lower, higher = np.minimum(heights, height), np.maximum(heights, height)
        shared = np.minimum(bottom, stands) - np.maximum(top, starts)
        shared = np.where(higher <= _LARGE * lower, shared / np.maximum(lower, 1.0), 0.0)
        if shared.max(initial=0.0) > 0.5:
            place = int(np.argmax(shared))
            rows[place].append(segment)
        else:
            place = len(rows)
            rows.append([segment])
        tops[place], bottoms[place] = _end(rows[place])
    return [part for row in rows for part in _parted(row, rows)]


def _parted(row: list[Segment], rows: Sequence[list[Segment]]) -> list[list[Segment]]:
    """A row, or its two parts where a few words in large type stand between them on its level."""
    for start, (before, after) in enumerate(pairwise(row), 1):
        gap = [
            other
            for other in rows
            if min(s.x for s in other) >= before.right and max(s.right for s in other) <= after.x
        ]
        if any(_is_large_beside(other, before) for other in gap):
            return [row[:start], *_parted(row[start:], rows)]
    return [row]


def _is_large_beside(row: Sequence[Segment], small: Segment) -> bool:
    """Whether a row is of type so large that a run of letters stands within its height."""
    top, bottom = _end(row)
    far_larger = bottom - top > _LARGE * (small.bottom - small.top)
    return far_larger and len(as_index(row)) >= _FEW and top <= middle_of(small) <= bottom


def _end(row: Sequence[Segment]) -> tuple[float, float]:
    """Top and bottom at the right end of a row: of its last segment of some length."""
    return next((s for s in reversed(row) if len(s.members) >= 3), row[-1]).tail


def as_index(row: Sequence[Segment]) -> NDArray[np.intp]:
    """The pieces of a row."""
    return np.concatenate([s.members for s in row])
