"""Simple running on, for comparison: each line filled from where the last one ended.

From the first line that is wrong the matter is set as an operator sets it, as many words as go
in, a word divided only where the line would be too open without, until a line ends where an old
one did.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.recast.justify import fit_line
from proofcheck.recast.search import Kept, NewLine, runs_on

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.recast.breaks import Matter
    from proofcheck.recast.justify import Limits, Shape

__all__ = ["run_on"]


def run_on(
    matter: Matter, shape: Shape, limits: Limits, kept: Sequence[Kept]
) -> tuple[NewLine, ...]:
    """The paragraph run on.

    A line that bands alone can't justify is set all the same, as by hand; its `fitted` is None.
    """
    stays = {one.upper: one for one in kept}
    lines: list[NewLine] = []
    at, run = 0, 0
    last = len(matter.breaks) - 1
    while at < last:
        one = stays.get(at)
        line = NewLine(at, one.lower, one, None) if one else _filled(matter, shape, limits, at, run)
        lines.append(line)
        divided = matter.breaks[line.lower].hyphen
        run = runs_on(run, divided=divided, cast=False) or 0
        at = line.lower
    return tuple(lines)


def _filled(matter: Matter, shape: Shape, limits: Limits, at: int, run: int) -> NewLine:
    room, last = shape.room_pt(first=at == 0), len(matter.breaks) - 1
    whole, divided = 0, 0
    for lower in range(at + 1, last + 1):
        least = matter.spaces(at, lower) * limits.least_pt
        letters = matter.length_pt(at, lower)
        if letters + least <= room:
            if matter.breaks[lower].hyphen:
                divided = lower
            else:
                whole = divided = lower
        elif letters - matter.hyphen_pt + least > room:
            break
    lower = whole or divided or at + 1
    if whole and divided != whole and shape.justified and _open(matter, limits, room, (at, whole)):
        too_many = runs_on(run, divided=True, cast=True) is None
        lower = whole if too_many else divided
    spread = shape.justified and lower != last
    letters, gaps = matter.length_pt(at, lower), matter.spaces(at, lower)
    return NewLine(at, lower, None, fit_line(room, letters, gaps, limits, spread=spread))


def _open(matter: Matter, limits: Limits, room: float, line: tuple[int, int]) -> bool:
    """Whether a line would stand too open."""
    gaps = max(matter.spaces(*line), 1)
    space = (room - matter.length_pt(*line)) / gaps
    return space > min(limits.greatest_pt, limits.good_pt[1])
