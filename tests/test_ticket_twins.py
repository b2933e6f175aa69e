"""Type of sheets several up: what every ticket prints alike is how the job is set.

Oracle: the typesetter sets every ticket and knows on which body. That a head stands on a body of
its own, and a correction slug may come on another, is common practice.
"""

from __future__ import annotations

import cv2
import pytest
from typesetter import Head, Style, pull
from typesetter.ganged import ganged, ticket_of

from proofcheck import Options, check_proof
from proofcheck.base.kinds import Kind
from proofcheck.metal.twin_bodies import apart_from_twins
from proofcheck.metal.twins import as_twins, unlike_twins

USUAL_PT = 10.0
LINES = (
    "the members of the singing club and their guests",
    "are asked to supper in the long room at the inn",
    "after the last of the songs on the sixth of june",
    "there is no charge for those who sang a solo there",
)


def sheet_of_tickets(folder, *tickets, frame_px, face, between="\n", lines=LINES):
    """The lines of wrong font told on tickets, each given as {line: (size_pt, family)}."""
    style = Style(face, USUAL_PT, 2.0)
    made = []
    for other in tickets:
        sizes = [other.get(at, (USUAL_PT, face)) for at in range(len(lines))]
        rows = [
            Head(text, body_pt, 2.0, family=family)
            for text, (body_pt, family) in zip(lines, sizes, strict=True)
        ]
        made.append(ticket_of(rows, measure_picas=27, height_px=330, style=style))
    proof = ganged(made, 2, frame_px=frame_px)
    cv2.imwrite(str(folder / "sheet.png"), pull(proof, "good", seed=11))
    (folder / "copy.txt").write_text(between.join(lines), encoding="utf-8")
    report = check_proof(
        folder / "sheet.png", folder / "copy.txt", options=Options(recast=False, up=len(tickets))
    )
    told = [fault for fault in report.faults if fault.kind is Kind.WRONG_FONT]
    assert all(fault.kind is Kind.WRONG_FONT for fault in report.faults), report.faults
    return [(report.line(fault.line).ticket, fault.copy.start) for fault in told]


FRAMES = pytest.mark.parametrize(
    "frame_px", [pytest.param(0, marks=pytest.mark.slow, id="white"), pytest.param(4, id="boxed")]
)
BODIES = {"larger": ("schola", (11.0, "schola")), "smaller": ("goudy", (9.0, "goudy"))}
ODD = {**BODIES, "face": ("schola", (10.0, "old-standard"))}


@FRAMES
@pytest.mark.parametrize("case", BODIES)
def test_a_line_that_every_ticket_has_on_its_body_is_no_fault(tmp_path, case, frame_px):
    face, how = ODD[case]
    assert not sheet_of_tickets(tmp_path, *[{0: how}] * 4, frame_px=frame_px, face=face)


BY_ITSELF = (
    "ADMIT ONE",
    "to the long room",
    "supper at eight, songs until ten",
    "No. 1 of the inn",
)


@pytest.mark.parametrize("case", ODD)
def test_a_line_that_is_a_paragraph_by_itself_is_held_to_its_twins(tmp_path, case):
    face, how = ODD[case]
    head = {0: (14.0, face)}
    told = sheet_of_tickets(
        tmp_path, head, head, {**head, 2: how}, head,
        frame_px=4, face=face, between="\n\n", lines=BY_ITSELF,
    )  # fmt: skip
    assert told == [(3, len("".join(BY_ITSELF[:2])) + 4)]


@pytest.mark.parametrize(("line", "body_pt"), [(0, 16.0), (1, 9.0), (3, 11.0)])
def test_a_short_line_of_one_ticket_of_two_is_asked_about(tmp_path, line, body_pt):
    head, how = {0: (14.0, "schola")}, {line: (body_pt, "schola")}
    told = sheet_of_tickets(
        tmp_path, head, head | how, frame_px=4, face="schola", between="\n\n", lines=BY_ITSELF
    )
    assert {start for _, start in told} == {len("".join(BY_ITSELF[:line])) + 2 * line}


@FRAMES
@pytest.mark.parametrize("case", ODD)
def test_a_line_of_one_ticket_alone_is_told_there(tmp_path, case, frame_px):
    face, how = ODD[case]
    sound = {}
    told = sheet_of_tickets(tmp_path, sound, sound, {1: how}, sound, frame_px=frame_px, face=face)
    assert told == [(3, len(LINES[0]) + 1)]


def test_the_one_ticket_whose_head_is_not_as_the_others_is_told(tmp_path):
    head, other = (11.0, "schola"), (13.0, "schola")
    told = sheet_of_tickets(
        tmp_path, {0: head}, {0: head}, {0: head}, {0: other}, frame_px=4, face="schola"
    )
    assert told == [(4, 0)]


def test_what_is_left_beside_twins():
    sizes = {0: 0.09, 1: 0.085, 2: 0.0, 3: -0.05}
    assert unlike_twins(0.09, 0.09, (1,), sizes) == pytest.approx(0.005)
    assert unlike_twins(0.09, 0.09, (2,), sizes) == pytest.approx(0.09)
    assert unlike_twins(0.09, 0.09, (), sizes) == unlike_twins(0.09, 0.09, (7,), sizes) == 0.09
    assert unlike_twins(-0.05, -0.05, (3,), sizes) == 0.0


def test_a_face_that_the_twins_have_too_is_the_jobs_own():
    odd = {0: 2.6, 1: 2.4, 2: 0.1, 3: 0.3}
    assert as_twins((1,), odd, 1.0)
    assert not as_twins((2, 3, 1), odd, 1.0)
    assert not as_twins((), odd, 1.0)
    assert not as_twins((9,), odd, 1.0)


def tall(*, larger=0, uneven=(0,)):
    """The heights of a row's letters, so many pixels larger than on the other rows."""
    held = [25 + larger + more for more in uneven]
    return {"e": held * 3, "A": [38 + round(1.5 * larger)] * 2, "0": [37 + larger]}


def test_the_fewer_of_unlike_twins_are_told():
    rows = {3: tall(), 8: tall(), 13: tall(larger=3), 18: tall()}
    told = apart_from_twins(rows, 0.056)
    assert set(told) == {13}
    assert told[13].off == pytest.approx(0.11, abs=0.02)
    assert not told[13].tied


def test_of_two_unlike_twins_both_are_asked_about():
    told = apart_from_twins({3: tall(), 8: tall(larger=-2)}, 0.056)
    assert {row: unlike.off > 0 for row, unlike in told.items()} == {3: True, 8: False}
    assert all(unlike.tied for unlike in told.values())


def test_twins_as_unlike_as_letters_commonly_are_say_nothing():
    assert not apart_from_twins({3: tall(), 8: tall(larger=1)}, 0.056)
    loose = (-6, 0, 6)
    assert not apart_from_twins({3: tall(uneven=loose), 8: tall(larger=3, uneven=loose)}, 0.056)
    few = {"e": [20]}
    assert not apart_from_twins({3: few, 8: {"e": [30]}}, 0.056)


def test_a_ticket_inked_more_heavily_is_no_other_body():
    small, darker = {"e": [15] * 6, "l": [24] * 2}, {"e": [16] * 6, "l": [25] * 2}
    assert not apart_from_twins({3: small, 8: darker}, 0.056)
