"""Dots over a line's letters: only small letters (i, j) carry them, capitals and figures never."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.sheet.baselines import Fit
    from proofcheck.sheet.pieces import Pieces

__all__ = ["count_dots"]

_LOWEST, _HIGHEST = 1.1, 1.75
"""Where the middle of a dot stands above the baseline, in heights of its letter; the points of
the line above stand at 2.2 or more."""
_LEAST, _MOST = 0.1, 0.4
"""How large a dot is across, in the same heights: a speck is less, a quote or an accent more."""


def count_dots(pieces: Pieces, small: NDArray[np.intp], members: NDArray[np.intp], fit: Fit) -> int:
    """How many letters of a row have a dot right above them.

    Args:
        pieces: all pieces of the sheet.
        small: those too small for letters.
        members: the row's letters.
        fit: the row's geometry; its commonest letters are taken for small ones.
    """
    letters, height = pieces.take(members), max(fit.height, 1.0)
    narrow = np.abs(letters.height - height) < 0.2 * height
    narrow &= letters.width < 0.75 * height
    stems = letters.middle[narrow]
    if not len(stems):
        return 0
    bits = pieces.take(small)
    above = (fit.at(bits.middle) - (bits.y + bits.bottom) / 2) / height
    least, most = np.minimum(bits.width, bits.height), np.maximum(bits.width, bits.height)
    dot = (above > _LOWEST) & (above < _HIGHEST)
    dot &= (least > _LEAST * height) & (most < _MOST * height)
    over = np.abs(bits.middle[dot][:, None] - stems) < 0.25 * height
    return int(np.count_nonzero(over.any(axis=0)))
