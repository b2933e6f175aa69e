"""Braces that embrace several lines: pieces of ink that are no letter of any one of them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.sheet.pieces import Pieces
    from proofcheck.sheet.sift import Sifted

__all__ = ["find_braces"]

_TALL: Final = 3.0
"""A brace round two lines is so high, in common letter heights; one set with the letters of a line
has some two and a half."""
_NARROW: Final = (0.06, 0.45)
"""Its width over its height."""
_STROKE: Final = 0.45
"""Share of its width that its stroke has at most, over most of its height."""
_BEAK: Final = 0.12
"""How far its beak stands out one way from the shank, and its ends the other, in its widths."""
_EVEN: Final = 0.25
"""Its halves are so alike, in its widths, and its beak as near its middle in half its heights."""
_ROWS: Final = 1.2
"""Letters of two lines have their middles so far apart, in common letter heights."""
_REACH: Final = 25.0
"""The lines it embraces begin or end so near it, in common letter heights."""


def find_braces(
    pieces: Pieces, labels: NDArray[np.int32], sifted: Sifted
) -> NDArray[np.bool_]:  # fmt: skip
    """Which pieces are braces beside two lines or more.

    A brace has one thin stroke: straight in its halves, a beak midway to one side, and both ends
    bent to the other side. No letter is made so.
    """
    size, height, width = sifted.size_px, pieces.height, pieces.width
    fair = (height > _TALL * size) & (width > _NARROW[0] * height) & (width < _NARROW[1] * height)
    fair &= pieces.area < _STROKE * width * height
    found = np.zeros(len(pieces), bool)
    if not fair.any():
        return found
    text = pieces.take(sifted.letter & (height < 2.5 * size))
    for index in np.flatnonzero(fair):
        x, y, right, bottom = (
            int(getattr(pieces, side)[index]) for side in ("x", "y", "right", "bottom")
        )
        found[index] = _embraces((x, y, right, bottom), text, size) and _is_braced(
            labels[y:bottom, x:right] == index + 1
        )
    return found


def _embraces(box: tuple[int, int, int, int], text: Pieces, size: float) -> bool:
    """Whether letters of two lines stand at one side of a place, within its height."""
    x, y, right, bottom = box
    level = (text.y + text.bottom) / 2
    inside = (level > y) & (level < bottom)
    for beside in (
        (text.right <= x) & (text.right > x - _REACH * size),
        (text.x >= right) & (text.x < right + _REACH * size),
    ):
        rows = level[inside & beside]
        if len(rows) > 3 and float(np.ptp(rows)) > _ROWS * size:
            return True
    return False


def _is_braced(mask: NDArray[np.bool_]) -> bool:
    """Whether a piece of ink has the form of a brace."""
    height, width = mask.shape
    runs = np.count_nonzero(np.diff(np.pad(mask, ((0, 0), (1, 1))).astype(np.int8), axis=1) > 0, 1)
    if float(np.mean(runs == 1)) < 0.85:
        return False
    count = np.maximum(mask.sum(axis=1), 1)
    middle = (mask * np.arange(width)).sum(axis=1) / count / width

    def at(first: float, last: float) -> float:
        return float(np.median(middle[int(first * height) : max(int(last * height), 1)]))

    shanks = at(0.18, 0.36), at(0.64, 0.82)
    ends = at(0.0, 0.04), at(0.96, 1.0)
    shank = sum(shanks) / 2
    way = 1.0 if shank > sum(ends) / 2 else -1.0
    middles = way * (middle - shank)
    beak = int(np.argmax(middles[int(0.3 * height) : int(0.7 * height)])) + int(0.3 * height)
    return (
        abs(shanks[0] - shanks[1]) < _EVEN
        and min(way * (shank - end) for end in ends) > _BEAK
        and float(middles[beak]) > _BEAK
        and abs(beak / height - 0.5) < _EVEN / 2
    )
