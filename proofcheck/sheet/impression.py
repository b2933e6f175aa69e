"""What the printing and the scanning did to the letters of a sheet, in figures.

Each figure is taken line by line on the lines' own pixels and is a ratio, so that it means the
same at any resolution and for any face.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.sheet.grey_shares import grey_percentiles

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Grey, Line, Sheet

__all__ = ["Impression", "measure_impression", "sheet_contrast", "stray_ink"]

_MOST_LINES: Final = 40
_MOSTLY: Final = 0.5
"""Share of a line's width that letters and the white beside them take up in a full line."""
_DARKEST: Final = 0.2
"""Share in 100 of a line's picture that is ink in any row of a few letters; specks are less."""
_MOST_WIDTH_PX: Final = 1600
"""Of a longer line its first part tells enough."""
_SPECK_PX: Final = 4
"""Pieces smaller than this many pixels are the grain of the scan."""
_EMPTY: Final = 2.5
"""A gap between letters longer than this (x-heights) is no word space."""
_SOME_CRUMBS, _LEVEL, _IN_ROW = 4, 0.15, 0.6
"""From so many small pieces on in a gap, at least this share of them keep the height of those
beside them (within so many x-heights) if they are points of a leader; the rest is dirt."""
_REBLUR: Final = 0.25
"""Blur laid on a line to find its own, as a share of the x-height: about what makes type
unreadable, so that the measure is finest there."""


@dataclass(frozen=True, slots=True)
class Impression:
    """Figures of one line, or their medians (weighted by width) over a sheet."""

    x_height_px: float
    contrast: float
    """How much darker the ink is than the paper, as a share of the paper's brightness."""
    spread_across: float
    spread_down: float
    """Blur of the letters' edges, level and upright, as a share of the x-height. Gaussian blur
    of 0.15 x-heights measures about 0.03 and 0.07 (thin strokes pull the figure down)."""
    evenness: float
    """Least over greatest strength of edges by direction, 0 to 1: low where movement has wiped
    out the edges that lie across it."""
    softness: float
    """Share of half-tones: pixels neither ink nor paper, over pixels of ink."""
    stroke: float
    """Mean thickness of strokes as a share of the x-height."""
    letters: float
    """Pieces of ink of a letter's height for each x-height of line: 0.65 to 1.05 in good type,
    fewer where letters run together."""
    pieces: float
    """The same with points and smaller pieces, all but specks: many in a picture."""


def measure_impression(sheet: Sheet, lines: Sequence[Line]) -> tuple[Impression | None, float]:
    """The sheet's impression, and the share of its lines (by width) that look like type.

    At most forty lines, evenly taken, are measured; None and 0.0 where there is nothing to measure.
    """
    step = max(1, -(-len(lines) // _MOST_LINES))
    measured, widths = [], []
    for line in lines[::step]:
        figures = _of_line(sheet.image, line)
        if figures is not None:
            measured.append(figures)
            widths.append(float(line.box.width))
    if not measured:
        return None, 0.0
    good = sum(w for m, w in zip(measured, widths, strict=True) if _is_typelike(m))
    return _medians(measured, widths), good / sum(widths)


def sheet_contrast(grey: Grey) -> float:
    """Contrast of what little stands on a sheet without lines: its darkest fine marks.

    Returns the share of the paper's brightness that they are darker than their surroundings.
    """
    scale = min(1.0, 1200 / max(grey.shape))
    small = cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    marks = cv2.morphologyEx(cv2.medianBlur(small, 3), cv2.MORPH_BLACKHAT, np.ones((15, 15)))
    return float(np.percentile(marks, 99.5)) / max(1.0, float(np.percentile(small, 90)))


def stray_ink(sheet: Sheet, lines: Sequence[Line]) -> float:
    """Share of the sheet's dark area that lies outside its lines."""
    dark = sheet.image[::4, ::4] < 190
    total = int(dark.sum())
    if total == 0:
        return 0.0
    for line in lines:
        box = line.box
        dark[box.y // 4 : box.bottom // 4 + 1, box.x // 4 : box.right // 4 + 1] = False
    return int(dark.sum()) / total


def _is_typelike(figures: Impression) -> bool:
    return 0.15 < figures.letters < 1.6 and figures.pieces < 2.2


def _medians(measured: Sequence[Impression], widths: Sequence[float]) -> Impression:
    weights = np.array(widths)
    found = {}
    for field in fields(Impression):
        values = np.array([getattr(m, field.name) for m in measured])
        order = np.argsort(values)
        total = np.cumsum(weights[order])
        found[field.name] = float(values[order[int(np.searchsorted(total, total[-1] / 2))]])
    return Impression(**found)


def _of_line(image: Grey, line: Line) -> Impression | None:
    box = line.box
    # Blur makes a line finder take too tall a band for the small letters; the box bounds it.
    x_height = max(2.0, min(line.x_height_px, 0.55 * box.height))
    pad = max(2, int(x_height / 2))
    right = min(box.right, box.x + _MOST_WIDTH_PX)
    top = max(0, box.y - pad)
    strip = image[top : box.bottom + pad, max(0, box.x - pad) : right + pad]
    if min(strip.shape) < 6:
        return None
    blurred = np.asarray(cv2.GaussianBlur(strip, (0, 0), 0.6), np.uint8)
    paper, ink = _tones(blurred, x_height)
    soft = blurred.astype(np.float32)
    depth = paper - ink
    if depth < 1:
        return None
    inked = soft < (paper + ink) / 2
    middle = (soft > ink + 0.3 * depth) & (soft < paper - 0.3 * depth)
    letters, pieces, empty_px = _pieces(inked, x_height, (box.y - top, box.bottom - top))
    run = max((right - box.x - empty_px) / x_height, 1.0)
    across, down = _spreads(soft, x_height)
    return Impression(
        x_height_px=x_height,
        contrast=depth / max(paper, 1.0),
        spread_across=across,
        spread_down=down,
        evenness=_evenness(soft, x_height),
        softness=float(middle.sum()) / max(1.0, float(inked.sum())),
        stroke=_stroke_px(inked) / x_height,
        letters=letters / run,
        pieces=pieces / run,
    )


def _tones(soft: Grey, x_height: float) -> tuple[float, float]:
    """How bright the paper and the ink of a line are.

    Of a row of a table that is mostly white the ink is less than the share that is commonly taken
    for it: there what stands near its letters is looked at alone.
    """
    paper, ink, darkest = grey_percentiles(soft, (90, 3, _DARKEST)).tolist()
    dark = np.asarray((soft < np.float32((paper + darkest) / 2)).any(axis=0), np.uint8)
    near = np.asarray(cv2.dilate(dark[None], np.ones((1, 2 * round(x_height) + 1))))[0] > 0
    if 0 < near.mean() < _MOSTLY:
        ink = float(grey_percentiles(soft[:, near], (3,))[0])
    return paper, ink


def _pieces(
    inked: NDArray[np.bool_], x_height: float, rows: tuple[int, int]
) -> tuple[int, int, float]:
    """Pieces of a letter's height, all but specks, and the length of leaders and of white.

    Small pieces that have their middle above or below `rows` are of other lines: beside large
    display whole lines of small type. Where a leader or mere white stands between letters there
    are none to run together or to break; the points of the leader are not counted either.
    """
    _, _, stats, _ = cv2.connectedComponentsWithStats(inked.astype(np.uint8), connectivity=8)
    held = stats[1:][stats[1:, cv2.CC_STAT_AREA] >= _SPECK_PX]
    tall = held[:, cv2.CC_STAT_HEIGHT] > 0.4 * x_height
    level = held[:, cv2.CC_STAT_TOP] + held[:, cv2.CC_STAT_HEIGHT] / 2
    own = tall | ((level > rows[0]) & (level < rows[1]))
    held, tall = held[own], tall[own]
    left = held[:, cv2.CC_STAT_LEFT]
    starts, ends = left[tall], (left + held[:, cv2.CC_STAT_WIDTH])[tall]
    order = np.argsort(starts)
    reach = np.concatenate([[0], np.maximum.accumulate(ends[order])])
    next_start = np.concatenate([starts[order], [inked.shape[1]]])
    low = held[~tall]
    middle = low[:, cv2.CC_STAT_LEFT] + low[:, cv2.CC_STAT_WIDTH] / 2
    level = low[:, cv2.CC_STAT_TOP] + low[:, cv2.CC_STAT_HEIGHT] / 2
    empty_px, led = 0.0, 0
    for start, stop in zip(reach, next_start, strict=True):
        if stop - start < _EMPTY * x_height:
            continue
        inside = np.flatnonzero((middle > start) & (middle < stop))
        points = level[inside[np.argsort(middle[inside])]]
        if _is_crumbled(points, x_height):
            continue
        empty_px += stop - start - x_height
        led += len(points)
    return int(tall.sum()), len(held) - led, empty_px


def _is_crumbled(level: NDArray[np.float64], x_height: float) -> bool:
    """Whether small pieces, from the left, are not in one row, but as broken letters leave them."""
    if len(level) < _SOME_CRUMBS:
        return False
    around = np.lib.stride_tricks.sliding_window_view(np.pad(level, 3, mode="edge"), 7)
    off = np.abs(level - np.median(around, axis=1))
    return float(np.mean(off < _LEVEL * x_height)) < _IN_ROW


def _stroke_px(inked: NDArray[np.bool_]) -> float:
    """Mean thickness: twice the area over the outline (pixel steps overstate it by a quarter)."""
    steps = (inked[:, 1:] != inked[:, :-1]).sum() + (inked[1:] != inked[:-1]).sum()
    return 2.5 * float(inked.sum()) / max(1.0, float(steps))


def _spreads(soft: NDArray[np.float32], x_height: float) -> tuple[float, float]:
    """Blur of edges along both axes, from how much a known blur more weakens them.

    The energy of an edge's gradient goes as 1/σ, so known blur s on unknown blur σ weakens it by
    R = √(σ² + s²)/σ, and σ = s/√(R² − 1), whatever the contrast.
    """
    blur = max(_REBLUR * x_height, 1.0)
    size = 2 * int(3 * blur) + 1
    found = []
    for axis, kernel in ((1, (size, 1)), (0, (1, size))):
        blurred = cv2.GaussianBlur(soft, kernel, blur, sigmaY=blur)
        own = float((np.diff(soft, axis=axis) ** 2).sum())
        more = float((np.diff(blurred, axis=axis) ** 2).sum())
        ratio = own / max(more, 1e-6)
        found.append(blur / np.sqrt(max(ratio**2 - 1, 1e-4)) / x_height)
    return float(found[0]), float(found[1])


def _evenness(soft: NDArray[np.float32], x_height: float) -> float:
    """Ratio of the two eigenvalues of the structure tensor of the whole line."""
    smooth = cv2.GaussianBlur(soft, (0, 0), max(0.06 * x_height, 0.7))
    across = smooth[1:-1, 2:] - smooth[1:-1, :-2]
    down = smooth[2:, 1:-1] - smooth[:-2, 1:-1]
    cross = float((across * down).sum())
    tensor = np.array([[float((across**2).sum()), cross], [cross, float((down**2).sum())]])
    least, most = np.linalg.eigvalsh(tensor)
    return float(least / max(most, 1e-6))
