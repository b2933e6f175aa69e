"""The letters of an earlier proof and a later one by their names, to be held against each other."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from proofcheck.revise.letter_there import PAD, Accounts, Place, accounts_of, ink_left, place_of
from proofcheck.revise.rough import seek
from proofcheck.revise.slugs import profile_lag

if TYPE_CHECKING:
    from proofcheck.base.found import Fault
    from proofcheck.base.values import Letter
    from proofcheck.results.report import Report
    from proofcheck.revise.pairing import Pairing, Prints
    from proofcheck.revise.slugs import Print

__all__ = ["LettersOfProofs"]

_ROUND = 3.0
"""Of the line to either side of a letter, in x-heights: it says where the letter lies."""
_FELLOWS = 16
_STOOD = 40
_AS_HIGH = 0.85
"""Least share of the x-height by which a line's letters may be held against another's."""
_AS_WIDE = 0.5, 2.0
"""Of the letter's width: what is like it enough to say how alike the same metal prints."""


class _Named:
    """The letters of one proof by what they read as, but for those at its faults."""

    def __init__(self, report: Report, prints: Prints) -> None:
        self._prints = prints
        self._held: dict[str, list[tuple[int, Letter]]] = defaultdict(list)
        amiss = {(fault.line, fault.box) for fault in report.faults}
        letters = {reading.line: reading.letters for reading in report.readings}
        for index, line in enumerate(report.lines):
            for letter in letters.get(line.number, ()):
                if letter.box.width > 0 and (line.number, letter.box) not in amiss:
                    self._held[letter.text].append((index, letter))

    def near(self, name: str, index: int, size: float) -> list[Place]:
        """Letters of that name on other lines about as high, those nearest the line first."""
        lines = self._prints.lines
        high = lines[index].x_height_px
        out: list[Place] = []
        for at, letter in sorted(self._held.get(name, ()), key=lambda one: abs(one[0] - index)):
            other = lines[at].x_height_px
            if at != index and min(high, other) >= _AS_HIGH * max(high, other):
                held = self._prints.get(at, size)
                out.append(place_of(held, lines[at], letter.box, self._prints.stretch))
            if len(out) == _FELLOWS:
                break
        return out


def _lag_about(place: Place, other: Print) -> tuple[int, float]:
    """How far another print of the slug lies to the right and down about a place, in pixels.

    By what is round it.
    """
    lag, _ = profile_lag(place.held, other)
    room = round(_ROUND * place.held.x_height_px)
    cell = (place.start - room, place.end + room)
    along, down, _ = seek(place.held, other, cell, lag)
    return round(lag + along), down


class LettersOfProofs:
    """Accounts of single letters of the earlier proof, on slugs that stayed."""

    def __init__(self, earlier: Report, later: Report, pairing: Pairing) -> None:
        self._pairing = pairing
        self._letters = {reading.line: reading.letters for reading in earlier.readings}
        if pairing.prints is not None:
            self._early = _Named(earlier, pairing.prints[0])
            self._late = _Named(later, pairing.prints[1])

    def accounts(self, fault: Fault, early: int, late: int) -> Accounts | None:
        """Of the letter at a fault; None where it is no one letter, or too few speak for either.

        Args:
            fault: on the earlier proof.
            early: index of its line there.
            late: index of the same slug on the later proof.
        """
        names = (fault.proof_text, fault.copy_text)
        if any(len(name) != 1 or name.isspace() for name in names) or not fault.box.width:
            return None
        if self._pairing.prints is None:
            return None
        a, b = self._pairing.prints
        size = a.lines[early].x_height_px
        place = place_of(a.get(early, size), a.lines[early], fault.box)
        other = b.get(late, size)
        lag, down = _lag_about(place, other)
        return accounts_of(
            place,
            Place(other, place.start + lag, place.end + lag),
            self._late.near(fault.copy_text, late, size),
            self._early.near(fault.copy_text, early, size),
            self._stood(place, early, (a, b)),
            down,
        )

    def ink_left(self, fault: Fault, early: int, late: int) -> float | None:
        """How much of a fault's own ink is left, of 1; None where it has none of its own."""
        if self._pairing.prints is None or not fault.box.width:
            return None
        a, b = self._pairing.prints
        size = a.lines[early].x_height_px
        place = place_of(a.get(early, size), a.lines[early], fault.box)
        other = b.get(late, size)
        lag, _ = _lag_about(place, other)
        return ink_left(place, Place(other, place.start + lag, place.end + lag))

    def _stood(self, place: Place, early: int, prints: tuple[Prints, Prints]) -> list[float]:
        """How alike letters about as wide are from pull to pull, on this slug and those near it."""
        a, b = prints
        size = place.held.x_height_px
        later = {first: second for second, first in self._pairing.same.items()}
        out: list[float] = []
        for index in sorted(later, key=lambda each: abs(each - early)):
            line, one = a.lines[index], a.get(index, size)
            other = b.get(later[index], size)
            lag, _ = profile_lag(one, other)
            for letter in self._letters.get(line.number, ()):
                held = place_of(one, line, letter.box)
                wide = (held.end - held.start) / (place.end - place.start)
                beside = index != early or abs(held.start - place.start) > size
                if not letter.text.isspace() and beside and _AS_WIDE[0] < wide < _AS_WIDE[1]:
                    out.append(seek(one, other, (held.start, held.end), lag, pad=PAD)[2])
            if len(out) >= _STOOD:
                break
        return out
