"""`proofcheck watch`: at the scanner."""

from __future__ import annotations

import sys
from pathlib import Path  # noqa: TC003 - the command line reads the annotations
from typing import Annotated

import typer

from proofcheck.cli.arguments import PLACE, By, Folder, Place, opened

__all__ = ["watch"]


def watch(  # noqa: PLR0913, PLR0917 - one parameter an option
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Where the scanner writes to.")],
    by: By,
    out: Annotated[
        Path | None,
        typer.Option(metavar="FOLDER", help="Where papers go; FOLDER-read beside it by default."),
    ] = None,
    print_with: Annotated[
        str, typer.Option(metavar="COMMAND", help='Print each marked proof: "lp -d desk {}".')
    ] = "",
    settings: Annotated[Path | None, typer.Option(metavar="FILE", help="Shop settings.")] = None,
    once: Annotated[bool, typer.Option("--once", help="Stop when nothing is left to do.")] = False,
    quiet: Annotated[
        float, typer.Option(metavar="S", help="A proof is whole when no sheet came for so long.")
    ] = 8.0,
    docket: Place = PLACE,
    originals: Folder = None,
) -> None:
    """Read each proof that the scanner lays into FOLDER into the docket.

    Its job is told by the file's name (307.png, 307-1.png …) or by the job's slip scanned before
    it. Papers go to a folder for each job; what can't be read is put apart, with a line why.
    """
    from proofcheck.base.options import Options, load_settings
    from proofcheck.docket.recording import checked_name
    from proofcheck.pile.watching import Watch, WatchJob

    place = folder.resolve()
    asked = WatchJob(
        folder=folder,
        by=checked_name(by, "initials"),
        out=out or place.with_name(f"{place.name}-read"),
        options=load_settings(settings) if settings else Options(),
        print_with=print_with,
        once=once,
        quiet_s=quiet,
    )

    def say(words: str) -> None:
        sys.stdout.write(f"{words}\n")
        sys.stdout.flush()

    watching = Watch(asked, opened(docket, originals), say)
    watching.run()
    raise typer.Exit(2 if watching.apart else 0)
