"""A sheet as PAGE XML, version 2019-07-15 of the format's schema.

Each line has its text twice: as it is printed (index 0, which that schema takes for the main one)
and as the copy has it (index 1).
"""

from __future__ import annotations

from datetime import UTC
from typing import TYPE_CHECKING, Final
from xml.etree import ElementTree as ET

from proofcheck.base.decision_words import status_called
from proofcheck.results.exchange.outlines import (
    around_lines,
    baseline_outline,
    box_outline,
    points_text,
    slope_deg,
)
from proofcheck.results.exchange.told_sheets import in_xml
from proofcheck.results.report import program_version
from proofcheck.results.tally import tally

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from proofcheck.base.found import Fault
    from proofcheck.base.values import Box, Sheet
    from proofcheck.results.exchange.told_sheets import Block, PrintedLine, ToldSheet, Word
    from proofcheck.results.report import Report

__all__ = ["NAMESPACE", "page_xml"]

NAMESPACE: Final = "http://schema.primaresearch.org/PAGE/gts/pagecontent/2019-07-15"
_LOOKS: Final = {
    "rule": ("SeparatorRegion", ""),
    "border": ("GraphicRegion", "frame"),
    "ornament": ("GraphicRegion", "decoration"),
    "cut": ("ImageRegion", ""),
    "initial": ("GraphicRegion", "decoration"),
    "sideways": ("UnknownRegion", ""),
}
"""What was taken off the sheet before its lines were read: its element, and its type."""


def page_xml(report: Report, told: ToldSheet, made: datetime) -> bytes:
    """One sheet of a report as a PAGE document, in UTF-8.

    Regions are the blocks of lines in their order of reading; what was not read is a region of
    unknown content. Places are in pixels of the scan.

    Args:
        report: what was found.
        told: one of its sheets.
        made: when the document is made.
    """
    root = ET.Element("PcGts", {"xmlns": NAMESPACE})
    about = ET.SubElement(root, "Metadata")
    stamp = made.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    words = [tally(report)]
    if told.sheet.scan.page:
        words.append(f"Page {told.sheet.scan.page + 1} of the file.")
    for name, value in (
        ("Creator", f"proofcheck {program_version()}"),
        ("Created", stamp),
        ("LastChange", stamp),
        ("Comments", " ".join(words)),
    ):
        ET.SubElement(about, name).text = in_xml(value)
    scan = told.sheet.scan
    page = ET.SubElement(
        root,
        "Page",
        {
            "imageFilename": in_xml(told.picture),
            "imageWidth": str(scan.width_px),
            "imageHeight": str(scan.height_px),
        },
    )
    _reading_order(page, told)
    for block in told.blocks:
        _region(page, told.sheet, block)
    _rest(page, told)
    ET.indent(root, " ")
    text: bytes = ET.tostring(root, "utf-8", xml_declaration=True)
    return text + b"\n"


def _reading_order(page: ET.Element, told: ToldSheet) -> None:
    if told.blocks:
        order = ET.SubElement(page, "ReadingOrder")
        group = ET.SubElement(order, "OrderedGroup", {"id": "order"})
        for index, block in enumerate(told.blocks):
            where = {"index": str(index), "regionRef": f"block-{block.number}"}
            ET.SubElement(group, "RegionRefIndexed", where)


def _region(page: ET.Element, sheet: Sheet, block: Block) -> None:
    lines = [told.line for told in block.lines]
    longest = max(lines, key=lambda line: line.box.width)
    turned = slope_deg(baseline_outline(sheet, longest))
    # The schema counts what would set it level, clockwise.
    level = 180.0 if turned == 180 else -turned
    held = {"id": f"block-{block.number}", "orientation": f"{level:.2f}"}
    if block.ticket:
        held["comments"] = f"ticket {block.ticket}"
    region = ET.SubElement(page, "TextRegion", held)
    ET.SubElement(region, "Coords", {"points": points_text(around_lines(sheet, lines))})
    for told in block.lines:
        _line(region, sheet, told)


def _line(region: ET.Element, sheet: Sheet, told: PrintedLine) -> None:
    name = f"line-{told.line.number}"
    line = ET.SubElement(region, "TextLine", {"id": name})
    _coords(line, sheet, told.line.box)
    baseline = points_text(baseline_outline(sheet, told.line))
    ET.SubElement(line, "Baseline", {"points": baseline})
    for number, word in enumerate(told.words, 1):
        _word(line, sheet, word, f"{name}-word-{number}")
    _text(line, told.text, 0, "as printed")
    if told.copy_text is not None:
        _text(line, told.copy_text, 1, "as the copy has it")
    inside = {id(fault) for word in told.words for fault in word.faults}
    beside = [fault for fault in told.faults if id(fault) not in inside]
    if beside:
        line.set("comments", _fault_words(beside))


def _word(line: ET.Element, sheet: Sheet, told: Word, name: str) -> None:
    word = ET.SubElement(line, "Word", {"id": name})
    if told.faults:
        word.set("comments", _fault_words(told.faults))
    _coords(word, sheet, told.box)
    for number, letter in enumerate(told.letters, 1):
        glyph = ET.SubElement(word, "Glyph", {"id": f"{name}-letter-{number}"})
        _coords(glyph, sheet, letter.box)
        _text(glyph, letter.text, certainty=letter.certainty)
    _text(word, told.text, certainty=told.certainty)


def _fault_words(faults: Sequence[Fault]) -> str:
    told = (f"{f.id}, {status_called(f.status)}, {f.kind}: {f.mark.words}" for f in faults)
    return in_xml("; ".join(told))


def _rest(page: ET.Element, told: ToldSheet) -> None:
    """What is no line: rules and ornaments, and ink that was not read."""
    look, read = "", {inset.home for inset in told.sheet.insets}
    for number, part in enumerate(told.sheet.lifted, 1):
        look = part.look or look
        if part.box in read:
            continue
        name, kind = _LOOKS.get(look, ("UnknownRegion", ""))
        held = {"id": f"lifted-{number}", **({"type": kind} if kind else {})}
        if name == "UnknownRegion":
            held["comments"] = in_xml(look)
        _coords(ET.SubElement(page, name, held), told.sheet, part.box)
    for number, unread in enumerate(told.unread, 1):
        held = {"id": f"unread-{number}", "comments": in_xml(f"not read: {unread.words}")}
        _coords(ET.SubElement(page, "UnknownRegion", held), told.sheet, unread.box)


def _coords(element: ET.Element, sheet: Sheet, box: Box) -> None:
    ET.SubElement(element, "Coords", {"points": points_text(box_outline(sheet, box))})


def _text(
    element: ET.Element,
    text: str,
    index: int | None = None,
    comments: str = "",
    certainty: float | None = None,
) -> None:
    held: dict[str, str] = {}
    if index is not None:
        held["index"] = str(index)
    if certainty is not None:
        held["conf"] = f"{min(1.0, max(0.0, certainty)):.4f}"
    if comments:
        held["comments"] = comments
    equiv = ET.SubElement(element, "TextEquiv", held)
    ET.SubElement(equiv, "Unicode").text = in_xml(text)
