"""The rest of a hair rule that prints in bits: too short to be known as rules by themselves.

Where a column rule is worn, lengths of it are found and the bits between them are read as bars, or
bridge the gutter and join the rows of two columns. In line with a length that is surely a rule, as
thin as it, a bit is of the same rule.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from proofcheck.sheet.pieces import Pieces, joined

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.sheet.rules import Ruled

__all__ = ["with_bits"]

_HAIR: Final = 0.15
"""A hair rule, and a bit of it, is no thicker, in common letter heights: no stem is so thin."""
_ASIDE_PX: Final = 2
"""How far a bit stands from the line of its rule at most."""
_GAP: Final = 5.0
"""White between two bits at most, in common letter heights: about three lines."""


def with_bits(ruled: Ruled, pieces: Pieces, labels: NDArray[np.int32], size: float) -> Ruled:
    """The rules with the bits that are of them, and lengths of one rule joined.

    Args:
        ruled: the rules that were found.
        pieces: all ink of the sheet.
        labels: its map.
        size: common height of its letters, pixels.
    """
    bits = np.zeros(len(pieces), bool)
    hair = max(_HAIR * size, 2.0)
    thin = pieces.width <= hair
    found: list[tuple[float, float, float, float]] = []
    upright, level = np.split(np.arange(len(ruled.pieces)), [ruled.count_upright])
    for index in upright.tolist():
        x, right, y, bottom = (
            float(getattr(ruled.pieces, side)[index]) for side in ("x", "right", "y", "bottom")
        )
        # As it was found, a rule has a pixel more at either side.
        if right - x - 2 <= hair:
            line = thin & (pieces.x >= x - _ASIDE_PX) & (pieces.right <= right + _ASIDE_PX)
            y, bottom = _grown(pieces, np.flatnonzero(line), (y, bottom), _GAP * size)
            bits |= line & (pieces.bottom > y) & (pieces.y < bottom)
        found.append((x, right, y, bottom))
    whole = _joined(found)
    mask = np.concatenate([[False], bits])[labels].astype(np.uint8)
    rules = joined(_as_pieces(whole), ruled.pieces.take(level))
    strokes = ruled.upright | mask
    return replace(ruled, upright=strokes, pieces=rules, count_upright=len(whole))


def _grown(
    pieces: Pieces, line: NDArray[np.intp], extent: tuple[float, float], gap: float
) -> tuple[float, float]:
    """From where to where a rule goes, with the bits in its line that follow on one another."""
    y, bottom = extent
    for at in line[np.argsort(pieces.y[line])]:
        if bottom <= pieces.bottom[at] and pieces.y[at] < bottom + gap:
            bottom = float(pieces.bottom[at])
    for at in line[np.argsort(-pieces.bottom[line])]:
        if pieces.y[at] <= y and pieces.bottom[at] > y - gap:
            y = float(pieces.y[at])
    return y, bottom


def _joined(
    rules: list[tuple[float, float, float, float]],
) -> list[tuple[float, float, float, float]]:
    """The rules, those that have grown into one another as one."""
    out: list[tuple[float, float, float, float]] = []
    for x, right, y, bottom in sorted(rules, key=lambda rule: rule[2]):
        for at, (left, far, top, foot) in enumerate(out):
            if left < right and x < far and y < foot:
                out[at] = (min(left, x), max(far, right), top, max(foot, bottom))
                break
        else:
            out.append((x, right, y, bottom))
    return out


def _as_pieces(rules: list[tuple[float, float, float, float]]) -> Pieces:
    x, right, y, bottom = np.array(rules, float).reshape(-1, 4).T
    return Pieces(x, y, right, bottom, (right - x) * (bottom - y))
