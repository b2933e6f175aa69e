"""Job numbers that look the same to a person though they are not: 214 and 2l4, ２１４, 014.

Two numbers are held against each other by their skeletons, after Unicode Technical Standard #39
("Unicode Security Mechanisms", section 4): compatibility forms made one (NFKC), every letter put
for the one it looks like. The table is a small one of our own, of letters and figures that a
keyboard of Latin, Greek or Cyrillic gives: pairs of the standard's confusables.txt, written down
from memory and held against ICU's copy of it. Beyond the standard, capitals and small letters
count as one, noughts before a figure as none, and figures of any script by their value.
"""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.docket.docket_errors import DocketError

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["LOOKS_LIKE", "alike_among", "refuse_alike", "skeleton"]

_CYRILLIC = "АВЕЅІЈКМНОРСТУХаеѕіјорсухԁһԛԝгЗбӀӏ", "ABESIJKMHOPCTYXaesijopcyxdhqwr36li"
_GREEK = "ΑΒΕΖΗΙΚΜΝΟΡΤΥΧαγινορυϲϳ", "ABEZHIKMNOPTYXayivopucj"
_LATIN = "ıɑɡɩʋ", "iagiu"
LOOKS_LIKE = {
    char: like
    for chars, likes in (_CYRILLIC, _GREEK, _LATIN)
    for char, like in zip(chars, likes, strict=True)
}
"""What each letter that is not of the Latin alphabet, or is of an odd form, looks like there."""
_LAST = str.maketrans({"i": "1", "l": "1", "|": "1", "o": "0"})
_PAIR = "rn", "m"
_NOUGHTS = re.compile(r"(?<![0-9])0+(?=[0-9])")


def skeleton(number: str) -> str:
    """What a number comes to if all that looks the same is the same."""
    out = "".join(_plain(char) for char in unicodedata.normalize("NFKC", number))
    out = "".join(out.casefold().split()).translate(_LAST)
    return _NOUGHTS.sub("", out.replace(*_PAIR))


def _plain(char: str) -> str:
    if char.isdecimal():
        return str(unicodedata.decimal(char))
    if unicodedata.category(char) == "Pd" or char == "−":
        return "-"
    return LOOKS_LIKE.get(char, char)


def alike_among(number: str, others: Iterable[str]) -> tuple[str, ...]:
    """Those of the others, none of them this one, that look like it."""
    own = skeleton(number)
    return tuple(other for other in others if other != number and skeleton(other) == own)


def refuse_alike(number: str, others: Iterable[str]) -> None:
    """Refuse a new job's number that looks like another's. Raises DocketError."""
    found = alike_among(number, others)
    if found:
        msg = (
            f"job {visible(number)} looks like job {visible(found[0])} but is not the same "
            f"number ({_unlike(number, found[0])}); give that number, or confirm that it is "
            "another job (--another)"
        )
        raise DocketError(msg)


def _unlike(number: str, other: str) -> str:
    """Where two numbers that look alike part, in words."""
    for mine, theirs in zip(number, other, strict=False):
        if mine != theirs:
            return f"{_name(mine)} for {_name(theirs)}"
    return "one is the longer"


def _name(char: str) -> str:
    return unicodedata.name(char, "a sign").lower()
