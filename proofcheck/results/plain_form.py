"""Boxes to tick and a place to sign on a printed page, for those who answer in a PDF viewer.

After ISO 32000-1: radio buttons 12.7.4.2.4, signature fields 12.7.4.5, private data of a page 14.5
(read long ago, and written from memory; held against two readers of PDF in the tests).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from proofcheck.results.paper_names import PIECE

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pikepdf

__all__ = ["FOR_APPROVAL", "Field", "add_form"]

FOR_APPROVAL: Final = "/ForApproval"
"""Under which name the private data of a page say of which proof a sheet asks the approval."""
_RADIO: Final = 1 << 15
"""Flag of a group of which one is ticked (bit 16); without bit 15 it can be unticked again."""
_PRINTED: Final = 4
_MOMENT: Final = "D:20000101000000Z"
"""Private data bear a moment; one and the same, so that the same sheet has the same bytes."""


@dataclass(frozen=True, slots=True)
class Field:
    """A box to tick, or with no value the place to sign."""

    name: str
    """Of the group, or of the signature."""
    value: str
    """What a tick in it says."""
    rect: tuple[float, float, float, float]
    """Left, foot, right and head, in points from the page's lower left corner."""


def add_form(pdf: pikepdf.Pdf, pages: Sequence[Sequence[Field]], paper: str) -> None:
    """Give a file its fields, and each page the name of the proof it is about.

    Args:
        pdf: with its pages.
        pages: the fields of each page, in the pages' order.
        paper: the proof's name (`paper_names.Paper.name`).
    """
    import pikepdf

    groups: dict[str, pikepdf.Object] = {}
    for page, fields in zip(pdf.pages, pages, strict=True):
        private = pikepdf.Dictionary({FOR_APPROVAL: pikepdf.String(paper)})
        data = pikepdf.Dictionary(LastModified=pikepdf.String(_MOMENT), Private=private)
        page.obj.PieceInfo = pikepdf.Dictionary({PIECE: data})
        page.obj.LastModified = pikepdf.String(_MOMENT)
        made = [_widget(pdf, page, field, groups) for field in fields]
        if made:
            page.obj.Annots = pikepdf.Array(made)
    if groups:
        pdf.Root.AcroForm = pdf.make_indirect(
            pikepdf.Dictionary(Fields=pikepdf.Array(list(groups.values())))
        )


def _widget(
    pdf: pikepdf.Pdf, page: pikepdf.Page, field: Field, groups: dict[str, pikepdf.Object]
) -> pikepdf.Object:
    import pikepdf

    made = pdf.make_indirect(
        pikepdf.Dictionary(
            Type=pikepdf.Name.Annot,
            Subtype=pikepdf.Name.Widget,
            Rect=pikepdf.Array([round(side, 2) for side in field.rect]),
            F=_PRINTED,
            P=page.obj,
        )
    )
    if not field.value:
        made.FT, made.T = pikepdf.Name.Sig, pikepdf.String(field.name)
        groups[field.name] = made
        return made
    if field.name not in groups:
        groups[field.name] = pdf.make_indirect(
            pikepdf.Dictionary(
                FT=pikepdf.Name.Btn, Ff=_RADIO, T=pikepdf.String(field.name),
                V=pikepdf.Name.Off, Kids=pikepdf.Array(),
            )
        )  # fmt: skip
    made.Parent, made.AS = groups[field.name], pikepdf.Name.Off
    side = field.rect[2] - field.rect[0]
    cross = f"1.4 w 0 G 2 2 m {side - 2:g} {side - 2:g} l 2 {side - 2:g} m {side - 2:g} 2 l S\n"
    made.AP = pikepdf.Dictionary(
        N=pikepdf.Dictionary(
            {f"/{field.value}": _look(pdf, cross, side), "/Off": _look(pdf, "", side)}
        )
    )
    groups[field.name].Kids.append(made)
    return made


def _look(pdf: pikepdf.Pdf, strokes: str, side: float) -> pikepdf.Object:
    import pikepdf

    return pdf.make_stream(
        strokes.encode("ascii"),
        Type=pikepdf.Name.XObject,
        Subtype=pikepdf.Name.Form,
        BBox=pikepdf.Array([0, 0, round(side, 2), round(side, 2)]),
    )
