"""The table of marks for people: as text for a terminal, and as a printed sheet."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from proofcheck.base.errors import OutputError
from proofcheck.base.found import Mark
from proofcheck.base.writing import check_free, write_whole
from proofcheck.marks.compose import margin_drawing
from proofcheck.marks.lettering import write
from proofcheck.marks.paths import Drawing, extent, moved, parse
from proofcheck.marks.strokes import matter_drawing, ringed, sign_drawing
from proofcheck.marks.table import SIGNS, SOURCES, Sign
from proofcheck.marks.textmarks import Spot, text_mark

if TYPE_CHECKING:
    from proofcheck.results.marked.parts import Inked, Page

__all__ = ["draw_marks_sheet", "marks_text"]

_DPI = 300.0
_WIDTH_PX, _HEIGHT_PX = 2480, 3508  # A4 at 300 dpi
_MARGIN_PX = 150
_UNIT_PX = 30.0
_PEN = 0.115
_TOP_PX = 420
_SAMPLE = "hand"
_AT_GAP = {"caret", "close-up", "upper-arc", "tick", "angle"}
_ONE_LETTER = {"stroke", "stroke-close-up", "cup-under"}


def marks_text(*, ascii_only: bool = False) -> str:
    """The table as text: margin, mark in the text, meaning, where it was seen.

    Args:
        ascii_only: for terminals that have no more than ASCII.
    """
    rows = [
        (
            row.ascii if ascii_only else row.margin,
            row.text.replace("-", " "),
            row.meaning,
            " ".join(row.sources),
        )
        for row in SIGNS.values()
    ]
    head = ("margin", "in the text", "meaning", "seen")
    widths = [max(len(row[k]) for row in [head, *rows]) for k in range(3)]
    lines = [
        "  ".join([*(cell.ljust(w) for cell, w in zip(row, widths, strict=False)), row[3]])
        for row in [head, *rows]
    ]
    lines.insert(1, "  ".join("-" * width for width in [*widths, len(head[3])]))
    lines += ["", *(f"{tag.ljust(8)}{what}" for tag, what in SOURCES.items())]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def draw_marks_sheet(path: Path | str, *, overwrite: bool = False) -> Path:
    """Draw the table as a printed sheet, A4, as PDF or PNG by the ending of the name.

    Raises:
        OutputError: another ending, a file that exists already, or one that can't be written.
    """
    from proofcheck.results.marked.paint_pdf import paint_pages
    from proofcheck.results.marked.paint_png import paint_png

    path = Path(path)
    if path.suffix.lower() not in (".pdf", ".png"):
        msg = f"the sheet of marks is drawn as .pdf or .png, not as {path.name!r}; name it so"
        raise OutputError(msg)
    check_free([path], overwrite=overwrite)
    page = marks_page()
    data = (
        paint_png(page)
        if path.suffix.lower() == ".png"
        else paint_pages([page], "Proofreaders’ marks")
    )
    return write_whole(path, data, overwrite=overwrite)


def marks_page() -> Page:
    """The sheet laid out, nothing painted yet."""
    from proofcheck.results.marked.parts import Page

    inked = [*_head()]
    rows = list(SIGNS.values())
    half = (len(rows) + 1) // 2
    step = (_HEIGHT_PX - _TOP_PX - 330) / half
    column = (_WIDTH_PX - 2 * _MARGIN_PX) / 2
    for place, row in enumerate(rows):
        side, down = divmod(place, half)
        inked += _row(row, _MARGIN_PX + side * column, _TOP_PX + (down + 0.6) * step)
    inked += _sources(_HEIGHT_PX - 270)
    return Page(0, _WIDTH_PX, _HEIGHT_PX, _DPI, None, (0, 0), labels=tuple(inked))


def _ink(
    drawing: Drawing, x: float, y: float, size: float, *, ink: str, pen: float = _PEN
) -> Inked:
    from proofcheck.results.marked.parts import Inked

    return Inked(moved(drawing, by=(x, y), scale=size, flip=True), pen * size, ink)


def _head() -> list[Inked]:
    from proofcheck.results.marked.parts import FAINT, TYPE

    note = (
        "At the place itself, then in the margin. Struck, ringed or underlined matter shows "
        "where; the margin says what."
    )
    rule = parse(f"M0,0L{(_WIDTH_PX - 2 * _MARGIN_PX) / 26:.1f},0")
    return [
        _ink(write("Proofreaders’ marks", 0.0), _MARGIN_PX, 220, 46, ink=TYPE, pen=0.1),
        _ink(write(note, 0.0), _MARGIN_PX, 310, 19, ink=FAINT, pen=0.09),
        _ink(rule, _MARGIN_PX, 352, 26, ink=TYPE, pen=0.06),
    ]


def _row(row: Sign, x: float, y: float) -> list[Inked]:
    from proofcheck.results.marked.parts import FAINT, INK, TYPE

    sample = write(_SAMPLE, 0.0)
    margin = _in_margin(row)
    held = extent(margin)
    size = min(_UNIT_PX, 262 / held.width)
    return [
        _ink(sample, x + 20, y, _UNIT_PX * 0.85, ink=TYPE, pen=0.12),
        *_sample_mark(row, x + 20, y),
        _ink(margin, x + 190, y, size, ink=INK),
        _ink(write(row.meaning, 0.0), x + 470, y - 6, 16, ink=TYPE, pen=0.1),
        _ink(write("  ".join(row.sources), 0.0), x + 470, y + 24, 10.5, ink=FAINT, pen=0.1),
    ]


def _in_margin(row: Sign) -> Drawing:
    if row.name == "query":
        return margin_drawing(Mark("query", "", "(?)", "ring", ""), query=True)
    if row.name == "single-quote":
        return matter_drawing("‘")
    drawing = sign_drawing(row.name)
    return ringed(drawing) if row.ringed else drawing


def _sample_mark(row: Sign, x: float, y: float) -> list[Inked]:
    from proofcheck.results.marked.parts import INK

    size = _UNIT_PX * 0.85
    whole = extent(write(_SAMPLE, 0.0))
    gap = extent(write(_SAMPLE[:2], 0.0)).right + 0.13
    letter = extent(write(_SAMPLE[:3], 0.0)).right
    if row.text in _AT_GAP:
        at, spot = gap, Spot(0.0)
    elif row.text in _ONE_LETTER:
        at, spot = gap + 0.14, Spot(letter - gap - 0.14)
    else:
        at, spot = whole.left, Spot(whole.width, 1.5, 0.0)
    return [_ink(text_mark(row.text, spot), x + at * size, y, size, ink=INK)]


def _sources(y: float) -> list[Inked]:
    from proofcheck.results.marked.parts import FAINT

    return [
        _ink(write(f"{tag}: {what}", 0.0), _MARGIN_PX, y + 34 * place, 13.5, ink=FAINT, pen=0.1)
        for place, (tag, what) in enumerate(SOURCES.items())
    ]
