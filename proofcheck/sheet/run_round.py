"""Matter that stands within the reach of a cut's box and is no part of the cut.

Type is set round a cut that is no rectangle: in the angle of a drawing, along a ragged edge, under
an arch; the shadow at the edge of a scan comes down aslant beside the beginnings of lines. A box
round such ink holds letters that are the page's own. They are known by the company they are in:
rows of letters of the page's size that stand on one level, as its other lines do.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from proofcheck.sheet.letterlike import are_letterlike
from proofcheck.sheet.rows import find_segments, run_of, words_joined

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.sheet.pieces import Pieces
    from proofcheck.sheet.rows import Segment

__all__ = ["is_set", "matter_beside", "sides_taken"]

_TALLEST: Final = 3.0
"""Letters of the page's size are no taller, in its common letter heights."""
_SIZES: Final = (0.6, 1.6)
"""Usual height of a row's letters, in common letter heights of the sheet."""
_OPEN: Final = 2
"""Sides on which matter in the angle of a cut has the cut beside it, at most."""
_MOSTLY: Final = 0.8
"""Share of a row's letters that stand so."""
_ROW: Final = 6
"""Letters of a row that stands by itself; figures and labels in a drawing are fewer."""
_DEEP_ROW: Final = 8
"""Letters of a row that the cut goes round on more sides; another is over or under it."""
_OUTSIDE: Final = 3
"""Letters outside the box that make a row one that goes on within it."""
_LEVEL: Final = 0.15
"""Neighbours on one level end within this share of their height of one another."""
_MOST_LEVEL: Final = 0.5
"""Share of neighbours that do; letters with tails and the points beside them don't."""
_LETTERLIKE: Final = 0.7
"""Share of a row, by width, that has the look of letters."""
_FILLED: Final = 0.35
"""Share of a row that its letters fill at least."""
_VARIED: Final = 1.5
"""How many times as wide the wide pieces of a row are as its narrow ones; windows, pales and bricks
in a picture are of one width."""
_MOST: Final = 20_000
"""Pieces in cuts past which they are the dots and strokes of pictures, unseen."""
_PITCH: Final = 4.0
"""From one line to the next at most, in common letter heights."""
_BIT: Final = 0.8
"""Points, commas and quotes are lower, in common letter heights."""
_ROUND: Final = (0.8, 0.6)
"""Where the points of a row stand: so far beside it, and over or under it."""


def matter_beside(
    pieces: Pieces,
    labels: NDArray[np.int32],
    cuts: NDArray[np.intp],
    held: NDArray[np.bool_],
    fair: NDArray[np.bool_],
    size: float,
) -> NDArray[np.bool_]:
    """Which of the pieces that cuts hold in their boxes are matter: letters in rows, their points.

    Args:
        pieces: all pieces of the sheet.
        labels: their map, as `find_pieces` gives it.
        cuts: which pieces are cuts.
        held: which lie in their boxes.
        fair: which have a size that letters have.
        size: common height of a letter, pixels.
    """
    letters = fair & (pieces.height < _TALLEST * size)
    inside = np.flatnonzero(letters & held)
    found = np.zeros(len(pieces), bool)
    if not 0 < len(inside) <= _MOST:
        return found
    sides = np.zeros(len(pieces), np.intp)
    sides[inside] = sides_taken(pieces, labels, cuts, inside)
    for row in _rows(pieces, labels, letters, held, sides, size):
        found[row.members] = True
        found |= (pieces.height < _BIT * size) & _stand_round(pieces, row)
    return found & held


def _rows(
    pieces: Pieces,
    labels: NDArray[np.int32],
    letters: NDArray[np.bool_],
    held: NDArray[np.bool_],
    sides: NDArray[np.intp],
    size: float,
) -> list[Segment]:
    """Rows of matter in the boxes of cuts, with what of them stands outside."""
    rows, deep, short = [], [], []
    for row in _lines(pieces, labels, letters, held, size):
        within = held[row.members]
        if not _is_of_size(pieces, row, size):
            continue
        if len(row.members) < _ROW:
            short.append(row)
        elif not is_set(pieces, labels, row, within):
            continue
        elif np.count_nonzero(~within) >= _OUTSIDE or _is_open(sides[row.members]):
            rows.append(row)
        elif len(row.members) >= _DEEP_ROW:
            deep.append(row)
    rows += [one for one in deep if any(_are_lines(one, other, size) for other in (*deep, *rows))]
    ends = [one for one in short if any(_ends_paragraph(one, row, size) for row in rows)]
    return rows + [one for one in ends if _are_letters(pieces, labels, one.members)]


def _lines(
    pieces: Pieces,
    labels: NDArray[np.int32],
    letters: NDArray[np.bool_],
    held: NDArray[np.bool_],
    size: float,
) -> list[Segment]:
    """Runs of letters that cuts hold in part at least, words of a line together.

    A figure in a drawing is no word of the line beside it: a stroke of the drawing parts them,
    which goes on over and under the line.
    """
    tall = np.concatenate([[False], pieces.height > _TALLEST * size])
    found: list[Segment] = []
    for row in words_joined(pieces, find_segments(pieces, letters)):
        if not held[row.members].any():
            continue
        reach = np.maximum.accumulate(pieces.right[row.members])[:-1]
        gaps = zip(reach.astype(int), pieces.x[row.members][1:].astype(int), strict=True)
        high = row.bottom - row.top
        levels = np.array([row.top - high / 2, row.top + high / 2, row.bottom + high / 2], np.intp)
        levels = levels.clip(0, len(labels) - 1)
        parted = [bool(tall[labels[levels, right:x]].any(axis=1).all()) for right, x in gaps]
        parts = np.split(row.members, np.flatnonzero(parted) + 1)
        found += [row] if len(parts) == 1 else [run_of(pieces, part) for part in parts]
    return [row for row in found if held[row.members].any()]


def _stand_round(pieces: Pieces, row: Segment) -> NDArray[np.bool_]:
    """Which pieces stand in a row or close round it, as its points do."""
    level, high = (pieces.y + pieces.bottom) / 2, row.bottom - row.top
    beside, over = (share * high for share in _ROUND)
    across = (pieces.middle > row.x - beside) & (pieces.middle < row.right + beside)
    return across & (level > row.top - over) & (level < row.bottom + over)


def sides_taken(
    pieces: Pieces, labels: NDArray[np.int32], cuts: NDArray[np.intp], chosen: NDArray[np.intp]
) -> NDArray[np.intp]:
    """On how many of their four sides pieces have the ink of a cut, however far."""
    mine = pieces.take(chosen)
    level = ((mine.y + mine.bottom) / 2).astype(np.intp)
    middle = mine.middle.astype(np.intp)
    taken = np.zeros((4, len(chosen)), bool)
    for cut in cuts.tolist():
        x, y, right, bottom = (
            int(getattr(pieces, side)[cut]) for side in ("x", "y", "right", "bottom")
        )
        mask = labels[y:bottom, x:right] == cut + 1
        across = np.flatnonzero((level >= y) & (level < bottom))
        down = np.flatnonzero((middle >= x) & (middle < right))
        row, column = level[across] - y, middle[down] - x
        first, last = _ends(mask)
        taken[0, across] |= x + first[row] < mine.x[across]
        taken[1, across] |= x + last[row] > mine.right[across]
        first, last = _ends(mask.T)
        taken[2, down] |= y + first[column] < mine.y[down]
        taken[3, down] |= y + last[column] > mine.bottom[down]
    return np.asarray(taken.sum(axis=0), np.intp)


def _ends(mask: NDArray[np.bool_]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """The first and the last place with ink of each row; a piece has some in every one."""
    return mask.argmax(axis=1), mask.shape[1] - 1 - mask[:, ::-1].argmax(axis=1)


def _is_open(sides: NDArray[np.intp]) -> bool:
    return bool(np.mean(sides <= _OPEN) >= _MOSTLY)


def _is_of_size(pieces: Pieces, row: Segment, size: float) -> bool:
    """Whether a row's letters are as high as the sheet's usually are."""
    return _SIZES[0] * size < float(np.median(pieces.height[row.members])) < _SIZES[1] * size


def is_set(
    pieces: Pieces,
    labels: NDArray[np.int32],
    row: Segment,
    within: NDArray[np.bool_],
    varied: float = _VARIED,
) -> bool:
    """Whether a row is set as a line of type is, and what of it is `within` has its look.

    Its wide pieces are `varied` times as wide as its narrow ones at least.
    """
    mine = pieces.take(row.members)
    tall = float(np.median(mine.height))
    if mine.width.sum() < _FILLED * (row.right - row.x):
        return False
    narrow, wide = np.percentile(mine.width, (5, 95))
    if wide < varied * narrow:
        return False
    beside = within[1:] | within[:-1]
    even = np.abs(np.diff(mine.bottom)) < _LEVEL * tall
    if float(np.mean(even[beside])) < _MOST_LEVEL:
        return False
    return _are_letters(pieces, labels, row.members[within & (mine.height > _SIZES[0] * tall)])


def _are_letters(pieces: Pieces, labels: NDArray[np.int32], chosen: NDArray[np.intp]) -> bool:
    """Whether most of some pieces have the look of letters."""
    width = pieces.width[chosen]
    like = are_letterlike(pieces, labels, chosen)
    return bool(width[like].sum() >= _LETTERLIKE * width.sum())


def _are_lines(one: Segment, other: Segment, size: float) -> bool:
    """Whether two rows stand one under the other as lines of a paragraph do."""
    apart = abs(one.bottom - other.bottom)
    beside = min(one.right, other.right) > max(one.x, other.x)
    return beside and size < apart < _PITCH * size


def _ends_paragraph(one: Segment, row: Segment, size: float) -> bool:
    """Whether a few letters stand under the beginning of a row, as the last of a paragraph do."""
    return one.bottom > row.bottom and abs(one.x - row.x) < size and _are_lines(one, row, size)
