"""One record of a proof drawn anew, from its file to its results: nothing is read."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from proofcheck.base.errors import RecordError
from proofcheck.base.visible import visible
from proofcheck.base.writing import check_free, make_folder
from proofcheck.read_job import ReadJob, results_of, say_list, write_files
from proofcheck.results.proof_record import read_record
from proofcheck.results.report import exit_status
from proofcheck.results.sheets_again import with_pictures

if TYPE_CHECKING:
    from proofcheck.read_job import Progress
    from proofcheck.results.report import Report

__all__ = ["DrawJob", "run_draw"]

_ODD = (ArithmeticError, LookupError, ValueError, MemoryError)
"""What drawing says of values that can't be."""


@dataclass(frozen=True, slots=True)
class DrawJob:
    """What a person asks for at the command line."""

    record: Path
    scans: tuple[Path, ...] = ()
    """The proof's scans; without them no picture is drawn."""
    job: str = ""
    """Name or number of the job, for the heading; the copy's name if empty."""
    proof: str = "first"
    """Which proof of the series it is."""
    folder: Path | None = None
    """Where results go; None for beside the record."""
    overwrite: bool = False
    order: str = "proof"
    """Order of the list: "proof" or "certainty"."""
    files: bool = True
    """Write files; else the list is only printed."""


def run_draw(job: DrawJob, out: TextIO, progress: Progress) -> int:
    """Draw the results anew and print the list; return the status that the reading had.

    Raises ProofcheckError for every foreseen trouble, with nothing half written.
    """
    report = read_record(job.record)
    if not report.sheets:
        msg = f"{visible(str(job.record))} holds no sheet: its proof was refused before it was read"
        raise RecordError(msg)
    asked = _as_read(job, report)
    if asked.files:
        make_folder(job.folder)
        names = results_of(asked)
        bare = [names.page, names.csv, names.recast]
        check_free(names.all if job.scans else bare, overwrite=job.overwrite)
    try:
        if job.scans and asked.files:
            progress.tell("making the sheets clean again")
            report = with_pictures(report, job.scans)
        if asked.files and report.judged:
            write_files(asked, report, progress)
        progress.done()
        say_list(asked, report, out)
    except _ODD as error:
        # Sealed anew with what no reading gives: lines off the sheet, signs that are in no table.
        name, why = visible(str(job.record)), visible(f"{type(error).__name__}: {error}")
        msg = f"{name} can't be drawn ({why[:80]}); read the proof again with read --json"
        raise RecordError(msg) from error
    out.flush()
    return exit_status(report)


def _as_read(job: DrawJob, report: Report) -> ReadJob:
    """The job of reading that would write the same files."""
    first = Path(Path(report.sheets[0].scan.name).name)
    return ReadJob(
        scans=(first,),
        copy=report.copy.name,
        job=job.job,
        proof=job.proof,
        folder=job.folder or job.record.parent,
        overwrite=job.overwrite,
        order=job.order,
        files=job.files,
    )
