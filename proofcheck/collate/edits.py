"""The smallest steps from what is printed to what the copy has."""

from __future__ import annotations

from enum import Enum
from typing import NamedTuple

__all__ = ["Edit", "How", "is_dash"]


class How(Enum):
    """What an edit is about, where its letters alone don't tell."""

    LETTERS = "letters"
    """Letters, points or spaces within a word or two."""
    TRANSPOSED = "transposed"
    """Two neighbouring letters the wrong way round."""
    WORD = "word"
    """A word to strike out and write again."""
    WORDS = "words"
    """Whole words missing or too many; the space beside them goes with them."""
    SWAPPED = "swapped"
    """Two neighbouring words the wrong way round."""
    CASE = "case"
    """Letters that differ in nothing but case, as many on both sides."""
    DIVISION = "division"
    """A hyphen at the line end inside a word the copy prints whole; no fault in itself."""
    BROKEN = "broken"
    """A word broken at the line end without a hyphen."""


class Edit(NamedTuple):
    """Proof text[p0:p1] stands where the copy has text[c0:c1]."""

    c0: int
    c1: int
    p0: int
    p1: int
    how: How = How.LETTERS

    def moved(self, c: int, p: int) -> Edit:
        """The same edit within longer texts, `c` further on in the copy and `p` in the proof."""
        return Edit(self.c0 + c, self.c1 + c, self.p0 + p, self.p1 + p, self.how)


def is_dash(char: str) -> bool:
    """True for an en or em dash."""
    return char in ("—", "–")
