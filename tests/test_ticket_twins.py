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
from proofcheck.metal.twins import as_twins, unlike_twins

USUAL_PT = 10.0
LINES = (
    "the members of the singing club and their guests",
    "are asked to supper in the long room at the inn",
    "after the last of the songs on the sixth of june",
    "there is no charge for those who sang a solo there",
)


def sheet_of_tickets(folder, *tickets, frame_px, face):
    """The lines of wrong font told on tickets, each given as {line: (size_pt, family)}."""
    style = Style(face, USUAL_PT, 2.0)
    made = []
    for other in tickets:
        sizes = [other.get(at, (USUAL_PT, face)) for at in range(len(LINES))]
        rows = [
            Head(text, body_pt, 2.0, family=family)
            for text, (body_pt, family) in zip(LINES, sizes, strict=True)
        ]
        made.append(ticket_of(rows, measure_picas=27, height_px=330, style=style))
    proof = ganged(made, 2, frame_px=frame_px)
    cv2.imwrite(str(folder / "sheet.png"), pull(proof, "good", seed=11))
    (folder / "copy.txt").write_text("\n".join(LINES), encoding="utf-8")
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
