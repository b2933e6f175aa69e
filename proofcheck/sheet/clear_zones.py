"""In which zones of height the white beside a column is clear, and what runs across it."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.sheet.rows import Segment

__all__ = ["are_level", "clear_zones", "middle_of"]

_GUTTER: Final = 1.0
"""Narrowest gutter, in common letter heights (some 0.6 em)."""
_SPACED: Final = 2.2
"""Widest word space of a line that runs across a gutter, in common letter heights: an em."""


def middle_of(segment: Segment) -> float:
    """Half-way between its top and its foot."""
    return (segment.top + segment.bottom) / 2


def are_level(one: Segment, other: Segment, size: float) -> bool:
    """Whether two segments stand on one baseline, as near as their bottoms tell."""
    return abs(one.bottom - other.bottom) < 0.45 * size


def clear_zones(segments: Sequence[Segment], x: float, size: float) -> list[tuple[float, float]]:
    """Heights between segments that lie across the band left of x, and what goes on their lines."""
    across = [s for s in segments if s.x < x - 1 and s.right > x - _GUTTER * size]
    lines = sorted(_extent(_line_of(s, segments, size)) for s in across)
    edges = [(-np.inf, -np.inf), *lines, (np.inf, np.inf)]
    return [(low, high) for (_, low), (high, _) in pairwise(edges)]


def _line_of(segment: Segment, segments: Sequence[Segment], size: float) -> list[Segment]:
    """A segment, and those that follow it on its line with no wider white than word spaces."""
    line = [segment]
    for after in sorted((s for s in segments if s.x > segment.x), key=lambda s: s.x):
        white = after.x - line[-1].right
        if are_level(after, line[-1], size) and white < _SPACED * size:
            line.append(after)
    return line


def _extent(line: Sequence[Segment]) -> tuple[float, float]:
    middles = [middle_of(s) for s in line]
    return min(middles), max(middles)
