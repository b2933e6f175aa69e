"""Both lists as clean printed pages, A4, in the fonts that every PDF viewer has (ISO 32000)."""

from __future__ import annotations

import io
import textwrap
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.marks.lettering import write
from proofcheck.marks.paths import moved
from proofcheck.results.castlists.list_words import (
    SAFETY,
    machine_entries,
    numbered_plan,
    plan_notes,
    stone_entries,
)
from proofcheck.results.line_names import PLAIN
from proofcheck.results.marked.parts import TYPE, Inked
from proofcheck.results.marked.pdf_strokes import strokes_stream

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    import pikepdf

    from proofcheck.recast.plan import RecastPlan
    from proofcheck.results.castlists.list_words import Entry
    from proofcheck.results.line_names import LineNames

__all__ = ["lists_pdf"]

_WIDTH, _HEIGHT = 595.28, 841.89
_MARGIN, _TOP, _FOOT = 54.0, 60.0, 66.0
_MATTER_X = 104.0
_TYPED = 0.6
"""Width of every character of the fixed-width font, in ems (Adobe's metrics of the 14 fonts)."""
_PLAIN = 0.52
"""Wide enough for lines of the plain font to be broken by count of characters."""
_FONTS = {"T": "Courier", "P": "Helvetica", "B": "Helvetica-Bold"}


def lists_pdf(plan: RecastPlan, heading: str, proof: int = 1, names: LineNames = PLAIN) -> bytes:
    """The list for the machine and the list for the stone as the bytes of a PDF file.

    Args:
        plan: the plan.
        heading: job and proof, for the head of each page.
        proof: which of its series it is, from 1.
        names: what its lines are called.
    """
    import pikepdf

    pages: list[_Page] = []
    plan = numbered_plan(plan, proof)
    machine = machine_entries(plan, names)
    if machine:
        title = "Lines to set" if plan.hand_set else "Slugs to cast"
        safety = "" if plan.hand_set else SAFETY
        pages += _pages(title, heading, machine, plan_notes(plan, names), safety)
    pages += _pages("At the stone", heading, stone_entries(plan, names), (), "")
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
    for number, page in enumerate(pages, 1):
        page.put("P", 8, _WIDTH - _MARGIN - 50, _HEIGHT - 30, f"page {number} of {len(pages)}")
        _add(pdf, page, fonts)
    pdf.docinfo["/Title"] = visible(f"{heading}: lists for correction")
    pdf.docinfo["/Creator"] = "proofcheck"
    out = io.BytesIO()
    pdf.save(out, deterministic_id=True)
    return out.getvalue()


def _add(pdf: pikepdf.Pdf, page: _Page, fonts: pikepdf.Dictionary) -> None:
    import pikepdf

    made = pdf.add_blank_page(page_size=(_WIDTH, _HEIGHT))
    made.obj.Resources = pikepdf.Dictionary(Font=fonts)
    made.obj.Contents = pdf.make_stream("".join(page.content).encode("latin-1"))


@dataclass(slots=True)
class _Page:
    """One page as it fills, y in points from its top."""

    content: list[str] = field(default_factory=list)
    y: float = _TOP

    def put(self, font: str, size: float, x: float, y: float, text: str) -> None:
        """Write a line of text; one with letters the fonts lack in the project's own hand."""
        try:
            raw = text.encode("cp1252")
        except UnicodeEncodeError:
            drawing = moved(write(text, 0.0), by=(x, _HEIGHT - y), scale=size * 0.5)
            self.content.append(f"q {strokes_stream([Inked(drawing, size * 0.055, TYPE)])} Q\n")
            return
        self.content.append(
            f"BT /{font} {size:g} Tf {x:.2f} {_HEIGHT - y:.2f} Td <{raw.hex()}> Tj ET\n"
        )

    def rule(self, x: float, y: float, length: float) -> None:
        """Draw a thin rule."""
        at = _HEIGHT - y
        self.content.append(f"0.5 w 0 G {x:.2f} {at:.2f} m {x + length:.2f} {at:.2f} l S\n")

    def box(self, x: float, y: float, side: float) -> None:
        """Draw an empty box to be ticked, standing on the line."""
        self.content.append(f"0.7 w 0 G {x:.2f} {_HEIGHT - y:.2f} {side:g} {side:g} re S\n")


def _pages(
    title: str, heading: str, entries: Iterable[Entry], notes: Sequence[str], safety: str
) -> list[_Page]:
    pages = [_headed(title, heading, safety)]
    blocks = [_entry_lines(entry) for entry in entries]
    blocks += [[("P", 9.0, line) for line in _wrapped(note, 9.0, _MARGIN)] for note in notes]
    for number, lines in enumerate(blocks):
        depth = sum(size * 1.35 for _, size, _ in lines) + 9
        if pages[-1].y + depth > _HEIGHT - _FOOT:
            pages.append(_headed(title, heading, safety))
        page = pages[-1]
        is_entry = number < len(blocks) - len(notes)
        for place, (font, size, whole) in enumerate(lines):
            page.y += size * 1.35
            text = whole
            if is_entry and place == 0:
                label, _, text = whole.partition("\t")
                page.box(_MARGIN, page.y - 1, 9)
                page.put("B", 11, _MARGIN + 16, page.y, label)
            page.put(font, size, _MATTER_X if is_entry else _MARGIN, page.y, text)
        page.y += 9
        if number == len(blocks) - len(notes) - 1:
            page.rule(_MARGIN, page.y, _WIDTH - 2 * _MARGIN)
            page.y += 6
    return pages


def _headed(title: str, heading: str, safety: str) -> _Page:
    page = _Page()
    page.put("B", 17, _MARGIN, page.y, title)
    page.y += 16
    page.put("P", 9, _MARGIN, page.y, visible(heading)[:95])
    page.y += 8
    page.rule(_MARGIN, page.y, _WIDTH - 2 * _MARGIN)
    page.y += 8
    for place, line in enumerate(_wrapped(safety, 8.0, _MARGIN)):
        page.put("P", 8, _MARGIN, _HEIGHT - 52 + 10 * place, line)
    return page


def _entry_lines(entry: Entry) -> list[tuple[str, float, str]]:
    """Font, size and text of each line of an entry; its label leads the first, before a tab."""
    lines: list[tuple[str, float, str]] = []
    if entry.matter:
        room = int((_WIDTH - _MARGIN - _MATTER_X) / (_TYPED * 10.5))
        cut = textwrap.wrap(entry.matter, room, break_on_hyphens=False) or [""]
        lines += [("T", 10.5, line) for line in cut]
    lines += [("P", 9.0, line) for line in _wrapped(entry.words, 9.0, _MATTER_X)]
    font, size, text = lines[0]
    return [(font, size, f"{entry.label}\t{text}"), *lines[1:]]


def _wrapped(text: str, size: float, x: float) -> list[str]:
    return textwrap.wrap(text, int((_WIDTH - _MARGIN - x) / (_PLAIN * size)))
