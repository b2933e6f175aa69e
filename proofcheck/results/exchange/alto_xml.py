"""A sheet as ALTO, by version 4.2 of its schema; the later ones of version 4 only add to it.

A word in which something was found carries it as a tag, so that a program that knows nothing of
proofs can still point at the place.
"""

from __future__ import annotations

from datetime import UTC
from typing import TYPE_CHECKING, Final
from xml.etree import ElementTree as ET

from proofcheck.results.exchange.outlines import (
    around_lines,
    baseline_outline,
    box_outline,
    points_text,
    upright,
)
from proofcheck.results.exchange.told_sheets import in_xml
from proofcheck.results.report import program_version
from proofcheck.results.tally import tally

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime

    from proofcheck.base.found import Fault
    from proofcheck.base.values import Box, Sheet
    from proofcheck.results.exchange.outlines import Outline
    from proofcheck.results.exchange.told_sheets import Block, PrintedLine, ToldSheet, Word
    from proofcheck.results.report import Report

__all__ = ["NAMESPACE", "alto_xml"]

NAMESPACE: Final = "http://www.loc.gov/standards/alto/ns-v4#"
_VERSION: Final = "4.2"


def alto_xml(report: Report, told: ToldSheet, made: datetime) -> bytes:
    """One sheet of a report as an ALTO document, in UTF-8.

    Blocks stand in their order of reading. Content is what is printed; a word of which something
    is told has a tag for it (TYPE "fault" or "query", LABEL its kind, DESCRIPTION the instruction),
    and so has a line for what stands in no word of it. Places are in pixels of the scan.

    Args:
        report: what was found.
        told: one of its sheets.
        made: when the document is made.
    """
    root = ET.Element("alto", {"xmlns": NAMESPACE, "SCHEMAVERSION": _VERSION})
    _description(root, report, told, made)
    tags = _tags(root, told)
    scan = told.sheet.scan
    size = {"HEIGHT": str(scan.height_px), "WIDTH": str(scan.width_px)}
    page = ET.SubElement(
        ET.SubElement(root, "Layout"),
        "Page",
        {"ID": "page", "PHYSICAL_IMG_NR": str(told.sheet.number + 1), **size},
    )
    space = ET.SubElement(page, "PrintSpace", {"HPOS": "0", "VPOS": "0", **size})
    for block in told.blocks:
        _block(space, told.sheet, block, tags)
    for number, unread in enumerate(told.unread, 1):
        outline = box_outline(told.sheet, unread.box)
        held = {"ID": f"unread-{number}", "TAGREFS": f"tag-unread-{number}", **_place(outline)}
        _shape(ET.SubElement(space, "Illustration", held), outline)
    ET.indent(root, " ")
    text: bytes = ET.tostring(root, "utf-8", xml_declaration=True)
    return text + b"\n"


def _description(root: ET.Element, report: Report, told: ToldSheet, made: datetime) -> None:
    about = ET.SubElement(root, "Description")
    ET.SubElement(about, "MeasurementUnit").text = "pixel"
    source = ET.SubElement(about, "sourceImageInformation")
    ET.SubElement(source, "fileName").text = in_xml(told.picture)
    held = {"fileIdentifierLocation": "SHA-256"}
    ET.SubElement(source, "fileIdentifier", held).text = in_xml(told.sheet.scan.sha256)
    step = ET.SubElement(about, "Processing", {"ID": "reading"})
    ET.SubElement(step, "processingCategory").text = "contentGeneration"
    when = made.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    ET.SubElement(step, "processingDateTime").text = when
    ET.SubElement(step, "processingStepDescription").text = in_xml(tally(report))
    software = ET.SubElement(step, "processingSoftware")
    ET.SubElement(software, "softwareName").text = "proofcheck"
    ET.SubElement(software, "softwareVersion").text = program_version()


def _tags(root: ET.Element, told: ToldSheet) -> dict[int, str]:
    """A tag for everything told of the sheet; their names by the identity of the fault."""
    faults = [fault for block in told.blocks for line in block.lines for fault in line.faults]
    names: dict[int, str] = {}
    if not faults and not told.unread:
        return names
    tags = ET.SubElement(root, "Tags")
    for number, fault in enumerate(faults, 1):
        names[id(fault)] = f"tag-{number}"
        held = {
            "ID": names[id(fault)],
            "TYPE": str(fault.status),
            "LABEL": str(fault.kind),
            "DESCRIPTION": in_xml(f"{fault.id}: {fault.mark.words}"),
        }
        ET.SubElement(tags, "OtherTag", held)
    for number, unread in enumerate(told.unread, 1):
        words = in_xml(unread.words)
        held = {"ID": f"tag-unread-{number}", "TYPE": "unread", "LABEL": "not read"}
        ET.SubElement(tags, "OtherTag", {**held, "DESCRIPTION": words})
    return names


def _block(space: ET.Element, sheet: Sheet, told: Block, tags: Mapping[int, str]) -> None:
    outline = around_lines(sheet, [line.line for line in told.lines])
    held = {"ID": f"block-{told.number}", **_place(outline)}
    block = ET.SubElement(space, "TextBlock", held)
    _shape(block, outline)
    for line in told.lines:
        _line(block, sheet, line, tags)


def _line(block: ET.Element, sheet: Sheet, told: PrintedLine, tags: Mapping[int, str]) -> None:
    outline = box_outline(sheet, told.line.box)
    name = f"line-{told.line.number}"
    baseline = points_text(baseline_outline(sheet, told.line))
    line = ET.SubElement(block, "TextLine", {"ID": name, "BASELINE": baseline, **_place(outline)})
    inside = {id(fault) for word in told.words for fault in word.faults}
    _tagged(line, (fault for fault in told.faults if id(fault) not in inside), tags)
    _shape(line, outline)
    if not told.words:
        # A line must hold a word: this one was found and not read.
        ET.SubElement(line, "String", {"CONTENT": "", **_place(outline)})
    for number, word in enumerate(told.words, 1):
        if number > 1:
            ET.SubElement(line, "SP", _place(box_outline(sheet, _gap(told, number - 1))))
        _word(line, sheet, word, f"{name}-word-{number}", tags)


def _gap(told: PrintedLine, number: int) -> Box:
    """The space before the word of that number, counted from 0."""
    before, after = told.words[number - 1].box, told.words[number].box
    top, bottom = min(before.y, after.y), max(before.bottom, after.bottom)
    left = min(before.right, after.x)
    return type(before)(left, top, max(before.right, after.x) - left, bottom - top)


def _word(line: ET.Element, sheet: Sheet, told: Word, name: str, tags: Mapping[int, str]) -> None:
    outline = box_outline(sheet, told.box)
    held = {"ID": name, "CONTENT": in_xml(told.text), "WC": f"{told.certainty:.4f}"}
    word = ET.SubElement(line, "String", {**held, **_place(outline)})
    _tagged(word, told.faults, tags)
    _shape(word, outline)
    for number, letter in enumerate(told.letters, 1):
        held = {
            "ID": f"{name}-letter-{number}",
            "CONTENT": in_xml(letter.text),
            "GC": f"{min(1.0, max(0.0, letter.certainty)):.4f}",
        }
        place = _place(box_outline(sheet, letter.box))
        ET.SubElement(word, "Glyph", {**held, **place})


def _tagged(element: ET.Element, faults: Iterable[Fault], tags: Mapping[int, str]) -> None:
    names = [tags[id(fault)] for fault in faults]
    if names:
        element.set("TAGREFS", " ".join(names))


def _place(outline: Outline) -> dict[str, str]:
    x, y, width, height = upright(outline)
    return {"HPOS": str(x), "VPOS": str(y), "WIDTH": str(width), "HEIGHT": str(height)}


def _shape(element: ET.Element, outline: Outline) -> None:
    shape = ET.SubElement(element, "Shape")
    ET.SubElement(shape, "Polygon", {"POINTS": points_text(outline)})
