"""A fault that the reader saw and the tool did not: put on the record like any other."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from rapidfuzz.distance import Levenshtein

from proofcheck.base.carried import letters_span
from proofcheck.base.found import Difference
from proofcheck.base.kinds import Group, Kind, of_group
from proofcheck.base.values import Box, Span
from proofcheck.base.visible import visible
from proofcheck.docket.came_back import taken_data
from proofcheck.docket.chain import Draft, Entry
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.recording import checked_name, known
from proofcheck.docket.which_proof import proof_meant
from proofcheck.marks.assign import mark_for

if TYPE_CHECKING:
    from proofcheck.docket.book import Docket
    from proofcheck.docket.came_back import CameBack
    from proofcheck.docket.facts import Found, ProofPulled
    from proofcheck.docket.job import Job
    from proofcheck.results.report import Report

__all__ = ["OF_NO_LINE", "OF_THE_TYPE", "OwnMark", "difference_at", "mark_own", "stored_report"]

OF_THE_TYPE = tuple(
    kind.value for kind in Kind if kind in of_group(Group.TYPE) | {Kind.TURNED_SORT}
)
"""Kinds that a person names; those of the text follow from what is printed and wanted."""
OF_NO_LINE = tuple(kind.value for kind in Kind if kind in of_group(Group.RULES))
"""Kinds of rules and borders, which stand on no line of type."""
_LONGEST = 500
_FEW, _ANOTHER = 2, 0.5
"""Of more letters than so many, with less in common than this, it is another word."""


@dataclass(frozen=True, slots=True)
class OwnMark:
    """What a reader marks on a line of a proof."""

    line: int
    start: int
    """Letters of the line as read, end exclusive; an empty stretch is a gap."""
    end: int
    wanted: str = ""
    """What it should say; nothing where it is to go, or where the type alone is at fault."""
    kind: str = ""
    """One of `OF_THE_TYPE` or `OF_NO_LINE`; "" for a fault of the text."""
    note: str = ""
    asks: bool = False
    """It only asks, by its note: nothing is said to be wrong unless the copy has it otherwise."""
    box: Box | None = None
    """Of a rule or a border, where on the line's sheet; the line is then the one next to it."""


def stored_report(docket: Docket, proof: ProofPulled) -> Report:
    """The record of a proof, from its original; its sheets are without pictures.

    Raises:
        DocketError: the original is gone or was changed.
        RecordError: it is of a version that holds too little.
    """
    from proofcheck.results.proof_record import report_from_json

    return report_from_json(json.loads(docket.originals.read(proof.report_sha256)))


def mark_own(
    docket: Docket,
    number: str,
    mark: OwnMark,
    *,
    by: str,
    proof: int = 0,
    paper: CameBack | None = None,
) -> Entry:
    """Record a reader's own mark.

    It is to be corrected; where the reader would have it otherwise than the copy has it, the
    customer is to be asked.

    Args:
        docket: the record.
        number: the job's.
        mark: what is marked.
        by: initials.
        proof: number of the proof; the latest if not given.
        paper: the paper it was marked on.

    Raises:
        DocketError: no such job, proof, line or stretch; nothing changed; or taken before.
    """
    held = docket.job(number)
    chosen = proof_meant(held, proof)
    report = stored_report(docket, chosen)
    told, place = _placed(report, mark)
    there = report.copy.text[told.copy.start : told.copy.end]
    agreed = bool(mark.kind) or there == told.copy_text

    def draft(job: Job | None) -> Draft:
        name = f"F{_next(known(job, number).proofs[chosen.number - 1])}"
        data: dict[str, Any] = {
            "proof": chosen.number,
            "found": _found_data(name, told, mark, charge="PE" if agreed else "AA"),
            "place": place,
            "what": "correct" if agreed and not mark.asks else "query",
            "note": visible(mark.note),
            **taken_data(job, paper),
        }
        return Draft("marked", checked_name(by, "initials"), data)

    return docket.record(number, draft, paper.originals if paper else ())


def _found_data(name: str, told: Difference, mark: OwnMark, charge: str) -> dict[str, Any]:
    return {
        "id": name,
        "kind": told.kind.value,
        "line": told.line,
        "words": f"query: {visible(mark.note)}" if mark.asks else mark_for(told).words,
        "printed": told.proof_text,
        "wanted": told.copy_text,
        "copy": list(told.copy),
        "status": "reader",
        "cause": "",
        "charge": charge,
    }


def _next(proof: ProofPulled) -> int:
    taken = [int(found.id[1:]) for found in proof.found if found.id.startswith("F")]
    return max(taken, default=0) + 1


def _placed(report: Report, mark: OwnMark) -> tuple[Difference, dict[str, Any]]:
    """The mark as a difference, and where it stands as the record has it."""
    if mark.box is not None or mark.kind in OF_NO_LINE:
        return _of_no_line(report, mark)
    line, reading = report.line(mark.line), report.reading(mark.line)
    if line is None or reading is None or not 0 <= mark.start <= mark.end <= len(reading.letters):
        msg = f"there is no such place on line {mark.line} of the proof"
        raise DocketError(msg)
    letters = reading.letters
    if mark.end > mark.start:
        box = Box.around(letter.box for letter in letters[mark.start : mark.end])
    else:
        before = letters[mark.start - 1].box.right if mark.start else line.box.x
        box = Box(before, line.box.y, 0, line.box.height)
    printed = reading.text[mark.start : mark.end]
    copy = copy_at(report, mark)
    if mark.asks:
        wanted, kind = _asked(printed, report.copy.text[copy.start : copy.end])
    elif mark.kind:
        wanted, kind = printed, _type_kind(mark.kind)
    else:
        wanted = visible(mark.wanted)[:_LONGEST]
        if wanted == printed:
            msg = "nothing would be changed: what it should say is what is printed there"
            raise DocketError(msg)
        kind = _text_kind(printed, wanted)
    told = Difference(kind, mark.line, Span(mark.start, mark.end), printed, copy, wanted)
    return told, {"sheet": line.sheet, "letters": list(told.proof), "box": list(box)}


def _of_no_line(report: Report, mark: OwnMark) -> tuple[Difference, dict[str, Any]]:
    """A rule or a border marked: in the box drawn, or, with none, beside the whole line."""
    line = report.line(mark.line)
    if line is None:
        msg = f"there is no line {mark.line} on the proof"
        raise DocketError(msg)
    if mark.kind not in OF_NO_LINE:
        msg = f"a box on the sheet is of a rule or a border; choose one of: {', '.join(OF_NO_LINE)}"
        raise DocketError(msg)
    box = mark.box or line.box
    height, width = next(s for s in report.sheets if s.number == line.sheet).image.shape
    inside = 0 <= box.x < box.right <= width and 0 <= box.y < box.bottom <= height
    if not inside:
        msg = "the box does not lie on the sheet"
        raise DocketError(msg)
    told = Difference(Kind(mark.kind), mark.line, Span(0, 0), "", Span(0, 0), "")
    return told, {"sheet": line.sheet, "letters": [0, 0], "box": list(box)}


def _asked(printed: str, copy: str) -> tuple[str, Kind]:
    """What a mere question comes to: the copy's matter where the type has another."""
    if copy.strip() and " ".join(copy.split()) != printed:
        return copy, _text_kind(printed, copy)
    return printed, Kind.WRONG_WORD if len(printed) > 1 else Kind.WRONG_LETTER


def _text_kind(printed: str, wanted: str) -> Kind:
    """The kind of what a person marked in the text: of whole words, or of letters of one."""
    from proofcheck.collate.naming import kind_of_letters, kind_of_words_missing

    held = printed or wanted
    if not (printed and wanted) and held.strip() and held != held.strip():
        return Kind.WORD_EXTRA if printed else kind_of_words_missing(wanted)
    alike = Levenshtein.normalized_similarity(printed, wanted)
    if min(len(printed), len(wanted)) > _FEW and alike < _ANOTHER:
        return Kind.WRONG_WORD
    return kind_of_letters(printed, wanted)


def _type_kind(name: str) -> Kind:
    if name not in OF_THE_TYPE:
        msg = f"no fault of the type {visible(name)!r}; choose one of: {', '.join(OF_THE_TYPE)}"
        raise DocketError(msg)
    return Kind(name)


def copy_at(report: Report, mark: OwnMark) -> Span:
    """Which stretch of the copy answers to the place; empty where the line is not in it."""
    reading, span = report.reading(mark.line), report.placed(mark.line)
    if reading is None or span is None:
        return Span(0, 0)
    wanted = report.copy.text[span.start : span.end]
    start, end = letters_span((mark.start, mark.end), reading.text, wanted)
    return Span(span.start + start, span.start + end)


def difference_at(found: Found) -> tuple[Difference, int, Box]:
    """A reader's own mark from the record: the difference, its sheet, and the box on it."""
    place = found.place or {}
    told = Difference(
        kind=Kind(found.kind),
        line=found.line,
        proof=Span(*place["letters"]),
        proof_text=found.printed,
        copy=Span(*found.copy),
        copy_text=found.wanted,
    )
    return told, int(place["sheet"]), Box(*place["box"])
