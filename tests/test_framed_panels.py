"""Black panels that hang together with thick frames, and what else stands in them and beside them.

What is right is read and clean, what is wrong is told.
Oracle: frames and panels are drawn, the type is put into them by the typesetter.
"""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from test_black_cuts import paste
from test_clean import cleaned
from test_rules import report_on, sheet_of
from typesetter import block_of

from proofcheck.base.options import Options
from proofcheck.base.values import Box, Letter, Reading
from proofcheck.metal.rule_faults import rules_at_fault
from proofcheck.reading.readers import open_reader
from proofcheck.results.report import exit_status
from proofcheck.sheet.again import how_sure
from proofcheck.sheet.lines import find_lines
from proofcheck.sheet.panels import open_panels

HEAD = "HARBOUR LIGHTS"
BODY = ("Suppers are served until midnight,", "and beds aired for carriers.")
WANTED = f"{HEAD}\n{' '.join(BODY)}"
WHOLE = Options(recast=False, second_look=False)


def told(report):
    return [(fault.kind.value, fault.proof_text, fault.copy_text) for fault in report.faults]


def reversed_on(page, words, box, body_pt=16):
    """A black panel with words left white in it."""
    x, y, right, bottom = box
    white = np.full((bottom - y, right - x), 255, np.uint8)
    block = block_of(words, body_pt=body_pt)
    paste(white, block, (right - x) // 2, (bottom - y - block.shape[0]) // 2)
    page[y:bottom, x:right] = 255 - white


def framed(panel, head=HEAD, body=BODY, rule_px=14):
    """A thick frame with a panel on it, which may stand out at its sides, and matter in it."""
    page = np.full((1000, 1200), 255, np.uint8)
    cv2.rectangle(page, (150, 120), (1050, 900), 0, rule_px)
    cv2.rectangle(page, (172, 142), (1028, 878), 0, 4)
    reversed_on(page, head, panel)
    for at, line in enumerate(body):
        paste(page, block_of(line, body_pt=11), 600, 600 + 90 * at)
    return page


ACROSS, HANGING = (90, 300, 1110, 420), (230, 113, 970, 240)


@pytest.mark.parametrize("panel", [ACROSS, HANGING], ids=["across it", "hanging in it"])
def test_a_panel_that_a_thick_frame_goes_on_from_is_read(tmp_path, panel):
    report = report_on(tmp_path, framed(panel), WANTED, options=WHOLE)
    assert exit_status(report) == 0, told(report)
    wrong = report_on(tmp_path, framed(panel, head="HARBOUR NIGHTS"), WANTED)
    assert told(wrong) == [("wrong-letter", "N", "L")]


def test_matter_in_a_notch_of_a_panel_is_kept(tmp_path):
    page = framed((157, 127, 1043, 420))
    cv2.rectangle(page, (440, 340), (760, 560), 0, 14)
    page[347:553, 447:753] = 255
    paste(page, block_of("Founded long ago", body_pt=8), 600, 365)
    report = report_on(tmp_path, page, f"{HEAD}\nFounded long ago\n{' '.join(BODY)}")
    assert exit_status(report) == 0, told(report)


# ------------------------------------------------------------------- what stands in such a panel


def reading_of(text, certainty=0.9):
    box = Box(0, 0, 10, 10)
    return Reading(1, tuple(Letter(char, box, certainty) for char in text))


def test_the_points_of_a_leader_do_not_make_a_line_of_prices_none():
    assert how_sure([reading_of("Field Boots ............... 21s. 0d.")])[0] == 15
    assert how_sure([reading_of("a ............ 1")]) == (0, 0.0)


@pytest.mark.parametrize("quarters", [1, 3])
def test_display_set_sideways_in_a_panel_is_read(tmp_path, quarters):
    page = np.full((1300, 1400), 255, np.uint8)
    block = np.rot90(block_of("LOST", body_pt=60), quarters)
    page[100:1200, 100:400] = 0
    y, x = 650 - block.shape[0] // 2, 250 - block.shape[1] // 2
    page[y : y + block.shape[0], x : x + block.shape[1]] = 255 - block
    for at, line in enumerate(BODY):
        paste(page, block_of(line, body_pt=11), 900, 500 + 160 * at)
    report = report_on(tmp_path, page, f"LOST\n{' '.join(BODY)}")
    assert exit_status(report) == 0, told(report)
    assert told(report_on(tmp_path, page, f"LAST\n{' '.join(BODY)}")) == [
        ("wrong-letter", "O", "A")
    ]


def test_a_panel_keeps_in_mind_that_its_lettering_stands_sideways():
    page = np.full((900, 900), 255, np.uint8)
    block = np.rot90(255 - block_of("LOST", body_pt=40), 1)
    page[100:800, 100:300] = 0
    y, x = 450 - block.shape[0] // 2, 200 - block.shape[1] // 2
    page[y : y + block.shape[0], x : x + block.shape[1]] = block

    def surely(_sheet, lines):
        return [reading_of("LOST") for _ in lines]

    assert [panel.sideways for panel in open_panels(cleaned(page), surely).panels] == [True]


# ---------------------------------------------------------------------- rules behind and beside it


def test_a_rule_that_goes_on_behind_a_panel_is_not_broken_there(tmp_path):
    report = report_on(tmp_path, framed(ACROSS), WANTED, options=WHOLE)
    assert exit_status(report) == 0, told(report)
    page = framed(ACROSS)
    page[640:652, 165:180] = 255
    broken = report_on(tmp_path, page, WANTED, options=WHOLE)
    assert [fault.kind.value for fault in broken.faults] == ["broken-rule"]


def test_the_ground_in_a_picture_is_no_crooked_rule():
    page = np.full((1200, 1400), 255, np.uint8)
    for y in (300, 700, 1000):
        page[y : y + 6, 120:1280] = 0
    for at, line in enumerate((*BODY, *BODY)):
        paste(page, block_of(line, body_pt=11), 700, 760 + 55 * at)
    cv2.line(page, (500, 520), (900, 532), 0, 5)
    sheet = sheet_of(page)
    lines = find_lines(sheet)
    assert "crooked-rule" in [found.kind.value for found in rules_at_fault(sheet, lines)]
    drawn = replace(sheet, cuts=(Box(400, 350, 600, 300),))
    assert rules_at_fault(drawn, lines) == []


# -------------------------------------------------------------------------------- a starved panel


def starved(words, body_pt=16, specks=2600):
    """A panel whose ink lay so thin that it is full of white specks."""
    page = np.full((700, 1300), 255, np.uint8)
    reversed_on(page, words, (100, 100, 1200, 300), body_pt)
    rng = np.random.default_rng(7)
    for y, x in zip(rng.integers(104, 294, specks), rng.integers(104, 1192, specks), strict=True):
        page[y : y + rng.integers(2, 5), x : x + rng.integers(2, 5)] = 255
    for at, line in enumerate(BODY):
        paste(page, block_of(line, body_pt=11), 650, 420 + 90 * at)
    return page


def test_a_panel_full_of_specks_is_read_past_them(tmp_path):
    opened = open_panels(cleaned(starved(HEAD)), open_reader(Options()).read)
    assert len(opened.panels) == 1
    words = [reading.text for reading in report_on(tmp_path, starved(HEAD), WANTED).readings]
    assert "HARBOUR" in words[0]


def test_specks_alone_are_no_lettering():
    page = starved(HEAD)
    panel = page[100:300, 100:1200]
    panel[40:160] = panel[np.arange(40, 160) % 40]
    assert not open_panels(cleaned(page), open_reader(Options()).read).panels
