"""Keeping the docket whole: going through it, and jobs as archives."""

from __future__ import annotations

import sys
from pathlib import Path  # noqa: TC003 - looked up as the program runs
from typing import Annotated

import typer

from proofcheck.base.visible import visible
from proofcheck.cli.arguments import (
    PLACE,
    By,
    Folder,
    Place,
    opened,
    out,
    said,
    said_head,
)

__all__ = ["COMMANDS"]


def verify(
    archive: Annotated[
        Path | None, typer.Argument(metavar="ARCHIVE", help="A job's archive instead.")
    ] = None,
    noted: Annotated[
        str, typer.Option(metavar="LINK", help="Noted earlier: NUMBER:LINK, or a file with it.")
    ] = "",
    stamp: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="A time-stamp of the link noted (RFC 3161)."),
    ] = None,
    authority: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Certificates that its authority is trusted by, PEM."),
    ] = None,
    docket: Place = PLACE,
    originals: Folder = None,
) -> None:
    """Go through the whole record; exit 0 if it holds, 1 with every trouble named if not.

    Found is whatever was changed, damaged or taken away, in the file, among the originals and
    against the list of links beside them. A docket put back, swapped or worked out anew together
    with all that lies beside it holds in itself: only a link noted outside it shows that.
    """
    from proofcheck.docket import read_archive
    from proofcheck.docket import verify as go_through
    from proofcheck.docket.given import noted_link, stamp_words
    from proofcheck.read_job import Progress

    stamped = stamp_words(noted, stamp, authority)
    if archive is not None:
        job = read_archive(archive)
        out(f"job {visible(job.job)}: {len(job.chain)} entries, the archive holds\n")
        return
    progress = Progress(sys.stderr if sys.stderr.isatty() else None)
    held = opened(docket, originals)
    checked = go_through(held, noted=noted_link(noted), tell=progress.tell)
    progress.done()
    for line in (*checked.troubles, *checked.notes, *stamped):
        out(f"{line}\n")
    said = "the record is BROKEN" if checked.troubles else "the record holds"
    out(f"{checked.entries} entries, {checked.originals} originals: {said}\n")
    out(f"last link {checked.number}:{checked.book}\n{checked.anchor}")
    raise typer.Exit(1 if checked.troubles else 0)


def import_(
    archive: Annotated[Path, typer.Argument(metavar="ARCHIVE", help="A job's archive.")],
    by: By,
    another: Annotated[
        bool, typer.Option("--another", help="Another job, though its number looks like one's.")
    ] = False,
    docket: Place = PLACE,
    originals: Folder = None,
) -> None:
    """Take a job in from its archive, or bring it up to date."""
    from proofcheck.docket import import_job
    from proofcheck.docket.show import imported_text

    held = opened(docket, originals, create=True)
    taken = import_job(held, archive, by=by, another=another)
    said(imported_text(taken, held.shop), taken.entry)


def put_back(
    by: By,
    reason: Annotated[str, typer.Option(metavar="TEXT", help="Why it was put back.")] = "",
    docket: Place = PLACE,
    originals: Folder = None,
) -> None:
    """Record that an older copy of the docket was put back on purpose, and what was lost by it."""
    from proofcheck.docket.putback import record_put_back

    entry = record_put_back(opened(docket, originals), by=by, reason=reason)
    said("recorded on the docket's own chain; verify holds the rest of the list as before", entry)
    said_head(entry)


def stamp_request(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Where the request goes.")],
    overwrite: Annotated[bool, typer.Option("--overwrite", help="Write over files.")] = False,
    docket: Place = PLACE,
    originals: Folder = None,
) -> None:
    """Write a request to have the record's last link time-stamped (RFC 3161), and the link itself.

    Nothing is sent from here: have any authority answer it, and keep its answer with the link,
    which lies beside it as FILE.txt. Both are held against the record by
    verify --noted FILE.txt --stamp ANSWER --authority CERTIFICATES.
    """
    from proofcheck.base.writing import check_free, write_whole
    from proofcheck.docket import verify as go_through
    from proofcheck.docket.time_stamp import request_for

    link = file.with_name(f"{file.name}.txt")
    check_free([file, link], overwrite=overwrite)
    anchor = go_through(opened(docket, originals)).anchor
    write_whole(file, request_for(anchor), overwrite=overwrite)
    write_whole(link, anchor.encode("ascii"), overwrite=overwrite)
    said(f"request {visible(str(file))} for the link in {visible(str(link))}")


COMMANDS = (
    ("stamp", stamp_request),
    ("verify", verify),
    ("import", import_),
    ("put-back", put_back),
)
"""By name."""
