"""Lay what was reported beside what was planted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.found import Status
from proofcheck.base.kinds import Kind
from proofcheck.results.report import scan_box

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.found import Fault
    from proofcheck.base.values import Box
    from proofcheck.metal.context import Matter
    from proofcheck.results.report import Report

    from .planting import Plant

__all__ = ["Outcome", "found_anyway", "on_scan", "outcomes", "scan_centres"]

_WHOLE = frozenset(
    {
        Kind.LINE_MISSING,
        Kind.LINE_DOUBLED,
        Kind.LINES_TRANSPOSED,
        Kind.LINE_FOREIGN,
        Kind.MATTER_MISSING,
        Kind.WORD_EXTRA,
        Kind.WORD_MISSING,
        Kind.WORD_DOUBLED,
        Kind.WORDS_TRANSPOSED,
        Kind.WRONG_WORD,
    }
)
"""What can be said of a whole line; a wrong letter somewhere in it doesn't find it."""

FAULT, QUERY, MISSED = "fault", "query", "missed"


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one plant."""

    way: str
    """"copy", "image" or "lines"."""
    name: str
    book: str
    page: str
    found: str
    """ "fault", "query" or "missed"."""
    named_rightly: bool
    printed: str
    wanted: str
    said: str
    """Kinds reported there."""
    by_chance: bool = False
    """Whether the page as printed has an alarm there too, which would have "found" it."""


def outcomes(
    report: Report, plants: Sequence[Plant], way: str, book: str, page: str, scale: float = 1.0
) -> list[Outcome]:
    """What became of each plant; `scale` is that of the picture read to the plants' own."""
    boxes = [(fault, on_scan(report, fault)) for fault in report.faults]
    return [_outcome(report, boxes, plant, way, book, page, scale) for plant in plants]


def found_anyway(report: Report, plants: Sequence[Plant], scale: float) -> list[bool]:
    """For each plant whether the report of the page as printed would count as finding it."""
    size = _x_height(report)
    boxes = [(fault, on_scan(report, fault)) for fault in report.faults]
    return [
        any(
            _meets(box, plant.box, scale, size) and _speaks_of(fault, plant) for fault, box in boxes
        )
        for plant in plants
    ]


def _speaks_of(fault: Fault, plant: Plant) -> bool:
    """Whether a fault can be the plant at all: only whole matter speaks of whole lines."""
    return "line" not in plant.name or fault.kind in _WHOLE


def on_scan(report: Report, fault: Fault) -> tuple[float, float, float, float]:
    """Left, top, right and bottom in pixels of the scan."""
    sheet = report.sheets[fault.sheet]
    x, y, width, height = scan_box(sheet, fault.box)
    return x, y, x + width, y + height


def scan_centres(matter: Matter) -> NDArray[np.float64]:
    """(n, 2): the middle of each letter of a proof's fount, in pixels of its scan."""
    found = np.zeros((len(matter.fount.text), 2))
    for number, row in enumerate(matter.fount.line.tolist()):
        x, y, width, height = scan_box(
            matter.sheets[matter.lines[row].sheet], matter.letter(number).box
        )
        found[number] = x + width / 2, y + height / 2
    return found


def _outcome(
    report: Report,
    boxes: Sequence[tuple[Fault, tuple[float, float, float, float]]],
    plant: Plant,
    way: str,
    book: str,
    page: str,
    scale: float,
) -> Outcome:
    size = _x_height(report)
    here = [
        fault
        for fault, box in boxes
        if (_meets(box, plant.box, scale, size) or _in_copy(fault, plant))
        and _speaks_of(fault, plant)
    ]
    if any(fault.status is Status.FAULT for fault in here):
        found = FAULT
    else:
        found = QUERY if here else MISSED
    return Outcome(
        way,
        plant.name,
        book,
        page,
        found,
        any(fault.kind in plant.kinds for fault in here),
        plant.printed,
        plant.wanted,
        ", ".join(sorted({str(fault.kind) for fault in here})),
    )


def _x_height(report: Report) -> float:
    sizes = sorted(line.x_height_px for line in report.lines)
    return sizes[len(sizes) // 2] if sizes else 20.0


def _meets(fault: tuple[float, float, float, float], plant: Box, scale: float, size: float) -> bool:
    """Whether the boxes meet, give or take a narrow letter sideways and nothing up or down."""
    left, right = plant.x * scale - 0.6 * size, plant.right * scale + 0.6 * size
    top, bottom = plant.y * scale, plant.bottom * scale
    return fault[0] <= right and fault[2] >= left and fault[1] < bottom and fault[3] > top


def _in_copy(fault: Fault, plant: Plant) -> bool:
    """Whether the fault's place in the copy is the plant's, give or take one character."""
    return fault.copy.start <= plant.span[1] + 1 and fault.copy.end >= plant.span[0] - 1
