"""The strip of the proof round one fault, with the copy's line set right above it.

People find more when the two lines stand one above the other than side by side. Each word of
the copy is therefore set over the printed word it answers to, stretched to the same width, so
that letter stands over letter; words the proof lacks are raised over the gap.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import cv2
import numpy as np
from rapidfuzz.distance import Levenshtein

from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Span
from proofcheck.base.visible import visible
from proofcheck.results.excerpts import elided, printed_span

if TYPE_CHECKING:
    from proofcheck.base.found import Fault
    from proofcheck.base.values import Grey, Line, Reading, Sheet
    from proofcheck.results.report import Report

__all__ = ["OverWord", "Strip", "cut_strip"]

X_HEIGHT_PX = 22.0
"""Strips are reduced to this x-height; smaller ones are left as they are."""

MAX_WIDTH_PX = 4000
FACE_X_HEIGHT = 0.46
"""x-height of common text faces as a share of their size (Times 0.45, Georgia 0.48)."""
FACE_SET = 0.46
"""Mean width of a lower-case letter as a share of the size, for guessing widths."""
SQUEEZED = 0.5
"""A copy word with less than this share of its own width over it is raised, not squeezed."""


class Extent(NamedTuple):
    """From left to right edge, in pixels of the strip; empty at a gap."""

    left: float
    right: float


@dataclass(frozen=True, slots=True)
class OverWord:
    """One word of the copy as set over the strip."""

    before: str
    at: str
    """The part the fault is about; "" where it is about none of the word."""
    after: str
    left: float
    width: float
    raised: bool
    """True for what the proof lacks: set higher, over the gap, at its own width."""


@dataclass(frozen=True, slots=True, eq=False)
class Strip:
    """A cut from a sheet; lengths in pixels of the cut as reduced."""

    image: Grey
    place: Box
    """The fault; width 0 for a gap."""
    over: tuple[OverWord, ...]
    copy_place: Extent | None
    """What the copy has there, over the strip; None where the line holds none of it."""
    x_height: float
    """Of the printed line, and so of the line set above it."""

    @property
    def face_px(self) -> float:
        """Size at which to set the copy's line."""
        return self.x_height / FACE_X_HEIGHT


def cut_strip(report: Report, fault: Fault) -> Strip | None:
    """Cut the strip for a fault; None where there is no such line, or no picture, to cut from."""
    sheet = next((s for s in report.sheets if s.number == fault.sheet), None)
    line = report.line(fault.line) or _first_line(report, fault.sheet)
    if sheet is None or not sheet.pictured or line is None:
        return None
    cut = _cut_box(report, fault, line, sheet)
    if cut.width < 1 or cut.height < 1:
        return None
    scale = min(1.0, X_HEIGHT_PX / max(line.x_height_px, 1.0), MAX_WIDTH_PX / cut.width)
    image = sheet.as_printed()[cut.y : cut.bottom, cut.x : cut.right]
    if scale < 1.0:
        size = (max(1, round(cut.width * scale)), max(1, round(cut.height * scale)))
        image = np.asarray(cv2.resize(image, size, interpolation=cv2.INTER_AREA), np.uint8)
    place = Box(
        round((fault.box.x - cut.x) * scale),
        round((fault.box.y - cut.y) * scale),
        round(fault.box.width * scale),
        round(fault.box.height * scale),
    )
    over, copy_place = _set_over(report, fault, cut, scale, line.x_height_px)
    return Strip(image, place, over, copy_place, line.x_height_px * scale)


def _first_line(report: Report, sheet: int) -> Line | None:
    return next((line for line in report.lines if line.sheet == sheet), None)


def _cut_box(report: Report, fault: Fault, line: Line, sheet: Sheet) -> Box:
    """Round the line, the fault, and the lines next to it that it is about, with some air."""
    air = round(max(4.0, 0.7 * line.x_height_px))
    boxes = [line.box]
    numbers = set(fault.other_lines)
    if fault.kind is Kind.LINE_MISSING:
        numbers.add(fault.line + 1)
    for other in report.lines:
        beside = abs(other.number - line.number) == 1 and other.column == line.column
        if beside and other.number in numbers and other.sheet == line.sheet:
            boxes.append(other.box)
    if _overlaps(fault.box, line.box, 4 * air):
        boxes.append(fault.box)
    box = Box.around(boxes)
    height, width = sheet.image.shape
    left, top = max(0, box.x - 2 * air), max(0, box.y - air)
    right, bottom = min(width, box.right + 2 * air), min(height, box.bottom + air)
    return Box(left, top, right - left, bottom - top)


def _overlaps(a: Box, b: Box, slack: int) -> bool:
    across = a.x <= b.right + slack and b.x <= a.right + slack
    return across and a.y <= b.bottom + slack and b.y <= a.bottom + slack


def _set_over(
    report: Report, fault: Fault, cut: Box, scale: float, x_height: float
) -> tuple[tuple[OverWord, ...], Extent | None]:
    """The copy's line over the strip, and where in it the fault's stretch of copy stands."""
    size = x_height * scale / FACE_X_HEIGHT
    reading, span = report.reading(fault.line), report.placed(fault.line)
    if fault.kind is Kind.LINE_MISSING or reading is None or span is None:
        return _free_line(fault, cut.width * scale, size), None
    text = report.copy.text[span.start : span.end]
    about = Span(
        min(max(fault.copy.start - span.start, 0), len(text)),
        min(max(fault.copy.end - span.start, 0), len(text)),
    )
    edges = [
        Extent((letter.box.x - cut.x) * scale, (letter.box.right - cut.x) * scale)
        for letter in reading.letters
    ]
    inside = span.start <= fault.copy.start <= span.end
    printed = printed_span(report, fault) if inside else None
    if printed is None:
        extents = _aligned(reading.text, text, edges, 0)
    else:
        extents = _extents(reading, text, about, printed, edges)
    words = [
        _over_word(text, Span(*match.span()), about, extents, size)
        for match in re.finditer(r"\S+", text)
    ]
    place = _place(extents, about) if inside else None
    return tuple(_raised_together(words, size, cut.width * scale)), place


def _free_line(fault: Fault, width: float, size: float) -> tuple[OverWord, ...]:
    """Copy that has no printed line under it, set from the left."""
    if not fault.copy_text:
        return ()
    room = max(12, int(width / (size * FACE_SET)) - 4)
    text = elided(fault.copy_text, room)
    set_width = min(width - 2 * size, len(text) * size * FACE_SET)
    return (OverWord("", text, "", size, set_width, raised=False),)


def _extents(
    reading: Reading, text: str, about: Span, printed: Span, edges: list[Extent]
) -> list[Extent]:
    """Where each character of the copy's line stands over the printed one.

    The stretch the fault is about is laid on what is printed there, whatever the letters; before
    and after it letters are laid on the letters they answer to.
    """
    read = reading.text
    before = _aligned(read[: printed.start], text[: about.start], edges, 0)
    held, wanted = read[printed.start : printed.end], text[about.start : about.end]
    if held and wanted:
        start, end = edges[printed.start].left, edges[printed.end - 1].right
        step = (end - start) / len(wanted)
        middle = [Extent(start + i * step, start + (i + 1) * step) for i in range(len(wanted))]
    else:
        middle = [_gap(edges, printed.start)] * len(wanted)
    after = _aligned(read[printed.end :], text[about.end :], edges, printed.end)
    return before + middle + after


def _aligned(read: str, text: str, edges: list[Extent], first: int) -> list[Extent]:
    """Extents of the text's characters over those read, which begin at edge `first`."""
    extents: list[Extent] = []
    for code in Levenshtein.opcodes(read, text):
        start, end = code.src_start + first, code.src_end + first
        count = code.dest_end - code.dest_start
        if code.tag in ("equal", "replace"):
            extents += edges[start:end]
        elif code.tag == "insert":
            extents += [_gap(edges, start)] * count
    return extents


def _gap(edges: list[Extent], index: int) -> Extent:
    """The empty place before the printed letter of that index."""
    if not edges:
        return Extent(0.0, 0.0)
    before = edges[index - 1].right if index else edges[0].left
    after = edges[index].left if index < len(edges) else edges[-1].right
    middle = (before + after) / 2
    return Extent(middle, middle)


def _over_word(text: str, span: Span, about: Span, extents: list[Extent], size: float) -> OverWord:
    held = extents[span.start : span.end]
    solid = [extent for extent in held if extent.right > extent.left] or held
    left, right = min(e.left for e in solid), max(e.right for e in solid)
    natural = (span.end - span.start) * size * FACE_SET
    raised = right - left < SQUEEZED * natural
    start, end = max(span.start, about.start), min(span.end, about.end)
    if start >= end:
        start = end = span.end
    return OverWord(
        visible(text[span.start : start]),
        visible(text[start:end]),
        visible(text[end : span.end]),
        (left + right) / 2 if raised else left,
        right - left,
        raised,
    )


def _raised_together(words: list[OverWord], size: float, width: float) -> list[OverWord]:
    """Neighbouring raised words become one label, kept within the strip's width."""
    joined: list[OverWord] = []
    for word in words:
        last = joined[-1] if joined else None
        if last is not None and last.raised and word.raised and abs(last.left - word.left) < size:
            whole = " ".join(f"{w.before}{w.at}{w.after}" for w in (last, word))
            joined[-1] = OverWord("", whole, "", last.left, 0.0, raised=True)
        else:
            joined.append(word)
    return [_within(word, size, width) if word.raised else word for word in joined]


def _within(word: OverWord, size: float, width: float) -> OverWord:
    """A raised label centred on its gap, cut and shifted so that it stays on the strip."""
    whole = word.before + word.at + word.after
    room = max(8, int(width / (size * FACE_SET)) - 2)
    label = whole if len(whole) <= room else elided(whole, room - 3)
    set_width = min(len(label) * size * FACE_SET, width)
    left = min(max(word.left - set_width / 2, 0.0), width - set_width)
    parts = (word.before, word.at, word.after) if label == whole else ("", label, "")
    return OverWord(*parts, left, set_width, raised=True)


def _place(extents: list[Extent], about: Span) -> Extent:
    """Where the stretch of copy the fault is about stands; a gap where the copy has nothing."""
    held = extents[about.start : about.end]
    if held:
        return Extent(min(e.left for e in held), max(e.right for e in held))
    return _gap(extents, about.start)
