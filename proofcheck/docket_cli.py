"""The docket on the command line: one group of commands, and `clear` and `revise` beside it.

Names come from the trade. Every command that records asks for initials (`--by`).
"""

from __future__ import annotations

import json
import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from proofcheck.visible import visible

if TYPE_CHECKING:
    from proofcheck.docket import Docket
    from proofcheck.report import Json
    from proofcheck.values import Copy

__all__ = ["add_docket", "opened"]

docket_app = typer.Typer(
    no_args_is_help=True,
    help="Keep the record of each job: copy, proofs, decisions, the customer's O.K.",
)

Place = Annotated[
    str,
    typer.Option(
        "--docket",
        envvar="PROOFCHECK_DOCKET",
        metavar="FILE",
        help="The docket: a file, or the address of a database.",
    ),
]
Folder = Annotated[
    Path | None,
    typer.Option(
        "--originals",
        envvar="PROOFCHECK_ORIGINALS",
        metavar="FOLDER",
        help="Where originals are kept; beside the docket's file by default.",
    ),
]
Number = Annotated[str, typer.Argument(metavar="JOB", help="Number of the job.")]
By = Annotated[str, typer.Option("--by", metavar="INITIALS", help="Who records this.")]
Overwrite = Annotated[bool, typer.Option("--overwrite", help="Write over a file that exists.")]
Scans = Annotated[list[Path], typer.Argument(metavar="SCAN...", help="The proof, in order.")]
_PLACE = "docket.db"


def add_docket(app: typer.Typer) -> None:
    """Give the program its docket."""
    from proofcheck.revise_cli import revise

    app.add_typer(docket_app, name="docket")
    app.command(name="clear")(clear)
    app.command(name="revise")(revise)


@docket_app.command("open")
def open_(  # noqa: PLR0913, PLR0917 - one parameter an option
    job: Number,
    by: By,
    customer: Annotated[str, typer.Option(metavar="TEXT")] = "",
    wanted: Annotated[str, typer.Option(metavar="TEXT", help="When it is wanted.")] = "",
    quantity: Annotated[str, typer.Option(metavar="TEXT")] = "",
    stock: Annotated[str, typer.Option(metavar="TEXT")] = "",
    ink: Annotated[str, typer.Option(metavar="TEXT")] = "",
    size: Annotated[str, typer.Option(metavar="TEXT")] = "",
    measure: Annotated[str, typer.Option(metavar="TEXT")] = "",
    face: Annotated[str, typer.Option(metavar="TEXT")] = "",
    remarks: Annotated[str, typer.Option(metavar="TEXT")] = "",
    amend: Annotated[bool, typer.Option("--amend", help="Change what an open job says.")] = False,
    docket: Place = _PLACE,
    originals: Folder = None,
) -> None:
    """Open a job (or amend one) on the docket."""
    from proofcheck.docket import amend_job, open_job

    given = {
        "customer": customer, "wanted": wanted, "quantity": quantity, "stock": stock, "ink": ink,
        "size": size, "measure": measure, "face": face, "remarks": remarks,
    }  # fmt: skip
    details = {key: text for key, text in given.items() if text}
    held = opened(docket, originals, create=not amend)
    (amend_job if amend else open_job)(held, job, details, by=by)
    _say(f"job {visible(job)} {'amended' if amend else 'opened'}")


@docket_app.command("copy")
def copy_(
    job: Number,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The approved copy.")],
    by: By,
    encoding: Annotated[str | None, typer.Option(metavar="NAME")] = None,
    docket: Place = _PLACE,
    originals: Folder = None,
) -> None:
    """Take in a version of the copy; alterations against the one before are noted (AA)."""
    from proofcheck.copytext import load_copy
    from proofcheck.docket import take_copy
    from proofcheck.docket.originals import Original

    held = opened(docket, originals)
    copy = load_copy(file, encoding=encoding)
    entry = take_copy(held, job, copy, Original.of(file), by=by)
    number = len(held.job(job).copies)
    changes = len(entry.data["alterations"])
    _say(f"copy {number} of job {visible(job)} taken in, {changes} alterations")


@docket_app.command()
def pull(  # noqa: PLR0913, PLR0917 - one parameter an option
    job: Number,
    scans: Scans,
    by: By,
    reader: Annotated[str, typer.Option(metavar="INITIALS")] = "",
    copyholder: Annotated[str, typer.Option(metavar="INITIALS")] = "",
    operator: Annotated[str, typer.Option(metavar="INITIALS")] = "",
    corrector: Annotated[str, typer.Option(metavar="INITIALS")] = "",
    report: Annotated[
        Path | None, typer.Option(metavar="FILE", help="A report (JSON) of it made before.")
    ] = None,
    settings: Annotated[Path | None, typer.Option(metavar="FILE", help="Shop settings.")] = None,
    docket: Place = _PLACE,
    originals: Folder = None,
) -> None:
    """Read a proof against the job's copy and record it with all that was found."""
    from proofcheck.check import check_proof
    from proofcheck.docket import People, ProofTaken, pull_proof
    from proofcheck.docket.originals import Original
    from proofcheck.options import Options, load_settings
    from proofcheck.report import report_to_json

    held = opened(docket, originals)
    if report is not None:
        found = _report_at(report)
    else:
        options = load_settings(settings) if settings else Options()
        found = report_to_json(check_proof(scans, _job_copy(held, job), options=options))
    people = People(reader, copyholder, operator, corrector)
    taken = ProofTaken(found, tuple(Original.of(scan) for scan in scans), people)
    pull_proof(held, job, taken, by=by)
    proof = held.job(job).proof
    if proof is not None:
        _say(f"{proof.name} of job {visible(job)} recorded, {len(proof.found)} found")


@docket_app.command()
def decide(  # noqa: PLR0913, PLR0917 - one parameter an option
    job: Number,
    fault: Annotated[str, typer.Argument(metavar="FAULT", help="F3, or 1/F3 of proof 1.")],
    what: Annotated[str, typer.Argument(metavar="WHAT", help="correct, stand or query.")],
    by: By,
    note: Annotated[str, typer.Option(metavar="TEXT", help="Why, or what is asked.")] = "",
    charge: Annotated[str, typer.Option(metavar="PE|AA", help="At whose cost.")] = "",
    answer: Annotated[str, typer.Option(metavar="TEXT", help="The customer's answer.")] = "",
    answered_by: Annotated[str, typer.Option(metavar="NAME", help="Who answered.")] = "",
    docket: Place = _PLACE,
    originals: Folder = None,
) -> None:
    """Decide a fault: correct it, let it stand, or query it; or record a query's answer."""
    from proofcheck.docket import answer_query
    from proofcheck.docket import decide as record_decision

    held = opened(docket, originals)
    if answer:
        answer_query(held, job, fault, what, answer, answered_by=answered_by, by=by)
    else:
        record_decision(held, job, fault, what, by=by, note=note, charge=charge)
    left = held.job(job)
    _say(f"recorded; {len(left.undecided)} undecided, {len(left.open_queries)} queries open")


@docket_app.command()
def sign(  # noqa: PLR0913, PLR0917 - one parameter an option
    job: Number,
    words: Annotated[
        str, typer.Argument(metavar="WORDS", help="ok, ok-with-corrections or revise-wanted.")
    ],
    by: Annotated[str, typer.Option("--by", metavar="NAME", help="Who gave the word.")],
    how: Annotated[
        str, typer.Option(metavar="HOW", help="in person, signed sheet or letter.")
    ] = "in person",
    sheet: Annotated[
        Path | None, typer.Option(metavar="FILE", help="The signed sheet or letter, scanned.")
    ] = None,
    proof: Annotated[int | None, typer.Option(metavar="N", help="On which proof.")] = None,
    fault: Annotated[
        list[str] | None, typer.Option(metavar="FAULT", help="To be corrected (again for more).")
    ] = None,
    note: Annotated[str, typer.Option(metavar="TEXT")] = "",
    docket: Place = _PLACE,
    originals: Folder = None,
) -> None:
    """Record the customer's word on a proof; it holds for that proof and copy alone."""
    from proofcheck.docket import Word, sign_off
    from proofcheck.docket.originals import Original

    held = opened(docket, originals)
    word = Word(words, by, how, note, Original.of(sheet) if sheet else None)
    sign_off(held, job, word, proof=proof, corrections=fault or ())
    _say("recorded")


@docket_app.command()
def sheet(
    job: Number,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The PDF to write.")],
    overwrite: Overwrite = False,
    docket: Place = _PLACE,
    originals: Folder = None,
) -> None:
    """Make the sign-off sheet for the latest proof, to be printed and signed."""
    from proofcheck.docket import verify as go_through
    from proofcheck.docket.sheet import write_sign_off_sheet

    held = opened(docket, originals)
    checked = go_through(held, originals_of=job)
    write_sign_off_sheet(held.job(job), held.shop, checked, file, overwrite=overwrite)


@docket_app.command()
def show(
    job: Number,
    page: Annotated[
        Path | None, typer.Option("--page", metavar="FILE", help="Write it as a page (HTML).")
    ] = None,
    bill: Annotated[bool, typer.Option("--bill", help="Only the alterations, totted up.")] = False,
    overwrite: Overwrite = False,
    docket: Place = _PLACE,
    originals: Folder = None,
) -> None:
    """Show a job's history."""
    from proofcheck.docket.page import write_job_page
    from proofcheck.docket.show import bill_text, job_text

    held = opened(docket, originals)
    found = held.job(job)
    if page is not None:
        write_job_page(found, held.shop, page, overwrite=overwrite)
    else:
        _out(bill_text(found, held.shop) if bill else job_text(found, held.shop))


@docket_app.command("list")
def list_(
    waiting: Annotated[
        str, typer.Option(metavar="WHO", help="Only what waits for reader, customer …")
    ] = "",
    day: Annotated[
        str, typer.Option(metavar="DATE", help="The day's work instead: 2026-05-04, or today.")
    ] = "",
    figures: Annotated[
        bool, typer.Option("--figures", help="Which mats, sorts and lines give which faults.")
    ] = False,
    docket: Place = _PLACE,
    originals: Folder = None,
) -> None:
    """List the jobs and what each waits for, a day's work, or figures over time."""
    from proofcheck.docket.figures import figures_of, figures_text
    from proofcheck.docket.show import day_text, list_text

    held = opened(docket, originals)
    if figures:
        _out(figures_text(figures_of(held.jobs(), held.shop)))
    elif day:
        _out(day_text(held.entries(), _day(day, held), held.shop))
    else:
        _out(list_text(held.jobs(), waiting=waiting))


@docket_app.command()
def verify(
    archive: Annotated[
        Path | None, typer.Argument(metavar="ARCHIVE", help="A job's archive instead.")
    ] = None,
    noted: Annotated[
        str, typer.Option(metavar="NUMBER:LINK", help="A link written down earlier.")
    ] = "",
    docket: Place = _PLACE,
    originals: Folder = None,
) -> None:
    """Go through the whole record; exit 0 if it holds, 1 with every trouble named if not."""
    from proofcheck.docket import read_archive
    from proofcheck.docket import verify as go_through

    if archive is not None:
        held = read_archive(archive)
        _out(f"job {visible(held.job)}: {len(held.chain)} entries, the archive holds\n")
        return
    checked = go_through(opened(docket, originals), noted=_noted(noted))
    for trouble in checked.troubles:
        _out(f"{trouble}\n")
    said = "the record is BROKEN" if checked.troubles else "the record holds"
    _out(f"{checked.entries} entries, {checked.originals} originals: {said}\n")
    _out(f"last link {checked.number}:{checked.book}\n")
    raise typer.Exit(1 if checked.troubles else 0)


@docket_app.command("export")
def export_(
    job: Number,
    archive: Annotated[Path, typer.Argument(metavar="ARCHIVE", help="The ZIP to write.")],
    overwrite: Overwrite = False,
    docket: Place = _PLACE,
    originals: Folder = None,
) -> None:
    """Write a whole job as one archive that verifies on its own."""
    from proofcheck.docket import export_job

    export_job(opened(docket, originals), job, archive, overwrite=overwrite)


@docket_app.command("import")
def import_(
    archive: Annotated[Path, typer.Argument(metavar="ARCHIVE", help="A job's archive.")],
    docket: Place = _PLACE,
    originals: Folder = None,
) -> None:
    """Take a job in from its archive, or bring it up to date."""
    from proofcheck.docket import import_job

    number, new = import_job(opened(docket, originals, create=True), archive)
    _say(f"job {visible(number)}: {new} new entries")


def clear(
    job: Number,
    scans: Annotated[
        list[Path] | None, typer.Argument(metavar="SCAN...", help="The proof in hand.")
    ] = None,
    copy: Annotated[
        Path | None, typer.Option("--copy", metavar="FILE", help="The copy in hand.")
    ] = None,
    override: Annotated[
        bool, typer.Option("--override", help="Order it to press in spite of all reasons.")
    ] = False,
    by: Annotated[str, typer.Option(metavar="NAME", help="Who orders it.")] = "",
    reason: Annotated[str, typer.Option(metavar="TEXT", help="Why.")] = "",
    docket: Place = _PLACE,
    originals: Folder = None,
) -> None:
    """Say whether a job may go to press: exit 0 for yes, 1 for no with every reason."""
    from proofcheck.docket import clear_for_press
    from proofcheck.docket import override as record_override
    from proofcheck.docket.originals import Original
    from proofcheck.docket.show import clearance_text

    held = opened(docket, originals)
    if override:
        record_override(held, job, by=by, reason=reason)
    hashes = [str(Original.of(scan).reference()["sha256"]) for scan in scans or ()]
    in_hand = str(Original.of(copy).reference()["sha256"]) if copy else ""
    answer = clear_for_press(held, job, scans=hashes, copy=in_hand)
    _out(clearance_text(answer))
    raise typer.Exit(0 if answer.clear else 1)


def _job_copy(docket: Docket, number: str) -> Copy:
    from proofcheck.docket.recording import stored_copy
    from proofcheck.docket.troubles import DocketError

    version = docket.job(number).copy
    if version is None:
        msg = f"no copy is on the docket of job {visible(number)}; take it in first"
        raise DocketError(msg)
    return stored_copy(docket, version)


def opened(place: str, originals: Path | None, *, create: bool = False) -> Docket:
    """The docket named on the command line."""
    from proofcheck.docket import open_docket

    return open_docket(place, create=create, originals=originals)


def _report_at(path: Path) -> Json:
    from proofcheck.docket.troubles import DocketError

    try:
        found = json.loads(path.read_text("utf-8"))
        if found["report"] != 1 or not isinstance(found["faults"], list):
            raise KeyError("report")  # noqa: TRY301 - one message for all that is no report
    except (OSError, ValueError, KeyError, TypeError) as error:
        msg = f"{visible(str(path))} is no report of a proof; make one with read --json"
        raise DocketError(msg) from error
    return dict(found)


def _day(text: str, docket: Docket) -> date:
    from proofcheck.docket.troubles import DocketError

    if text == "today":
        return docket.clock().astimezone(docket.shop.clock_zone()).date()
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        msg = f"no day {visible(text)!r}; write it as 2026-05-04, or today"
        raise DocketError(msg) from error


def _noted(text: str) -> tuple[int, str] | None:
    from proofcheck.docket.troubles import DocketError

    if not text:
        return None
    number, _, link = text.partition(":")
    if not (number.isascii() and number.isdigit() and link):
        msg = f"no link {visible(text)!r}; it is written NUMBER:LINK, as verify shows it"
        raise DocketError(msg)
    return int(number), link.strip()


def _out(text: str) -> None:
    sys.stdout.write(text)


def _say(text: str) -> None:
    sys.stderr.write(f"{text}\n")
