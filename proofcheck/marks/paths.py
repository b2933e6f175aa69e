"""Pen strokes: short path texts, and what can be done to the drawings made of them.

A drawing is a tuple of strokes of the pen. Units are those of the line it stands on: baseline 0,
x-height 1, x to the right and y up. Paths are written in a small notation of our own:

    M x,y                    lift the pen and set it down here
    L x,y   Q c x,y   C c d x,y        line, quadratic and cubic Bézier curve
    A cx,cy rx,ry from,to    a new stroke along an ellipse, angles in degrees, counter-clockwise
    a …                      the same, joined on to the stroke in hand
    S cx,cy r0,r1 from,to    a new stroke along a spiral, its radius going from r0 to r1
    D x,y                    a dot
"""

from __future__ import annotations

import itertools
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["Drawing", "Extent", "Points", "Stroke", "extent", "moved", "parse", "ring_round"]

Points: TypeAlias = NDArray[np.float64]
"""Shape (n, 2): x and y of the points the pen passes, in order; a dot has one."""

_TOKEN = re.compile(r"([MLQCAaSD])|(-?(?:\d+\.?\d*|\.\d+))")
_TAKES = {"M": 2, "L": 2, "Q": 4, "C": 6, "A": 6, "a": 6, "S": 6, "D": 2}
_DEGREES_A_STEP = 12.0
_STEPS_A_CURVE = 10
DOT_WEIGHT = 1.7
"""Width of a dot against the pen's own, so that it reads as a dot and not as a slip."""


@dataclass(frozen=True, slots=True, eq=False)
class Stroke:
    """One stroke of the pen."""

    points: Points
    weight: float = 1.0
    """Width against the pen's own."""


Drawing: TypeAlias = tuple[Stroke, ...]


class Extent(NamedTuple):
    """The rectangle a drawing fills, measured along the middle of the pen."""

    left: float
    low: float
    right: float
    high: float

    @property
    def width(self) -> float:
        """From the left edge to the right."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """From the smaller y to the greater."""
        return self.high - self.low


def _arc(values: list[float]) -> list[tuple[float, float]]:
    cx, cy, rx, ry, start, stop = values
    steps = max(2, round(abs(stop - start) / _DEGREES_A_STEP) + 1)
    angles = np.radians(np.linspace(start, stop, steps))
    return list(zip(cx + rx * np.cos(angles), cy + ry * np.sin(angles), strict=True))


def _spiral(values: list[float]) -> list[tuple[float, float]]:
    cx, cy, r0, r1, start, stop = values
    steps = max(2, round(abs(stop - start) / _DEGREES_A_STEP) + 1)
    angles = np.radians(np.linspace(start, stop, steps))
    radii = np.linspace(r0, r1, steps)
    return list(zip(cx + radii * np.cos(angles), cy + radii * np.sin(angles), strict=True))


def _curve(start: tuple[float, float], values: list[float]) -> list[tuple[float, float]]:
    controls = np.array([start, *zip(values[::2], values[1::2], strict=True)])
    t = np.linspace(0, 1, _STEPS_A_CURVE + 1)[1:, None]
    while len(controls) > 1 and controls.ndim == 2:
        controls = controls[:, None, :]
    points = [np.broadcast_to(c, (len(t), 2)) for c in controls]
    while len(points) > 1:  # de Casteljau, all parameters at once
        points = [a * (1 - t) + b * t for a, b in itertools.pairwise(points)]
    return [(float(x), float(y)) for x, y in points[0]]


@lru_cache(maxsize=2048)
def parse(path: str) -> Drawing:
    """The strokes of a path; ValueError where the notation is broken."""
    strokes: list[tuple[list[tuple[float, float]], float]] = []
    for command, values in _commands(path):
        if command == "D":
            strokes.append(([(values[0], values[1])], DOT_WEIGHT))
        elif command == "M":
            strokes.append(([(values[0], values[1])], 1.0))
        elif command == "A":
            strokes.append((_arc(values), 1.0))
        elif command == "S":
            strokes.append((_spiral(values), 1.0))
        elif not strokes:
            msg = f"a path must begin by setting the pen down: {path!r}"
            raise ValueError(msg)
        elif command == "a":
            strokes[-1][0].extend(_arc(values))
        elif command == "L":
            strokes[-1][0].append((values[0], values[1]))
        else:
            strokes[-1][0].extend(_curve(strokes[-1][0][-1], values))
    return tuple(Stroke(np.array(points, dtype=np.float64), weight) for points, weight in strokes)


def _commands(path: str) -> Iterable[tuple[str, list[float]]]:
    command, values = "", list[float]()
    for letter, number in _TOKEN.findall(path):
        if letter:
            if values:
                break
            command = letter
        else:
            values.append(float(number))
            if command and len(values) == _TAKES[command]:
                yield command, values
                values = []
                command = "L" if command in "ML" else command
    if values:
        msg = f"a command of this path has too few or too many numbers: {path!r}"
        raise ValueError(msg)


def moved(
    drawing: Drawing,
    *,
    by: tuple[float, float] = (0.0, 0.0),
    scale: float = 1.0,
    flip: bool = False,
    slant: float = 0.0,
) -> Drawing:
    """The drawing slanted, scaled about its origin and then moved.

    Args:
        drawing: what to move.
        by: how far, after scaling.
        scale: units of the result to one unit of the drawing.
        flip: turn y over, from the drawing's (up) to a picture's (down).
        slant: x gained for each unit of y.
    """
    matrix = np.array([[1.0, 0.0], [slant, -1.0 if flip else 1.0]]) * scale
    offset = np.array(by)
    return tuple(Stroke(s.points @ matrix + offset, s.weight) for s in drawing)


def extent(drawing: Drawing) -> Extent:
    """The rectangle that holds the drawing; ValueError where there are no strokes."""
    points = np.concatenate([s.points for s in drawing])
    low, high = points.min(axis=0), points.max(axis=0)
    return Extent(float(low[0]), float(low[1]), float(high[0]), float(high[1]))


def ring_round(held: Extent, clear: float = 0.24) -> Drawing:
    """A ring drawn by hand round what stands in `held`: a little square, its ends overlapping.

    Args:
        held: what to go round.
        clear: white over and under it; there is twice as much at its ends.
    """
    cx, cy = (held.left + held.right) / 2, (held.low + held.high) / 2
    rx, ry = max(held.width / 2 + 2.1 * clear, 0.5), max(held.height / 2 + clear, 0.8)
    angles = np.radians(np.linspace(118, 118 + 372, 56))
    drift = np.linspace(0.985, 1.02, 56)
    # A superellipse: long words fill a true ellipse's corners.
    power = 2 / (2.0 + min(max(rx / ry - 1.2, 0.0), 1.0))
    across, up = np.cos(angles), np.sin(angles)
    x = cx + rx * drift * np.sign(across) * np.abs(across) ** power
    y = cy + ry * drift * np.sign(up) * np.abs(up) ** power
    return (Stroke(np.stack([x, y], axis=1)),)
