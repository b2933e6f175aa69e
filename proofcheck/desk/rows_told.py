"""What the desk's pages are told of a proof: a row a fault, its marks on the sheet, its letters."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeAlias

from proofcheck.base.found import Status
from proofcheck.base.visible import visible
from proofcheck.docket.decided import as_decided
from proofcheck.docket.decisions import reason_wanting
from proofcheck.docket.record_words import decision_words

if TYPE_CHECKING:
    from proofcheck.base.found import Fault
    from proofcheck.docket.facts import Found, ProofPulled
    from proofcheck.docket.job import Job
    from proofcheck.marks.paths import Drawing
    from proofcheck.results.report import Report

__all__ = ["Told", "lines_told", "proof_told", "row_told", "rows_named"]

Told: TypeAlias = dict[str, Any]
"""What is sent as JSON."""


def proof_told(job: Job, proof: ProofPulled, report: Report) -> Told:
    """All of a proof: its faults in order, and how the job stands.

    Args:
        job: as it stands.
        proof: one of its proofs.
        report: of that proof, as read.
    """
    ruled = {fault.id: fault for fault in as_decided(report, proof, plan=False).faults}
    found = {each.id: each for each in proof.found}
    order = [fault.id for fault in report.faults]
    order += [each.id for each in proof.found if each.id not in set(order)]
    lines = {each.id: each.line for each in report.faults}
    order.sort(key=lambda name: lines[name] if name in lines else found[name].line)
    rows = [_row(job, found[name], ruled.get(name), report) for name in order if name in found]
    return {
        "job": job.number,
        "proof": proof.number,
        "name": proof.name,
        "entry": job.entries[-1].number,
        "rows": rows,
        "left": sum(row["decision"] == "" for row in rows),
    }


def rows_named(job: Job, proof: ProofPulled, report: Report, ref: str) -> Told:
    """What a decision on the fault of that reference has changed: its row, wherever it came from.

    A fault carried on from an earlier proof is decided under its name there.
    """
    named = (each for each in proof.found if ref and ref in (each.ref, each.carried_from))
    names = [each.id for each in named]
    return {
        "entry": job.entries[-1].number,
        "left": sum(each.decision is None for each in proof.found),
        "rows": [row_told(job, proof, report, name) for name in names],
    }


def row_told(job: Job, proof: ProofPulled, report: Report, name: str) -> Told | None:
    """One fault as it stands now; None if there is none of that name."""
    found = next((each for each in proof.found if each.id == name), None)
    if found is None:
        return None
    ruled = as_decided(report, proof, plan=False, only=name).faults
    return _row(job, found, next((f for f in ruled if f.id == name), None), report)


def _row(job: Job, found: Found, fault: Fault | None, report: Report) -> Told:
    """A fault: what is found, what is decided, and its mark on the sheet."""
    decision = found.decision
    told: Told = {
        "id": found.id,
        "line": found.line,
        "kind": found.kind.replace("-", " "),
        "status": fault.status.value if fault else _without_mark(found),
        "words": visible(fault.mark.words if fault else found.words),
        "margin": visible(fault.mark.margin) if fault else "",
        "decision": decision.what if decision else "",
        "charge": found.charged,
        "by": visible(decision.by) if decision else "",
        "note": visible(decision.note) if decision else "",
        "said": visible(decision_words(job, found)),
        "seen": decision.entry.place if decision else 0,
        "sides": _sides(found),
        "wanting": reason_wanting(job, found),
    }
    if fault is not None and found.status != "revise":
        told["at"] = _at(fault, report)
    elif found.status == "revise":
        # It is the slug as a whole: the line is shown, and no mark laid over it.
        whole = next((line for line in report.lines if line.number == found.line), None)
        if whole is not None:
            told["at"] = {
                "sheet": whole.sheet, "box": list(whole.box), "strokes": "", "pen": 2,
                "query": False,
            }  # fmt: skip
    return told


def _sides(found: Found) -> list[dict[str, str]]:
    """Who decided what, where two have decided differently and nobody has settled it."""
    held = (*found.beside, found.decision) if found.others else ()
    return [{"by": visible(one.by), "what": one.what} for one in held if one is not None]


def _without_mark(found: Found) -> str:
    """The standing of what is drawn nowhere: wrongly alleged, or what a revise showed."""
    wrongly = found.decision is not None and found.decision.what == "sound"
    return "sound" if wrongly else found.status


def _at(fault: Fault, report: Report) -> Told:
    """Where a fault stands on its sheet, and the strokes of its mark, in sheet pixels."""
    from proofcheck.results.marked.mark_places import mark_at_place

    lines = {line.number: line for line in report.lines}
    line = lines.get(fault.line)
    box = fault.box
    told: Told = {
        "sheet": fault.sheet,
        "box": [box.x, box.y, box.width, box.height],
        "strokes": _path(mark_at_place(fault, lines)) if line else "",
        "pen": round(line.x_height_px / 9, 1) if line else 2,
        "query": fault.status is Status.QUERY,
    }
    if line:
        told["margin_y"] = round(line.baseline[1])
        told["size"] = round(line.x_height_px, 1)
    return told


def _path(drawing: Drawing) -> str:
    """Strokes as the path of an SVG."""
    parts = []
    for stroke in drawing:
        points = [f"{x:.1f} {y:.1f}" for x, y in stroke.points]
        if len(points) == 1:
            points *= 2
        parts.append("M" + "L".join(points))
    return "".join(parts)


def lines_told(report: Report) -> Told:
    """The lines of a proof with every letter's place, for marks that a reader puts himself."""
    return {
        "sheets": [
            {"number": sheet.number, "width": sheet.image.shape[1], "height": sheet.image.shape[0]}
            for sheet in report.sheets
        ],
        "lines": [
            {
                "number": line.number,
                "sheet": line.sheet,
                "box": list(line.box),
                "text": reading.text,
                "x": [letter.box.x for letter in reading.letters],
                "right": [letter.box.right for letter in reading.letters],
            }
            for line in report.lines
            if (reading := report.reading(line.number)) is not None
        ],
    }
