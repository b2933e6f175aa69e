"""The report as JSON.

The JSON form is a contract: keys are added, never renamed or dropped. Its shape is written down
in `report_schema.json` beside this module (JSON Schema, draft 2020-12). Pixel boxes are
[x, y, width, height] in the scan as supplied; copy positions are code-point offsets into the copy
as loaded, end exclusive.

Version 2 has all keys of version 1, and beside them `record`, the whole report without loss (its
boxes in pixels of the sheet, its floats to the last digit), from which `proof_record` makes the
report again; and `digest`, over all the rest.
"""

from __future__ import annotations

import json
import math
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING, Any, TypeAlias, cast

from proofcheck.base.found import Collation, Verdict
from proofcheck.base.values import Copy
from proofcheck.results.report import Provenance, Report, scan_box
from proofcheck.results.sealing import laid_out, sealed

if TYPE_CHECKING:
    from collections.abc import Mapping

    from proofcheck.base.found import Fault, LetGo, Unread
    from proofcheck.base.values import Sheet
    from proofcheck.recast.change import Recast

__all__ = [
    "Json",
    "report_schema",
    "report_text",
    "report_to_json",
    "unreadable_text",
]

Json: TypeAlias = dict[str, Any]
"""A JSON object."""


REPORT_VERSION = 2


@lru_cache(maxsize=1)
def report_schema() -> Json:
    """The JSON Schema (draft 2020-12) that every report's JSON form keeps to."""
    text = resources.files("proofcheck.results").joinpath("report_schema.json").read_text("utf-8")
    return cast("Json", json.loads(text))


def report_text(report: Report) -> str:
    """The JSON form as text, ending in a line end.

    In ASCII throughout, so that it passes any pipe and gives back any file name unchanged.
    """
    return laid_out(report_to_json(report))


def unreadable_text(reason: str) -> str:
    """The JSON form for a proof refused before it was read; the reason is its only warning."""
    nothing = Copy("", "", "", "", ())
    collation = Collation((), (), {}, 0.0)
    report = Report(
        Verdict.UNREADABLE, (), nothing, (), (), collation, (), Provenance(""), (), (reason,)
    )
    return report_text(report)


def report_to_json(report: Report) -> Json:
    """The report as a JSON object to version 2 of the contract."""
    from proofcheck.results.record_codec import codec_of

    record = codec_of(Report).write(report)
    return sealed({**_told(report), "record": record})


def _told(report: Report) -> Json:
    """What version 1 tells."""
    sheets = {sheet.number: sheet for sheet in report.sheets}
    counts = report.counts
    return {
        "report": REPORT_VERSION,
        "verdict": report.verdict.value,
        "counts": {"faults": counts.faults, "queries": counts.queries},
        "agreement": _figure(report.collation.agreement, 4),
        "scans": [_scan(sheet) for sheet in report.sheets],
        "copy": _copy(report.copy),
        "lines": _lines(report, sheets),
        "faults": [_fault(fault, sheets) for fault in report.faults],
        "recast": [_recast(recast) for recast in report.recast],
        "waived": dict(report.collation.waived),
        "let_go": [_let_go(each, sheets) for each in report.let_go],
        "unread": [_unread(each, sheets) for each in report.unread],
        "made": {
            "version": report.provenance.version,
            "reader": report.provenance.reader,
            "reader_version": report.provenance.reader_version,
            "settings": dict(report.provenance.settings),
            "program": report.provenance.program,
        },
        "warnings": list(report.warnings),
    }


def _copy(copy: Copy) -> Json:
    return {
        "path": copy.name,
        "sha256": copy.sha256,
        "characters": len(copy.text),
        "encoding": copy.encoding,
        "notes": list(copy.notes),
    }


def _recast(recast: Recast) -> Json:
    return {
        "lines": list(recast.lines),
        "matter": list(recast.matter),
        "reason": list(recast.reason),
        "after": recast.after,
        "spaces_pt": [_figure(space, 2) for space in recast.spaces_pt],
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
            "ticket": line.ticket,
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
        "grade": fault.grade.value if fault.grade is not None else None,
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


def _unread(each: Unread, sheets: Mapping[int, Sheet]) -> Json:
    return {
        "scan": each.sheet,
        "box": list(scan_box(sheets[each.sheet], each.box)),
        "words": each.words,
    }


def _figure(value: float, places: int) -> float:
    """A figure JSON can hold: rounded, and 0 for what is no number."""
    return round(float(value), places) + 0.0 if math.isfinite(value) else 0.0
