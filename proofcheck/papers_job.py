"""The papers of a proof on the docket, drawn with what was decided: nothing is read again."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from proofcheck.base.errors import RecordError, ScanError
from proofcheck.base.fault_numbers import proof_name
from proofcheck.base.writing import check_free, make_folder
from proofcheck.docket.customer_sheet import customer_pdf
from proofcheck.docket.decided import as_decided, decided_report, disputes_of, paper_of
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.signoff_sheet import sign_off_pdf
from proofcheck.docket.verify import verify
from proofcheck.docket.which_proof import proof_meant
from proofcheck.read_job import ReadJob, results_of, say_list, write_files
from proofcheck.results.marked import Heading, lay_out
from proofcheck.results.marked.paint_pdf import paint_pdf
from proofcheck.results.report import exit_status
from proofcheck.results.sheets_again import with_pictures

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.docket.book import Docket
    from proofcheck.docket.facts import ProofPulled
    from proofcheck.docket.job import Job
    from proofcheck.read_job import Progress
    from proofcheck.results.report import Report
    from proofcheck.revise.revise_job import Read

__all__ = [
    "PapersJob",
    "customers_sheet",
    "leave_papers",
    "marked_pdf",
    "papers_free",
    "pictured_report",
    "revise_job_of",
    "run_papers",
    "sign_off_sheet",
    "write_revise_papers",
]


@dataclass(frozen=True, slots=True)
class PapersJob:
    """What a person asks for."""

    number: str
    """The job's."""
    proof: int = 0
    """Which of its proofs, from 1; 0 for the latest."""
    folder: Path = Path()
    """Where the papers go."""
    overwrite: bool = False
    files: bool = True
    """Write files; else the list is only printed."""


def run_papers(docket: Docket, asked: PapersJob, out: TextIO, progress: Progress) -> int:
    """Draw the papers and print the list; return the status of what is left to do.

    Raises ProofcheckError for every foreseen trouble, with nothing half written.
    """
    job = docket.job(asked.number)
    proof = proof_meant(job, asked.proof)
    report = decided_report(docket, proof)
    drawn = ReadJob(
        scans=(_named(asked, proof.number),),
        copy=report.copy.name,
        job=f"Job {job.number}",
        proof=proof.name,
        number=proof.number,
        folder=asked.folder,
        overwrite=asked.overwrite,
        files=asked.files,
        paper=paper_of(job, proof),
        disputes=disputes_of(proof),
        face=job.details.get("face", ""),
    )
    if asked.files:
        make_folder(asked.folder)
        check_free(results_of(drawn).all, overwrite=asked.overwrite)
        progress.tell("making the sheets clean again")
        report = pictured_report(docket, report)
        write_files(drawn, report, progress)
    progress.done()
    say_list(drawn, report, out)
    out.flush()
    return exit_status(report)


def papers_free(docket: Docket, asked: PapersJob) -> None:
    """Refuse, before a proof is read, papers for the next of a job that would lie over anything.

    Raises:
        OutputError: a file of that name is there, or could not be written.
    """
    number = len(docket.job(asked.number).proofs) + 1
    make_folder(asked.folder)
    named = ReadJob((_named(asked, number),), "", folder=asked.folder)
    check_free(results_of(named).all, overwrite=asked.overwrite)


def leave_papers(docket: Docket, asked: PapersJob, out: TextIO, progress: Progress) -> str:
    """Draw the papers of a proof just recorded, as far as it can be drawn; returns why it can't.

    Raises OutputError where they can't be written.
    """
    try:
        run_papers(docket, asked, out, progress)
    except (DocketError, RecordError, ScanError) as error:
        return str(error)
    return ""


def revise_job_of(
    scans: Sequence[Path], folder: Path | None, *, job: str = "", overwrite: bool = False
) -> ReadJob:
    """The job of reading that writes what a revise leaves beside its own papers."""
    return ReadJob(tuple(scans), "", job=job, folder=folder, overwrite=overwrite)


def write_revise_papers(
    read: Read, asked: ReadJob, progress: Progress, docketed: Job | None = None
) -> None:
    """Write all that a first reading leaves: marked proof, page, lists and cast list.

    Args:
        read: the revise.
        asked: where they go (`revise_job_of`).
        progress: told what is under way.
        docketed: its job on the docket, the decisions carried over; None where there is none.

    Raises OutputError as `read_job.write_files`.
    """
    number = read.told.proofs[1]
    proof = docketed.proof if docketed is not None else None
    report = as_decided(read.later, proof) if proof is not None else read.later
    name = asked.job or Path(report.copy.name).stem
    job = replace(asked, copy=report.copy.name, job=name, proof=proof_name(number), number=number)
    if docketed is not None and proof is not None:
        face = docketed.details.get("face", "")
        paper = paper_of(docketed, proof)
        job = replace(job, paper=paper, disputes=disputes_of(proof), face=face)
    write_files(job, report, progress)
    progress.done()


def marked_pdf(docket: Docket, job: Job, proof: ProofPulled) -> bytes:
    """The marked proof alone, as the bytes of a PDF file, with what was decided.

    Raises:
        DocketError, RecordError: an original is gone or was changed, or says too little.
    """
    report = pictured_report(docket, decided_report(docket, proof))
    head = Heading(
        job=f"Job {job.number}",
        proof=proof.name,
        date=docket.clock().astimezone(docket.shop.clock_zone()).date(),
        faults=report.counts.faults,
        queries=report.counts.queries,
        unread=len(report.unread),
        number=proof.number,
        paper=paper_of(job, proof),
        disputes=disputes_of(proof),
    )
    again = {number for each in report.recast for number in each.lines}
    drawn = lay_out(
        report.sheets, report.lines, report.faults, head, recast=again, unread=report.unread
    )
    return paint_pdf(drawn)


def customers_sheet(docket: Docket, job: Job) -> bytes:
    """The sheet for the customer, as the bytes of a PDF: the latest proof, and what he is asked.

    Raises:
        DocketError, RecordError: there is no proof; the record is broken; an original is gone.
    """
    proof = proof_meant(job)
    checked = verify(docket, originals_of=job.number)
    if checked.troubles:
        msg = f"no sheet is made from a broken record: {checked.troubles[0]}"
        raise DocketError(msg)
    report = pictured_report(docket, decided_report(docket, proof))
    return customer_pdf(job, docket.shop, checked, report)


def sign_off_sheet(docket: Docket, job: Job) -> bytes:
    """The shop's sheet to be signed, as the bytes of a PDF: the latest proof, and what is open.

    Where the proof can't be drawn (a report made by hand, or one that holds too little), the sheet
    says so in its picture's place.

    Raises:
        DocketError: there is no proof, or the record is broken.
    """
    checked = verify(docket, originals_of=job.number)
    report, why = None, ""
    if job.proof is not None and not checked.troubles:
        try:
            report = pictured_report(docket, decided_report(docket, job.proof))
        except (DocketError, RecordError, ScanError) as error:
            why = str(error)
    return sign_off_pdf(job, docket.shop, checked, report, why)


def pictured_report(docket: Docket, report: Report) -> Report:
    """The report with the pictures of its sheets, from the docket's originals."""
    hashes = dict.fromkeys(sheet.scan.sha256 for sheet in report.sheets)
    for sha256 in hashes:
        trouble = docket.originals.trouble(sha256)
        if trouble:
            msg = f"the scan {sha256[:12]}… of the proof {trouble}; run verify"
            raise DocketError(msg)
    return with_pictures(report, [docket.originals.path(sha256) for sha256 in hashes])


def _named(asked: PapersJob, proof: int) -> Path:
    """What a proof's papers are named after, in the place of a scan."""
    return Path(f"{_plain(asked.number)}-{proof}")


def _plain(number: str) -> str:
    """The job's number as part of a file's name."""
    return "".join(char if char.isalnum() or char in "-_" else "-" for char in number) or "job"
