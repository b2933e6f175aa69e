"""Thin lead lines from a printed line to its signs, where the eye would lose the way."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.found import Status
from proofcheck.marks.paths import Stroke
from proofcheck.results.marked.margins import CROWDED
from proofcheck.results.marked.mark_places import baseline_at
from proofcheck.results.marked.parts import Inked, Lead, Rect

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.values import Line
    from proofcheck.results.marked.parts import PlacedSign, PlacedTextMark

__all__ = ["LEAD_PEN", "draw_leads"]

LEAD_PEN = 0.055
"""Width of a lead line in units: half the pen."""
DASH = 0.34
_STRAYED = 0.75
"""Signs that stand further than this from their line's height, in units, get a lead."""
_CLEAR = 0.3
"""White between a lead line's end and what it leads to, in units."""


def draw_leads(
    signs: Sequence[PlacedSign],
    marks: Sequence[PlacedTextMark],
    lines: dict[int, Line],
    edges: tuple[float, float],
    unit: float,
) -> list[Lead]:
    """The lead lines of one sheet, in sheet pixels: at most one for each line and side.

    A line that is crowded, or whose signs had to move from its height, is joined to them by a
    line across the white beside the type. A query that stands alone on its side is joined to
    its place by a broken line that runs under the printed line.

    Args:
        signs: in the margins.
        marks: at their places.
        lines: by number.
        edges: left and right edge of the type.
        unit: x-height of the writing, in pixels.
    """
    groups: dict[tuple[str, int], list[PlacedSign]] = {}
    for sign in signs:
        groups.setdefault((sign.side, sign.line), []).append(sign)
    by_fault = {mark.fault.id: mark for mark in marks}
    leads = []
    for (side, number), group in groups.items():
        inner = _first_row_edge(group, side, unit)
        edge = edges[0] - _CLEAR * unit if side == "left" else edges[1] + _CLEAR * unit
        asked = [by_fault[s.fault].fault.status is Status.QUERY for s in group]
        line = lines[number]
        if len(group) == 1 and asked[0]:
            points = _from_place(by_fault[group[0].fault], line, edge, inner)
        elif len(group) >= CROWDED or _strayed(group, line, side, unit):
            points = _from_line(line, side, edge, inner, unit)
        else:
            continue
        dash = DASH * unit if all(asked) else 0.0
        stroke = Stroke(np.array(points))
        leads.append(Lead(number, side, Inked((stroke,), LEAD_PEN * unit, dash_px=dash)))
    return leads


def _first_row_edge(group: list[PlacedSign], side: str, unit: float) -> tuple[float, float]:
    """Where a lead meets the signs: the type's side of their first row, at half its height."""
    row = [s.rect for s in group if s.row == 0]
    held = Rect(
        min(r.left for r in row),
        min(r.top for r in row),
        max(r.right for r in row),
        max(r.bottom for r in row),
    )
    x = held.right + _CLEAR * unit / 2 if side == "left" else held.left - _CLEAR * unit / 2
    return x, (held.top + held.bottom) / 2


def _strayed(group: list[PlacedSign], line: Line, side: str, unit: float) -> bool:
    y = _first_row_edge(group, side, unit)[1]
    height = line.baseline[0 if side == "left" else 1] - 0.5 * unit
    return abs(y - height) > _STRAYED * unit or any(s.row for s in group)


def _from_line(
    line: Line, side: str, edge: float, inner: tuple[float, float], unit: float
) -> list[tuple[float, float]]:
    x = line.box.x - _CLEAR * unit if side == "left" else line.box.right + _CLEAR * unit
    y = baseline_at(line, x) - 0.45 * line.x_height_px
    start = [(x, y)] if abs(x - edge) > 1 else []
    return [*start, (edge, y), inner]


def _from_place(
    mark: PlacedTextMark, line: Line, edge: float, inner: tuple[float, float]
) -> list[tuple[float, float]]:
    x = (mark.rect.left + mark.rect.right) / 2
    track = baseline_at(line, x) + 0.56 * line.x_height_px
    foot = min(mark.rect.bottom, track)
    at_edge = baseline_at(line, edge) + 0.56 * line.x_height_px
    start = [(x, foot)] if track - foot > 1 else []
    return [*start, (x, track), (edge, at_edge), inner]
