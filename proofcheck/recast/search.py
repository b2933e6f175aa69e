"""The fewest slugs: the best way to set a paragraph again between its old line ends.

Lines that stand right cost nothing where the new setting has the very same line; every other line
is a slug to cast. Among settings of fewest slugs the best keeps the number of lines, then has the
best spacing, then the fewest divisions, then the evenest spaces. The search is exact: dynamic
programming over the places where lines may end, with the count of lines gained or lost and of
divisions running as state, tried with one slug, two, three, until there is a setting.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from proofcheck.base.divisions import MOST_RUNNING
from proofcheck.recast.justify import Fitted, Limits, Shape, fit_line

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from proofcheck.recast.breaks import Matter

__all__ = ["Cost", "Kept", "NewLine", "Resetting", "fewest_slugs", "line_steps", "runs_on"]

_MOST_GAINED = 6
"""Lines by which a paragraph may grow or shrink in a plan, beyond those wanting in print."""
_WIDOW_LETTERS = 4
"""A last line of fewer letters is no line (Stewart 1919)."""
_FEW_LETTERS = 2
_CAST = 8
"""Added to the count of divisions running once one of them is cast anew."""


class Kept(NamedTuple):
    """A printed line that may stand, between two breaks of the matter."""

    upper: int
    lower: int
    line: int
    """Its number on the proof; 0 for a stretch not to be touched that was not read."""


class Cost(NamedTuple):
    """What a setting costs; the less the better, the first count first."""

    slugs: int
    moved: int
    """Lines by which the paragraph grows or shrinks, without sign."""
    steps: int
    divisions: int
    uneven: float


@dataclass(frozen=True, slots=True)
class NewLine:
    """One line of a setting."""

    upper: int
    lower: int
    kept: Kept | None
    """The printed line that stays, None for one to cast."""
    fitted: Fitted | None
    """How it fits; None for one that stays."""


@dataclass(frozen=True, slots=True)
class Resetting:
    """A whole paragraph set."""

    lines: tuple[NewLine, ...]
    cost: Cost
    gained: int
    """Lines it has more than before, less than 0 for fewer."""


_State: TypeAlias = tuple[int, int]
"""Lines gained so far, divisions running."""
_Partial: TypeAlias = tuple[int, int, int, float]
"""Slugs, steps, divisions, unevenness so far."""


class _Arrival(NamedTuple):
    cost: _Partial
    back: tuple[int, _State] | None
    line: NewLine | None


def fewest_slugs(
    matter: Matter, shape: Shape, limits: Limits, kept: Sequence[Kept], old_lines: Sequence[int]
) -> Resetting | None:
    """The best setting; None where no setting fits.

    Args:
        matter: the paragraph as it should be, measured.
        shape: its room.
        limits: of its spaces.
        kept: printed lines that may stand.
        old_lines: the break at which each printed line of the paragraph ends, rising.
    """
    search = _Search(matter, shape, limits, kept, old_lines)
    most = len(old_lines) + _MOST_GAINED + search.least_lines()
    bound = 0
    while bound <= most:
        found = search.within(bound)
        if found is not None:
            return found
        # Where little is to be won by knowing the bound closely, go up in longer strides; any
        # bound that is high enough finds the same best.
        bound += 1 if bound < 8 else max(4, bound // 4)
    return None


def line_steps(matter: Matter, line: tuple[int, int], fitted: Fitted) -> int:
    """How far one line is from good: its spacing, two letters parted off, a last line too short."""
    upper, lower = line
    steps = fitted.steps
    if matter.breaks[lower].hyphen:
        part = matter.line(upper, lower).rpartition(" ")[2]
        # Two letters are left behind rarely (US Government *Manual of Style*, 1922).
        steps += int(sum(char.isalpha() for char in part) <= _FEW_LETTERS)
    if lower == len(matter.breaks) - 1 and upper > 0:
        text = matter.line(upper, lower)
        steps += 2 * (sum(char.isalnum() for char in text) < _WIDOW_LETTERS)
        # The last full line is not to be divided (Hamilton 1918).
        steps += int(matter.breaks[upper].hyphen)
    return steps


def runs_on(run: int, *, divided: bool, cast: bool) -> int | None:
    """Divisions running after one more line; None where too many would by a new one."""
    if not divided:
        return 0
    count, anew = run % _CAST + 1, run >= _CAST or cast
    if count > MOST_RUNNING and anew:
        return None
    return min(count, MOST_RUNNING + 1) + (_CAST if anew else 0)


class _Search:
    """One paragraph's search."""

    def __init__(
        self,
        matter: Matter,
        shape: Shape,
        limits: Limits,
        kept: Sequence[Kept],
        old_lines: Sequence[int],
    ) -> None:
        self._matter, self._shape, self._limits = matter, shape, limits
        self._kept: dict[int, list[Kept]] = defaultdict(list)
        for one in kept:
            self._kept[one.upper].append(one)
        self._last = len(matter.breaks) - 1
        self._old_count = len(old_lines)
        self._expected = _expected(old_lines, self._last)
        self._cast: dict[int, list[NewLine]] = {}
        self._to_go = self._least_to_go()

    def least_lines(self) -> int:
        """A bound on the lines of any setting, from above."""
        room = max(self._shape.measure_pt, 1.0)
        return 2 * int(self._matter.letters_pt[-1] / room + 1)

    def _least_to_go(self) -> list[int]:
        """At least so many slugs from each break to the end: 0 where all may stay, else 1."""
        least = [1] * (self._last + 1)
        least[self._last] = 0
        for at in range(self._last - 1, -1, -1):
            if any(least[one.lower] == 0 for one in self._kept.get(at, ())):
                least[at] = 0
        return least

    def within(self, bound: int) -> Resetting | None:
        """The best setting of at most `bound` slugs."""
        reached: list[dict[_State, _Arrival]] = [{} for _ in range(self._last + 1)]
        reached[0][0, 0] = _Arrival((0, 0, 0, 0.0), None, None)
        for at in range(self._last):
            for state, arrival in reached[at].items():
                for line in self._lines_from(at, cast=arrival.cost[0] < bound):
                    self._arrive(reached, (at, state), arrival.cost, line, bound)
        return self._best(reached)

    def _lines_from(self, at: int, *, cast: bool) -> Iterator[NewLine]:
        for one in self._kept.get(at, ()):
            yield NewLine(at, one.lower, one, None)
        if cast:
            if at not in self._cast:
                self._cast[at] = list(self._fitting(at))
            yield from self._cast[at]

    def _fitting(self, upper: int) -> Iterator[NewLine]:
        """Every line that fits from a break on."""
        matter, limits = self._matter, self._limits
        room = self._shape.room_pt(first=upper == 0)
        for lower in range(upper + 1, self._last + 1):
            letters, gaps = matter.length_pt(upper, lower), matter.spaces(upper, lower)
            if letters - matter.hyphen_pt + gaps * limits.least_pt > room:
                return
            spread = self._shape.justified and lower != self._last
            fitted = fit_line(room, letters, gaps, limits, spread=spread)
            if fitted is not None:
                yield NewLine(upper, lower, None, fitted)

    def _arrive(
        self,
        reached: list[dict[_State, _Arrival]],
        back: tuple[int, _State],
        cost: _Partial,
        line: NewLine,
        bound: int,
    ) -> None:
        at, (gained, run) = back
        cast = line.kept is None
        if cost[0] + cast + self._to_go[line.lower] > bound:
            return
        divided = self._matter.breaks[line.lower].hyphen
        after = runs_on(run, divided=divided, cast=cast)
        if after is None:
            return
        lines = gained + 1 - (self._expected[line.lower] - self._expected[at])
        if line.fitted is not None:
            uneven = self._uneven(line)
            steps = line_steps(self._matter, (line.upper, line.lower), line.fitted)
            cost = (cost[0] + 1, cost[1] + steps, cost[2] + divided, cost[3] + uneven)
        held = reached[line.lower].get((lines, after))
        if held is None or cost < held.cost:
            reached[line.lower][lines, after] = _Arrival(cost, back, line)

    def _uneven(self, line: NewLine) -> float:
        if line.fitted is None or not line.fitted.space_pt:
            return 0.0
        away = (line.fitted.space_pt - self._limits.usual_pt) / self._limits.usual_pt
        return round(away * away, 9)

    def _best(self, reached: list[dict[_State, _Arrival]]) -> Resetting | None:
        ends = reached[self._last]
        if not ends:
            return None
        total, state = min((_total(arrival.cost, state), state) for state, arrival in ends.items())
        lines: list[NewLine] = []
        place: tuple[int, _State] | None = (self._last, state)
        while place is not None:
            arrival = reached[place[0]][place[1]]
            if arrival.line is not None:
                lines.append(arrival.line)
            place = arrival.back
        return Resetting(tuple(reversed(lines)), total, state[0])


def _total(cost: _Partial, state: _State) -> Cost:
    slugs, steps, divisions, uneven = cost
    return Cost(slugs, abs(state[0]), steps, divisions, round(uneven, 9))


def _expected(old_lines: Sequence[int], last: int) -> list[int]:
    """How many printed lines end at or before each break."""
    counts = [0] * (last + 1)
    for at in old_lines:
        counts[at] += 1
    total = 0
    for at in range(last + 1):
        total += counts[at]
        counts[at] = total
    return counts
