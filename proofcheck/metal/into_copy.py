"""Letters of a line carried over to the copy the line holds."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from rapidfuzz.distance import Levenshtein, Opcodes

from proofcheck.base.values import Span

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.base.values import Copy

__all__ = ["carried_span", "same_in_copy"]


def carried_span(printed: str, held: Span | None, copy: Copy, letters: Span) -> Span:
    """Where in the copy letters of a line belong; empty at the place where they would.

    Args:
        printed: the line as read.
        held: the stretch of copy the line holds; None for a line that is not in it.
        copy: the copy.
        letters: of the line as read.
    """
    if held is None:
        return Span(0, 0)
    wanted = copy.text[held.start : held.end].replace("\n", " ")
    ops = Levenshtein.opcodes(printed, wanted)
    start, end = (_carried(ops, at) for at in letters)
    return Span(held.start + start, held.start + max(start, end))


def same_in_copy(printed: str, held: Span | None, copy: Copy) -> NDArray[np.bool_]:
    """For each printed character whether the copy has the same there."""
    same = np.zeros(max(len(printed), 1), bool)
    if held is not None:
        wanted = copy.text[held.start : held.end].replace("\n", " ")
        for op in Levenshtein.opcodes(printed, wanted):
            same[op.src_start : op.src_end] = op.tag == "equal"
    return same


def _carried(ops: Opcodes, at: int) -> int:
    """A place of one text in the other."""
    for op in ops:
        if op.src_start <= at < op.src_end:
            return int(min(op.dest_start + at - op.src_start, op.dest_end))
    return int(ops[-1].dest_end) if len(ops) else 0
