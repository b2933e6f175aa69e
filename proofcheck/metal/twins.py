"""The same line of the other tickets of a sheet several up.

What every ticket prints alike is how the job is set, of which plain copy says nothing: a head on
another body than the lines under it, a line in another face. A fault of the type is of one ticket,
so a line must stand out from its twins as it does from its neighbours. Common practice.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.metal.context import Matter

__all__ = ["as_twins", "twins_of", "unlike_twins"]


def twins_of(matter: Matter) -> dict[int, tuple[int, ...]]:
    """For each row on a ticket the rows of the other tickets that hold the same copy.

    Their numbers may differ. A row without any is left out; so are those whose words stand more
    than once on a ticket, of which none can say which is whose.
    """
    held: dict[str, list[int]] = {}
    for row, line in enumerate(matter.lines):
        place = matter.placed[row]
        if line.ticket and place:
            text = " ".join(matter.copy.text[place.start : place.end].split())
            text = re.sub(r"\d", "0", text)
            held.setdefault(text, []).append(row)
    found: dict[int, tuple[int, ...]] = {}
    for rows in held.values():
        tickets = {(matter.lines[row].sheet, matter.lines[row].ticket) for row in rows}
        if len(tickets) == len(rows) > 1:
            found |= {row: tuple(other for other in rows if other != row) for row in rows}
    return found


def unlike_twins(off: float, own: float, twins: Sequence[int], of: Mapping[int, float]) -> float:
    """What is left of a row's distance from its neighbours, laid beside its twins.

    Args:
        off: how far the row stands from its neighbours.
        own: its own measure.
        twins: its twins.
        of: the measure by row; a twin that is not in it does not speak.

    Returns:
        The smaller of the distances from neighbours and from twins; 0 where they point to
        different sides, and `off` where no twin speaks.
    """
    others = [of[row] for row in twins if row in of]
    if not others:
        return off
    beside = own - float(np.median(others))
    if off * beside <= 0:
        return 0.0
    return min(off, beside, key=abs)


def as_twins(twins: Sequence[int], odd: Mapping[int, float], even: float) -> bool:
    """Whether a row's twins stand out from their kinds too, by more than `even` in the middle."""
    others = [odd[row] for row in twins if row in odd]
    return bool(others) and float(np.median(others)) > even
