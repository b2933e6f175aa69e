"""Type set sideways beside upright type, as on a counterfoil: told as not read, never read as junk.

Its letters stand one over the other as close as those of a word stand side by side, on a baseline
that is upright, with no letters beside them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from proofcheck.sheet.pieces import Pieces
from proofcheck.sheet.rows import find_segments, links

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from proofcheck.sheet.sift import Sifted

__all__ = ["find_sideways"]

_LEAST: Final = (4, 2.5)
"""Letters of a run, and its length in their heights; fewer are chance."""
_ALIGNED: Final = (0.12, 0.7)
"""So many of its letters keep to its upright baseline, within this share of their width."""
_CLOSE: Final = 0.25
"""Usual white between two of them, in their widths: lines one under another have more."""
_BESIDE: Final = 1.2
"""Upright type has a letter beside it within so many heights."""
_ALONE: Final = 0.8
"""Share of its letters that have none."""
_LIKE: Final = 0.2
"""Ornaments one over the other are of one size, within this share."""
_MOST: Final = 0.3
"""Share of a sheet's letters that are set sideways at most: more is a sheet that lies so."""


def find_sideways(pieces: Pieces, sifted: Sifted) -> list[NDArray[np.intp]]:
    """Runs of letters that stand on an upright baseline, each as the places of its pieces."""
    every = np.flatnonzero(sifted.letter)
    one, other = links(pieces.take(every), _BESIDE)
    alone = np.zeros(len(pieces), bool)
    alone[np.delete(every, np.union1d(one, other))] = True
    if next(_runs(pieces, alone), None) is None:
        return []
    runs = list(_runs(pieces, sifted.letter))
    if sum(len(members) for members in runs) > _MOST * len(every):
        return []
    return [
        members
        for members in runs
        if np.mean(_have_neighbours(pieces, np.setdiff1d(every, members), members)) < 1 - _ALONE
    ]


def _runs(pieces: Pieces, letters: NDArray[np.bool_]) -> Iterator[NDArray[np.intp]]:
    """Runs of some letters that stand one over the other as those of a word do side by side."""
    on_side = Pieces(pieces.y, pieces.x, pieces.bottom, pieces.right, pieces.area)
    for segment in find_segments(on_side, letters):
        if len(segment.members) >= _LEAST[0] and _is_run(on_side.take(segment.members)):
            yield segment.members


def _is_run(run: Pieces) -> bool:
    """Whether pieces, turned to stand side by side, are letters on a line."""
    tall = float(np.median(run.height))
    if float(np.ptp(run.middle)) < _LEAST[1] * tall:
        return False
    sizes = (run.width, run.height, np.sqrt(run.area))
    if all(float(np.ptp(size)) < _LIKE * float(np.median(size)) for size in sizes):
        return False
    gaps = run.x[1:] - np.maximum.accumulate(run.right)[:-1]
    if float(np.median(gaps)) > _CLOSE * tall:
        return False
    return any(
        float(np.mean(np.abs(edge - np.median(edge)) < _ALIGNED[0] * tall)) > _ALIGNED[1]
        for edge in (run.y, run.bottom)
    )


def _have_neighbours(
    pieces: Pieces, others: NDArray[np.intp], members: NDArray[np.intp]
) -> NDArray[np.bool_]:
    """Which pieces of a run have a letter beside them that is not of it."""
    mine, rest = pieces.take(members), pieces.take(others)
    height = mine.height[:, None]
    gap = np.maximum(rest.x - mine.right[:, None], mine.x[:, None] - rest.right)
    shared = np.minimum(mine.bottom[:, None], rest.bottom) - np.maximum(mine.y[:, None], rest.y)
    least = np.minimum(height, rest.height)
    return np.asarray(((gap < _BESIDE * least) & (shared > 0.5 * least)).any(axis=1))
