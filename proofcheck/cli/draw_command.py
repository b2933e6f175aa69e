"""`proofcheck draw`: the results of a proof drawn anew from its record."""

from __future__ import annotations

import sys
from pathlib import Path  # noqa: TC003 - the command line reads the annotations
from typing import Annotated

import typer

__all__ = ["draw"]


def draw(
    record: Annotated[Path, typer.Argument(metavar="RECORD", help="What read --json wrote.")],
    scan: Annotated[
        list[Path] | None,
        typer.Option(metavar="SCAN", help="The proof's scan (again for more), for its pictures."),
    ] = None,
    job: Annotated[str, typer.Option(metavar="TEXT", help="Job, for the heading.")] = "",
    proof: Annotated[
        str, typer.Option(metavar="TEXT", help="Which proof: first, revise …")
    ] = "first",
    out: Annotated[
        Path | None,
        typer.Option(metavar="FOLDER", help="Where results go; beside the record by default."),
    ] = None,
    overwrite: Annotated[
        bool, typer.Option("--overwrite", help="Write over results that exist.")
    ] = False,
    order: Annotated[
        str, typer.Option(metavar="ORDER", help="Order of the list: proof or certainty.")
    ] = "proof",
    list_only: Annotated[
        bool, typer.Option("--list", help="Only print the list; write no files.")
    ] = False,
) -> None:
    """Draw the results of a proof anew from its RECORD; nothing is read again.

    Writes the page and the lists; with --scan the marked proof too. The record and the scan must
    be as they were when the proof was read. Exit status as of the reading.
    """
    from proofcheck.draw_job import DrawJob, run_draw
    from proofcheck.read_job import Progress

    drawn = DrawJob(
        record=record,
        scans=tuple(scan or ()),
        job=job,
        proof=proof,
        folder=out,
        overwrite=overwrite,
        order=order,
        files=not list_only,
    )
    terminal = sys.stderr if sys.stderr.isatty() else None
    raise typer.Exit(run_draw(drawn, sys.stdout, Progress(terminal)))
