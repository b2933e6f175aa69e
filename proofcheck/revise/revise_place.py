"""Whether the picture of one place changed from pull to pull: another letter, or the same metal.

Reading says what a place holds as far as it can be read; the same letter of the same metal is read
otherwise now and then. So the ink itself is laid over: the place of a fault on the earlier proof is
sought on the later one, and held against how well the rest of the same line is found there. Inking
and wear, which differ from pull to pull, touch a whole line much alike.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from proofcheck.base.kinds import Kind
from proofcheck.revise.letters_of_proofs import LettersOfProofs
from proofcheck.revise.rough import cells_of, seek
from proofcheck.revise.slugs import MARGIN, profile_lag

if TYPE_CHECKING:
    from proofcheck.base.found import Fault
    from proofcheck.base.values import Box, Line
    from proofcheck.results.report import Report
    from proofcheck.revise.pairing import Pairing
    from proofcheck.revise.slugs import Print

__all__ = ["Likeness", "Places", "likeness_there"]

_ROUND = 0.25
"""Room taken in on either side of a fault's ink, in x-heights."""
_STEP = 0.6
"""How far beside it is looked, in x-heights."""
_GAP = 0.7
"""The same for a gap, where a letter is to come in."""


class Likeness(NamedTuple):
    """How alike a place is, the usual likeness of its line, and the spread of that."""

    there: float
    usual: float
    spread: float
    fellows: int
    """Places of the line that say what is usual."""

    @property
    def changed(self) -> bool:
        """Whether the place changed more than its line did."""
        least = _LEAST if self.fellows >= _MANY else _LEAST_OF_FEW
        return self.there < self.usual - max(_SPREADS * self.spread, least)


class Places:
    """The places of an earlier proof on slugs that are the same metal on a later one."""

    def __init__(self, earlier: Report, later: Report, pairing: Pairing) -> None:
        self._pairing = pairing
        self._letters = LettersOfProofs(earlier, later, pairing)
        self._index = {line.number: index for index, line in enumerate(earlier.lines)}
        self._later = {early: late for late, early in pairing.same.items()}

    def changed(self, fault: Fault) -> bool:
        """Whether the ink at a fault's place is another now; not where there is nothing to see."""
        early = self._index.get(fault.line)
        late = self._later.get(early) if early is not None else None
        if early is None or late is None or self._pairing.prints is None:
            return False
        accounts = self._letters.accounts(fault, early, late)
        if accounts is not None:
            return accounts.reseated if fault.kind is Kind.OFF_LINE else accounts.changed
        left = self._letters.ink_left(fault, early, late) if fault.kind is Kind.WORK_UP else None
        if left is not None and not _GONE <= left <= _THERE:
            return left < _GONE
        a, b = self._pairing.prints
        line = a.lines[early]
        size = line.x_height_px
        held = likeness_there(a.get(early, size), b.get(late, size), line, fault.box)
        return held.changed


_GONE, _THERE = 0.4, 0.7
"""Of a space that printed, its ink still there: of 75 on two books kept for it, those pushed down
had 0.07 at most, those left 0.97 at least. Between lies what a letter beside it may make of it."""
_SPREADS = 3.0
_LEAST = 0.025
"""From what 48 places of the same metal and 48 of other letters came to, on formes set and pulled
in the computer: the same were 0.013 below their lines at most, others 0.04 at least."""
_MANY = 20
_LEAST_OF_FEW = 0.06
"""In a line whose letters run together few places say what is usual: on real pages the same metal
was up to 0.052 below such a line, other letters 0.06 and more but for sorts much alike turned."""


def likeness_there(a: Print, b: Print, line: Line, box: Box) -> Likeness:
    """How alike a place of the earlier print is on the later.

    Args:
        a: print of the slug on the earlier proof.
        b: the same slug's on the later.
        line: its line on the earlier proof.
        box: of the fault there, sheet pixels; a gap has width 0.
    """
    size = a.x_height_px
    lag, _ = profile_lag(a, b)
    room = (_ROUND if box.width else _GAP) * size
    first = box.x - line.box.x + MARGIN * size - room
    last = box.right - line.box.x + MARGIN * size + room
    width = last - first
    # Where exactly a letter's ink begins is told to within a letter: beside it counts too.
    steps = (0.0, -_STEP * size, _STEP * size) if box.width else (0.0,)
    there = min(_alike(a, b, (first + step, last + step), lag) for step in steps)
    others = [
        _alike(a, b, (middle - width / 2, middle + width / 2), lag)
        for middle in ((start + end) / 2 for start, end in cells_of(a))
        if abs(middle - (first + last) / 2) > width
    ]
    if len(others) < 3:
        return Likeness(there, 0.9, 0.05, len(others))
    usual = float(np.median(others))
    spread = 1.4826 * float(np.median(np.abs(np.array(others) - usual)))
    return Likeness(there, usual, spread, len(others))


def _alike(a: Print, b: Print, ends: tuple[float, float], lag: float) -> float:
    left = max(0, round(ends[0]))
    right = min(a.ink.shape[1], round(ends[1]))
    return seek(a, b, (left, right), lag)[2] if right - left >= 3 else 0.0
