"""The characters the letter reader tells apart, and how other text is written in them.

Decisions, each because the type can't tell or the comparison doesn't care:

- Quotes have one shape each, `'` and `"`: which way they curl is no class.
- Small capitals read as capitals; old-style, superior and inferior figures as figures.
- Ligatures read as their letters, three points as three points (`…` is `...`), leaders as points.
- Spaces of any width are one class; a run of them is read as one.
- Turned sorts have characters of their own (`turned`); `turned.FEET_UP` is one too.
- Greek letters shaped as Latin ones (Α Β Ε … ο) are those, a comma below is a cedilla (ș is ş),
  and Ð is Đ. Left without a class, since print can't tell them from what is far commoner: ď ľ ť
  Ľ, which are a letter and an apostrophe ("it's" has one), and ı, an i that lost its dot; so İ too.
- `NO_LETTER` is ink that is no type: an ornament, a piece of a border.
"""

from __future__ import annotations

import unicodedata

from proofcheck.reading.turned import FEET_UP, TURNED

__all__ = [
    "BLANK",
    "CHARACTERS",
    "DASHES",
    "FURTHER",
    "GREEK",
    "INDEX",
    "NO_LETTER",
    "SPACE",
    "in_classes",
]

BLANK = 0
"""Number of the class that stands for no character."""
SPACE = " "
DASHES = frozenset("-–—")
"""Hyphen, en dash and em dash."""
NO_LETTER = "\ufffc"
"""A run of ornaments (U+FFFC, which stands for an object among the letters)."""

_LETTERS = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
_FIGURES = "0123456789½¼¾⅓⅔⅛⅜⅝⅞⅕⅖⅗⅘⅙⅚"
_POINTS = ".,;:!?'\"-–—()[]{}/&*†‡§¶¡¿«»·_"
_SIGNS = "£$¢€%@#°+=×÷©®<>|\\~^"
_ACCENTED = "àáâãäåæçèéêëìíîïñòóôõöøœùúûüÿßÀÁÂÃÄÅÆÇÈÉÊËÌÍÎÏÑÒÓÔÕÖØŒÙÚÛÜ"

FURTHER = "āăąćčđēėęěğģīįķĺłļńņňōőŕřśşšţūůűųŵýŷźżžþðĀĂĄĆČĎĐĒĖĘĚĞĢĪĮĶĹŁĻŃŅŇŌŐŔŘŚŞŠŢŤŪŮŰŲŴÝŶŸŹŻŽÞ"
"""Latin letters of Central and Northern Europe."""
GREEK = "ΓΔΘΛΞΠΣΦΨΩαβγδεζηθικλμνξπρσςτυφχψωάέήίύώ"
"""Greek letters of shapes of their own."""

CHARACTERS: tuple[str, ...] = (
    "",
    SPACE,
    *_LETTERS,
    *_FIGURES,
    *_POINTS,
    *_SIGNS,
    *_ACCENTED,
    *FURTHER,
    *GREEK,
    *TURNED.values(),
    FEET_UP,
    NO_LETTER,
)
"""Every class in order; number 0 is the blank."""

INDEX: dict[str, int] = {letter: number for number, letter in enumerate(CHARACTERS) if letter}

_SHAPED_ALIKE = {
    **dict(zip("ΑΒΕΖΗΙΚΜΝΟΡΤΥΧοό", "ABEZHIKMNOPTYXoó", strict=True)),
    **dict(zip("șțȘȚÐ", "şţŞŢĐ", strict=True)),
}
_PLAIN = {
    **_SHAPED_ALIKE,
    **dict.fromkeys("‘’‚‛′`´ʼ", "'"),
    **dict.fromkeys("“”„‟″", '"'),
    **dict.fromkeys("‐‑­⁃", "-"),
    **dict.fromkeys("−‒", "–"),
    "―": "—",
    "…": "...",
    "‥": "..",
    "•": "·",
    "⁄": "/",
    "ſ": "s",
    "ﬅ": "st",
    "ﬆ": "st",
}


def _plain(letter: str) -> str:
    """One character in the classes' own characters; itself where there are none."""
    if letter in INDEX:
        return letter
    if letter in _PLAIN:
        return _PLAIN[letter]
    if letter.isspace():
        return SPACE
    folded = unicodedata.normalize("NFKC", letter)
    if folded != letter and all(part in INDEX for part in folded):
        return folded
    return letter


def in_classes(text: str) -> str:
    """Text in the reader's characters: shapes merged, white space single, none at the ends.

    Characters outside the classes are kept as they are (`lacking` finds them).
    """
    composed = unicodedata.normalize("NFC", text)
    return " ".join("".join(_plain(letter) for letter in composed).split())
