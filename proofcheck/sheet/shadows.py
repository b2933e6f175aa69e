"""Where a shadow at the edge of the scan comes over the ends of lines, and letters may lie in it.

A book that was not laid flat, or a sheet that lay aslant, has black along the edge of its scan.
What stands beside it is read. Where it comes into the measure, or touches the letters, no one can
say what is printed: the place is told as not read.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from proofcheck.base.found import Unread
from proofcheck.base.values import Box
from proofcheck.sheet.scan_edge import are_at_edge

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Line, Sheet
    from proofcheck.sheet.lines import Laid

__all__ = ["shadowed"]

_TALL: Final = 3.0
"""A shadow is higher or wider, in common letter heights of the sheet."""
_WITHIN: Final = 0.3
"""How far it comes into the measure before a letter may be in it, in x-heights."""
_FLUSH: Final = 10
"""Percentile of the lines' beginnings, and of their ends from the right, where the measure is."""
_LEAST_LINES: Final = 3
_CLOSE_PX: Final = 2
"""It touches a letter that is as near."""
_NEAR: Final = 3.0
"""What it hides is a letter or more of the word beside it, or the word before: no farther off."""


def shadowed(sheet: Sheet, laid: Laid, lines: Sequence[Line]) -> tuple[Unread, ...]:
    """The places of lines that lie in a shadow, one for each end of each line.

    Args:
        sheet: the sheet.
        laid: the ink of its first look.
        lines: all its lines.
    """
    pieces, size = laid.pieces, laid.sifted.size_px
    large = np.flatnonzero(np.maximum(pieces.width, pieces.height) > _TALL * max(size, 1.0))
    if not size or not len(large):
        return ()
    of_lines = np.concatenate([np.zeros(0, np.intp), *laid.members])
    dark = np.setdiff1d(large[are_at_edge(sheet, pieces.take(large), laid.step)], of_lines)
    places = [
        (line, box)
        for line in (lines if len(dark) else ())
        for box in _over(laid, dark, line, _measure(lines, line))
    ]
    return tuple(
        Unread(sheet.number, box, _words(line, box), in_shadow=True) for line, box in places
    )


def _measure(lines: Sequence[Line], line: Line) -> tuple[float, float]:
    """Where the lines of a line's column begin and end; its own ends where they are few."""
    column = [each.box for each in lines if each.column == line.column]
    if len(column) < _LEAST_LINES:
        return line.box.x, line.box.right
    begins = float(np.percentile([box.x for box in column], _FLUSH))
    ends = float(np.percentile([box.right for box in column], 100 - _FLUSH))
    return min(begins, line.box.x), max(ends, line.box.right)


def _over(
    laid: Laid, dark: NDArray[np.intp], line: Line, measure: tuple[float, float]
) -> Iterator[Box]:
    """The stretches of a line's measure that shadows come over, near its letters."""
    step, box = laid.step, line.box
    top, bottom = box.y // step, -(-box.bottom // step)
    near, within = _NEAR * line.x_height_px, _WITHIN * line.x_height_px
    for piece in dark.tolist():
        if laid.pieces.y[piece] >= bottom or laid.pieces.bottom[piece] <= top:
            continue
        inked = (laid.labels[top:bottom] == piece + 1).any(axis=0)
        for first, last in _runs(inked):
            x, right = first * step, last * step
            comes_in = x < measure[1] - within and right > measure[0] + within
            touches = _meets(x, right, box, _CLOSE_PX)
            if touches or (comes_in and _meets(x, right, box, near)):
                x, right = max(x, round(measure[0])), min(right, round(measure[1]))
                yield Box(x, box.y, max(right - x, step), box.height)


def _meets(x: int, right: int, box: Box, spare: float) -> bool:
    """Whether ink from one place to another reaches a line, or comes as near."""
    return x < box.right + spare and right > box.x - spare


def _runs(inked: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First place and the one past the last of each unbroken stretch."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], inked, [False]]).astype(np.int8)))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def _words(line: Line, box: Box) -> str:
    left = box.x + box.width / 2 < line.box.x + line.box.width / 2
    end = "the beginning" if left else "the end"
    return f"{end} of line {line.number}, which is in the shadow at the edge of the scan"
