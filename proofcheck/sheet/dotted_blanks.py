"""Dotted blanks to write on, at the end of a line or before it: no points of the line.

On a form a row of dots runs on from the words ("Name ........"), further than any point of theirs
may stand. The few dots within reach are not taken for points that the copy has not.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.sheet.baselines import Fit
    from proofcheck.sheet.pieces import Pieces

__all__ = ["without_blanks"]

_LOW, _FLAT, _ALONG = 0.35, 0.4, 1.2
"""A dot is so near the baseline with its middle, so high, and so wide at most, as inked dots that
touch are; in x-heights."""
_GAP = 1.3
"""White between two of a row at most, x-heights."""
_CLOSE, _LARGER, _OFF = 0.5, 1.4, 1.6
"""A full point of the words before the row stands so close to them, in x-heights, and is so many
times as large as the row's dots, or so much farther off."""
_MORE, _LEAST = 3, 8
"""A row has so many dots that no line's reach takes in, and so many in all."""


def without_blanks(
    pieces: Pieces,
    free: NDArray[np.intp],
    members: Sequence[NDArray[np.intp]],
    fits: Sequence[Fit],
) -> list[NDArray[np.intp]]:
    """Each line without the dots at its ends that are the first of a row that runs on.

    Args:
        pieces: all pieces of ink.
        free: those that belong to no line.
        members: those of each line.
        fits: the lines' baselines and sizes.
    """
    left = free[pieces.height[free] < _FLAT * max((fit.x_height for fit in fits), default=0.0)]
    return [
        _without(pieces, left, np.asarray(row), fit) for row, fit in zip(members, fits, strict=True)
    ]


def _without(
    pieces: Pieces, free: NDArray[np.intp], row: NDArray[np.intp], fit: Fit
) -> NDArray[np.intp]:
    dots, beyond = row[_are_dots(pieces, row, fit)], free[_are_dots(pieces, free, fit)]
    if not len(dots) or len(beyond) < _MORE:
        return row
    parts = np.setdiff1d(row, dots), dots, beyond
    run = np.unique(np.concatenate([_run_on(pieces, parts, fit.x_height, way) for way in (1, -1)]))
    own = np.isin(run, row)
    if own.any() and len(dots) - np.count_nonzero(own) >= _LEAST:
        # Of a line with more than one blank the last says what those within are: it is all its own.
        return np.concatenate([row, run[~own]])
    return row[~np.isin(row, run)]


def _are_dots(pieces: Pieces, some: NDArray[np.intp], fit: Fit) -> NDArray[np.bool_]:
    part, size = pieces.take(some), fit.x_height
    low = np.abs((part.y + part.bottom) / 2 - fit.at(part.middle)) < _LOW * size
    return np.asarray(low & (part.height < _FLAT * size) & (part.width < _ALONG * size))


def _run_on(
    pieces: Pieces,
    parts: tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.intp]],
    size: float,
    way: int,
) -> NDArray[np.intp]:
    """Dots after a line's last letter (`way` 1) or before its first that run on, and to where."""
    letters, dots, beyond = parts
    head, tail = (pieces.x, pieces.right) if way > 0 else (-pieces.right, -pieces.x)
    end = tail[letters].max() if len(letters) else -np.inf
    after = dots[head[dots] >= end]
    if not len(after):
        return after
    further = beyond[head[beyond] >= tail[after].max() - size * _GAP]
    run = np.concatenate([after, further])
    run = run[np.argsort(head[run], kind="stable")]
    white = head[run[1:]] - tail[run[:-1]]
    close = head[run[0]] - end < _CLOSE * size
    if close and len(run) > 2 and _is_a_point(pieces, run, white):
        run, white = run[1:], white[1:]
    cut = np.flatnonzero(white > _GAP * size)
    row = run[: int(cut[0]) + 1 if len(cut) else len(run)]
    more = int(np.isin(row, further).sum())
    return row if more >= _MORE and len(row) >= _LEAST else row[:0]


def _is_a_point(pieces: Pieces, run: NDArray[np.intp], white: NDArray[np.float64]) -> bool:
    """Whether the first of some dots is a full point of the words: larger, or farther off."""
    area = pieces.area[run]
    return bool(
        area[0] > _LARGER * np.median(area[1:]) or white[0] > _OFF * max(np.median(white[1:]), 1.0)
    )
