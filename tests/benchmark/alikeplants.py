"""Letters that are easily taken for one another, planted by moving the page's own.

A wrong letter drawn by lot is told by anyone. These are the ones a reader's eye slides over and a
reader that guesses words puts right: each family is a kind of its own, planted in turn.
"""

from __future__ import annotations

from functools import partial
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.kinds import Kind

from .changes import Change, gaps_of, setting_of, sure_places, swap_in

if TYPE_CHECKING:
    import random

    from .standing import Glyph, Standing, Word

__all__ = ["ALIKE_KINDS", "FAMILIES"]

FAMILIES = {
    "c e o": "ceo",
    "n u": "nu",
    "h b": "hb",
    "t f r": "tfr",
    "i l 1": "il1",
    "a o": "ao",
    "B R": "BR",
    "comma point": ",.",
    "colon semicolon": ":;",
    "hyphen dash": "-–—",
    "I l": "Il",
    "O 0": "O0",
}
"""Letters and points of one family stand in for one another."""
_SPLIT, _JOINED = "rn", "m"
_SAME_PICTURE = 0.93
"""Two characters whose pictures agree so far look the same in this face: nothing to be seen."""
_SIDE = 32


def _one_for_another(
    standing: Standing,
    word: Word,
    donors: dict[str, list[Glyph]],
    rng: random.Random,
    *,
    family: str,
) -> Change | None:
    """A letter of the family in the place of another, where the two can be told apart."""
    for place in sure_places(word, family.__contains__, rng):
        old = word.glyphs[place].text
        texts = [t for t in family if t != old and _differ(standing, donors, old, t)]
        rng.shuffle(texts)
        kind = Kind.WRONG_LETTER if old.isalnum() else Kind.POINT_WRONG
        kinds = {kind, Kind.CASE} | ({Kind.WRONG_WORD} if len(word.text) < 3 else set())
        change = swap_in(standing, word, place, texts, donors, rng, frozenset(kinds))
        if change:
            return change
    return None


def _m_for_rn(
    standing: Standing, word: Word, donors: dict[str, list[Glyph]], rng: random.Random
) -> Change | None:
    """An m where r and n belong, or the other way about."""
    texts = [glyph.text for glyph in word.glyphs]
    found = [(at, at + 1, _SPLIT) for at, text in enumerate(texts) if text == _JOINED]
    pairs = pairwise(texts)
    found += [(at, at + 2, _JOINED) for at, pair in enumerate(pairs) if pair == tuple(_SPLIT)]
    rng.shuffle(found)
    size = standing.lines[word.line].x_height_px
    for start, end, new in found:
        fit = [_of_size(standing, donors.get(text, []), size) for text in new]
        if not all(fit) or not all(glyph.sure for glyph in word.glyphs[start:end]):
            continue
        glyphs, gaps = setting_of(word), gaps_of(word)
        inner = gaps[1:] or [0.1 * size]
        usual = sum(inner) / len(inner)
        glyphs[start:end] = [(rng.choice(each), False) for each in fit]
        gaps[start:end] = [gaps[start], *[usual] * (len(new) - 1)]
        kinds = frozenset({Kind.WRONG_LETTER, Kind.WRONG_WORD, Kind.LETTER_EXTRA})
        return Change(glyphs, gaps, (start, start + len(new)), (start, end), kinds)
    return None


def _of_size(standing: Standing, held: list[Glyph], size: float) -> list[Glyph]:
    return [g for g in held if abs(standing.lines[g.line].x_height_px - size) < 0.06 * size]


def _differ(standing: Standing, donors: dict[str, list[Glyph]], one: str, other: str) -> bool:
    """Whether two characters of a page look different: their middling pictures laid together."""
    pictures = [_middling(standing, donors.get(text, [])) for text in (one, other)]
    if any(picture is None for picture in pictures):
        return False
    first, second = (np.asarray(picture).ravel() for picture in pictures)
    return float(np.corrcoef(first, second)[0, 1]) < _SAME_PICTURE


def _middling(standing: Standing, held: list[Glyph]) -> np.ndarray | None:
    """The median picture of some letters at one size, on one baseline; None if there are none."""
    if not held:
        return None
    seen = []
    for glyph in held[:9]:
        size = standing.lines[glyph.line].x_height_px
        middle = glyph.box.x + glyph.box.width / 2
        foot = standing.baseline(glyph.line, middle)
        steps = (np.arange(_SIDE) - _SIDE / 2) * 2.4 / _SIDE * size
        rows = np.clip(np.rint(foot - 0.6 * size + steps), 0, standing.labels.shape[0] - 1)
        columns = np.clip(np.rint(middle + steps), 0, standing.labels.shape[1] - 1)
        part = standing.labels[rows.astype(int)[:, None], columns.astype(int)[None]]
        seen.append(np.isin(part, np.array(glyph.pieces) + 1).astype(np.float32))
    return np.asarray(np.mean(seen, axis=0))


ALIKE_KINDS = {name: partial(_one_for_another, family=held) for name, held in FAMILIES.items()}
ALIKE_KINDS["rn m"] = _m_for_rn
"""What is planted, by the name of the family."""
