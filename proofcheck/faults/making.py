"""A fault is made and marked here, and nowhere else."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from proofcheck.base.found import Fault, Mark, Status
from proofcheck.marks.assign import AMERICAN, mark_for, query_mark

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.found import Found
    from proofcheck.marks.practice import SetOfMarks

__all__ = ["make_faults"]


def make_faults(
    found: Sequence[Found], marks: SetOfMarks = AMERICAN, *, hand_set: bool = False
) -> tuple[Fault, ...]:
    """Number what was found "F1", "F2" … in the order given, and mark it.

    Args:
        found: of text and type together.
        marks: the marks of the practice the shop keeps to.
        hand_set: type from the case; chooses among the marks.
    """
    return tuple(
        _fault(f"F{number}", each, marks, hand_set=hand_set)
        for number, each in enumerate(found, start=1)
    )


def _fault(name: str, found: Found, marks: SetOfMarks, *, hand_set: bool) -> Fault:
    told = found.difference
    mark = _mark(found, marks, hand_set=hand_set)
    return Fault(
        id=name,
        kind=told.kind,
        line=told.line,
        sheet=found.sheet,
        box=found.box,
        copy=told.copy,
        copy_text=told.copy_text,
        proof_text=told.proof_text,
        mark=query_mark(mark) if found.status is Status.QUERY else mark,
        certainty=found.certainty,
        status=found.status,
        cause=told.cause,
        other_lines=told.other_lines,
        evidence=found.evidence,
        grade=found.grade,
    )


def _mark(found: Found, marks: SetOfMarks, *, hand_set: bool) -> Mark:
    """The usual mark of the kind, or its own sign and words where it has them."""
    mark = mark_for(found.difference, marks, hand_set=hand_set)
    if found.sign:
        row = marks.signs[found.sign]
        mark = Mark(found.sign, "", row.margin, row.text, row.meaning)
    return replace(mark, words=found.words) if found.words else mark
