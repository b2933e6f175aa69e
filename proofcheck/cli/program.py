"""The command line: arguments, progress, messages and exit status; no logic of its own.

Exit status as with `diff`: 0 nothing found, 1 faults or queries, 2 trouble, or not wholly judged.
Standard output carries the result, standard error everything else.
"""

from __future__ import annotations

import sys
from pathlib import Path  # noqa: TC003 - the command line reads the annotations
from typing import TYPE_CHECKING, Annotated

import typer

from proofcheck.cli.arguments import in_short
from proofcheck.cli.batch_command import batch
from proofcheck.cli.catch import DEBUG, caught, without_debug
from proofcheck.cli.desk_command import desk
from proofcheck.cli.docket_group import add_docket
from proofcheck.cli.draw_command import draw
from proofcheck.cli.export_command import export
from proofcheck.cli.faces_group import add_faces
from proofcheck.cli.read_arguments import ReadArguments
from proofcheck.cli.taking import takes
from proofcheck.cli.watch_command import watch

if TYPE_CHECKING:
    from proofcheck.read_job import Progress

__all__ = ["app", "main"]

app = typer.Typer(
    name="proofcheck",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    # Plain help: what draws it in boxes takes longer to load than the whole command line.
    rich_markup_mode=None,
    help="Read a pulled proof against the approved copy and mark what must be reset.",
)


def _version(*, asked: bool) -> None:
    """Print the version, and the hash that tells two builds of one version apart."""
    if asked:
        from proofcheck.results.program_hash import program_sha256
        from proofcheck.results.report import program_version

        sys.stdout.write(f"proofcheck {program_version()} ({program_sha256()[:12]})\n")
        raise typer.Exit


@app.callback()
def _proofcheck(
    debug: Annotated[
        bool, typer.Option(DEBUG, help="Show the trace of a trouble that was not foreseen.")
    ] = False,
    version: Annotated[
        bool,
        typer.Option(
            "--version", is_eager=True, callback=_version, help="Say which version it is."
        ),
    ] = False,
) -> None:
    """Read a pulled proof against the approved copy and mark what must be reset."""


@app.command(short_help="Read a proof letter by letter against the copy, and mark every fault.")
@takes(ReadArguments)
def read(given: ReadArguments) -> None:
    """Read SCAN... letter by letter against the copy; list and mark every fault.

    Writes the marked proof (PNG, PDF), a page to look through (HTML) and the correction list
    (CSV) beside the first scan. Exit status: 0 nothing found, 1 faults or queries, 2 not wholly
    judged.
    """
    from proofcheck.read_job import ReadJob, run_read

    read_job = ReadJob(
        scans=tuple(given.scans),
        copy=given.copy,
        options=given.chosen(),
        job=given.job,
        proof=given.proof,
        folder=given.out,
        overwrite=given.overwrite,
        again=given.again,
        json=given.json,
        order=given.order,
        files=not given.list_only and (given.json != "-" or given.out is not None),
    )
    raise typer.Exit(run_read(read_job, sys.stdout, _progress()))


@app.command(short_help="Show the proofreader's marks: meaning, in the text, in the margin.")
def marks(
    sheet: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Draw the table as a sheet: a .pdf or .png file."),
    ] = None,
    overwrite: Annotated[
        bool, typer.Option("--overwrite", help="Write over a sheet that exists.")
    ] = False,
) -> None:
    """Show the proofreader's marks: meaning, mark in the text, sign in the margin."""
    from proofcheck.results.marked.marks_table import draw_marks_sheet, marks_text

    if sheet is None:
        sys.stdout.write(marks_text())
    else:
        draw_marks_sheet(sheet, overwrite=overwrite)


for command in (batch, watch, draw, export, desk):
    app.command(short_help=in_short(command))(command)
add_docket(app)
add_faces(app)


def _progress() -> Progress:
    """A line on standard error that says what is under way; silent in a pipe."""
    from proofcheck.read_job import Progress

    return Progress(sys.stderr if sys.stderr.isatty() else None)


def main() -> None:
    """Run the command line; every trouble is one line on standard error, status 2."""
    arguments, debug = without_debug(sys.argv[1:])
    sys.exit(caught(lambda: app(arguments, standalone_mode=False), debug=debug))
