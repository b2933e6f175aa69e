"""Turned sorts: letters standing on their heads.

The reader sees most of them as turned letters of their own; those that look like another letter
(n and u, p and d, b and q, 6 and 9) are told by the ink: a turned n has the serifs of an n.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.found import Cause
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Span
from proofcheck.metal.finder import Finder
from proofcheck.metal.overlaying import lay_on
from proofcheck.reading.turned import FEET_UP, LOOKS_LIKE, is_turned

if TYPE_CHECKING:
    from proofcheck.base.found import Difference
    from proofcheck.metal.context import Matter
    from proofcheck.metal.findings import MetalFinding
    from proofcheck.metal.judged import Judged

__all__ = ["turned_sorts"]

BETTER = 0.8
"""A letter turned must lie so much better on the wanted letter than it does upright, on those it
was read as (on the wanted, where the proof has none)."""
LIKE_AT_MOST = 0.3
"""… and be no more unlike it than this, which other letters seldom come under."""
_BY_THE_READER = 0.97
_BY_THE_INK = 0.9


def turned_sorts(judged: Judged) -> list[MetalFinding]:
    """Differences of one letter that are that very letter, turned."""
    matter = judged.matter
    found = []
    for difference in matter.collation.differences:
        row = matter.row_of.get(difference.line)
        if row is None or len(difference.proof_text) != 1 or len(difference.copy_text) != 1:
            continue
        certainty = _certainty(matter, row, difference)
        if certainty is None:
            continue
        letters = Span(*difference.proof)
        wanting = difference.proof_text == FEET_UP
        found.append(
            matter.finding(
                Kind.TURNED_SORT,
                row,
                letters,
                certainty,
                words=f"letter wanting: put in {difference.copy_text}" if wanting else "",
                cause=Cause.TURNED_SORT,
                proof_text=difference.proof_text,
                copy_text=difference.copy_text,
            )
        )
    return found


FINDER = Finder(30, turned_sorts)


def _certainty(matter: Matter, row: int, difference: Difference) -> float | None:
    """How sure it is a turned sort; None where it is not."""
    printed, wanted = difference.proof_text, difference.copy_text
    if printed == FEET_UP:
        return _BY_THE_READER
    if not (is_turned(printed) or LOOKS_LIKE.get(wanted) == printed):
        return None
    number = matter.number_at(row, difference.proof.start)
    fount = matter.fount
    if number is None or wanted not in fount.fellows:
        return None
    who = np.array([number])
    turned = float(lay_on(fount.cut, who, fount.fellows[wanted], turned=True).unlike[0])
    own = printed if printed in fount.fellows else wanted
    upright = float(lay_on(fount.cut, who, fount.fellows[own]).unlike[0])
    if turned > LIKE_AT_MOST or turned > BETTER * upright:
        return None
    return _BY_THE_READER if is_turned(printed) else _BY_THE_INK
