"""Each mark as a standard annotation of the PDF (ISO 32000-1, 12.5), so that any viewer lists it.

Every annotation brings its own appearance, the same strokes as on the page: viewers differ in
what they draw of their own accord, and some draw nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.base.decision_words import status_called
from proofcheck.base.found import Status
from proofcheck.base.visible import visible
from proofcheck.results.marked.paint_png import INK_RGB
from proofcheck.results.marked.pdf_strokes import strokes_stream
from proofcheck.results.paper_names import mark_name

if TYPE_CHECKING:
    import datetime as dt

    import pikepdf

    from proofcheck.results.marked.parts import PlacedTextMark, PlacedUnread
    from proofcheck.results.paper_names import Paper

__all__ = ["annotation", "unread_annotation"]

_PRINT = 4
"""Annotation flag "Print"."""

_SUBTYPES = {
    "stroke": "/StrikeOut",
    "stroke-close-up": "/StrikeOut",
    "line-through": "/StrikeOut",
    "caret": "/Caret",
    "caret-under-line": "/Caret",
    "caret-over-line": "/Caret",
    "underline": "/Underline",
    "underline-2": "/Underline",
    "underline-3": "/Underline",
    "underline-3-2": "/Underline",
    "wavy": "/Squiggly",
}
"""Kinds of annotation by the mark in the text; whatever else is drawn is ink."""


def annotation(
    pdf: pikepdf.Pdf,
    page: pikepdf.Page,
    mark: PlacedTextMark,
    flip: tuple[float, float],
    date: dt.date | None,
    paper: Paper | None = None,
) -> pikepdf.Dictionary:
    """The annotation of one mark.

    Args:
        pdf: the file it goes into.
        page: the page it stands on.
        mark: the mark in its place.
        flip: points to a pixel, and the height of the page in points.
        date: of the reading.
        paper: of which proof on a docket it is a mark.
    """
    import pikepdf

    scale, height = flip
    rect, said = mark.rect, _contents(mark)
    box = [rect.left * scale, height - rect.bottom * scale]
    box = [round(v, 3) for v in (*box, rect.right * scale, height - rect.top * scale)]
    made = pikepdf.Dictionary(
        Type=pikepdf.Name.Annot,
        Rect=pikepdf.Array(box),
        P=page.obj,
        NM=pikepdf.String(mark_name(paper, mark.fault.id, said)),
        T=pikepdf.String("proofcheck"),
        Subj=pikepdf.String(f"{status_called(mark.fault.status)}: {mark.fault.kind}"),
        Contents=pikepdf.String(said),
        F=_PRINT,
        C=pikepdf.Array([round(part / 255, 3) for part in INK_RGB]),
        AP=pikepdf.Dictionary(N=_appearance(pdf, mark, flip, box)),
    )
    if date is not None:
        made.M = pikepdf.String(f"D:{date:%Y%m%d}")
    _set_kind(made, mark, flip, box)
    return made


def unread_annotation(
    pdf: pikepdf.Pdf, page: pikepdf.Page, place: PlacedUnread, flip: tuple[float, float]
) -> pikepdf.Dictionary:
    """The annotation of a place that was not read: a square round it; see `annotation`."""
    import pikepdf

    scale, height = flip
    rect = place.rect
    box = [rect.left * scale, height - rect.bottom * scale]
    box = [round(v, 3) for v in (*box, rect.right * scale, height - rect.top * scale)]
    return pikepdf.Dictionary(
        Type=pikepdf.Name.Annot,
        Subtype=pikepdf.Name.Square,
        Rect=pikepdf.Array(box),
        P=page.obj,
        T=pikepdf.String("proofcheck"),
        Subj=pikepdf.String("not read"),
        Contents=pikepdf.String(f"Not read: {visible(place.words)}"),
        F=_PRINT,
        C=pikepdf.Array([round(part / 255, 3) for part in INK_RGB]),
        AP=pikepdf.Dictionary(N=_appearance(pdf, place, flip, box)),
    )


def _appearance(
    pdf: pikepdf.Pdf,
    mark: PlacedTextMark | PlacedUnread,
    flip: tuple[float, float],
    box: list[float],
) -> pikepdf.Stream:
    """A form of the same strokes as on the page, in the page's own coordinates."""
    import pikepdf

    scale, height = flip
    drawn = f"{scale:.6f} 0 0 {-scale:.6f} 0 {height:.4f} cm\n" + strokes_stream([mark.inked])
    return pdf.make_stream(
        drawn.encode("ascii"),
        {
            "/Type": pikepdf.Name.XObject,
            "/Subtype": pikepdf.Name.Form,
            "/BBox": pikepdf.Array(box),
            "/Resources": pikepdf.Dictionary(),
        },
    )


def _set_kind(
    made: pikepdf.Dictionary, mark: PlacedTextMark, flip: tuple[float, float], box: list[float]
) -> None:
    """The annotation's subtype and what that subtype must have."""
    import pikepdf

    scale, height = flip
    subtype = "/Ink" if _asks(mark) else _SUBTYPES.get(mark.fault.mark.text, "/Ink")
    made.Subtype = pikepdf.Name(subtype)
    if subtype == "/Ink":
        made.InkList = pikepdf.Array(
            [
                pikepdf.Array(
                    [
                        round(v, 2)
                        for x, y in stroke.points.tolist()
                        for v in (x * scale, height - y * scale)
                    ]
                )
                for stroke in mark.inked.drawing
            ]
        )
    elif subtype == "/Caret":
        made.Sy = pikepdf.Name("/None")
    else:
        left, low, right, high = box
        made.QuadPoints = pikepdf.Array([left, high, right, high, left, low, right, low])


def _asks(mark: PlacedTextMark) -> bool:
    """A query's ring is ink, whatever the mark would be if it were granted."""
    return mark.fault.status is Status.QUERY and "caret" not in mark.fault.mark.text


def _contents(mark: PlacedTextMark) -> str:
    """What a viewer's list shows: line, margin sign, instruction, certainty and likely cause."""
    fault = mark.fault
    said = fault.mark.words
    if fault.status is Status.QUERY and not said.startswith("query"):
        said = f"query: {said}?"
    parts = [
        f"Line {mark.line or fault.line}: {said}",
        f"margin: {fault.mark.margin}",
        f"certainty {fault.certainty:.2f}",
    ]
    if mark.number:
        parts.append(f"no. {mark.number}")
    if fault.grade is not None:
        parts.append(f"grade: {fault.grade}")
    if fault.cause is not None:
        parts.append(f"likely cause: {fault.cause}")
    return visible("; ".join(parts)).encode("utf-8", "replace").decode("utf-8")
