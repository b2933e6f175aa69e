"""A shadow at the edge of the scan: what it covers is told as not read, never as missing."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from PIL import Image
from typesetter import Para, Style, compose, print_proof, pull

from proofcheck import Options, check_proof
from proofcheck.base.found import Verdict
from proofcheck.base.values import Copy, Span
from proofcheck.faults.shadowed_places import IN_SHADOW
from proofcheck.results.report import exit_status

QUICK = Options(type_too=False, recast=False)
TEXT = (
    "Clean the edges with fine paper before the strands go in, for a rough edge will fray them. "
    "Let each strand lie in water until it bends without a crack, but no longer than that; those "
    "left in over night turn dark. Begin at the middle of the back rail and work to the left, and "
    "peg the first strand so that it may be loosened when the last has been drawn through."
)
COPY = Copy(TEXT, "copy.txt", "", "utf-8", (Span(0, len(TEXT)),))


def shadow(image, side, to_x, level):
    """A black wedge from one side of the picture, at its widest on a level and over it."""
    edge = 0 if side == "left" else image.shape[1] - 1
    foot = level + 260
    cv2.fillPoly(image, [np.array([(edge, 0), (to_x, 0), (to_x, level), (edge, foot)])], 0)


def read_whole(tmp_path, image):
    path = tmp_path / "proof.png"
    Image.fromarray(image).save(path, dpi=(300, 300))
    return check_proof(path, COPY, options=QUICK)


def checked(tmp_path, side, into_px, *, drop="", line=2):
    """The report on a proof with a wedge that comes `into_px` into the measure."""
    text = TEXT.replace(drop, "", 1) if drop else TEXT
    style = Style(lead_pt=3)
    proof = print_proof(compose([Para(text, "justify", 0)], measure_picas=22, style=style))
    image = pull(proof, "good", seed=3)
    x, y, wide, high = proof.lines[line].box
    shadow(
        image, side, round(x + into_px if side == "left" else x + wide - into_px), round(y + high)
    )
    return read_whole(tmp_path, image)


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("into_px", [18, 70])
def test_what_a_shadow_covers_is_not_read_and_not_missing(tmp_path, side, into_px):
    report = checked(tmp_path, side, into_px)
    assert [(f.kind, f.copy_text, f.proof_text) for f in report.faults] == []
    assert report.verdict is Verdict.NOT_WHOLLY_READ
    assert exit_status(report) == 2
    end = "beginning" if side == "left" else "end"
    told = [place.words for place in report.unread]
    assert [words.split(",")[0] for words in told[:3]] == [
        f"the {end} of line {n}" for n in (1, 2, 3)
    ]
    assert {each.reason for each in report.let_go} >= {IN_SHADOW}


@pytest.mark.parametrize("side", ["left", "right"])
def test_beside_a_shadow_that_stays_in_the_margin_all_is_read(tmp_path, side):
    report = checked(tmp_path, side, -14)
    assert (report.verdict, report.faults, report.unread) == (Verdict.CLEAN, (), ())


def test_a_word_missing_in_the_light_is_told_beside_a_shadow(tmp_path):
    report = checked(tmp_path, "left", 40, drop="rough ")
    assert [(str(f.kind), f.copy_text.strip()) for f in report.faults] == [
        ("word-missing", "rough")
    ]


def test_more_than_a_shadow_can_hide_is_told_as_missing(tmp_path):
    report = checked(tmp_path, "left", 40, drop=" in, for a rough edge will fray them. Let each")
    assert any("rough edge" in fault.copy_text for fault in report.faults)


@pytest.mark.parametrize(
    ("into_px", "verdict", "lines"), [(-8, Verdict.CLEAN, 0), (25, Verdict.NOT_WHOLLY_READ, 7)]
)
def test_what_a_dark_ground_on_two_sides_covers_is_not_read(tmp_path, into_px, verdict, lines):
    style = Style(lead_pt=3)
    proof = print_proof(compose([Para(TEXT, "justify", 0)], measure_picas=22, style=style))
    image = pull(proof, "good", seed=3)
    image[:60] = 0
    image[:, : round(proof.lines[2].box[0] + into_px)] = 0
    report = read_whole(tmp_path, image)
    assert (report.verdict, report.faults) == (verdict, ())
    assert len(report.unread) == lines


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize(
    ("into_px", "verdict"),
    [
        (-12, Verdict.CLEAN),
        (6, Verdict.NOT_WHOLLY_READ),
        (25, Verdict.NOT_WHOLLY_READ),
    ],
)
def test_a_shadow_down_all_lines_hides_letters_of_each(tmp_path, side, into_px, verdict):
    style = Style(lead_pt=3)
    proof = print_proof(compose([Para(TEXT, "justify", 0)], measure_picas=22, style=style))
    image = pull(proof, "good", seed=3)
    x, _, wide, _ = proof.lines[2].box
    if side == "left":
        image[:, : round(x + into_px)] = 0
    else:
        image[:, round(x + wide - into_px) :] = 0
    report = read_whole(tmp_path, image)
    assert (report.verdict, report.faults) == (verdict, ())
