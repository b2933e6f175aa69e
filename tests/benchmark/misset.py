"""What goes wrong at the keyboard or the case, put into a job's source before it is set."""

from __future__ import annotations

import random
import re
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from .markedup import Job

__all__ = ["ALIKE", "Misset", "missaid", "misset"]

APART = 28
"""Characters of copy between one fault and the next, at least: more stood in no real proof."""
EACH = 75
"""Characters of copy to a fault."""
ALIKE = {
    "a": "o", "b": "h", "c": "e", "e": "c", "f": "t", "h": "b", "i": "l", "l": "i", "m": "n",
    "n": "u", "o": "c", "r": "t", "t": "f", "u": "n", "v": "y", "y": "v", "B": "R", "R": "B",
    "O": "Q", "E": "F", "F": "E", "C": "G", "G": "C", "P": "R", "I": "T", "U": "V",
}  # fmt: skip
_TURNABLE = "abcdefghkmnpqrtuvwyABCDEFGJKLMPQRTUVWY1234567"
"""What reads otherwise upside down, or shows that it stands so (common practice)."""
_POINTS = {".": ",", ",": ".", ";": ":", ":": ";", "!": ".", "?": "."}
_SMALL = "abcdefghijklmnopqrstuvwxyz"


@dataclass(frozen=True, slots=True)
class Misset:
    """One fault: its kind, its place in the copy, and what stands there instead."""

    kind: str
    start: int
    end: int
    wanted: str
    printed: str
    source: str
    """What takes its place in the source."""


def _letter(text: str, at: int, rng: random.Random) -> tuple[int, str] | None:
    if text[at].isalpha() and text[at].isascii():
        others = _SMALL.replace(text[at].lower(), "")
        other = rng.choice(others)
        return 1, other.upper() if text[at].isupper() else other
    return None


def _alike(text: str, at: int, rng: random.Random) -> tuple[int, str] | None:
    return (1, ALIKE[text[at]]) if text[at] in ALIKE else None


def _gone(text: str, at: int, rng: random.Random) -> tuple[int, str] | None:
    inner = text[at].isalpha() and text[at - 1 : at].isalpha() and text[at + 1 : at + 2].isalpha()
    return (1, "") if inner and text[at] not in (text[at - 1], text[at + 1]) else None


def _twice(text: str, at: int, rng: random.Random) -> tuple[int, str] | None:
    return (1, text[at] * 2) if _gone(text, at, rng) else None


def _crossed(text: str, at: int, rng: random.Random) -> tuple[int, str] | None:
    two = text[at : at + 2]
    if two.isalpha() and two.islower() and two[0] != two[-1] and len(two) == 2:
        return 2, two[::-1]
    return None


def _case(text: str, at: int, rng: random.Random) -> tuple[int, str] | None:
    plain = text[at].isascii() and text[at].isalpha() and text[at] not in "cCoOsSvVwWxXzZ"
    return (1, text[at].swapcase()) if plain else None


def _figure(text: str, at: int, rng: random.Random) -> tuple[int, str] | None:
    figures = "0123456789"
    return (1, rng.choice(figures.replace(text[at], ""))) if text[at] in figures else None


def _point(text: str, at: int, rng: random.Random) -> tuple[int, str] | None:
    return (1, _POINTS[text[at]]) if text[at] in _POINTS else None


def _word(text: str, at: int) -> int:
    """Length of the word that begins here, one of three letters and more between spaces."""
    found = re.compile(r"[A-Za-z]{3,}(?= [A-Za-z])").match(text, at)
    return len(found[0]) if found and text[at - 1 : at] == " " else 0


def _word_gone(text: str, at: int, rng: random.Random) -> tuple[int, str] | None:
    long = _word(text, at)
    return (long + 1, "") if long else None


def _word_twice(text: str, at: int, rng: random.Random) -> tuple[int, str] | None:
    long = _word(text, at)
    return (long, f"{text[at : at + long]} {text[at : at + long]}") if long else None


def _turned(text: str, at: int, rng: random.Random) -> tuple[int, str] | None:
    return (1, text[at]) if text[at] in _TURNABLE else None


def _strange(text: str, at: int, rng: random.Random) -> tuple[int, str] | None:
    return (1, text[at]) if text[at] in _SMALL and text[at] not in "ilo" else None


_MAKING: dict[str, Callable[[str, int, random.Random], tuple[int, str] | None]] = {
    "letter-other": _letter,
    "letter-alike": _alike,
    "letter-missing": _gone,
    "letter-doubled": _twice,
    "letters-transposed": _crossed,
    "case": _case,
    "figure": _figure,
    "point": _point,
    "word-missing": _word_gone,
    "word-doubled": _word_twice,
    "turned": _turned,
    "wrong-fount": _strange,
}
_SORTS = {
    "turned": '<span style="display:inline-block;line-height:1;transform:rotate(180deg)">{}</span>',
    "wrong-fount": '<span style="font-family:strange">{}</span>',
}


def misset(job: Job, seed: int) -> list[Misset]:
    """Faults for a job, at least two, apart from one another; in the order of the copy."""
    rng = random.Random(seed)
    kinds = list(_MAKING)
    rng.shuffle(kinds)
    taken: list[Misset] = []
    for number in range(max(2, len(job.copy) // EACH)):
        for kind in kinds[number % len(kinds) :] + kinds:
            made = _one(job, kind, taken, rng)
            if made:
                taken.append(made)
                break
    return sorted(taken, key=lambda each: each.start)


def _one(job: Job, kind: str, taken: list[Misset], rng: random.Random) -> Misset | None:
    places = list(range(1, len(job.copy) - 1))
    rng.shuffle(places)
    for at in places:
        if any(each.start - APART < at < each.end + APART for each in taken):
            continue
        made = _MAKING[kind](job.copy, at, rng)
        if made and _whole(job, at, made[0]):
            long, printed = made
            wanted = job.copy[at : at + long]
            laid = escape(printed)
            if kind in _SORTS:
                laid, printed = _SORTS[kind].format(laid), f"{kind} {printed}"
            return Misset(kind, at, at + long, wanted, printed, laid)
    return None


def _whole(job: Job, at: int, long: int) -> bool:
    """Whether so many characters stand in one run of the source, with no mark between."""
    raw = job.source[job.places[at][0] : job.places[at + long - 1][1]]
    return " ".join(raw.split()) == job.copy[at : at + long].strip()


def missaid(job: Job, faults: list[Misset]) -> str:
    """The job's source with these faults in it."""
    source = job.source
    for each in reversed(faults):
        start, end = job.places[each.start][0], job.places[each.end - 1][1]
        source = source[:start] + each.source + source[end:]
    return source
