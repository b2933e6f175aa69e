"""Is it in the type or only in the reading? Every difference weighed by what the image shows."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from proofcheck.marks.assign import mark_for, query_mark
from proofcheck.values import Box, Fault, Kind, LetGo, Status
from proofcheck.weigh.calibration import Calibration, features_of
from proofcheck.weigh.evidence import Dispute, Evidence, Witness, disputes_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.values import Collation, Difference, Letter, Line, Mark, Reading, Sheet

__all__ = ["Lines", "Weighed", "Witnesses", "gather", "weigh"]

QUERY_LINE = 0.02
"""Below this the image bears out the copy: a slip of the reading, counted but not shown."""
BORNE_OUT = "the picture bears out the copy"
"""Reason for letting a difference go."""
RULE_CERTAINTY = 0.95
"""Of a difference that whole lines bear witness to: many letters, all agreeing."""
FOREIGN_CERTAINTY = 0.6
"""A line not in the copy whose letters were read with less than this is a query: it may be an
ornament or a stain."""


@dataclass(frozen=True, slots=True)
class Witnesses:
    """Who is asked about a dispute; None stands for a witness that can't be had."""

    ratio: Witness | None = None
    second_look: Witness | None = None
    own_letters: Witness | None = None


@dataclass(frozen=True, slots=True)
class Lines:
    """At what certainty a difference is called a fault, and below which it is let go."""

    fault: float = 0.5
    query: float = QUERY_LINE


@dataclass(frozen=True, slots=True)
class Weighed:
    """What is left after weighing."""

    faults: tuple[Fault, ...]
    """In the order of the proof."""
    let_go: tuple[LetGo, ...]
    """Slips of the reading: differences the image settled in favour of the copy."""


def gather(
    collation: Collation,
    sheets: Sequence[Sheet],
    lines: Sequence[Line],
    readings: Sequence[Reading],
    witnesses: Witnesses,
) -> dict[int, Evidence]:
    """Evidence for every difference the image can settle, by its place in the collation."""
    disputes = disputes_of(collation.differences, sheets, lines, readings)
    asked = list(disputes.values())

    def testimony(witness: Witness | None) -> list[float | None]:
        return witness.testify(asked) if witness and asked else [None] * len(asked)

    ratios = testimony(witnesses.ratio)
    looks = testimony(witnesses.second_look)
    likenesses = testimony(witnesses.own_letters)
    return {
        at: Evidence(ratio, look, likeness, _certainty_read(dispute))
        for (at, dispute), ratio, look, likeness in zip(
            disputes.items(), ratios, looks, likenesses, strict=True
        )
    }


def _certainty_read(dispute: Dispute) -> float:
    start, end = dispute.difference.proof
    letters = (
        dispute.reading.letters[start:end] or dispute.reading.letters[max(start - 1, 0) : start + 1]
    )
    return min((letter.certainty for letter in letters), default=0.0)


def weigh(
    collation: Collation,
    sheets: Sequence[Sheet],
    lines: Sequence[Line],
    readings: Sequence[Reading],
    witnesses: Witnesses,
    calibration: Calibration,
    *,
    called: Lines = Lines(),
    hand_set: bool = False,
) -> Weighed:
    """Weigh every difference of a collation and mark what stands.

    Args:
        collation: the lines laid against the copy.
        sheets: the sheets of the proof.
        lines: its lines.
        readings: one a line.
        witnesses: who is asked about each dispute.
        calibration: turns their evidence into a certainty.
        called: where the lines between fault, query and nothing lie.
        hand_set: type from the case; chooses among the marks.
    """
    evidence = gather(collation, sheets, lines, readings, witnesses)
    places = _Places(lines, readings)
    faults: list[Fault] = []
    let_go: list[LetGo] = []
    for at, difference in enumerate(collation.differences):
        if at in evidence:
            certainty = calibration.certainty(features_of(difference, evidence[at]))
        else:
            certainty = _by_rule(difference, places)
        if certainty < called.query:
            let_go.append(_let_go(difference, certainty, places))
            continue
        standing = Status.FAULT if certainty >= called.fault else Status.QUERY
        if difference.only_query:
            standing = Status.QUERY
        mark = mark_for(difference, hand_set=hand_set)
        if standing is Status.QUERY:
            mark = query_mark(mark)
        fault = _fault(f"F{len(faults) + 1}", difference, certainty, standing, mark, places)
        said = evidence[at].as_numbers() if at in evidence else {}
        faults.append(replace(fault, evidence=said))
    return Weighed(tuple(faults), tuple(let_go))


class _Places:
    """Lines and readings by number, and where on its sheet a difference stands."""

    def __init__(self, lines: Sequence[Line], readings: Sequence[Reading]) -> None:
        self.lines = {line.number: line for line in lines}
        self.readings = {reading.line: reading for reading in readings}

    def of(self, difference: Difference) -> tuple[int, Box]:
        """Number of the sheet, and the box; for a gap a box of no width."""
        line = self.lines.get(difference.line)
        if line is None:
            if not self.lines:
                return 0, Box(0, 0, 0, 0)
            # What should stand before the first line is put in at its head.
            first = self.lines[min(self.lines)]
            return first.sheet, Box(first.box.x, first.box.y, 0, first.box.height)
        if difference.kind in _ALL_OF_A_LINE:
            return line.sheet, line.box
        letters = self.readings[line.number].letters
        start, end = difference.proof
        if end > start:
            return line.sheet, Box.around(letter.box for letter in letters[start:end])
        at_end = difference.kind is Kind.LINE_MISSING
        gap = line.box.right if at_end else _gap_x(letters, start, line)
        return line.sheet, Box(gap, line.box.y, 0, line.box.height)


_ALL_OF_A_LINE = frozenset({Kind.LINE_DOUBLED, Kind.LINES_TRANSPOSED, Kind.LINE_FOREIGN})


def _gap_x(letters: Sequence[Letter], at: int, line: Line) -> int:
    """The column of the gap before letter `at`."""
    if not letters:
        return line.box.x
    if at == 0:
        return letters[0].box.x
    if at >= len(letters):
        return letters[-1].box.right
    return (letters[at - 1].box.right + letters[at].box.x) // 2


def _fault(
    name: str,
    difference: Difference,
    certainty: float,
    standing: Status,
    mark: Mark,
    places: _Places,
) -> Fault:
    sheet, box = places.of(difference)
    return Fault(
        id=name,
        kind=difference.kind,
        line=difference.line,
        sheet=sheet,
        box=box,
        copy=difference.copy,
        copy_text=difference.copy_text,
        proof_text=difference.proof_text,
        mark=mark,
        certainty=certainty,
        status=standing,
        cause=difference.cause,
        other_lines=difference.other_lines,
    )


def _let_go(difference: Difference, certainty: float, places: _Places) -> LetGo:
    sheet, box = places.of(difference)
    return LetGo(
        kind=difference.kind,
        line=difference.line,
        sheet=sheet,
        box=box,
        copy=difference.copy,
        copy_text=difference.copy_text,
        proof_text=difference.proof_text,
        certainty=certainty,
        reason=BORNE_OUT,
    )


def _by_rule(difference: Difference, places: _Places) -> float:
    """Certainty of what whole lines or a rule of the trade bear witness to."""
    reading = places.readings.get(difference.line)
    if difference.kind is not Kind.LINE_FOREIGN or reading is None or not reading.letters:
        return RULE_CERTAINTY
    read = sum(letter.certainty for letter in reading.letters) / len(reading.letters)
    return RULE_CERTAINTY if read >= FOREIGN_CERTAINTY else RULE_CERTAINTY * read / 2
