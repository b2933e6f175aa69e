"""Letters that can be judged as single ones: what stands about them, and how they were cut.

A word or a line in another face is a change of type, which the copy may want; one letter never is.
So letters among others as odd or as slanting are left alone, and so are those that have no true
fellows on the proof: capitals of heads, folios, halves of ligatures.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.metal.fount import LEAST_FELLOWS
from proofcheck.metal.neighbours import share_beside, share_to_a_side
from proofcheck.metal.set_apart import set_apart
from proofcheck.metal.slope import slopes, slopes_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.metal.comparing import Odds
    from proofcheck.metal.context import Matter

__all__ = [
    "MAYBE_STRANGE",
    "PLAINLY_LOST",
    "alone_of_its_face",
    "among_leaning",
    "among_odd",
    "cut_as_cast",
    "judgeable",
    "letters_of_word",
    "small_in_running",
    "without_its_like",
]

LEAST_LETTERS = 4
"""Of a line: a folio is of any face."""
SAME_SIZE = 0.1
"""Share by which x-heights of lines of one face and body may be measured differently."""
ALIKE = 3.0
"""A capital or figure has a fellow of its own style if its nearest is no more than so many times
as unlike as is usual of its kind."""
OF_ONE_FACE = 0.2
"""As unlike their nearest, at most, are letters of one kind and face in the middle: on five pages
of books small letters 0.04 to 0.07, capitals up to 0.16."""
PLAINLY_LOST, HARDLY_ADDED = 0.12, 0.02
"""Ink wanting, and over, as shares of its fellows', of a letter that is plainly broken."""
GONE, WORN, MOST_WORN = 0.1, 0.05, 0.2
"""The same of one among letters that look odd; and the share of those near it that may want half
as much."""
NEAR, STRANGE_BESIDE, STRANGE_TO_A_SIDE = 8, 0.34, 0.4
"""Of so many letters to either side less than that share may look odd, and less to either side
alone: italic does, small print, and words of another face. The same of its word."""
MAYBE_STRANGE, MAYBE_ODD = -2.0, 1.5
"""The comparer's log odds, and the oddness, from which a letter looks odd."""
UNLIKE, UNLIKE_THE_USUAL = 0.13, 3.0
"""Nor may those be so unlike their nearest fellows, and so many times as is usual of the proof."""
_LEAST_BESIDE, _LEAST_TO_A_SIDE = 3, 4
BESIDE_AT_MOST = 1.2
"""Nor may the other letters of its word, where they are three or more, be as odd in the middle."""
ODD_BESIDE, ODD_NEXT, WORD = 2.8, 3.5, 14
"""Nor may any other letter of its word, so many letters off at most, stand out so far; one next to
it a little more, because it has part of the strange letter in its own picture."""
LEANS, LEANS_FEW, MANY = 0.08, 0.15, 4
"""Slope against the usual of their kinds at which the other letters of its word are of another
posture, where they are many and where they are few: single roman letters of old books have up to
0.13, italic among roman 0.2 to 0.4."""
OVERHUNG = 0.5
"""Share of a kind that the letter after it stands under, from which one alone looks wanting."""
_JOINED = ("f", "i", "l")
_ROOFS = ("F", "P", "T", "V", "W", "Y", "f")


def judgeable(matter: Matter, odd_company: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """For each letter of the fount whether it can be judged; all but `among_leaning` is seen to.

    Args:
        matter: the proof.
        odd_company: of each letter, by `among_odd`.
    """
    fount = matter.fount
    text = fount.text.tolist()
    small = np.array([character.islower() for character in text], bool)
    found = matter.borne_out & matter.cut_true & np.isfinite(fount.unlike)
    found &= np.array([character.isalnum() for character in text], bool)
    long = np.array([len(reading.letters) >= LEAST_LETTERS for reading in matter.readings], bool)
    found &= long[fount.line] & (~odd_company | _plainly_broken(matter))
    found &= cut_as_cast(matter) & ~set_apart(matter)
    known = matter.running[fount.line] & _with_fellows_of_its_size(matter)
    # In a head a letter may be of another face, and yet part of it plainly gone.
    gone = (fount.lost >= PLAINLY_LOST) & (fount.added <= HARDLY_ADDED)
    known |= gone & _with_fellows_of_one_face(matter)
    return np.asarray(found & (small | (known & ~has_its_like(matter))))


def _with_fellows_of_its_size(matter: Matter) -> NDArray[np.bool_]:
    """Letters that have enough fellows on lines of running text of their own size.

    On a bill capitals of every size and face stand together, and are no fellows of one another.
    """
    fount, running = matter.fount, matter.running[matter.fount.line]
    size = np.array([line.x_height_px for line in matter.lines], np.float64)[fount.line]
    found = np.zeros(len(fount.text), bool)
    for character, fellows in fount.fellows.items():
        mine = np.flatnonzero(fount.text == character)
        theirs = size[fellows.who[running[fellows.who]]]
        alike = np.abs(theirs[None, :] / size[mine][:, None] - 1) < SAME_SIZE
        found[mine] = alike.sum(axis=1) >= LEAST_FELLOWS
    return found


def _with_fellows_of_one_face(matter: Matter) -> NDArray[np.bool_]:
    """Letters whose fellows are like one another: beside bold ones a light letter looks worn."""
    fount = matter.fount
    found = np.zeros(len(fount.text), bool)
    for character, fellows in fount.fellows.items():
        alike = bool(np.median(fount.unlike[fellows.who]) <= OF_ONE_FACE)
        found |= alike & (fount.text == character)
    return found


def alone_of_its_face(matter: Matter, odd_company: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Letters that can be held against those of a book of faces, many fellows or few.

    Args:
        matter: the proof.
        odd_company: of each letter, by `among_odd`.
    """
    fount = matter.fount
    long = np.array([len(reading.letters) >= LEAST_LETTERS for reading in matter.readings], bool)
    found = matter.borne_out & matter.cut_true & ~odd_company & long[fount.line]
    found &= np.array([character.isalnum() for character in fount.text.tolist()], bool)
    return np.asarray(found & cut_as_cast(matter))


def cut_as_cast(matter: Matter) -> NDArray[np.bool_]:
    """Letters that have all of their ink in their own picture, and none of another's."""
    joined = _half_of_ligature(matter) | _wants_its_follower(matter) | _under_a_roof(matter)
    return np.asarray(~joined)


def small_in_running(matter: Matter) -> NDArray[np.bool_]:
    """For each letter of the fount whether it is a small letter of running text."""
    small = np.array([character.islower() for character in matter.fount.text.tolist()], bool)
    return small & matter.running[matter.fount.line]


def among_odd(matter: Matter, odds: Odds) -> NDArray[np.bool_]:
    """Letters among others that look odd, in their word or near them in their line."""
    odd = _among_strange(matter, odds)
    odd |= (matter.oddness_beside > BESIDE_AT_MOST) & (letters_of_word(matter) > 3)
    odd |= share_beside(matter.oddness > ODD_BESIDE, matter.word, WORD, 1, nearest=2) > 0
    odd |= share_beside(matter.oddness > ODD_NEXT, matter.word, 1, 1) > 0
    return np.asarray(odd)


def letters_of_word(matter: Matter) -> NDArray[np.intp]:
    """For each letter of the fount how many its word has."""
    return np.asarray(np.bincount(matter.word)[matter.word])


def among_leaning(matter: Matter, number: int) -> bool:
    """Whether the other letters of its word lean, or stand upright, against the usual."""
    fount = matter.fount
    first, end = np.searchsorted(matter.word, matter.word[number] + np.arange(2)).tolist()
    text = dict(enumerate(fount.text[first:end].tolist(), first))
    others = [n for n in text if n != number and text[n].isalnum() and text[n] in fount.fellows]
    if not others:
        return False
    usual = [fount.fellows[text[n]] for n in others]
    moulds = np.stack([fellows.mould for fellows in usual])
    half = np.array([np.median(fount.cut.half_width[fellows.who]) for fellows in usual])
    lean = slopes_of(fount.cut, np.array(others)) - slopes(moulds, half)
    return bool(abs(float(np.median(lean))) > (LEANS if len(others) >= MANY else LEANS_FEW))


def _plainly_broken(matter: Matter) -> NDArray[np.bool_]:
    """Letters with part of them gone and nothing over, among others that have all of theirs.

    No letter of another face looks so, whatever those beside it do; a whole stretch may be worn.
    """
    fount = matter.fount
    gone = (fount.lost >= GONE) & (fount.added <= HARDLY_ADDED)
    worn = share_beside(fount.lost >= WORN, fount.line, NEAR, _LEAST_BESIDE)
    return np.asarray(gone & (worn < MOST_WORN))


def _among_strange(matter: Matter, odds: Odds) -> NDArray[np.bool_]:
    """Letters that many of those near them look odd with.

    Of letters and figures alone that have fellows; points look alike in every face.
    """
    fount = matter.fount
    told = np.array([text.isalnum() for text in fount.text.tolist()], bool)
    told &= np.isfinite(fount.unlike)
    odd = np.maximum(odds.strange, odds.broken)[told] > MAYBE_STRANGE
    odd |= matter.oddness[told] > MAYBE_ODD
    # Of few letters a kind, half in another face, none is odd among its own; but all are unlike.
    unlike = fount.unlike[told]
    usual = float(np.median(unlike)) if len(unlike) else 0.0
    odd |= unlike > max(UNLIKE, UNLIKE_THE_USUAL * usual)
    line, word = fount.line[told], matter.word[told]
    among = share_beside(odd, line, NEAR, _LEAST_BESIDE) >= STRANGE_BESIDE
    among |= share_beside(odd, word, NEAR, _LEAST_BESIDE) >= STRANGE_BESIDE
    among |= share_to_a_side(odd, line, NEAR, _LEAST_TO_A_SIDE) >= STRANGE_TO_A_SIDE
    found = np.zeros(len(fount.text), bool)
    found[told] = among
    return found


def _half_of_ligature(matter: Matter) -> NDArray[np.bool_]:
    """Letters that may be half of an fi, fl or ff, which has no fellows of either."""
    text, word = matter.fount.text, matter.word
    found = np.zeros(len(text), bool)
    joined = (text[:-1] == "f") & np.isin(text[1:], _JOINED) & (word[:-1] == word[1:])
    found[:-1] |= joined
    found[1:] |= joined
    return found


def _wants_its_follower(matter: Matter) -> NDArray[np.bool_]:
    """Letters with nothing under their hook where most of their kind have the next letter there.

    That letter's ink is in their fellows' pictures, and would be missed in theirs.
    """
    fount, word = matter.fount, matter.word
    boxes = matter.boxes
    left = np.array([box.x for box in boxes], np.float64)
    right = np.array([box.right for box in boxes], np.float64)
    over = np.zeros(len(boxes), bool)
    over[:-1] = (word[1:] == word[:-1]) & (left[1:] < right[:-1])
    found = np.zeros(len(boxes), bool)
    for character, fellows in fount.fellows.items():
        if over[fellows.who].mean() > OVERHUNG:
            found |= (fount.text == character) & ~over
    return found


def _under_a_roof(matter: Matter) -> NDArray[np.bool_]:
    """Letters that a capital's arm or an f's hook reaches over, as few of their fellows are."""
    fount, word = matter.fount, matter.word
    found = np.zeros(len(word), bool)
    after = (word[1:] == word[:-1]) & np.isin(fount.text[:-1], _ROOFS)
    for number in np.flatnonzero(after).tolist():
        found[number + 1] = matter.boxes[number].right > matter.boxes[number + 1].x
    return found


def has_its_like(matter: Matter) -> NDArray[np.bool_]:
    """Letters that another of their kind is as like as is usual."""
    fount = matter.fount
    found = np.zeros(len(fount.text), bool)
    for character in fount.fellows:
        mine = fount.text == character
        found[mine] = fount.closest[mine] <= ALIKE * np.median(fount.closest[mine])
    return found


def without_its_like(matter: Matter) -> NDArray[np.bool_]:
    """Letters read rightly that are no small ones of running text, and have no fellow so like."""
    found = matter.borne_out & matter.cut_true & ~small_in_running(matter)
    return np.asarray(found & ~has_its_like(matter))
