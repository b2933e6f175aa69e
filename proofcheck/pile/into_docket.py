"""One proof from the scanner read into the docket, and its papers laid down; run in a worker."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import TYPE_CHECKING

from proofcheck.base.errors import (
    EngineError,
    OutputError,
    ProofcheckError,
    ScanError,
    SheetUnfitError,
    WeightsError,
)
from proofcheck.base.visible import visible

if TYPE_CHECKING:
    from pathlib import Path

    from proofcheck.base.options import Options
    from proofcheck.docket import Docket

__all__ = ["Arrived", "Took", "take_proof"]


@dataclass(frozen=True, slots=True)
class Arrived:
    """A proof that has come."""

    docket: str
    originals: Path
    number: str
    """The job's."""
    scans: tuple[Path, ...]
    papers: Path
    """Folder for its papers."""
    by: str
    options: Options


@dataclass(frozen=True, slots=True)
class Took:
    """What came of it."""

    words: str
    """One line."""
    taken: bool = False
    again: bool = False
    """Not the sheet's fault: to be tried again."""
    torn: bool = False
    """The scan can't be opened; it may not be whole yet."""
    pdf: Path | None = None
    """Its marked proof."""


def take_proof(arrived: Arrived) -> Took:
    """Read a proof into the docket, the first as such and any later one as a revise.

    One that is on record already, since a program was killed meanwhile, is not read again.
    """
    from proofcheck.docket.docket_errors import DocketBusyError

    try:
        return _take(arrived)
    except (DocketBusyError, OutputError, EngineError, WeightsError) as error:
        return Took(visible(str(error)), again=True)
    except ProofcheckError as error:
        torn = isinstance(error, ScanError) and not isinstance(error, SheetUnfitError)
        return Took(visible(str(error)), torn=torn)
    except MemoryError:
        return Took("not enough memory for this proof; scan it at a lower resolution")
    except Exception as error:  # noqa: BLE001 - the watch goes on whatever one sheet does
        return Took(f"an unforeseen trouble ({type(error).__name__}: {visible(str(error))[:160]})")


def _take(arrived: Arrived) -> Took:
    from proofcheck.docket import open_docket
    from proofcheck.docket.originals import Original
    from proofcheck.docket.recorded import proof_text
    from proofcheck.revise.next_proof import record_next_proof

    docket = open_docket(arrived.docket, originals=arrived.originals)
    hashes = {str(Original.of(scan).reference()["sha256"]) for scan in arrived.scans}
    job = docket.job(arrived.number)
    words = ""
    if not any(hashes & set(proof.hashes) for proof in job.proofs):
        record_next_proof(
            docket, arrived.number, arrived.scans, by=arrived.by, options=arrived.options
        )
        job = docket.job(arrived.number)
        words = proof_text(job)
    proof = next(p for p in reversed(job.proofs) if hashes & set(p.hashes))
    pdf, found = _papers(docket, arrived, proof.number)
    return Took(words or f"{proof.name} is on record already; {found}", taken=True, pdf=pdf)


def _papers(docket: Docket, arrived: Arrived, proof: int) -> tuple[Path | None, str]:
    """Lay the papers down, unless they lie there already."""
    from proofcheck.papers_job import PapersJob, run_papers
    from proofcheck.read_job import Progress

    arrived.papers.mkdir(parents=True, exist_ok=True)
    there = sorted(arrived.papers.glob(f"*-{proof}-marked.html"))
    if not there:
        asked = PapersJob(arrived.number, proof, arrived.papers)
        run_papers(docket, asked, io.StringIO(), Progress(None))
        there = sorted(arrived.papers.glob(f"*-{proof}-marked.html"))
    pdf = there[0].with_suffix(".pdf") if there else None
    return pdf if pdf is not None and pdf.is_file() else None, "its papers lie ready"
