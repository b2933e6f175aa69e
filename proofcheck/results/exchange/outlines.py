"""Places of a sheet as outlines in the pixels of the scan it was read from."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

import numpy as np

from proofcheck.base.values import Box

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from proofcheck.base.values import Line, Sheet

__all__ = [
    "Outline",
    "Upright",
    "around_lines",
    "baseline_outline",
    "box_outline",
    "points_text",
    "slope_deg",
    "upright",
]

Outline: TypeAlias = tuple[tuple[int, int], ...]
"""Corners in scan pixels: (0, 0) is its top left corner, (width, height) its bottom right."""


class Upright(NamedTuple):
    """An upright rectangle round an outline, in scan pixels."""

    x: int
    y: int
    width: int
    height: int


def box_outline(sheet: Sheet, box: Box) -> Outline:
    """The four corners of a box, in the order left top, right top, right bottom, left bottom."""
    corners = ((box.x, box.y), (box.right, box.y), (box.right, box.bottom), (box.x, box.bottom))
    return _mapped(sheet, box, corners)


def baseline_outline(sheet: Sheet, line: Line) -> Outline:
    """The two ends of a line's baseline, in the direction it is read."""
    left, right = line.baseline
    return _mapped(sheet, line.box, ((line.box.x, left), (line.box.right, right)))


def around_lines(sheet: Sheet, lines: Sequence[Line]) -> Outline:
    """Round lines that stand one under another, in steps that follow the ends of each.

    Lines that do not go downward (of a table, row by row) get one box round them all.
    """
    boxes = [line.box for line in lines]
    middles = [box.y + box.height / 2 for box in boxes]
    if any(lower <= upper for upper, lower in pairwise(middles)):
        return box_outline(sheet, Box.around(boxes))
    parts = [(a.bottom + b.y) / 2 for a, b in pairwise(boxes)]
    heights = [float(boxes[0].y), *parts, float(boxes[-1].bottom)]
    right: list[tuple[float, float]] = []
    left: list[tuple[float, float]] = []
    for box, top, bottom in zip(boxes, heights, heights[1:], strict=False):
        right += [(box.right, top), (box.right, bottom)]
        left += [(box.x, top), (box.x, bottom)]
    corners = _mapped(sheet, boxes[0], (*right, *reversed(left)))
    return tuple(a for a, b in zip(corners, (*corners[1:], None), strict=True) if a != b)


def slope_deg(outline: Outline) -> float:
    """How far a baseline is turned clockwise from level, over -180 and up to 180 degrees."""
    (x, y), (end_x, end_y) = outline[0], outline[-1]
    found = math.degrees(math.atan2(end_y - y, end_x - x))
    return 180.0 if found == -180 else found


def upright(outline: Outline) -> Upright:
    """The upright rectangle round an outline."""
    xs, ys = [x for x, _ in outline], [y for _, y in outline]
    return Upright(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))


def points_text(outline: Outline) -> str:
    """The corners as "x,y x,y …"."""
    return " ".join(f"{x},{y}" for x, y in outline)


def _mapped(sheet: Sheet, of: Box, points: Iterable[tuple[float, float]]) -> Outline:
    """Places of a box, at pixel edges of the sheet, carried to the scan and held within it."""
    # The map takes pixel centres to pixel centres; edges lie half a pixel before them.
    edges = np.array([(x - 0.5, y - 0.5, 1.0) for x, y in points], np.float64)
    found = edges @ sheet.map_at(of).T
    places = np.rint(found[:, :2] / found[:, 2:] + 0.5)
    held = np.clip(places, 0, (sheet.scan.width_px, sheet.scan.height_px))
    return tuple((int(x), int(y)) for x, y in held)
