"""Letters the viewers' own fonts lack, as a font made of the project's hand: text, not pictures.

A Type 3 font (ISO 32000-1, 9.6.5) with a map to Unicode (9.10.3), so that what is set in it can be
searched and copied like the rest. Read long ago and written from memory; held against two readers
of PDF in the tests.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import groupby
from typing import TYPE_CHECKING, Final

from proofcheck.base.visible import visible
from proofcheck.marks.lettering import in_hand, write
from proofcheck.marks.paths import extent

if TYPE_CHECKING:
    from collections.abc import Iterator

    import pikepdf

__all__ = ["HandLetters", "by_hand_width", "stretches"]

_EM: Final = 1000
_X_HEIGHT: Final = 500.0
"""Of the hand, in thousandths of the size: about that of the plain font."""
_PEN, _BOLD_PEN = 74.0, 112.0
"""About the stems of the plain font and its bold."""
_BESIDE: Final = 70.0
"""White on either side of a letter."""
_CODES: Final = 256
"""So many letters one font of bytes can hold."""


def stretches(text: str) -> list[tuple[str, bool]]:
    """The text in stretches: what the viewers' fonts have, and whole words that need the hand.

    What neither has is told by the number of its code point ("U+4E2D"), never by a box.
    """
    whole = unicodedata.normalize("NFC", visible(text))
    text = "".join(char if _typed(char) else in_hand(char) for char in whole)
    words = re.findall(r"\s+|\S+", text)
    return [("".join(held), own) for own, held in groupby(words, key=lambda w: not _typed(w))]


@lru_cache(maxsize=4096)
def _typed(text: str) -> bool:
    try:
        text.encode("cp1252")
    except UnicodeEncodeError:
        return False
    return True


def by_hand_width(text: str) -> float:
    """Width of text in the hand, in sizes."""
    return sum(_width(char) for char in text) / _EM


def _width(char: str) -> float:
    return round(extent(write(char, 0.0)).width * _X_HEIGHT + 2 * _BESIDE)


@dataclass(slots=True)
class HandLetters:
    """The letters of a page that are set in the hand, each with a code of its own."""

    codes: dict[tuple[str, bool], int] = field(default_factory=dict)
    """By letter and whether it is bold."""

    def shown(self, text: str, size: float, *, bold: bool) -> str:
        """Operators that set the text, within a text object."""
        places = [self.codes.setdefault((char, bold), len(self.codes)) for char in text]
        out = []
        for font, held in groupby(places, key=lambda place: place // _CODES):
            raw = bytes(place % _CODES for place in held)
            out.append(f"/Hand{font} {size:g} Tf <{raw.hex()}> Tj")
        return " ".join(out)

    def fonts(self, pdf: pikepdf.Pdf) -> Iterator[tuple[str, pikepdf.Object]]:
        """Name and font, as many as the letters take."""
        letters = list(self.codes)
        for number, start in enumerate(range(0, len(letters), _CODES)):
            yield f"/Hand{number}", pdf.make_indirect(_font(pdf, letters[start : start + _CODES]))


def _font(pdf: pikepdf.Pdf, letters: list[tuple[str, bool]]) -> pikepdf.Dictionary:
    import pikepdf

    names = [f"/g{code}" for code in range(len(letters))]
    glyphs = {
        name: pdf.make_stream(_glyph(char, bold).encode("ascii"))
        for name, (char, bold) in zip(names, letters, strict=True)
    }
    return pikepdf.Dictionary(
        Type=pikepdf.Name.Font,
        Subtype=pikepdf.Name.Type3,
        FontBBox=pikepdf.Array([-200, -400, 1200, 1300]),
        FontMatrix=pikepdf.Array([1 / _EM, 0, 0, 1 / _EM, 0, 0]),
        FirstChar=0,
        LastChar=len(letters) - 1,
        Widths=pikepdf.Array([_width(char) for char, _ in letters]),
        Encoding=pikepdf.Dictionary(
            Type=pikepdf.Name.Encoding,
            Differences=pikepdf.Array([0, *map(pikepdf.Name, names)]),
        ),
        CharProcs=pikepdf.Dictionary(glyphs),
        Resources=pikepdf.Dictionary(),
        ToUnicode=pdf.make_stream(_to_unicode([char for char, _ in letters]).encode("ascii")),
    )


def _glyph(char: str, bold: bool) -> str:
    drawing = write(char, 0.0)
    held = extent(drawing)
    pen = _BOLD_PEN if bold else _PEN
    out = [f"{_width(char):g} 0 -200 -400 1200 1300 d1 1 J 1 j"]
    for stroke in drawing:
        points = (stroke.points - (held.left, 0.0)) * _X_HEIGHT + (_BESIDE, 0.0)
        marks = [f"{x:.0f} {y:.0f}" for x, y in points.tolist()]
        marks = marks * 2 if len(marks) == 1 else marks
        path = f"{marks[0]} m {' l '.join(marks[1:])} l S"
        out.append(f"{pen * stroke.weight:.0f} w {path}")
    return "\n".join(out)


def _to_unicode(letters: list[str]) -> str:
    """Which letter each code stands for, as a CMap."""
    rows = [f"<{code:02x}> <{c.encode('utf-16-be').hex()}>" for code, c in enumerate(letters)]
    blocks = [rows[at : at + 100] for at in range(0, len(rows), 100)]
    told = "\n".join(
        f"{len(block)} beginbfchar\n{chr(10).join(block)}\nendbfchar" for block in blocks
    )
    return (
        "/CIDInit /ProcSet findresource begin 12 dict begin begincmap\n"
        "/CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def\n"
        "/CMapName /Adobe-Identity-UCS def /CMapType 2 def\n"
        "1 begincodespacerange <00> <ff> endcodespacerange\n"
        f"{told}\nendcmap CMapName currentdict /CMap defineresource pop end end\n"
    )
