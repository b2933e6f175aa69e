"""The marked proof as a PDF: each sheet's picture with the marks over it as vector strokes."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from proofcheck.base.units import PDF_UNITS_PER_INCH
from proofcheck.results.marked.annotations import annotation, unread_annotation
from proofcheck.results.marked.labels import proof_called
from proofcheck.results.marked.pdf_strokes import strokes_stream
from proofcheck.results.marked.pictures import embed_picture
from proofcheck.results.paper_names import PIECE

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    import pikepdf

    from proofcheck.results.marked.parts import Layout, Page
    from proofcheck.results.paper_names import Paper

__all__ = ["paint_pages", "paint_pdf"]


def paint_pdf(layout: Layout) -> bytes:
    """The marked proof as the bytes of a PDF file, one page a sheet.

    The marks are drawn on the pages themselves, so that any printer prints them, and each is a
    standard annotation as well (ISO 32000), so that any viewer lists them.
    """
    title = f"{layout.heading.job}: {proof_called(layout.heading.proof).lower()}, marked"
    return paint_pages(layout.pages, title, layout.heading.date, layout.heading.paper)


def paint_pages(
    pages: Iterable[Page], title: str, date: dt.date | None = None, paper: Paper | None = None
) -> bytes:
    """Pages as the bytes of a PDF file.

    Args:
        pages: in order.
        title: of the file.
        date: of their annotations, if they have any.
        paper: of which proof on a docket they are.
    """
    import pikepdf

    pdf = pikepdf.new()
    for page in pages:
        _add_page(pdf, page, date, paper)
    pdf.docinfo["/Title"] = _plain(title)
    pdf.docinfo["/Creator"] = "proofcheck"
    out = io.BytesIO()
    pdf.save(out, deterministic_id=True, object_stream_mode=pikepdf.ObjectStreamMode.generate)
    return out.getvalue()


def _plain(text: str) -> str:
    from proofcheck.base.visible import visible

    return visible(text).encode("utf-8", "replace").decode("utf-8")


def _add_page(
    pdf: pikepdf.Pdf, page: Page, date: dt.date | None, paper: Paper | None = None
) -> None:
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
    if paper is not None and date is not None:
        _set_page_data(made, page, paper, scale, date)
    made.obj.Annots = pdf.make_indirect(
        pikepdf.Array(
            [
                pdf.make_indirect(annotation(pdf, made, mark, (scale, size[1]), date, paper))
                for mark in page.text_marks
            ]
            + [
                pdf.make_indirect(unread_annotation(pdf, made, place, (scale, size[1])))
                for place in page.unread
            ]
        )
    )


def _set_page_data(
    made: pikepdf.Page, page: Page, paper: Paper, scale: float, date: dt.date
) -> None:
    """Say on a page which proof and sheet it shows, and where.

    Args:
        made: the page of the file.
        page: as laid out.
        paper: of which proof it is.
        scale: points to a pixel.
        date: of the drawing.
    """
    import pikepdf

    moment = pikepdf.String(f"D:{date:%Y%m%d}000000Z")
    private = pikepdf.Dictionary(
        Paper=pikepdf.String(paper.name),
        Sheet=page.sheet,
        At=pikepdf.Array(list(page.at)),
        Scale=round(scale, 9),
        Height=round(page.height_px * scale, 4),
    )
    data = pikepdf.Dictionary(LastModified=moment, Private=private)
    made.obj.PieceInfo = pikepdf.Dictionary({PIECE: data})
    made.obj.LastModified = moment
