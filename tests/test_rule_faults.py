"""Rules and borders as matter: breaks, open corners, rules out of true, pieces of a border.

What is marked is common practice. Beside each fault stands the sound sheet that must not be told:
an inked rule of its own has small gaps, dashes and blanks are meant, and pieces wear.
"""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from test_rules import ROWS as TABLE
from test_rules import WIDTHS, copy_with, notice, report_on, sheet_of
from typesetter import PRESETS, block_of, garlanded, laid_under, pull, table_of, unit_of

from proofcheck import Options
from proofcheck.base.found import Status
from proofcheck.base.kinds import Kind
from proofcheck.metal.border_pieces import pieces_at_fault
from proofcheck.metal.rule_faults import rules_at_fault
from proofcheck.sheet.lifting import lift
from proofcheck.sheet.lines import find_lines

WHOLE = Options(recast=False, second_look=False)
MM = 300 / 25.4
LEFT, RIGHT, TOP, BOTTOM = 60, 1340, 60, 700


def pulled(image, wear="good", seed=1):
    proof = replace(notice(), image=image)
    how = replace(PRESETS[wear], skew_deg=0.0)
    return lift(sheet_of(pull(proof, how, seed=seed)))


def told(image, wear="good", seed=1):
    sheet = pulled(image, wear, seed)
    lines = find_lines(sheet, 1)
    found = [*rules_at_fault(sheet, lines), *pieces_at_fault(sheet, lines)]
    return [(finding.kind, finding.box) for finding in found]


def framed(weight=4, *, level_end=RIGHT, upright_start=TOP, past=0):
    """The notice in a frame, its upper right corner as asked for."""
    image = np.full((760, 1400), 255, np.uint8)
    matter = notice().image
    tall, wide = min(matter.shape[0], 500), min(matter.shape[1], 1200)
    image[120 : 120 + tall, 100 : 100 + wide] = matter[:tall, :wide]
    cv2.line(image, (LEFT, TOP), (level_end + past, TOP), 0, weight)
    cv2.line(image, (LEFT, BOTTOM), (RIGHT, BOTTOM), 0, weight)
    cv2.line(image, (LEFT, TOP), (LEFT, BOTTOM), 0, weight)
    cv2.line(image, (RIGHT, upright_start), (RIGHT, BOTTOM), 0, weight)
    return image


def meets(box, x, y):
    return box.x <= x <= box.right and box.y <= y <= box.bottom


@pytest.mark.parametrize(("wear", "weight"), [("good", 2), ("worn", 4), ("worn", 9)])
def test_sound_rules_are_not_told(wear, weight):
    assert told(framed(weight), wear) == []
    level = laid_under(notice(), table_of(TABLE, WIDTHS, weight_px=min(weight, 4)))
    assert told(level.image, wear, seed=2) == []


@pytest.mark.parametrize(
    ("wear", "weight", "gap_mm"),
    [("good", 3, 0.8), ("worn", 4, 0.9), ("good", 6, 2.5), ("worn", 4, 6.0)],
)
def test_a_break_in_a_rule_is_told_at_its_place(wear, weight, gap_mm):
    image = framed(weight)
    image[TOP - 12 : TOP + 13, 700 : 700 + round(gap_mm * MM)] = 255
    ((kind, box),) = told(image, wear)
    assert kind is Kind.BROKEN_RULE
    assert meets(box, 700 + gap_mm * MM / 2, TOP)
    upright = framed(weight)
    upright[350 : 350 + round(gap_mm * MM), RIGHT - 12 : RIGHT + 13] = 255
    ((kind, box),) = told(upright, wear)
    assert kind is Kind.BROKEN_RULE
    assert meets(box, RIGHT, 350 + gap_mm * MM / 2)


def test_white_that_is_meant_is_no_break():
    image = framed()
    for x in range(150, 1250, 110):  # a rule of dashes
        cv2.line(image, (x, 660), (x + 95, 660), 0, 3)
    assert told(image) == []
    blanks = framed()
    for x in (150, 500, 850):  # blanks to be filled in
        cv2.line(blanks, (x, 660), (x + 300, 660), 0, 2)
    assert told(blanks) == []
    two = np.hstack([framed(), framed()])  # frames side by side
    assert told(two) == []


def test_figures_that_stand_in_a_rule_to_be_filled_in_are_no_part_of_it():
    """As the century in a date; a break farther along is told."""
    for broken in (False, True):
        image = framed()
        century = block_of("19", body_pt=11)
        foot = int(np.flatnonzero((century < 128).any(axis=1))[-1])
        cv2.line(image, (150, 660), (1250, 660), 0, 4)
        wide = century.shape[1]
        image[655:666, 690 : 714 + wide] = 255
        place = image[662 - foot : 662 - foot + len(century), 702 : 702 + wide]
        np.minimum(place, century, out=place)
        if broken:
            image[655:666, 1000:1012] = 255
        found = told(image)
        assert [kind for kind, _ in found] == [Kind.BROKEN_RULE] * broken
        assert all(meets(box, 1006, 660) for _, box in found)


def ruled_beside(apart_mm, rows=(200, 300, 400, 500, 600)):
    """A ruled table on either side of a double rule, which its rows don't go through."""
    image = framed()
    half = round(apart_mm * MM / 2)
    for y in rows:
        image[y - 20 : y + 20, LEFT + 10 : 1300] = 255
    for y in (TOP, *rows, BOTTOM):
        image[y - 3 : y + 4, 1000 - half : 1000 + half] = 255
        cv2.line(image, (LEFT, y), (1000 - half, y), 0, 4)
        cv2.line(image, (1000 + half, y), (RIGHT, y), 0, 4)
    for x in (1000 - half, 1000 + half, 1110, 1220):
        cv2.line(image, (x, TOP), (x, BOTTOM), 0, 4)
    return image


@pytest.mark.parametrize("apart_mm", [0.8, 1.0, 1.2])
def test_rules_that_end_at_a_double_rule_are_not_broken_there(apart_mm):
    assert told(ruled_beside(apart_mm)) == []
    for left in (500, 1050):  # in a row of the one table, and of the other
        broken = ruled_beside(apart_mm)
        broken[390:411, left : left + 10] = 255
        ((kind, box),) = told(broken)
        assert kind is Kind.BROKEN_RULE
        assert meets(box, left + 5, 400)


def test_rules_over_and_under_a_head_that_runs_through_the_table_are_not_broken():
    image = framed()
    image[TOP + 10 : 420, LEFT + 10 : RIGHT - 10] = 255
    cv2.line(image, (700, TOP), (700, BOTTOM), 0, 4)
    image[230:343, 660:740] = 255
    for y in (228, 345):
        cv2.line(image, (LEFT, y), (RIGHT, y), 0, 4)
    through = image.copy()
    for y, high in ((292, 7), (317, 10)):  # strokes of the head, in line with the rules
        image[y : y + high, 698:703] = 0
    assert told(image) == []
    through[230:343, 698:703] = 0
    through[270:282, 690:712] = 255
    ((kind, box),) = told(through)
    assert kind is Kind.BROKEN_RULE
    assert meets(box, 700, 276)


def test_a_break_beside_a_crossing_is_told():
    image = framed()
    cv2.line(image, (900, TOP), (900, BOTTOM), 0, 4)
    image[TOP - 12 : TOP + 13, 903:913] = 255
    ((kind, box),) = told(image)
    assert kind is Kind.BROKEN_RULE
    assert meets(box, 908, TOP)


@pytest.mark.parametrize(
    ("corner", "kind"),
    [
        ({"level_end": RIGHT - round(1.2 * MM)}, Kind.OPEN_CORNER),
        ({"upright_start": TOP + round(1.2 * MM)}, Kind.OPEN_CORNER),
        ({"past": round(1.5 * MM)}, Kind.CROOKED_RULE),
    ],
)
def test_a_corner_that_does_not_join_is_told(corner, kind):
    ((told_kind, box),) = told(framed(**corner))
    assert told_kind is kind
    assert abs(box.x + box.width / 2 - RIGHT) < 3 * MM
    assert abs(box.y + box.height / 2 - TOP) < 3 * MM


def test_corner_pieces_are_no_open_corners():
    image = framed(level_end=RIGHT - 36, upright_start=TOP + 36)
    cv2.ellipse(image, (RIGHT - 36, TOP + 36), (36, 36), 0, -90, 0, 0, 4)
    assert told(image) == []


def test_a_crooked_rule_is_told_and_a_slanting_scan_is_not():
    image = framed()
    cv2.line(image, (150, 650), (1250, 664), 0, 4)
    assert [kind for kind, _ in told(image)] == [Kind.CROOKED_RULE]
    drawn = framed()
    cv2.line(drawn, (150, 560), (1250, 660), 0, 4)
    assert told(drawn) == [], "no rule can stand so far askew"
    turn = cv2.getRotationMatrix2D((700, 380), 0.6, 1.0)
    aslant = cv2.warpAffine(framed(), turn, (1400, 760), borderValue=255)
    assert told(aslant) == []


def bordered(kind, *, spoilt=None):
    """A border of one ornament; the piece over its middle turned, or taken out."""
    proof = garlanded(notice(), kind)
    image = proof.image.copy()
    unit = unit_of(kind, 40)
    rows, columns = (np.flatnonzero((image < 128).any(axis)) for axis in (1, 0))
    head = image[: rows[0] + 60]
    middle = int(columns[0] + columns[-1]) // 2
    near = head[:, middle - 48 : middle + 88]
    _, _, (x, y), _ = cv2.minMaxLoc(cv2.matchTemplate(near, unit, cv2.TM_SQDIFF))
    x += middle - 48
    if spoilt:
        image[y : y + 40, x : x + 40] = np.rot90(unit, 2) if spoilt == "turned" else 255
    return image, (x + 20, y + 20)


@pytest.mark.parametrize(("kind", "wear"), [("star", "worn"), ("leaf", "good"), ("curl", "worn")])
def test_a_piece_of_the_border_that_is_wrong_is_told(kind, wear):
    assert told(bordered(kind)[0], wear) == []
    for spoilt in ("turned", "missing"):
        image, place = bordered(kind, spoilt=spoilt)
        ((told_kind, box),) = told(image, wear)
        assert told_kind is Kind.BORDER_PIECE
        assert meets(box, *place)


def test_a_broken_rule_is_marked_on_the_proof(tmp_path):
    proof = laid_under(notice(), table_of(TABLE, WIDTHS, weight_px=4))
    image = proof.image.copy()
    level = np.flatnonzero((image < 128).mean(axis=1) > 0.5)
    x = image.shape[1] // 2
    image[level[-1] - 14 : level[-1] + 12, x : x + round(1.2 * MM)] = 255
    report = report_on(tmp_path, image, copy_with(TABLE), options=WHOLE)
    (fault,) = [fault for fault in report.faults if fault.kind is Kind.BROKEN_RULE]
    assert fault.status is Status.FAULT
    assert "rule under line" in fault.mark.words
    assert len(report.faults) == 1
