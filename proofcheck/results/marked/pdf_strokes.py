"""Strokes as the operators of a PDF's page (ISO 32000-1, 8.5)."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.results.marked.paint_png import INK_RGB, SHADES
from proofcheck.results.marked.parts import INK

if TYPE_CHECKING:
    from collections.abc import Iterable

    from proofcheck.results.marked.parts import Inked

__all__ = ["strokes_stream"]


def strokes_stream(inked: Iterable[Inked]) -> str:
    """Operators that draw strokes with round ends, in the pixels of the page."""
    out = ["1 J 1 j\n"]
    for marks in inked:
        out.append(f"{_colour(marks.ink)} RG\n")
        dash = marks.dash_px
        out.append(f"[{dash:.1f} {dash * 0.75:.1f}] 0 d\n" if dash else "[] 0 d\n")
        for stroke in marks.drawing:
            points = stroke.points.round(1).tolist()
            if len(points) == 1:
                points *= 2
            start, rest = points[0], points[1:]
            out.append(f"{marks.pen_px * stroke.weight:.2f} w {start[0]:g} {start[1]:g} m")
            out.extend(f" {x:g} {y:g} l" for x, y in rest)
            out.append(" S\n")
    return "".join(out)


def _colour(ink: str) -> str:
    if ink == INK:
        return " ".join(f"{part / 255:.3f}" for part in INK_RGB)
    grey = 1.0 - SHADES[ink]
    return f"{grey:.2f} {grey:.2f} {grey:.2f}"
