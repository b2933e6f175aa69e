"""Type set sideways beside upright type, as on a counterfoil: found, lest it be read as junk.

Its letters stand one over the other as close as those of a word stand side by side, on a baseline
that is upright, with no letters beside them or those of the next line farther off.
"""

from __future__ import annotations

from itertools import permutations
from typing import TYPE_CHECKING, Final

import numpy as np

from proofcheck.sheet.pieces import Pieces, linked
from proofcheck.sheet.rows import find_segments, links

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from proofcheck.sheet.sift import Sifted

__all__ = ["find_sideways"]

_LEAST: Final = (4, 2.0)
"""Letters of a run, and its length in their heights; fewer are chance."""
_ALIGNED: Final = (0.12, 0.7)
"""So many of its letters keep to its upright baseline, within this share of their width."""
_CLOSE: Final = (40.0, 0.28)
"""So many of a hundred of its gaps are at most so wide, in its letters' widths: lines one under
another have more between them, and of short words nearly half the gaps are word spaces."""
_SPACED: Final = (8, 0.6, 0.9, 0.8)
"""A letterspaced line: so many letters, whose gaps are so wide, so many of which keep to the
baseline; and they are of many widths, this share of the middle one from the least to the most, as
figures one under another are not of many heights."""
_IN_WORDS: Final = (12, 0.25, 2.0, 2)
"""… or its letters, so many at least, are of some widths, as capitals are, and word spaces stand
among them: gaps so many times as wide as the usual one, so many at least."""
_WORDS: Final = 2.2
"""White at most between two parts of one line, in the heights of its letters."""
_TIGHT: Final = 0.3
"""Letters of upright type have another so near, in heights; those set sideways have one over or
under them, and the next line of their block farther off."""
_BESIDE: Final = 1.2
"""Upright type has a letter beside it within so many heights."""
_NEXT_LINE: Final = 2.0
"""The next line of a block is so many times as far off as the letters of one line."""
_ALONE: Final = 0.8
"""Share of its letters that have none."""
_ROUND: Final = (0.4, 0.8)
"""How far beside and beyond a line its points and accents stand, in heights of its letters."""
_FEW, _FEW_WIDE, _IN_LINE, _IN_WORD = 2, 1.6, 0.7, 0.8
"""Letters of a last short word of a block; how wide, how far off one line their middles stand, and
how far apart, in heights of the block's: two side by side are further off, and numbers one under
the other further apart; an i or l may lie between."""
_LIKE: Final = 0.2
"""Ornaments one over the other are of one size, within this share."""
_MOST: Final = 0.45
"""Share of a sheet's letters that are set sideways at most: more is a sheet that lies so."""
_FAR: Final = ("right", "bottom")


def find_sideways(ink: NDArray[np.uint8], pieces: Pieces, sifted: Sifted) -> list[NDArray[np.intp]]:
    """Blocks of lines that stand on upright baselines, each as the places of its pieces.

    Args:
        ink: the sheet's ink with the rules still in it, not 0 where printed: no line goes on
            across a rule.
        pieces: its pieces.
        sifted: which of them may be letters.
    """
    every = np.flatnonzero(sifted.letter)
    one, other = links(pieces.take(every), _TIGHT)
    alone = np.zeros(len(pieces), bool)
    alone[np.delete(every, np.union1d(one, other))] = True
    if next(_runs(ink, pieces, alone), None) is None:
        return []
    runs = list(_runs(ink, pieces, sifted.letter))
    if not runs or sum(len(members) for members in runs) > _MOST * len(every):
        return []
    upright = np.setdiff1d(every, np.concatenate(runs))
    kept = [
        members
        for members in runs
        if _stands_alone(pieces, members, upright, np.setdiff1d(every, members))
    ]
    blocks = [_with_short_line(pieces, block, upright) for block in _blocks(pieces, kept)]
    return [_with_points(pieces, sifted, block) for block in blocks]


def _runs(
    ink: NDArray[np.uint8], pieces: Pieces, letters: NDArray[np.bool_]
) -> Iterator[NDArray[np.intp]]:
    """Runs of some letters that stand one over the other as those of a line do side by side."""
    on_side = _on_side(pieces)
    segments = find_segments(on_side, letters)
    parts = [segment.members for segment in segments if len(segment.members) > 1]
    for words in linked(parts, *links(_around(on_side, parts), _WORDS)):
        members = np.concatenate(words)
        whole = members[np.argsort(on_side.x[members], kind="stable")]
        for run in np.split(whole, _crossed(ink, pieces.take(whole))):
            if len(run) >= _LEAST[0] and _is_run(on_side.take(run)):
                yield run


def _crossed(ink: NDArray[np.uint8], run: Pieces) -> list[int]:
    """Before which pieces of a run a rule crosses it, as over the head of a column.

    It goes on to either side: an I that lies on its side is as long as the letters are high.
    """
    left, right = int(run.x.min()), int(run.right.max())
    spare = (right - left) // 2
    left, right = max(left - spare, 0), right + spare
    above = np.maximum.accumulate(run.bottom)[:-1]
    return [
        at
        for at, (top, foot) in enumerate(zip(above, run.y[1:], strict=True), 1)
        if top < foot and ink[int(top) : int(foot), left:right].any(axis=0).all()
    ]


def _on_side(pieces: Pieces) -> Pieces:
    return Pieces(pieces.y, pieces.x, pieces.bottom, pieces.right, pieces.area)


def _around(pieces: Pieces, parts: Sequence[NDArray[np.intp]]) -> Pieces:
    """A piece round each of some parts."""
    held = [pieces.take(members) for members in parts]
    x, y = (np.array([getattr(p, side).min() for p in held]) for side in ("x", "y"))
    right, bottom = (np.array([getattr(p, side).max() for p in held]) for side in _FAR)
    return Pieces(x, y, right, bottom, (right - x) * (bottom - y))


def _blocks(pieces: Pieces, runs: Sequence[NDArray[np.intp]]) -> list[NDArray[np.intp]]:
    """Lines side by side as one block."""
    around, size = _around(pieces, runs), [float(np.median(pieces.width[run])) for run in runs]
    pairs = [(i, j) for i, j in permutations(range(len(runs)), 2) if _beside(around, i, j, size[i])]
    one, other = np.array(pairs, np.intp).reshape(-1, 2).T
    return [np.concatenate(lines) for lines in linked(runs, one, other)]


def _beside(lines: Pieces, one: int, other: int, size: float) -> bool:
    """Whether a line set sideways has another beside it that is no farther off than it is wide."""
    gap = max(lines.x[other] - lines.right[one], lines.x[one] - lines.right[other])
    shared = min(lines.bottom[one], lines.bottom[other]) - max(lines.y[one], lines.y[other])
    return bool(gap < _BESIDE * size and shared > 0)


def _with_short_line(
    pieces: Pieces, block: NDArray[np.intp], upright: NDArray[np.intp]
) -> NDArray[np.intp]:
    """A block with a last word of few letters beside it, if no upright type stands beside those."""
    size = float(np.median(pieces.width[block]))
    around, rest = _around(pieces, [block]), pieces.take(upright)
    level = (rest.y + rest.bottom) / 2
    off = np.maximum(rest.x - around.right, around.x - rest.right)
    near = (off < _BESIDE * size) & (level > around.y) & (level < around.bottom)
    more = upright[near & (rest.width < _FEW_WIDE * size)]
    more = more[np.argsort(pieces.y[more])]
    gaps = pieces.y[more][1:] - np.maximum.accumulate(pieces.bottom[more])[:-1]
    apart = float(np.ptp(pieces.middle[more])) if len(more) else 0.0
    if len(more) < _FEW or apart > _IN_LINE * size or float(gaps.max()) > _IN_WORD * size:
        return block
    beside = _have_neighbours(pieces, np.setdiff1d(upright, more), more, _BESIDE)
    return block if beside.any() else np.union1d(block, more)


def _with_points(pieces: Pieces, sifted: Sifted, block: NDArray[np.intp]) -> NDArray[np.intp]:
    """A block with its points, accents and dashes, which are no letters."""
    size = float(np.median(pieces.width[block]))
    around = _around(pieces, [block])
    across, along = (share * size for share in _ROUND)
    level = (pieces.y + pieces.bottom) / 2
    near = np.abs(pieces.middle - around.middle) < around.width / 2 + across
    near &= np.abs(level - (around.y + around.bottom) / 2) < around.height / 2 + along
    return np.union1d(block, np.flatnonzero(near & sifted.small))


def _is_run(run: Pieces) -> bool:
    """Whether pieces, turned to stand side by side, are letters on a line."""
    tall = float(np.median(run.height))
    if float(np.ptp(run.middle)) < _LEAST[1] * tall:
        return False
    sizes = (run.width, run.height, np.sqrt(run.area))
    if all(float(np.ptp(size)) < _LIKE * float(np.median(size)) for size in sizes):
        return False
    on_line = max(
        float(np.mean(np.abs(edge - np.median(edge)) < _ALIGNED[0] * tall))
        for edge in (run.y, run.bottom)
    )
    gaps = run.x[1:] - np.maximum.accumulate(run.right)[:-1]
    usual = float(np.percentile(gaps, _CLOSE[0])) / tall
    if usual <= _CLOSE[1]:
        return on_line > _ALIGNED[1]
    least, widest, aligned, varied = _SPACED
    if len(run) < least or usual > widest or on_line < aligned:
        return False
    variety = float(np.ptp(run.width)) / float(np.median(run.width))
    many, some, wider, spaces = _IN_WORDS
    in_words = len(run) >= many and np.count_nonzero(gaps > wider * usual * tall) >= spaces
    return bool(variety >= (some if in_words else varied))


def _stands_alone(
    pieces: Pieces,
    members: NDArray[np.intp],
    upright: NDArray[np.intp],
    others: NDArray[np.intp],
) -> bool:
    """Whether hardly a letter of a run has upright type beside it, or another run close by."""
    run = _on_side(pieces.take(members))
    apart = np.median(run.x[1:] - np.maximum.accumulate(run.right)[:-1])
    with_neighbour = _have_neighbours(pieces, upright, members, _BESIDE)
    with_neighbour |= _have_neighbours(pieces, others, members, 0.0, _NEXT_LINE * float(apart))
    return bool(np.mean(with_neighbour) < 1 - _ALONE)


def _have_neighbours(
    pieces: Pieces,
    others: NDArray[np.intp],
    members: NDArray[np.intp],
    reach: float,
    reach_px: float = 0.0,
) -> NDArray[np.bool_]:
    """Which pieces of a run have one of some others beside them, so many heights off or pixels."""
    mine, rest = pieces.take(members), pieces.take(others)
    height = mine.height[:, None]
    gap = np.maximum(rest.x - mine.right[:, None], mine.x[:, None] - rest.right)
    shared = np.minimum(mine.bottom[:, None], rest.bottom) - np.maximum(mine.y[:, None], rest.y)
    least = np.minimum(height, rest.height)
    near = gap < reach * least + reach_px
    return np.asarray((near & (shared > 0.5 * least)).any(axis=1))
