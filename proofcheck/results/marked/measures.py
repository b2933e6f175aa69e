"""What the layout of a sheet goes by: the size of the writing, and where there is white for it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from statistics import median
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.units import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Line, Sheet

__all__ = ["Measures", "Side", "measure"]

_LEAST_UNIT_MM = 1.15
"""Smallest writing that reads at arm's length; common practice."""
_MOST_UNIT_MM = 2.3
_MOST_UNITS_ACROSS, _LEAST_UNITS_ACROSS = 140, 90
_DARK = 110
"""Grey below this is ink, or the dark of what lay round the sheet."""
_NEAR_EDGE = 0.02
_FRAME_SHARE = 0.3
"""A dark column near the edge, over more than this share of the height, is no print: it is what
shows round a photographed sheet."""


@dataclass(frozen=True, slots=True)
class Side:
    """White beside the type on one side, in pixels measured outward from the sheet's middle."""

    type_edge: float
    """Where everything printed ends."""
    white_end: float | None
    """Where a dark frame round the sheet begins; None where the white goes on."""
    sheet_edge: float

    def inner(self, needed: float) -> float:
        """Where the margin begins: at the type, or beyond a frame that leaves too little room."""
        if self.white_end is None or self.type_edge + needed <= self.white_end:
            return self.type_edge
        return self.sheet_edge


@dataclass(frozen=True, slots=True)
class Measures:
    """Measures of one sheet, in its pixels."""

    unit: float
    """x-height of the reader's writing."""
    middle: float
    """Half way across the type: faults left of it are marked in the left margin."""
    left: Side
    right: Side
    columns: int
    """Of what stands upright."""


def measure(sheet: Sheet, lines: Sequence[Line]) -> Measures:
    """Measure a sheet with its lines; a sheet may have none."""
    height, width = sheet.image.shape
    if not lines:
        edge = 0.4 * width
        side = Side(edge, None, width / 2)
        return Measures(1.6 * sheet.dpi / MM_PER_INCH, width / 2, side, side, 1)
    top = max(0, min(line.box.y for line in lines))
    bottom = min(height, max(line.box.bottom for line in lines))
    # A frame or a border is print too, though it is lifted off what is read.
    printed = sheet.as_printed() if sheet.pictured else sheet.image
    dark = (printed[top:bottom] < _DARK).sum(axis=0)
    left = max(0, min(line.box.x for line in lines))
    right = min(width, max(line.box.right for line in lines))
    middle = (left + right) / 2
    need = max(3, (bottom - top) // 200)
    frame = _FRAME_SHARE * (bottom - top)
    return Measures(
        _unit(sheet, lines),
        middle,
        _side(dark[:left][::-1], need, frame, middle - left),
        _side(dark[right:], need, frame, right - middle),
        1 + max((line.column for line in lines if line.home is None), default=0),
    )


def _unit(sheet: Sheet, lines: Sequence[Line]) -> float:
    """x-height of writing that suits the type and fits between its lines."""
    width, mm = sheet.image.shape[1], sheet.dpi / MM_PER_INCH
    unit = min(1.25 * median(line.x_height_px for line in lines), _pitch(lines) / 2.3)
    # A resolution taken wrongly must not make the writing vanish: the sheet's width bounds it too.
    least = max(_LEAST_UNIT_MM * mm, width / _MOST_UNITS_ACROSS)
    return float(min(max(unit, least), max(_MOST_UNIT_MM * mm, width / _LEAST_UNITS_ACROSS)))


def _pitch(lines: Sequence[Line]) -> float:
    """Usual distance from one baseline to the next in a column."""
    steps = []
    for one, other in pairwise(lines):
        if one.column == other.column and other.baseline[0] > one.baseline[0]:
            steps.append(other.baseline[0] - one.baseline[0])
    return median(steps) if steps else 2.6 * lines[0].x_height_px


def _side(dark: NDArray[np.int64], need: int, frame: float, lines_end: float) -> Side:
    """One side from its columns' dark pixels, from the lines outward.

    Args:
        dark: number of dark pixels in each column beyond the lines.
        need: from how many on a column holds print (a rule, a cut) and not specks.
        frame: from how many on a column near the edge is the dark round the sheet.
        lines_end: distance of the lines' edge from the middle of the type.
    """
    held = dark >= need
    white_end = None
    reach = max(2, round(_NEAR_EDGE * (2 * lines_end + 2 * len(dark))))
    edge = held[-reach:]
    if edge.any() and dark[-reach:].max() > frame:
        outer = len(held) - 1
        while outer >= 0 and (held[outer] or outer > len(held) - reach):
            outer -= 1
        white_end = outer + 1
        held = held[:white_end]
    type_end = int(np.nonzero(held)[0][-1]) + 1 if held.any() else 0
    return Side(
        lines_end + type_end,
        None if white_end is None else lines_end + white_end,
        lines_end + len(dark),
    )
