"""Dashes that stand alone in a column of figures: no price, no entry.

A dash is too thin to be a letter, and far from its row it is taken for a rule. Level with the
middle of the letters of a row it is set in type where it stands under or over figures that end
other rows, or other dashes as long as it is that are level with rows of their own.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

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
"""So many figures in its column, or dashes with itself, and so many letters in its row."""
_ALIKE = 0.25
"""Dashes of a column differ by less of their length, and start within as much of one place."""
_HAIR = 0.2
"""Most white between two bits of one dash, in common letter heights; how far they lie apart in
height."""


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
    dashes = _dashes(pieces, small, size)
    if not dashes or len(segments) < _LEAST:
        return []
    x, right, top, bottom, count = np.array(
        [(s.x, s.right, s.top, s.bottom, len(s.members)) for s in segments]
    ).T
    far: list[tuple[_Dash, Segment]] = []
    for dash in dashes:
        within = (dash.middle - top) / np.maximum(bottom - top, 1.0)
        level = (within > _MIDDLE[0]) & (within < _MIDDLE[1])
        before = level & (right < dash.x - _FAR * size) & (count >= _LEAST)
        beside = level & (right > dash.x - _FAR * size) & (x < dash.right + _FAR * size)
        if before.any() and not beside.any():
            far.append((dash, segments[int(np.flatnonzero(before)[np.argmax(right[before])])]))
    found = []
    for dash, row in far:
        over = (count <= _FIGURES) & (x < dash.right) & (right > dash.x)
        figures = _row_ends(np.flatnonzero(over), x, right, top, bottom)
        if figures >= _LEAST or sum(dash.is_like(other) for other, _ in far) >= _LEAST:
            found.append(_as_high(dash, row))
    return found


class _Dash(NamedTuple):
    """A flat stroke; one that printed in bits is of several pieces."""

    members: tuple[int, ...]
    x: float
    right: float
    middle: float
    height: float

    def is_like(self, other: _Dash) -> bool:
        """Whether another as long stands in its column; it is so itself."""
        long = self.right - self.x
        alike = abs(other.right - other.x - long) < _ALIKE * long
        return alike and abs(other.x - self.x) < _ALIKE * long


def _dashes(pieces: Pieces, small: NDArray[np.bool_], size: float) -> list[_Dash]:
    """The flat strokes of a sheet, bits of one with a hair of white between them together."""
    flat = small & (pieces.height < _THIN * size)
    flat &= (pieces.width > _WIDTH[0] * size) & (pieces.width < _WIDTH[1] * size)
    found: list[_Dash] = []
    for at in sorted(np.flatnonzero(flat).tolist(), key=lambda at: float(pieces.x[at])):
        x, right = float(pieces.x[at]), float(pieces.right[at])
        middle = float(pieces.y[at] + pieces.bottom[at]) / 2
        bit = _Dash((at,), x, right, middle, float(pieces.height[at]))
        for k, held in enumerate(found):
            near = 0 <= x - held.right < _HAIR * size and abs(middle - held.middle) < _HAIR * size
            if near and right - held.x < _WIDTH[1] * size:
                high = max(held.height, bit.height)
                found[k] = _Dash((*held.members, at), held.x, right, held.middle, high)
                break
        else:
            found.append(bit)
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


def _as_high(dash: _Dash, row: Segment) -> Segment:
    """A dash as a segment with the height of its row."""
    span = (row.top, row.bottom)
    members = np.array(dash.members, np.intp)
    return Segment(members, dash.x, dash.right, *span, dash.height, 0.0, span, span)
