"""How each letter of one print is seated against the other, to a few hundredths of a pixel.

Once the later print is drawn over the earlier, what is left of a letter's displacement shows at
its edges: dark on one side, light on the other. Heavier inking darkens both sides alike. So the
difference of the two pictures in each letter is laid out, by least squares, into a shift along,
a shift down, and a swelling of the edge (registration by the gradient of the image, after Lucas
and Kanade 1981). The same least squares say how far the place can be off for the ink's
raggedness: a full point tells its place worse than an m.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from proofcheck.revise.rough import cells_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.revise.slugs import Print

__all__ = ["Seats", "left_over", "order_of", "seats_of"]

_WIDEST = 1.3
"""Letters that touch are cut to about this width, in x-heights."""
_LEAST_INK = 0.03
"""Ink of the least cell that counts, in squares of the x-height; less is a speck."""
_WORD_SPACE = 0.3
"""White between words, at least, in x-heights; between letters of a word it is under a fifth."""
_ROUNDS = 3
_MOST = 0.12
"""Farthest a letter is moved in one round, in x-heights."""
_EDGE = 2
"""Columns beside a letter that its edges reach into."""


@dataclass(frozen=True, slots=True, eq=False)
class Seats:
    """Where the letters of a slug are seated against its earlier print; lengths in x-heights."""

    places: NDArray[np.float64]
    """Middle of each letter along the earlier print."""
    off: NDArray[np.float64]
    """Shape (2, letters): how far each is off along and down, an even shift, stretch and bend
    taken out."""
    spread: NDArray[np.float64]
    """Shape (2, letters): standard deviation of `off` to be expected of one slug pulled twice
    with ink as unlike as here, but for a factor of the sheet."""
    words: NDArray[np.int64]
    """Which word each letter belongs to, from 0."""


def seats_of(a: Print, b: Print, lag: float, found: NDArray[np.float64]) -> Seats | None:
    """Seats of the letters of `a` in `b`; None where there is no letter.

    Args:
        a: the earlier print.
        b: the later print.
        lag: how far `b` lies along `a`, pixels.
        found: pieces of `a` as `rough.seek_pieces` found them in `b`.
    """
    size = a.x_height_px
    cells = _letters(a)
    if not cells or not len(found):
        return None
    places = np.array([(start + end) / 2 for start, end in cells])
    weight = np.clip(found[:, 3], 0.05, 1.0) ** 4
    order = order_of(len(found))
    along = found[:, 1] - left_over(found[:, 0], found[:, 1], weight, order, 0.02)
    down = found[:, 2] - left_over(found[:, 0], found[:, 2], weight, min(order, 1), 0.02)
    moved = np.stack([np.interp(places, found[:, 0], each) for each in (along, down)])
    ends = np.array(cells)
    for _ in range(_ROUNDS):
        step, spread = _step(a, b, ends, moved, lag)
        moved = moved + np.clip(step, -_MOST * size, _MOST * size)
    spread /= size
    order = order_of(len(cells))
    off = np.stack(
        [
            left_over(places, each / size, sd**-2.0 / np.mean(sd**-2.0), most, 5e-4)
            for each, sd, most in zip(moved, spread, (order, min(order, 1)), strict=True)
        ]
    )
    white = ends[1:, 0] - ends[:-1, 1]
    words = np.concatenate([[0], np.cumsum(white > _WORD_SPACE * size)])
    return Seats(places / size, off, spread, words)


def order_of(count: int) -> int:
    """Order of the even change that is taken out of so many letters: none, stretch, bend."""
    return 0 if count < 3 else 1 if count < 8 else 2


def left_over(
    places: NDArray[np.float64],
    moved: NDArray[np.float64],
    weight: NDArray[np.float64],
    order: int,
    floor: float,
) -> NDArray[np.float64]:
    """What a polynomial along the line doesn't account for, fitted so that no letter rules it."""
    span = max(float(np.ptp(places)), 1e-6)
    powers = np.vander((places - places.mean()) / span, order + 1)
    rest = moved - np.median(moved)
    for _ in range(8):
        scale = 1.5 * float(np.median(np.abs(rest))) + floor
        use = np.sqrt(weight / (1.0 + (rest / (2 * scale)) ** 2))[:, None]
        fitted, *_ = np.linalg.lstsq(powers * use, moved * use[:, 0], rcond=None)
        rest = moved - powers @ fitted
    return np.asarray(rest)


def _letters(a: Print) -> list[tuple[int, int]]:
    size = a.x_height_px
    out: list[tuple[int, int]] = []
    for start, end in cells_of(a):
        if a.ink[:, start:end].sum() < _LEAST_INK * size * size:
            continue
        parts = max(1, round((end - start) / (_WIDEST * size)))
        ends = np.linspace(start, end, parts + 1).round().astype(int).tolist()
        out += list(itertools.pairwise(ends))
    return out


def _step(
    a: Print, b: Print, ends: NDArray[np.int64], moved: NDArray[np.float64], lag: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """One round: how much farther each letter lies off (2, letters), and its spread, pixels."""
    over = _drawn_over(a, b, ends, moved, lag)
    middle = (a.ink + over) / 2
    along = np.asarray(cv2.Scharr(middle, cv2.CV_32F, 1, 0, scale=1 / 32), np.float32)
    down = np.asarray(cv2.Scharr(middle, cv2.CV_32F, 0, 1, scale=1 / 32), np.float32)
    ways = (along, down, np.hypot(along, down))
    unlike = a.ink - over
    normal = np.empty((len(ends), 3, 3))
    right = np.empty((len(ends), 3, 1))
    for i, one in enumerate(ways):
        right[:, i, 0] = _sums(one * unlike, ends)
        for j, other in enumerate(ways[: i + 1]):
            normal[:, i, j] = normal[:, j, i] = _sums(one * other, ends)
    normal += np.eye(3) * 1e-3 * a.x_height_px
    step = np.asarray(np.linalg.solve(normal, right)[:, :2, 0].T, np.float64)
    loose = np.linalg.inv(normal)[:, [0, 1], [0, 1]].T
    columns = (ends[:, 1] - ends[:, 0] + 2 * _EDGE).sum()
    error = float(_sums(unlike * unlike, ends).sum()) / float(columns)
    return step, np.asarray(np.sqrt(np.maximum(loose * error, 1e-12)), np.float64)


def _drawn_over(
    a: Print, b: Print, ends: NDArray[np.int64], moved: NDArray[np.float64], lag: float
) -> NDArray[np.float32]:
    """`b` in the frame of `a`, each letter moved as found so far."""
    height, width = a.ink.shape
    between = (ends[:-1, 1] + ends[1:, 0]) / 2
    columns = np.arange(width)
    which = np.searchsorted(between, columns)
    x = np.broadcast_to((columns + lag + moved[0][which]).astype(np.float32), (height, width))
    rows = np.arange(height, dtype=np.float32)[:, None]
    y = rows + moved[1][which].astype(np.float32)[None, :]
    drawn = cv2.remap(b.ink, np.ascontiguousarray(x), y, cv2.INTER_CUBIC, borderValue=0)
    return np.asarray(drawn, np.float32)


def _sums(picture: NDArray[np.float32], ends: NDArray[np.int64]) -> NDArray[np.float64]:
    """Sum of a picture over each letter's columns and its edges'."""
    total = np.concatenate([[0.0], np.cumsum(picture.sum(axis=0), dtype=np.float64)])
    start = np.maximum(ends[:, 0] - _EDGE, 0)
    end = np.minimum(ends[:, 1] + _EDGE, picture.shape[1])
    return np.asarray(total[end] - total[start])
