"""Capital or small letter, l or I, o or nought: told by how tall a letter stands among the others.

Small c o s u v w x z are their capitals made smaller; in faces without serifs l and I are bare
stems, the one as tall as b d h k, the other as the capitals (common practice; in many faces those
two heights are one).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.weigh.fellows import OF_A_SIZE, Says

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Line, Reading
    from proofcheck.weigh.evidence import Dispute

__all__ = ["Heights"]

_CAPITALS = frozenset("ABDEFHIKLMNPRTUVWXYZ")
_ASCENDING = frozenset("bdhkl")
_LIKE_CAPITALS = frozenset("cosuvwxz")
_LOW_FIGURES = frozenset("012")
"""Figures that in old style are about as tall as small letters."""
_FIGURES = frozenset("0123456789")
_LONG_FIGURES = frozenset("3456789")
"""Figures that in old style stand over small letters or hang below them."""
_OF_NUMBERS = _FIGURES | frozenset("oO")
_LEAST_FIGURES, _ALIGNED = 2, 0.06
"""So many figures of a number that end within this share of one's height at head and foot are
lining ones: a small letter is lower than those (common practice)."""
_TALL = frozenset("bdfhklt")
_LEAST = 3
"""So many letters say how tall theirs are."""
_SAME = 0.04
"""Letters whose heights differ by less than this share, and half a pixel, are as tall."""
_SMALL = 0.82
"""Of a capital's height: small letters shaped like capitals are less."""
_SERIFS = 1.3
"""A stem this many times as wide at an end as in the middle has serifs."""
_INK = 128


class Heights:
    """How tall the letters of a proof are, in shares of their line's x-height."""

    def __init__(self, lines: Sequence[Line], readings: Sequence[Reading]) -> None:
        x_height = {line.number: line.x_height_px for line in lines}
        self._capitals = _measured(readings, x_height, _CAPITALS)
        self._ascending = _measured(readings, x_height, _ASCENDING)
        self._low = _measured(readings, x_height, _LOW_FIGURES)
        self._rings = _measured(readings, x_height, frozenset("o"))

    def of_stem(self, dispute: Dispute) -> Says:
        """A bare stem read as l where the copy has I, or I where it has l."""
        read, wanted = dispute.difference.proof_text, dispute.difference.copy_text
        if {read, wanted} != {"l", "I"} or not _bare(dispute):
            return Says.NOTHING
        tall = {
            "I": self._usual(self._capitals, dispute),
            "l": self._usual(self._ascending, dispute),
        }
        height = dispute.reading.letters[dispute.difference.proof.start].box.height
        if not _as_tall(height, tall[wanted]):
            return Says.NOTHING
        return Says.ALIKE if _as_tall(height, tall[read]) else Says.COPY

    def of_nought(self, dispute: Dispute) -> Says:
        """An old-style nought read as o, or an o read as one, where the two differ in height."""
        read, wanted = dispute.difference.proof_text, dispute.difference.copy_text
        if {read, wanted} != {"o", "0"}:
            return Says.NOTHING
        if wanted == "0" and _among_lining(dispute):
            return Says.COPY
        tall = {"0": self._usual(self._low, dispute), "o": self._usual(self._rings, dispute)}
        height = dispute.reading.letters[dispute.difference.proof.start].box.height
        if tall[read] is None or _as_tall(height, tall[read]):
            return Says.NOTHING
        return Says.COPY if _as_tall(height, tall[wanted]) else Says.NOTHING

    def of_case(self, dispute: Dispute) -> Says:
        """A letter read in the other case, beside the capitals of its own line."""
        read, wanted = dispute.difference.proof_text, dispute.difference.copy_text
        if len(read) != 1 or read == wanted or read.casefold() != wanted.casefold():
            return Says.NOTHING
        at = dispute.difference.proof.start
        letters = dispute.reading.letters
        capitals = [
            held.box for k, held in enumerate(letters) if k != at and held.text in _CAPITALS
        ]
        if len(capitals) < _LEAST:
            return Says.NOTHING
        usual = float(np.median([box.height for box in capitals]))
        foot = float(np.median([box.bottom for box in capitals]))
        box = letters[at].box
        if wanted.isupper() and read not in _TALL:
            stands = abs(box.bottom - foot) <= _SAME * usual + 1
            return Says.COPY if stands and _as_tall(box.height, usual) else Says.NOTHING
        if wanted in _LIKE_CAPITALS:
            return Says.COPY if box.height < _SMALL * usual else Says.NOTHING
        return Says.NOTHING

    def _usual(self, measured: NDArray[np.float64], dispute: Dispute) -> float | None:
        """The usual height of such letters in type of this size, pixels; None if there are few."""
        size = dispute.line.x_height_px
        near = np.abs(measured[:, 0] - size) <= OF_A_SIZE * size
        if near.sum() < _LEAST:
            return None
        return float(np.median(measured[near, 1]))


def _among_lining(dispute: Dispute) -> bool:
    """Whether a ring stands as high as the lining figures of its own number, which no o does."""
    letters, at = dispute.reading.letters, dispute.difference.proof.start
    first = last = at
    while first and letters[first - 1].text in _OF_NUMBERS:
        first -= 1
    while last + 1 < len(letters) and letters[last + 1].text in _OF_NUMBERS:
        last += 1
    held = letters[first : last + 1]
    figures = [letter.box for letter in held if letter.text in _FIGURES]
    if len(figures) < _LEAST_FIGURES or not _LONG_FIGURES & {letter.text for letter in held}:
        return False
    box, spare = letters[at].box, _ALIGNED * figures[0].height + 1
    return all(
        abs(figure.y - box.y) <= spare and abs(figure.bottom - box.bottom) <= spare
        for figure in figures
    )


def _measured(
    readings: Sequence[Reading], x_height: dict[int, float], letters: frozenset[str]
) -> NDArray[np.float64]:
    """Of each such letter its line's x-height and its own height, pixels: shape (letters, 2)."""
    found = [
        (x_height[reading.line], letter.box.height)
        for reading in readings
        if reading.line in x_height
        for letter in reading.letters
        if letter.text in letters
    ]
    return np.array(found, np.float64).reshape(-1, 2)


def _as_tall(height: float, usual: float | None) -> bool:
    return usual is not None and abs(height - usual) <= _SAME * usual + 0.5


def _bare(dispute: Dispute) -> bool:
    """Whether the letter is a stem without serifs."""
    box = dispute.reading.letters[dispute.difference.proof.start].box
    part = dispute.sheet.image[box.y : box.bottom, box.x : box.right] < _INK
    wide = part.sum(axis=1)
    if len(wide) < 6 or box.width > box.height / 2:
        return False
    end = max(len(wide) // 6, 1)
    middle = float(np.median(wide[2 * end : -2 * end]))
    return float(max(wide[:end].max(), wide[-end:].max())) <= _SERIFS * middle + 0.5
