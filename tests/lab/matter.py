"""Matter with no language in it to learn: words at random and with faults, nonsense, figures.

Accents and Greek are put in at random as well, and runs of ornaments, which read as no letter. A
piece of matter is a list of tokens, each a list of sorts (`Sort`); the setter puts word spaces
between the tokens.
"""

from __future__ import annotations

import unicodedata
from typing import TYPE_CHECKING, NamedTuple

from tests.lab.slots import KIND_SETS, SLOT_NUMBER, SLOTS

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np

__all__ = ["Matter", "Sort", "Token"]


class Sort(NamedTuple):
    """One sort to be set."""

    slot: int
    turned: bool = False
    """Whether it stands on its head; `slot` −1 with turned: feet up."""


Token = list[Sort]

_LOWER = "abcdefghijklmnopqrstuvwxyz"
_COMMON = "eeeeetttaaaooiinnsshhrrddllcuumwfgypbvk"
_LOOKALIKES = {
    "c": "eo", "e": "co", "l": "1Iit!", "I": "l1J", "1": "lI", "O": "0QC", "0": "Oo", "o": "0ce",
    "n": "uhr", "u": "nv", "h": "bn", "b": "hd", "i": "lj;", "f": "t", "t": "f", "r": "t", "m": "n",
    "rn": "m", ".": ",:", ",": ".;'",
    ";": ":,", ":": ";.", "-": "–—", "—": "-–", "a": "so", "s": "a",
    "5": "S3", "S": "58", "3": "85", "8": "3B", "B": "8R", "6": "09b", "9": "g0", "7": "1",
    "v": "y",
    "y": "v", "g": "q", "q": "g", "!": "l1", "G": "C", "C": "G", "D": "O", "Z": "2", "2": "Z",
}  # fmt: skip
_SUFFIX_POINTS = [",", ".", ";", ":", "!", "?", ".—", ",—", "—", ".'", ',"', '."', "...", ". . ."]
_WRAPS = ["''", '""', "‘’", "“”", "()", "[]", "«»"]
_ACCENTS: dict[str, str] = {}
_USUAL_ACCENTS: dict[str, str] = {}
for _slot in SLOTS:
    _base = unicodedata.normalize("NFD", _slot.key)[0]
    if _slot.kind in ("plain", "further") and len(_slot.key) == 1 and _base != _slot.key:
        _ACCENTS[_base] = _ACCENTS.get(_base, "") + _slot.key
        if _slot.kind == "plain":
            _USUAL_ACCENTS[_base] = _USUAL_ACCENTS.get(_base, "") + _slot.key
for _held in (_ACCENTS, _USUAL_ACCENTS):
    _held["o"] += "œø"
    _held["a"] += "æ"
for _base, _more in (("d", "đð"), ("D", "ĐÞ"), ("l", "ł"), ("L", "Ł"), ("p", "þ"), ("s", "ß")):
    _ACCENTS[_base] = _ACCENTS.get(_base, "") + _more
_GREEK_SMALL = [SLOTS[n].key for n in KIND_SETS["greek"] if SLOTS[n].key.islower()] + ["o"]
_GREEK_STRESSED = "άέήίύώó"
_GREEK_CAPITALS = [SLOTS[n].key for n in KIND_SETS["greek"] if SLOTS[n].key.isupper()] + list(
    "ABEZHIKMNOPTYX"
)
_LIGATURES = (("ffi", "ﬃ"), ("ffl", "ﬄ"), ("ff", "ﬀ"), ("fi", "ﬁ"), ("fl", "ﬂ"))


class Matter:
    """A source of tokens.

    Args:
        words: a list of words, lower case; only their shapes matter.
        rng: where all chance comes from.
    """

    def __init__(self, words: Sequence[str], rng: np.random.Generator) -> None:
        self.rng = rng
        self.short = [w for w in words if len(w) <= 4]
        self.middle = [w for w in words if 5 <= len(w) <= 7]
        self.long = [w for w in words if len(w) > 7]

    def _chance(self, share: float) -> bool:
        return bool(self.rng.random() < share)

    def _one_of(self, things: Sequence[str]) -> str:
        return things[int(self.rng.integers(len(things)))]

    # -- strings

    def _word(self) -> str:
        draw = self.rng.random()
        pool = self.short if draw < 0.5 else self.middle if draw < 0.8 else self.long
        return self._one_of(pool)

    def _nonsense(self) -> str:
        letters = _LOWER if self._chance(0.5) else _COMMON
        return "".join(self._one_of(letters) for _ in range(int(self.rng.integers(1, 10))))

    def _fault(self, word: str) -> str:  # noqa: PLR0911 - one kind of fault a line
        at = int(self.rng.integers(len(word)))
        letter = word[at]
        draw = self.rng.random()
        if draw < 0.3:
            return word[:at] + self._one_of(_LOOKALIKES.get(letter, _LOWER)) + word[at + 1 :]
        if draw < 0.5:
            return word[:at] + self._one_of(_LOWER) + word[at + 1 :]
        if draw < 0.6:
            return word[:at] + letter + word[at:]
        if draw < 0.7 and len(word) > 1:
            return word[:at] + word[at + 1 :]
        if draw < 0.8:
            return word[:at] + self._one_of(_LOWER + "il.,'") + word[at:]
        if draw < 0.85:
            return word[:at] + letter.swapcase() + word[at + 1 :]
        return word[:at] + word[at + 1 : at + 2] + letter + word[at + 2 :]

    def _figures(self) -> str:
        d = "".join(self._one_of("0123456789") for _ in range(int(self.rng.integers(1, 5))))
        two = self._one_of("0123456789") + self._one_of("0123456789")
        fraction = self._one_of("½¼¾⅓⅔⅛⅜⅝⅞⅕⅖⅗⅘⅙⅚" if self._chance(0.3) else "½¼¾")
        forms = [
            d, d, f"£{d}", f"£{d} {two}s. {d[0]}d.", f"{d[:2]}s. {d[0]}d.", f"{d[:2]}/{d[0]}",
            f"${d}.{two}", f"{two}¢", f"{d}%", f"{d},{two}{d[0]}", f"{d}.{two}", f"{d}{fraction}",
            fraction, f"{d[0]}-{two}", f"{d}–{two}", f"No. {d}", f"{d}°", f"({d})", f"[{two}]",
            f"{two}×{d[0]}", f"{two}:{two}", f"£{d}.{two}", f"1{two}{d[0]}", f"{d}th", f"#{d}",
            f"@ {d}c.", f"€{d}", f"{two}+{d}={d}", f"{d}·{two}", f"p. {d}", f"{d[0]}d.", f"{d}.",
            f"I{d}", f"O{d}l", f"{two}l", f"{d}*", f"{d}†", f"§{d}", "&c.", f"{d[0]}¼d.",
        ]  # fmt: skip
        return self._one_of(forms)

    def _odd(self) -> str:
        kind = KIND_SETS["plain" if self._chance(0.7) else "further"]
        count = int(self.rng.integers(1, 7))
        return "".join(SLOTS[kind[int(self.rng.integers(len(kind)))]].key for _ in range(count))

    def _greek(self) -> str:
        """Greek letters: small, with one stress at most, or capitals."""
        count = int(self.rng.integers(3, 11))
        if self._chance(0.2):
            letters = [self._one_of(_GREEK_CAPITALS) for _ in range(count)]
        else:
            letters = [self._one_of(_GREEK_SMALL) for _ in range(count)]
            if self._chance(0.3):
                letters[0] = self._one_of(_GREEK_CAPITALS)
            if self._chance(0.7):
                letters[int(self.rng.integers(1, count))] = self._one_of(_GREEK_STRESSED)
        return "".join(letters) + (self._one_of(",.;·") if self._chance(0.2) else "")

    def _accented(self, word: str, share: float) -> str:
        """A word with accents put on its letters."""
        letters = list(word)
        for at, letter in enumerate(letters):
            if letter in _ACCENTS and self._chance(share):
                usual = letter in _USUAL_ACCENTS and self._chance(0.35)
                letters[at] = self._one_of((_USUAL_ACCENTS if usual else _ACCENTS)[letter])
        return "".join(letters)

    def _points(self) -> str:
        if self._chance(0.15):
            return self._one_of((".", ".", " .", "·")) * int(self.rng.integers(4, 22))
        marks = ".,;:!?'\"-–—()*" if self._chance(0.7) else ".,:;'"
        return "".join(self._one_of(marks) for _ in range(int(self.rng.integers(1, 5))))

    def _dress(self, word: str) -> str:  # noqa: C901 - one kind of dress a line
        """Add capitals, accents, points and quotes as they come in print."""
        draw = self.rng.random()
        if draw < 0.16:
            word = word[:1].upper() + word[1:]
        elif draw < 0.21:
            word = word.upper()
        if self._chance(0.05):
            at = int(self.rng.integers(len(word)))
            if word[at] in _ACCENTS:
                held = _USUAL_ACCENTS if word[at] in _USUAL_ACCENTS else _ACCENTS
                word = word[:at] + self._one_of(held[word[at]]) + word[at + 1 :]
        draw = self.rng.random()
        if draw < 0.22:
            word += self._one_of(_SUFFIX_POINTS[:6] if self._chance(0.8) else _SUFFIX_POINTS)
        elif draw < 0.26:
            wrap = self._one_of(_WRAPS)
            word = wrap[0] + word + wrap[1]
        elif draw < 0.30:
            word += self._one_of(["-", "—", "–", "—", "'s", "’s", "n't", "-", "/"]) + self._word()
        elif draw < 0.32:
            word += "-"
        elif draw < 0.34:
            word = self._one_of(['"', "'", "“", "‘", "—", "(", "*"]) + word
        elif draw < 0.36:
            word += self._one_of(['"', "'", "”", "’", "—", ")", "*", "†"])
        return word

    def _token_text(self, regime: str) -> str:
        draw = self.rng.random()
        if regime == "figures" or draw < 0.05:
            return self._figures() if self._chance(0.85) else self._word()
        if regime == "greek":
            return self._greek() if self._chance(0.9) else self._figures()
        if regime == "odd" or draw < 0.06:
            return self._odd()
        if draw < 0.075:
            return self._points()
        if draw < 0.10:
            return self._one_of(["I", "a", "A", "O", "l", "1", "i", "&", "&c.", "J", "T", "y", "c"])
        word = self._nonsense() if regime == "nonsense" or draw < 0.25 else self._word()
        while self._chance(0.3):
            word = self._fault(word) or "a"
        word = self._dress(word)
        return self._accented(word, 0.3) if regime == "accented" else word

    # -- sorts

    def token(self, regime: str, *, ligatures: bool, dress: str = "", turn: float = 0.0) -> Token:
        """One token.

        Args:
            regime: "words", "nonsense", "figures", "odd", "accented", "greek".
            ligatures: use the ligature sorts.
            dress: "caps", "small-caps", "caps-and-small-caps", "old-style", "superior" or "".
            turn: share of sorts to stand on their heads.
        """
        text = self._token_text(regime)
        if dress == "caps":
            text = text.upper().replace("SS", "S") if "ß" in text else text.upper()
            text = text.replace("Ð", "Đ")
        if ligatures:
            for plain, ligature in _LIGATURES:
                text = text.replace(plain, ligature)
        sorts = []
        for place, letter in enumerate(text):
            slot = SLOT_NUMBER.get(self._dressed(letter, dress, first=place == 0))
            if letter == " " or slot is None:
                sorts.append(Sort(-1))
                continue
            sorts.append(Sort(slot, turned=turn > 0 and self._chance(turn)))
            if turn > 0 and self._chance(0.02):
                sorts.append(Sort(-1, turned=True))
        return sorts

    def _dressed(self, letter: str, dress: str, *, first: bool) -> str:
        if dress == "caps-and-small-caps" and first:
            return letter.upper() if letter.upper() in SLOT_NUMBER else letter
        if dress in ("small-caps", "caps-and-small-caps"):
            small = "sc:" + letter.lower()
            return small if small in SLOT_NUMBER else letter
        if dress == "old-style" and "on:" + letter in SLOT_NUMBER:
            return "on:" + letter
        if dress == "superior" and "su:" + letter in SLOT_NUMBER:
            return "su:" + letter
        return letter
