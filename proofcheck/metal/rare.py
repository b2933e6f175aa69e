"""Letters with few of their kind to be held against, looked at by themselves: is part of one gone?

A capital or figure may stand once on a proof, and the letters of heads and notes are of styles of
their own. What face such a letter should be of nobody can tell from the proof; that half of it is
missing can be seen.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.metal.company import without_its_like
from proofcheck.metal.comparing import OWN_COMPARER, compare_alone
from proofcheck.metal.unsound import EVEN, NEVER

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.metal.context import Matter

__all__ = ["broken_alone", "overhanging", "rare_letters"]

EVEN_ALONE = 3.0
"""Log odds of broken against sound as likely a fault as not: of the like, letters as printed on
the pages for fitting, 7 in 2,221 have as much, and many of those are battered."""
READ_SURELY = 0.999
"""The reader's own certainty from which a letter is whole, whatever its face: it never saw the
proof's face by itself either, but has learnt the letter in a hundred others. On proofs set in three
faces that the comparer never saw, 13 of 511 sound letters had odds as high; all were read so
surely, and so were 2 of the 7 broken ones."""
KERNED = 0.1
"""Share of its width by which a letter reaches over the next where type is kerned; cast for slugs
or to be set side by side, a V or a K does by less."""
_RINGS = frozenset("0Oo")
"""Of a bare ring the reader is never sure, since three characters are one: so its doubt says
nothing of damage there. A ring that is plainly open reads as a c."""


def rare_letters(matter: Matter) -> list[tuple[int, str, float]]:
    """Letters read rightly that have no fellow of their own style: number, letter, log odds.

    Those read for certain are left out: the comparer by itself takes the shapes of a face that is
    new to it for damage. So are those that reach over a neighbour or under one (T before r, y
    before a comma), as type that is kerned does: cut from it they lack what no sound letter lacks.
    """
    text = matter.fount.text.tolist()
    look = np.flatnonzero(without_its_like(matter) & ~overhanging(matter)).tolist()
    who = [
        number
        for number in look
        if text[number].isalnum()
        and text[number] not in _RINGS
        and matter.letter(number).certainty < READ_SURELY
    ]
    letters = [text[number] for number in who]
    return list(zip(who, letters, broken_alone(matter, who, letters), strict=True))


def overhanging(matter: Matter) -> NDArray[np.bool_]:
    """Letters of the fount that stand partly over, or under, one beside them in their word."""
    boxes = matter.boxes
    left = np.array([box.x for box in boxes], np.float64)
    right = np.array([box.right for box in boxes], np.float64)
    found = np.zeros(len(boxes), bool)
    least = KERNED * np.maximum(right - left, 1.0)
    over = (matter.word[1:] == matter.word[:-1]) & (right[:-1] - left[1:] > least[:-1])
    found[:-1] |= over
    found[1:] |= over
    return found


def broken_alone(matter: Matter, who: Sequence[int], letters: Sequence[str]) -> list[float]:
    """Log odds that letters are those given, and broken, on the scale of `unsound`.

    `NEVER` for what is likelier sound: with nothing to hold it against, that is not worth a query.

    Args:
        matter: the proof.
        who: numbers of letters of the fount.
        letters: what each should be.
    """
    weights = matter.settings.comparer or OWN_COMPARER
    odds = compare_alone(matter.fount.cut, np.array(who, np.intp), letters, weights)
    return [
        each - EVEN_ALONE + EVEN if each > EVEN_ALONE else NEVER for each in odds.broken.tolist()
    ]
