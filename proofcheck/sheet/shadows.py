"""Where a shadow at the edge of the scan comes over the ends of lines, and letters may lie in it.

A book that was not laid flat, or a sheet that lay aslant, has black along the edge of its scan.
What stands beside it is read. Where it comes into the measure, or touches the letters, no one can
say what is printed: the place is told as not read.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.base.found import Unread
from proofcheck.base.values import Box
from proofcheck.sheet.rim import stretches
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
_STROKE: Final = 0.7
"""Strokes of letters are thinner, in x-heights."""
_HANGS: Final = 0.2
"""How far a stroke stands out of a shadow at least, in x-heights."""
_SPACE: Final = 0.6
"""White between two letters of a word at most, in x-heights."""
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
    of_lines = np.concatenate([np.zeros(0, np.intp), *laid.members])
    dark = np.setdiff1d(large[are_at_edge(sheet, pieces.take(large), laid.step)], of_lines)
    if not len(dark) and not sheet.in_sight:
        return ()
    hanging = [box for line in lines for box in _hanging(laid, dark, line)]
    return tuple(
        Unread(sheet.number, box, _words(line, box), in_shadow=True)
        for line in lines
        for box in _over(
            [*_dark(laid, dark, line), *_hidden(sheet, line)], line, _measure(lines, hanging, line)
        )
    )


def _measure(lines: Sequence[Line], hanging: Sequence[Box], line: Line) -> tuple[float, float]:
    """Where the lines of a line's column begin and end; its own ends where they are few.

    Where a shadow goes down all lines none shows its beginning, but what hangs on the shadow does.
    """
    begins, ends = _seen_measure(lines, line)
    near, more = _NEAR * line.x_height_px, 2 * _WITHIN * line.x_height_px
    left = [b.x - more for b in hanging if abs(b.right - line.box.x) < near]
    right = [b.right + more for b in hanging if abs(b.x - line.box.right) < near]
    return min([begins, *left]), max([ends, *right])


def _seen_measure(lines: Sequence[Line], line: Line) -> tuple[float, float]:
    column = [each.box for each in lines if each.column == line.column]
    if len(column) < _LEAST_LINES:
        return line.box.x, line.box.right
    begins = float(np.percentile([box.x for box in column], _FLUSH))
    ends = float(np.percentile([box.right for box in column], 100 - _FLUSH))
    return min(begins, line.box.x), max(ends, line.box.right)


def _hanging(laid: Laid, shadows: NDArray[np.intp], line: Line) -> Iterator[Box]:
    """Strokes as thin as a letter's that hang on a shadow, close beside a line."""
    step, box = laid.step, line.box
    top, bottom = box.y // step, -(-box.bottom // step)
    thick = np.ones((max(round(_STROKE * line.x_height_px / step), 3),) * 2, np.uint8)
    room = len(thick)
    for piece in shadows.tolist():
        if laid.pieces.y[piece] >= bottom or laid.pieces.bottom[piece] <= top:
            continue
        window = laid.labels[max(top - room, 0) : bottom + room] == piece + 1
        solid = cv2.morphologyEx(window.astype(np.uint8), cv2.MORPH_OPEN, thick)
        band = slice(min(top, room), min(top, room) + bottom - top)
        thin = window[band].any(axis=0) & ~solid[band].any(axis=0)
        for first, last in stretches(thin):
            x, right = first * step, last * step
            if right - x > _HANGS * line.x_height_px and _meets(
                x, right, box, _SPACE * line.x_height_px
            ):
                yield Box(x, box.y, right - x, box.height)


def _dark(laid: Laid, shadows: NDArray[np.intp], line: Line) -> Iterator[tuple[int, int]]:
    """From where to where shadows lie on the level of a line."""
    step = laid.step
    top, bottom = line.box.y // step, -(-line.box.bottom // step)
    for piece in shadows.tolist():
        if laid.pieces.y[piece] < bottom and laid.pieces.bottom[piece] > top:
            inked = (laid.labels[top:bottom] == piece + 1).any(axis=0)
            yield from ((first * step, last * step) for first, last in stretches(inked))


def _hidden(sheet: Sheet, line: Line) -> list[tuple[int, int]]:
    """From where to where the sheet was painted over on the level of a line."""
    if not sheet.in_sight:
        return []
    scan = np.column_stack([sheet.in_sight, np.ones(len(sheet.in_sight))])
    u, v, w = np.linalg.inv(sheet.to_scan) @ scan.T
    x, off = u / w, v / w - (line.box.y + line.box.height / 2)
    after = np.roll(np.arange(len(x)), -1)
    crossed = np.flatnonzero((off < 0) != (off[after] < 0))
    if not len(crossed):
        return []
    share = off[crossed] / (off[crossed] - off[after[crossed]])
    at = x[crossed] + share * (x[after[crossed]] - x[crossed])
    return [(0, int(at.min())), (int(at.max()), sheet.image.shape[1])]


def _over(
    dark: Sequence[tuple[int, int]], line: Line, measure: tuple[float, float]
) -> Iterator[Box]:
    """The stretches of a line's measure that lie in the dark, near its letters."""
    box = line.box
    near, within = _NEAR * line.x_height_px, _WITHIN * line.x_height_px
    for x, right in dark:
        comes_in = x < measure[1] - within and right > measure[0] + within
        touches = x < right and _meets(x, right, box, _CLOSE_PX)
        if touches or (comes_in and _meets(x, right, box, near)):
            start, end = max(x, round(measure[0])), min(right, round(measure[1]))
            yield Box(start, box.y, max(end - start, 1), box.height)


def _meets(x: int, right: int, box: Box, spare: float) -> bool:
    """Whether ink from one place to another reaches a line, or comes as near."""
    return x < box.right + spare and right > box.x - spare


def _words(line: Line, box: Box) -> str:
    left = box.x + box.width / 2 < line.box.x + line.box.width / 2
    end = "the beginning" if left else "the end"
    return f"{end} of line {line.number}, which is in the shadow at the edge of the scan"
