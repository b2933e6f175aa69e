"""Which ink is which letter: a word's ink in parts side by side, and the letters in each.

Where there are as many parts as letters each is a letter (a ligature may be one part). Where
there are more or fewer, some letters are broken or touch: then the widths the page's letters
usually have say which parts make one letter, and which part holds more than one.
"""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.sheet.pieces import Pieces

__all__ = ["parts_of", "units_by_count", "units_by_width"]

_LIGATURES = re.compile("ffi|ffl|fi|fl|ff|.")
_SHARED = 0.5
"""Of the narrower one's width: parts one above the other belong to one letter."""
_TWO_STROKES = '"“”'
_MOST_LETTERS, _MOST_PARTS = 4, 4
"""That touch one another in one part; that one letter is broken into."""
_WORST_MISFIT = 0.22
"""Of the width expected, or of an x-height for what is narrow."""
_BREAK = 0.02
"""What each break or touching costs, so that the plainest account wins."""


def parts_of(mine: Sequence[int], pieces: Pieces) -> list[list[int]]:
    """Pieces, given from left to right, that stand one above another, put together."""
    parts: list[list[int]] = []
    for piece in mine:
        if parts:
            x = min(pieces.x[p] for p in parts[-1])
            right = max(pieces.right[p] for p in parts[-1])
            shared = min(right, pieces.right[piece]) - max(x, pieces.x[piece])
            if shared > _SHARED * min(right - x, pieces.right[piece] - pieces.x[piece]):
                parts[-1].append(piece)
                continue
        parts.append([piece])
    return parts


def units_by_count(word: str, parts: int) -> list[tuple[str, int]] | None:
    """Letters with the number of parts each takes, where the count alone settles it."""
    for units in ([*word], _LIGATURES.findall(word)):
        strokes = [2 if unit in _TWO_STROKES else 1 for unit in units]
        if sum(strokes) == parts:
            return list(zip(units, strokes, strict=True))
    return None


def units_by_width(
    word: str, edges: Sequence[tuple[float, float]], usual: Mapping[str, float]
) -> list[tuple[str, int]] | None:
    """Letters with the number of parts each takes, by their widths; None where they don't fit.

    Args:
        word: its letters.
        edges: left and right edge of each part, in x-heights.
        usual: width of each single letter on this page, in x-heights; one that is not in it
            may have any.
    """

    @cache
    def best(part: int, letter: int) -> tuple[float, tuple[tuple[str, int], ...]]:
        """The least misfit of all from this part and letter on, and how it comes about."""
        if part == len(edges) or letter == len(word):
            both = part == len(edges) and letter == len(word)
            return (0.0 if both else float("inf")), ()
        found: tuple[float, tuple[tuple[str, int], ...]] = (float("inf"), ())
        for letters, parts in _WAYS:
            if part + parts > len(edges) or letter + letters > len(word):
                continue
            text = word[letter : letter + letters]
            misfit = _misfit(text, edges[part + parts - 1][1] - edges[part][0], usual)
            if misfit <= _WORST_MISFIT:
                rest, ways = best(part + parts, letter + letters)
                total = misfit + rest + _BREAK * (letters + parts - 2)
                if total < found[0]:
                    found = total, ((text, parts), *ways)
        return found

    total, units = best(0, 0)
    return list(units) if total < float("inf") else None


_WAYS = tuple((letters, 1) for letters in range(1, _MOST_LETTERS + 1)) + tuple(
    (1, parts) for parts in range(2, _MOST_PARTS + 1)
)


def _misfit(text: str, width: float, usual: Mapping[str, float]) -> float:
    if any(letter not in usual for letter in text):
        return 0.15 if len(text) == 1 and 0.1 < width < 2.2 else float("inf")
    expected = sum(usual[letter] for letter in text)
    return abs(width - expected) / max(expected, 0.6)
