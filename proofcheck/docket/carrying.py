"""Decisions carried on to later proofs: what was let stand is not asked again."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from proofcheck.base.carried import kept_span

if TYPE_CHECKING:
    from collections.abc import Iterable

    from proofcheck.docket.facts import Found
    from proofcheck.docket.job import Job

__all__ = ["with_standing"]


def with_standing(job: Job, found: Iterable[Found], copy: int) -> tuple[Found, ...]:
    """Carry a decision to the same fault on a later proof, also where the copy was changed since.

    What was let stand or queried stays so; a correction missed is still to be made.

    Args:
        job: as it stood.
        found: on the proof just pulled.
        copy: version of the copy it was read against.
    """
    earlier = {
        _sameness(old, _span_now(job, old, copy)): old
        for old in job.found
        if old.decision is not None and job.made.get(old.carried_from or old.ref) != "made"
    }
    out = []
    for new in found:
        old = earlier.get(_sameness(new, new.copy))
        if old is None or new.status == "revise":
            out.append(new)
        else:
            first = old.carried_from or old.ref
            out.append(replace(new, decision=old.decision, beside=old.beside, carried_from=first))
    return tuple(out)


def _sameness(found: Found, span: tuple[int, int] | None) -> tuple[object, ...]:
    return (found.kind, span, found.printed, found.wanted)


def _span_now(job: Job, old: Found, copy: int) -> tuple[int, int] | None:
    """Where a fault of an earlier proof stands in the copy of that version; None if it is gone."""
    before = job.proofs[old.proof - 1].copy
    if before == copy:
        return old.copy
    old_text, new_text = (
        str(job.copies[number - 1].entry.data["text"]) for number in (before, copy)
    )
    return kept_span(old.copy, old_text, new_text)
