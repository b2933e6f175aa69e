"""Lines in paler ink than the type's: a pencil's figures on the sheet, or what shows through it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Line, Sheet

__all__ = ["paler_lines"]

_INK = 128
"""Darker is ink (0 black, 255 paper), as lines are found by."""
_CORE = 25
"""Percentile of a line's ink that is the middle of its strokes, not their edges."""
_PALER = 40
"""Steps of grey (of 255) by which a pencil's strokes are lighter than the sheet's type. Of some 700
printed lines of 26 pages of catalogues and books one was so by more than 35 (a folio), of 14 in
pencil all but one by 44 to 98."""
_LEAST = 3
"""Lines besides, without which nothing is said."""


def paler_lines(
    sheets: Sequence[Sheet], lines: Sequence[Line], asked: Collection[int]
) -> frozenset[int]:
    """Which of some lines are much lighter than the others of their sheet.

    Args:
        sheets: the cleaned sheets.
        lines: all lines.
        asked: numbers of those asked about.
    """
    paler: set[int] = set()
    images = {sheet.number: sheet.image for sheet in sheets}
    for number in {line.sheet for line in lines if line.number in asked}:
        cores = {line.number: _core(images[number], line) for line in lines if line.sheet == number}
        others = [core for line, core in cores.items() if line not in asked]
        if len(others) >= _LEAST:
            usual = float(np.median(others))
            paler |= {line for line in asked if cores.get(line, 0.0) > usual + _PALER}
    return frozenset(paler)


def _core(image: NDArray[np.uint8], line: Line) -> float:
    """How dark the middle of a line's strokes is; paper's white where it has no ink."""
    box = line.box
    grey = image[max(box.y, 0) : box.bottom, max(box.x, 0) : box.right]
    inked = grey[grey < _INK]
    return float(np.percentile(inked, _CORE)) if len(inked) else 255.0
