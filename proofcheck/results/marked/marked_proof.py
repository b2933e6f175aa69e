"""The marked proof, written to files."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.base.writing import check_free, write_whole
from proofcheck.results.marked.paint_pdf import paint_pdf
from proofcheck.results.marked.paint_png import paint_png

if TYPE_CHECKING:
    from pathlib import Path

    from proofcheck.results.marked.parts import Layout

__all__ = ["draw_marked_proof", "png_names"]


def png_names(png: Path, sheets: int) -> list[Path]:
    """Names of the pictures: the name as given, or NAME-1.png, NAME-2.png … for several sheets."""
    if sheets == 1:
        return [png]
    return [png.with_name(f"{png.stem}-{number}{png.suffix}") for number in range(1, sheets + 1)]


def draw_marked_proof(
    layout: Layout, *, png: Path | None = None, pdf: Path | None = None, overwrite: bool = False
) -> tuple[Path, ...]:
    """Write a marked proof as pictures, as a PDF, or as both.

    Args:
        layout: the proof with every mark in its place.
        png: name of the picture; several sheets get -1, -2 … before the suffix.
        pdf: name of the PDF, one page a sheet.
        overwrite: whether files that exist may be replaced.

    Returns:
        The files written, pictures first.

    Raises:
        OutputError: a file exists already, or can't be written. Nothing is written then unless
            the trouble came up only in writing (a full disk); each file is whole or not there.
    """
    pictures = png_names(png, len(layout.pages)) if png is not None else []
    check_free([*pictures, *([pdf] if pdf is not None else [])], overwrite=overwrite)
    written = [
        write_whole(path, paint_png(page), overwrite=overwrite)
        for path, page in zip(pictures, layout.pages, strict=False)
    ]
    if pdf is not None:
        written.append(write_whole(pdf, paint_pdf(layout), overwrite=overwrite))
    return tuple(written)
