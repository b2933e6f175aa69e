"""Is it in the type or only in the reading? Every difference weighed by what the image shows."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from proofcheck.base.found import Found, LetGo, Status
from proofcheck.base.kinds import Kind, thresholds_of
from proofcheck.weigh.beyond import Beyond
from proofcheck.weigh.evidence import Dispute, Evidence, Witness, disputes_of
from proofcheck.weigh.fellows import Says
from proofcheck.weigh.grouping import grouped
from proofcheck.weigh.judging import (
    BELOW_THE_LINE,
    BORNE_OUT,
    PAGE_BEARS_OUT,
    QUERY_LINE,
    WIDTH_BEARS_OUT,
    Judge,
    Judged,
)
from proofcheck.weigh.misreading import Misreading
from proofcheck.weigh.one_dash import asked_once
from proofcheck.weigh.paler import paler_lines
from proofcheck.weigh.places import Places
from proofcheck.weigh.same_shapes import same_shapes

if TYPE_CHECKING:
    from collections.abc import Container, Mapping, Sequence

    from proofcheck.base.found import Collation, Difference
    from proofcheck.base.values import Line, Reading, Sheet
    from proofcheck.weigh.calibration import Calibration
    from proofcheck.weigh.page_letters import PageLetters
    from proofcheck.weigh.page_says import PageSays
    from proofcheck.weigh.word_widths import WordWidths

__all__ = ["Thresholds", "Weighed", "Witnesses", "gather", "weigh"]


@dataclass(frozen=True, slots=True)
class Witnesses:
    """Who is asked about a dispute; None stands for a witness that can't be had."""

    ratio: Witness | None = None
    second_look: Witness | None = None
    own_letters: Witness | None = None
    page: PageSays | None = None
    """The page's own letters, asked where a difference must not pass in silence."""
    beyond: Beyond | None = None
    """Judges letters of the copy that the reader has no character for."""
    letters: PageLetters | None = None
    """The proof's own letters, which decide between two letters where they plainly can."""

    widths: WordWidths | None = None
    """How wide the words are, which tells a letter too many or too few."""

    def judge(self, calibration: Calibration, places: Places, paler: frozenset[int]) -> Judge:
        """Who judges by them; `paler` are the foreign lines in paler ink than the type's."""
        return Judge(
            calibration,
            places,
            self.page,
            self.beyond or Beyond(),
            self.letters,
            self.widths,
            paler=paler,
        )


@dataclass(frozen=True, slots=True)
class Thresholds:
    """At what certainty a difference is called a fault, and below which it is let go."""

    fault: float = 0.5
    query: float = QUERY_LINE

    def of(self, kind: Kind) -> tuple[float, float]:
        """Both for one kind, which may have its own."""
        return thresholds_of(kind, self.fault, self.query)


@dataclass(frozen=True, slots=True)
class Weighed:
    """What is left after weighing."""

    found: tuple[Found, ...]
    """In the order of the proof."""
    let_go: tuple[LetGo, ...]
    """Slips of the reading: differences the image settled in favour of the copy."""
    notes: tuple[str, ...] = ()
    """Which characters can't be told apart here, a line each."""


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
    looks = _looks(witnesses, asked)
    likenesses = testimony(witnesses.own_letters)
    return {
        at: Evidence(ratio, look, likeness, _certainty_read(dispute))
        for (at, dispute), ratio, look, likeness in zip(
            disputes.items(), ratios, looks, likenesses, strict=True
        )
    }


def _looks(witnesses: Witnesses, asked: Sequence[Dispute]) -> list[float | None]:
    """The engine's word on the places that the proof's own letters do not settle."""
    letters, engine = witnesses.letters, witnesses.second_look
    looks: list[float | None] = [None] * len(asked)
    if engine is None:
        return looks
    open_ = [
        at
        for at, dispute in enumerate(asked)
        if letters is None or letters.of(dispute)[0] is Says.NOTHING
    ]
    for at, look in zip(open_, engine.testify([asked[at] for at in open_]), strict=True):
        looks[at] = look
    return looks


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
    called: Thresholds = Thresholds(),
) -> Weighed:
    """Weigh every difference of a collation and keep what stands.

    Args:
        collation: the lines laid against the copy.
        sheets: the sheets of the proof.
        lines: its lines.
        readings: one a line.
        witnesses: who is asked about each dispute.
        calibration: turns their evidence into a certainty.
        called: where the lines between fault, query and nothing lie.
    """
    evidence = gather(collation, sheets, lines, readings, witnesses)
    disputes = disputes_of(collation.differences, sheets, lines, readings)
    places = Places(lines, readings)
    foreign = {d.line for d in collation.differences if d.kind is Kind.LINE_FOREIGN}
    judge = witnesses.judge(calibration, places, paler_lines(sheets, lines, foreign))
    judged = [
        judge.of(at, difference, disputes.get(at), evidence.get(at))
        for at, difference in enumerate(collation.differences)
    ]
    judged, dashes = asked_once(judged, places.readings)
    slips = _slips(judged, disputes, judge, called)
    judged = _tempered(judged, disputes, Misreading(lines, readings, slips), called)
    found: list[Found] = []
    let_go: list[LetGo] = []
    for one in grouped(judged, judge.beyond, disputes):
        if one.reason or one.certainty < called.of(one.difference.kind)[1]:
            let_go.append(_let_go(one, places))
            continue
        said = evidence[one.at].as_numbers() if one.at in evidence else {}
        found.append(_found(one, called, places, said))
    alike = Counter(one.alike for one in judged if one.alike)
    alike.update(judge.causes)
    alike.update(dashes)
    return Weighed(tuple(found), tuple(let_go), _notes(alike, witnesses.page))


def _slips(
    judged: Sequence[Judged], disputes: Container[int], judge: Judge, called: Thresholds
) -> list[Difference]:
    """What was let go for what the picture shows, or is but asked about."""
    return [
        one.difference
        for one in judged
        if one.at in disputes
        and not (one.difference.only_query or judge.beyond.concerns(one.difference))
        and one.reason in {"", BORNE_OUT, PAGE_BEARS_OUT, WIDTH_BEARS_OUT}
        and (one.reason or one.certainty < called.of(one.difference.kind)[0])
    ]


def _tempered(
    judged: Sequence[Judged], disputes: Container[int], misreading: Misreading, called: Thresholds
) -> list[Judged]:
    """What is called a fault is less certain where the reader slips often; none is let go so."""
    tempered = list(judged)
    for at, one in enumerate(judged):
        fault, query = called.of(one.difference.kind)
        if one.at in disputes and not one.reason and one.certainty >= fault:
            less = misreading.tempered(one.difference.line, one.certainty)
            tempered[at] = replace(one, certainty=max(less, min(query, one.certainty)))
    return tempered


def _notes(alike: Counter[str], page: PageSays | None) -> tuple[str, ...]:
    """What can't be told apart here: where it was in dispute, and where it may be."""
    notes = tuple(f"{pair}: {_places_in_words(count)}" for pair, count in alike.items())
    spoken = {pair.partition(" can't")[0] for pair in alike}
    return notes + (same_shapes(page.fellows, spoken) if page is not None else ())


def _places_in_words(count: int) -> str:
    return f"{count} place{'' if count == 1 else 's'}"


def _found(one: Judged, called: Thresholds, places: Places, said: Mapping[str, float]) -> Found:
    sure = one.certainty >= called.of(one.difference.kind)[0]
    standing = Status.FAULT if sure and not one.difference.only_query else Status.QUERY
    sheet, box = places.of(one.difference)
    return Found(one.difference, sheet, box, one.certainty, standing, said)


def _let_go(one: Judged, places: Places) -> LetGo:
    difference = one.difference
    sheet, box = places.of(difference)
    return LetGo(
        kind=difference.kind,
        line=difference.line,
        sheet=sheet,
        box=box,
        copy=difference.copy,
        copy_text=difference.copy_text,
        proof_text=difference.proof_text,
        certainty=one.certainty,
        reason=one.reason or BELOW_THE_LINE,
    )
