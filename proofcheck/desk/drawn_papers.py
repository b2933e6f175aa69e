"""A proof's papers for the browser, drawn as they are asked for with what is decided by then."""

from __future__ import annotations

import io
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.docket.docket_errors import DocketError

if TYPE_CHECKING:
    from proofcheck.docket.book import Docket
    from proofcheck.docket.facts import ProofPulled
    from proofcheck.docket.job import Job

__all__ = ["PAPERS", "paper"]

PAPERS = {
    "marked": ("-marked.pdf", "application/pdf"),
    "list": ("-corrections.csv", "text/csv; charset=utf-8"),
    "cast": ("-recast.pdf", "application/pdf"),
    "sheet": ("-sign-off.pdf", "application/pdf"),
    "customer": ("-for-approval.pdf", "application/pdf"),
}
"""By name: how its file ends, and what it is."""


def paper(docket: Docket, job: Job, proof: ProofPulled, name: str) -> tuple[bytes, str, str]:
    """One paper: its bytes, its media type, and a plain name for its file.

    Raises:
        DocketError: there is no paper of that name, or nothing to put on it.
        RecordError: the proof's record can't be drawn.
    """
    if name not in PAPERS:
        msg = f"no paper {visible(name)!r}; there are: {', '.join(PAPERS)}"
        raise DocketError(msg)
    from proofcheck.papers_job import (
        PapersJob,
        customers_sheet,
        marked_pdf,
        run_papers,
        sign_off_sheet,
    )
    from proofcheck.read_job import Progress

    ending, kind = PAPERS[name]
    if name == "customer":
        return customers_sheet(docket, job), kind, f"proof-{proof.number}{ending}"
    if name == "sheet":
        return sign_off_sheet(docket, job), kind, f"proof-{proof.number}{ending}"
    if name == "marked":
        return marked_pdf(docket, job, proof), kind, f"proof-{proof.number}{ending}"
    with tempfile.TemporaryDirectory(prefix="proofcheck-") as folder:
        place = Path(folder)
        asked = PapersJob(job.number, proof.number, place)
        run_papers(docket, asked, io.StringIO(), Progress(None))
        found = next((path for path in place.iterdir() if path.name.endswith(ending)), None)
        if found is None:
            msg = f"nothing is to be cast or changed on the {proof.name} of job {job.number}"
            raise DocketError(msg)
        return found.read_bytes(), kind, f"proof-{proof.number}{ending}"
