"""Frames known by what they hold: rings with teeth, strips and shields on a frame, ring arches.

What is right is read and clean, what is wrong is told; in a plan nothing is read.
Oracle: the frames are drawn, the type is put into them by the typesetter.
"""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from test_black_cuts import paste
from test_rules import report_on, sheet_of
from typesetter import block_of

from proofcheck.results.report import exit_status
from proofcheck.sheet.lines import find_lines
from proofcheck.sheet.pieces import find_pieces
from proofcheck.sheet.sift import are_frames
from proofcheck.sheet.surrounds import find_surrounds


def told(report):
    return [(fault.kind.value, fault.proof_text, fault.copy_text) for fault in report.faults]


def surrounds_of(page):
    return find_surrounds(*find_pieces((page < 128).astype(np.uint8)))


# ------------------------------------------------- a counterfoil with an engine-turned strip on it

STUB = ("Counterfoil", "Dated", "Drawn for", "Paid over to")
BODY = ("Received of the bearer the sum", "named herein, for gas by meter", "to the quarter-day.")


def receipt(stub=STUB, body=BODY):
    page = np.full((760, 1700), 255, np.uint8)
    cv2.rectangle(page, (80, 80), (1620, 680), 0, 4)
    for y in range(100, 681, 20):
        for x in (560, 600):
            cv2.ellipse(page, (x, y), (50, 24), 0, 0, 360, 0, 2)
    for at, line in enumerate(stub):
        paste(page, block_of(line, body_pt=11), 290, 130 + 130 * at)
        if at:
            page[190 + 130 * at : 193 + 130 * at, 120:480] = 0
    for at, line in enumerate(body):
        paste(page, block_of(line, body_pt=12), 1120, 200 + 120 * at)
    return page


RECEIPT_COPY = "\n".join((*STUB, " ".join(BODY)))


def test_a_counterfoil_whose_frame_hangs_together_with_a_strip_is_read(tmp_path):
    report = report_on(tmp_path, receipt(), RECEIPT_COPY)
    assert exit_status(report) == 0, told(report)
    wrong = receipt(stub=(*STUB[:3], "Paid over ta"))
    assert told(report_on(tmp_path, wrong, RECEIPT_COPY)) == [("wrong-letter", "a", "o")]


# ------------------------------------------------------------------------ a badge, its ring toothed

BADGE = ("RANNOCK WATER", "Regatta", "under the rules of the club", "SELLER")


def badge(lines=BADGE, ribbon="WHIT MONDAY"):
    page = np.full((1500, 1100), 255, np.uint8)
    turns = np.linspace(0, 2 * np.pi, 65)[:-1]
    reach = np.where(np.arange(64) % 2, 400, 460)
    teeth = np.stack([550 + reach * np.cos(turns), 500 + reach * np.sin(turns)], axis=1)
    cv2.fillPoly(page, [teeth.round().astype(np.int32)], 0)
    cv2.circle(page, (550, 500), 380, 255, cv2.FILLED)
    cv2.circle(page, (550, 500), 362, 0, 4)
    for at, (line, body_pt) in enumerate(zip(lines, (14, 24, 11, 26), strict=True)):
        paste(page, block_of(line, body_pt=body_pt), 550, 290 + 110 * at)
    hanging = [(460, 980), (640, 980), (640, 1440), (550, 1370), (460, 1440)]
    cv2.fillPoly(page, [np.array(hanging, np.int32)], 0)
    words = 255 - np.rot90(block_of(ribbon, body_pt=9), 3)
    high, wide = words.shape
    page[1010 : 1010 + high, 550 - wide // 2 : 550 - wide // 2 + wide] = words
    return page


BADGE_COPY = "\n".join((*BADGE, "WHIT MONDAY"))


def test_type_in_a_ring_with_teeth_and_on_its_ribbon_is_read(tmp_path):
    report = report_on(tmp_path, badge(), BADGE_COPY)
    assert exit_status(report) == 0, told(report)
    wrong = badge(lines=(*BADGE[:2], "under the rules of the crub", BADGE[3]))
    assert told(report_on(tmp_path, wrong, BADGE_COPY)) == [("wrong-letter", "r", "l")]
    assert exit_status(report_on(tmp_path, badge(ribbon="WHIT SUNDAY"), BADGE_COPY)) == 1


# ---------------------------------------------- round tokens several up, a black band through each

TOKEN = ("Low Town", "Bread Fund", "ONE LOAF", "of four pounds,", "at any oven")


def tokens(last=TOKEN):
    page = np.full((1240, 1300), 255, np.uint8)
    for at in range(4):
        x, y = 340 + 620 * (at % 2), 320 + 600 * (at // 2)
        lines = last if at == 3 else TOKEN
        for radius in (280, 268):
            cv2.circle(page, (x, y), radius, 0, 4)
        cv2.rectangle(page, (x - 270, y - 80), (x + 270, y + 30), 0, cv2.FILLED)
        for step, line in enumerate(lines):
            if step == 2:
                words = 255 - block_of(line, body_pt=18)
                high, wide = words.shape
                top, left = y - 25 - high // 2, x - wide // 2
                page[top : top + high, left : left + wide] = words
            else:
                paste(page, block_of(line, body_pt=11), x, y + (-200, -140, 0, 70, 130)[step])
    return page


@pytest.mark.parametrize("last", [TOKEN, (*TOKEN[:4], "at any even")])
def test_round_tokens_with_a_band_through_them_are_read_one_by_one(tmp_path, last):
    report = report_on(tmp_path, tokens(last), "\n".join(TOKEN))
    assert told(report) == ([] if last is TOKEN else [("wrong-letter", "e", "o")])
    assert any("4 tickets" in warning for warning in report.warnings)


# -------------------------------------- labels with a shield on the frame and a drawing among words

LABEL = ("PELLOW & DRAY", "Damson Cheese", "Boiled in copper from whole fruit", "and cane sugar")


def label(lines=LABEL, sides=("NET", "PRICE")):
    page = np.full((1100, 1200), 255, np.uint8)
    outline = cv2.ellipse2Poly((600, 500), (480, 420), 0, 0, 360, 4)
    cv2.polylines(page, [outline], True, 0, 5)
    shield = [(480, 860), (720, 860), (720, 960), (600, 1040), (480, 960)]
    cv2.fillPoly(page, [np.array(shield, np.int32)], 0)
    for at, line in enumerate(lines):
        paste(page, block_of(line, body_pt=12), 600, (220, 290, 650, 720)[at])
    for left, word in zip((330, 860), sides, strict=True):
        paste(page, block_of(word, body_pt=11), left, 480)
    for x, y in ((550, 430), (650, 430), (595, 530)):
        cv2.circle(page, (x, y), 80, 0, 4)
        cv2.ellipse(page, (x, y), (50, 60), 0, 200, 290, 0, 4)
    return page


LABEL_COPY = "\n".join((*LABEL[:2], "NET\tPRICE", " ".join(LABEL[2:])))


def test_a_label_with_a_shield_on_its_frame_is_read_without_its_drawing(tmp_path):
    report = report_on(tmp_path, label(), LABEL_COPY)
    assert exit_status(report) == 0, told(report)
    wrong = label(sides=("NET", "PRINE"))
    assert told(report_on(tmp_path, wrong, LABEL_COPY)) == [("wrong-letter", "N", "C")]


# ------------------------------------------------------------------------- a price alone in a ring

PRIZES = ("A fat goose and a bottle of port,", "a couple of ducks of the yard,",
          "half a load of the best coal,", "and nine other useful prizes.")  # fmt: skip


def draw(price="3d.", gap_px=None):
    """A list of prizes with the price of a ticket in a ring beside its middle."""
    page = np.full((760, 1500), 255, np.uint8)
    for at, line in enumerate(PRIZES):
        block = block_of(line, body_pt=11)
        paste(page, block, 120 + block.shape[1] // 2, 160 + 90 * at)
    cv2.circle(page, (1250, 320), 90, 0, 4)
    block = block_of(price, body_pt=12)
    if gap_px is not None:
        bare = (block > 128).all(axis=0)
        gaps = np.flatnonzero(bare[1:] & ~bare[:-1]) + 1
        block = np.delete(block, np.concatenate([np.arange(g, g + 3) for g in gaps[:1]]), axis=1)
    paste(page, block, 1250, 300)
    paste(page, block_of("To be drawn upon the green", body_pt=10), 760, 600)
    return page


DRAW_COPY = f"{' '.join(PRIZES)}\n3d.\nTo be drawn upon the green"


@pytest.mark.parametrize("gap_px", [None, 0], ids=["letters apart", "letters that touch"])
def test_a_price_in_a_ring_is_read_where_the_copy_has_it(tmp_path, gap_px):
    report = report_on(tmp_path, draw(gap_px=gap_px), DRAW_COPY)
    assert exit_status(report) == 0, told(report)


def test_a_wrong_price_in_a_ring_is_told(tmp_path):
    found = told(report_on(tmp_path, draw("8d."), DRAW_COPY))
    assert sorted(words for _, *both in found for words in both if words) == [" 3d.", "8d."]


def test_a_letter_or_a_sign_is_no_ring():
    page = np.full((400, 1200), 255, np.uint8)
    paste(page, block_of("O 0 Q 8 B", body_pt=40), 450, 80)
    cv2.circle(page, (1000, 200), 90, 0, 12)
    paste(page, block_of("c", body_pt=34), 1000, 160)
    assert not surrounds_of(page)


def test_a_ring_with_a_dot_in_it_is_an_ornament_and_a_dotted_nought_is_not():
    page = np.full((300, 600), 255, np.uint8)
    cv2.circle(page, (150, 150), 40, 0, 4)
    cv2.circle(page, (150, 150), 12, 0, cv2.FILLED)
    cv2.ellipse(page, (400, 150), (26, 44), 0, 0, 360, 0, 6)
    cv2.circle(page, (400, 150), 7, 0, cv2.FILLED)
    pieces, labels = find_pieces((page < 128).astype(np.uint8))
    (ring,) = find_surrounds(pieces, labels)
    assert pieces.right[ring] < 300


def voucher(sign="£", below="Secretary, for the Committee."):
    """A shield of two lines to write a sum in, with its sign alone."""
    page = np.full((700, 1300), 255, np.uint8)
    for inset, thick in ((0, 8), (18, 3)):
        left, right, top, foot = 150 + inset, 500 - inset, 150 + inset, 300 - inset
        bow = cv2.ellipse2Poly(((left + right) // 2, foot), ((right - left) // 2, 30), 0, 0, 180, 5)
        shape = np.array([(right, top), *bow.tolist(), (left, top)], np.int32)
        cv2.polylines(page, [shape], True, 0, thick)
    paste(page, block_of(sign, body_pt=18), 215, 190)
    paste(page, block_of(below, body_pt=11), 850, 240)
    paste(page, block_of("This voucher is to be shown within a month.", body_pt=10), 600, 480)
    return page


@pytest.mark.parametrize(("sign", "told_of"), [("£", []), ("$", [("$", "£")])])
def test_the_sign_alone_in_a_shield_for_a_sum_is_read(tmp_path, sign, told_of):
    wanted = "£\nSecretary, for the Committee.\nThis voucher is to be shown within a month."
    report = report_on(tmp_path, voucher(sign), wanted)
    assert [(printed, copied) for _, printed, copied in told(report)] == told_of


# ---------------------------------------------------------------------------------- what is a cut


def plan():
    """A plan of rooms with a name in some, steps and a hedge in others."""
    page = np.full((1300, 1200), 255, np.uint8)
    walls = [(100, 110), (420, 90), (520, 40), (700, 40), (760, 100), (1080, 130), (1110, 980),
             (640, 1010), (600, 960), (120, 1000)]  # fmt: skip
    cv2.polylines(page, [np.array(walls, np.int32)], True, 0, 8)
    cv2.line(page, (590, 40), (610, 980), 0, 8)
    cv2.line(page, (600, 550), (1100, 550), 0, 8)
    rng = np.random.default_rng(3)
    for x, y in rng.integers((130, 300), (560, 960), (60, 2)).tolist():
        cv2.ellipse(page, (x, y), (12, 9), 0, 0, 250, 0, 2)
    for x in range(640, 1060, 30):
        page[600:700, x : x + 4] = 0
        page[860:900, x : x + 12] = 0
    paste(page, block_of("GARDEN", body_pt=14), 350, 180)
    paste(page, block_of("PARLOUR", body_pt=12), 850, 780)
    paste(page, block_of("The garden lies before the house", body_pt=12), 600, 1120)
    return page


def test_a_plan_with_names_in_its_rooms_is_a_cut():
    assert not surrounds_of(plan())
    lines = find_lines(sheet_of(plan()))
    assert [line.box.y > 1050 for line in lines] == [True]


def test_matter_in_the_angle_of_a_drawing_makes_no_frame_of_it():
    page = np.full((900, 1200), 255, np.uint8)
    corner = [(100, 100), (1000, 100), (1000, 220), (260, 220), (260, 800), (100, 800)]
    cv2.polylines(page, [np.array(corner, np.int32)], True, 0, 4)
    for at, line in enumerate(BODY):
        paste(page, block_of(line, body_pt=10), 640, 330 + 90 * at)
    assert not surrounds_of(page)


def test_a_frame_that_is_worn_through_here_and_there_still_is_one():
    page = np.full((900, 1200), 255, np.uint8)
    cv2.circle(page, (600, 450), 400, 0, 5)
    for at, line in enumerate(BODY):
        paste(page, block_of(line, body_pt=11), 600, 330 + 90 * at)
    page[445:449, 150:260] = 255
    assert len(surrounds_of(page)) == 1


# ------------------------------------------------------------------------------------- worn frames


def wavering(page, one, other, rng):
    """A rule from battered brass: every few pixels it stands a little elsewhere."""
    (x, y), (right, bottom) = one, other
    for at in range(x, right + 1, 12):
        off = int(rng.integers(-2, 3))
        page[y + off : bottom + off + 5, at : at + 12] = 0
    for at in range(y, bottom + 1, 12):
        off = int(rng.integers(-2, 3))
        page[at : at + 12, x + off : right + off + 5] = 0


def form(rng):
    """A grid of rules with words in its cells."""
    page = np.full((1000, 1400), 255, np.uint8)
    for y in (100, 300, 500, 700, 900):
        wavering(page, (100, y), (1300, y), rng)
    for x in (100, 500, 900, 1300):
        wavering(page, (x, 100), (x, 900), rng)
    for at, words in enumerate(WORDS):
        paste(page, block_of(words, body_pt=11), 300 + 400 * (at % 3), 180 + 200 * (at // 3))
    return page


WORDS = ("Sent by", "Weight", "Paid", "Hollin Hay", "6 stone", "4s. 9d.", "Mill Lane", "3 stone",
         "2s. 3d.", "Old Quay", "9 stone", "7s. 1d.")  # fmt: skip


def test_a_grid_of_worn_rules_is_no_cut():
    page = form(np.random.default_rng(5))
    pieces, labels = find_pieces((page < 128).astype(np.uint8))
    assert are_frames(pieces, labels).sum() == 1


def test_a_frame_with_solid_corners_worn_through_in_two_places_is_no_cut():
    page = np.full((1200, 1000), 255, np.uint8)
    cv2.rectangle(page, (100, 100), (900, 1100), 0, 4)
    for x, y in ((100, 100), (900, 100), (100, 1100), (900, 1100)):
        corner = [(x, y), (x + (80 if x < 500 else -80), y), (x, y + (80 if y < 600 else -80))]
        cv2.fillPoly(page, [np.array(corner, np.int32)], 0)
    page[400:420, 90:110] = 255
    page[1090:1110, 600:630] = 255
    for at, line in enumerate(BODY):
        paste(page, block_of(line, body_pt=10), 500, 400 + 90 * at)
    pieces, labels = find_pieces((page < 128).astype(np.uint8))
    assert are_frames(pieces, labels).sum() == 2


def test_a_plan_is_no_frame_however_its_walls_waver():
    pieces, labels = find_pieces((plan() < 128).astype(np.uint8))
    assert not are_frames(pieces, labels).any()
