"""Lines of one ticket cast on another body than the same line of the other tickets.

Asked where the lines about it can't say: each may be a paragraph by itself, on a body of its own.
The letters of a line are laid beside the same characters of its twins, so that a short line speaks
too. Common practice: a job several up is cast from one copy of the line.
"""

from __future__ import annotations

from collections import defaultdict
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from proofcheck.metal.twins import twins_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from proofcheck.metal.context import Matter

__all__ = ["Unlike", "apart_from_twins", "unlike_bodies"]

LEAST_LETTERS = 5
LEAST_PX = 1.25
"""Of a letter's height: a ticket inked more heavily prints all its letters a pixel taller."""
SURELY = 4.0
"""Standard errors that a row must stand apart from its twins by, whatever its size."""


_Kinds = dict[str, list[int]]
"""A row's letters: their heights by character, sheet pixels."""


class Unlike(NamedTuple):
    """How a row stands beside its twins."""

    off: float
    """How much larger its letters are, as a logarithm."""
    tied: bool
    """As many of its twins are as it is: which are wrong is not to be told."""


def unlike_bodies(matter: Matter, least: float) -> dict[int, Unlike]:
    """The rows that stand apart from their twins, by row.

    Args:
        matter: the proof.
        least: difference in size, a logarithm, below which rows are of one body.
    """
    found: dict[int, Unlike] = {}
    twins = twins_of(matter)
    heights = _heights(matter, twins)
    for row, others in twins.items():
        if row < min(others):
            found |= apart_from_twins({each: heights[each] for each in (row, *others)}, least)
    return found


def _heights(matter: Matter, rows: Iterable[int]) -> dict[int, _Kinds]:
    """For each row the heights of its letters by character, sheet pixels."""
    found: dict[int, _Kinds] = {row: defaultdict(list) for row in rows}
    fount = matter.fount
    for number in np.flatnonzero(matter.borne_out & matter.cut_true).tolist():
        row, text = int(fount.line[number]), str(fount.text[number])
        if row in found and text.isalnum():
            # Figures of a running number are not the same ones on every ticket.
            kind = "0" if text.isdecimal() else text
            found[row][kind].append(matter.letter(number).box.height)
    return found


def apart_from_twins(rows: dict[int, _Kinds], least: float) -> dict[int, Unlike]:
    """Of one line's rows those on the smaller side of the widest gap between their sizes.

    Args:
        rows: the heights of each row's letters by character, pixels.
        least: as of `unlike_bodies`.

    Returns:
        By row; all of them where both sides are as many. None where they are of one size, or of
        fewer than `LEAST_LETTERS` letters of the same characters.
    """
    shared = set.intersection(*(set(kinds) for kinds in rows.values()))
    usual = {
        kind: float(np.median([np.log(np.median(kinds[kind])) for kinds in rows.values()]))
        for kind in shared
    }
    sizes: list[tuple[float, float, int]] = []
    for row, kinds in rows.items():
        more = np.array([np.log(h) - usual[kind] for kind in shared for h in kinds[kind]])
        if len(more) < LEAST_LETTERS:
            return {}
        part = len(more) // 5
        middle = float(np.sort(more)[part : len(more) - part].mean())
        spread = 1.4826 * float(np.median(np.abs(more - middle)))
        sizes.append((middle, spread / np.sqrt(len(more)), row))
    sizes.sort()
    gaps = [after[0] - before[0] for before, after in pairwise(sizes)]
    at = int(np.argmax(gaps)) + 1
    low, high = sizes[:at], sizes[at:]
    error = float(np.hypot(max(each[1] for each in low), max(each[1] for each in high)))
    if gaps[at - 1] < max(least, SURELY * error, LEAST_PX / np.exp(np.mean([*usual.values()]))):
        return {}
    apart = float(np.median([each[0] for each in high]) - np.median([each[0] for each in low]))
    tied = len(low) == len(high)
    found = {row: Unlike(-apart, tied) for _, _, row in low if len(low) <= len(high)}
    return found | {row: Unlike(apart, tied) for _, _, row in high if len(high) <= len(low)}
