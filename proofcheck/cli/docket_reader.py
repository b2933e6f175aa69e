"""`docket reader`: who may sit at the desk from another machine of the house's network."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from proofcheck.base.visible import visible
from proofcheck.cli.arguments import PLACE, Place, opened, out, said

__all__ = ["COMMANDS"]


def reader(
    name: Annotated[str, typer.Argument(metavar="NAME", help="Initials or name.")],
    remove: Annotated[bool, typer.Option("--remove", help="Take off the list.")] = False,
    docket: Place = PLACE,
) -> None:
    """Give a reader a token for the desk on the house's network (desk --lan), or a new one.

    The token is shown this once and kept nowhere; beside the docket stands only its hash.
    """
    from proofcheck.base.errors import SettingError
    from proofcheck.desk.admitted import add_reader, readers_path, remove_reader

    if "://" in docket:
        msg = "readers are listed beside a docket that is a file; this one is a database elsewhere"
        raise SettingError(msg)
    opened(docket, None)
    path = readers_path(Path(docket))
    if remove:
        remove_reader(path, name)
        said(f"{visible(name)} is off the list, and is put out of any desk that is open")
        return
    out(f"{add_reader(path, name)}\n")
    said(f"the token of {visible(name)}, shown this once; tell it to nobody else")


COMMANDS = (("reader", reader),)
"""By name."""
