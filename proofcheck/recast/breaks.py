"""Where the lines of a paragraph may end, and how long what lies between comes to."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate
from typing import TYPE_CHECKING, NamedTuple

from proofcheck.base.divisions import may_divide, places_to_divide
from proofcheck.recast.keyed import units_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

__all__ = ["Break", "Matter", "lay_out_breaks", "matter_of"]

_WORD = re.compile(r"\S+")
_OWN_BREAK = re.compile(r"(?<=\w)[-—–](?=\w)")
_LONG = re.compile(r"[^\W\d_]{5,}")
_AFTER = 3
_BEFORE = 2


class Break(NamedTuple):
    """A place where one line ends and the next begins."""

    end: int
    """First character not on the upper line (its space is on neither)."""
    next: int
    """First character of the lower line."""
    hyphen: bool
    """Whether a hyphen must be put in."""


@dataclass(frozen=True, slots=True)
class Matter:
    """A paragraph measured: text, breaks, and lengths up to each character."""

    text: str
    breaks: tuple[Break, ...]
    """In order, the first before the text and the last after it."""
    letters_pt: tuple[float, ...]
    """Length of the letters before each character, spaces not counted; one more at the end."""
    gaps: tuple[int, ...]
    """Word spaces before each character."""
    hyphen_pt: float

    def length_pt(self, upper: int, lower: int) -> float:
        """Length of the letters of the line between two breaks, by their numbers."""
        start, end = self.breaks[upper].next, self.breaks[lower].end
        length = self.letters_pt[end] - self.letters_pt[start]
        return length + self.hyphen_pt if self.breaks[lower].hyphen else length

    def spaces(self, upper: int, lower: int) -> int:
        """Word spaces in that line."""
        return self.gaps[self.breaks[lower].end] - self.gaps[self.breaks[upper].next]

    def line(self, upper: int, lower: int) -> str:
        """That line as it is to be keyed."""
        text = self.text[self.breaks[upper].next : self.breaks[lower].end]
        return text + "-" if self.breaks[lower].hyphen else text


def lay_out_breaks(
    text: str,
    language: str,
    *,
    also: Iterable[int] = (),
    never: Iterable[int] = (),
    divide: bool = True,
) -> tuple[Break, ...]:
    """Every place where a line of the text may end.

    Args:
        text: the paragraph, words parted by single spaces.
        language: for the division of words, as the OCR engine names it.
        also: places where printed lines end now, by the first character of the next.
        never: places that are not to be used, by the same.
        divide: whether words may be divided.
    """
    places = {0, len(text), *also}
    for word in _WORD.finditer(text):
        places.add(word.start())
        places.update(word.start() + at for at in _own_breaks(word.group()))
        if divide:
            places.update(word.start() + at for at in _divisions(word.group(), language))
    places -= set(never) - {0, len(text)}
    return tuple(_break(text, at) for at in sorted(places))


def matter_of(
    text: str,
    breaks: tuple[Break, ...],
    width_of: Callable[[str], float],
    *,
    styles: Callable[[int], str] = lambda _: "",
    ligatures: bool = True,
) -> Matter:
    """Measure a paragraph.

    Args:
        text: the paragraph.
        breaks: from `lay_out_breaks`.
        width_of: set width of a character or of joined letters, in points.
        styles: style of each character by its place ("" roman, "italic" …).
        ligatures: whether joined letters are cast as one.
    """
    widths: list[float] = []
    for unit in units_of(text, ligatures=ligatures):
        widths += _shares(unit, styles(len(widths)), width_of)
    gaps = [0, *accumulate(int(char == " ") for char in text)]
    lengths = [0.0, *accumulate(widths)]
    return Matter(text, breaks, tuple(lengths), tuple(gaps), width_of("-"))


def _shares(unit: str, style: str, width_of: Callable[[str], float]) -> list[float]:
    """The width of one unit, letter by letter: joined letters may be parted at a line end."""
    if unit == " ":
        return [0.0]
    lead = f"{style} " if style else ""
    whole = width_of(lead + unit)
    if len(unit) == 1:
        return [whole]
    parts = [width_of(lead + char) for char in unit[:-1]]
    return [*parts, whole - sum(parts)]


def _break(text: str, at: int) -> Break:
    end = at
    while end > 0 and text[end - 1] == " ":
        end -= 1
    inside = 0 < at < len(text) and end == at
    # Only letters are parted by a hyphen; a line may end at a dash or a point as it is.
    return Break(end, at, inside and text[at - 1].isalnum() and text[at].isalnum())


@lru_cache(maxsize=8192)
def _own_breaks(word: str) -> tuple[int, ...]:
    """After the word's own hyphens and dashes."""
    return tuple(found.end() for found in _OWN_BREAK.finditer(word))


@lru_cache(maxsize=16384)
def _divisions(word: str, language: str) -> tuple[int, ...]:
    """Where the word may be divided: plain words of five letters or more, names left whole."""
    found = _LONG.search(word)
    if found is None or found.group() != found.group().lower() or _LONG.search(word, found.end()):
        return ()
    core, start = found.group(), found.start()
    if any(char.isalnum() or char in "-—–/’'" for char in word[:start] + word[found.end() :]):
        return ()
    return tuple(
        start + at
        for at in places_to_divide(core, language)
        if _BEFORE <= at <= len(core) - _AFTER and may_divide(word, start + at, language).ok
    )
