"""A proof just pulled: read here, or taken in with the record of a reading or a person's report."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.check import check_proof
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.face_lessons import with_faces
from proofcheck.docket.given import report_at
from proofcheck.docket.originals import Original
from proofcheck.docket.proof_taken import ProofTaken
from proofcheck.docket.recording import job_copy

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from proofcheck.base.options import Options
    from proofcheck.docket.book import Docket
    from proofcheck.docket.proof_taken import People

__all__ = ["proof_pulled"]


def proof_pulled(
    docket: Docket,
    number: str,
    scans: Sequence[Path],
    people: People,
    options: Options,
    *,
    report: Path | None = None,
    read_by: str = "",
) -> ProofTaken:
    """The proof to be recorded.

    Args:
        docket: the record.
        number: the job's.
        scans: in order.
        people: who worked on it.
        options: the shop's choices, where it is read here.
        report: the record of reading it elsewhere, or a report made by hand.
        read_by: who read it, where the report was made by hand.

    Raises:
        DocketError: there is no copy, or the report will not do.
        ProofcheckError: it can't be read.
    """
    if report is not None:
        found = report_at(report, by_hand=bool(read_by))
        return ProofTaken(found, tuple(map(Original.of, scans)), people, person=read_by)
    if read_by:
        msg = "--read-by is for a report made by hand; give that with --report"
        raise DocketError(msg)
    copy = job_copy(docket, number)
    read = check_proof(scans, copy, options=with_faces(docket, options))
    return ProofTaken.of(read, list(map(Original.of, scans)), people)
