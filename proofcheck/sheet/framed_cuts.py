"""Pictures that stand among the type of a frame: drawings on labels, between two columns of words.

A line that goes on beyond such a picture would be read with the picture's strokes in it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.sheet.letterlike import are_letterlike
from proofcheck.sheet.sift import go_round
from proofcheck.sheet.surrounds import find_surrounds

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.sheet.pieces import Pieces
    from proofcheck.sheet.sift import Sifted

__all__ = ["find_framed_cuts"]

_SOLID = 0.5
"""A piece that fills more of its box may have lettering white in it."""
_STROKES = 2
"""Strokes taller than the sheet's letters that stand free within an outline: no letter has them."""


def find_framed_cuts(
    pieces: Pieces, labels: NDArray[np.int32], sifted: Sifted
) -> list[NDArray[np.intp]]:
    """The pieces of each picture in a frame that goes round type.

    A letter of display is none: it has the look of one, and no strokes within it.

    Args:
        pieces: all pieces of the sheet.
        labels: their map.
        sifted: what they may be.
    """
    surrounds = find_surrounds(pieces, labels)
    if not surrounds:
        return []
    framed = np.zeros(len(pieces), bool)
    framed[np.concatenate([surround.held for surround in surrounds.values()])] = True
    other = ~(sifted.letter | sifted.small)
    large = np.minimum(pieces.width, pieces.height) > 4 * sifted.size_px
    drawn = np.flatnonzero(framed & other & large & (pieces.fill < _SOLID))
    drawn = drawn[~go_round(pieces, labels)[drawn]]
    found = []
    for index, like in zip(drawn.tolist(), are_letterlike(pieces, labels, drawn), strict=True):
        inside = (pieces.x >= pieces.x[index]) & (pieces.right <= pieces.right[index]) & other
        inside &= (pieces.y >= pieces.y[index]) & (pieces.bottom <= pieces.bottom[index])
        strokes = np.count_nonzero(inside & (pieces.height > sifted.size_px)) - 1
        if not like or strokes >= _STROKES:
            found.append(np.flatnonzero(inside))
    return found
