"""The docket on the command line: one group of commands, and `clear` and `revise` beside it."""

from __future__ import annotations

import typer

from proofcheck.cli import docket_keep as docket_keep_cli
from proofcheck.cli import docket_reader as docket_reader_cli
from proofcheck.cli import docket_record as docket_record_cli
from proofcheck.cli import docket_take as docket_take_cli
from proofcheck.cli import docket_view as docket_view_cli
from proofcheck.cli import export_command as export_cli
from proofcheck.cli.arguments import in_short
from proofcheck.cli.revise_command import revise

__all__ = ["add_docket"]

_HELP = """Keep the record of each job: copy, proofs, decisions, the customer's O.K.

Each entry carries the hash of the one before, so that whatever is changed, taken away or put in
between shows. Whoever changes everything (the file, the originals and the list of links that lie
beside it) and works the chain out anew leaves a record that holds in itself. Only a link noted
elsewhere shows that: each sign-off prints it and the sign-off sheet bears it; hold it against the
record with verify --noted, or clear --noted.
"""


def add_docket(app: typer.Typer) -> None:
    """Give the program its docket."""
    group = typer.Typer(no_args_is_help=True, help=_HELP, rich_markup_mode=None)
    rooms = (
        docket_record_cli, docket_take_cli, docket_view_cli, docket_keep_cli, export_cli,
        docket_reader_cli,
    )  # fmt: skip
    for room in rooms:
        for name, command in room.COMMANDS:
            group.command(name, short_help=in_short(command))(command)
    app.add_typer(group, name="docket", short_help=_HELP.splitlines()[0])
    for command in (docket_view_cli.clear, revise):
        app.command(short_help=in_short(command))(command)
