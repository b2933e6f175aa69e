"""`proofcheck desk`: the docket in the browser."""

from __future__ import annotations

import gc
from pathlib import Path  # noqa: TC003 - the command line reads the annotations
from typing import Annotated

import typer

from proofcheck.cli.arguments import PLACE, Folder, Place, opened, said

__all__ = ["desk"]


def desk(
    by: Annotated[str, typer.Option("--by", metavar="INITIALS", help="Who sits at it.")] = "",
    port: Annotated[int, typer.Option(metavar="N", help="Its port; any that is free if 0.")] = 0,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Only say where it is.")] = False,
    lan: Annotated[
        str,
        typer.Option(metavar="ADDRESS", help="Let readers in from the house's network, here."),
    ] = "",
    settings: Annotated[Path | None, typer.Option(metavar="FILE", help="Shop settings.")] = None,
    docket: Place = PLACE,
    originals: Folder = None,
) -> None:
    """Open the desk: read, decide and sign off in the browser.

    It listens on this machine alone and keeps everything in the docket; a new docket is begun
    where there is none. Ctrl-C closes it. With --lan it listens at that address of this machine
    instead, for the readers that docket reader has given a name and token; what is said goes over
    that network unencrypted, so use it on none but the shop's own.
    """
    # Nothing of what is loaded here is ever garbage: it is not looked through for any, now or while
    # the desk is open.
    gc.disable()
    from proofcheck.base.found_settings import settings_for
    from proofcheck.desk.serve import serve

    gc.freeze()
    gc.enable()

    options = settings_for(settings, tell=said)
    held = opened(docket, originals, create=True)
    serve(
        held, options, port=port, by=by, browser=not no_browser, lan=lan,
        say=lambda address: said(f"the desk is open at {address} (Ctrl-C closes it)"),
    )  # fmt: skip
