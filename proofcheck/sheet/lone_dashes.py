"""Dashes that stand alone in a column of figures: no price, no entry.

A dash is too thin to be a letter, and far from its row it is taken for a rule. Level with the
middle of the letters of a row, and under or over figures that end other rows, it is set in type.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.sheet.rows import Segment

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.sheet.pieces import Pieces

__all__ = ["lone_dashes"]

_WIDTH = (0.6, 5.0)
"""Widths of a dash in common letter heights, from an en of small type to a rule of two ems."""
_THIN = 0.35
_FAR = 1.2
"""A dash nearer to its row is found by the letters beside it."""
_MIDDLE = (0.2, 0.8)
"""Where a dash stands in the height of its row's letters, from the top."""
_FIGURES = 6
"""Letters in the figures of a price, at most."""
_LEAST = 3
"""So many figures in its column, and so many letters in its row."""


def lone_dashes(
    pieces: Pieces, segments: Sequence[Segment], small: NDArray[np.bool_], size: float
) -> list[Segment]:
    """Dashes far from the letters of their rows, each a segment as high as those.

    Args:
        pieces: all ink of the sheet.
        segments: runs of letters.
        small: which pieces are small.
        size: common letter height, pixels.
    """
    flat = small & (pieces.height < _THIN * size)
    flat &= (pieces.width > _WIDTH[0] * size) & (pieces.width < _WIDTH[1] * size)
    if not flat.any() or len(segments) < _LEAST:
        return []
    x, right, top, bottom, count = np.array(
        [(s.x, s.right, s.top, s.bottom, len(s.members)) for s in segments]
    ).T
    found = []
    for at in np.flatnonzero(flat):
        middle = (pieces.y[at] + pieces.bottom[at]) / 2
        within = (middle - top) / np.maximum(bottom - top, 1.0)
        level = (within > _MIDDLE[0]) & (within < _MIDDLE[1])
        before = level & (right < pieces.x[at] - _FAR * size) & (count >= _LEAST)
        beside = level & (right > pieces.x[at] - _FAR * size)
        beside &= x < pieces.right[at] + _FAR * size
        if not before.any() or beside.any():
            continue
        over = (count <= _FIGURES) & (x < pieces.right[at]) & (right > pieces.x[at])
        if _row_ends(np.flatnonzero(over), x, right, top, bottom) < _LEAST:
            continue
        row = segments[int(np.flatnonzero(before)[np.argmax(right[before])])]
        found.append(_as_high(pieces, int(at), row))
    return found


def _row_ends(
    chosen: NDArray[np.intp],
    x: NDArray[np.float64],
    right: NDArray[np.float64],
    top: NDArray[np.float64],
    bottom: NDArray[np.float64],
) -> int:
    """How many of the chosen segments are the last of a row of more than one."""
    ends = 0
    for one in chosen:
        same = np.abs(bottom - bottom[one]) < 0.5 * (bottom - top)
        ends += bool((same & (right < x[one])).any() and not (same & (x > right[one])).any())
    return ends


def _as_high(pieces: Pieces, at: int, row: Segment) -> Segment:
    """A dash as a segment with the height of its row."""
    span = (row.top, row.bottom)
    sides = float(pieces.x[at]), float(pieces.right[at])
    members = np.array([at], np.intp)
    return Segment(members, *sides, *span, float(pieces.height[at]), 0.0, span, span)
