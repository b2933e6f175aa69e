"""What of the copy was read on a proof, with what and under which choices, as the record has it.

Nothing is judged while recording: the raw facts go on the record, and whoever asks whether the
job is clear for press holds them against what is usual.
"""

from __future__ import annotations

import json
import re
from dataclasses import fields
from typing import TYPE_CHECKING, Any

from proofcheck.base.options import Options
from proofcheck.base.units import inches_to_pt
from proofcheck.base.visible import visible
from proofcheck.docket.job import held_by, standing_proofs
from proofcheck.docket.spans import matter, merged, without

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.docket.canonical import Data
    from proofcheck.docket.facts import ProofPulled
    from proofcheck.docket.job import Job
    from proofcheck.results.report_json import Json

__all__ = [
    "BY_PERSON", "HERE", "TAKEN_IN", "choices_words", "ems_of", "held_spans", "how_taken",
    "lax_choices", "laxness", "left_out", "lines_words", "read_data", "unread_words",
]  # fmt: skip

HERE, TAKEN_IN, BY_PERSON = "here", "taken-in", "person"
"""Read by the one who recorded it; taken in as the record of a reading made elsewhere; or no
reading at all, but what a person says he read with his own eyes."""
_MOST_EMS = 1 << 40
"""No proof has more; a report made elsewhere may say so."""


def read_data(report: Json, *, here: bool, person: str = "") -> Data:
    """What the record says of how a proof was read.

    Args:
        report: in its JSON form.
        here: whether it was read for this recording, not taken in as a file.
        person: who read the proof, where the report was made by hand.
    """
    made = report["made"]
    # Told only where there is anything to tell: older entries have neither.
    told = {"by": person, "program": made.get("program", "")}
    return {
        **{name: value for name, value in told.items() if value},
        "how": BY_PERSON if person else HERE if here else TAKEN_IN,
        "version": made["version"],
        "reader": made["reader"],
        "reader_version": made["reader_version"],
        "settings": {name: json.dumps(value) for name, value in made["settings"].items()},
        "held": [list(span) for span in held_spans(report)],
        "unread": [unread_words(one, len(report["scans"])) for one in report.get("unread", ())],
        "let_go": len(report.get("let_go", ())),
        "notes": list(report["copy"].get("notes", ())),
        "ems": ems_of(report),
    }


def ems_of(report: Json) -> int:
    """Ems of matter on a proof: of each printed line its length in squares of its own body.

    The length is that of the ink, so that a short line counts for what is printed of it; by the
    trade's custom the compositor's reckoning takes the full measure (common practice).
    """
    whole = 0.0
    for line in report["lines"]:
        scan = report["scans"][line["scan"]]
        _, _, width, height = line["box"]
        length = height if scan["turned_deg"] in {90, 270} else width
        if scan["dpi"] > 0 and line["body_pt"] > 0:
            whole += inches_to_pt(length / scan["dpi"]) / line["body_pt"]
    return min(round(whole), _MOST_EMS)


def unread_words(unread: Json, sheets: int) -> str:
    """Ink that was not read, in words; of several sheets on which."""
    where = f" of sheet {unread['scan'] + 1}" if sheets > 1 else ""
    return f"{unread['words']}{where}"


def held_spans(report: Json) -> list[tuple[int, int]]:
    """Stretches of copy that are accounted for: by lines, and by what was found or let go."""
    spans = [tuple(line["copy"]) for line in report["lines"] if line["copy"] is not None]
    told = (found["copy"] for found in (*report["faults"], *report.get("let_go", ())))
    spans += [(place["start"], place["end"]) for place in told]
    return merged((start, end) for start, end in spans if start < end)


# ------------------------------------------------------------------ what of the copy


def left_out(job: Job) -> list[tuple[int, int]]:
    """Stretches of the copy that holds now which no standing proof accounts for."""
    if job.copy is None or job.proof is None or job.proof.copy != job.copy.number:
        return []
    text = job.copy.entry.data["text"]
    proofs = [p for p in standing_proofs(job) if p.copy == job.copy.number]
    held = merged(span for proof in proofs for span in held_by(job, proof))
    return matter(without([(0, len(text))], held), text)


def lines_words(spans: Sequence[tuple[int, int]], text: str) -> str:
    """Stretches of copy by its lines, from 1: "40-80", "3, 12-14"."""
    numbers: list[tuple[int, int]] = []
    for start, end in spans:
        first = text.count("\n", 0, start) + 1
        last = first + text.count("\n", start, end)
        if numbers and first <= numbers[-1][1] + 1:
            numbers[-1] = numbers[-1][0], max(last, numbers[-1][1])
        else:
            numbers.append((first, last))
    return ", ".join(f"{a}" if a == b else f"{a}-{b}" for a, b in numbers)


# ------------------------------------------------------------------ under which choices


def laxness(proof: ProofPulled) -> list[str]:
    """Choices under which less is found than usual, each in words; empty for the usual ones."""
    return [words for _, words in _lax(proof)]


def lax_choices(proof: ProofPulled) -> list[str]:
    """The same as facts that a person answers for.

    Their wording never changes: whoever answered for them has answered for exactly these.
    """
    return [fact for fact, _ in _lax(proof)]


def _lax(proof: ProofPulled) -> list[tuple[str, str]]:
    """Each such choice as a fact and in words."""
    if proof.read is None:
        return []
    usual = {field.name: field.default for field in fields(Options)}
    held = {name: _value(text) for name, text in proof.read["settings"].items()}
    out = []
    for name, words in _CERTAINTIES.items():
        value, common = held.get(name), usual[name]
        if not isinstance(value, int | float) or value > _figure(common):
            shown = visible(str(value))[:20] if name in held else "not said"
            told = words.format(shown) if name in held else f"{words.format('what')} is not said"
            out.append((f"{name} {shown} (usual {common})", f"{told}; usual is {common} ({name})"))
    if proof.read["reader"] != usual["reader"]:
        shown = visible(proof.read["reader"])[:40]
        told = "by the OCR engine alone" if shown == "tesseract" else f"by the reader {shown!r}"
        out.append((f"reader {shown!r}", told))
    for name, words in _LAX:
        if name in held and held[name] != usual[name] and held[name] not in ("", None):
            out.append((words, words))
    return [*out, *_allowed(held.get("allowed"))]


def _allowed(held: object) -> list[tuple[str, str]]:
    """What was let pass besides the usual."""
    if not held:
        return []
    names = re.split(r"[,\s]+", visible(str(held)).strip())
    told = ", ".join(_LET_PASS.get(name, name.replace("-", " ")) for name in names)
    return [(f"allowing {visible(str(held))[:80]}", f"letting pass {told[:120]} (allowed)")]


_CERTAINTIES = {
    "fault_certainty": "no difference called a fault that is less sure than {}",
    "query_certainty": "differences less sure than {} let go as slips of the reading",
}
_LET_PASS = {"division-run": "more than two divisions running"}
_LAX = (
    ("second_look", "without the second look"),
    ("type_too", "the type itself not looked at"),
    ("lines", "by lines found elsewhere"),
    ("unfit", "though the sheet is not fit to be judged"),
    ("weights", "with other weights"),
    ("type_weights", "with other weights for the type"),
)


def _figure(value: Any) -> float:  # noqa: ANN401 - the default of a field
    return float(value)


def _value(text: str) -> object:
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return text


def how_taken(proof: ProofPulled) -> str:
    """How a proof came to be read where it was not read here, in words; "" where it was."""
    read = proof.read or {}
    if read.get("how") == BY_PERSON:
        return f"read by a person, {visible(read.get('by', ''))}, and by no program"
    if read.get("how") == TAKEN_IN:
        return f"the record of a reading made elsewhere ({choices_words(read)}, as it says)"
    return ""


def choices_words(read: Mapping[str, Any]) -> str:
    """With what a proof was read, in a line."""
    named = f"{visible(read['reader'])} {visible(read['reader_version'])}".strip()
    return f"proofcheck {visible(read['version'])}, reader {named}"
