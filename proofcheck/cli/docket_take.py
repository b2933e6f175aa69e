"""`docket take`: a marked proof that was answered in a PDF viewer, taken in."""

from __future__ import annotations

from pathlib import Path  # noqa: TC003 - the command line reads the annotations
from typing import Annotated

import typer

from proofcheck.cli.arguments import PLACE, Folder, Place, opened, out

__all__ = ["COMMANDS"]


def take(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The marked proof, a PDF.")],
    by: Annotated[
        str, typer.Option("--by", metavar="INITIALS", help="Of who is not named in it.")
    ] = "",
    customer: Annotated[
        bool, typer.Option("--customer", help="The customer's: it answers the queries put to them.")
    ] = False,
    show: Annotated[bool, typer.Option("--show", help="Only show what would be recorded.")] = False,
    docket: Place = PLACE,
    originals: Folder = None,
) -> None:
    """Take in what was answered and marked on a proof's PDF in a PDF viewer.

    Of a reply's state, Accepted and Completed mean correct, Rejected let it stand, Cancelled no
    fault, None undecided; words alone decide where they begin with correct, stet or no fault, or
    end in a question mark. What is struck out goes, or has the note's words in its place; a caret
    puts them in; words on anything else are a query, or a fault of the type ("broken letter").
    What was taken before is not again. Exit status: 1 where something could not be taken.
    """
    from proofcheck.docket.originals import Original
    from proofcheck.docket.show_taken import taken_text
    from proofcheck.docket.taking_in import take_marked

    held = opened(docket, originals)
    taken = take_marked(held, Original.of(file), by=by, customer=customer, only_show=show)
    out(taken_text(taken, only_show=show))
    raise typer.Exit(1 if taken.left else 0)


COMMANDS = (("take", take),)
"""By name."""
