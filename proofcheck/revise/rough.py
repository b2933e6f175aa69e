"""Where the pieces of one print lie in another, roughly: whole pixels and how alike they look."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.revise.slugs import Print

__all__ = ["REACH_DOWN", "cells_of", "pieces_in", "seek", "seek_pieces"]

REACH_DOWN = 0.3
"""How far up or down a piece is sought, in x-heights."""
_REACH_ALONG = 0.55
_LEAST, _MOST = 0.7, 2.2
"""Width of the pieces sought, in x-heights."""
_INK = 0.25
_PAD = 0.15


def seek_pieces(a: Print, b: Print, lag: float) -> NDArray[np.float64]:
    """Seek every piece of `a` in `b`.

    Args:
        a: the print whose pieces are sought.
        b: the print they are sought in.
        lag: how far `b` lies to the right along `a`, pixels.

    Returns:
        Shape (pieces, 4): middle of the piece along `a`, its shift along and down (pixels,
        beyond the lag), and the correlation of its ink with what is there, −1 to 1.
    """
    found = [((left + right) / 2, *seek(a, b, (left, right), lag)) for left, right in pieces_in(a)]
    return np.array(found, np.float64).reshape(-1, 4)


def cells_of(a: Print) -> list[tuple[int, int]]:
    """Stretches of the line's own ink parted by white: start and end columns."""
    start, end = a.own
    inked = np.concatenate([[False], a.ink[:, start:end].max(axis=0) > _INK, [False]])
    edges = np.flatnonzero(np.diff(inked.astype(np.int8))) + start
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def pieces_in(a: Print) -> list[tuple[int, int]]:
    """Pieces of the line along it, cut at white, a letter or a few each."""
    size = a.x_height_px
    cells: list[tuple[int, int]] = []
    for start, stop in cells_of(a):
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


def seek(
    a: Print,
    b: Print,
    cell: tuple[int, int],
    lag: float,
    *,
    pad: float = _PAD,
    along: float = _REACH_ALONG,
) -> tuple[float, float, float]:
    """Where a piece of `a` lies in `b`: shift along and down in pixels, and how alike it is.

    `pad`: how much of what stands beside it is taken in; `along`: how far it is sought along the
    line; both in x-heights.
    """
    size = a.x_height_px
    reach_x, reach_y = round(along * size), round(REACH_DOWN * size)
    beside = round(pad * size)
    left, right = max(cell[0] - beside, 0), min(cell[1] + beside, a.ink.shape[1])
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
    alike = float(best) if np.isfinite(best) else 0.0
    return x0 + x - left - lag, float(y - reach_y), alike
