"""Letters that were cut out of the proof as one letter alone, with no dirt and no neighbour.

A box wider than its kind's may be of a wider letter: an italic one, or one of a broader face. It
says nothing of the letter if it takes in most of the letter beside it, or a speck. Nor does one
wider than a letter's picture, of whatever kind: a figure with the rule of a blank after it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.metal.patches import WIDE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Box
    from proofcheck.metal.fount import Fount

__all__ = ["cut_alone"]

_WIDER = 1.3
_MOST_OF = 0.5
"""Share of a neighbour's width that a box must not take in."""
_OF_ONE_PIECE = 0.8
"""Share of a wide letter's width that one piece of its ink must have."""


def cut_alone(fount: Fount, boxes: Sequence[Box]) -> NDArray[np.bool_]:
    """For each letter of the fount, of which the boxes are, whether it was cut out alone."""
    half = fount.cut.half_width
    found = 2 * half <= WIDE
    for character in fount.fellows:
        mine = fount.text == character
        found[mine] &= half[mine] < _WIDER * np.median(half[mine]) + 1
    for number in np.flatnonzero(~found).tolist():
        one_piece = fount.cut.widest_piece(number) >= _OF_ONE_PIECE
        found[number] = one_piece and not _takes_in_another(fount, boxes, number)
    return found


def _takes_in_another(fount: Fount, boxes: Sequence[Box], number: int) -> bool:
    line, box = fount.line, boxes[number]
    beside = [n for n in (number - 1, number + 1) if 0 <= n < len(line)]
    others = [boxes[n] for n in beside if line[n] == line[number]]
    return any(
        min(box.right, other.right) - max(box.x, other.x) > _MOST_OF * other.width
        for other in others
    )
