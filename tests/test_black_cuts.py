"""A black cut with windows in it: matter white on black, black on white within, and on the paper.

So signboards and shop windows are drawn (common practice). What is right is read and clean; what is
wrong is told, wherever it stands; and a window is never taken for the sheet.
"""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from test_clean import cleaned
from test_rules import report_on
from typesetter import block_of

from proofcheck.base.options import Options
from proofcheck.base.values import Letter, Reading
from proofcheck.reading.readers import open_reader
from proofcheck.results.report import exit_status
from proofcheck.sheet.corners import find_corners
from proofcheck.sheet.panels import open_known, open_panels
from proofcheck.sheet.solid_places import solid_boxes
from proofcheck.sheet.windows import find_windows

HEAD = "HARBOUR LIGHTS"
WITHIN = ("Suppers are served until midnight,", "and beds aired for carriers.")
BELOW = ("Kept by the widow of the pilot,", "at the end of the long quay.")
WANTED = f"{HEAD}\n{' '.join(WITHIN)}\n{' '.join(BELOW)}"


def paste(page, block, middle, top):
    high, wide = block.shape
    place = page[top : top + high, middle - wide // 2 : middle - wide // 2 + wide]
    np.minimum(place, block, out=place)


def signboard(head=HEAD, within=WITHIN, below=BELOW):
    """A night with a lettered board, a lit window with matter in it, and matter under the cut."""
    page = np.full((1500, 1300), 255, np.uint8)
    page[100:1200, 120:1180] = 0
    white = np.full_like(page, 255)
    paste(white, block_of(head, body_pt=22), 650, 330)
    page[100:1200, 120:1180] = 255 - white[100:1200, 120:1180]
    cv2.circle(page, (260, 220), 50, 255, cv2.FILLED)
    cv2.rectangle(page, (250, 560), (1050, 1060), 255, cv2.FILLED)
    cv2.rectangle(page, (270, 580), (1030, 1040), 0, 5)
    paste(page, block_of(*within, body_pt=10), 650, 720)
    paste(page, block_of(*below, body_pt=11), 650, 1260)
    return page


def test_matter_on_black_in_a_window_and_below_is_read(tmp_path):
    report = report_on(tmp_path, signboard(), WANTED)
    assert exit_status(report) == 0, [(f.kind, f.proof_text, f.copy_text) for f in report.faults]


@pytest.mark.parametrize(
    "wrong",
    [
        {"head": "HARBOUR NIGHTS"},
        {"within": ("Suppers are served until midday,", WITHIN[1])},
        {"within": WITHIN[:1]},
        {"within": (*WITHIN, "No credit is given.")},
        {"below": ("Kept by the widow of the pirate,", BELOW[1])},
        {"below": BELOW[:1]},
    ],
)
def test_what_is_wrong_in_any_of_them_is_told(tmp_path, wrong):
    report = report_on(tmp_path, signboard(**wrong), WANTED)
    assert exit_status(report) == 1


def test_a_window_is_not_the_sheet():
    assert find_corners(signboard()) is None


@pytest.mark.parametrize("aslant_px", [0, 6, 14])
def test_nor_is_one_that_is_not_quite_square(aslant_px):
    """A field to write in, whose sides printed a little aslant: the label goes on round it."""
    page = np.full((1300, 1500), 255, np.uint8)
    cv2.rectangle(page, (150, 150), (1350, 1100), 0, cv2.FILLED)
    field = [(220, 620), (1280, 620 - aslant_px), (1280 - aslant_px, 1000), (220 + aslant_px, 1004)]
    cv2.fillPoly(page, [np.array(field, np.int32)], 255)
    white = np.full_like(page, 255)
    paste(white, block_of("HOTEL BELMONDE", body_pt=24), 750, 260)
    paste(white, block_of("under the high pass, open all the year", body_pt=12), 750, 430)
    page[160:600, 160:1340] = 255 - white[160:600, 160:1340]
    for at, words in enumerate(("Room No.", "To be forwarded to")):
        paste(page, block_of(words, body_pt=11), 430, 700 + 130 * at)
    assert find_corners(page) is None


def test_a_sheet_on_a_black_lid_still_is():
    board = np.full((1500, 1300), 20, np.uint8)
    board[200:1300, 150:1150] = 255
    paste(board, block_of(*WITHIN, body_pt=14), 650, 500)
    sheet = cleaned(board)
    assert abs(sheet.image.shape[0] - 1100) <= 3
    assert abs(sheet.image.shape[1] - 1000) <= 3


def test_matter_within_a_mourning_border_is_read(tmp_path):
    for within, status in ((WITHIN, 0), (("Suppers are served until midday,", WITHIN[1]), 1)):
        page = np.full((900, 1240), 255, np.uint8)
        cv2.rectangle(page, (80, 80), (1160, 820), 0, 50)
        paste(page, block_of(*within, body_pt=12), 620, 380)
        assert exit_status(report_on(tmp_path, page, " ".join(WITHIN))) == status


@pytest.mark.parametrize("below", [BELOW, (BELOW[0].replace("pilot", "pirate"), BELOW[1])])
def test_lit_panes_in_a_black_cut_are_no_lettering(tmp_path, below):
    page = np.full((1000, 1300), 255, np.uint8)
    page[100:700, 120:1180] = 0
    cv2.circle(page, (260, 220), 70, 255, cv2.FILLED)
    for y in (330, 450, 570):
        for x in range(420, 1100, 55):
            page[y : y + 60, x : x + 14] = 255
    paste(page, block_of(*below, body_pt=11), 650, 790)
    report = report_on(tmp_path, page, " ".join(BELOW))
    assert not report.sheets[0].panels
    assert exit_status(report) == (below is not BELOW), report.faults


def test_a_white_letter_is_no_window_and_a_place_with_matter_is():
    white = np.zeros((400, 600), np.uint8)
    cv2.ellipse(white, (150, 200), (90, 130), 0, 0, 360, 1, 40)
    white[80:320, 300:560] = 1
    white[180:220, 330:540:30] = 0
    white[180:220, 331:541:30] = 0
    found = find_windows(white, 40.0)
    assert not found[:, :280].any()
    assert found[90:310, 310:550].all()


SIDE = "COUNTERFOIL"


def side_panel(words=SIDE, quarters=1):
    """A black panel at the left with its lettering set sideways, and matter beside it."""
    page = np.full((1100, 1300), 255, np.uint8)
    panel = np.full((900, 160), 255, np.uint8)
    block = np.rot90(block_of(words, body_pt=22), quarters)
    y, x = (900 - block.shape[0]) // 2, (160 - block.shape[1]) // 2
    panel[y : y + block.shape[0], x : x + block.shape[1]] = block
    page[100:1000, 100:260] = 255 - panel
    for at, line in enumerate((*WITHIN, *BELOW)):
        paste(page, block_of(line, body_pt=12), 780, 250 + 160 * at)
    return page


SIDE_COPY = f"{SIDE}\n{' '.join(WITHIN)}\n{' '.join(BELOW)}"


@pytest.mark.parametrize("quarters", [1, 3])
@pytest.mark.parametrize("words", [SIDE, "COUNTERSOIL"])
def test_white_lettering_set_sideways_in_a_panel_is_read(tmp_path, quarters, words):
    report = report_on(tmp_path, side_panel(words, quarters), SIDE_COPY)
    told = [(fault.copy_text, fault.proof_text) for fault in report.faults]
    assert told == ([] if words is SIDE else [("F", "S")])
    assert not report.unread


def test_a_sheet_is_opened_again_as_it_was_with_its_side_panel():
    clean = cleaned(side_panel())
    first = open_panels(clean, open_reader(Options()).read)
    assert len(first.panels) == 1
    again = open_known(clean, solid_boxes(clean))
    assert np.array_equal(first.image, again.image)


def halting(certainty):
    """A reader that reads every letter as an A with one certainty."""

    def read(_sheet, lines):
        return [
            Reading(line.number, tuple(Letter("A", line.box, certainty) for _ in range(8)))
            for line in lines
        ]

    return read


def lettered(block):
    page = np.full((700, 1300), 255, np.uint8)
    high, wide = block.shape
    page[100:500, 100:1200] = 0
    page[240 : 240 + high, 200 : 200 + wide] = 255 - block
    return cleaned(page)


def test_a_panel_in_a_face_that_is_hard_to_read_is_opened_all_the_same():
    sheet = lettered(block_of("Delivery Note", body_pt=26))
    assert open_panels(sheet, halting(0.7)).panels
    assert not open_panels(sheet, halting(0.5)).panels


@pytest.mark.parametrize("certainty", [0.7, 0.74])
def test_a_row_of_panes_is_none_however_it_is_read(certainty):
    panes = np.full((110, 800), 255, np.uint8)
    for x in range(0, 800, 60):
        panes[:, x : x + 22] = 0
    assert not open_panels(lettered(panes), halting(certainty)).panels


def test_fat_letters_that_touch_are_no_panel():
    """A slab face closed up: its word is as solid as a panel, its counters as sure as letters."""
    page = np.full((500, 1500), 255, np.uint8)
    words = cv2.erode(block_of("COAST ROAD", body_pt=40), np.ones((13, 13), np.uint8))
    page[150 : 150 + words.shape[0], 80 : 80 + words.shape[1]] = words
    sheet = cleaned(page)
    assert not open_panels(sheet, halting(0.9)).panels


def test_squares_in_a_row_with_a_white_letter_each_are_panels():
    page = np.full((500, 1500), 255, np.uint8)
    for at, letter in enumerate("WORD"):
        x = 100 + 200 * at
        page[100:260, x : x + 160] = 0
        block = block_of(letter, body_pt=26)
        y, left = 180 - block.shape[0] // 2, x + 80 - block.shape[1] // 2
        page[y : y + block.shape[0], left : left + block.shape[1]] = 255 - block
    assert len(solid_boxes(cleaned(page))) == 4


def test_two_ribbons_with_notched_ends_are_panels():
    page = np.full((1000, 900), 255, np.uint8)
    words = 255 - np.rot90(block_of("WHIT MONDAY", body_pt=11), 3)
    high, wide = words.shape
    for left in (180, 440):
        notched = [(left, 100), (left + 204, 100), (left + 204, 780), (left + 102, 720),
                   (left, 780)]  # fmt: skip
        cv2.fillPoly(page, [np.array(notched, np.int32)], 0)
        page[150 : 150 + high, left + 102 - wide // 2 : left + 102 - wide // 2 + wide] = words
    assert len(solid_boxes(cleaned(page))) == 2


def test_greys_of_an_uneven_panel_are_cleared_away_but_beside_its_letters():
    page = np.full((700, 1300), 255, np.uint8)
    block = block_of("HALF PRICE", body_pt=26)
    high, wide = block.shape
    page[100:500, 100:1200] = 0
    rng = np.random.default_rng(4)
    for y, x in zip(rng.integers(110, 490, 4000), rng.integers(110, 1190, 4000), strict=True):
        page[y : y + 2, x : x + 2] = rng.integers(20, 110)
    page[240 : 240 + high, 200 : 200 + wide] = 255 - block
    opened = open_panels(cleaned(page), halting(0.9))
    (panel,) = opened.panels
    held = opened.image[panel.box.y : panel.box.bottom, panel.box.x : panel.box.right]
    assert (held[20:100, 20:-20] > 200).all()
    assert (held[140 : 140 + high] < 100).any()
