"""How often the reader slips in type of a size: where it does, what it says weighs less.

The certainty of a difference was fitted on sheets that are read nearly without a slip. Battered
type of 6 points is misread at one letter in twenty, and every slip there is a difference: as many
times as slips are commoner, so many times less likely is any one of them to be in the type
(the odds form of Bayes' rule). How often it slips is counted on the proof itself, in the
lines of one sheet and size, by the differences that the picture did not bear out.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from proofcheck.base.kinds import Group, of_group
from proofcheck.weigh.fellows import OF_A_SIZE

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from proofcheck.base.found import Difference
    from proofcheck.base.values import Line, Reading

__all__ = ["Misreading"]

USUAL = 0.003
"""Slips to a letter on a sheet that is read well: of 14 pages of three books of 1870 to 1920, as
scanned, none had more; on own sheets of 5 to 6 points, worn hard, it was 0.037 to 0.14."""
AS_IF = 100
"""Letters that a size is taken to have more, read as usual: few letters tell little."""
MOST = 20.0
"""So many times at most a difference is made less likely: what has 0.96 stays a fault. On those
own sheets 37 of 47 such were in the type, of those that had 0.90 one in four."""
_SPACES = of_group(Group.SPACES)


class Misreading:
    """How many times commoner slips are, line by line.

    Args:
        lines, readings: the proof as read.
        slips: differences that were let go, or are to be asked about.
    """

    def __init__(
        self, lines: Sequence[Line], readings: Iterable[Reading], slips: Iterable[Difference]
    ) -> None:
        letters = {reading.line: len(reading.letters) for reading in readings}
        amiss: dict[int, int] = defaultdict(int)
        for difference in slips:
            amiss[difference.line] += difference.kind not in _SPACES
        self._times = _times(lines, letters, amiss)

    def tempered(self, line: int, certainty: float) -> float:
        """The certainty of a difference in a line, slips being as common as they are there."""
        if certainty >= 1:
            return certainty
        odds = certainty / (1 - certainty) / self._times.get(line, 1.0)
        return odds / (1 + odds)


def _times(
    lines: Sequence[Line], letters: Mapping[int, int], amiss: Mapping[int, int]
) -> dict[int, float]:
    """For each line, over the lines of its sheet that are about as large; 1 = as usual."""
    found: dict[int, float] = {}
    sheets: dict[int, list[Line]] = defaultdict(list)
    for line in lines:
        sheets[line.sheet].append(line)
    for line in lines:
        near = [
            other.number
            for other in sheets[line.sheet]
            if abs(other.x_height_px - line.x_height_px) <= OF_A_SIZE * line.x_height_px
        ]
        read = AS_IF + sum(letters.get(number, 0) for number in near)
        slips = AS_IF * USUAL + sum(amiss.get(number, 0) for number in near)
        found[line.number] = min(max(slips / read / USUAL, 1.0), MOST)
    return found
