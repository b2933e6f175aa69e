"""Proofs laid open on the desk: their reports with pictures, kept while they are looked at."""

from __future__ import annotations

import io
import threading
from collections import OrderedDict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.own_marks import stored_report
from proofcheck.docket.which_proof import proof_meant

if TYPE_CHECKING:
    from proofcheck.docket.book import Docket
    from proofcheck.docket.facts import ProofPulled
    from proofcheck.docket.job import Job
    from proofcheck.results.report import Report

__all__ = ["OpenProof", "OpenProofs", "job_at", "proof_at"]

_MOST = 3
"""Proofs kept open at once; each holds its pictures."""
_SCREEN_DPI = 200.0


@dataclass(frozen=True, slots=True, eq=False)
class OpenProof:
    """A proof with its pictures."""

    report: Report
    """As read, before anything was decided."""

    def picture(self, number: int) -> bytes:
        """The sheet of that number as a picture for the screen (WebP).

        Raises DocketError where there is no such sheet.
        """
        sheet = next((s for s in self.report.sheets if s.number == number), None)
        if sheet is None:
            msg = f"the proof has no sheet {number + 1}"
            raise DocketError(msg)
        from PIL import Image

        from proofcheck.results.page.embedded import reduced

        image, _ = reduced(Image.fromarray(sheet.as_printed()), sheet.dpi * 300 / _SCREEN_DPI)
        out = io.BytesIO()
        image.save(out, "WEBP", quality=70, method=2)
        return out.getvalue()


class OpenProofs:
    """The last few proofs that were laid open; safe to be asked by several threads."""

    def __init__(self, docket: Docket) -> None:
        self._docket = docket
        self._held: OrderedDict[str, OpenProof] = OrderedDict()
        self._lock = threading.Lock()

    def of(self, proof: ProofPulled) -> OpenProof:
        """The proof with its pictures.

        Raises:
            DocketError, RecordError: an original is gone or was changed, or says too little.
        """
        with self._lock:
            key = f"{proof.report_sha256}:{proof.entry.sha256}"
            held = self._held.get(key)
            if held is None:
                from proofcheck.papers_job import pictured_report

                report = stored_report(self._docket, proof)
                held = OpenProof(pictured_report(self._docket, report))
                self._held[key] = held
            self._held.move_to_end(key)
            while len(self._held) > _MOST:
                self._held.popitem(last=False)
            return held


def job_at(docket: Docket, number: str) -> Job:
    """The job as it stands. Raises DocketError where there is none of that number."""
    job = docket.current(number)
    if job is None:
        msg = f"there is no job {visible(number)} on this docket"
        raise DocketError(msg)
    return job


def proof_at(job: Job, number: int) -> ProofPulled:
    """A proof of the job, from 1. Raises DocketError where there is none."""
    if number < 1:
        msg = f"job {visible(job.number)} has no proof {number}"
        raise DocketError(msg)
    return proof_meant(job, number)
