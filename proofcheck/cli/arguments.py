"""What the docket's commands have in common: their arguments, and what they say.

Names come from the trade. Every command that records asks for initials (`--by`).
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from collections.abc import Callable

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
    "in_short",
    "opened",
    "out",
    "said",
    "said_head",
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


def in_short(command: Callable[..., None]) -> str:
    """The first line of what a command says of itself, for the list of all commands."""
    return (command.__doc__ or "").strip().splitlines()[0]


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


def said_head(entry: Entry) -> None:
    """Say where the record stands now, to be noted outside it."""
    link = f"{entry.number}:{entry.link}"
    sys.stderr.write(f"noted outside the docket, this proves it later: {link}\n")
