"""What was found of the type and of the text in one list: one fault, not two, for one place."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.base.found import Difference, Found, Status
from proofcheck.base.kinds import KINDS, Group, Kind, thresholds_of
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
    found: Sequence[Found],
    findings: Sequence[MetalFinding],
    readings: Sequence[Reading],
    collation: Collation,
    copy: Copy,
    *,
    fault_certainty: float = 0.5,
    query_certainty: float = 0.05,
    hand_set: bool = False,
) -> tuple[Found, ...]:
    """Merge findings of the type into what was found of the text.

    Args:
        found: what weighing left, in order of the proof.
        findings: from `look_at_type`.
        readings: one a line.
        collation: the lines laid against the copy.
        copy: the approved copy.
        fault_certainty: from this certainty on a finding is called a fault; below, a query.
        query_certainty: below this it is not shown.
        hand_set: type from the case, which can stand on its head.

    Returns:
        All in order of the proof. A fault of the text that is a fault
        of the type misread is dropped; where the text is wrong anyhow, the finding is.
    """
    texts = {reading.line: reading for reading in readings}
    spans = {placing.line: placing.copy for placing in collation.placings}
    kept, added = list(found), []
    for finding in findings:
        fault_at, query_at = thresholds_of(finding.kind, fault_certainty, query_certainty)
        if finding.certainty < query_at or (not hand_set and _is_of_the_case(finding)):
            continue
        here = [each for each in kept if _same_place(each, finding)]
        misread = KINDS[finding.kind].misread_as
        if any(finding.gives_way or each.difference.kind not in misread for each in here):
            continue
        kept = [each for each in kept if each not in here]
        span = here[0].difference.copy if here else _copy_span(finding, texts, spans, copy)
        certain = max([finding.certainty, *(each.certainty for each in here)])
        sure = certain >= fault_at and not finding.only_query
        standing = Status.FAULT if sure else Status.QUERY
        added.append(_as_found(finding, span, certain, standing))
    return tuple(sorted([*kept, *added], key=_order))


def _is_of_the_case(finding: MetalFinding) -> bool:
    """Whether only type from the case can do it.

    A slug has no sort to turn: a letter that looks like another turned is that other letter there.
    """
    return finding.kind is Kind.TURNED_SORT and not is_turned(finding.proof_text)


def _order(found: Found) -> tuple[int, int]:
    return found.difference.line, found.box.x


def _same_place(found: Found, finding: MetalFinding) -> bool:
    """Whether a fault of the text and a finding are of the same ink, or the same gap."""
    if found.difference.line != finding.line or finding.letters.end - finding.letters.start > _LONG:
        return False
    if len(found.difference.proof_text) > _LONG + 2:
        return False
    if KINDS[finding.kind].group is Group.RULES and not _level_with(found.box, finding.box):
        return False
    return _meet(found.box, finding.box)


def _meet(one: Box, other: Box) -> bool:
    """Whether the middle of the narrower box lies in the other, sideways; no width is a point."""
    narrow, wide = sorted((one, other), key=lambda box: box.width)
    middle = narrow.x + narrow.width / 2
    play = max(2.0, 0.1 * wide.height)
    return wide.x - play <= middle <= wide.right + play


def _level_with(one: Box, other: Box) -> bool:
    """Whether two boxes stand beside each other; a rule is told at the line nearest to it."""
    return one.y < other.bottom and other.y < one.bottom


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


def _as_found(finding: MetalFinding, span: Span, certain: float, standing: Status) -> Found:
    told = Difference(
        kind=finding.kind,
        line=finding.line,
        proof=finding.letters,
        proof_text=finding.proof_text,
        copy=span,
        copy_text=finding.copy_text,
        cause=finding.cause,
        other_lines=finding.other_lines,
    )
    return Found(
        told,
        finding.sheet,
        finding.box,
        certain,
        standing,
        sign=finding.sign,
        words=finding.words,
        grade=finding.grade,
    )
