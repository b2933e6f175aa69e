"""Characters that stand for turned sorts, and how a person is told of them."""

from __future__ import annotations

__all__ = ["IN_WORDS", "TURNED"]

# The private use code points start at U+E100, in the order of this string.
_WITHOUT_A_CODE_POINT = "jBDJPQRU1457£"

TURNED: dict[str, str] = {
    "a": "ɐ",
    "c": "ɔ",
    "e": "ǝ",
    "f": "ɟ",
    "g": "ᵷ",
    "h": "ɥ",
    "i": "ᴉ",
    "k": "ʞ",
    "l": "ꞁ",
    "m": "ɯ",
    "r": "ɹ",
    "t": "ʇ",
    "v": "ʌ",
    "w": "ʍ",
    "y": "ʎ",
    "A": "Ɐ",
    "C": "Ↄ",
    "E": "Ǝ",
    "F": "Ⅎ",
    "G": "⅁",
    "K": "Ʞ",
    "L": "Ꞁ",
    "T": "Ʇ",
    "V": "Ʌ",
    "Y": "⅄",
    "2": "↊",
    "3": "↋",
    "&": "⅋",
    ".": "⸳",
    ";": "⸵",
} | {letter: chr(0xE100 + place) for place, letter in enumerate(_WITHOUT_A_CODE_POINT)}
"""Characters that have a turned character of their own."""

_LATE = ("ᵷ", "ᴉ", "ꞁ", "Ɐ", "Ↄ", "Ⅎ", "⅁", "Ʞ", "Ꞁ", "Ʇ", "⅄", "↊", "↋", "⅋", "⸳", "⸵")
"""Turned characters that few faces have; the rest of the table are letters of phonetic script."""

IN_WORDS: dict[str, str] = {
    turned: f"⟨{letter} turned⟩"
    for letter, turned in TURNED.items()
    if turned in _LATE or "\ue000" <= turned <= "\uf8ff"
}
"""What is shown of a turned character that would be a box on paper and screen: "⟨l turned⟩"."""
