"""A face learnt from a proof that was passed: its sound, plain letters, and no other."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from proofcheck.metal.company import alone_of_its_face
from proofcheck.metal.face import Face, Lettering
from proofcheck.metal.face_known import MAY_BE, known_faces, sizes_mm
from proofcheck.metal.judged import judge
from proofcheck.metal.leaning import upright_slopes
from proofcheck.metal.slope import slopes_of

if TYPE_CHECKING:
    from collections.abc import Set as AbstractSet

    from proofcheck.metal.context import Matter
    from proofcheck.metal.face import Taught
    from proofcheck.metal.face_book import FaceBook

__all__ = ["Lesson", "learn", "lettering_of"]

LEAST_LETTERS = 150
"""Small letters a proof must have for a face to be learnt from it: some four lines."""
SOUND = 0.0
"""Log odds of unsound that a letter which is learnt may have at most."""
_SURE = 0.9


class Lesson(NamedTuple):
    """What came of a proof."""

    book: FaceBook
    face: Face | None
    """The face as it is now; None where nothing was learnt."""
    words: str
    """One line."""


def lettering_of(matter: Matter, touched: AbstractSet[tuple[int, int]]) -> Lettering | None:
    """The letters of a proof's running text that are plainly sound; None where they are too few.

    Args:
        matter: the proof.
        touched: (row, letter of its reading) that a fault, a query or a decision was about.
    """
    fount, judged, size = matter.fount, judge(matter), sizes_mm(matter)
    learnt = alone_of_its_face(matter, judged.among_odd) & matter.running[fount.line]
    learnt &= np.isfinite(size)[fount.line] & (judged.own_odds < SOUND)
    for number in np.flatnonzero(learnt).tolist():
        place = int(fount.line[number]), int(fount.at[number])
        learnt[number] = place not in touched and matter.letter(number).certainty >= _SURE
    who = np.flatnonzero(learnt)
    text = fount.text[who]
    small = np.array([each.islower() for each in text.tolist()], bool)
    if small.sum() < LEAST_LETTERS:
        return None
    upright = upright_slopes()
    usual = np.array([upright.get(each, (0.0, 0.0))[0] for each in text[small].tolist()])
    rows = fount.line[who]
    body = np.median([matter.lines[row].body_pt for row in rows.tolist()])
    slope = np.median(slopes_of(fount.cut, who[small]) - usual)
    sizes = (float(np.median(size[rows])), float(body), float(slope))
    return Lettering.of(fount.cut, who, text, sizes)


def learn(
    book: FaceBook,
    matter: Matter,
    touched: AbstractSet[tuple[int, int]],
    taught: Taught,
    name: str = "",
) -> Lesson:
    """The book with what one proof shows: a face grown, or a new one begun.

    Where it is not sure whether the proof is in a face of the book, nothing is learnt of it.

    Args:
        book: the book.
        matter: the proof.
        touched: as of `lettering_of`.
        taught: which proof it is; the letters are counted here.
        name: what its job calls the face; "" where it does not say.
    """
    letters = lettering_of(matter, touched)
    if letters is None:
        few = f"fewer than {LEAST_LETTERS} sound small letters of running text of known size"
        return Lesson(book, None, f"nothing learnt: {few}")
    taught = taught._replace(letters=len(letters.text))
    near = known_faces(matter, book.faces)
    sure = [each.face for each in near if each.sure and each.whole]
    if len(sure) == 1:
        face = sure[0].with_proof(letters, taught)
        return Lesson(book.with_face(face), face, f"{len(letters.text)} letters of {face.called}")
    maybe = [each.face.called for each in near if each.sure or each.unlike < MAY_BE]
    if maybe:
        return Lesson(book, None, f"nothing learnt: it may be {' or '.join(maybe)}, but not surely")
    empty = Lettering(
        letters.text[:0], letters.ink[:0], letters.half[:0], letters.x_height_mm, 0.0, 0.0
    )
    face = Face(book.next_number, name, empty, np.zeros(0, np.intp), ()).with_proof(letters, taught)
    return Lesson(book.with_face(face), face, f"{face.called} begun with {len(letters.text)}")
