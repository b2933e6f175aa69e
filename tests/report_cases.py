"""Small reports built by hand: a concert programme with faults, drawn with Pillow's own face."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

from proofcheck.base.found import Cause, Collation, Fault, Mark, Placing, Status
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Copy, Letter, Line, Reading, Scan, Sheet, Span
from proofcheck.recast.change import Recast
from proofcheck.results.report import Provenance, Report, verdict_of

COPY_LINES = [
    "THE VILLAGE BAND",
    "will give its summer concert on the green,",
    "Saturday the fourth, at half past six.",
    "Tickets 1s. 6d. at the door; children free.",
    "Tea and cake will be served afterwards.",
]
PRINTED_LINES = [
    "THE VILLAGE BAND",
    "will give its snmmer concert on the green,",
    "Saturday the the fourth, at half past six.",
    "Tickets 1s. 6d. at door; children free.",
    "Tea and cake will be served afterwards",
]
MARGIN, LEADING, SIZE = 60, 90, 40


def sha(digit="a"):
    return digit * 64


def copy_of(lines=COPY_LINES, name="programme.txt"):
    text = "\n".join(lines) + "\n"
    spans, start = [], 0
    for line in lines:
        spans.append(Span(start, start + len(line)))
        start += len(line) + 1
    return Copy(text, name, sha("c"), "utf-8", tuple(spans))


def set_sheet(lines=PRINTED_LINES, *, number=0, first=1, to_scan=None, scan_size=None):
    """A sheet with the lines drawn on it, its Lines and what a perfect reader reads."""
    font = ImageFont.load_default(SIZE)
    width = MARGIN * 2 + int(max(font.getlength(text) for text in lines))
    height = MARGIN * 2 + LEADING * len(lines)
    picture = Image.new("L", (width, height), 244)
    pen = ImageDraw.Draw(picture)
    set_lines, readings = [], []
    for at, text in enumerate(lines):
        top = MARGIN + at * LEADING
        pen.text((MARGIN, top), text, font=font, fill=25)
        letters = []
        for index, char in enumerate(text):
            left = MARGIN + font.getlength(text[:index])
            right = MARGIN + font.getlength(text[: index + 1])
            box = Box(round(left), top + 6, round(right) - round(left), SIZE)
            letters.append(Letter(char, box, 0.99))
        readings.append(Reading(first + at, tuple(letters)))
        box = Box.around(letter.box for letter in letters)
        baseline = (float(top + 38), float(top + 38))
        set_lines.append(Line(first + at, number, 0, box, baseline, 20.0, 10.0))
    size = scan_size or (width, height)
    scan = Scan(f"proof-{number}.png", 0, sha(), *size)
    to_scan = np.eye(3) if to_scan is None else to_scan
    sheet = Sheet(np.array(picture), scan, number, 300.0, "file", 0, False, 0.0, to_scan)
    return sheet, tuple(set_lines), tuple(readings)


def fault_at(reading, number, kind, span, copy_span, texts, mark, **more):
    """A fault over the letters of `span` in a reading (a gap where it is empty)."""
    boxes = [letter.box for letter in reading.letters]
    if span.start < span.end:
        box = Box.around(boxes[span.start : span.end])
    else:
        at = boxes[span.start].x if span.start < len(boxes) else boxes[-1].right
        box = Box(at, boxes[0].y, 0, boxes[0].height)
    values = {"certainty": 0.98, "status": Status.FAULT, **more}
    printed, wanted = texts
    return Fault(
        id=f"F{number}",
        kind=kind,
        line=reading.line,
        sheet=0,
        box=box,
        copy=copy_span,
        copy_text=wanted,
        proof_text=printed,
        mark=mark,
        **values,
    )


def found(copy_text, wanted, start=0):
    at = copy_text.index(wanted, start)
    return Span(at, at + len(wanted))


def programme(**changes):
    """A report of four faults (one of them a query) on five lines."""
    copy = copy_of()
    sheet, lines, readings = set_sheet()
    text = copy.text
    u = text.index("summer") + 1
    the = text.index("the door")
    faults = (
        fault_at(
            readings[1],
            1,
            Kind.WRONG_LETTER,
            Span(15, 16),
            Span(u, u + 1),
            ("n", "u"),
            Mark("replace", "u", "u/", "stroke", "change n to u"),
            cause=Cause.TURNED_SORT,
        ),
        fault_at(
            readings[2],
            2,
            Kind.WORD_DOUBLED,
            Span(13, 17),
            Span(text.index("the fourth") + 4, text.index("the fourth") + 4),
            ("the ", ""),
            Mark("delete", "", "dele", "line-through", "take out the second “the”"),
            certainty=0.995,
        ),
        fault_at(
            readings[3],
            3,
            Kind.WORD_MISSING,
            Span(19, 19),
            Span(the, the + 4),
            ("", "the "),
            Mark("insert", "the", "the/", "caret", "insert “the”"),
        ),
        fault_at(
            readings[4],
            4,
            Kind.POINT_MISSING,
            Span(38, 38),
            Span(len(text) - 2, len(text) - 1),
            ("", "."),
            Mark("query", ".", "(?)", "caret", "insert a full point?"),
            certainty=0.41,
            status=Status.QUERY,
        ),
    )
    collation = Collation(
        tuple(
            Placing(line.number, span) for line, span in zip(lines, copy.paragraphs, strict=True)
        ),
        (),
        {"quote-shape": 4},
        0.984,
    )
    report = Report(
        verdict_of(faults),
        (sheet,),
        copy,
        lines,
        readings,
        collation,
        faults,
        Provenance("letters", "7", "0.1.0", {"language": "eng", "dpi": 300}),
        (Recast((2,), ("will give its summer concert on the green,",), ("F1",)),),
        ("the scan says no resolution; 300 dots to the inch taken",),
    )
    return replace(report, **changes)


def turned(width, height, degrees):
    """Map of a sheet of that size back to the scan it was turned upright from (pixel centres)."""
    w, h = width - 1.0, height - 1.0
    maps = {
        0: ([[1, 0, 0], [0, 1, 0], [0, 0, 1]], (width, height)),
        90: ([[0, 1, 0], [-1, 0, w], [0, 0, 1]], (height, width)),
        180: ([[-1, 0, w], [0, -1, h], [0, 0, 1]], (width, height)),
        270: ([[0, -1, h], [1, 0, 0], [0, 0, 1]], (height, width)),
    }
    matrix, size = maps[degrees]
    return np.array(matrix, float), size


def perspective(width, height):
    """Map to a phone picture's quad, as OpenCV works it out from four corners."""
    sheet = np.array([(0, 0), (width, 0), (width, height), (0, height)], np.float32)
    scan = np.array([(80, 50), (width + 40, 90), (width, height + 70), (30, height)], np.float32)
    return cv2.getPerspectiveTransform(sheet, scan), (width + 120, height + 120)
