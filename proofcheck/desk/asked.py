"""Which job and proof a request asks for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.desk.open_proofs import job_at, proof_at

if TYPE_CHECKING:
    from starlette.requests import Request

    from proofcheck.desk.shared import Desk
    from proofcheck.docket.facts import ProofPulled
    from proofcheck.docket.job import Job

__all__ = ["asked_proof", "desk_of"]


def desk_of(request: Request) -> Desk:
    """The desk that is asked."""
    desk: Desk = request.app.state.desk
    return desk


def asked_proof(request: Request) -> tuple[Desk, Job, ProofPulled]:
    """The job and proof a request names. Raises DocketError where there are none such."""
    desk = desk_of(request)
    job = job_at(desk.docket, request.query_params.get("job", ""))
    number = request.query_params.get("proof", "")
    return desk, job, proof_at(job, int(number) if number.isdecimal() and len(number) < 9 else 0)
