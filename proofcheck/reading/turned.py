"""Sorts standing on their heads, and how they are written down.

A sort set upside down prints its letter turned by half a turn about the middle of the body. Some
then look like another letter (n is u, p is d, 6 is 9), some look almost as before (o s x z, H I
N), and the rest look like nothing else: each of those has a character of its own here, the
Unicode turned letter where there is one, else a code point of the private use area.

The look-alikes are those the old handbooks list (n u p d b q, 6 9, and o s x z nearly unchanged);
M and W, ! and ¡, comma and apostrophe are common practice.
"""

from __future__ import annotations

from proofcheck.base.turned_letters import TURNED

__all__ = [
    "FEET_UP",
    "LOOKS_LIKE",
    "TURNED",
    "is_turned",
    "set_right",
]

FEET_UP = "〓"
"""A sort set feet up, two black marks: the sign that a letter is wanting (U+3013, the geta mark,
which is the picture of just that)."""

LOOKS_LIKE: dict[str, str] = {
    "b": "q",
    "q": "b",
    "d": "p",
    "p": "d",
    "n": "u",
    "u": "n",
    "6": "9",
    "9": "6",
    "M": "W",
    "W": "M",
    "!": "¡",
    "¡": "!",
    "?": "¿",
    "¿": "?",
    "(": ")",
    ")": "(",
    "[": "]",
    "]": "[",
    "«": "»",
    "»": "«",
    ",": "'",
    "'": ",",
}
"""Characters that, turned, print as another character."""

_RIGHT = {turned: letter for letter, turned in TURNED.items()}


def is_turned(letter: str) -> bool:
    """Whether a character stands for a turned sort, or for one set feet up."""
    return letter in _RIGHT or letter == FEET_UP


def set_right(letter: str) -> str:
    """The character the right way up; any other character, and `FEET_UP`, unchanged."""
    return _RIGHT.get(letter, letter)
