"""How one word is set anew to hold one fault: each kind picks its place and its letters."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from proofcheck.base.kinds import Kind
from proofcheck.reading.turned import LOOKS_LIKE
from tests.turning import UNCHANGED

if TYPE_CHECKING:
    import random
    from collections.abc import Callable, Sequence

    from .standing import Glyph, Standing, Word

__all__ = [
    "IMAGE_KINDS",
    "Change",
    "Setting",
    "gaps_of",
    "setting_of",
    "sure_places",
    "swap_in",
]

_LOOK_ALIKES = ("ce", "eo", "ec", "oc", "nu", "un", "hb", "bh", "il", "li", "ft", "tf", "ao", "oa")
_LOOK_ALIKES += ("vy", "yv", "gq", "qp", "pq", "db", "sa", "rt", "tr", "nr", "rn", "mn", "nm")
_POINTS = ".,;:"


Setting = list[tuple["Glyph", bool]]  # letters of a word in order, and whether turned


@dataclass(frozen=True, slots=True)
class Change:
    """A word to be set anew."""

    glyphs: Setting
    gaps: list[float]
    """Pixels before each letter; the first is 0."""
    touched: tuple[int, int]
    """Which of the new letters are the fault; empty between two for a gap."""
    old: tuple[int, int]
    """Which of the old letters it stands for."""
    kinds: frozenset[Kind]


def gaps_of(word: Word) -> list[float]:
    """Pixels before each letter of a word as it stands."""
    return [0.0, *(float(b.box.x - a.box.right) for a, b in pairwise(word.glyphs))]


def setting_of(word: Word) -> Setting:
    """Its letters as they stand."""
    return [(glyph, False) for glyph in word.glyphs]


def sure_places(word: Word, wanted: Callable[[str], bool], rng: random.Random) -> list[int]:
    """Places of single letters, sure ones, that are wanted, in an order drawn by lot."""
    found = [i for i, g in enumerate(word.glyphs) if len(g.text) == 1 and g.sure and wanted(g.text)]
    rng.shuffle(found)
    return found


def _alike_in_sort(a: str, b: str) -> bool:
    """Both small letters, both capitals, or both figures."""
    return (a.islower(), a.isupper(), a.isdecimal()) == (b.islower(), b.isupper(), b.isdecimal())


def swap_in(
    standing: Standing,
    word: Word,
    place: int,
    texts: Sequence[str],
    donors: dict[str, list[Glyph]],
    rng: random.Random,
    kinds: frozenset[Kind],
) -> Change | None:
    """The letter at one place replaced by one of `texts`, from type of the same size."""
    size = standing.lines[word.line].x_height_px
    for text in texts:
        fit = [
            glyph
            for glyph in donors.get(text, ())
            if abs(standing.lines[glyph.line].x_height_px - size) < 0.06 * size
        ]
        if fit:
            glyphs = setting_of(word)
            glyphs[place] = (rng.choice(fit), False)
            there = (place, place + 1)
            return Change(glyphs, gaps_of(word), there, there, kinds)
    return None


def _letter_wrong(
    standing: Standing, word: Word, donors: dict[str, list[Glyph]], rng: random.Random
) -> Change | None:
    """Another letter in the place of one: every second time one that looks like it."""
    for place in sure_places(word, str.isalnum, rng):
        old = word.glyphs[place].text
        others = [text for text in donors if len(text) == 1 and text.isalnum() and text != old]
        others = [text for text in sorted(others) if _alike_in_sort(old, text)]
        width = word.glyphs[place].box.width
        rng.shuffle(others)
        others.sort(key=lambda text: abs(donors[text][0].box.width - width) > 0.2 * width)
        alike = [pair[1] for pair in _LOOK_ALIKES if pair[0] == old]
        rng.shuffle(alike)
        texts = [*alike, *others] if rng.random() < 0.5 else others
        kinds = frozenset(
            {Kind.WRONG_LETTER} | ({Kind.WRONG_WORD} if len(word.text) < 3 else set())
        )
        change = swap_in(standing, word, place, texts, donors, rng, kinds)
        if change:
            return change
    return None


def _point_wrong(
    standing: Standing, word: Word, donors: dict[str, list[Glyph]], rng: random.Random
) -> Change | None:
    for place in sure_places(word, _POINTS.__contains__, rng):
        texts = [point for point in _POINTS if point != word.glyphs[place].text]
        rng.shuffle(texts)
        kinds = frozenset({Kind.POINT_WRONG})
        change = swap_in(standing, word, place, texts, donors, rng, kinds)
        if change:
            return change
    return None


def _point_missing(
    standing: Standing, word: Word, donors: dict[str, list[Glyph]], rng: random.Random
) -> Change | None:
    places = [
        p for p in sure_places(word, _POINTS.__contains__, rng) if p == len(word.glyphs) - 1 > 0
    ]
    return _without(word, places[0], Kind.POINT_MISSING) if places else None


def _letter_missing(
    standing: Standing, word: Word, donors: dict[str, list[Glyph]], rng: random.Random
) -> Change | None:
    places = sure_places(word, str.isalnum, rng)
    return (
        _without(word, places[0], Kind.LETTER_MISSING) if places and len(word.glyphs) > 2 else None
    )


def _without(word: Word, place: int, kind: Kind) -> Change:
    glyphs, gaps = setting_of(word), gaps_of(word)
    del glyphs[place]
    # The neighbours close up to the mean of the spaces the letter had on its sides.
    if 0 < place < len(gaps) - 1:
        gaps[place + 1] = (gaps[place] + gaps[place + 1]) / 2
    del gaps[place]
    gaps[0] = 0.0
    return Change(glyphs, gaps, (place, place), (place, place + 1), frozenset({kind}))


def _letter_doubled(
    standing: Standing, word: Word, donors: dict[str, list[Glyph]], rng: random.Random
) -> Change | None:
    places = sure_places(word, str.isalnum, rng)
    if not places:
        return None
    place = places[0]
    glyphs, gaps = setting_of(word), gaps_of(word)
    old = word.glyphs[place]
    # A second cast of the same letter, where the page has one, rather than the same print twice.
    twins = [
        twin
        for twin in donors.get(old.text, ())
        if twin.line != old.line and _same_size(standing, twin, old)
    ]
    glyphs.insert(place + 1, (rng.choice(twins) if twins else old, False))
    inner = gaps[1:] or [0.12 * standing.lines[word.line].x_height_px]
    gaps.insert(place + 1, sum(inner) / len(inner))
    kinds = frozenset({Kind.LETTER_EXTRA})
    return Change(glyphs, gaps, (place, place + 2), (place, place + 1), kinds)


def _same_size(standing: Standing, one: Glyph, other: Glyph) -> bool:
    size = standing.lines[other.line].x_height_px
    return abs(standing.lines[one.line].x_height_px - size) < 0.06 * size


def _transposed(
    standing: Standing, word: Word, donors: dict[str, list[Glyph]], rng: random.Random
) -> Change | None:
    singles = set(sure_places(word, str.isalnum, rng))
    places = [p for p in sorted(singles) if p + 1 in singles]
    places = [
        p
        for p in places
        if word.glyphs[p].text != word.glyphs[p + 1].text
        and _alike_in_sort(word.glyphs[p].text, word.glyphs[p + 1].text)
    ]
    if not places:
        return None
    place = rng.choice(places)
    glyphs = setting_of(word)
    glyphs[place], glyphs[place + 1] = glyphs[place + 1], glyphs[place]
    there = (place, place + 2)
    kinds = {Kind.LETTERS_TRANSPOSED} | ({Kind.WRONG_WORD} if len(word.glyphs) < 3 else set())
    return Change(glyphs, gaps_of(word), there, there, frozenset(kinds))


def _turned(
    standing: Standing, word: Word, donors: dict[str, list[Glyph]], rng: random.Random
) -> Change | None:
    """A letter on its head, but none that looks the same so."""

    def shows(text: str) -> bool:
        return text.isalnum() and text not in UNCHANGED and text not in "l1"

    places = sure_places(word, shows, rng)
    if not places:
        return None
    place = places[0]
    glyphs = setting_of(word)
    glyphs[place] = (glyphs[place][0], True)
    kinds = {Kind.TURNED_SORT}
    if word.glyphs[place].text in LOOKS_LIKE:
        kinds.add(Kind.WRONG_LETTER)
    there = (place, place + 1)
    return Change(glyphs, gaps_of(word), there, there, frozenset(kinds))


IMAGE_KINDS = {
    "letter wrong": _letter_wrong,
    "letter turned": _turned,
    "letter missing": _letter_missing,
    "letter doubled": _letter_doubled,
    "letters transposed": _transposed,
    "point wrong": _point_wrong,
    "point missing": _point_missing,
}
"""What is planted by moving letters, in turn."""
