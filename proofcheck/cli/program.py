"""The command line: arguments, progress, messages and exit status; no logic of its own.

Exit status as with `diff`: 0 nothing found, 1 faults or queries, 2 trouble, or not wholly judged.
Standard output carries the result, standard error everything else.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from proofcheck.base.options import READERS, Options, load_settings
from proofcheck.cli.catch import DEBUG, caught, without_debug
from proofcheck.cli.docket_group import add_docket

if TYPE_CHECKING:
    from proofcheck.read_job import Progress

__all__ = ["app", "main"]

app = typer.Typer(
    name="proofcheck",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    help="Read a pulled proof against the approved copy and mark what must be reset.",
)

Scans = Annotated[
    list[Path],
    typer.Argument(
        metavar="SCAN...",
        help="The proof: PNG, JPEG, TIFF, WebP or PDF; several scans make one proof.",
        show_default=False,
    ),
]
CopyPath = Annotated[
    str,
    typer.Option(
        "--copy",
        metavar="FILE",
        help="The approved copy: text, Markdown, DOCX or ODT; - is standard input.",
        show_default=False,
    ),
]


@app.callback()
def _proofcheck(
    debug: Annotated[
        bool, typer.Option(DEBUG, help="Show the trace of a trouble that was not foreseen.")
    ] = False,
) -> None:
    """Read a pulled proof against the approved copy and mark what must be reset."""


@app.command()
def read(  # noqa: PLR0913, PLR0917 - one parameter an option
    scans: Scans,
    copy: CopyPath,
    part: Annotated[
        bool, typer.Option("--part", help="The proof holds only part of the copy.")
    ] = False,
    hand_set: Annotated[
        bool, typer.Option("--hand-set", help="Type from the case, not slugs.")
    ] = False,
    bands: Annotated[
        str | None, typer.Option(metavar="KIND", help="Kind of spaceband: thick, extra-thin …")
    ] = None,
    dpi: Annotated[
        float | None, typer.Option(metavar="DPI", help="Resolution of the scans.")
    ] = None,
    measure: Annotated[
        float | None,
        typer.Option(metavar="PICAS", help="Length of a full line; sets the resolution."),
    ] = None,
    reader: Annotated[
        str | None, typer.Option(metavar="NAME", help=f"Who reads: {' or '.join(READERS)}.")
    ] = None,
    weights: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Other weights for the letter reader.")
    ] = None,
    language: Annotated[
        str | None, typer.Option(metavar="NAME", help="Language of the matter: eng, fra, deu …")
    ] = None,
    encoding: Annotated[
        str | None, typer.Option(metavar="NAME", help="Encoding of the copy, if it is known.")
    ] = None,
    enforce: Annotated[
        list[str] | None,
        typer.Option(metavar="RULE", help="Do not make this allowance (may be given again)."),
    ] = None,
    allow: Annotated[
        list[str] | None,
        typer.Option(metavar="RULE", help="Make this allowance, not made of itself."),
    ] = None,
    text_only: Annotated[
        bool, typer.Option("--text-only", help="Read the text alone; don't judge the type itself.")
    ] = False,
    unfit: Annotated[
        bool, typer.Option("--unfit", help="Read on though the sheet is not fit to be judged.")
    ] = False,
    settings: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Shop settings, TOML.")
    ] = None,
    job: Annotated[str, typer.Option(metavar="TEXT", help="Job, for the heading.")] = "",
    proof: Annotated[
        str, typer.Option(metavar="TEXT", help="Which proof: first, revise …")
    ] = "first",
    out: Annotated[
        Path | None,
        typer.Option(metavar="FOLDER", help="Where results go; beside the scan by default."),
    ] = None,
    overwrite: Annotated[
        bool, typer.Option("--overwrite", help="Write over results that exist.")
    ] = False,
    json: Annotated[
        str | None,
        typer.Option(metavar="FILE", help="The report as JSON; - prints it and nothing more."),
    ] = None,
    order: Annotated[
        str, typer.Option(metavar="ORDER", help="Order of the list: proof or certainty.")
    ] = "proof",
    list_only: Annotated[
        bool, typer.Option("--list", help="Only print the list; write no marked proof.")
    ] = False,
) -> None:
    """Read SCAN... letter by letter against the copy; list and mark every fault.

    Writes the marked proof (PNG, PDF), a page to look through (HTML) and the correction list
    (CSV) beside the first scan. Exit status: 0 nothing found, 1 faults or queries, 2 not wholly
    judged.
    """
    from proofcheck.read_job import ReadJob, run_read

    options = load_settings(settings) if settings else Options()
    chosen: dict[str, Any] = {
        "part": part or None,
        "hand_set": hand_set or None,
        "bands": bands,
        "dpi": dpi,
        "measure_picas": measure,
        "reader": reader,
        "weights": weights,
        "language": language,
        "encoding": encoding,
        "enforced": tuple(enforce) if enforce else None,
        "allowed": tuple(allow) if allow else None,
        "type_too": False if text_only else None,
        "unfit": unfit or None,
    }
    options = replace(
        options, **{name: value for name, value in chosen.items() if value is not None}
    )
    read_job = ReadJob(
        scans=tuple(scans),
        copy=copy,
        options=options,
        job=job,
        proof=proof,
        folder=out,
        overwrite=overwrite,
        json=json,
        order=order,
        files=not list_only and (json != "-" or out is not None),
    )
    raise typer.Exit(run_read(read_job, sys.stdout, _progress()))


@app.command()
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


add_docket(app)


def _progress() -> Progress:
    """A line on standard error that says what is under way; silent in a pipe."""
    from proofcheck.read_job import Progress

    return Progress(sys.stderr if sys.stderr.isatty() else None)


def main() -> None:
    """Run the command line; every trouble is one line on standard error, status 2."""
    arguments, debug = without_debug(sys.argv[1:])
    sys.exit(caught(lambda: app(arguments, standalone_mode=False), debug=debug))
