"""`proofcheck revise`: a later proof against the copy and the proof before it."""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from pathlib import Path  # noqa: TC003 - the command line reads the annotations
from typing import TYPE_CHECKING, Annotated

import typer

from proofcheck.base.visible import visible
from proofcheck.cli.taking import takes

if TYPE_CHECKING:
    from proofcheck.base.options import Options
    from proofcheck.revise.revise_job import Read

__all__ = ["revise"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviseArguments:
    """Each field one argument or option."""

    scans: Annotated[list[Path], typer.Argument(metavar="SCAN...", help="The revise, in order.")]
    job: Annotated[
        str, typer.Option(metavar="JOB", help="Its job: copy and earlier proof from the docket.")
    ] = ""
    copy: Annotated[
        str, typer.Option("--copy", metavar="FILE", help="The copy, where there is no docket.")
    ] = ""
    earlier: Annotated[
        list[Path] | None,
        typer.Option(
            metavar="FILE", help="The earlier proof (again for more sheets, and for its record)."
        ),
    ] = None
    old_copy: Annotated[
        str | None, typer.Option(metavar="FILE", help="The earlier proof's copy, if another.")
    ] = None
    by: Annotated[str, typer.Option("--by", metavar="INITIALS", help="Who records it.")] = ""
    operator: Annotated[str, typer.Option(metavar="INITIALS")] = ""
    corrector: Annotated[str, typer.Option(metavar="INITIALS")] = ""
    settings: Annotated[Path | None, typer.Option(metavar="FILE", help="Shop settings.")] = None
    part: Annotated[
        bool, typer.Option("--part", help="The revise holds only part of the forme.")
    ] = False
    out: Annotated[Path | None, typer.Option(metavar="FOLDER", help="Where results go.")] = None
    overwrite: Annotated[bool, typer.Option("--overwrite", help="Write over results.")] = False
    json: Annotated[
        bool, typer.Option("--json", help="Print the report as JSON and write no files.")
    ] = False
    docket: Annotated[str, typer.Option("--docket", envvar="PROOFCHECK_DOCKET", metavar="FILE")] = (
        "docket.db"
    )
    originals: Annotated[
        Path | None, typer.Option("--originals", envvar="PROOFCHECK_ORIGINALS", metavar="FOLDER")
    ] = None


@takes(ReviseArguments)
def revise(given: ReviseArguments) -> None:
    """See that every correction is made and nothing else has moved.

    Exit status: 0 all made and nothing moved, 1 not so, 2 not judged.
    """
    from proofcheck.base.found_settings import settings_for
    from proofcheck.base.writing import check_free, make_folder
    from proofcheck.cli.arguments import opened, said
    from proofcheck.docket import People
    from proofcheck.papers_job import revise_job_of, write_revise_papers
    from proofcheck.read_job import Progress, results_of
    from proofcheck.revise.revise_errors import ReviseError
    from proofcheck.revise.revise_job import Results, revise_files, revise_of_job

    options: Options = settings_for(given.settings, tell=said)
    options = replace(options, part=True) if given.part else options
    results = Results.beside(given.scans[0], given.out)
    asked = revise_job_of(given.scans, given.out, job=_titled(given), overwrite=given.overwrite)
    make_folder(given.out)
    if not given.json:
        # Refused before the reading rather than after it.
        wanted = [results.pdf, results.page, *results_of(asked).all]
        check_free(wanted, overwrite=given.overwrite)
    docketed = None
    if given.job:
        held = opened(given.docket, given.originals)
        people = People(operator=given.operator, corrector=given.corrector)
        read = revise_of_job(
            held, given.job, given.scans, by=given.by, people=people, options=options
        )
        docketed = held.job(given.job)
    elif given.copy and given.earlier:
        read = revise_files(
            given.scans, given.earlier, given.copy, old_copy=given.old_copy, options=options
        )
    else:
        msg = "a revise needs its --job, or else --copy and the --earlier proof"
        raise ReviseError(msg)
    _show(read, given)
    if not given.json:
        write_revise_papers(read, asked, Progress(None), docketed)
        shown = (visible(str(path)) for path in (results_of(asked).pdf, results_of(asked).csv))
        sys.stdout.write(f"Its own marks: {next(shown)}   List: {next(shown)}\n")
    raise typer.Exit(0 if read.told.clean else 1)


def _titled(given: ReviseArguments) -> str:
    return f"Job {given.job}" if given.job else ""


def _show(read: Read, given: ReviseArguments) -> None:
    from proofcheck.revise.revise_job import Results, write_revise
    from proofcheck.revise.revise_report import revise_json, revise_list

    if given.json:
        sys.stdout.write(revise_json(read.told, read.earlier, read.later))
        return
    unicode_out = (sys.stdout.encoding or "utf-8").lower().replace("-", "").startswith("utf")
    text = revise_list(read.told, read.earlier, read.later, ascii_only=not unicode_out)
    sys.stdout.write(text)
    results = Results.beside(given.scans[0], given.out)
    title = f"Job {given.job}: revise" if given.job else f"Revise: {given.scans[0].stem}"
    write_revise(read, results, title=title, overwrite=given.overwrite)
    pdf, page = visible(str(results.pdf)), visible(str(results.page))
    sys.stdout.write(f"Marked revise: {pdf}   To look through: {page}\n")
