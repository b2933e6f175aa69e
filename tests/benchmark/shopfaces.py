"""A shop's book of faces for the benchmark: each book of the sample is a face the shop has."""

from __future__ import annotations

import random
import sys
from typing import TYPE_CHECKING

from proofcheck.base.errors import ProofcheckError
from proofcheck.base.options import Options
from proofcheck.metal import MetalSettings
from proofcheck.metal.context import Matter
from proofcheck.metal.face import Taught
from proofcheck.metal.face_book import FaceBook, load_faces, save_faces
from proofcheck.metal.face_learning import learn

from .donors import donor_page
from .pages import load_grey

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from .pages import Page

__all__ = ["taught_faces"]


def taught_faces(
    path: Path,
    pages: Sequence[Page],
    measured: Sequence[Page],
    many: int,
    read: Callable[..., object],
) -> None:
    """Make a book of faces of so many pages of each book, drawn by lot, none of them held back.

    Args:
        path: where it goes; one that is there already is left as it is.
        pages: all pages.
        measured: those that are measured; they and the pages their strange letters are of are
            held back.
        many: pages of each book.
        read: reads a picture of a page (`metal.read_picture`).
    """
    if path.exists():
        return
    held = {page.name for page in measured}
    held |= {donor_page(page, pages, number).name for number, page in enumerate(measured)}
    book = FaceBook()
    options = Options(type_too=False, recast=False, second_look=False)
    for name in sorted({page.book for page in pages}):
        free = [page for page in pages if page.book == name and page.name not in held]
        random.Random(f"faces {name}").shuffle(free)
        for number, page in enumerate(free[:many], 1):
            try:
                report = read(load_grey(page), page, options)
            except ProofcheckError as error:
                print(f"{page.name}: {error}", file=sys.stderr)
                continue
            matter = Matter.of(
                report.sheets, report.lines, report.readings, report.collation, report.copy,
                MetalSettings(),
            )  # fmt: skip
            taught = Taught(page.name, number, page.name, "2026-01-01", 0)
            lesson = learn(book, matter, frozenset(), taught, name)
            book = lesson.book
            print(f"{page.name}: {lesson.words}", file=sys.stderr)
    save_faces(path, book)
    print(f"{len(load_faces(path).faces)} faces, {path.stat().st_size} bytes", file=sys.stderr)
