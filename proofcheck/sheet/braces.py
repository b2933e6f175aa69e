"""Braces that embrace several lines: pieces of ink that are no letter of any one of them.

Large ones are set of several sorts (common practice), and others print in parts; read line by line
these pass for brackets.
"""

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
_PART: Final = (0.3, 0.7)
"""A part of one that is set of several, or printed so, is so high at least and so wide at most, in
common letter heights."""
_SHANK: Final = (0.6, 0.45)
"""One of them at least is an upright stroke: so high, in common letter heights, and so wide for
its height at most."""
_JOINT: Final = 0.5
"""White between two parts at most, upwards and sideways, in common letter heights;"""
_ALONE: Final = 0.4
"""and so far from any of them is no letter: a bracket stands closer to its word."""
_REACH: Final = 25.0
"""The lines it embraces begin or end so near it, in common letter heights."""


def find_braces(pieces: Pieces, labels: NDArray[np.int32], sifted: Sifted) -> list[tuple[int, ...]]:
    """The braces beside two lines or more: the pieces of each.

    A brace has one thin stroke: straight in its halves, a beak midway to one side, and both ends
    bent to the other side. No letter is made so.
    """
    size, height, width = sifted.size_px, pieces.height, pieces.width
    fair = (height > _TALL * size) & (width > _NARROW[0] * height) & (width < _NARROW[1] * height)
    fair &= pieces.area < _STROKE * width * height
    short = sifted.letter & (height < 2.5 * size)
    chains: list[tuple[int, ...]] = [(int(index),) for index in np.flatnonzero(fair)]
    chains += _chains(pieces, short, size)
    return [chain for chain in chains if _is_brace(pieces, labels, chain, short, size)]


def _is_brace(
    pieces: Pieces,
    labels: NDArray[np.int32],
    chain: tuple[int, ...],
    short: NDArray[np.bool_],
    size: float,
) -> bool:
    mine = np.array(chain)
    x, y = int(pieces.x[mine].min()), int(pieces.y[mine].min())
    right, bottom = int(pieces.right[mine].max()), int(pieces.bottom[mine].max())
    tall, wide = bottom - y, right - x
    if not (tall > _TALL * size and _NARROW[0] * tall < wide < _NARROW[1] * tall):
        return False
    others = short.copy()
    others[mine] = False
    beside = [_is_beside_letters(pieces, part, others, size) for part in chain]
    if len(chain) > 1 and sum(beside) > 1:
        return False
    mask = np.isin(labels[y:bottom, x:right], mine + 1)
    return _embraces((x, y, right, bottom), pieces.take(others), size) and _is_braced(mask)


def _chains(pieces: Pieces, letters: NDArray[np.bool_], size: float) -> list[tuple[int, ...]]:
    """Thin pieces that stand one over the next with little white between them.

    Looked for up and down from an upright stroke that stands away from all letters.
    """
    small = (pieces.height > _PART[0] * size) & (pieces.width < _PART[1] * size)
    parts = np.flatnonzero(small)
    upright = small & (pieces.height > _SHANK[0] * size)
    upright &= pieces.width < _SHANK[1] * pieces.height
    chains: list[tuple[int, ...]] = []
    held: set[int] = set()
    for seed in np.flatnonzero(upright).tolist():
        if seed in held or _is_beside_letters(pieces, seed, letters, size):
            continue
        up, down = ([seed], [seed])
        while (over := _next(pieces, parts, up[-1], size, under=False)) is not None:
            up.append(over)
        while (under := _next(pieces, parts, down[-1], size, under=True)) is not None:
            down.append(under)
        if len(up) + len(down) > 2:
            chains.append((*up[:0:-1], *down))
            held.update(chains[-1])
    return chains


def _next(
    pieces: Pieces, parts: NDArray[np.intp], at: int, size: float, *, under: bool
) -> int | None:
    """The part that goes on from another, up or down; None for none."""
    if under:
        white = pieces.y[parts] - pieces.bottom[at]
        there = pieces.y[parts] > pieces.y[at]
    else:
        white = pieces.y[at] - pieces.bottom[parts]
        there = pieces.y[parts] < pieces.y[at]
    aside = np.maximum(pieces.x[parts] - pieces.right[at], pieces.x[at] - pieces.right[parts])
    there &= (np.abs(white) < _JOINT * size) & (aside < _JOINT * size)
    if not there.any():
        return None
    away = np.where(there, np.abs(white) + np.maximum(aside, 0), np.inf)
    return int(parts[np.argmin(away)])


def _is_beside_letters(pieces: Pieces, part: int, letters: NDArray[np.bool_], size: float) -> bool:
    """Whether a letter stands close by some piece, as words do by brackets."""
    level = (pieces.y < pieces.bottom[part]) & (pieces.bottom > pieces.y[part])
    aside = np.maximum(pieces.x - pieces.right[part], pieces.x[part] - pieces.right)
    close = letters & level & (aside < _ALONE * size)
    close[part] = False
    return bool(close.any())


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
    """Whether some ink has the form of a brace; white between its parts is left out."""
    mask = mask[mask.any(axis=1)]
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
