"""The marked proof as a PDF: each sheet's picture with the marks over it as vector strokes."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from proofcheck.base.units import PDF_UNITS_PER_INCH
from proofcheck.results.marked.annotations import annotation, unread_annotation
from proofcheck.results.marked.labels import proof_called
from proofcheck.results.marked.pdf_strokes import strokes_stream
from proofcheck.results.marked.pictures import embed_picture

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    import pikepdf

    from proofcheck.results.marked.parts import Layout, Page

__all__ = ["paint_pages", "paint_pdf"]


def paint_pdf(layout: Layout) -> bytes:
    """The marked proof as the bytes of a PDF file, one page a sheet.

    The marks are drawn on the pages themselves, so that any printer prints them, and each is a
    standard annotation as well (ISO 32000), so that any viewer lists them.
    """
    title = f"{layout.heading.job}: {proof_called(layout.heading.proof).lower()}, marked"
    return paint_pages(layout.pages, title, layout.heading.date)


def paint_pages(pages: Iterable[Page], title: str, date: dt.date | None = None) -> bytes:
    """Pages as the bytes of a PDF file; `date` is that of their annotations, if they have any."""
    import pikepdf

    pdf = pikepdf.new()
    for page in pages:
        _add_page(pdf, page, date)
    pdf.docinfo["/Title"] = _plain(title)
    pdf.docinfo["/Creator"] = "proofcheck"
    out = io.BytesIO()
    pdf.save(out, deterministic_id=True, object_stream_mode=pikepdf.ObjectStreamMode.generate)
    return out.getvalue()


def _plain(text: str) -> str:
    from proofcheck.base.visible import visible

    return visible(text).encode("utf-8", "replace").decode("utf-8")


def _add_page(pdf: pikepdf.Pdf, page: Page, date: dt.date | None) -> None:
    import pikepdf

    scale = PDF_UNITS_PER_INCH / page.dpi
    size = (page.width_px * scale, page.height_px * scale)
    # From here on one unit is a pixel of the page and y runs down, as in the layout.
    flip = f"{scale:.6f} 0 0 {-scale:.6f} 0 {size[1]:.4f} cm\n"
    resources = pikepdf.Dictionary()
    content = [flip]
    if page.image is not None:
        (x, y), (height, width) = page.at, page.image.shape
        resources.XObject = pikepdf.Dictionary(
            Sheet=pdf.make_indirect(embed_picture(pdf, page.image))
        )
        content.append(f"q {width} 0 0 {-height} {x} {y + height} cm /Sheet Do Q\n")
    content.append(strokes_stream(page.inked()))
    made = pdf.add_blank_page(page_size=size)
    made.obj.Resources = resources
    made.obj.Contents = pdf.make_stream("".join(content).encode("ascii"))
    made.obj.Annots = pdf.make_indirect(
        pikepdf.Array(
            [
                pdf.make_indirect(annotation(pdf, made, mark, (scale, size[1]), date))
                for mark in page.text_marks
            ]
            + [
                pdf.make_indirect(unread_annotation(pdf, made, place, (scale, size[1])))
                for place in page.unread
            ]
        )
    )
