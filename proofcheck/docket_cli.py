"""The docket on the command line: one group of commands, and `clear` and `revise` beside it.

Names come from the trade. Every command that records asks for initials (`--by`).
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from proofcheck.docket import Docket
    from proofcheck.docket.chain import Entry

__all__ = [
    "PLACE",
    "By",
    "Folder",
    "Number",
    "Overwrite",
    "Place",
    "Scans",
    "add_docket",
    "opened",
    "out",
    "said",
]

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
PLACE = "docket.db"


def add_docket(app: typer.Typer) -> None:
    """Give the program its docket."""
    from proofcheck import docket_keep_cli, docket_record_cli, docket_view_cli
    from proofcheck.revise_cli import revise

    group = typer.Typer(
        no_args_is_help=True,
        help="Keep the record of each job: copy, proofs, decisions, the customer's O.K.",
    )
    for room in (docket_record_cli, docket_view_cli, docket_keep_cli):
        for name, command in room.COMMANDS:
            group.command(name)(command)
    app.add_typer(group, name="docket")
    app.command(name="clear")(docket_view_cli.clear)
    app.command(name="revise")(revise)


def opened(place: str, originals: Path | None, *, create: bool = False) -> Docket:
    """The docket named on the command line."""
    from proofcheck.docket import open_docket

    return open_docket(place, create=create, originals=originals)


def out(text: str) -> None:
    """Text that was asked for."""
    sys.stdout.write(text)


def said(text: str, entry: Entry | None = None) -> None:
    """Say what was done, and warn of a clock that stands wrong."""
    sys.stderr.write(f"{text}\n")
    if entry is not None and entry.clock_back:
        sys.stderr.write(
            f"the clock stands at {entry.at:%Y-%m-%d %H:%M} UTC, earlier than at the entry "
            "before; recorded all the same, in order. Set the clock right\n"
        )
