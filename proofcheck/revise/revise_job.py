"""One revise from its files to its results: read both proofs, lay one on the other, write."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from proofcheck.base.options import Options
from proofcheck.base.visible import visible
from proofcheck.base.writing import check_free, write_whole
from proofcheck.check import check_proof
from proofcheck.copytext import load_copy
from proofcheck.docket import People, ProofTaken, pull_proof
from proofcheck.docket.alterations import alterations_of
from proofcheck.docket.face_lessons import with_faces
from proofcheck.docket.originals import Original
from proofcheck.docket.recording import stored_copy
from proofcheck.results.marked.paint_pdf import paint_pages
from proofcheck.results.report_json import report_to_json
from proofcheck.revise.compare import compare_proofs
from proofcheck.revise.earlier import earlier_of_files, earlier_of_job
from proofcheck.revise.marked import marked_pages
from proofcheck.revise.record import asked_of, findings_data, revise_data, to_put_back
from proofcheck.revise.revise_errors import ReviseError
from proofcheck.revise.revise_page import revise_html

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from proofcheck.base.values import Copy
    from proofcheck.docket import Docket
    from proofcheck.docket.job import Job
    from proofcheck.results.report import Report
    from proofcheck.revise.shown import Revise

__all__ = ["Read", "Results", "changes_between", "revise_files", "revise_of_job", "write_revise"]


@dataclass(frozen=True, slots=True)
class Read:
    """A revise as read."""

    told: Revise
    earlier: Report
    later: Report


@dataclass(frozen=True, slots=True)
class Results:
    """Names of the files a revise writes."""

    pdf: Path
    page: Path

    @classmethod
    def beside(cls, scan: Path, folder: Path | None) -> Results:
        """Names beside the first scan, or in the folder asked for."""
        place = folder or scan.parent
        return cls(place / f"{scan.stem}-revise.pdf", place / f"{scan.stem}-revise.html")


def changes_between(old: Copy, new: Copy) -> list[dict[str, Any]]:
    """Where two copies differ, as `compare_proofs` takes it."""
    return [{"old": change.old, "new": change.new} for change in alterations_of(old.text, new.text)]


def revise_files(
    scans: Sequence[Path],
    earlier: Sequence[Path],
    copy: str,
    *,
    old_copy: str | None = None,
    options: Options | None = None,
    tell: Callable[[str], None] = lambda _: None,
) -> Read:
    """Read a revise against the copy and an earlier proof, with no docket.

    Args:
        scans: the revise, in order.
        earlier: scans of the earlier proof, in order; with its record among them it is not read
            again.
        copy: the copy that holds.
        old_copy: the copy the earlier proof was set from, where it is another.
        options: the shop's choices.
        tell: called with a few words on what is under way.
    """
    options = options or Options()
    approved = load_copy(copy, encoding=options.encoding)
    before = load_copy(old_copy, encoding=options.encoding) if old_copy else approved
    tell("reading the earlier proof")
    first = earlier_of_files(earlier, before, options, tell)
    tell("reading the revise")
    second = check_proof(scans, approved, options=options, tell=tell)
    tell("laying the slugs over each other")
    told = compare_proofs(first, second, changes=changes_between(before, approved))
    return Read(told, first, second)


def revise_of_job(
    docket: Docket,
    number: str,
    scans: Sequence[Path],
    *,
    by: str,
    people: People | None = None,
    options: Options | None = None,
    tell: Callable[[str], None] = lambda _: None,
) -> Read:
    """Read the next proof of a job against its copy and its last proof, and record all of it.

    Raises:
        ReviseError: the job has no proof yet, or the scans are those of another job.
        DocketError: as for `recording.pull_proof`.
    """
    options = with_faces(docket, options or Options(), tell)
    job = docket.job(number)
    if job.proof is None:
        msg = f"job {visible(number)} has no earlier proof; record this one with docket pull"
        raise ReviseError(msg)
    approved = stored_copy(docket, job.copies[-1])
    before = stored_copy(docket, job.copies[job.proof.copy - 1])
    tell("reading the earlier proof")
    first = earlier_of_job(docket, job, before, options)
    tell("reading the revise")
    second = check_proof(scans, approved, options=options, tell=tell)
    tell("laying the slugs over each other")
    asked, told = asked_of(job, first), _compared(job, first, second)
    taken = ProofTaken(
        report_to_json(second),
        tuple(Original.of(scan) for scan in scans),
        people or People(),
        revise_data(job, asked, (first, second), told),
        findings_data(told),
        here=True,
    )
    pull_proof(docket, number, taken, by=by)
    return Read(told, first, second)


def _compared(job: Job, first: Report, second: Report) -> Revise:
    """The next proof of a job laid on its last, with what the docket has asked for."""
    return compare_proofs(
        first,
        second,
        [fault for fault in asked_of(job, first).values() if fault],
        changes_between(first.copy, second.copy),
        number=len(job.proofs) + 1,
        to_put_back=to_put_back(job),
    )


def write_revise(
    read: Read, results: Results, *, title: str = "Revise", overwrite: bool = False
) -> None:
    """Write the marked revise (PDF) and the page (HTML).

    Raises:
        OutputError: as for `writing.whole_file`.
    """
    check_free([results.pdf, results.page], overwrite=overwrite)
    pages = marked_pages(read.told, read.earlier, read.later, title)
    write_whole(results.pdf, paint_pages(pages, title), overwrite=overwrite)
    page = revise_html(read.told, read.earlier, read.later, title=title)
    write_whole(results.page, page, overwrite=overwrite)
