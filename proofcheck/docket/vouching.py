"""What a named person answers for: read by eye, or right in spite of what was not proved.

It holds for exactly the facts that were put to him, and stands in the chain; where the facts
change (another proof, another stretch left out, other copy) he is asked again.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from proofcheck.docket.canonical import canonical, sha256_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from proofcheck.docket.facts import Vouched
    from proofcheck.docket.job import Job

__all__ = ["Reason", "facts_of", "unless_vouched", "vouched_for"]


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason why a job may not go to press."""

    key: str
    """What an override or a person who answers for it names it by."""
    words: str
    facts: str = ""
    """Hash of the facts that a person can answer for; "" where nobody can."""


def facts_of(sort: str, facts: Mapping[str, Any]) -> str:
    """The hash of facts; two sorts of reason never share one."""
    return sha256_of(canonical({"sort": sort, "facts": dict(facts)}))


def unless_vouched(job: Job, reasons: Iterable[Reason]) -> tuple[Reason, ...]:
    """Those of the reasons that nobody answers for."""
    return tuple(reason for reason in reasons if vouched_for(job, reason) is None)


def vouched_for(job: Job, reason: Reason) -> Vouched | None:
    """By what a person answers for these very facts, if anyone does."""
    if not reason.facts:
        return None
    return next((held for held in reversed(job.vouched) if reason.facts in held.facts), None)
