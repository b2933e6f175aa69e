"""`proofcheck export` and `proofcheck docket export`: a proof told to other programs."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from proofcheck.cli.arguments import PLACE, Folder, Number, Overwrite, Place, opened, said

__all__ = ["COMMANDS", "export"]

_Page = Annotated[
    Path | None,
    typer.Option("--page-xml", metavar="FILE", help="Lines, words, letters as PAGE XML."),
]
_Alto = Annotated[Path | None, typer.Option("--alto", metavar="FILE", help="The same as ALTO.")]
_Annotations = Annotated[
    Path | None,
    typer.Option("--annotations", metavar="FILE", help="What was found, as Web Annotations."),
]


def export(
    record: Annotated[Path, typer.Argument(metavar="RECORD", help="What read --json wrote.")],
    page_xml: _Page = None,
    alto: _Alto = None,
    annotations: _Annotations = None,
    overwrite: Overwrite = False,
) -> None:
    """Give a proof out for other programs, from its RECORD alone; nothing is read again.

    Places are in pixels of the scan. Of several sheets, PAGE XML and ALTO are a file each (NAME-1,
    NAME-2 …). Exit status as of the reading.
    """
    from proofcheck.export_job import Exports, export_record

    asked = Exports(page_xml, alto, annotations, overwrite=overwrite)
    _done(*export_record(record, asked))


def docket_export(  # noqa: PLR0913, PLR0917 - one parameter an option
    job: Number,
    archive: Annotated[
        Path | None, typer.Argument(metavar="ARCHIVE", help="The whole job, as a ZIP to write.")
    ] = None,
    proof: Annotated[int, typer.Option(metavar="N", help="Which proof; the latest if 0.")] = 0,
    page_xml: _Page = None,
    alto: _Alto = None,
    annotations: _Annotations = None,
    overwrite: Overwrite = False,
    docket: Place = PLACE,
    originals: Folder = None,
) -> None:
    """Write a whole job as one ARCHIVE that verifies on its own; or a proof for other programs.

    A proof is told with what was decided as replies to its faults. Exit status, of a proof: 1
    where anything is to be set right or to be settled.
    """
    from proofcheck.docket import export_job
    from proofcheck.export_job import Exports, export_from_docket

    held = opened(docket, originals)
    if archive is not None:
        export_job(held, job, archive, overwrite=overwrite)
    if archive is None or page_xml or alto or annotations:
        asked = Exports(page_xml, alto, annotations, overwrite=overwrite)
        _done(*export_from_docket(held, job, proof, asked))


def _done(files: list[Path], status: int) -> None:
    from proofcheck.base.visible import visible

    said("Written: " + ", ".join(visible(str(path)) for path in files))
    raise typer.Exit(status)


COMMANDS = (("export", docket_export),)
"""In the docket's group; `export` stands beside it."""
