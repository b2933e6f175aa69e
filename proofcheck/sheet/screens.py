"""Rows of small pieces: those that are dots of a halftone, and those that are matter."""

from __future__ import annotations

from statistics import median
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.sheet.rows import find_segments

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.sheet.pieces import Pieces
    from proofcheck.sheet.rows import Segment
    from proofcheck.sheet.sift import Sifted

__all__ = ["COARSEST_SCREEN_IN", "small_rows", "without_screens"]

COARSEST_SCREEN_IN = 1 / 25
"""Largest dots of a halftone: two cells of the coarsest screen, 50 lines an inch (common practice:
50 to 65 for newspapers), where neighbours run together."""
_SMALL_ROW = 5
"""So many small pieces side by side are matter; quotes and accents are fewer."""
_LEAST_PX = 6
_DOT_FILL = 0.65


def small_rows(pieces: Pieces, sifted: Sifted) -> NDArray[np.bool_]:
    """Small pieces that are lines of their own beside far larger type: no points of its lines.

    Dots of leaders are round and solid, dashes flat.
    """
    found = np.zeros(len(pieces), bool)
    flat = pieces.width > 2 * pieces.height
    low = ~sifted.letter & (pieces.height < 0.4 * sifted.size_px) & (pieces.height >= _LEAST_PX)
    for segment in find_segments(pieces, low & ~flat):
        mine = pieces.take(segment.members)
        dots = (mine.fill > _DOT_FILL) & (np.abs(np.log(mine.width / mine.height)) < 0.5)
        if len(mine) >= _SMALL_ROW and float(np.mean(dots)) < 0.5:
            found[segment.members] = True
    return found


def without_screens(
    pieces: Pieces, segments: Sequence[Segment], size: float, dot_px: float
) -> Sequence[Segment]:
    """Leave out rows of the dots of a halftone, and what stands among them."""
    screens = [s for s in segments if _is_screen(pieces, s, dot_px)]
    if not screens:
        return segments
    x, right, top, bottom = np.array([(s.x, s.right, s.top, s.bottom) for s in screens]).T
    reach = 3 * size

    def among(segment: Segment) -> bool:
        beside = (x < segment.right + reach) & (right > segment.x - reach)
        level = (top < segment.bottom + reach) & (bottom > segment.top - reach)
        return int(np.count_nonzero(beside & level)) >= 3

    return [s for s in segments if not among(s) and not _is_screen(pieces, s, dot_px)]


def _is_screen(pieces: Pieces, segment: Segment, dot_px: float) -> bool:
    """Dots of a halftone: round and solid, a row of them (a disc fills 0.79 of its box).

    The letters of a fat face are as solid, but larger than the dots of any screen (`dot_px`).
    """
    mine = pieces.take(segment.members)
    if median(mine.height.tolist()) > dot_px:
        return False
    round_ = np.abs(np.log(mine.width / mine.height)) < 0.5
    solid = round_ & (mine.fill > 0.7)
    return len(mine) >= 3 and float(np.mean(solid)) > 0.6
