"""Cut a line out of its sheet as the letter reader wants it: level, of one size, alone.

A strip's rows and columns are counted at pixel edges, as baselines are: with the baseline at row
34, the last row of ink of an "n" is row 33.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from proofcheck.sheet.baselines import CAPITALS_TO_X
from proofcheck.sheet.bow import find_bow
from proofcheck.sheet.initials import Initial, erased, find_initial
from proofcheck.sheet.owning import Foreign, foreign_ink, own_heights

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from proofcheck.base.values import Grey, Line, Sheet

__all__ = ["Strip", "cut_strip"]

_WIDEST_PX = 16384
"""Longer lines are squeezed to this width."""
_LEAST_CONTRAST = 24


@dataclass(frozen=True, slots=True, eq=False)
class Strip:
    """One line, straightened along its baseline and brought to the reader's size."""

    image: Grey
    """Shape (height, width), 0 = ink, 255 = paper."""
    scale: float
    """Strip pixels a sheet pixel, along the line."""
    x0: float
    """Sheet x of the strip's left edge."""
    knots: tuple[NDArray[np.float64], NDArray[np.float64]] | None = None
    """Where a dropped initial was brought to size: places along the strip and their sheet x,
    between which the scale is even. None: it is even all along."""

    def to_sheet_x(self, strip_x: ArrayLike) -> NDArray[np.float64]:
        """Sheet x of places along the strip."""
        place = np.asarray(strip_x, np.float64)
        if self.knots is None:
            return np.asarray(self.x0 + place / self.scale)
        return np.asarray(np.interp(place, *self.knots))

    def to_strip_x(self, sheet_x: ArrayLike) -> NDArray[np.float64]:
        """Place along the strip of sheet x."""
        place = np.asarray(sheet_x, np.float64)
        if self.knots is None:
            return np.asarray((place - self.x0) * self.scale)
        return np.asarray(np.interp(place, *self.knots[::-1]))


def cut_strip(
    sheet: Sheet,
    line: Line,
    *,
    height: int = 48,
    x_height: float = 18,
    baseline_row: float = 34,
    margin: int = 8,
) -> Strip:
    """Cut out one line for reading.

    Args:
        sheet: the sheet it stands on.
        line: the line.
        height: rows of the strip.
        x_height: rows its small letters are to be high.
        baseline_row: row edge its baseline is to lie on.
        margin: columns of paper at either end.

    Returns:
        The strip: what reaches in from lines above and below is white, ink 0 and paper 255. A
        dropped initial is brought to the height of capitals.
    """
    initial = find_initial(sheet, line)
    image = sheet.image if initial is None else erased(sheet.image, initial)
    scale = x_height / max(line.x_height_px, 0.5)
    width = max(int(np.ceil(line.box.width * scale)), 1) + 2 * margin
    along = scale * min(1.0, _WIDEST_PX / width)
    width = min(width, _WIDEST_PX)
    x0 = line.box.x - margin / along
    spare = round(x_height)
    frame = _Frame(along, scale, x0, baseline_row + spare, (height + 2 * spare, width))
    ends = (margin - 2.0, width - margin + 2.0)
    tall = _full_contrast(_warp(image, line, frame))
    found = _foreign(tall, line, frame, ends)
    fall = find_bow(found.pieces, found.own, frame.baseline, x_height, width)
    if fall is not None:
        tall = _full_contrast(_warp(image, line, frame, fall))
        found = _foreign(tall, line, frame, ends)
    _whiten(tall, found.mask)
    strip = Strip(np.ascontiguousarray(tall[spare : spare + height]), along, x0)
    if initial is None:
        return strip
    return _with_initial(strip, initial, x_height / CAPITALS_TO_X, baseline_row, margin)


def _with_initial(
    strip: Strip, initial: Initial, capital: float, baseline_row: float, margin: int
) -> Strip:
    """Set the initial, shrunk to a capital, before the first letter of the strip."""
    inked = np.flatnonzero((strip.image < 128).any(axis=0))
    start = int(inked[0]) if len(inked) else strip.image.shape[1] - 1
    shrink = capital / initial.box.height
    tall, wide = max(round(capital), 1), max(round(initial.box.width * shrink), 1)
    small = cv2.resize(initial.image, (wide, tall), interpolation=cv2.INTER_AREA)
    white = int(np.clip((strip.to_sheet_x(start) - initial.box.right) * strip.scale, 2, 12))
    head = np.full((strip.image.shape[0], margin + wide + white), 255, np.uint8)
    bottom = round(baseline_row)
    top = max(bottom - tall, 0)
    head[top:bottom, margin : margin + wide] = _full_contrast(np.asarray(small))[
        tall - bottom + top :
    ]
    image = np.hstack([head, strip.image[:, start:]])
    first, last = strip.to_sheet_x([start, strip.image.shape[1]])
    left, right = float(initial.box.x), float(initial.box.right)
    along = np.array([0.0, margin, margin + wide, head.shape[1], image.shape[1]])
    on_sheet = np.array([left - margin / shrink, left, right, max(first, right + 0.01), last])
    return Strip(image, strip.scale, float(on_sheet[0]), (along, on_sheet))


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where a strip lies on its sheet."""

    along: float
    """Strip pixels a sheet pixel along the line, and across it."""
    across: float
    x0: float
    baseline: float
    """Row edge of the baseline."""
    shape: tuple[int, int]


def _warp(image: Grey, line: Line, frame: _Frame, fall: NDArray[np.float64] | None = None) -> Grey:
    """Straighten and scale in one step, from four or more samples a pixel.

    `fall` is how far the line stands below its straight baseline at each column, in strip rows.
    """
    fine = 2 if min(frame.along, frame.across) > 0.36 else 4
    left, right = line.baseline
    slope = (right - left) / max(line.box.width, 1)
    step_x, step_y = 1 / (frame.along * fine), 1 / (frame.across * fine)
    # Pixel centres: strip column u is at sheet x0 + (u + 1/2) step, whose pixel index is 1/2 less.
    start_x = frame.x0 + step_x / 2 - 0.5
    level = left + slope * (frame.x0 + step_x / 2 - line.box.x)
    start_y = level + (0.5 - frame.baseline * fine) * step_y - 0.5
    height, width = frame.shape
    size = (width * fine, height * fine)
    if fall is None:
        turn = np.array([[step_x, 0.0, start_x], [slope * step_x, step_y, start_y]])
        sampled = cv2.warpAffine(
            image,
            turn,
            size,
            flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
            borderMode=cv2.BORDER_CONSTANT,
            borderValue=255,
        )
    else:
        place = np.arange(size[0], dtype=np.float32) * step_x
        bowed = start_y + slope * place + np.repeat(fall, fine) / frame.across
        rows = np.arange(size[1], dtype=np.float32)[:, None] * step_y
        across = (rows + bowed).astype(np.float32)
        along = np.broadcast_to((place + start_x).astype(np.float32), across.shape)
        sampled = cv2.remap(
            image,
            np.ascontiguousarray(along),
            across,
            cv2.INTER_LINEAR,
            borderMode=cv2.BORDER_CONSTANT,
            borderValue=255,
        )
    return np.asarray(cv2.resize(sampled, (width, height), interpolation=cv2.INTER_AREA))


def _full_contrast(strip: Grey) -> Grey:
    """Stretch so that paper is 255 and full ink 0."""
    share = np.cumsum(np.bincount(strip.ravel(), minlength=256)) / strip.size
    paper, darkest = int(np.searchsorted(share, 0.8)), int(np.searchsorted(share, 0, "right"))
    dark = share[(paper + darkest) // 2]
    ink = int(np.searchsorted(share, 0.2 * dark))
    if paper - ink < _LEAST_CONTRAST:
        return strip
    table = np.clip((np.arange(256) - ink) * (255 / (paper - ink)), 0, 255).round()
    return np.asarray(cv2.LUT(strip, table.astype(np.uint8)))


def _foreign(strip: Grey, line: Line, frame: _Frame, ends: tuple[float, float]) -> Foreign:
    """What in a strip belongs to other lines, columns or rules."""
    ink = (strip < 128).astype(np.uint8)
    level = np.array([frame.baseline, frame.baseline])
    size = frame.across * max(line.x_height_px, 0.5)
    return foreign_ink(ink, level, size, own_heights(line), ends)


def _whiten(strip: Grey, foreign: NDArray[np.uint8]) -> None:
    """Turn ink that is not the line's own to paper, with its grey fringe, in place."""
    if foreign.any():
        own = (strip < 128) & (foreign == 0)
        fringe = cv2.dilate(foreign, np.ones((3, 3), np.uint8)) > 0
        strip[fringe & ~own] = 255
