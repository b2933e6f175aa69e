"""The marked proof laid out: every mark's place on the page, and nothing painted yet.

The marks stand in the margin nearer to the place, in the order of the line. The page grows
beyond the sheet to hold them. One pen, sized to the sheet's type, draws everything.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from proofcheck.base.fault_numbers import shown_number
from proofcheck.base.found import Grade, Status
from proofcheck.marks.compose import margin_drawing
from proofcheck.marks.paths import extent, moved
from proofcheck.results.line_names import names_in
from proofcheck.results.marked.hatching import hatched
from proofcheck.results.marked.labels import (
    foot_labels,
    heading_labels,
    inset_labels,
    number_labels,
    sign_numbers,
)
from proofcheck.results.marked.leads import draw_leads
from proofcheck.results.marked.margins import Group, Placed, Sign, place_groups, sign_of
from proofcheck.results.marked.mark_places import mark_at_place
from proofcheck.results.marked.measures import Measures, measure
from proofcheck.results.marked.parts import (
    Heading,
    Inked,
    Layout,
    Lead,
    Page,
    PlacedSign,
    PlacedTextMark,
    Rect,
)

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from proofcheck.base.found import Fault, Unread
    from proofcheck.base.values import Line, Sheet

__all__ = ["PEN", "lay_out"]

PEN = 0.115
"""Width of the pen in its own x-heights, as in the plates."""
_CHANNEL = 1.9
"""White between the type and the signs, in units: room for carets at the edge and lead lines."""
_EDGE = 0.8
"""White at the outer edge of the page."""


def lay_out(
    sheets: Sequence[Sheet],
    lines: Sequence[Line],
    faults: Sequence[Fault],
    heading: Heading,
    *,
    recast: Collection[int] = (),
    unread: Sequence[Unread] = (),
) -> Layout:
    """Give every mark its place.

    Args:
        sheets: in order.
        lines: of all sheets.
        faults: faults and queries; each must stand on one of the lines (line 0, before the
            first, is taken with line 1).
        heading: what to write at the head.
        recast: numbers of the lines whose slugs are to be cast again; ringed down the side.
        unread: places that were not read; hatched.

    Returns:
        One page for each sheet, at the sheet's own resolution.
    """
    pages = []
    names = names_in(lines, len(sheets))
    faults = [names.fault(fault) for fault in faults]
    for sheet in sheets:
        own = [line for line in lines if line.sheet == sheet.number]
        found = [fault for fault in faults if fault.sheet == sheet.number]
        page = _lay_out_sheet(sheet, own, found, heading, len(sheets), recast)
        pages.append(_with_unread(page, sheet, own, unread))
    return Layout(heading, tuple(pages))


def _with_unread(page: Page, sheet: Sheet, lines: list[Line], unread: Sequence[Unread]) -> Page:
    """The page with the places of its sheet that were not read."""
    own = [place for place in unread if place.sheet == sheet.number]
    if not own:
        return page
    unit, (dx, dy) = measure(sheet, lines).unit, page.at
    width = sheet.image.shape[1]
    found = hatched(own, width, unit, unit * PEN)
    return replace(
        page,
        unread=tuple(
            replace(m, rect=m.rect.moved(dx, dy), inked=_shifted(m.inked, dx, dy)) for m in found
        ),
    )


def _lay_out_sheet(
    sheet: Sheet,
    lines: list[Line],
    faults: list[Fault],
    heading: Heading,
    sheets: int,
    recast: Collection[int],
) -> Page:
    measures = measure(sheet, lines)
    unit, pen = measures.unit, measures.unit * PEN
    by_number = {line.number: line for line in lines}
    text_marks = _text_marks(faults, by_number, pen, heading.number)
    names = names_in(lines, sheets)
    text_marks = [replace(mark, line=names.name(mark.fault.line)) for mark in text_marks]
    placed = {
        side: place_groups(groups, sheet.image.shape[0] / unit)
        for side, groups in _groups(text_marks, by_number, measures).items()
    }
    left, right = (
        side.inner((_CHANNEL + _EDGE + max((p.row_width for p in found), default=0.0)) * unit)
        for side, found in ((measures.left, placed["left"]), (measures.right, placed["right"]))
    )
    edges = (measures.middle - left, measures.middle + right)
    signs = [s for side in ("left", "right") for s in _signs(placed[side], side, edges, unit)]
    leads = draw_leads(signs, text_marks, by_number, edges, unit)
    return _page(sheet, lines, (signs, text_marks, leads), heading, measures, sheets, recast)


# ---------------------------------------------------------------------------- marks


def _text_marks(
    faults: list[Fault], lines: dict[int, Line], pen: float, proof: int
) -> list[PlacedTextMark]:
    marks = []
    for fault in faults:
        line = lines.get(fault.line or min(lines, default=0))
        if line is None:
            msg = f"fault {fault.id} stands on line {fault.line}, which sheet {fault.sheet} lacks"
            raise ValueError(msg)
        here = {**lines, fault.line: line}
        drawing = mark_at_place(fault, here)
        held, half = extent(drawing), pen / 2
        rect = Rect(held.left - half, held.low - half, held.right + half, held.high + half)
        named = shown_number(proof, fault.id)
        marks.append(PlacedTextMark(fault, rect, Inked(drawing, pen), named))
    return marks


def _groups(
    marks: list[PlacedTextMark], lines: dict[int, Line], measures: Measures
) -> dict[str, list[Group]]:
    """The signs of each side, gathered by line and put in the order of the line."""
    middle = measures.middle
    gathered: dict[tuple[str, int], list[tuple[float, Fault]]] = {}
    for mark in marks:
        x = (mark.rect.left + mark.rect.right) / 2
        side = "left" if x < middle else "right"
        gathered.setdefault((side, max(mark.fault.line, min(lines))), []).append((x, mark.fault))
    out: dict[str, list[Group]] = {"left": [], "right": []}
    for (side, number), placed in gathered.items():
        line = lines[number]
        end = line.baseline[0] if side == "left" else line.baseline[1]
        found = [fault for _, fault in sorted(placed, key=lambda pair: pair[0])]
        out[side].append(Group(number, end / measures.unit, _in_order(found)))
    return {
        side: sorted(groups, key=lambda g: (g.baseline, g.line)) for side, groups in out.items()
    }


def _in_order(faults: list[Fault]) -> tuple[Sign, ...]:
    return tuple(
        sign_of(
            fault.id,
            margin_drawing(
                fault.mark,
                query=fault.status is Status.QUERY,
                followed=fault is not faults[-1],
                grade=Grade.LOOK.value if fault.grade is Grade.LOOK else "",
            ),
            PEN,
        )
        for fault in faults
    )


def _signs(
    placed: list[Placed], side: str, edges: tuple[float, float], unit: float
) -> list[PlacedSign]:
    """Signs in sheet pixels; those of the left margin end at the channel beside the type."""
    signs = []
    for place in placed:
        if side == "left":
            x = edges[0] - (_CHANNEL + place.row_width - place.from_row_start) * unit
        else:
            x = edges[1] + (_CHANNEL + place.from_row_start) * unit
        y, held = place.baseline * unit, place.sign.held
        drawing = moved(place.sign.drawing, by=(x, y), scale=unit, flip=True)
        rect = Rect(
            x + held.left * unit, y - held.high * unit, x + held.right * unit, y - held.low * unit
        )
        signs.append(
            PlacedSign(
                place.sign.fault, place.line, side, place.row, rect, Inked(drawing, unit * PEN)
            )
        )
    return signs


# ----------------------------------------------------------------------------- page


def _page(
    sheet: Sheet,
    lines: list[Line],
    marks: tuple[list[PlacedSign], list[PlacedTextMark], list[Lead]],
    heading: Heading,
    measures: Measures,
    sheets: int,
    recast: Collection[int],
) -> Page:
    """The page grown round the sheet and all that is drawn, with its labels."""
    signs, text_marks, _ = marks
    unit = measures.unit
    height, width = sheet.image.shape
    numbers = number_labels(lines, measures.columns, unit, recast, names_in(lines, sheets))
    named = sign_numbers(signs, heading.number, unit)
    rects = [Rect(0, 0, width, height), *(s.rect for s in signs), *(m.rect for m in text_marks)]
    rects += [rect for _, rect in named]
    edge = _EDGE * unit
    left = -min(r.left for r in rects) + edge + numbers.left_px
    right = max(r.right for r in rects) + edge + numbers.right_px
    page_width = round(left + right)
    head = heading_labels(heading, sheet.number, sheets, page_width, unit)
    top = head.height_px + max(0.0, -min(r.top for r in rects) + edge)
    bottom = max(height, max(r.bottom for r in rects) + edge)
    look = any(mark.fault.grade is Grade.LOOK for mark in text_marks)
    foot = foot_labels(
        page_width, top + bottom, unit, recast=bool(recast), look=look, disputes=heading.disputes
    )
    dx, dy = round(left), round(top)
    return Page(
        sheet.number,
        page_width,
        round(top + bottom + foot.height_px),
        sheet.dpi,
        sheet.as_printed(),
        (dx, dy),
        *_on_page(marks, dx, dy),
        (
            *head.inked,
            *numbers.at(page_width, (dx, dy)),
            *(_shifted(written, dx, dy) for written, _ in named),
            *(_shifted(written, dx, dy) for written in inset_labels(sheet, lines, unit)),
            *foot.inked,
        ),
    )


def _on_page(
    marks: tuple[list[PlacedSign], list[PlacedTextMark], list[Lead]], dx: int, dy: int
) -> tuple[tuple[PlacedSign, ...], tuple[PlacedTextMark, ...], tuple[Lead, ...]]:
    """Signs, marks and leads moved from the sheet's pixels to the page's."""
    signs, text_marks, leads = marks
    return (
        tuple(
            replace(s, rect=s.rect.moved(dx, dy), inked=_shifted(s.inked, dx, dy)) for s in signs
        ),
        tuple(
            replace(m, rect=m.rect.moved(dx, dy), inked=_shifted(m.inked, dx, dy))
            for m in text_marks
        ),
        tuple(replace(m, inked=_shifted(m.inked, dx, dy)) for m in leads),
    )


def _shifted(inked: Inked, dx: float, dy: float) -> Inked:
    return replace(inked, drawing=moved(inked.drawing, by=(dx, dy)))
