"""Plant faults of whole lines in the picture: a slug dropped, doubled, or two swapped.

What stands below a dropped or doubled line moves up or down by the distance from line to line,
as it does when a slug is lifted out of the galley or put in.
"""

from __future__ import annotations

import random
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box

from .moving import Canvas
from .planting import Plant

if TYPE_CHECKING:
    from proofcheck.base.values import Grey

    from .standing import Standing

__all__ = ["LINE_KINDS", "plant_line"]

LINE_KINDS = ("line dropped", "line doubled", "lines swapped")
_TALLEST = 3.2
"""X-heights; taller ink ties lines together and can't be moved with one of them."""
_LEAST_LETTERS = 12


def plant_line(standing: Standing, name: str, seed: int) -> tuple[Grey, Plant] | None:
    """One fault of whole lines on the page; None where no line can be moved cleanly."""
    rng = random.Random(seed)
    pairs = _pairs(standing)
    rng.shuffle(pairs)
    for upper, lower, pitch in pairs:
        if name == "lines swapped":
            return _swap(standing, upper, lower)
        span = standing.span(upper)
        if span:
            move = _drop if name == "line dropped" else _double
            return move(standing, upper, pitch, span)
    return None


def _pairs(standing: Standing) -> list[tuple[int, int, float]]:
    """Neighbouring lines of one size and column that can be moved, with their distance."""
    if any(line.column for line in standing.lines):
        return []
    found = []
    for upper, lower in pairwise(range(len(standing.lines))):
        a, b = standing.lines[upper], standing.lines[lower]
        pitch = b.baseline[0] - standing.baseline(upper, b.box.x)
        alike = abs(a.x_height_px - b.x_height_px) < 0.06 * a.x_height_px
        near = 1.5 * a.x_height_px < pitch < 4.5 * a.x_height_px
        if alike and near and _loose(standing, upper) and _loose(standing, lower):
            found.append((upper, lower, pitch))
    return found


def _loose(standing: Standing, line: int) -> bool:
    """Whether a line's ink hangs together with no other line's, and its words are known."""
    pieces = standing.line_pieces.get(line, [])
    size = standing.lines[line].x_height_px
    tallest = max((standing.pieces.height[piece] for piece in pieces), default=0)
    words = [standing.words[number] for number in standing.of_line.get(line, ())]
    letters = sum(len(word.text) for word in words)
    return (
        tallest < _TALLEST * size and letters >= _LEAST_LETTERS and standing.span(line) is not None
    )


def _swap(standing: Standing, upper: int, lower: int) -> tuple[Grey, Plant]:
    canvas = Canvas(standing)
    middle = standing.lines[upper].box.x + standing.lines[upper].box.width / 2
    pitch = round(standing.baseline(lower, middle) - standing.baseline(upper, middle))
    for line in (upper, lower):
        canvas.wipe(standing.line_pieces[line])
    canvas.put(standing.line_pieces[upper], 0, pitch)
    canvas.put(standing.line_pieces[lower], 0, -pitch)
    box = Box.around([standing.lines[upper].box, standing.lines[lower].box])
    spans = [standing.span(line) or (0, 0) for line in (upper, lower)]
    span = (spans[0][0], spans[1][1])
    return canvas.image, Plant(
        "lines swapped",
        frozenset({Kind.LINES_TRANSPOSED}),
        box,
        span,
        "",
        standing.text[slice(*span)],
    )


def _drop(standing: Standing, line: int, pitch: float, span: tuple[int, int]) -> tuple[Grey, Plant]:
    canvas = Canvas(standing)
    canvas.wipe(standing.line_pieces[line])
    _move_below(canvas, line, -round(pitch))
    box = standing.lines[line].box
    size = round(standing.lines[line].x_height_px)
    gap = Box(box.x, box.y - 2 * size, box.width, box.height + 2 * size)
    kinds = frozenset({Kind.LINE_MISSING, Kind.MATTER_MISSING})
    return canvas.image, Plant("line dropped", kinds, gap, span, "", standing.text[slice(*span)])


def _double(
    standing: Standing, line: int, pitch: float, span: tuple[int, int]
) -> tuple[Grey, Plant]:
    canvas = Canvas(standing)
    canvas.grow(round(pitch))
    _move_below(canvas, line, round(pitch))
    canvas.put(standing.line_pieces[line], 0, round(pitch))
    box = standing.lines[line].box
    twice = Box(box.x, box.y, box.width, box.height + round(pitch))
    text = standing.text[slice(*span)]
    return canvas.image, Plant(
        "line doubled", frozenset({Kind.LINE_DOUBLED}), twice, span, text, ""
    )


def _move_below(canvas: Canvas, line: int, dy: int) -> None:
    """Shift all ink that stands below a line."""
    standing = canvas.standing
    above = {piece for n in range(line + 1) for piece in standing.line_pieces.get(n, ())}
    below = {
        piece
        for n in range(line + 1, len(standing.lines))
        for piece in standing.line_pieces.get(n, ())
    }
    foot = standing.lines[line].box.bottom
    middle = (standing.pieces.y + standing.pieces.bottom) / 2
    below |= set(np.flatnonzero(middle > foot).tolist()) - above
    canvas.wipe(below)
    canvas.put(below, 0, dy)
