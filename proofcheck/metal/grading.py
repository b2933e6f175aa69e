"""How much each fault of the type matters, by the bar that the page's own spread sets.

A foreman sends back what is broken, turned, of another face, off its line, or printing where
nothing should. Worn letters and wide spaces he looks at. And what the whole sheet has, because its
type is old, is no fault of any one letter: it is counted, and marked nowhere.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from proofcheck.base.found import Grade
from proofcheck.base.kinds import Kind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.metal.context import Matter
    from proofcheck.metal.findings import MetalFinding

__all__ = ["Graded", "graded"]

_LOOK = frozenset({Kind.UNEVEN_SPACING})
"""Kinds that are never more than worth a look: spaced so, a line still reads."""
PLAIN_LOSS = 0.06
"""Share of its fellows' ink that a letter plainly wants: of letters that had lost a third 49 in 54
want more, and 1 in 200 as printed (seven pages)."""
WEAR = 97
"""Of 100 letters of the page so many want no more ink than its bar: what wants less than the bar
is worn as the sheet prints, what wants less than twice that is worn."""
WANTS = 0.02
"""Share of its fellows' ink from which a letter counts as worn."""
LEAST_WORN = 3
"""Fewer worn letters are not worth a word."""


class Graded(NamedTuple):
    """Findings with their grades, and what is said of the rest."""

    findings: tuple[MetalFinding, ...]
    notes: tuple[str, ...]


def graded(matter: Matter, findings: Sequence[MetalFinding]) -> Graded:
    """Grade the findings of a proof; what is no more than the sheet's own wear is left out."""
    fount = matter.fount
    known = matter.borne_out & np.isfinite(fount.unlike)
    bar = float(np.percentile(fount.lost[known], WEAR)) if known.any() else 0.0
    kept, told = [], set()
    for finding in findings:
        number = _worn_letter(matter, finding)
        if number is None:
            grade = Grade.LOOK if finding.kind in _LOOK else Grade.RESET
        elif fount.lost[number] < bar:
            continue
        else:
            plain = fount.lost[number] >= max(PLAIN_LOSS, 2 * bar)
            grade = Grade.RESET if plain else Grade.LOOK
            told.add(number)
        kept.append(replace(finding, grade=grade))
    worn = set(np.flatnonzero(known & (fount.lost >= WANTS)).tolist()) - told
    note = f"{len(worn)} letters are worn as the sheet prints: marked nowhere"
    return Graded(tuple(kept), (note,) if len(worn) >= LEAST_WORN else ())


def _worn_letter(matter: Matter, finding: MetalFinding) -> int | None:
    """The letter that a finding says is broken, where it is one of many that was read rightly.

    What is left of a letter that was read as another, or that has the scar of a mat, is no wear.
    """
    if finding.kind is not Kind.BROKEN_LETTER or finding.other_lines:
        return None
    if finding.proof_text != finding.copy_text:
        return None
    number = matter.number_at(matter.row_of[finding.line], finding.letters.start)
    known = number is not None and np.isfinite(matter.fount.unlike[number])
    return number if known else None
