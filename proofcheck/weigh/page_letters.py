"""The proof's own letters decide between what was read and what the copy has.

Every letter that is in no dispute is an example of what the copy says it is, hundreds of them to a
page, of this very fount. A letter in dispute is asked whether it lies with those of the copy's
letter or with those of the letter read (`discriminant`). Where one letter of the copy is read as
one other time and again, its places are held together: if they lie apart from the page's own
letters of that other kind, the reader (or one machine) has them all alike, and the cause is told
once. Where there is too little of either letter nothing is said.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.reading.letter_reader import LetterReader
from proofcheck.weigh.fellows import SOME, Says, about_a_size
from proofcheck.weigh.stretches import Stretch

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from numpy.typing import NDArray

    from proofcheck.base.found import Difference
    from proofcheck.base.values import Line, Reading, Sheet
    from proofcheck.reading import Reader
    from proofcheck.weigh.discriminant import Discriminant, Lean
    from proofcheck.weigh.evidence import Dispute
    from proofcheck.weigh.stretches import Place

__all__ = ["PageLetters", "Stranger", "page_letters"]

TIME_AND_AGAIN = 5
"""One letter read as one other so often has one cause."""
SHARED = 0.5
"""Of those, so many must lie with one another."""
BORNE_OUT_AT, OFF_COPY, WITH_OTHER = 0.2, 4.5, 5.0
"""A letter is the one read where it leans over to that one, this many spreads off the copy's
letters and no more than so many short of the others."""
COPY_AT, OFF_OTHER, WITH_COPY = -0.3, 5.0, 4.0
"""And the copy's by the same the other way about."""
BESIDE = 3.0
"""Nor is it either of them where it lies so far off that one, whichever way: a letter of another
style, or a third letter, leans as it happens."""
KEPT = 16
"""Stretches of letters that stay laid out; all of a long proof would be 2 MB a sheet."""
LEAST = 2
"""Fewer letters of either kind, besides itself, are no measure."""
PLAINLY_OFF, PLAINLY_BESIDE, LEAST_SEEN, NEARER = 7.0, 1.8, 6, 0.75
"""Against reader and copy together the letters of both kinds must be more, say so plainly, and the
nearest few of the one be nearer by this share than those of the other."""
ENOUGH = 1500
"""Letters that are judged together, where one sheet holds fewer."""


@dataclass(frozen=True, slots=True)
class Stranger:
    """A letter that reader and copy agree on and the proof's own letters do not."""

    line: int
    at: int
    """Which letter of the line."""
    is_rather: str
    """What it lies with."""


class PageLetters:
    """Asks the letters of a proof.

    Args:
        seer: who read them.
        sheets, lines, readings: the proof as read.
        differences: what is in dispute.
    """

    def __init__(
        self,
        seer: LetterReader,
        sheets: Sequence[Sheet],
        lines: Sequence[Line],
        readings: Sequence[Reading],
        differences: Iterable[Difference],
    ) -> None:
        self._seer, self._sheets, self._lines = seer, sheets, lines
        self._readings = {reading.line: reading for reading in readings}
        self._size = {line.number: line.x_height_px for line in lines}
        self._pairs, self._barred = _disputed(differences)
        self._laid = lru_cache(maxsize=KEPT)(Stretch.lay_out)
        self._causes: dict[tuple[int, tuple[str, str]], frozenset[int]] = {}
        self._said: dict[tuple[Place, str, str], tuple[Says, str]] = {}
        self._often = {
            pair for pair, n in Counter(self._pairs.values()).items() if n >= TIME_AND_AGAIN
        }

    def of(self, dispute: Dispute) -> tuple[Says, str]:
        """What they say of a difference, and its cause where that is one for many ("" else)."""
        difference = dispute.difference
        start, end = difference.proof
        read, wanted = difference.proof_text, difference.copy_text
        if not len(read) == len(wanted) == end - start:
            return Says.NOTHING, ""
        said = [
            self._one((difference.line, start + k), r, w)
            for k, (r, w) in enumerate(zip(read, wanted, strict=True))
            if r != w
        ]
        answers = {answer for answer, _ in said}
        if against := answers & {Says.READING, Says.RATHER}:
            return max(against, key=lambda one: one is Says.READING), ""
        if answers == {Says.COPY}:
            return Says.COPY, next((cause for _, cause in said if cause), "")
        return Says.NOTHING, ""

    def doubts(self, dispute: Dispute) -> bool:
        """Whether a letter in dispute lies plainly off the copy's, though it is like no other."""
        difference = dispute.difference
        start, end = difference.proof
        read, wanted = difference.proof_text, difference.copy_text
        if not len(read) == len(wanted) == end - start:
            return False
        leans = [
            found[1].lean(found[2], w, r)
            for k, (r, w) in enumerate(zip(read, wanted, strict=True))
            if r != w and (found := self._found((difference.line, start + k)))
        ]
        return any(
            lean is not None and lean.at > 0 and lean.copies >= LEAST and lean.from_copy >= OFF_COPY
            for lean in leans
        )

    def strangers(self) -> Iterator[Stranger]:
        """Letters in no dispute that are plainly another character by the proof's own."""
        for stretch in self._stretches:
            laid = self._laid(stretch)
            if laid is None:
                continue
            nearest = laid.nearest()
            away = (laid.labels >= 0) & (nearest != laid.labels)
            for number, place in enumerate(stretch.places()):
                if away[number] and place not in self._pairs and place not in self._barred:
                    other = laid.classes[nearest[number]]
                    read = self._readings[place[0]].letters[place[1]].text
                    if _is_stranger(laid, number, read, other):
                        yield Stranger(*place, other)

    def _one(self, place: Place, read: str, wanted: str) -> tuple[Says, str]:
        """What they say of one letter; worked out once, though asked before and after weighing."""
        key = place, read, wanted
        if key not in self._said:
            self._said[key] = self._asked(*key)
        return self._said[key]

    def _asked(self, place: Place, read: str, wanted: str) -> tuple[Says, str]:
        found = self._found(place)
        if found is None:
            return Says.NOTHING, ""
        stretch, laid, number = found
        if (wanted, read) in self._often and number in self._alike(stretch, laid, (wanted, read)):
            return Says.COPY, f"{wanted} is read as {read}"
        nearest = laid.nearest_of(number)
        if _is_stranger(laid, number, wanted, nearest):
            # Whatever it is, the copy has another; the reader may have taken it for a third.
            return self._against(stretch, place[0], wanted), ""
        lean = laid.lean(number, wanted, read)
        if lean is None or min(lean.copies, lean.others) < LEAST:
            return Says.NOTHING, ""
        if _is_other(lean):
            return self._against(stretch, place[0], read, wanted), ""
        return (Says.COPY if _is_copy(laid, number, lean, wanted) else Says.NOTHING), ""

    def _against(self, stretch: int, line: int, *labels: str) -> Says:
        """That it is what was read, if letters of each kind stand in lines of about its size."""
        size, held = self._size[line], self._stretches[stretch]
        near = Counter(
            known
            for known, (at, _) in zip(held.labels, held.places(), strict=True)
            if about_a_size(self._size[at], size)
        )
        return Says.READING if all(near[label] >= SOME for label in labels) else Says.RATHER

    def _alike(self, stretch: int, laid: Discriminant, pair: tuple[str, str]) -> frozenset[int]:
        """Letters read so for the copy's that lie with one another; none, where most do not."""
        key = stretch, pair
        if key not in self._causes:
            name, read = _together(*pair), pair[1]
            at = laid.classes.index(name) if name in laid.classes else len(laid.classes)
            leans = [
                (int(n), laid.lean(int(n), name, read)) for n in np.flatnonzero(laid.labels == at)
            ]
            alike = [n for n, lean in leans if _is_copy(laid, n, lean, name)]
            # Some may lie nearer to letters that were read rightly: the same cause.
            own = sum(_is_copy(laid, n, lean, pair[0]) for n, lean in leans)
            shared = len(alike) + own >= SHARED * len(leans)
            self._causes[key] = frozenset(alike if shared else ())
        return self._causes[key]

    @cached_property
    def _stretches(self) -> tuple[Stretch, ...]:
        """The proof sheet by sheet, sheets that hold few letters taken together."""
        found: list[Stretch] = []
        for sheet in self._sheets:
            if not found or len(found[-1].labels) >= ENOUGH:
                found.append(Stretch())
            its = [line for line in self._lines if line.sheet == sheet.number]
            for line, seen in zip(its, self._seer.letters_seen(sheet, its), strict=True):
                self._take_in(found[-1], line.number, seen)
        return tuple(found)

    def _take_in(self, stretch: Stretch, line: int, seen: NDArray[np.float16]) -> None:
        """Every letter of a line that is no space."""
        letters = self._readings[line].letters
        kept = [at for at, letter in enumerate(letters) if not letter.text.isspace()]
        if len(seen) != len(letters) or not kept:
            return
        labels = {at: self._label((line, at), letters[at].text) for at in kept}
        stretch.take_in(line, seen, labels)

    def _found(self, place: Place) -> tuple[int, Discriminant, int] | None:
        """Which stretch holds a place, its letters laid out, and which of them stands there."""
        for at, stretch in enumerate(self._stretches):
            number = stretch.number_at(place)
            laid = None if number is None else self._laid(stretch)
            if number is not None and laid is not None:
                return at, laid, number
        return None

    def _label(self, place: Place, read: str) -> str:
        """What a letter is an example of; "" for nothing."""
        pair = self._pairs.get(place)
        if pair is not None:
            return _together(*pair) if pair in self._often else ""
        return "" if place in self._barred else read


def _disputed(differences: Iterable[Difference]) -> tuple[dict[Place, tuple[str, str]], set[Place]]:
    """By place what the copy has and what was read; and the places that can be no example.

    Letters of the other case are none: where the copy gives a line of small capitals as small
    letters, they would be taken for those.
    """
    pairs: dict[Place, tuple[str, str]] = {}
    barred: set[Place] = set()
    for difference in differences:
        start, end = difference.proof
        read, wanted = difference.proof_text, difference.copy_text
        if not len(read) == len(wanted) == end - start:
            barred.update((difference.line, at) for at in range(start, end))
            continue
        for at, (r, w) in enumerate(zip(read, wanted, strict=True), start):
            if r == w:
                continue
            if r.casefold() == w.casefold():
                barred.add((difference.line, at))
            else:
                pairs[difference.line, at] = w, r
    return pairs, barred


def _together(wanted: str, read: str) -> str:
    """The name of the class of letters that are one thing by the copy and another by the reader."""
    return f"{wanted} read as {read}"


def _is_other(lean: Lean, off: float = OFF_COPY, beside: float = BESIDE) -> bool:
    leans = lean.at > BORNE_OUT_AT and lean.from_copy >= off and lean.from_other <= WITH_OTHER
    return leans and lean.beside_others <= beside


def _is_stranger(laid: Discriminant, number: int, wanted: str, other: str) -> bool:
    lean = laid.lean(number, wanted, other) if len(other) == 1 else None
    if lean is None or min(lean.copies, lean.others) < LEAST_SEEN:
        return False
    plain = _is_other(lean, PLAINLY_OFF, PLAINLY_BESIDE)
    return plain and laid.nearer(number, wanted, other) < NEARER


def _is_copy(laid: Discriminant, number: int, lean: Lean | None, copy: str) -> bool:
    """Whether it lies with the copy's letters, as against those read and any others."""
    if lean is None or lean.at >= COPY_AT or lean.beside_copies > BESIDE:
        return False
    leans = lean.from_other >= OFF_OTHER and lean.from_copy <= WITH_COPY
    return leans and laid.nearest_of(number) == copy


def page_letters(
    reader: Reader,
    sheets: Sequence[Sheet],
    lines: Sequence[Line],
    readings: Sequence[Reading],
    differences: Iterable[Difference],
) -> PageLetters | None:
    """The letters of a proof, where the reader can say what it made of each."""
    if not isinstance(reader, LetterReader):
        return None
    return PageLetters(reader, sheets, lines, readings, differences)
