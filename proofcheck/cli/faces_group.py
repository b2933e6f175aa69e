"""The shop's book of faces on the command line: list, show, learn, forget."""

from __future__ import annotations

from pathlib import Path  # noqa: TC003 - looked up as the program runs
from typing import Annotated

import typer

from proofcheck.base.visible import visible
from proofcheck.cli.arguments import (
    PLACE,
    Folder,
    Number,
    Overwrite,
    Place,
    in_short,
    opened,
    out,
    said,
)

__all__ = ["add_faces"]

_HELP = """The shop's book of faces: the letters of each face as they print here.

It grows by itself from proofs that have the customer's O.K., and lies beside the docket; take the
file away and it is begun anew. Letters of a proof in a face of the book are held against it.
"""

Face = Annotated[int, typer.Argument(metavar="FACE", help="Its number, by the list.")]


def list_(docket: Place = PLACE, originals: Folder = None) -> None:
    """List the faces: name, body, how many letters are kept, and of which proofs."""
    from proofcheck.docket.face_lessons import faces_path
    from proofcheck.docket.show_faces import faces_text
    from proofcheck.metal.face_book import load_faces

    out(faces_text(load_faces(faces_path(opened(docket, originals)))))


def show(
    face: Face,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The .pdf or .png to write.")],
    overwrite: Overwrite = False,
    docket: Place = PLACE,
    originals: Folder = None,
) -> None:
    """Draw a specimen of a face as it prints here, on one sheet."""
    from proofcheck.docket.face_lessons import faces_path
    from proofcheck.metal.face_book import load_faces
    from proofcheck.results.face_specimen import write_specimen

    book = load_faces(faces_path(opened(docket, originals)))
    write_specimen(book.face(face), file, overwrite=overwrite)


def learn(job: Number, docket: Place = PLACE, originals: Folder = None) -> None:
    """Learn from a job's proof that has the customer's O.K.; it is done by itself as well."""
    from proofcheck.docket.face_lessons import learn_job

    said(visible(learn_job(opened(docket, originals), job).words))


def forget(
    face: Face,
    job: Annotated[
        str, typer.Option(metavar="JOB", help="Only what was learnt from this job.")
    ] = "",
    docket: Place = PLACE,
    originals: Folder = None,
) -> None:
    """Forget a face, or what it has of one job; the docket itself stays as it is."""
    from proofcheck.docket.face_lessons import forget as forget_face

    forget_face(opened(docket, originals), face, job)
    said(f"face {face} forgotten" + (f", as far as it was of job {visible(job)}" if job else ""))


def add_faces(app: typer.Typer) -> None:
    """Give the program its book of faces."""
    group = typer.Typer(no_args_is_help=True, help=_HELP, rich_markup_mode=None)
    for name, command in (("list", list_), ("show", show), ("learn", learn), ("forget", forget)):
        group.command(name, short_help=in_short(command))(command)
    app.add_typer(group, name="faces", short_help=_HELP.splitlines()[0])
