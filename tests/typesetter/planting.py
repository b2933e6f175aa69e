"""Plant a fault of a kind wherever the seed says: for volume, not for particular cases."""

from __future__ import annotations

import re

import numpy as np

from tests.turning import as_printed_turned

from . import faults, linefaults
from .matter import Forme

__all__ = ["KINDS", "plant"]

LETTERS = "abcdefghijklmnopqrstuvwxyz"
LOOK_ALIKE = {"c": "e", "e": "c", "n": "u", "u": "n", "h": "b", "b": "h", "i": "l", "t": "l",
              "o": "c", "a": "o", "r": "t", "f": "t", "v": "y", "s": "a", "m": "w"}  # fmt: skip
POINTS = {",": ".", ".": ",", ";": ",", ":": ";"}


def plant(forme: Forme, kind: str, seed: int, line: int | None = None) -> Forme:
    """A forme with one more fault of a kind in `KINDS`, in a line that has none yet.

    Raises ValueError where no line can hold such a fault.
    """
    rng = np.random.default_rng(seed)
    taken = {p.uid for p in forme.planted} | {u for p in forme.planted for u in p.other_uids}
    lines = [
        n
        for n, slug in enumerate(forme.slugs, start=1)
        if slug.uid not in taken and slug.align == "justify" and len(slug.text) > 20
    ]
    if line is not None:
        lines = [line]
    for number in rng.permutation(lines):
        try:
            return _MAKERS[kind](forme, int(number), rng)
        except ValueError:
            continue
    msg = f"no line left that could hold a fault of kind {kind!r}"
    raise ValueError(msg)


def _word(forme: Forme, line: int, rng, least: int = 4) -> tuple[str, int]:
    """A lower-case word of a line, and which of its occurrences in the line it is.

    The last word of a divided line and words beside points are left alone.
    """
    text = forme.slugs[line - 1].text
    found = list(re.finditer(rf"(?<![^ ])[a-z]{{{least},}}(?![^ ])", text))
    if not found:
        msg = "no such word"
        raise ValueError(msg)
    match = found[int(rng.integers(len(found)))]
    nth = sum(1 for m in re.finditer(f"(?={match[0]})", text[: match.end()]))
    return match[0], nth


def _wrong_letter(forme, line, rng):
    word, nth = _word(forme, line, rng)
    at = int(rng.integers(len(word)))
    new = LOOK_ALIKE.get(word[at]) if rng.random() < 0.6 else None
    while new is None or new == word[at]:
        new = LETTERS[int(rng.integers(26))]
    changed = word[:at] + new + word[at + 1 :]
    return faults.misset(forme, line, word, changed, "wrong-letter", nth=nth)


def _letter_missing(forme, line, rng):
    word, nth = _word(forme, line, rng)
    at = int(rng.integers(1, len(word)))
    return faults.misset(forme, line, word, word[:at] + word[at + 1 :], "letter-missing", nth=nth)


def _letter_extra(forme, line, rng):
    word, nth = _word(forme, line, rng)
    at = int(rng.integers(len(word)))
    changed = word[: at + 1] + word[at:]
    return faults.misset(forme, line, word, changed, "letter-extra", nth=nth)


def _letters_transposed(forme, line, rng):
    word, nth = _word(forme, line, rng)
    pairs = [i for i in range(len(word) - 1) if word[i] != word[i + 1]]
    at = pairs[int(rng.integers(len(pairs)))]
    changed = word[:at] + word[at + 1] + word[at] + word[at + 2 :]
    return faults.misset(forme, line, word, changed, "letters-transposed", nth=nth)


def _turned(forme, line, rng):
    word, nth = _word(forme, line, rng)
    can = [i for i, c in enumerate(word) if as_printed_turned(c) != c]
    if not can:
        msg = "no letter that shows when turned"
        raise ValueError(msg)
    return faults.turned_sort(forme, line, word, letter=can[int(rng.integers(len(can)))], nth=nth)


def _pair(forme, line, rng) -> str:
    """Two words standing side by side once in the line, both free of points."""
    text = forme.slugs[line - 1].text
    found = re.findall(r"(?=(?<![^ ])([a-z]{2,} [a-z]{3,})(?![^ ]))", text)
    found = [f for f in found if text.count(f) == 1 and len(set(f.split())) == 2]
    if not found:
        msg = "no two such words"
        raise ValueError(msg)
    return found[int(rng.integers(len(found)))]


def _on_pair(kind, change):
    def make(forme, line, rng):
        pair = _pair(forme, line, rng)
        return faults.misset(forme, line, pair, change(*pair.split()), kind)

    return make


def _point(forme, line, rng):
    text = forme.slugs[line - 1].text
    found = re.findall(r"[a-z]{3,}[,.;:](?= )", text)
    if not found:
        msg = "no point within the line"
        raise ValueError(msg)
    old = found[int(rng.integers(len(found)))]
    return faults.misset(forme, line, old, old[:-1] + POINTS[old[-1]], "point-wrong")


def _point_missing(forme, line, rng):
    text = forme.slugs[line - 1].text
    found = re.findall(r"[a-z]{3,}[,.;:](?= )", text)
    if not found:
        msg = "no point within the line"
        raise ValueError(msg)
    old = found[int(rng.integers(len(found)))]
    return faults.misset(forme, line, old, old[:-1], "point-missing")


def _case(forme, line, rng):
    word, nth = _word(forme, line, rng)
    return faults.misset(forme, line, word, word[0].upper() + word[1:], "case", nth=nth)


def _space_extra(forme, line, rng):
    word, nth = _word(forme, line, rng, least=6)
    at = int(rng.integers(2, len(word) - 1))
    return faults.misset(forme, line, word, f"{word[:at]} {word[at:]}", "space-extra", nth=nth)


def _on_letter(function):
    def make(forme, line, rng):
        word, nth = _word(forme, line, rng)
        return function(forme, line, word, letter=int(rng.integers(len(word))), nth=nth)

    return make


_MAKERS = {
    "wrong-letter": _wrong_letter,
    "letter-missing": _letter_missing,
    "letter-extra": _letter_extra,
    "letters-transposed": _letters_transposed,
    "turned-sort": _turned,
    "word-missing": _on_pair("word-missing", lambda one, _two: one),
    "word-doubled": _on_pair("word-doubled", lambda one, two: f"{one} {one} {two}"),
    "words-transposed": _on_pair("words-transposed", lambda one, two: f"{two} {one}"),
    "space-missing": _on_pair("space-missing", lambda one, two: f"{one}{two}"),
    "space-extra": _space_extra,
    "point-wrong": _point,
    "point-missing": _point_missing,
    "case": _case,
    "wrong-font": _on_letter(faults.wrong_font),
    "broken-letter": _on_letter(faults.broken_letter),
    "hairline": _on_letter(faults.hairline),
    "off-line": lambda forme, line, rng: faults.off_line(
        forme, line, (w := _word(forme, line, rng))[0], nth=w[1]
    ),
    "work-up": lambda forme, line, rng: faults.work_up(
        forme, line, int(rng.integers(1, forme.slugs[line - 1].text.count(" ") + 1))
    ),
    "line-missing": lambda forme, line, _rng: linefaults.drop_lines(forme, line),
    "line-doubled": lambda forme, line, _rng: linefaults.double_line(forme, line),
    "line-foreign": lambda forme, line, _rng: linefaults.run_down_line(forme, line),
    "bad-division": lambda forme, line, _rng: linefaults.bad_division(forme, line),
}

KINDS = tuple(_MAKERS)
"""Kinds that can be planted anywhere."""
