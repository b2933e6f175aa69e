"""Is it the same slug? One print laid over another, letter by letter.

The same metal prints its letters in the same places, whatever the inking, the paper's lie and the
scan do: what they change goes evenly along the line. A slug cast again has its mats and bands
seated anew, and stands a fraction of a point otherwise from letter to letter; another letter
has another shape. So each few letters of one print are sought in the other, an even shift and
stretch is taken out, and what is left over is measured.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from proofcheck.revise.slugs import Print, profile_lag

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["SAME_LIKENESS", "SAME_SHIFT", "Overlay", "lay_over"]

SAME_SHIFT = 0.0045
"""Most that letters of the same slug are off their places (root mean square, x-heights).

From 72 simulated re-pulls (at most 0.0027) and 80 recasts (one in twenty below 0.006)."""
SAME_LIKENESS = 0.85
"""Least likeness of the worst letters of the same slug, by the correlation of their ink."""
_REACH = 0.55, 0.3
"""How far along and up or down a letter is sought, in x-heights."""
_LEAST, _MOST = 0.7, 2.2
"""Width of the pieces sought, in x-heights."""
_CAP = 0.12
"""An error of place beyond this counts no more: one letter must not outweigh the line."""
_INK = 0.25


@dataclass(frozen=True, slots=True, eq=False)
class Overlay:
    """What laying one print over another showed."""

    shift: float
    """Letters off their places after an even shift and stretch, root mean square, x-heights."""
    likeness: float
    """Correlation of the worst piece's ink, −1 to 1."""
    pieces: int
    places: NDArray[np.float64]
    """Middle of each piece along the first print, pixels."""
    off: NDArray[np.float64]
    """How far each is off its place, x-heights."""
    alike: NDArray[np.float64]
    """Correlation of each."""

    @property
    def same(self) -> bool:
        """Whether it is the same slug."""
        return self.shift <= SAME_SHIFT and self.likeness >= SAME_LIKENESS


def lay_over(a: Print, b: Print) -> Overlay:
    """Lay the later print `b` over the earlier `a`, and `a` over `b`: whichever is worse."""
    lag, _ = profile_lag(a, b)
    there = _one_way(a, b, lag)
    back = _one_way(b, a, -lag)
    if there.pieces == 0 or back.pieces == 0:
        return there if there.pieces == 0 else back
    return Overlay(
        max(there.shift, back.shift),
        min(there.likeness, back.likeness),
        there.pieces,
        there.places,
        there.off,
        there.alike,
    )


def _one_way(a: Print, b: Print, lag: float) -> Overlay:
    size = a.x_height_px
    cells = _cells(a)
    found = [(*cell, *_seek(a, b, cell, lag)) for cell in cells]
    if not found:
        none = np.zeros(0)
        return Overlay(1.0, 0.0, 0, none, none, none)
    table = np.array(found)
    middles = (table[:, 0] + table[:, 1]) / 2
    dx, dy, alike = table[:, 2], table[:, 3], table[:, 4]
    off_x = _left_over(middles, dx, alike) / size
    off_y = _left_over(middles, dy, alike) / size
    off = np.hypot(off_x, off_y)
    shift = float(np.sqrt(np.mean(np.clip(_neighbourly(off_x), -_CAP, _CAP) ** 2)))
    return Overlay(shift, float(alike.min()), len(table), middles, off, alike)


def _neighbourly(off: NDArray[np.float64]) -> NDArray[np.float64]:
    """Each piece's shift along the line, averaged with its neighbours'.

    Raggedness of the ink strikes each letter for itself and averages out; the letters of a word
    seated otherwise are off together.
    """
    if len(off) < 3:
        return off
    kernel = np.ones(3)
    return np.convolve(off, kernel, "same") / np.convolve(np.ones_like(off), kernel, "same")


def _cells(a: Print) -> list[tuple[int, int]]:
    """Pieces of the line along it, cut at white, a letter or a few each."""
    size = a.x_height_px
    inked = np.concatenate([[False], a.ink.max(axis=0) > _INK, [False]])
    edges = np.flatnonzero(np.diff(inked.astype(np.int8)))
    cells: list[tuple[int, int]] = []
    for start, stop in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        near = cells and start - cells[-1][0] < _MOST * size
        if near and (stop - start < _LEAST * size or cells[-1][1] - cells[-1][0] < _LEAST * size):
            cells[-1] = (cells[-1][0], stop)
        else:
            cells.append((start, stop))
    out: list[tuple[int, int]] = []
    for start, stop in cells:
        parts = max(1, round((stop - start) / (_MOST * size)))
        ends = np.linspace(start, stop, parts + 1).round().astype(int).tolist()
        out += list(itertools.pairwise(ends))
    return [(start, stop) for start, stop in out if stop - start >= 3]


def _seek(a: Print, b: Print, cell: tuple[int, int], lag: float) -> tuple[float, float, float]:
    """Where a piece of `a` lies in `b`: shift along and down in pixels, and how alike it is."""
    size = a.x_height_px
    reach_x, reach_y = round(_REACH[0] * size), round(_REACH[1] * size)
    pad = round(0.15 * size)
    left, right = max(cell[0] - pad, 0), min(cell[1] + pad, a.ink.shape[1])
    rows = a.ink.shape[0]
    piece = a.ink[reach_y : rows - reach_y, left:right]
    x0 = round(left + lag) - reach_x
    field = np.zeros((rows, right - left + 2 * reach_x), np.float32)
    high = min(rows, b.ink.shape[0])
    low, end = max(x0, 0), min(x0 + field.shape[1], b.ink.shape[1])
    if end <= low or piece.std() < 1e-4:
        return 0.0, 0.0, 0.0
    field[:high, low - x0 : end - x0] = b.ink[:high, low:end]
    scores = np.asarray(cv2.matchTemplate(field, piece, cv2.TM_CCOEFF_NORMED), np.float32)
    _, best, _, (x, y) = cv2.minMaxLoc(scores)
    return (
        x0 + x + _peak(scores[y], x) - left - lag,
        y + _peak(scores[:, x], y) - reach_y,
        float(best) if np.isfinite(best) else 0.0,
    )


def _peak(values: NDArray[np.float32], at: int) -> float:
    """Where between its neighbours a peak lies, by the parabola through the three."""
    if not 0 < at < len(values) - 1:
        return 0.0
    before, here, after = (float(values[at + k]) for k in (-1, 0, 1))
    bend = before - 2 * here + after
    return 0.5 * (before - after) / bend if bend < 0 else 0.0


def _left_over(
    places: NDArray[np.float64], moved: NDArray[np.float64], weight: NDArray[np.float64]
) -> NDArray[np.float64]:
    """What an even shift and stretch (and a slow bend) along the line don't account for."""
    order = 0 if len(places) < 3 else 1 if len(places) < 8 else 2
    span = max(float(np.ptp(places)), 1.0)
    powers = np.vander((places - places.mean()) / span, order + 1)
    weights = np.clip(weight, 0.05, 1.0) ** 2
    rest = moved - np.median(moved)
    for _ in range(6):
        scale = 1.5 * float(np.median(np.abs(rest))) + 1e-3
        use = np.sqrt(weights / (1.0 + (rest / (2 * scale)) ** 2))[:, None]
        fitted, *_ = np.linalg.lstsq(powers * use, moved * use[:, 0], rcond=None)
        rest = moved - powers @ fitted
    return np.asarray(rest)
