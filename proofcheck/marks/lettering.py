"""Words written out in the project's own hand.

A character the hand lacks is written by the number of its code point ("U+4E2D"), so that what
was meant can always be looked up and nothing is dropped.
"""

from __future__ import annotations

import unicodedata
from dataclasses import replace
from functools import lru_cache

import numpy as np

from proofcheck.base.turned_letters import TURNED
from proofcheck.base.visible import visible
from proofcheck.marks.glyphs import ACCENTS, BASE, SIDE_BY_SIDE
from proofcheck.marks.paths import Drawing, extent, moved, parse
from proofcheck.marks.scripts import OTHER_SCRIPTS

__all__ = ["SLANT", "has_letter", "in_hand", "write"]

SLANT = 0.14
"""x gained for each unit of height: a hand leaning to the right by about 8°."""

_BETWEEN = 0.27
"""White between two letters, in x-heights."""
_WORD_SPACE = 0.55
_OFF_LINE = {"<super>": 0.74, "<sub>": -0.34}
"""Where superior and inferior figures stand, by their tag in the Unicode data."""
_CAP_RAISE = 0.45
_DOTTED = {"i", "\u0456"}
"""The Latin and the Ukrainian i lose their dot under an accent."""
_RAISED_OVER = {"b", "d", "f", "h", "k", "l", "t", "i", "j"}
"""Small letters that reach as high as capitals."""

_HAND = BASE | OTHER_SCRIPTS
_UPRIGHT = {turned: letter for letter, turned in TURNED.items()}


def has_letter(char: str) -> bool:
    """Whether the hand has strokes of its own for a character."""
    return _strokes_of(char) is not None


@lru_cache(maxsize=4096)
def write(text: str, slant: float = SLANT) -> Drawing:
    """The text written along the baseline from x = 0 in units of its x-height.

    Characters that can't be seen are shown as signs (`proofcheck.base.visible`); nothing is left
    out.
    """
    drawn: list[Drawing] = []
    x = 0.0
    for char in in_hand(text):
        if char.isspace():
            x += _WORD_SPACE
            continue
        strokes = _strokes_of(char) or ()
        held = extent(strokes)
        drawn.append(moved(strokes, by=(x - held.left, 0.0)))
        x += held.width + _BETWEEN
    return moved(tuple(stroke for part in drawn for stroke in part), slant=slant)


def in_hand(text: str) -> str:
    """The text as characters the hand can write, each one code point with its accents."""
    out = []
    for char in unicodedata.normalize("NFC", visible(text)):
        if char.isspace():
            out.append(" ")
        elif char in SIDE_BY_SIDE:
            out.append(SIDE_BY_SIDE[char])
        elif has_letter(char):
            out.append(char)
        else:
            out.append(_spelled(char))
    return "".join(out)


def _spelled(char: str) -> str:
    """A character the hand lacks, by its plainer form or else its number."""
    if char in "⟨⟩":
        return "<" if char == "⟨" else ">"
    plainer = unicodedata.normalize("NFKC", char)
    if plainer != char and all(has_letter(c) for c in plainer):
        return plainer
    return f"U+{ord(char):04X}"


@lru_cache(maxsize=2048)
def _strokes_of(char: str) -> Drawing | None:
    if char in _HAND:
        return parse(_HAND[char])
    if _UPRIGHT.get(char) in _HAND:
        return _turned(_UPRIGHT[char])
    parts = unicodedata.normalize("NFKD", char)
    if "⁄" in parts and len(parts) >= 3:
        return _fraction(*parts.split("⁄", 1))
    tag = unicodedata.decomposition(char).partition(" ")[0]
    if tag in _OFF_LINE and all(c in _HAND for c in parts):
        return moved(write(parts, 0.0), by=(0.0, _OFF_LINE[tag]), scale=0.58)
    if len(parts) > 1 and all(accent in ACCENTS for accent in parts[1:]):
        return _accented(parts[0], parts[1:])
    return None


def _turned(letter: str) -> Drawing:
    """A letter on its head, as a sort turned in its line prints: about the middle of its body."""
    about = np.array([0.0, 1.0])
    return tuple(replace(stroke, points=about - stroke.points) for stroke in parse(_HAND[letter]))


def _accented(letter: str, accents: str) -> Drawing | None:
    if letter not in _HAND:
        return None
    base = parse(_HAND["ı" if letter in _DOTTED else letter])
    held = extent(base)
    middle = (held.left + min(held.right, held.left + 1.0)) / 2
    raised = _CAP_RAISE if letter.isupper() or letter in _RAISED_OVER - {"i", "j"} else 0.0
    drawn = base
    for place, accent in enumerate(accents):
        below = accent in "\u0323\u0326\u0327\u0328\u0345"
        rise = 0.0 if below else raised + 0.35 * place
        drawn += moved(parse(ACCENTS[accent]), by=(middle, rise))
    return drawn


def _fraction(over: str, under: str) -> Drawing | None:
    """A piece fraction: small figures on either side of a slanting bar."""
    if not all(c in _HAND for c in over + under):
        return None
    top = moved(write(over, 0.0), by=(0.0, 0.78), scale=0.55)
    x = extent(top).right + 0.02
    bar = moved(parse("M.62,1.5L0,-.05"), by=(x - 0.1, 0.0))
    bottom = moved(write(under, 0.0), by=(x + 0.38, -0.05), scale=0.55)
    return top + bar + bottom
