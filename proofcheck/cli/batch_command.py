"""`proofcheck batch`: a whole pile of proofs."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

import typer

from proofcheck.cli.taking import takes

__all__ = ["batch"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchArguments:
    """Each field one argument or option."""

    given: Annotated[
        Path,
        typer.Argument(
            metavar="PILE",
            help="A folder of scans and copies, or a table (CSV: proof, copy, job, options).",
            show_default=False,
        ),
    ]
    out: Annotated[
        Path | None,
        typer.Option(metavar="FOLDER", help="Where results go; PILE-read beside it by default."),
    ] = None
    settings: Annotated[Path | None, typer.Option(metavar="FILE", help="Shop settings, TOML.")] = (
        None
    )
    options: Annotated[
        str, typer.Option(metavar="TEXT", help='Choices for all, as in a table: "part dpi=300".')
    ] = ""
    proof: Annotated[str, typer.Option(metavar="TEXT", help="Which proof: first, revise …")] = (
        "first"
    )
    workers: Annotated[
        int, typer.Option(metavar="N", help="Worker processes; one for each core by default.")
    ] = 0
    memory: Annotated[
        int, typer.Option(metavar="MIB", help="The most memory a worker may have.")
    ] = 0
    cluster: Annotated[
        str, typer.Option(metavar="ADDRESS", help="Read on the workers of this scheduler.")
    ] = ""
    overwrite: Annotated[
        bool, typer.Option("--overwrite", help="Replace papers of other scans or other copy.")
    ] = False
    pairs: Annotated[
        bool, typer.Option("--pairs", help="Only say what goes with what; read nothing.")
    ] = False


@takes(BatchArguments)
def batch(given: BatchArguments) -> None:
    """Read a whole PILE of proofs, and sum them up with the worst first.

    A folder is paired by names: 307.png with 307.txt, and 307-1.png, 307-2.png are its sheets.
    Broken off, it goes on where it was when it is called again. Exit status: that of the worst.
    """
    from proofcheck.base.options import Options, load_settings
    from proofcheck.pile.batch_job import BatchJob, run_batch
    from proofcheck.pile.cell_options import options_in
    from proofcheck.read_job import Progress

    usual = load_settings(given.settings) if given.settings else Options()
    job = BatchJob(
        given=given.given,
        folder=given.out,
        options=options_in(given.options, usual, Path()),
        proof=given.proof,
        workers=given.workers,
        memory_mib=given.memory,
        cluster=given.cluster,
        overwrite=given.overwrite,
        pairs_only=given.pairs,
    )
    terminal = sys.stderr if sys.stderr.isatty() else None
    raise typer.Exit(run_batch(job, sys.stdout, Progress(terminal)))
