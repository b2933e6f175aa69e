"""How likely a letter is no sound letter of the proof's own: of another face, or broken.

Three measures are taken together: what the comparer says, how far out the letter stands among those
of its kind, and how unlike its nearest fellows it is. Letters that stand among others as odd are
left alone: a word or a line in another face is a change of type, and one letter never is.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.metal.fount import LEAST_FELLOWS
from proofcheck.metal.neighbours import share_beside
from proofcheck.metal.slope import slopes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.metal.matter import Matter

__all__ = ["EVEN", "NEVER", "STEP", "measures", "rather_broken", "running_rows", "unsound"]

NEVER = -99.0
"""Of a letter that can't be judged."""
EVEN, STEP = 0.4, 1.0
"""Log odds as likely a fault as not: 1 sound letter in 3,000 has as much."""
WEIGHTS = (0.435, 1.241, 1.673)
CONSTANT = -0.378
"""Of the three `measures`; by `tests.benchmark.typefit`, which says how."""
LOSS = 10.0
"""Log odds of broken rather than strange that ink wanting is worth, as a share of its fellows'."""
LEAST_LETTERS = 4
"""Of a line: a folio is of any face."""
RARE = 2.5
"""More that letters of heads, notes and small print must show, and capitals and figures: they are
few, and often of two styles."""
ALIKE = 3.0
"""A capital or figure has a fellow of its own style if its nearest is no more than so many times
as unlike as is usual of its kind."""
STRANGE_BESIDE = 0.34
"""No more than that share of the letters near it may look odd: italic does, and small print."""
BESIDE_AT_MOST = 1.2
"""Nor may the other letters of its word, where they are three or more, be as odd in the middle."""
ODD_BESIDE, WORD = 2.8, 14
"""Nor may any other letter of its word, so many letters off at most, stand out so far."""
LEANS, LEANS_FEW, MANY = 0.08, 0.15, 4
"""Slope against the usual of their kinds at which the other letters of its word are of another
posture, where they are many and where they are few: single roman letters of old books have up to
0.13, italic among roman 0.2 to 0.4."""
OVERHUNG = 0.5
"""Share of a kind that the letter after it stands under, from which one alone looks wanting."""
_LEAST, _MOST = (-10.0, -2.0), (20.0, 6.0)
_JOINED = frozenset("fil")


def measures(matter: Matter) -> NDArray[np.float64]:
    """(n, 3): the comparer's log odds of not sound, oddness, and logarithm of how unlike it is."""
    fount, odds = matter.fount, matter.odds
    compared = np.clip(np.logaddexp(odds.strange, odds.broken), _LEAST[0], _MOST[0])
    oddness = np.clip(matter.oddness, _LEAST[1], _MOST[1])
    unlike = np.log(np.nan_to_num(fount.unlike, nan=0.0) + 0.02)
    return np.stack([compared, oddness, unlike], axis=1).astype(np.float64)


def unsound(matter: Matter) -> NDArray[np.float64]:
    """For each letter of the fount the log odds that it is not sound; `NEVER` for unjudged."""
    fount = matter.fount
    text = fount.text.tolist()
    small = np.array([character.islower() for character in text], bool)
    judged = matter.borne_out & matter.cut_true & np.isfinite(fount.unlike)
    judged &= np.array([character.isalnum() for character in text], bool)
    judged &= (matter.strange_beside < STRANGE_BESIDE) & ~_half_of_ligature(matter)
    judged &= share_beside(matter.oddness > ODD_BESIDE, matter.word, WORD, 1) == 0
    running = running_rows(matter)[fount.line]
    among_odd = (matter.oddness_beside > BESIDE_AT_MOST) & (
        np.bincount(matter.word)[matter.word] > 3
    )
    judged &= ~_wants_its_follower(matter) & ~among_odd
    judged &= small | (running & _alone_of_its_style(matter, running))
    long = np.array([len(reading.letters) >= LEAST_LETTERS for reading in matter.readings], bool)
    judged &= long[fount.line]
    odds = measures(matter) @ np.array(WEIGHTS) + CONSTANT
    odds -= RARE * (1.0 - (small & running))
    judged &= odds > EVEN - 2 * STEP
    for number in np.flatnonzero(judged):
        judged[number] = not _among_leaning(matter, int(number))
    return np.where(judged, odds, NEVER)


def rather_broken(matter: Matter) -> NDArray[np.bool_]:
    """For each letter whether, if it is not sound, it is rather broken than of another face."""
    fount, odds = matter.fount, matter.odds
    return np.asarray(odds.broken - odds.strange + LOSS * (fount.lost - fount.added) > 0)


def running_rows(matter: Matter) -> NDArray[np.bool_]:
    """For each row whether it is running text, of the proof's own size and mostly small letters."""
    found = np.zeros(len(matter.lines), bool)
    for row, reading in enumerate(matter.readings):
        letters = [letter.text for letter in reading.letters if not letter.text.isspace()]
        small = sum(text.islower() for text in letters)
        found[row] = matter.is_text(row) and small > 0.5 * len(letters)
    return found


def _among_leaning(matter: Matter, number: int) -> bool:
    """Whether the other letters of its word lean, or stand upright, against the usual."""
    fount = matter.fount
    text = fount.text.tolist()
    held = np.flatnonzero(matter.word == matter.word[number]).tolist()
    others = [n for n in held if n != number and text[n].isalnum() and text[n] in fount.fellows]
    if not others:
        return False
    usual = [fount.fellows[text[n]] for n in others]
    moulds = np.stack([fellows.mould for fellows in usual])
    half = np.array([np.median(fount.cut.half_width[fellows.who]) for fellows in usual])
    lean = slopes(fount.cut.ink[others], fount.cut.half_width[others]) - slopes(moulds, half)
    return bool(abs(float(np.median(lean))) > (LEANS if len(others) >= MANY else LEANS_FEW))


def _half_of_ligature(matter: Matter) -> NDArray[np.bool_]:
    """Letters that may be half of an fi, fl or ff, which has no fellows of either."""
    text, word = matter.fount.text, matter.word
    found = np.zeros(len(text), bool)
    joined = (text[:-1] == "f") & np.isin(text[1:], [*_JOINED]) & (word[:-1] == word[1:])
    found[:-1] |= joined
    found[1:] |= joined
    return found


def _wants_its_follower(matter: Matter) -> NDArray[np.bool_]:
    """Letters with nothing under their hook where most of their kind have the next letter there.

    That letter's ink is in their fellows' pictures, and would be missed in theirs.
    """
    fount, word = matter.fount, matter.word
    boxes = [matter.letter(number).box for number in range(len(fount.text))]
    left = np.array([box.x for box in boxes], np.float64)
    right = np.array([box.right for box in boxes], np.float64)
    over = np.zeros(len(boxes), bool)
    over[:-1] = (word[1:] == word[:-1]) & (left[1:] < right[:-1])
    found = np.zeros(len(boxes), bool)
    for character, fellows in fount.fellows.items():
        if over[fellows.who].mean() > OVERHUNG:
            found |= (fount.text == character) & ~over
    return found


def _alone_of_its_style(matter: Matter, running: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Letters with fellows enough in running text, none of which they are as like as is usual."""
    fount = matter.fount
    found = np.zeros(len(fount.text), bool)
    for character, fellows in fount.fellows.items():
        mine = fount.text == character
        if running[fellows.who].sum() >= LEAST_FELLOWS:
            found[mine] = fount.closest[mine] > ALIKE * np.median(fount.closest[mine])
    return found
