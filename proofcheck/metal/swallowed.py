"""Broken letters that the reading lost in a neighbour's ink.

What is left of an i before an n may be read as part of the n. Weighing then doubts that a letter is
missing, because there is ink for it; so the ink that is no part of the neighbour is looked at.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Letter, Reading
from proofcheck.metal.certain import grown
from proofcheck.metal.finder import Finder
from proofcheck.metal.patches import X_HEIGHT, cut_letters
from proofcheck.metal.unsound import EVEN, NEVER, STEP, broken_as

if TYPE_CHECKING:
    from proofcheck.base.found import Difference
    from proofcheck.metal.context import Matter
    from proofcheck.metal.findings import MetalFinding
    from proofcheck.metal.judged import Judged

__all__ = ["swallowed_letters"]

LEAST_CERTAINTY = 0.35
LEAST_WIDTH = 0.4
"""Of the letter's usual width, that the ink left over must have."""


def swallowed_letters(judged: Judged) -> list[MetalFinding]:
    """Letters of the copy that are not read, and stand broken in the ink of one that is."""
    matter, odd = judged.matter, judged.among_odd
    found = []
    for difference in matter.collation.differences:
        row, wanted = matter.row_of.get(difference.line), difference.copy_text
        if row is None or not matter.running[row] or difference.proof.start < difference.proof.end:
            continue
        if len(wanted) != 1 or not wanted.isalnum() or wanted not in matter.fount.fellows:
            continue
        beside = [matter.number_at(row, difference.proof.start + by) for by in (-1, 0)]
        box = _left_over(matter, row, difference, wanted)
        if box is None or any(number is not None and odd[number] for number in beside):
            continue
        certainty = grown(_odds(matter, row, wanted, box), EVEN, STEP)
        if certainty >= LEAST_CERTAINTY:
            found.append(
                matter.finding(
                    Kind.BROKEN_LETTER,
                    row,
                    difference.proof,
                    certainty,
                    box,
                    copy_text=wanted,
                    gives_way=True,
                )
            )
    return found


FINDER = Finder(50, swallowed_letters)


def _left_over(matter: Matter, row: int, difference: Difference, wanted: str) -> Box | None:
    """The ink beside the place where the letter should be that its neighbours have no use for."""
    letters, at = matter.readings[row].letters, difference.proof.start
    stretches: list[tuple[float, float]] = []
    if at < len(letters) and letters[at].text in matter.fount.fellows:
        box = letters[at].box
        stretches.append((box.x, box.right - _usual_width(matter, row, letters[at].text)))
    if at > 0 and letters[at - 1].text in matter.fount.fellows:
        box = letters[at - 1].box
        stretches.append((box.x + _usual_width(matter, row, letters[at - 1].text), box.right))
    left, right = max(stretches, key=lambda each: each[1] - each[0], default=(0.0, 0.0))
    if right - left < LEAST_WIDTH * _usual_width(matter, row, wanted):
        return None
    line = matter.lines[row].box
    return Box(round(left), line.y, round(right - left), line.height)


def _usual_width(matter: Matter, row: int, character: str) -> float:
    """Of a letter in a row, sheet pixels."""
    fount = matter.fount
    half = float(np.median(fount.cut.half_width[fount.text == character]))
    return 2 * half * matter.lines[row].x_height_px / X_HEIGHT


def _odds(matter: Matter, row: int, wanted: str, box: Box) -> float:
    """Log odds that the ink in the box is the letter, broken."""
    line = matter.lines[row]
    alone = Reading(line.number, (Letter(wanted, box, 0.0),))
    first = np.zeros(1, np.intp)
    cut = cut_letters([*matter.sheets.values()], [line], [alone], first, first)
    return broken_as(matter, wanted, cut) if cut.ink[0].any() else NEVER
