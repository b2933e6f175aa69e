"""Letters told by the shop's book of faces: this n is of another face that the shop has.

A proof shows what its own letters look like, but never what a strange one would. The book shows
both, in hundreds: so each kind of letter gets a measure of its own, by which the proof's face and
another are best told apart (Fisher's linear discriminant, within-class scatter of both, with a
ridge). What that makes another face's the comparer holds against the letters of either. What the
proof's own letters say stands; this only adds to it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from proofcheck.metal.company import alone_of_its_face
from proofcheck.metal.comparing import OWN_COMPARER, compare_on
from proofcheck.metal.face_known import LEAST_KEPT, as_strangers, known_faces
from proofcheck.metal.neighbours import share_beside
from proofcheck.metal.overlaying import Fellows, laid_true
from proofcheck.metal.patch_store import Patches, blocks
from proofcheck.metal.patches import BASELINE_ROW, TALL, WIDE, Cut

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.metal.context import Matter
    from proofcheck.metal.face import Face
    from proofcheck.metal.face_known import Known


__all__ = ["NEVER", "ByFace", "by_face"]

NEVER = -99.0
"""Of a letter that the book says nothing of."""
MOST_OTHERS = 8
"""Faces that a strange letter may be of: those nearest in size."""
SAME_SIZE, FAR_SIZE = 0.04, 0.3
"""Shares by which x-heights differ up to which letters of two faces are held against each other as
they are, and from which none is seen at its own size: it stands out by that alone. Between, both at
its own size and as the same design on the proof's."""
COUNTS_FOR = 0.5
"""Share of the discriminant's log odds that is added to what the proof's own letters say."""
MOST = 10.0
EVEN, STEP = 3.5, 1.0
"""Log odds of both together, as likely a fault as not; on two pages each of the books b, d and f
two of 10,000 letters as printed had as much beside those the proof's own letters tell."""
EVEN_ALONE = 8.0
"""The discriminant's own, for letters whose kind the proof has too few of, and for capitals and
figures; of 63 of those on ten pages of five books none had more than 1.3."""
ASKED = 3.0
"""The discriminant's log odds from which the comparer is asked: of one letter in 300."""
EVEN_NEARER = 8.0
"""The discriminant's log odds and the comparer's together, as likely a fault as not whatever the
proof's own letters say: on 12 pages for fitting of four books, each learnt from up to ten others,
by a comparer that saw none of them, 107 of 142 small letters of another book had more, and three of
11,000 sound ones; as above 84 were told, and two."""
PARTED = 3.0
"""Spreads by which two faces' letters of a kind must lie apart for one to be told from the other:
at their middle one in fifteen of either is taken wrongly then."""
_RIDGE, _SPREAD_OVER = 1.0, 40.0
"""The ridge, as a share of the scatter, and over how many directions that is spread."""
_SETTLES = 4.0
"""Letters of a kind on the proof that count as much as what the book says of how they lie."""
_BESIDE, _WORD = 3.0, 14
"""Another letter of its word that has as much log odds makes it a word of another face."""


@dataclass(frozen=True, slots=True, eq=False)
class ByFace:
    """What the book of faces says of a proof; of letters in the order of the fount."""

    strange: NDArray[np.float64]
    """Log odds of another face of the book against the proof's own; `NEVER` for nothing said."""
    like: NDArray[np.intp]
    """Which face it is like, by its place in `others`."""
    nearer: NDArray[np.float64]
    """How much nearer that face's letters than the proof's own the comparer finds it, log odds; 0
    where it was not asked."""
    others: tuple[Face, ...] = ()
    known: tuple[Face, ...] = ()
    """Those the proof is set in."""

    @staticmethod
    def silent(count: int) -> ByFace:
        """Of so many letters, where there is no book or no face of it on the proof."""
        return ByFace(np.full(count, NEVER), np.zeros(count, np.intp), np.zeros(count))


def by_face(matter: Matter, faces: Sequence[Face], odd_company: NDArray[np.bool_]) -> ByFace:
    """Hold a proof's letters against the faces of the book.

    Args:
        matter: the proof.
        faces: of the book.
        odd_company: of each letter, by `company.among_odd`.
    """
    fount = matter.fount
    known = [each for each in known_faces(matter, faces) if each.sure] if faces else []
    if not known:
        return ByFace.silent(len(fount.text))
    strange, nearer = np.full(len(fount.text), NEVER), np.zeros(len(fount.text))
    like, way = np.zeros(len(fount.text), np.intp), np.zeros(len(fount.text), np.intp)
    ways = [
        (each, other, scale)
        for each in known
        for other in _others_of(each, known, faces)
        for scale in _scales(each.face, other)
    ]
    for number, (each, other, scale) in enumerate(ways):
        odds = _odds(matter, each, other, scale)
        better = odds > strange
        strange[better], like[better] = odds[better], faces.index(other)
        way[better] = number
    among = share_beside(strange > _BESIDE, matter.word, _WORD, 1) > 0
    held = alone_of_its_face(matter, odd_company) & ~among
    strange[~held] = NEVER
    asked = np.flatnonzero(strange > ASKED)
    for number in np.unique(way[asked]).tolist():
        who = asked[way[asked] == number]
        nearer[who] = _nearer(matter, who, *ways[number])
    return ByFace(strange, like, nearer, tuple(faces), tuple(each.face for each in known))


def _others_of(own: Known, known: Sequence[Known], faces: Sequence[Face]) -> list[Face]:
    """The faces a strange letter may be of, those nearest in size first.

    None that the very lines may be of too: what is like the proof's face in every letter tells
    nothing.
    """
    size = own.face.letters.x_height_mm
    alike = {each.face.number for each in known if (each.rows & own.rows).any()}
    away = {
        face.number: abs(face.letters.x_height_mm / size - 1)
        for face in faces
        if face.number not in alike
    }
    near = sorted(away, key=lambda number: away[number])
    return [face for face in faces if face.number in near[:MOST_OTHERS]]


def _scales(own: Face, other: Face) -> tuple[float, ...]:
    """At which sizes letters of another face may stand among a face's own, as it is kept being 1.

    All are kept at one x-height.
    """
    larger = other.letters.x_height_mm / own.letters.x_height_mm
    seen = SAME_SIZE < abs(larger - 1) < FAR_SIZE
    return (1.0, larger) if seen else (1.0,)


def _odds(matter: Matter, own: Known, other: Face, scale: float) -> NDArray[np.float64]:
    """For each letter on lines of a face the log odds that it is of the other, so much larger."""
    fount, held = matter.fount, other.letters
    found = np.full(len(fount.text), NEVER)
    cut = other.cut()
    for kind, fellows in own.fellows.items():
        mine = np.flatnonzero((fount.text == kind) & own.rows[fount.line])
        theirs = np.flatnonzero(held.text == kind)
        if not len(mine) or len(theirs) < LEAST_KEPT:
            continue
        strange = laid_true(_scaled(cut.ink[theirs], scale), fellows)
        samples = _coarse(fellows.ink), _coarse(strange)
        if _told_apart(*samples) < PARTED:
            continue
        rule = _Rule.of(*samples)
        odds = [rule.odds(_coarse(laid_true(fount.cut.ink[p], fellows))) for p in blocks(mine)]
        found[mine] = _at_home(np.concatenate(odds), fount.agreed[mine], rule.apart)
    return found


def _nearer(
    matter: Matter, who: NDArray[np.intp], own: Known, other: Face, scale: float
) -> NDArray[np.float64]:
    """How much stranger the comparer finds letters among a face's own than among the other's."""
    found = np.zeros(len(who))
    cut, weights = matter.fount.cut, matter.settings.comparer or OWN_COMPARER
    held, text = other.cut(), matter.fount.text[who]
    for kind in np.unique(text):
        mine, theirs = text == kind, np.flatnonzero(other.letters.text == kind)
        ink, half = _scaled(held.ink[theirs], scale), held.half_width[theirs] * np.float32(scale)
        there = Cut(Patches.of(ink), half, np.zeros((len(theirs), 2), np.float32))
        beside = own.fellows[str(kind)], Fellows.of(there, np.arange(len(theirs)))
        among_own, among_other = (
            compare_on(str(kind), cut, who[mine], as_strangers(each), weights) for each in beside
        )
        found[mine] = among_own - among_other
    return found


def _told_apart(own: NDArray[np.float64], other: NDArray[np.float64]) -> float:
    """How many spreads apart letters of the two lie that the rule was not made of.

    The same design at another size, or a plain o, is not: a rule made of such tells inking alone.
    """
    apart = []
    for half in (0, 1):
        rule = _Rule.of(own[half::2], other[half::2])
        one, two = rule.odds(own[1 - half :: 2]), rule.odds(other[1 - half :: 2])
        spread = np.sqrt((one.var() + two.var()) / 2)
        apart.append(float((two.mean() - one.mean()) / max(spread, 1e-6)))
    return min(apart)


def _scaled(ink: NDArray[np.float32], scale: float) -> NDArray[np.float32]:
    """Patches made so much larger about the middle of their baseline."""
    if scale == 1:
        return ink
    middle = ((WIDE - 1) / 2, BASELINE_ROW - 0.5)
    turn = cv2.getRotationMatrix2D(middle, 0, scale)
    return np.stack([cv2.warpAffine(each, turn, (WIDE, TALL)) for each in ink]).astype(np.float32)


def _at_home(
    odds: NDArray[np.float64], agreed: NDArray[np.bool_], apart: float
) -> NDArray[np.float64]:
    """The odds moved so that the kind lies on this proof where the book has it: inked alike."""
    count = int(agreed.sum())
    if not count:
        return odds
    lies = float(np.median(odds[agreed])) + apart / 2
    return np.asarray(odds - lies * count / (count + _SETTLES))


@dataclass(frozen=True, slots=True, eq=False)
class _Rule:
    """How letters of one kind in two faces are told apart."""

    weights: NDArray[np.float64]
    middle: float
    apart: float
    """How far they are apart, in log odds: the one lies half of it below even, the other above."""

    @staticmethod
    def of(own: NDArray[np.float64], other: NDArray[np.float64]) -> _Rule:
        """By Fisher's discriminant of two samples (n, pixels) each."""
        own_mean, other_mean = own.mean(axis=0), other.mean(axis=0)
        rest = np.concatenate([own - own_mean, other - other_mean])
        free = len(rest) - 2
        ridge = _RIDGE * float((rest * rest).sum()) / free / _SPREAD_OVER + 1e-6
        way = other_mean - own_mean
        # Few samples of many pixels: the inverse by the identity of Woodbury.
        inner = rest @ rest.T / free + ridge * np.eye(len(rest))
        weights = (way - rest.T @ np.linalg.solve(inner, rest @ way) / free) / ridge
        return _Rule(weights, float(weights @ (own_mean + other_mean) / 2), float(weights @ way))

    def odds(self, letters: NDArray[np.float64]) -> NDArray[np.float64]:
        """Log odds of the other face, for each."""
        return np.asarray(letters @ self.weights - self.middle)


def _coarse(ink: NDArray[np.float32]) -> NDArray[np.float64]:
    """Letters (n, anything of TALL × WIDE) at half the size, flat: grain and hairs of play go."""
    square = ink.reshape(-1, TALL // 2, 2, WIDE // 2, 2).astype(np.float64)
    return np.asarray(square.mean(axis=(2, 4)).reshape(len(ink), -1))
