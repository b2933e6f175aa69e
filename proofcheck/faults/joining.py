"""Faults of the type and of the text in one list: one fault, not two, for one place."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from proofcheck.base.found import Difference, Fault, Mark, Status
from proofcheck.base.kinds import KINDS, Kind
from proofcheck.marks.assign import mark_for, query_mark
from proofcheck.marks.table import SIGNS
from proofcheck.metal.into_copy import carried_span
from proofcheck.reading.turned import is_turned

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.base.found import Collation
    from proofcheck.base.values import Box, Copy, Reading, Span
    from proofcheck.metal.findings import MetalFinding

__all__ = ["merge_metal"]

_LONG = 3
"""Letters: what takes over more than so many is not one sort."""


def merge_metal(
    faults: Sequence[Fault],
    findings: Sequence[MetalFinding],
    readings: Sequence[Reading],
    collation: Collation,
    copy: Copy,
    *,
    fault_certainty: float = 0.5,
    query_certainty: float = 0.05,
    hand_set: bool = False,
) -> tuple[Fault, ...]:
    """Merge findings of the type into the faults of the text.

    Args:
        faults: what weighing left, in order of the proof.
        findings: from `look_at_type`.
        readings: one a line.
        collation: the lines laid against the copy.
        copy: the approved copy.
        fault_certainty: from this certainty on a finding is called a fault; below, a query.
        query_certainty: below this it is not shown.
        hand_set: chooses among the marks.

    Returns:
        All in order of the proof, numbered anew "F1", "F2" …. A fault of the text that is a fault
        of the type misread is dropped; where the text is wrong anyhow, the finding is.
    """
    texts = {reading.line: reading for reading in readings}
    spans = {placing.line: placing.copy for placing in collation.placings}
    kept, added = list(faults), []
    for finding in findings:
        if finding.certainty < query_certainty or (not hand_set and _is_of_the_case(finding)):
            continue
        here = [fault for fault in kept if _same_place(fault, finding)]
        misread = KINDS[finding.kind].misread_as
        if any(finding.gives_way or fault.kind not in misread for fault in here):
            continue
        kept = [fault for fault in kept if fault not in here]
        span = here[0].copy if here else _copy_span(finding, texts, spans, copy)
        certain = max([finding.certainty, *(fault.certainty for fault in here)])
        standing = Status.FAULT if certain >= fault_certainty else Status.QUERY
        if finding.only_query:
            standing = Status.QUERY
        added.append(_as_fault(finding, span, certain, standing, hand_set=hand_set))
    merged = sorted([*kept, *added], key=_order)
    return tuple(replace(fault, id=f"F{n}") for n, fault in enumerate(merged, start=1))


def _is_of_the_case(finding: MetalFinding) -> bool:
    """Whether only type from the case can do it.

    A slug has no sort to turn: a letter that looks like another turned is that other letter there.
    """
    return finding.kind is Kind.TURNED_SORT and not is_turned(finding.proof_text)


def _order(fault: Fault) -> tuple[int, int]:
    return fault.line, fault.box.x


def _same_place(fault: Fault, finding: MetalFinding) -> bool:
    """Whether a fault of the text and a finding are of the same ink, or the same gap."""
    if fault.line != finding.line or finding.letters.end - finding.letters.start > _LONG:
        return False
    if len(fault.proof_text) > _LONG + 2:
        return False
    return _meet(fault.box, finding.box)


def _meet(one: Box, other: Box) -> bool:
    """Whether the middle of the narrower box lies in the other, sideways; no width is a point."""
    narrow, wide = sorted((one, other), key=lambda box: box.width)
    middle = narrow.x + narrow.width / 2
    play = max(2.0, 0.1 * wide.height)
    return wide.x - play <= middle <= wide.right + play


def _copy_span(
    finding: MetalFinding,
    texts: Mapping[int, Reading],
    spans: Mapping[int, Span | None],
    copy: Copy,
) -> Span:
    reading = texts.get(finding.line)
    return carried_span(
        reading.text if reading else "", spans.get(finding.line), copy, finding.letters
    )


def _as_fault(
    finding: MetalFinding, span: Span, certain: float, standing: Status, *, hand_set: bool
) -> Fault:
    as_difference = Difference(
        kind=finding.kind,
        line=finding.line,
        proof=finding.letters,
        proof_text=finding.proof_text,
        copy=span,
        copy_text=finding.copy_text,
        cause=finding.cause,
        other_lines=finding.other_lines,
    )
    mark = _mark(finding, mark_for(as_difference, hand_set=hand_set))
    return Fault(
        id="",
        kind=finding.kind,
        line=finding.line,
        sheet=finding.sheet,
        box=finding.box,
        copy=span,
        copy_text=finding.copy_text,
        proof_text=finding.proof_text,
        mark=mark if standing is Status.FAULT else query_mark(mark),
        certainty=certain,
        status=standing,
        cause=finding.cause,
        other_lines=finding.other_lines,
    )


def _mark(finding: MetalFinding, usual: Mark) -> Mark:
    """The usual mark of the kind, with the finding's own sign and words where it has them."""
    mark = usual
    if finding.sign:
        row = SIGNS[finding.sign]
        mark = Mark(finding.sign, "", row.margin, row.text, row.meaning)
    return replace(mark, words=finding.words) if finding.words else mark
