"""The next proof of a job read into its docket, whichever it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.check import check_proof
from proofcheck.docket import People, ProofTaken, pull_proof
from proofcheck.docket.face_lessons import with_faces
from proofcheck.docket.originals import Original
from proofcheck.docket.recording import job_copy
from proofcheck.revise.revise_job import revise_of_job

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from proofcheck.base.options import Options
    from proofcheck.docket.book import Docket

__all__ = ["record_next_proof"]


def record_next_proof(
    docket: Docket,
    number: str,
    scans: Sequence[Path],
    *,
    by: str,
    options: Options,
    tell: Callable[[str], None] = lambda _: None,
) -> None:
    """Read a proof and record it: the first as such, any later one as a revise.

    Args:
        docket: where it is recorded.
        number: the job's.
        scans: in order.
        by: initials.
        options: the shop's choices.
        tell: called with what is being done.

    Raises:
        ProofcheckError: it can't be read, or can't be recorded.
    """
    if docket.job(number).proof is not None:
        revise_of_job(docket, number, scans, by=by, options=options, tell=tell)
        return
    # Held before they are read: a scanner may write over them meanwhile.
    originals = [Original.of(scan) for scan in scans]
    copy = job_copy(docket, number)
    report = check_proof(scans, copy, options=with_faces(docket, options, tell), tell=tell)
    taken = ProofTaken.of(report, originals, People())
    pull_proof(docket, number, taken, by=by)
