"""Which way the lines of type run on a picture, and how far they slope.

Measured on the letters themselves (connected pieces of ink of about one size), so that cuts,
rules, edges and dirt have no say and three short lines are enough.
"""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.sheet.pieces import find_pieces

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.base.values import Grey

__all__ = ["Slope", "letter_boxes", "measure_slope"]

_WORK_PX: Final = 2400
"""Longer side of the picture that is measured: the feet of 8-point type are still
known to a pixel in thirty."""

_MOST_LETTERS: Final = 1000
"""More than these tell nothing new of the direction."""

_STEADY_LETTERS: Final = 24
"""With fewer letters the direction of a page is not decided by their neighbours alone."""

_PLENTY_LETTERS: Final = 60
_FEW_LETTERS_DEG: Final = 0.12
"""With few letters round ones and points, which overhang the line, leave this much in doubt."""


@dataclass(frozen=True, slots=True)
class Slope:
    """How the lines lie on a picture."""

    upright: bool
    """False where the lines run down the page: it wants a quarter turn."""
    skew_deg: float
    """Positive where the lines fall to the right (after a quarter turn clockwise, if wanted)."""
    letter_px: float
    """Usual height of a piece of ink of letter size, in pixels of the picture as given; 0 where
    there are no letters."""


def measure_slope(grey: Grey) -> Slope:
    """Measure direction and skew of the lines of type; no type gives upright, 0°.

    Args:
        grey: an evenly lit picture, dark on light, any way up.
    """
    scale = min(1.0, _WORK_PX / max(grey.shape))
    small = cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    work = grey if scale == 1 else np.asarray(small, np.uint8)
    boxes, letter_px = letter_boxes(work)
    if len(boxes) < 3:
        return Slope(upright=True, skew_deg=0.0, letter_px=letter_px / scale)
    coarse, sure = _neighbour_angle(boxes)
    upright = not (sure and abs(coarse) > 45)
    if not upright:
        boxes = _turned_boxes(boxes, work.shape[0])
        coarse -= 90.0 if coarse > 0 else -90.0
    skew = _fine_angle(boxes, coarse if sure else 0.0, letter_px, sure=sure)
    if len(boxes) < _PLENTY_LETTERS and abs(skew) < _FEW_LETTERS_DEG:
        skew = 0.0
    return Slope(upright=upright, skew_deg=skew, letter_px=letter_px / scale)


def letter_boxes(grey: Grey) -> tuple[NDArray[np.float64], float]:
    """Boxes (left, top, width, height) of pieces of ink of letter size, and their usual height."""
    pieces, _ = find_pieces(_ink(grey))
    width, height, area = pieces.width, pieces.height, pieces.area
    found = np.stack([pieces.x, pieces.y, width, height], axis=1)
    longest, filled = np.maximum(width, height), area / np.maximum(width * height, 1)
    limit = max(grey.shape) / 8
    rough = found[
        (longest >= 5) & (longest < limit) & (np.minimum(width, height) >= 2) & (filled > 0.12)
    ]
    if len(rough) == 0:
        return rough, 0.0
    size = np.maximum(rough[:, 2], rough[:, 3])
    usual = _usual(size)
    kept = rough[(size > 0.5 * usual) & (size < 2.6 * usual)]
    return kept, float(np.median(np.minimum(kept[:, 3], 2 * usual)))


def _ink(grey: Grey) -> Grey:
    """Ink as 1: darker than its surroundings by a share of the picture's own contrast."""
    reach = max(15, round(max(grey.shape) / 40)) | 1
    paper = cv2.blur(grey, (reach, reach))
    low, high = np.percentile(grey[::4, ::4], (1, 90))
    step = max(12.0, 0.22 * float(high - low))
    return (cv2.subtract(paper, grey) > step).astype(np.uint8)


def _usual(size: NDArray[np.float64]) -> float:
    """The size most of the ink's length is in: specks are many but small, cuts few but large."""
    bins = np.floor(8 * np.log2(size)).astype(int)
    counts = np.bincount(bins - bins.min(), weights=np.minimum(size, 60))
    smooth = np.convolve(counts, np.ones(7), mode="same")
    return float(2 ** ((int(smooth.argmax()) + bins.min() + 0.5) / 8))


def _neighbour_angle(boxes: NDArray[np.float64]) -> tuple[float, bool]:
    """Angle in degrees (-90 to 90) at which letters have their nearest neighbours, and if sure."""
    centres = boxes[:, :2] + boxes[:, 2:] / 2
    if len(centres) > _MOST_LETTERS:  # a band of the page, so that neighbours stay together
        order = np.argsort(centres[:, 1])
        start = (len(order) - _MOST_LETTERS) // 2
        centres = centres[order[start : start + _MOST_LETTERS]]
    step = centres[None, :, :].astype(np.float32) - centres[:, None, :].astype(np.float32)
    distance = (step**2).sum(axis=2)
    np.fill_diagonal(distance, np.inf)
    nearest = np.argpartition(distance, min(2, len(centres) - 2), axis=1)[:, :2]
    rows = np.arange(len(centres))[:, None]
    dx, dy = np.moveaxis(step[rows, nearest], 2, 0)
    angles = np.rad2deg(np.arctan2(dy, dx)).ravel()
    angles = (angles + 90) % 180 - 90
    histogram = np.bincount(np.round(angles).astype(int) % 180, minlength=180).astype(float)
    smooth = sum(np.roll(histogram, k) * (6 - abs(k)) for k in range(-5, 6)) / 36
    best = int(np.argmax(smooth))
    share = histogram[np.arange(best - 10, best + 11) % 180].sum() / max(histogram.sum(), 1)
    return float(best if best <= 90 else best - 180), bool(
        len(centres) >= _STEADY_LETTERS and share > 0.4
    )


def _turned_boxes(boxes: NDArray[np.float64], height: int) -> NDArray[np.float64]:
    """The boxes on the picture turned a quarter clockwise."""
    left, top, across, down = boxes.T
    return np.stack([height - top - down, left, down, across], axis=1)


def _fine_angle(
    boxes: NDArray[np.float64], coarse: float, letter_px: float, *, sure: bool
) -> float:
    """Slope of the baselines in degrees: letters' feet, gathered into lines, fitted."""
    feet = np.stack([boxes[:, 0] + boxes[:, 2] / 2, boxes[:, 1] + boxes[:, 3]], axis=1)
    reach = 8.0 if sure else 3.0
    angle = _sharpest(feet, coarse, reach, 0.25, max(1.5, letter_px / 6))
    angle = _sharpest(feet, angle, 0.4, 0.02, max(1.0, letter_px / 12))
    for _ in range(3):
        angle = _fitted(feet, angle, letter_px)
    return angle


def _sharpest(
    feet: NDArray[np.float64], centre: float, reach: float, step: float, bin_px: float
) -> float:
    """The angle at which the feet fall together in the fewest rows."""
    angles = centre + np.arange(-reach, reach + step / 2, step)
    mid = feet - feet.mean(axis=0)
    scores = np.empty(len(angles))
    for i, angle in enumerate(np.deg2rad(angles)):
        rows = (mid[:, 1] * np.cos(angle) - mid[:, 0] * np.sin(angle)) / bin_px
        rows -= rows.min()
        whole = rows.astype(int)
        part = rows - whole
        counts = np.bincount(whole, 1 - part, int(rows.max()) + 2)
        counts += np.bincount(whole + 1, part, len(counts))
        scores[i] = (counts**2).sum()
    # Of equally sharp angles (a page of one letter) the one nearest the centre.
    scores -= 1e-9 * np.abs(angles - centre) * scores.max()
    return float(angles[int(np.argmax(scores))])


def _fitted(feet: NDArray[np.float64], angle: float, letter_px: float) -> float:
    """Better the angle by fitting each line's own feet; unsure corrections are not made."""
    turn = np.deg2rad(angle)
    across = feet[:, 0] * np.cos(turn) + feet[:, 1] * np.sin(turn)
    down = feet[:, 1] * np.cos(turn) - feet[:, 0] * np.sin(turn)
    slopes, weights = [], []
    for members in _rows(across, down, letter_px):
        x, y = across[members], down[members]
        y_mid = y - median(y.tolist())
        near = np.abs(y_mid) < max(1.6, 0.12 * letter_px)  # leaves out descenders and points
        if near.sum() < 4:
            continue
        x, y = x[near] - x[near].mean(), y[near] - y[near].mean()
        spread = float((x**2).sum())
        if spread > (6 * letter_px) ** 2:
            slopes.append(float((x * y).sum()) / spread)
            weights.append(spread)
    if not slopes:
        return 0.0 if len(feet) < _STEADY_LETTERS else angle
    return angle + float(np.rad2deg(np.arctan(_weighted_median(slopes, weights))))


def _rows(
    across: NDArray[np.float64], down: NDArray[np.float64], letter_px: float
) -> list[NDArray[np.int64]]:
    """Feet in runs of one height and without wide gaps: lines, or their parts in a column."""
    bands = np.round(down / max(letter_px * 0.5, 2.0)).astype(int)
    rows = []
    for shift in (0, 1):  # bands overlap by half, so that no line is split between two
        pairs = (bands + shift) // 2
        order = np.lexsort((across, pairs))
        cut = (np.diff(pairs[order]) != 0) | (np.diff(across[order]) > 6 * letter_px)
        rows += [part for part in np.split(order, np.flatnonzero(cut) + 1) if len(part) >= 4]
    return rows


def _weighted_median(values: list[float], weights: list[float]) -> float:
    order = np.argsort(values)
    total = np.cumsum(np.asarray(weights)[order])
    return values[int(order[int(np.searchsorted(total, total[-1] / 2))])]
