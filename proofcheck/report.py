"""The report: all that was found, with what it was made from, and its JSON form.

The JSON form is a contract (version 1): keys are added, never renamed or dropped. Its shape is
written down in `report_schema.json` beside this module (JSON Schema, draft 2020-12). Pixel boxes
are [x, y, width, height] in the scan as supplied; copy positions are code-point offsets into the
copy as loaded, end exclusive.
"""

from __future__ import annotations

import json
import math
from dataclasses import dataclass, field
from functools import lru_cache
from importlib import metadata, resources
from typing import TYPE_CHECKING, Any, TypeAlias, cast

import numpy as np

from proofcheck.values import Box, Collation, Copy, Status, Verdict

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from proofcheck.recast.change import Recast
    from proofcheck.recast.plan import RecastPlan
    from proofcheck.values import Fault, LetGo, Line, Reading, Sheet, Span, Unread

__all__ = [
    "Counts",
    "Json",
    "Provenance",
    "Report",
    "exit_status",
    "program_version",
    "report_schema",
    "report_text",
    "report_to_json",
    "scan_box",
    "unreadable_text",
    "verdict_of",
]

Json: TypeAlias = dict[str, Any]
"""A JSON object."""

REPORT_VERSION = 1

_ROUNDING_PX = 1e-6
"""Slack below which a mapped edge counts as lying on a whole pixel (float noise of the map)."""


def program_version() -> str:
    """Version of the installed package; "unknown" when it runs from a folder uninstalled."""
    try:
        return metadata.version("proofcheck")
    except metadata.PackageNotFoundError:
        return "unknown"


@dataclass(frozen=True, slots=True)
class Provenance:
    """With what the proof was read: enough to read it again the same way."""

    reader: str
    """Name of the reader whose letters were collated ("letters", "ocr")."""
    reader_version: str = ""
    """Version of its engine or of its weights."""
    version: str = field(default_factory=program_version)
    """Version of proofcheck."""
    settings: Mapping[str, str | int | float | bool | None] = field(default_factory=dict)
    """Settings that bore on the result, by name."""


@dataclass(frozen=True, slots=True)
class Counts:
    """How many of each standing."""

    faults: int
    queries: int


@dataclass(frozen=True, slots=True, eq=False)
class Report:
    """All that was found on one proof, and what it was made from."""

    verdict: Verdict
    sheets: tuple[Sheet, ...]
    copy: Copy
    lines: tuple[Line, ...]
    readings: tuple[Reading, ...]
    """What the reader saw, one a line; a line that could not be read may be left out."""
    collation: Collation
    faults: tuple[Fault, ...]
    """Faults and queries in the order of the proof."""
    provenance: Provenance
    recast: tuple[Recast, ...] = ()
    """The new slugs, each with what it replaces."""
    warnings: tuple[str, ...] = ()
    """What a person should know of how the proof was taken, one line each."""
    plan: RecastPlan | None = None
    """The whole plan of recasting, of which `recast` is a part; None where none was made."""
    let_go: tuple[LetGo, ...] = ()
    """What was read otherwise than the copy has it and not alleged, in the order of the proof."""
    unread: tuple[Unread, ...] = ()
    """Ink that belongs to nothing that was read."""

    @property
    def judged(self) -> bool:
        """Whether the proof was laid against its copy: so marks can be drawn on it."""
        return self.verdict not in {Verdict.MISMATCH, Verdict.UNREADABLE}

    @property
    def counts(self) -> Counts:
        """Faults and queries, counted apart."""
        faults = sum(fault.status is Status.FAULT for fault in self.faults)
        return Counts(faults, len(self.faults) - faults)

    def line(self, number: int) -> Line | None:
        """The printed line of that number, if there is one (0 is before the first)."""
        return next((line for line in self.lines if line.number == number), None)

    def reading(self, number: int) -> Reading | None:
        """What was read on the line of that number, if anything."""
        return next((reading for reading in self.readings if reading.line == number), None)

    def placed(self, number: int) -> Span | None:
        """The stretch of copy that the line of that number holds, if any."""
        return next((p.copy for p in self.collation.placings if p.line == number), None)


def verdict_of(
    faults: Iterable[Fault],
    *,
    mismatch: bool = False,
    readable: bool = True,
    wholly_read: bool = True,
) -> Verdict:
    """What to say of the whole proof: clean only if all was read and nothing is left to settle."""
    if not readable:
        return Verdict.UNREADABLE
    if mismatch:
        return Verdict.MISMATCH
    found = {fault.status for fault in faults}
    if Status.FAULT in found:
        return Verdict.FAULTS
    if not wholly_read:
        return Verdict.NOT_WHOLLY_READ
    return Verdict.QUERIES if found else Verdict.CLEAN


def exit_status(report: Report) -> int:
    """Exit status as with `diff`: 0 nothing found, 1 faults or queries, 2 not (wholly) judged."""
    found = {Verdict.CLEAN: 0, Verdict.QUERIES: 1, Verdict.FAULTS: 1}
    return found.get(report.verdict, 2)


@lru_cache(maxsize=1)
def report_schema() -> Json:
    """The JSON Schema (draft 2020-12) that every report's JSON form keeps to."""
    text = resources.files("proofcheck").joinpath("report_schema.json").read_text("utf-8")
    return cast("Json", json.loads(text))


def scan_box(sheet: Sheet, box: Box) -> Box:
    """The box in the scan's own pixels: upright, round its four mapped corners, clipped.

    The map takes pixel centres to pixel centres, so that edges lie half a pixel before them. A
    gap (width 0) stays a gap where the map keeps it upright.
    """
    x, y, right, bottom = box.x - 0.5, box.y - 0.5, box.right - 0.5, box.bottom - 0.5
    corners = np.array([(x, y, 1.0), (right, y, 1.0), (right, bottom, 1.0), (x, bottom, 1.0)])
    mapped = corners @ sheet.to_scan.T
    points = mapped[:, :2] / mapped[:, 2:] + 0.5
    lows = np.floor(points.min(axis=0) + _ROUNDING_PX)
    highs = np.ceil(points.max(axis=0) - _ROUNDING_PX)
    size = np.array([sheet.scan.width_px, sheet.scan.height_px])
    lows, highs = np.clip(lows, 0, size), np.clip(highs, 0, size)
    left, top = int(lows[0]), int(lows[1])
    return Box(left, top, max(0, int(highs[0]) - left), max(0, int(highs[1]) - top))


def report_text(report: Report) -> str:
    """The JSON form as text, ending in a line end.

    In ASCII throughout, so that it passes any pipe and gives back any file name unchanged.
    """
    return json.dumps(report_to_json(report), indent=1, allow_nan=False) + "\n"


def unreadable_text(reason: str) -> str:
    """The JSON form for a proof refused before it was read; the reason is its only warning."""
    nothing = Copy("", "", "", "", ())
    collation = Collation((), (), {}, 0.0)
    report = Report(
        Verdict.UNREADABLE, (), nothing, (), (), collation, (), Provenance(""), (), (reason,)
    )
    return report_text(report)


def report_to_json(report: Report) -> Json:
    """The report as a JSON object to version 1 of the contract."""
    sheets = {sheet.number: sheet for sheet in report.sheets}
    counts = report.counts
    return {
        "report": REPORT_VERSION,
        "verdict": report.verdict.value,
        "counts": {"faults": counts.faults, "queries": counts.queries},
        "agreement": _figure(report.collation.agreement, 4),
        "scans": [_scan(sheet) for sheet in report.sheets],
        "copy": {
            "path": report.copy.name,
            "sha256": report.copy.sha256,
            "characters": len(report.copy.text),
            "encoding": report.copy.encoding,
            "notes": list(report.copy.notes),
        },
        "lines": _lines(report, sheets),
        "faults": [_fault(fault, sheets) for fault in report.faults],
        "recast": [
            {
                "lines": list(r.lines),
                "matter": list(r.matter),
                "reason": list(r.reason),
                "after": r.after,
                "spaces_pt": [_figure(space, 2) for space in r.spaces_pt],
            }
            for r in report.recast
        ],
        "waived": dict(report.collation.waived),
        "let_go": [_let_go(each, sheets) for each in report.let_go],
        "unread": [
            {
                "scan": each.sheet,
                "box": list(scan_box(sheets[each.sheet], each.box)),
                "words": each.words,
            }
            for each in report.unread
        ],
        "made": {
            "version": report.provenance.version,
            "reader": report.provenance.reader,
            "reader_version": report.provenance.reader_version,
            "settings": dict(report.provenance.settings),
        },
        "warnings": list(report.warnings),
    }


def _scan(sheet: Sheet) -> Json:
    scan = sheet.scan
    return {
        "path": scan.name,
        "page": scan.page,
        "sha256": scan.sha256,
        "width_px": scan.width_px,
        "height_px": scan.height_px,
        "dpi": _figure(sheet.dpi, 2),
        "dpi_source": sheet.dpi_source,
        "turned_deg": sheet.turned_deg,
        "mirrored": sheet.mirrored,
        "skew_deg": _figure(sheet.skew_deg, 3),
    }


def _lines(report: Report, sheets: Mapping[int, Sheet]) -> list[Json]:
    read = {reading.line: reading.text for reading in report.readings}
    placed = {placing.line: placing.copy for placing in report.collation.placings}
    return [
        {
            "number": line.number,
            "scan": line.sheet,
            "column": line.column,
            "box": list(scan_box(sheets[line.sheet], line.box)),
            "body_pt": _figure(line.body_pt, 2),
            "text": read.get(line.number, ""),
            "copy": list(span) if (span := placed.get(line.number)) is not None else None,
        }
        for line in report.lines
    ]


def _fault(fault: Fault, sheets: Mapping[int, Sheet]) -> Json:
    return {
        "id": fault.id,
        "kind": fault.kind.value,
        "line": fault.line,
        "other_lines": list(fault.other_lines),
        "scan": fault.sheet,
        "box": list(scan_box(sheets[fault.sheet], fault.box)),
        "copy": {"start": fault.copy.start, "end": fault.copy.end, "text": fault.copy_text},
        "proof": {"text": fault.proof_text},
        "mark": {
            "sign": fault.mark.sign,
            "matter": fault.mark.matter,
            "margin": fault.mark.margin,
            "text": fault.mark.text,
            "words": fault.mark.words,
        },
        "certainty": _figure(fault.certainty, 4),
        "cause": fault.cause.value if fault.cause is not None else None,
        "status": fault.status.value,
        "evidence": {name: _figure(said, 3) for name, said in fault.evidence.items()},
    }


def _let_go(each: LetGo, sheets: Mapping[int, Sheet]) -> Json:
    return {
        "kind": each.kind.value,
        "line": each.line,
        "scan": each.sheet,
        "box": list(scan_box(sheets[each.sheet], each.box)),
        "copy": {"start": each.copy.start, "end": each.copy.end, "text": each.copy_text},
        "proof": {"text": each.proof_text},
        "certainty": _figure(each.certainty, 4),
        "reason": each.reason,
    }


def _figure(value: float, places: int) -> float:
    """A figure JSON can hold: rounded, and 0 for what is no number."""
    return round(float(value), places) + 0.0 if math.isfinite(value) else 0.0
