"""Places of one word that hold letters beyond the reader's alphabet, told as one."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from proofcheck.base.kinds import Kind
from proofcheck.base.values import Span

if TYPE_CHECKING:
    from collections.abc import Mapping

    from proofcheck.weigh.beyond import Beyond
    from proofcheck.weigh.evidence import Dispute
    from proofcheck.weigh.judging import Judged

__all__ = ["grouped"]

_LEFT_OUT = frozenset({Kind.WORD_MISSING, Kind.MATTER_MISSING, Kind.LINE_MISSING})


def grouped(judged: list[Judged], beyond: Beyond, disputes: Mapping[int, Dispute]) -> list[Judged]:
    """What concerns such letters made one for each word, or run of words that hold nothing else."""
    out: list[Judged] = []
    for one in judged:
        last = out[-1] if out else None
        dispute = disputes.get(one.at)
        joined = _joined(last, one, beyond, dispute) if last and dispute else None
        if joined is not None:
            out[-1] = joined
        else:
            out.append(one)
    return out


def _joined(last: Judged, one: Judged, beyond: Beyond, dispute: Dispute) -> Judged | None:
    """Two judged places of one word as one; None if they are of two."""
    first, second = last.difference, one.difference
    if first.line != second.line or not (beyond.concerns(first) and beyond.concerns(second)):
        return None
    if bool(last.reason) != bool(one.reason) or first.kind in _LEFT_OUT or second.kind in _LEFT_OUT:
        return None
    between = dispute.as_read[first.proof.end : second.proof.start]
    if first.proof.end > second.proof.start or (" " in between and between != " "):
        return None
    whole = replace(
        first,
        kind=Kind.WRONG_WORD if " " in between else first.kind,
        proof=Span(first.proof.start, second.proof.end),
        proof_text=first.proof_text + between + second.proof_text,
        copy=Span(first.copy.start, second.copy.end),
        copy_text=first.copy_text + between + second.copy_text,
        cause=None,
    )
    return replace(last, difference=whole, certainty=max(last.certainty, one.certainty))
