"""The sorts drawn from every face: what each shows and how it reads."""

from __future__ import annotations

from typing import NamedTuple

from proofcheck.reading.alphabet import CHARACTERS, FURTHER, GREEK, NO_LETTER, SPACE
from proofcheck.reading.turned import FEET_UP, is_turned

__all__ = ["KIND_SETS", "SLOTS", "SLOT_NUMBER", "Slot"]


class Slot(NamedTuple):
    """One kind of sort."""

    key: str
    """Its name, unique."""
    shown: str
    """The text drawn."""
    label: str
    """How it reads, in the alphabet's characters."""
    kind: str
    """plain, further, greek, quote, ligature, small-cap, old-style, superior, bar-fraction,
    slant-fraction, ornament or large-ornament."""


_FRACTIONS = {
    "½": "12", "¼": "14", "¾": "34", "⅓": "13", "⅔": "23", "⅛": "18", "⅜": "38", "⅝": "58",
    "⅞": "78", "⅕": "15", "⅖": "25", "⅗": "35", "⅘": "45", "⅙": "16", "⅚": "56",
}  # fmt: skip


_ORNAMENTS = "❦❧☙❖◆◈❂✠✥✤✣✢❀❁✿❃❋✾✽☞☛☜☚♣♠♥♦▲▼►◄➤⁂☼☀✂✦✧★☆⚜❊✪✹✸⁕۞"


def _slots() -> tuple[Slot, ...]:
    apart = {SPACE, FEET_UP, NO_LETTER, *FURTHER, *GREEK}
    plain = [c for c in CHARACTERS if c and c not in apart and not is_turned(c)]
    found = [Slot(c, c, c, "plain") for c in plain]
    found += [Slot(c, c, c, "further") for c in FURTHER]
    found += [Slot(c, c, c, "greek") for c in GREEK]
    found += [Slot("or:" + c, c, NO_LETTER, "ornament") for c in _ORNAMENTS]
    found += [Slot("ol:" + c, c, NO_LETTER, "large-ornament") for c in _ORNAMENTS]
    found += [Slot(c, c, "'", "quote") for c in "‘’"]
    found += [Slot(c, c, '"', "quote") for c in "“”"]
    ligatures = {"ﬀ": "ff", "ﬁ": "fi", "ﬂ": "fl", "ﬃ": "ffi", "ﬄ": "ffl"}
    found += [Slot(c, c, label, "ligature") for c, label in ligatures.items()]
    small = "abcdefghijklmnopqrstuvwxyzæœéè&"
    found += [Slot("sc:" + c, c, c.upper(), "small-cap") for c in small]
    found += [Slot("on:" + c, c, c, "old-style") for c in "0123456789"]
    found += [Slot("su:" + c, c, c, "superior") for c in "0123456789stndrhe"]
    found += [Slot("bar:" + c, parts, c, "bar-fraction") for c, parts in _FRACTIONS.items()]
    found += [Slot("slant:" + c, parts, c, "slant-fraction") for c, parts in _FRACTIONS.items()]
    return tuple(found)


SLOTS = _slots()
SLOT_NUMBER = {slot.key: number for number, slot in enumerate(SLOTS)}
KIND_SETS = {
    kind: tuple(n for n, slot in enumerate(SLOTS) if slot.kind == kind)
    for kind in dict.fromkeys(slot.kind for slot in SLOTS)
}
