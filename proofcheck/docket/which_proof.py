"""Which proof of a job a number means: the one place that says so."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.docket.docket_errors import DocketError

if TYPE_CHECKING:
    from proofcheck.docket.facts import ProofPulled
    from proofcheck.docket.job import Job

__all__ = ["proof_meant"]


def proof_meant(job: Job, number: int | None = None) -> ProofPulled:
    """The proof of that number, from 1; the latest for None or 0.

    Raises:
        DocketError: the job has no proof, or none of that number.
    """
    if not job.proofs:
        msg = f"job {visible(job.number)} has no proof yet; record one with docket pull"
        raise DocketError(msg)
    if not number:
        return job.proofs[-1]
    if not 1 <= number <= len(job.proofs):
        msg = f"job {visible(job.number)} has no proof {number}; it has {len(job.proofs)}"
        raise DocketError(msg)
    return job.proofs[number - 1]
