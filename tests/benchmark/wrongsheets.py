"""Small sheets printed wrong on purpose, each in one way that must never pass, and sound ones.

Every kind has a maker that sets the same matter rightly or wrongly; all of the matter is made
here. A wrong letter that would look the same on paper in the face at hand is not planted.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from tests import typesetter
from tests.typesetter import Columns, Gap, Head, Para, Sort, Style
from tests.typesetter.faces import FACES, FAMILIES, family

from .facematter import prose
from .faceplants import same_ink

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

__all__ = ["KINDS", "Made", "make"]

WEARS = ("clean", "good", "good", "worn")
BODIES_PT = (9.0, 10.0, 11.0, 12.0)
MEASURES_PICAS = (16.0, 20.0, 24.0)

Picture: TypeAlias = "NDArray[np.uint8]"


@dataclass(frozen=True, slots=True)
class Made:
    """One proof of one or more sheets, and its copy."""

    kind: str
    wrong: str
    """What is printed wrong, in a few words; "" where the proof is right."""
    sheets: tuple[Picture, ...]
    copy: str
    dpi: float = 300.0


class _Shop:
    """One face, one wear, one seed: sets and pulls, and finds matter to set."""

    def __init__(self, face: str, seed: int) -> None:
        self.face, self.rng = face, random.Random(seed)
        self.wear = self.rng.choice(WEARS)
        self.style = Style(family=face, body_pt=self.rng.choice(BODIES_PT))
        self.measure = self.rng.choice(MEASURES_PICAS)
        roman = family(face).roman
        self.can_set = "".join(chr(c) for c in range(32, 0x2100) if roman.has(chr(c)))

    def text(self, words: int = 30) -> str:
        """A paragraph that ends in a full stop."""
        while True:
            made = prose(self.rng.randrange(10**6), words, self.can_set, italic=False)[0]
            if made[-1] == ".":
                return made

    def pull(self, *sheets, paint=None) -> tuple[Picture, ...]:
        """Each sheet (its blocks) set and pulled; `paint` adds to the last before the pull."""
        pulled = []
        for number, blocks in enumerate(sheets):
            forme = typesetter.compose(blocks, measure_picas=self.measure, style=self.style)
            seed = self.rng.randrange(10**6)
            proof = typesetter.print_proof(forme, misalign_pt=0.06, seed=seed)
            if paint and number == len(sheets) - 1:
                proof = replace(proof, image=paint(proof.image))
            pulled.append(typesetter.pull(proof, self.wear, seed))
        return tuple(pulled)

    def sets(self, sentence: str) -> bool:
        """Whether the face has every letter of a sentence."""
        return all(char == " " or family(self.face).roman.has(char) for char in sentence)

    def shows(self, right: str, wrong: str) -> bool:
        """Whether one letter for another can be seen in this face."""
        if not all(family(self.face).roman.has(char) for char in right + wrong):
            return False
        return " " in (right, wrong) or not same_ink(self._sort(right), self._sort(wrong))

    def _sort(self, char: str) -> Sort:
        return Sort(char, 1.0, -1, "roman", self.face, self.style.body_pt)

    def lettering(self, words: str, height_px: int, *, light: bool = False) -> Picture:
        """Words drawn in the face, capitals so high, cut close: ink on paper or the reverse."""
        font = ImageFont.truetype(FACES / FAMILIES[self.face][0], int(height_px * 1.4))
        left, top, right, bottom = font.getbbox(words)
        pad = height_px // 3 if light else 0
        size = (int(right - left) + 2 * pad, int(bottom - top) + 2 * pad)
        picture = Image.new("L", size, 0 if light else 255)
        fill = 255 if light else 0
        ImageDraw.Draw(picture).text((pad - left, pad - top), words, fill, font)
        return np.asarray(picture)


# ------------------------------------------------------------------- one letter for another

_SENTENCES = {
    "dash": (
        "The ringers paused—nobody knew why—and began again.",
        "It was open in the years 1901–1908 and 1911–14 only.",
        "A well-known half-timbered house, twenty-four feet high, stood there.",
        "The London–Dover mail ran late—as it often did.",
    ),
    "figure": (
        "Of the 120 tickets sold, 101 were at 10s. 6d. and 19 at 3s. 8d. each.",
        "On Old Lammas Day all 110 children of Olney had 20 buns.",
        "I will sell Lot 11 on the 10th, and Lot 100 on the 21st.",
        "Oats 10, Oxen 30, Ice 1 and Ink 17 were written in the ledger.",
    ),
    "point": (
        "First, the drum; then, the flutes: last, the singing. Who came? All did!",
        "He sold ale, oats, hay; he bought coal, wool, salt: no more.",
        "Mr. J. Ray, of Ely, spoke. Was it so? It was; he said no more.",
    ),
    "case": (
        "The Vicar met Miss Winter and the Rev. Oscar Wise at Cowes.",
        "On Sunday the Choir of St. Olave sang; Canon Vose spoke.",
    ),
    "quote": (
        "“Will you come?” said the miller’s wife. “I won’t,” said he; “it’s late.”",
        "The play is called “The Baker’s Oven” and the farce “Tom’s Boots”.",
    ),
    "letter": (
        "The cutter bound the sheets behind the oven, then took them home under cover.",
        "Come to the barn before noon; each child must bring a cup and a bun of rye.",
        "Thirty fat hens will be sold at the farm; the buyer must fetch them on foot.",
    ),
    "accent": (
        "The café near the hôtel gave a fête, with crème brûlée and a garçon à la mode.",
        "Señor Núñez sang a Lied by Frau Müller about a naïve Mädchen and her König.",
    ),
    "sign": (
        "Tea (½ lb.) at £1 4s. & coffee (¼ lb.) at £2; see § 8 and the note† [below].",
        "Bread & butter, ½d. or ¾d.; cakes [small] at £3 & upwards† (see § 2).",
        "Bread & butter at £3 [small] & cakes at £2 (a dozen) & upwards.",
    ),
}
_SWAPS = {
    "dash": ["—–", "–—", "–-", "-–", "-—", "—-"],
    "figure": ["0o", "0O", "O0", "1l", "1I", "l1", "lI", "Il", "I1", "o0", "69", "38", "83", "17"],
    "point": [".,", ",.", ";:", ":;", ";,", ",;", "?!", "!?", ":."],
    "case": ["Vv", "Ww", "Oo", "Cc", "Ss", "cC", "oO", "sS", "wW"],
    "quote": ["“”", "”“", "’‘"],
    "letter": ["ec", "ce", "eo", "oe", "nu", "un", "hb", "bh", "tf", "ft", "it", "li", "rt", "ae"],
    "accent": ["éè", "èé", "êé", "ôó", "çc", "ñn", "üu", "ïi", "äa", "öo", "éê", "ûù"],
    "sign": ["½¼", "¼½", "¾¼", "£$", "&8", "§8", "([", "])", "†‡"],
}


def _letter(shop: _Shop, kind: str, *, wrong: bool) -> Made:
    sentence, swap, at = shop.rng.choice(_swappable(shop, kind))
    before, after = shop.text(), shop.text(16)
    text = f"{before} {sentence} {after}"
    place = len(before) + 1 + at
    printed = text[:place] + swap[1] + text[place + 1 :] if wrong else text
    said = f"{swap[1]} for {swap[0]} in {sentence[max(at - 6, 0) : at + 7]!r}" if wrong else ""
    return Made(kind, said, shop.pull([Para(printed)]), text)


def _swappable(shop: _Shop, kind: str) -> list[tuple[str, str, int]]:
    found = [
        (sentence, swap, at)
        for sentence in _SENTENCES[kind]
        if shop.sets(sentence)
        for swap in _SWAPS[kind]
        for at, char in enumerate(sentence)
        if char == swap[0] and shop.shows(*swap)
    ]
    if not found:
        return _swappable(shop, "letter")  # A face without any such sort.
    # Every pair of letters as often as any other, whatever there is of it in the sentences.
    swap = shop.rng.choice(sorted({each[1] for each in found}))
    return [each for each in found if each[1] == swap]


def _changed(kind: str, pairs: tuple[tuple[str, str], ...]) -> Callable[..., Made]:
    def maker(shop: _Shop, *, wrong: bool) -> Made:
        right, printed = shop.rng.choice(pairs)
        before, after = shop.text(), shop.text(16)
        text = f"{before} {right} {after}"
        set_as = f"{before} {printed} {after}" if wrong else text
        return Made(kind, printed if wrong else "", shop.pull([Para(set_as)]), text)

    return maker


_SPACED = (
    ("Mr. A. B. Cole and Mr. D. E. Frost spoke.", "Mr. A. B . Cole and Mr. D. E. Frost spoke."),
    ("They don’t play, and she won’t sing.", "They don’ t play, and she won’t sing."),
    ("It isn’t the miller’s mill.", "It isn’t the miller’ s mill."),
    ("We can’t tell, and they’ll not say.", "We can’t tell, and they’ ll not say."),
    ("The boys’ band and the girls’ choir met.", "The boys band and the girls’ choir met."),
)
_ELLIPSIS = (
    ("He waited... and nobody came.", "He waited.... and nobody came."),
    ("She sang on.... The clock struck.", "She sang on... The clock struck."),
    ("“If only...” he said.", "“If only.” he said."),
)
# Names and words of four alphabets, some of whose letters the reader has no class for (Ľ ď ἀ ж).
_ALPHABET = (
    ("Mr. Wałęsa bowed to the chair.", "Mr. Wadesa bowed to the chair."),
    ("The Škoda works sent a wreath.", "The Xkoda works sent a wreath."),
    ("Herr Dvořák took the baton.", "Herr Dvobák took the baton."),
    ("The word λόγος stood over the door.", "The word table stood over the door."),
    ("Pan Jiří Květ spoke next.", "Pan Jimí Kvot spoke next."),
    ("The motto ἀρετή was carved there.", "The motto under was carved there."),
    ("Mr. Ľupták bowed to the chair.", "Mr. Kupták bowed to the chair."),
    ("Miss Hoďová sang the second part.", "Miss Hodová sang the second part."),
    ("The word жатва stood over the door.", "The word table stood over the door."),
)
_SOUND_ALPHABET = ("Mr. Wałęsa bowed to the chair.", "The Škoda works sent a wreath.",
                   "Herr Dvořák took the baton.")  # fmt: skip


def _alphabet(shop: _Shop, *, wrong: bool) -> Made:
    before, after = shop.text(), shop.text(16)
    if not wrong:
        roman = family(shop.face).roman
        said = [s for s in _SOUND_ALPHABET if all(roman.has(char) for char in s if char != " ")]
        text = f"{before} {shop.rng.choice(said) if said else ''} {after}"
        return Made("alphabet", "", shop.pull([Para(text)]), text)
    right, printed = shop.rng.choice(_ALPHABET)
    pulled = shop.pull([Para(f"{before} {printed} {after}")])
    return Made("alphabet", printed, pulled, f"{before} {right} {after}")


# ------------------------------------------------------------------- edges, heads, make-up


def _edge(shop: _Shop, *, wrong: bool) -> Made:
    head = shop.rng.choice(("SUMMER CONCERT", "SALE OF WORK", "HARVEST SUPPER", "PARISH TEA"))
    foot = shop.rng.choice(("Admission free", "Doors open at seven", "God save the King"))
    text, more = shop.text(), shop.rng.choice(("6", "12", "1914", "iv", "3", "27"))
    copy = f"{head}\n\n{text}\n\n{foot}"
    how = shop.rng.choice(("head", "foot", "line", "stray", "last")) if wrong else ""
    joined = {"foot": f"{foot} {more}", "last": f"{more} {foot}"}.get(how, foot)
    blocks = [
        Head(f"{head} {more}" if how == "head" else head),
        Para(f"{text} {more}" if how == "line" else text),
        Head(joined, body_pt=shop.style.body_pt),
    ]  # fmt: skip
    if how == "stray":
        blocks.append(Head("OK", body_pt=shop.style.body_pt))
    return Made("edge", how and f"{more} at {how}", shop.pull(blocks), copy)


def _heads(shop: _Shop, *, wrong: bool) -> Made:
    right = shop.rng.choice(("PARISH ACCOUNTS FOR 1908", "RULES OF THE CLUB, 1912",
                             "THE MILLER’S YEAR: PART 4"))  # fmt: skip
    ways = [
        right.replace("A", "a", 1),
        right[:-1] + "6",
        right.replace(" ", ", ", 1),
        right.title(),
    ]
    printed = shop.rng.choice([way for way in ways if way != right]) if wrong else right
    first, second = shop.text(45), shop.text(45)
    size = shop.style.body_pt
    sheets = ([Head(right, body_pt=size), Para(first)], [Head(printed, body_pt=size), Para(second)])
    said = printed if wrong else ""
    return Made("head", said, shop.pull(*sheets), f"{right}\n\n{first}\n\n{second}")


def _make_up(shop: _Shop, *, wrong: bool) -> Made:
    texts = [shop.text(34) for _ in range(6)]
    how = shop.rng.choice(("pages", "three", "columns", "crossed", "within"))
    order = {"pages": (2, 3, 0, 1), "three": (0, 1, 4, 5, 2, 3), "columns": (1, 0),
             "crossed": (0, 2, 1, 3), "within": (1, 0, 2, 3)}[how]  # fmt: skip
    count = len(order)
    printed = [Para(texts[at]) for at in (order if wrong else range(count))]
    if how == "columns":
        sheets = [[Columns((printed[0],), (printed[1],))]]
        shop.measure = 34.0
    else:
        sheets = [printed[at : at + 2] for at in range(0, count, 2)]
    said = f"{how} in order {order}" if wrong else ""
    return Made("make-up", said, shop.pull(*sheets), "\n\n".join(texts[:count]))


# ------------------------------------------------------------------- ink that may go unread


def _unread(shop: _Shop, *, wrong: bool) -> Made:
    text = shop.text(50)
    how = shop.rng.choice(("panel", "display", "margin"))
    words = shop.rng.choice(("CLOSED", "SOLD OUT", "NO ENTRY", "SALE", "POSTPONED", "TO-NIGHT"))
    if how == "margin":
        lettering = shop.lettering(words.capitalize() + " here", 26)
    elif how == "panel":
        lettering = shop.lettering(words, shop.rng.choice((34, 60, 110)), light=True)
    else:
        lettering = shop.lettering(words[:5].strip(" -"), shop.rng.choice((210, 300, 420)))
        words = words[:5].strip(" -")

    def paint(image: Picture) -> Picture:
        if how == "margin" and not wrong:
            return image
        return _put(image, lettering, beside=how == "margin")

    copy = text if wrong or how == "margin" else f"{text}\n\n{words}"
    said = f"{how}: {words}" if wrong else ""
    return Made("unread ink", said, shop.pull([Para(text), Gap(12)], paint=paint), copy)


def _put(image: Picture, lettering: Picture, *, beside: bool) -> Picture:
    """The sheet with lettering at its foot, or in its left margin near the head."""
    height, width = lettering.shape
    margin = 200
    across = max(image.shape[1], width + 2 * margin)
    deep = image.shape[0] if beside else image.shape[0] + height + margin
    sheet = np.full((deep, across + (width + 60 if beside else 0)), 255, np.uint8)
    left = width + 60 if beside else 0
    sheet[: image.shape[0], left : left + image.shape[1]] = image
    top = 260 if beside else image.shape[0] - margin + 40
    at = 60 if beside else margin
    part = sheet[top : top + height, at : at + width]
    np.minimum(part, lettering, out=part)
    return sheet


def _of_letters(kind: str) -> Callable[..., Made]:
    def maker(shop: _Shop, *, wrong: bool) -> Made:
        return _letter(shop, kind, wrong=wrong)

    return maker


KINDS: dict[str, Callable[..., Made]] = {
    "dash": _of_letters("dash"),
    "figure": _of_letters("figure"),
    "point": _of_letters("point"),
    "case": _of_letters("case"),
    "quote": _of_letters("quote"),
    "letter": _of_letters("letter"),
    "accent": _of_letters("accent"),
    "sign": _of_letters("sign"),
    "apostrophe": _changed("apostrophe", _SPACED),
    "ellipsis": _changed("ellipsis", _ELLIPSIS),
    "alphabet": _alphabet,
    "edge": _edge,
    "head": _heads,
    "make-up": _make_up,
    "unread ink": _unread,
}


def make(kind: str, face: str, seed: int, *, wrong: bool) -> Made:
    """One proof of a kind in a face; the same seed gives the same proof."""
    return KINDS[kind](_Shop(face, seed), wrong=wrong)
