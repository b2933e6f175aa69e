"""Running heads come again on later sheets: compared in full with the head they repeat."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from proofcheck.base.values import Span
from proofcheck.collate.aligning import lay
from proofcheck.collate.same import compared
from proofcheck.collate.stream import stream_of
from proofcheck.collate.tell import Teller

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.collate.same import Compared, Rules
    from proofcheck.collate.setting import Setting
    from proofcheck.collate.tell import Told

__all__ = ["head_told"]


def head_told(
    at: int, span: Span, copy: str, lines: Sequence[Compared], setting: Setting, rules: Rules
) -> list[Told]:
    """Differences of a head that comes again from the copy's head.

    Args:
        at: place of the line in the proof.
        span: the head's stretch of copy.
        copy: the copy's text.
        lines: the compared form of every printed line.
        setting: the printed lines.
        rules: the allowances made.
    """
    head = copy[span.start : span.end]
    wanted = compared(head, rules, typed=True)
    alignment = lay(stream_of(lines, [at]), wanted.text, {})
    told = Teller(alignment, wanted, head, setting.readings, rules).told()
    moved = []
    for one in told:
        there = Span(one.difference.copy.start + span.start, one.difference.copy.end + span.start)
        moved.append(one._replace(difference=replace(one.difference, copy=there)))
    return moved
