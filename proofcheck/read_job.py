"""One job of reading, from its files to its results: what the command line asks for."""

from __future__ import annotations

import shutil
from contextlib import ExitStack
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, TextIO, cast, get_args

from proofcheck.base.errors import OutputError, SettingError, SheetUnfitError
from proofcheck.base.fault_numbers import proof_numbered
from proofcheck.base.options import Options
from proofcheck.base.visible import visible
from proofcheck.base.writing import check_free, make_folder, write_whole
from proofcheck.check import check_proof
from proofcheck.results.castlists import report_hand_lists, short_list
from proofcheck.results.castlists.list_pages import lists_pdf
from proofcheck.results.line_names import line_names
from proofcheck.results.lists import Order, correction_list, write_csv
from proofcheck.results.marked import Heading, draw_marked_proof, lay_out, png_names
from proofcheck.results.marked.labels import proof_called
from proofcheck.results.marked.own_pictures import open_own
from proofcheck.results.page.embedded import MarkedSheet
from proofcheck.results.page.fault_page import write_page
from proofcheck.results.report import exit_status
from proofcheck.results.report_json import report_text, unreadable_text

if TYPE_CHECKING:
    from collections.abc import Callable

    from proofcheck.results.paper_names import Paper
    from proofcheck.results.report import Report

PAGE_SHEETS = 12
"""A proof of more sheets shows on its page only those with marks on them."""

__all__ = [
    "Progress",
    "ReadJob",
    "Results",
    "results_of",
    "run_read",
    "say_list",
    "write_files",
]


@dataclass(frozen=True, slots=True)
class ReadJob:
    """What a person asks for at the command line."""

    scans: tuple[Path, ...]
    copy: str
    """Path of the copy, or "-"."""
    options: Options = field(default_factory=Options)
    job: str = ""
    """Name or number of the job, for the heading; the copy's name if empty."""
    proof: str = "first"
    """Which proof of the series it is."""
    number: int = 0
    """The same as a number, from 1; 0 for what the words say."""
    folder: Path | None = None
    """Where results go; None for beside the first scan."""
    overwrite: bool = False
    again: bool = False
    """Results that lie there already stay, and these become a new set: NAME-2-marked.pdf …"""
    set_number: int = 1
    """Which set of results it is, where the same scan was read before."""
    json: str | None = None
    """Where the report goes as JSON: a path, "-" for standard output, None for nowhere."""
    order: str = "proof"
    """Order of the list: "proof" or "certainty"."""
    files: bool = True
    """Write the marked proof, the page and the list as files."""
    day: date | None = None
    """For the heading; today if not given."""
    face: str = ""
    """Name of the face, where the job's docket has it: for the list of slugs to cast."""
    paper: Paper | None = None
    """Which proof of a docket it is: so that what a reader answers on it can be taken in."""
    disputes: tuple[str, ...] = ()
    """What two have decided differently, a line each: for the marked proof."""

    @property
    def numbered(self) -> int:
        """Which proof of the series it is, from 1."""
        return self.number or proof_numbered(self.proof)


@dataclass(frozen=True, slots=True)
class Results:
    """Names of the files a job writes."""

    png: Path
    """For several sheets the painter numbers them: NAME-marked-1.png …"""
    pdf: Path
    page: Path
    csv: Path
    recast: Path
    """Lists for the machine and the stone; written where there is something to recast."""

    @property
    def all(self) -> tuple[Path, ...]:
        """Every name."""
        return (self.png, self.pdf, self.page, self.csv, self.recast)


class Progress:
    """Says on a terminal what is under way, on one line that goes when the work is done."""

    def __init__(self, terminal: TextIO | None) -> None:
        self._terminal = terminal
        self._shown = 0

    def tell(self, words: str) -> None:
        """Show what is under way."""
        if self._terminal is not None:
            self._terminal.write("\r" + f"{words} …".ljust(self._shown))
            self._terminal.flush()
            self._shown = len(words) + 2

    def done(self) -> None:
        """Clear the line."""
        if self._terminal is not None and self._shown:
            self._terminal.write("\r" + " " * self._shown + "\r")
            self._terminal.flush()
            self._shown = 0


def results_of(job: ReadJob) -> Results:
    """Names beside the first scan (or in the folder asked for), from the scan's own."""
    first = job.scans[0]
    folder = job.folder or first.parent
    name = first.stem if job.set_number == 1 else f"{first.stem}-{job.set_number}"
    return Results(
        png=folder / f"{name}-marked.png",
        pdf=folder / f"{name}-marked.pdf",
        page=folder / f"{name}-marked.html",
        csv=folder / f"{name}-corrections.csv",
        recast=folder / f"{name}-recast.pdf",
    )


def _in_free_set(job: ReadJob) -> ReadJob:
    """The job with the first set of results of which nothing lies there yet."""
    while any(path.exists() for path in results_of(job).all):
        job = replace(job, set_number=job.set_number + 1)
    return job


def _refuse_taken(job: ReadJob) -> None:
    """Refuse names that can't be written to, or that hold something already."""
    wanted = list(results_of(job).all) if job.files else []
    if job.json not in {None, "-"}:
        wanted.append(Path(str(job.json)))
    try:
        check_free(wanted, overwrite=job.overwrite)
    except OutputError as error:
        if job.again or not any(path.exists() for path in wanted):
            raise
        msg = f"{error}, or --again for a new set beside it"
        raise OutputError(msg) from error


def run_read(job: ReadJob, out: TextIO, progress: Progress) -> int:
    """Read the proof, write the results, print the list (or the report); return the status.

    Raises ProofcheckError for every foreseen trouble, with nothing half written.
    """
    _refuse_order(job)
    make_folder(job.folder)
    job = _in_free_set(job) if job.again else job
    # Refused before the reading rather than after it.
    _refuse_taken(job)
    try:
        report = check_proof(job.scans, job.copy, options=job.options, tell=progress.tell)
        if job.files and report.judged:
            write_files(job, report, progress)
    except SheetUnfitError as error:
        progress.done()
        _put_json(job, partial(unreadable_text, str(error)), out)
        raise
    progress.done()
    _put_json(job, partial(report_text, report), out)
    if job.json != "-":
        say_list(job, report, out)
    out.flush()
    return exit_status(report)


def say_list(job: ReadJob, report: Report, out: TextIO) -> None:
    """Print the list, and where the files lie. Raises SettingError for an order there is not."""
    _refuse_order(job)
    unicode_out = (out.encoding or "utf-8").lower().replace("-", "").startswith("utf")
    out.write(
        correction_list(
            report,
            width=shutil.get_terminal_size((100, 24)).columns,
            order=cast("Order", job.order),
            colour=out.isatty(),
            ascii_only=not unicode_out,
            proof=job.numbered,
        )
    )
    if report.plan is not None:
        out.write(short_list(report.plan, line_names(report), ascii_only=not unicode_out))
    if not job.files or not report.judged:
        return
    results = results_of(job)
    if report.plan is not None and not report.plan.empty:
        out.write(f"For the machine and the stone: {_shown(results.recast)}\n")
    if report.pictured:
        out.write(f"Marked proof: {_shown(results.pdf)}, {_shown(results.png)}\n")
    out.write(f"To look through: {_shown(results.page)}   List: {_shown(results.csv)}\n")


def write_files(job: ReadJob, report: Report, progress: Progress) -> None:
    """Write the page and the lists, and the marked proof where its pictures are at hand."""
    results = results_of(job)
    heading = Heading(
        job=job.job or Path(job.copy).stem,
        proof=job.proof,
        date=job.day or datetime.now(UTC).astimezone().date(),
        faults=report.counts.faults,
        queries=report.counts.queries,
        unread=len(report.unread),
        number=job.numbered,
        paper=job.paper,
        disputes=job.disputes,
    )
    with ExitStack() as opened:
        marked: list[MarkedSheet] = []
        if report.pictured:
            progress.tell("drawing the marked proof")
            marked = _draw_proof(job, results, report, heading, opened)
        progress.tell("making the page")
        write_page(
            report,
            results.page,
            marked,
            title=job.job,
            overwrite=job.overwrite,
            proof=job.numbered,
        )
    write_csv(report, results.csv, overwrite=job.overwrite, proof=job.numbered)
    if report.plan is not None and not report.plan.empty:
        title = f"{heading.job}, {proof_called(heading.proof).lower()}, {heading.date.isoformat()}"
        lists = report_hand_lists(report, job.face, job.numbered)
        pages = lists_pdf(report.plan, title, lists)
        write_whole(results.recast, pages, overwrite=job.overwrite)


def _draw_proof(
    job: ReadJob, results: Results, report: Report, heading: Heading, opened: ExitStack
) -> list[MarkedSheet]:
    """Write the marked proof; its sheets for the page, whose files are closed with `opened`."""
    again = {number for each in report.recast for number in each.lines}
    layout = lay_out(
        report.sheets, report.lines, report.faults, heading, recast=again, unread=report.unread
    )
    names = png_names(results.png, len(layout.pages))
    check_free([*names, *results.all[1:]], overwrite=job.overwrite)
    draw_marked_proof(layout, png=results.png, pdf=results.pdf, overwrite=job.overwrite)
    return [
        MarkedSheet(opened.enter_context(open_own(name)), page.sheet, page.at, file=name)
        for name, page in zip(names, layout.pages, strict=True)
        if len(names) <= PAGE_SHEETS or page.signs or page.unread
    ]


def _refuse_order(job: ReadJob) -> None:
    orders = get_args(Order)
    if job.order not in orders:
        msg = f"no order {job.order!r} of the list; choose one of: {', '.join(orders)}"
        raise SettingError(msg)


def _shown(path: Path) -> str:
    return visible(str(path))


def _put_json(job: ReadJob, text: Callable[[], str], out: TextIO) -> None:
    """Write the report where one is wanted: of a long proof it is hundreds of megabytes."""
    if job.json == "-":
        out.write(text())
    elif job.json is not None:
        write_whole(job.json, text(), overwrite=job.overwrite)
