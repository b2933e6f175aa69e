"""Where a fault's mark falls on the sheet: its place in the line, and the strokes laid over it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.found import Status
from proofcheck.base.values import Box
from proofcheck.marks.paths import Drawing, Stroke
from proofcheck.marks.textmarks import Spot, text_mark

if TYPE_CHECKING:
    from collections.abc import Mapping

    from proofcheck.base.found import Fault
    from proofcheck.base.values import Line

__all__ = ["baseline_at", "drawn_mark", "mark_at_place", "place_of"]

_WHOLE_LINE = {"swap", "caret-under-line", "caret-over-line"}
"""Marks that belong to the line as a whole, whatever box the fault has."""
_WHOLE_AT_GAP = {"level-lines", "bracket-right", "side-lines"}
"""Marks of the line as a whole where the fault names no part of it."""
_ASKED = {
    "stroke",
    "stroke-close-up",
    "line-through",
    "curve",
    "underline-2",
    "underline-3",
    "wavy",
    "level-lines",
    "cup-under",
}
"""Marks that would change the type; a query rings or underlines the place instead."""
_RING_WIDEST = 3.2
"""In x-heights: a query on a wider place is underlined."""


def baseline_at(line: Line, x: float) -> float:
    """Height of the line's baseline at x, in sheet pixels."""
    left, right = line.baseline
    return left + (right - left) * (x - line.box.x) / max(line.box.width, 1)


def place_of(fault: Fault, lines: Mapping[int, Line]) -> tuple[Line, Box]:
    """The line a mark is drawn on and the box it is laid over, in sheet pixels.

    That is the fault's own box, or for marks of whole lines the box of the line or lines.
    """
    line, text = lines[fault.line], fault.mark.text
    if text == "swap":
        return line, Box.around(lines[number].box for number in _embraced(fault, lines))
    if text == "run-in":
        # The curve goes from the end of the line before to the beginning of this one.
        before = lines.get(fault.line - 1)
        if before and (before.sheet, before.column) == (line.sheet, line.column):
            return before, before.box
    whole = text in _WHOLE_LINE or (not fault.box.width and text in _WHOLE_AT_GAP)
    return line, line.box if whole else fault.box


def mark_at_place(fault: Fault, lines: Mapping[int, Line]) -> Drawing:
    """The strokes of the mark in the text, in sheet pixels, y down."""
    line, place = place_of(fault, lines)
    unit = line.x_height_px
    base = baseline_at(line, place.x + place.width / 2)
    spot = Spot(place.width / unit, 1.0, 0.0, _parted(fault))
    if place.width:
        spot = Spot(spot.width, (base - place.y) / unit, (base - place.bottom) / unit, spot.parted)
    drawing = text_mark(drawn_mark(fault, lines), spot)
    left, right = line.baseline
    slope = (right - left) / max(line.box.width, 1)
    start = baseline_at(line, place.x)
    matrix = np.array([[unit, slope * unit], [0.0, -unit]])
    return tuple(Stroke(s.points @ matrix + (place.x, start), s.weight) for s in drawing)


def drawn_mark(fault: Fault, lines: Mapping[int, Line]) -> str:
    """Name of the mark laid over the place: the fault's own, or a query's."""
    name = fault.mark.text
    if fault.status is Status.QUERY and name in _ASKED and fault.line in lines:
        line, place = place_of(fault, lines)
        return "ring" if place.width <= _RING_WIDEST * line.x_height_px else "underline"
    return name


def _parted(fault: Fault) -> float:
    """Where the first of two transposed things ends, as a share of what is printed."""
    words = fault.proof_text.split()
    if len(words) < 2:
        return 0.5
    wanted = fault.copy_text.split()
    turn = next(
        (k for k in range(1, len(words)) if words[k:] + words[:k] == wanted), len(words) // 2
    )
    first = len(" ".join(words[:turn]))
    return (first + 0.5) / len(" ".join(words))


def _embraced(fault: Fault, lines: Mapping[int, Line]) -> list[int]:
    """Lines to be bracketed together: the two that change places, or the block astray.

    Only those of the fault's own sheet and column can be; a line the block should follow is
    named in the margin instead.
    """
    here, held = lines[fault.line], [fault.line]
    for number in fault.other_lines:
        near = number == held[-1] + 1 or not fault.mark.matter
        beside = lines.get(number)
        if near and beside and (beside.sheet, beside.column) == (here.sheet, here.column):
            held.append(number)
    return held
