"""Weighing: the image, not the string, says whether a difference is in the type."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from typesetter import Para, Style, compose, lines_of, print_proof, pull, readings_of

from proofcheck.base.found import Collation, Difference, Fault, Status
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Reading, Scan, Sheet, Span
from proofcheck.faults import make_faults
from proofcheck.weigh import Thresholds, Witnesses, weigh
from proofcheck.weigh.calibration import FEATURES, Calibration, features_of, load_calibration
from proofcheck.weigh.evidence import Dispute, Evidence, disputes_of
from proofcheck.weigh.own_letters import OwnLetters, letter_patch

MATTER = (
    "The copper kettle on the corner stove was never once cold in all the evenings of that "
    "winter, since the carrier and the cooper came for cocoa at each end of the lane, and the "
    "clerk who kept the account of cakes eaten could seldom be got to close the record."
)


@pytest.fixture(scope="module")
def proof():
    forme = compose([Para(MATTER)], measure_picas=20, style=Style("schola", 10, 2))
    printed = print_proof(forme, dpi=300, seed=3)
    image = pull(printed, "good", seed=3)
    sheet = Sheet(
        image=image,
        scan=Scan("made.png", 0, "0" * 64, image.shape[1], image.shape[0]),
        number=0,
        dpi=300.0,
        dpi_source="option",
        turned_deg=0,
        mirrored=False,
        skew_deg=0.0,
        to_scan=np.eye(3),
    )
    return sheet, tuple(lines_of(printed)), tuple(readings_of(printed))


def _misread(readings, letter: str, as_letter: str, at: int):
    """The readings with the `at`-th such letter read as another, and the place."""
    seen = -1
    for number, reading in enumerate(readings):
        for place, held in enumerate(reading.letters):
            seen += held.text == letter
            if held.text == letter and seen == at:
                letters = list(reading.letters)
                letters[place] = replace(held, text=as_letter)
                changed = list(readings)
                changed[number] = Reading(reading.line, tuple(letters))
                return tuple(changed), reading.line, place
    msg = f"no {letter} number {at}"
    raise AssertionError(msg)


def _difference(line: int, place: int, printed: str, wanted: str) -> Difference:
    return Difference(Kind.WRONG_LETTER, line, Span(place, place + 1), printed, Span(0, 1), wanted)


@pytest.mark.parametrize("at", [0, 3, 6])
def test_the_pages_own_letters_tell_a_slip_of_the_reading(proof, at: int) -> None:
    """A c that is a c on paper but was read as e: the page's own letters speak for c.

    Oracle: the typesetter knows which letter it printed.
    """
    sheet, lines, readings = proof
    misread, line, place = _misread(readings, "c", "e", at)
    slip = _difference(line, place, "e", "c")
    own = OwnLetters([sheet], lines, misread, [slip])
    (dispute,) = disputes_of([slip], [sheet], lines, misread).values()
    (said,) = own.testify([dispute])
    assert said is not None
    assert said < -0.1


@pytest.mark.parametrize("at", [0, 3, 6])
def test_the_pages_own_letters_bear_out_a_fault_of_the_type(proof, at: int) -> None:
    """A c stands on paper where the copy wants e, and was read right."""
    sheet, lines, readings = proof
    _, line, place = _misread(readings, "c", "e", at)
    fault = _difference(line, place, "c", "e")
    own = OwnLetters([sheet], lines, readings, [fault])
    (dispute,) = disputes_of([fault], [sheet], lines, readings).values()
    (said,) = own.testify([dispute])
    assert said is not None
    assert said > 0.1


def test_more_copy_at_one_place_than_any_line_holds_is_not_held_against_the_picture(proof) -> None:
    """Four million characters of it took 2.8 GB; they are missing, and no picture need say so."""
    sheet, lines, readings = proof
    line, few = lines[0].number, "x" * 100
    gaps = [Difference(Kind.WORD_MISSING, line, Span(1, 1), "", Span(0, len(wanted)), wanted)
            for wanted in (few, few * 100)]  # fmt: skip
    assert list(disputes_of(gaps, [sheet], lines, readings)) == [0]
    seldom = Calibration(-9.0, (0.0,) * len(FEATURES), "set in a test")
    told = weigh(Collation((), tuple(gaps[1:])), [sheet], lines, readings, Witnesses(), seldom)
    assert [found.status for found in told.found] == [Status.FAULT]


def test_a_letter_seldom_seen_has_no_testimony(proof) -> None:
    sheet, lines, readings = proof
    slip = _difference(lines[0].number, 0, "Q", "O")
    own = OwnLetters([sheet], lines, readings, [slip])
    assert own.testify(list(disputes_of([slip], [sheet], lines, readings).values())) == [None]


def test_a_patch_outside_the_sheet_is_paper() -> None:
    sheet = np.full((40, 40), 255, np.uint8)
    from proofcheck.base.values import Line

    line = Line(1, 0, 0, Box(0, 10, 40, 10), (20.0, 20.0), 8.0, 10.0)
    assert letter_patch(sheet, line, Box(60, 10, 5, 10)).max() == 0


def test_the_line_as_the_copy_has_it(proof) -> None:
    """Applying the difference to the reading gives the other reading of the line."""
    sheet, lines, readings = proof
    reading = readings[1]
    word_start = reading.text.index(" ") + 1
    missing = Difference(
        Kind.WORD_MISSING, reading.line, Span(word_start, word_start), "", Span(0, 4), "put "
    )
    dispute = disputes_of([missing], [sheet], lines, readings)[0]
    assert isinstance(dispute, Dispute)
    assert dispute.as_copy == reading.text[:word_start] + "put " + reading.text[word_start:]
    assert dispute.as_copy[slice(*dispute.in_copy)] == "put "


class _Says:
    def __init__(self, number: float | None) -> None:
        self.number = number

    def testify(self, disputes):
        return [self.number] * len(disputes)


def _weighed(proof, certainty_of: float, *, only_query: bool = False):
    sheet, lines, readings = proof
    difference = replace(_difference(2, 1, "x", "y"), only_query=only_query)
    score = float(np.log(certainty_of / (1 - certainty_of)))
    model = Calibration(score, (0.0,) * len(FEATURES), "set in a test")
    collation = Collation((), (difference,))
    return weigh(
        collation,
        [sheet],
        lines,
        readings,
        Witnesses(ratio=_Says(3.0)),
        model,
        called=Thresholds(fault=0.5, query=0.05),
    )


def test_above_the_line_it_is_a_fault(proof) -> None:
    (fault,) = make_faults(_weighed(proof, 0.9).found)
    assert isinstance(fault, Fault)
    assert fault.status is Status.FAULT
    assert fault.id == "F1"
    assert fault.certainty == pytest.approx(0.9)


def test_below_the_line_it_is_a_query_ringed_in_the_margin(proof) -> None:
    (query,) = make_faults(_weighed(proof, 0.3).found)
    assert query.status is Status.QUERY
    assert "?" in query.mark.margin


def test_far_below_it_is_counted_and_let_go(proof) -> None:
    weighed = _weighed(proof, 0.01)
    assert weighed.found == ()
    (gone,) = weighed.let_go
    assert gone.certainty == pytest.approx(0.01)
    assert gone.reason


def test_what_only_a_person_can_settle_is_never_a_fault(proof) -> None:
    (query,) = make_faults(_weighed(proof, 0.99, only_query=True).found)
    assert query.status is Status.QUERY


@pytest.mark.parametrize("name", ["letters", "tesseract"])
def test_more_evidence_for_the_reading_is_never_less_certain(name: str) -> None:
    """The shipped calibration turns each witness the right way."""
    model = load_calibration(name)
    difference = _difference(1, 0, "c", "e")

    def certainty(ratio: float, look: float, own: float) -> float:
        return model.certainty(features_of(difference, Evidence(ratio, look, own, 0.9)))

    assert certainty(8, 1, 0.5) > 0.75
    assert certainty(8, 1, 0.5) >= certainty(2, 1, 0.5)
    assert certainty(8, 1, 0.5) >= certainty(8, -1, 0.5)
    assert certainty(8, 1, 0.5) >= certainty(8, 1, -0.5)
    assert certainty(-8, -1, -0.5) < 0.1


def test_what_was_seen_of_a_line_is_kept_for_that_picture_and_place_alone(proof) -> None:
    from proofcheck.reading.letter_reader import LetterReader

    sheet, lines, _ = proof
    reader = LetterReader()
    _, seen = reader.read_with_evidence(sheet, lines)
    assert all(a is b for a, b in zip(reader.evidence_again(sheet, lines), seen, strict=True))
    turned = replace(sheet, image=np.ascontiguousarray(sheet.image[::-1, ::-1]))
    moved = replace(lines[0], box=lines[0].box._replace(x=lines[0].box.x + 3))
    assert reader.evidence_again(turned, lines[:1])[0] is not seen[0]
    assert reader.evidence_again(sheet, [moved])[0] is not seen[0]
    assert reader.evidence_again(sheet, []) == ()
