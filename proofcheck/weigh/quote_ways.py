"""Quotes that stand the wrong way round: an opening one for a closing one, or for an apostrophe.

The reader has one shape for all quotes, so it never sees this. But where an opening quote has its
weight at the foot (6), a closing one has it at the head (9), and that is measured. A few faces cut
both alike (typewriter, geometric sans): there the sheet's own quotes say so.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from proofcheck.weigh.fellows import NEARLY_ONE
from proofcheck.weigh.unlikeness import is_near, nearest

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from proofcheck.base.values import Reading
    from proofcheck.weigh.fellows import Fellows, Patch

__all__ = ["QUOTES", "Quote", "quotes_of", "wrong_way"]

QUOTES = {ord(c): "'" for c in "‘’"} | {ord(c): '"' for c in "“”"}
"""Quotes whose way round can be told, as the reader writes them; low ones („ ‚) are one shape."""
_OPENING, _CLOSING = "‘“", "’”"
_OTHER = dict(zip(_OPENING + _CLOSING, _CLOSING + _OPENING, strict=True))
_AS_DOUBLE = {True: "“", False: "”"}
"""By whether it opens."""
_BEFORE_OPENING = " (\\[—–-"
_LEANS = 0.02
"""By this share of its height the middle of a quote's ink lies off the middle of its height, at
least: by 0.03 to 0.14 in 147 of 157 font files; the others cut both ways alike or have neither."""
_ASTRAY = 0.01
"""One that leans the other way by as little may stand the wrong way round: with the foot of a query
sign in its picture one did by 0.0197. Of 380 sound ones on book pages none did by 0.01."""
_STRAIGHT = 0.05
"""One that is so like itself in a mirror is a typewriter's: straight, and often wide at its head.
Such are 0 to 0.04 apart, worn or not; others 0.07 and more in three faces out of three."""
_PLAINLY_LIKER = 0.5
"""As far as from its fellows a mark must be from one of them turned, at most."""
_SPECK = 0.3
"""Ink of less than this share of the largest piece is a speck beside a mark."""
_INK = 0.35
"""Ink from this darkness on, 0 to 1: below it is the paper's grain and the lens's blur."""


@dataclass(frozen=True, slots=True, eq=False)
class Quote:
    """A quote that reading and copy agree on."""

    line: int
    at: int
    """Place in the reading of its line."""
    in_copy: int
    wanted: str
    """‘ ’ “ or ”."""
    said: bool
    """The copy says which way round it stands; else its place among the words does."""
    lean: float
    """Of the middle of its ink above (+) or below (−) where it is wanted, as a share of its height:
    positive where it stands the right way round."""
    patch: Patch

    @property
    def opens(self) -> bool:
        """Whether an opening one is wanted."""
        return self.wanted in _OPENING

    @property
    def instead(self) -> str:
        """What it is if it stands the wrong way round."""
        return _OTHER[self.wanted]


def quotes_of(
    reading: Reading, agreed: Mapping[int, int], copy: str, fellows: Fellows
) -> Iterator[Quote]:
    """The quotes of a line whose way round is known and can be measured.

    Args:
        reading: of the line.
        agreed: for places in the reading where the copy has the same character, or another quote
            as wide, where the copy has it.
        copy: the whole text.
        fellows: gives the ink of each.
    """
    for at, letter in enumerate(reading.letters):
        if at not in agreed or letter.text not in QUOTES.values() or not letter.box.width:
            continue
        wanted = _wanted(copy, agreed[at])
        if not wanted:
            continue
        patch = fellows.patch(reading.line, letter.box)
        lean = _lean(patch)
        if lean is not None:
            way = 1 if wanted in _OPENING else -1
            said = copy[agreed[at]] in _OTHER
            yield Quote(reading.line, at, agreed[at], wanted, said, way * lean, patch)


def _wanted(copy: str, at: int) -> str:
    """Which quote the copy has or, where it is typed straight, must have; "" if that is unsure."""
    own = copy[at]
    if own in _OTHER:
        return own
    before, after = copy[at - 1 : at] or " ", copy[at + 1 : at + 2] or " "
    closes, opens = before.isalnum() or before in ".,;:!?…", after.isalnum()
    if own == "'":
        # At the head of a word it may be an apostrophe as well as a quote.
        return "’" if closes else ""
    if own != '"' or closes == opens:
        return ""
    return _AS_DOUBLE[opens] if closes or before.isspace() or before in _BEFORE_OPENING else ""


def _lean(patch: Patch) -> float | None:
    """How far the middle of the ink lies below that of its height, as a share.

    None without ink, or of a straight one.
    """
    if nearest(patch, [np.ascontiguousarray(patch[:, ::-1])]) <= _STRAIGHT:
        return None
    ink = _without_specks(np.where(patch >= _INK, patch, np.float32(0)))
    rows = np.flatnonzero(ink.any(axis=1))
    if len(rows) < 3:
        return None
    held = ink[rows[0] : rows[-1] + 1].sum(axis=1)
    middle = float((held * (np.arange(len(held)) + 0.5)).sum() / held.sum())
    return middle / len(held) - 0.5


def _without_specks(ink: Patch) -> Patch:
    """The ink without what is far smaller than a mark."""
    count, labels, stats, _ = cv2.connectedComponentsWithStats((ink > 0).astype(np.uint8))
    areas = stats[:, cv2.CC_STAT_AREA].copy()
    areas[0] = 0
    kept = areas >= _SPECK * areas.max(initial=1)
    return np.where(kept[labels] & (labels > 0), ink, np.float32(0)) if count > 2 else ink


def wrong_way(quotes: Iterable[Quote]) -> tuple[Quote, ...]:
    """Those of a proof that stand the wrong way round."""
    held = tuple(quotes)
    wrong = [one for one in held if _looks_wrong(one, held)]
    # Where none stands right, one shape serves for both: asked once, as it may be meant.
    right = {one.opens for one in held if one.lean > -_ASTRAY and one not in wrong}
    first = {one.opens: one for one in reversed(wrong)}
    return tuple(one for one in wrong if one.opens in right or one is first[one.opens])


def _looks_wrong(one: Quote, held: Sequence[Quote]) -> bool:
    """Whether one leans the wrong way, or is none of its kind but of the other, however it leans.

    Small and blurred, a mark leans by less than a sheet's grain.
    """
    if one.lean <= -_ASTRAY and _is_wrong(one, held):
        return True
    fellows = [each for each in held if each.wanted == one.wanted and each is not one]
    own = [each.patch for each in fellows]
    if not own or is_near(one.patch, own, NEARLY_ONE):
        return False
    across = [each.patch for each in held if each.wanted == one.instead]
    if across:
        return nearest(one.patch, across) <= NEARLY_ONE / 2
    # With none on the sheet that is like it, its fellows turned about serve: a 6 is a 9 turned.
    turned = [_turned(each.patch) for each in fellows if each.lean > one.lean]
    off = nearest(one.patch, turned)
    return off <= NEARLY_ONE and off < _PLAINLY_LIKER * nearest(one.patch, own)


def _turned(patch: Patch) -> Patch:
    """A patch with its mark turned by half, in place; of one with no ink the same."""
    rows = np.flatnonzero((patch >= _INK).any(axis=1))
    columns = np.flatnonzero((patch >= _INK).any(axis=0))
    if not len(rows):
        return patch
    where = np.s_[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    made = np.zeros_like(patch)
    made[where] = patch[where][::-1, ::-1]
    return made


def _is_wrong(one: Quote, held: Sequence[Quote]) -> bool:
    """Whether the sheet's other quotes bear out that one leans the wrong way."""
    fellows = [each.lean for each in held if each.opens == one.opens and each is not one]
    if fellows and float(np.median(fellows)) >= _LEANS:
        return True
    across = [each for each in held if each.opens != one.opens]
    if not across:
        # No face has its closing quotes so; some have their opening ones.
        return not one.opens and one.said and not fellows
    alike = [each.patch for each in across if each.wanted == one.instead]
    if nearest(one.patch, alike) <= NEARLY_ONE:
        return True
    # Both kinds the wrong way round: so German copy typed straight prints, and is right.
    astray = float(np.median([each.lean for each in across])) <= -_LEANS
    return one.said and astray
