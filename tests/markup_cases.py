"""Small proofs built by hand for the tests of the marked proof: bars for lines, any fault."""

import datetime as dt

import numpy as np

from proofcheck.base.found import Difference, Fault, Status
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Line, Scan, Sheet, Span
from proofcheck.marks import mark_for, query_mark
from proofcheck.results.marked import Heading

HEADING = Heading("Summer concert", "1", dt.date(2026, 6, 20), 3, 1)
PITCH = 46
X_HEIGHT = 18
INDENT = 160
MEASURE = 900


def sheet(lines=12, columns=1, *, number=0, dpi=300.0, bilevel=True):
    """A sheet with a bar for each line, and its lines."""
    width = 2 * INDENT + columns * MEASURE + (columns - 1) * 60
    image = np.full((2 * INDENT + lines * PITCH, width), 255, np.uint8)
    made = []
    for column in range(columns):
        for row in range(lines):
            x, base = INDENT + column * (MEASURE + 60), INDENT + row * PITCH + 27
            short = MEASURE // 3 if row % 5 == 4 else MEASURE
            box = Box(x, base - 27, short, 36)
            image[base - X_HEIGHT : base, x : x + short : 3] = 0
            made.append(
                Line(len(made) + 1, number, column, box, (base, base), float(X_HEIGHT), 10.0)
            )
    if not bilevel:
        slope = np.linspace(0, 90, image.shape[1]).astype(np.uint8)
        image = np.clip(image.astype(int) - slope, 0, 255).astype(np.uint8)
    scan = Scan("drawn", 0, "0" * 64, image.shape[1], image.shape[0])
    return Sheet(image, scan, number, dpi, "file", 0, False, 0.0, np.eye(3)), made


def fault(
    line,
    *,
    number=1,
    kind=Kind.WRONG_LETTER,
    proof="u",
    copy="n",
    at=0.3,
    width=16,
    query=False,
    other=(),
    hand_set=False,
):
    """A fault at a share `at` of its line, `width` pixels wide (0 for a gap)."""
    difference = Difference(
        kind, line.number, Span(0, len(proof)), proof, Span(0, len(copy)), copy, None, other
    )
    mark = mark_for(difference, hand_set=hand_set)
    x = int(line.box.x + at * (line.box.width - width))
    box = Box(x, line.box.y + 9, width, 18)
    return Fault(
        f"F{number}",
        kind,
        line.number,
        line.sheet,
        box,
        Span(0, len(copy)),
        copy,
        proof,
        query_mark(mark) if query else mark,
        0.4 if query else 0.97,
        Status.QUERY if query else Status.FAULT,
        None,
        other,
    )
