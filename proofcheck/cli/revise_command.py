"""`proofcheck revise`: a later proof against the copy and the proof before it."""

from __future__ import annotations

import sys
from pathlib import Path  # noqa: TC003 - the command line reads the annotations
from typing import TYPE_CHECKING, Annotated

import typer

from proofcheck.base.visible import visible

if TYPE_CHECKING:
    from proofcheck.base.options import Options
    from proofcheck.revise.revise_job import Read

__all__ = ["revise"]


def revise(  # noqa: PLR0913, PLR0917 - one parameter an option
    scans: Annotated[list[Path], typer.Argument(metavar="SCAN...", help="The revise, in order.")],
    job: Annotated[
        str, typer.Option(metavar="JOB", help="Its job: copy and earlier proof from the docket.")
    ] = "",
    copy: Annotated[
        str, typer.Option("--copy", metavar="FILE", help="The copy, where there is no docket.")
    ] = "",
    earlier: Annotated[
        list[Path] | None,
        typer.Option(metavar="SCAN", help="The earlier proof (again for more sheets)."),
    ] = None,
    old_copy: Annotated[
        str | None, typer.Option(metavar="FILE", help="The earlier proof's copy, if another.")
    ] = None,
    by: Annotated[str, typer.Option("--by", metavar="INITIALS", help="Who records it.")] = "",
    operator: Annotated[str, typer.Option(metavar="INITIALS")] = "",
    corrector: Annotated[str, typer.Option(metavar="INITIALS")] = "",
    settings: Annotated[Path | None, typer.Option(metavar="FILE", help="Shop settings.")] = None,
    out: Annotated[Path | None, typer.Option(metavar="FOLDER", help="Where results go.")] = None,
    overwrite: Annotated[bool, typer.Option("--overwrite", help="Write over results.")] = False,
    json: Annotated[
        bool, typer.Option("--json", help="Print the report as JSON and write no files.")
    ] = False,
    docket: Annotated[
        str, typer.Option("--docket", envvar="PROOFCHECK_DOCKET", metavar="FILE")
    ] = "docket.db",
    originals: Annotated[
        Path | None, typer.Option("--originals", envvar="PROOFCHECK_ORIGINALS", metavar="FOLDER")
    ] = None,
) -> None:
    """See that every correction is made and nothing else has moved.

    Exit status: 0 all made and nothing moved, 1 not so, 2 not judged.
    """
    from proofcheck.base.options import Options, load_settings
    from proofcheck.base.writing import check_free
    from proofcheck.cli.arguments import opened
    from proofcheck.docket import People
    from proofcheck.revise.revise_errors import ReviseError
    from proofcheck.revise.revise_job import Results, revise_files, revise_of_job

    options: Options = load_settings(settings) if settings else Options()
    results = Results.beside(scans[0], out)
    if not json:
        # Refused before the reading rather than after it.
        check_free([results.pdf, results.page], overwrite=overwrite)
    if job:
        held = opened(docket, originals)
        people = People(operator=operator, corrector=corrector)
        read = revise_of_job(held, job, scans, by=by, people=people, options=options)
    elif copy and earlier:
        read = revise_files(scans, earlier, copy, old_copy=old_copy, options=options)
    else:
        msg = "a revise needs its --job, or else --copy and the --earlier proof"
        raise ReviseError(msg)
    _show(read, scans[0], job, out, json=json, overwrite=overwrite)
    raise typer.Exit(0 if read.told.clean else 1)


def _show(
    read: Read, scan: Path, job: str, out: Path | None, *, json: bool, overwrite: bool
) -> None:
    from proofcheck.revise.revise_job import Results, write_revise
    from proofcheck.revise.revise_report import revise_json, revise_list

    if json:
        sys.stdout.write(revise_json(read.told, read.earlier, read.later))
        return
    unicode_out = (sys.stdout.encoding or "utf-8").lower().replace("-", "").startswith("utf")
    sys.stdout.write(revise_list(read.told, read.later, ascii_only=not unicode_out))
    results = Results.beside(scan, out)
    title = f"Job {job}: revise" if job else f"Revise: {scan.stem}"
    write_revise(read, results, title=title, overwrite=overwrite)
    pdf, page = visible(str(results.pdf)), visible(str(results.page))
    sys.stdout.write(f"Marked revise: {pdf}   To look through: {page}\n")
