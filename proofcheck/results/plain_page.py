"""Printed pages, A4, in the fonts that every PDF viewer has (ISO 32000): type, not strokes."""

from __future__ import annotations

import io
import textwrap
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.results.hand_font import HandLetters, stretches
from proofcheck.results.marked.pictures import embed_picture
from proofcheck.results.plain_form import Field, add_form
from proofcheck.results.plain_widths import text_width

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pikepdf

    from proofcheck.base.values import Grey

__all__ = [
    "FOOT",
    "HEIGHT",
    "MARGIN",
    "TOP",
    "TYPED",
    "WIDTH",
    "PlainPage",
    "plain_pdf",
    "wrapped",
]

WIDTH, HEIGHT = 595.28, 841.89
"""A4 in points of PDF."""
MARGIN, TOP, FOOT = 54.0, 60.0, 66.0
TYPED = 0.6
"""Width of every character of the fixed-width font, in ems (Adobe's metrics of the 14 fonts)."""
_BOLDER = 1.07
"""By so much the bold font is wider than the plain one, at most."""
_FONTS = {
    "T": "Courier",
    "I": "Courier-Oblique",
    "H": "Courier-Bold",
    "P": "Helvetica",
    "B": "Helvetica-Bold",
}
_BOLD = {"H", "B"}


@dataclass(slots=True)
class PlainPage:
    """One page as it fills, y in points from its top."""

    content: list[str] = field(default_factory=list)
    y: float = TOP
    pictures: list[Grey] = field(default_factory=list)
    fields: list[Field] = field(default_factory=list)
    hand: HandLetters = field(default_factory=HandLetters)

    def put(self, font: str, size: float, x: float, y: float, text: str) -> None:
        """Write a line of text; words with letters the fonts lack in the project's own hand."""
        shown = [
            self.hand.shown(words, size, bold=font in _BOLD)
            if own
            else f"/{font} {size:g} Tf <{words.encode('cp1252').hex()}> Tj"
            for words, own in stretches(text)
        ]
        self.content.append(f"BT {x:.2f} {HEIGHT - y:.2f} Td {' '.join(shown)} ET\n")

    def rule(self, x: float, y: float, length: float) -> None:
        """Draw a thin rule."""
        at = HEIGHT - y
        self.content.append(f"0.5 w 0 G {x:.2f} {at:.2f} m {x + length:.2f} {at:.2f} l S\n")

    def box(self, x: float, y: float, side: float) -> None:
        """Draw an empty box to be ticked, standing on the line."""
        self.content.append(f"0.7 w 0 G {x:.2f} {HEIGHT - y:.2f} {side:g} {side:g} re S\n")

    def tick(self, group: str, value: str, x: float, y: float, side: float) -> None:
        """Draw an empty box that can be ticked in a viewer too: of a group one alone."""
        self.box(x, y, side)
        self.fields.append(Field(group, value, (x, HEIGHT - y, x + side, HEIGHT - y + side)))

    def sign_here(self, name: str, x: float, y: float, width: float, height: float) -> None:
        """A place for an electronic signature, standing on the line."""
        self.fields.append(Field(name, "", (x, HEIGHT - y, x + width, HEIGHT - y + height)))

    def picture(self, image: Grey, x: float, y: float, width: float) -> float:
        """Put a picture with its top left corner there; returns how high it stands."""
        height = float(width * image.shape[0] / image.shape[1])
        self.pictures.append(image)
        name = f"Picture{len(self.pictures)}"
        at = HEIGHT - y - height
        self.content.append(f"q {width:.2f} 0 0 {height:.2f} {x:.2f} {at:.2f} cm /{name} Do Q\n")
        return height

    def frame_thin(self, x: float, y: float, width: float, height: float) -> None:
        """Draw a thin frame with its top left corner there."""
        at = HEIGHT - y - height
        self.content.append(f"q 0.4 w 0.6 G {x:.2f} {at:.2f} {width:.2f} {height:.2f} re S Q\n")

    def frame(self, x: float, y: float, width: float, height: float) -> None:
        """Draw a frame in the reader's ink with its top left corner there."""
        at = HEIGHT - y - height
        self.content.append(
            f"q 1.2 w 0.61 0.08 0.15 RG {x:.2f} {at:.2f} {width:.2f} {height:.2f} re S Q\n"
        )


def plain_pdf(pages: Sequence[PlainPage], title: str, paper: str = "") -> bytes:
    """Pages as the bytes of a PDF file.

    Args:
        pages: in order.
        title: the document's.
        paper: name of the proof it is for the approval of, by which it is known again.
    """
    import pikepdf

    pdf = pikepdf.new()
    fonts = pikepdf.Dictionary(
        {
            f"/{name}": pdf.make_indirect(
                pikepdf.Dictionary(
                    Type=pikepdf.Name.Font,
                    Subtype=pikepdf.Name.Type1,
                    BaseFont=pikepdf.Name(f"/{base}"),
                    Encoding=pikepdf.Name.WinAnsiEncoding,
                )
            )
            for name, base in _FONTS.items()
        }
    )
    for page in pages:
        _add(pdf, page, fonts)
    if paper:
        add_form(pdf, [page.fields for page in pages], paper)
    pdf.docinfo["/Title"] = visible(title)
    pdf.docinfo["/Creator"] = "proofcheck"
    out = io.BytesIO()
    pdf.save(out, deterministic_id=True)
    return out.getvalue()


def _add(pdf: pikepdf.Pdf, page: PlainPage, fonts: pikepdf.Dictionary) -> None:
    import pikepdf

    made = pdf.add_blank_page(page_size=(WIDTH, HEIGHT))
    own = pikepdf.Dictionary(dict(page.hand.fonts(pdf)))
    made.obj.Resources = pikepdf.Dictionary(Font=pikepdf.Dictionary({**fonts, **own}))
    if page.pictures:
        made.obj.Resources.XObject = pikepdf.Dictionary(
            {
                f"/Picture{number}": pdf.make_indirect(embed_picture(pdf, image))
                for number, image in enumerate(page.pictures, 1)
            }
        )
    made.obj.Contents = pdf.make_stream("".join(page.content).encode("latin-1"))


def wrapped(text: str, size: float, x: float) -> list[str]:
    """Text of the plain font or its bold broken to the page, from a place on."""
    room = (WIDTH - MARGIN - x) / _BOLDER
    lines: list[str] = []
    for word in text.split():
        if lines and text_width(f"{lines[-1]} {word}", size) <= room:
            lines[-1] += f" {word}"
        else:
            lines += _parted(word, size, room)
    return lines


def _parted(word: str, size: float, room: float) -> list[str]:
    """A word, such as a hash, that may be longer than the line."""
    if text_width(word, size) <= room:
        return [word]
    return textwrap.wrap(word, max(1, int(room / (size * text_width("W", 1.0)))))
