"""Looking at the docket: a job's history, all jobs, figures, the sheet to sign, clear for press."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from proofcheck.cli.arguments import PLACE, Folder, Number, Overwrite, Place, opened, out

__all__ = ["COMMANDS", "clear"]


def sheet(
    job: Number,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The PDF to write.")],
    customer: Annotated[
        bool,
        typer.Option("--customer", help="For the customer: queries to answer, cost."),
    ] = False,
    overwrite: Overwrite = False,
    docket: Place = PLACE,
    originals: Folder = None,
) -> None:
    """Make the sign-off sheet for the latest proof, with its picture, to be printed and signed."""
    from proofcheck.base.writing import check_free, write_whole
    from proofcheck.papers_job import customers_sheet, sign_off_sheet

    held = opened(docket, originals)
    check_free([file], overwrite=overwrite)
    drawn = (customers_sheet if customer else sign_off_sheet)(held, held.job(job))
    write_whole(file, drawn, overwrite=overwrite)


def slip(
    job: Number,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The PDF to write.")],
    overwrite: Overwrite = False,
    docket: Place = PLACE,
    originals: Folder = None,
) -> None:
    """Make the job's slip, to be scanned before its proof; its code names the job."""
    from proofcheck.docket.job_slip import write_job_slip

    write_job_slip(opened(docket, originals).job(job), file, overwrite=overwrite)


def papers(
    job: Number,
    proof: Annotated[int, typer.Option(metavar="N", help="Which proof; the latest if 0.")] = 0,
    folder: Annotated[
        Path, typer.Option("--out", metavar="FOLDER", help="Where they go.")
    ] = Path(),
    overwrite: Overwrite = False,
    list_only: Annotated[
        bool, typer.Option("--list", help="Only print the list; write no files.")
    ] = False,
    docket: Place = PLACE,
    originals: Folder = None,
) -> None:
    """Draw a proof's papers with what was decided: marked proof, page, lists, cast list.

    What was let stand has dots under it and "stet", what was wrongly alleged is gone, and the
    reader's own marks are in. Exit status: 1 where anything is to be set right or to be settled.
    """
    from proofcheck.papers_job import PapersJob, run_papers
    from proofcheck.read_job import Progress

    held = opened(docket, originals)
    asked = PapersJob(job, proof, folder, overwrite=overwrite, files=not list_only)
    terminal = sys.stderr if sys.stderr.isatty() else None
    raise typer.Exit(run_papers(held, asked, sys.stdout, Progress(terminal)))


def show(
    job: Number,
    page: Annotated[
        Path | None, typer.Option("--page", metavar="FILE", help="Write it as a page (HTML).")
    ] = None,
    bill: Annotated[bool, typer.Option("--bill", help="Only the alterations, totted up.")] = False,
    overwrite: Overwrite = False,
    docket: Place = PLACE,
    originals: Folder = None,
) -> None:
    """Show a job's history."""
    from proofcheck.docket.history_page import write_job_page
    from proofcheck.docket.named_lines import named_lines
    from proofcheck.docket.show import job_text
    from proofcheck.docket.show_bill import bill_text

    held = opened(docket, originals)
    found, taken_in = held.job(job), held.imports(job)
    if page is not None:
        write_job_page(
            found,
            held.shop,
            page,
            taken_in,
            anchor=held.anchor(),
            names=named_lines(held, found),
            overwrite=overwrite,
        )
    else:
        out(
            bill_text(held, found, held.shop)
            if bill
            else job_text(
                found, held.shop, taken_in, anchor=held.anchor(), names=named_lines(held, found)
            )
        )


def bill_of_job(job: Number, docket: Place = PLACE, originals: Folder = None) -> None:
    """Show what the customer is charged for: each slug and why, and what is not charged.

    Time and money only by the rates the shop has set (docket.toml beside the docket).
    """
    from proofcheck.docket.show_bill import bill_text

    held = opened(docket, originals)
    out(bill_text(held, held.job(job), held.shop))


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
    docket: Place = PLACE,
    originals: Folder = None,
) -> None:
    """List the jobs and what each waits for, a day's work, or figures over time."""
    from proofcheck.docket.figures import figures_of, figures_text
    from proofcheck.docket.given import day_of
    from proofcheck.docket.show import day_text, list_text

    held = opened(docket, originals)
    if figures:
        out(figures_text(figures_of(held.jobs(), held.shop)))
    elif day:
        out(day_text(held.entries(), day_of(day, held), held.shop))
    else:
        out(list_text(held.jobs(), waiting=waiting))


def figures(
    as_csv: Annotated[bool, typer.Option("--csv", help="For a spreadsheet, all of them.")] = False,
    docket: Place = PLACE,
    originals: Folder = None,
) -> None:
    """Figures of the shop: faults by kind, cause, sort, machine, face, operator, customer, week.

    For a thousand ems where the ems are on record; with what the tool said of sound type (alleged
    wrongly) and what a reader saw and it did not (missed).
    """
    from proofcheck.docket.shop_figures import shop_csv, shop_figures
    from proofcheck.docket.show_figures import shop_text

    held = opened(docket, originals)
    found = shop_figures(held.jobs(), held.shop)
    out(shop_csv(found) if as_csv else shop_text(found))


def clear(  # noqa: PLR0913, PLR0917 - one parameter an option
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
    noted: Annotated[
        str, typer.Option(metavar="LINK", help="Noted earlier: NUMBER:LINK, or a file with it.")
    ] = "",
    docket: Place = PLACE,
    originals: Folder = None,
) -> None:
    """Say whether a job may go to press: exit 0 for yes, 1 for no with every reason.

    What stands in brackets behind a reason, a person can answer for: docket vouch. A record of
    which everything was changed and its chain worked out anew holds in itself; only a link noted
    outside it (--noted) shows that.
    """
    from proofcheck.docket import clear_for_press
    from proofcheck.docket import override as record_override
    from proofcheck.docket.given import noted_link
    from proofcheck.docket.originals import Original
    from proofcheck.docket.show import clearance_text

    held = opened(docket, originals)
    if override:
        record_override(held, job, by=by, reason=reason)
    hashes = [str(Original.of(scan).reference()["sha256"]) for scan in scans or ()]
    in_hand = str(Original.of(copy).reference()["sha256"]) if copy else ""
    link = noted_link(noted)
    answer = clear_for_press(held, job, scans=hashes, copy=in_hand, noted=link)
    out(clearance_text(answer))
    raise typer.Exit(0 if answer.clear else 1)


COMMANDS = (
    ("sheet", sheet),
    ("slip", slip),
    ("show", show),
    ("bill", bill_of_job),
    ("list", list_),
    ("papers", papers),
    ("figures", figures),
)
"""By name; `clear` stands beside the group."""
