"""The marks at the place itself: struck through it, drawn under it or round it.

Units and axes are those of `paths`, with the baseline of the printed line at y = 0 and the left
edge of the place at x = 0. Every mark is a thin line of the pen: the letter stays readable.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.marks.paths import Drawing, Extent, Stroke, moved, parse, ring_round

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["TEXT_MARKS", "Spot", "text_mark"]


@dataclass(frozen=True, slots=True)
class Spot:
    """The place to be marked, in x-heights from the left end of its baseline."""

    width: float
    """0 at a gap."""
    high: float = 1.0
    """Top of the ink there."""
    low: float = 0.0
    """Bottom of the ink there."""
    parted: float = 0.5
    """Where the first of two things ends, as a share of the width (for the transposing curve)."""


def _stroke(spot: Spot) -> Drawing:
    middle, high, low = spot.width / 2, max(spot.high, 1.0) + 0.4, min(spot.low, 0.0) - 0.4
    lean = 0.17 * (high - low)
    return parse(f"M{middle + lean:.3f},{high:.3f}L{middle - lean:.3f},{low:.3f}")


def _line_through(spot: Spot) -> Drawing:
    w, y = spot.width, min(0.5, (spot.high + spot.low) / 2) if spot.high < 0.9 else 0.5
    return parse(f"M-.14,{y - 0.02:.3f}Q{w / 2:.3f},{y + 0.05:.3f} {w + 0.16:.3f},{y:.3f}")


def _caret(spot: Spot) -> Drawing:
    x = spot.width / 2
    return parse(f"M{x - 0.3:.3f},-.64L{x:.3f},-.05L{x + 0.31:.3f},-.62")


def _arc_over(spot: Spot) -> Drawing:
    x, half = spot.width / 2, max(spot.width / 2 + 0.16, 0.36)
    return parse(f"M{x - half:.3f},1.04Q{x:.3f},1.5 {x + half:.3f},1.04")


def _arcs(spot: Spot) -> Drawing:
    x, half = spot.width / 2, max(spot.width / 2 + 0.16, 0.36)
    return _arc_over(spot) + parse(f"M{x - half:.3f},-.08Q{x:.3f},-.5 {x + half:.3f},-.08")


def _level(spot: Spot, y: float) -> Drawing:
    return parse(
        f"M-.06,{y:.3f}Q{spot.width / 2:.3f},{y - 0.02:.3f} {spot.width + 0.06:.3f},{y:.3f}"
    )


def _underlines(count: int) -> Callable[[Spot], Drawing]:
    def draw(spot: Spot) -> Drawing:
        return tuple(s for i in range(count) for s in _level(spot, -0.2 - 0.2 * i))

    return draw


def _caps_and_small(spot: Spot) -> Drawing:
    first = Spot(min(0.9, spot.width))
    rest = Spot(max(spot.width - 1.1, 0.2))
    return _underlines(3)(first) + moved(_underlines(2)(rest), by=(min(1.1, spot.width), 0.0))


def _wavy(spot: Spot) -> Drawing:
    x = np.linspace(-0.06, spot.width + 0.06, max(8, round(spot.width * 16)))
    return (Stroke(np.stack([x, -0.24 + 0.08 * np.sin(2 * np.pi * x / 0.5)], axis=1)),)


def _dots(spot: Spot) -> Drawing:
    count = max(3, round(spot.width / 0.35) + 1)
    return parse("".join(f"D{x:.3f},-.28" for x in np.linspace(0, spot.width, count)))


def _ring(spot: Spot) -> Drawing:
    held = Extent(-0.04, min(spot.low, 0.0), spot.width + 0.04, max(spot.high, 1.0))
    return ring_round(held, clear=0.2)


def _ring_place(spot: Spot) -> Drawing:
    """A ring round a place that is in no line: no higher and no lower than it is."""
    return ring_round(Extent(-0.04, spot.low, spot.width + 0.04, spot.high), clear=0.2)


def _curve(spot: Spot) -> Drawing:
    """Over the first, down between the two, under the second."""
    w, m = spot.width, spot.width * spot.parted
    top, foot = max(spot.high, 1.0) + 0.18, min(spot.low, 0.0) - 0.22
    r = min(0.22, m / 2, (w - m) / 2)
    return parse(
        f"M-.08,.3L-.08,{top - r:.3f}Q-.06,{top:.3f} {r:.3f},{top:.3f}L{m - r:.3f},{top:.3f}"
        f"Q{m + 0.02:.3f},{top:.3f} {m + 0.02:.3f},{top - r:.3f}L{m:.3f},{foot + r:.3f}"
        f"Q{m:.3f},{foot:.3f} {m + r:.3f},{foot:.3f}L{w - r:.3f},{foot:.3f}"
        f"Q{w + 0.08:.3f},{foot:.3f} {w + 0.08:.3f},{foot + r:.3f}L{w + 0.08:.3f},.7"
    )


def _tick(spot: Spot) -> Drawing:
    x = spot.width / 2
    return parse(f"M{x - 0.22:.3f},1.28L{x - 0.08:.3f},1.06L{x + 0.28:.3f},1.72")


def _uprights(spot: Spot) -> Drawing:
    count = max(2, round(spot.width / 0.8))
    places = np.linspace(0, spot.width, count + 1)[1:-1]
    return parse("".join(f"M{x + 0.06:.3f},1.3L{x - 0.06:.3f},-.25" for x in places))


def _cup_under(spot: Spot) -> Drawing:
    x, half, y = spot.width / 2, max(spot.width / 2 + 0.1, 0.4), min(spot.low, 0.0) - 0.02
    return parse(f"M{x - half:.3f},{y:.3f}Q{x:.3f},{y - 0.62:.3f} {x + half:.3f},{y + 0.02:.3f}")


def _angle(spot: Spot) -> Drawing:
    return parse(
        f"M{spot.width / 2 - 0.5:.3f},-.24L{spot.width / 2:.3f},-.24L{spot.width / 2:.3f},1.2"
    )


def _run_in(spot: Spot) -> Drawing:
    w, y = spot.width, min(spot.low, 0.0) - 0.34
    return parse(
        f"M{w + 0.2:.3f},.5Q{w + 0.9:.3f},.4 {w + 0.5:.3f},{y:.3f}"
        f"L.3,{y - 0.05:.3f}Q-.3,{y - 0.05:.3f} -.3,{y - 0.34:.3f}"
    )


def _bracket_left(spot: Spot) -> Drawing:
    return parse(
        f"M.12,{spot.high + 0.2:.3f}L-.22,{spot.high + 0.2:.3f}"
        f"L-.22,{spot.low - 0.2:.3f}L.14,{spot.low - 0.2:.3f}"
    )


def _bracket_right(spot: Spot) -> Drawing:
    w, high, low = spot.width, spot.high + 0.2, spot.low - 0.2
    return parse(
        f"M{w - 0.12:.3f},{high:.3f}L{w + 0.22:.3f},{high:.3f}"
        f"L{w + 0.22:.3f},{low:.3f}L{w - 0.14:.3f},{low:.3f}"
    )


def _brackets_out(spot: Spot) -> Drawing:
    w, high, low = spot.width, spot.high + 0.2, spot.low - 0.2
    return parse(
        f"M-.5,{high:.3f}L-.24,{high:.3f}L-.24,{low:.3f}L-.5,{low:.3f}"
        f"M{w + 0.5:.3f},{high:.3f}L{w + 0.24:.3f},{high:.3f}"
        f"L{w + 0.24:.3f},{low:.3f}L{w + 0.5:.3f},{low:.3f}"
    )


def _square_cap(spot: Spot) -> Drawing:
    w, top = spot.width, spot.high + 0.22
    return parse(
        f"M-.08,{top - 0.3:.3f}L-.08,{top:.3f}L{w + 0.08:.3f},{top:.3f}"
        f"L{w + 0.08:.3f},{top - 0.3:.3f}"
    )


def _square_cup(spot: Spot) -> Drawing:
    w, foot = spot.width, spot.low - 0.22
    return parse(
        f"M-.08,{foot + 0.3:.3f}L-.08,{foot:.3f}L{w + 0.08:.3f},{foot:.3f}"
        f"L{w + 0.08:.3f},{foot + 0.3:.3f}"
    )


def _level_lines(spot: Spot) -> Drawing:
    w, high, low = spot.width, spot.high + 0.2, spot.low - 0.2
    return parse(
        f"M-.2,{high:.3f}L{w + 0.22:.3f},{high + 0.02:.3f}M-.22,{low:.3f}L{w + 0.2:.3f},{low:.3f}"
    )


def _side_lines(spot: Spot) -> Drawing:
    high, low = spot.high + 0.3, spot.low - 0.3
    return parse(f"M-.3,{high:.3f}L-.32,{low:.3f}M-.52,{high:.3f}L-.54,{low:.3f}")


def _between(spot: Spot) -> Drawing:
    x = spot.width
    return parse(f"M{x + 0.9:.3f},-.2L{x:.3f},-.62L{x + 0.9:.3f},-.98")


def _swap(spot: Spot) -> Drawing:
    """A bracket embracing the lines to be exchanged, at their left end."""
    high, low = spot.high + 0.1, spot.low - 0.1
    return parse(
        f"M-.1,{high:.3f}Q-.5,{high:.3f} -.5,{high - 0.5:.3f}L-.5,{low + 0.5:.3f}"
        f"Q-.5,{low:.3f} -.1,{low:.3f}"
    )


def _stroke_close_up(spot: Spot) -> Drawing:
    return _stroke(spot) + _arcs(spot)


def _out_line(spot: Spot) -> Drawing:
    """A caret lying on its side at the left edge, its point between two lines."""
    y = spot.low - 0.22
    return parse(f"M-.62,{y + 0.36:.3f}L-.06,{y:.3f}L-.62,{y - 0.36:.3f}")


def _out_line_above(spot: Spot) -> Drawing:
    y = spot.high + 0.3
    return parse(f"M-.62,{y + 0.36:.3f}L-.06,{y:.3f}L-.62,{y - 0.36:.3f}")


TEXT_MARKS: dict[str, Callable[[Spot], Drawing]] = {
    "stroke": _stroke,
    "stroke-close-up": _stroke_close_up,
    "line-through": _line_through,
    "caret": _caret,
    "caret-under-line": _out_line,
    "caret-over-line": _out_line_above,
    "close-up": _arcs,
    "upper-arc": _arc_over,
    "underline": _underlines(1),
    "underline-2": _underlines(2),
    "underline-3": _underlines(3),
    "underline-3-2": _caps_and_small,
    "wavy": _wavy,
    "dots": _dots,
    "ring": _ring,
    "ring-place": _ring_place,
    "curve": _curve,
    "swap": _swap,
    "tick": _tick,
    "uprights": _uprights,
    "cup-under": _cup_under,
    "angle": _angle,
    "run-in": _run_in,
    "bracket-left": _bracket_left,
    "bracket-right": _bracket_right,
    "brackets-out": _brackets_out,
    "square-cap": _square_cap,
    "square-cup": _square_cup,
    "level-lines": _level_lines,
    "side-lines": _side_lines,
    "between": _between,
}
"""How each mark in the text is drawn over its place."""


def text_mark(name: str, spot: Spot) -> Drawing:
    """The strokes of a mark in the text; KeyError where there is no mark of that name."""
    return TEXT_MARKS[name](spot)
