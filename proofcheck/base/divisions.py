"""Where a word may be divided at a line end.

Hard rules give faults: two letters before the hyphen at least, never a word of four letters,
no figures, no initials, no part without a vowel (Hamilton, *Division of Words*, 1918; Hart's
Rules as later printed). All else is custom, on which good printers differ, so it gives queries:
fewer than three letters carried over, and a place that no dictionary allows.

The dictionaries divide by rules of spelling, the older trade by pronunciation ("prog-ress",
"know-ledge"). Of 711 divisions in four books of 1866 to 1918 the American dictionary refuses 42
and the British 126, none of them a fault to the printers' eye; so a place one letter beside an
allowed one passes where it can be said aloud.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain
from typing import TYPE_CHECKING

import pyphen

from proofcheck.base.found import Status

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

__all__ = ["MOST_RUNNING", "Division", "may_divide", "places_to_divide", "running_divisions"]

MOST_RUNNING = 2
"""Divided lines that may follow one another (US Government *Manual of Style*, 1922, stretches
it to three; Hart's Rules stop at two)."""

_LEAST_BEFORE = 2
_LEAST_AFTER = 3
_LONGEST_WHOLE = 4

# The reader's language names (ISO 639-3) to the dictionaries asked; one yes is enough.
_DICTIONARIES = {
    "eng": ("en_US", "en_GB"),
    "fra": ("fr",),
    "deu": ("de_DE",),
    "spa": ("es",),
    "ita": ("it_IT",),
    "nld": ("nl_NL",),
    "por": ("pt_PT",),
    "lat": ("la",),
}
_OWN_HYPHENS = "-‐‑–—/"
_POINTS = "'’‘“”\"().,;:!?[]"
_VOWELS = "aeiouyàáâãäåæèéêëìíîïòóôõöøœùúûüýÿ"
_NO_GLIDES = str.maketrans("", "", "iu")  # "appreci-able", "influ-ence" are two syllables there
_PREFIXES = frozenset(
    ("re", "un", "in", "im", "en", "em", "ex", "de", "be", "dis", "mis", "non", "pre", "sub", "con")
)
_ONSET = re.compile(
    "(?:[bcdfghjklmnpqrstvwxz]?|[bcfgpsk]l|[bcdfgpt]r|qu|[cpstw]h|ph|th|wr|kn|gn|ps"
    "|s[ckmnpqtw]|s[cpt]r|spl|sch|shr|thr|chr|dw|tw)(?=[^bcdfghjklmnpqrstvwxz])"
)


@dataclass(frozen=True, slots=True)
class Division:
    """What is to be said of a word divided at one place."""

    status: Status | None
    """None where it may be divided so."""
    reason: str
    """In plain words, "" where there is nothing to say."""

    @property
    def ok(self) -> bool:
        """Whether there is nothing to say against it."""
        return self.status is None


_GOOD = Division(None, "")


def may_divide(word: str, at: int, language: str = "eng") -> Division:
    """Whether `word`, as the copy has it, may be divided before its letter number `at`.

    Args:
        word: one word with its own hyphens and points, without the hyphen of the division.
        at: characters of it left on the upper line, 0 < at < len(word).
        language: as for the OCR engine ("eng", "eng+fra"), or a dictionary's name ("en_GB").

    Raises:
        ValueError: `at` lies outside the word.
    """
    if not 0 < at < len(word):
        msg = f"no place {at} within a word of {len(word)} characters"
        raise ValueError(msg)
    if word[at - 1] in _OWN_HYPHENS or word[at] in _OWN_HYPHENS:
        return _GOOD
    before, after = _part(word[:at][::-1])[::-1], _part(word[at:])
    broken = _broken_rule(word, before, after)
    if broken:
        return Division(Status.FAULT, broken)
    doubt = _doubt(word, at, before, after, language)
    return Division(Status.QUERY, doubt) if doubt else _GOOD


def places_to_divide(word: str, language: str = "eng") -> tuple[int, ...]:
    """Every place where a dictionary would divide a word of small letters; none without one."""
    return _places(word, language) or ()


def running_divisions(divided: Sequence[bool], most: int = MOST_RUNNING) -> tuple[range, ...]:
    """Runs of more than `most` lines that end with a division.

    Args:
        divided: for each line of one column, in order, whether it ends with a division.
        most: as many are allowed to follow one another.

    Returns:
        One range of indices into `divided` for each run that is too long.
    """
    runs, start = [], 0
    for index, hyphen in enumerate([*divided, False]):
        if hyphen:
            continue
        if index - start > most:
            runs.append(range(start, index))
        start = index + 1
    return tuple(runs)


def _part(text: str) -> str:
    """As much of the text as comes before its first hyphen of its own."""
    return re.split(f"[{_OWN_HYPHENS}]", text, maxsplit=1)[0]


def _letters(text: str) -> str:
    return "".join(char for char in text if char.isalpha())


def _broken_rule(word: str, before: str, after: str) -> str:
    """The hard rule that a division breaks, "" where there is none."""
    first, second = _letters(before).lower(), _letters(after).lower()
    voiced = all(set(part) & set(_VOWELS) for part in (first, second))
    rules = (
        (any(char.isdecimal() for char in before + after), "figures are never divided"),
        (re.search(r"\w\.\w", word), "initials are never divided"),
        (len(first) < _LEAST_BEFORE, "one letter left before the hyphen"),
        (len(second) < 2, "one letter carried over"),
        (len(first + second) <= _LONGEST_WHOLE, "words of four letters are never divided"),
        (_is_latin(first + second) and not voiced, "a part without a vowel can't be said"),
    )
    return next((reason for broken, reason in rules if broken), "")


def _doubt(word: str, at: int, before: str, after: str, language: str) -> str:
    """What custom has against a division, "" where nothing."""
    if len(_letters(after)) < _LEAST_AFTER:
        return "fewer than three letters carried over"
    if (before, after) != (word[:at], word[at:]):
        return "a word with a hyphen of its own divided again"
    bare = word.lstrip(_POINTS)
    if bare[:1].isupper() and not word.isupper():
        return ""  # a name, of which dictionaries know little
    head = before[len(word) - len(bare) :].lower()
    after = after.lower()
    if head in _PREFIXES and (after[0] in _VOWELS or _ONSET.match(after)):
        return ""
    # One after another: where the first says yes, the next need not be loaded.
    asked = _dictionaries(language)
    first = next(asked, None)
    if first is None:
        return ""
    whole = bare.rstrip(_POINTS).lower()
    said = (_speakable(each.positions(whole), head, after) for each in chain([first], asked))
    return "" if any(said) else "no dictionary divides the word there"


def _is_latin(letters: str) -> bool:
    return all(char < "\u0250" for char in letters)


def _speakable(places: Iterable[int], before: str, after: str) -> bool:
    at = len(before)
    allowed = set(places)
    if at in allowed:
        return True
    beside = at - 1 in allowed or at + 1 in allowed
    clash = after[0] in _VOWELS and before[-1] in _VOWELS.translate(_NO_GLIDES)
    return beside and not clash and bool(_ONSET.match(after))


def _places(word: str, language: str) -> tuple[int, ...] | None:
    """Every place a dictionary allows; None where there is no dictionary to ask."""
    held = list(_dictionaries(language))
    if not held:
        return None
    return tuple(sorted({int(place) for each in held for place in each.positions(word)}))


def _dictionaries(language: str) -> Iterator[pyphen.Pyphen]:
    """Those of a language, or of several; each loaded as it comes."""
    names = [name for code in language.split("+") for name in _DICTIONARIES.get(code, (code,))]
    return (found for found in map(_dictionary, names) if found is not None)


@lru_cache(maxsize=16)
def _dictionary(name: str) -> pyphen.Pyphen | None:
    found = pyphen.language_fallback(name)
    return pyphen.Pyphen(lang=found, left=2, right=2) if found else None
