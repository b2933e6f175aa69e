"""Whether type runs off the scan: letters at its sides, lines cut level at its head or foot."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Line, Sheet

__all__ = ["cut_off"]

_CUT_STROKES = 12
"""Strokes cut by the very edge that are a line of type; on real pages dirt there makes up to 7."""
_EDGE_INK = 128
_EDGE_IN = 1.5
"""How far within the edge of the scan its last pixels are looked at."""
_CUT_SHARE: Final = 0.2
"""Share of the lines that may touch one side of the sheet."""


def cut_off(sheet: Sheet, lines: Sequence[Line]) -> tuple[str, str] | None:
    """The edge of the scan at which type is cut off, and what shows it; None where none is."""
    touching = {"left": 0, "right": 0}
    for line in lines:
        for side in _sides_touched(sheet, line):
            touching[side] += 1
    least = max(min(2, len(lines)), _CUT_SHARE * len(lines))
    for side, count in touching.items():
        if count >= least:
            return f"{side} edge", f"{count} of {len(lines)} lines run into it"
    height = sheet.image.shape[0]
    usual = float(np.median([line.x_height_px for line in lines]))
    for line, edge in ((lines[0], "head"), (lines[-1], "foot")):
        if _is_cut_level(line, height, edge, usual):
            return edge, f"line {line.number} is cut through"
    # A line with less than half its height on the sheet is too little to be found as one.
    for edge in ("head", "foot"):
        strokes = _strokes_in(_along_edge(sheet, edge))
        if strokes >= _CUT_STROKES:
            return edge, f"{strokes} strokes run off it"
    return None


def _along_edge(sheet: Sheet, edge: str) -> NDArray[np.uint8]:
    """The sheet's pixels along the upper or the lower edge of the scan, which may lie aslant."""
    right, bottom = sheet.scan.width_px - 1 - _EDGE_IN, sheet.scan.height_px - 1 - _EDGE_IN
    corners = np.array(
        [[_EDGE_IN, _EDGE_IN, 1], [right, _EDGE_IN, 1], [right, bottom, 1], [_EDGE_IN, bottom, 1]]
    )
    mapped = corners @ np.linalg.inv(sheet.to_scan).T
    points = mapped[:, :2] / mapped[:, 2:]
    sides = sorted(
        ((points[at], points[(at + 1) % 4]) for at in range(4)),
        key=lambda side: float(side[0][1] + side[1][1]),
    )
    start, end = sides[0] if edge == "head" else sides[-1]
    steps = np.linspace(0, 1, max(int(np.hypot(*(end - start))), 2))[:, None]
    x, y = np.rint(start + steps * (end - start)).astype(int).T
    inside = (x >= 0) & (y >= 0) & (x < sheet.image.shape[1]) & (y < sheet.image.shape[0])
    return np.asarray(sheet.image[y[inside], x[inside]], np.uint8)


def _strokes_in(row: NDArray[np.uint8]) -> int:
    """How many separate strokes of ink one row of pixels cuts."""
    ink = np.concatenate([[False], row < _EDGE_INK])
    return int(np.count_nonzero(ink[1:] & ~ink[:-1]))


def _sides_touched(sheet: Sheet, line: Line) -> list[str]:
    """Which sides of the sheet, or of the scan it was taken from, the line's ink touches.

    Sides are named as they lie on the upright sheet.
    """
    box = line.box
    touched = []
    if box.x <= 1 or _on_scan_edge(sheet, box.x, line.baseline[0]):
        touched.append("left")
    if box.right >= sheet.image.shape[1] - 1 or _on_scan_edge(
        sheet, box.right - 1, line.baseline[1]
    ):
        touched.append("right")
    return touched


def _on_scan_edge(sheet: Sheet, x: float, y: float) -> bool:
    """Whether a point of the sheet lies on the edge of the scan.

    A deskewed sheet has the scan's edges, slanting, inside its picture.
    """
    u, v, w = sheet.to_scan @ np.array([x, y, 1.0])
    u, v = u / w, v / w
    near = 2.0
    return bool(
        u < near
        or v < near
        or u > sheet.scan.width_px - 1 - near
        or v > sheet.scan.height_px - 1 - near
    )


def _is_cut_level(line: Line, height: int, edge: str, usual_x_height_px: float) -> bool:
    """Whether the first line has lost its ascenders to the edge, or the last one its feet.

    Descenders that just reach the edge are whole. A line that has lost its head seems small, so
    the sheet's usual x-height bounds its own from below.
    """
    box, x_height_px = line.box, max(line.x_height_px, usual_x_height_px)
    if edge == "head":
        risen = min(line.baseline) - box.y
        return box.y <= 1 and risen < 1.2 * x_height_px
    return box.bottom >= height - 1 and max(line.baseline) > height - 1 - 0.15 * x_height_px
