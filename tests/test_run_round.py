"""Matter set round a cut, or beside the shadow at a scan's edge, against its true places."""

from __future__ import annotations

import math

import cv2
import numpy as np
import pytest
from typesetter import Para, Style, compose, print_proof

from proofcheck.base.values import Scan, Sheet
from proofcheck.sheet.lines import find_lines

ROUND = (
    "The corner of the frame is halved and pinned before any hole is bored, and the pins are cut "
    "flush when the glue has set. Mark the holes along both rails with a gauge. In shops where "
    "there is a press the work goes quicker, yet a brace will do."
)
BELOW = (
    "Clean the edges with fine paper before the strands go in, for a rough edge will fray them. "
    "Let each strand lie in water until it bends without a crack, but no longer than that; those "
    "left in over night turn dark. Begin at the middle of the back rail and work to the left."
)
WIDE, PICA = 1500, 50
"""A page of thirty picas at 300 dpi."""


def set_lines(text, picas):
    return print_proof(
        compose([Para(text, "justify", 0)], measure_picas=picas, style=Style(lead_pt=2)), dpi=300
    )


class Page:
    """A page put together of matter and cuts; keeps the true boxes of its lines."""

    def __init__(self, high=1700):
        self.image = np.full((high, WIDE), 255, np.uint8)
        self.true = []

    def put(self, text, picas, x, y):
        """Lay matter on the page; the height below it is returned."""
        proof = set_lines(text, picas)
        left = min(line.box[0] for line in proof.lines)
        top = min(line.box[1] for line in proof.lines)
        for line in proof.lines:
            bx, by, wide, high = (round(side) for side in line.box)
            spare = 3
            cut = proof.image[by - spare : by + high + spare, bx - spare : bx + wide + spare]
            at_x, at_y = round(x + bx - left), round(y + by - top)
            place = self.image[
                at_y - spare : at_y + high + spare, at_x - spare : at_x + wide + spare
            ]
            np.minimum(place, cut, out=place)
            self.true.append((at_x, at_y, at_x + wide, at_y + high))
        return max(box[3] for box in self.true)

    def draw(self, points, thick=3, closed=False):
        outline = np.array(points, np.int32)
        cv2.polylines(self.image, [outline], closed, 0, thick)

    def fill(self, points):
        cv2.fillPoly(self.image, [np.array(points, np.int32)], 0)

    def lines(self):
        height, width = self.image.shape
        scan = Scan("proof", 0, "", width, height)
        sheet = Sheet(
            self.image, scan, 0, 300.0, "option", 0,
            mirrored=False, skew_deg=0.0, to_scan=np.eye(3),
        )  # fmt: skip
        return find_lines(sheet)

    def amiss(self):
        """True lines that were not found whole, and lines found where there is none."""
        found = [(b.x, b.y, b.right, b.bottom) for b in (line.box for line in self.lines())]
        lost = [true for true in self.true if not any(_off(true, each) <= 4 for each in found)]
        more = [each for each in found if not any(_off(true, each) <= 4 for true in self.true)]
        return lost, more


def _off(one, other):
    return max(abs(a - b) for a, b in zip(one, other, strict=True))


def corner_drawing(page, x=200, y=100):
    """The corner of a frame, its far ends broken off, with holes and dimensions in it."""
    wave = [(x + 1000 + round(12 * math.sin(k)), y + 25 * k) for k in range(10)]
    foot = [(x + 230 - 23 * k, y + 560 + round(8 * math.sin(k))) for k in range(11)]
    page.draw([(x, y), *wave, (x + 230, y + 225), *foot], closed=True)
    page.draw([(x + 120, y + 440), (x + 120, y + 120), (x + 960, y + 120)], thick=2)
    for k in range(9):
        cv2.circle(page.image, (x + 120 + 100 * k, y + 120), 14, 0, 2)
    for k in range(1, 4):
        cv2.circle(page.image, (x + 120, y + 120 + 100 * k), 14, 0, 2)
    for at in ((x + 300, y + 180), (x + 520, y + 180), (x + 150, y + 300)):
        cv2.putText(page.image, "1/2", at, cv2.FONT_HERSHEY_SIMPLEX, 0.8, 0, 2)


@pytest.mark.parametrize("picas", [14, 15.5, 19])
def test_text_in_the_angle_of_a_drawing_is_read_and_its_figures_are_not(picas):
    page = Page()
    corner_drawing(page)
    page.put(BELOW, 24, 200, page.put(ROUND, picas, 480, 390) + 80)
    assert page.amiss() == ([], [])


@pytest.mark.parametrize("x", [365, 375])
def test_a_figure_beyond_a_stroke_of_the_drawing_is_no_word_of_the_line_level_with_it(x):
    page = Page()
    corner_drawing(page)
    page.put(BELOW, 24, 200, page.put(ROUND, 14, 455, 390) + 80)
    third = page.true[2]
    cv2.putText(page.image, "1/2", (x, third[3] - 6), cv2.FONT_HERSHEY_SIMPLEX, 0.8, 0, 2)
    assert page.amiss() == ([], [])


def ragged(page, left, right, top, bottom):
    """A solid cut whose edges go in and out."""
    steps = list(range(top, bottom, 20))
    away = [round(30 * math.sin(k * 1.7) + 20 * math.sin(k * 0.6)) for k in range(len(steps))]
    page.fill(
        [(left + a, y) for a, y in zip(away, steps, strict=True)]
        + [(right - a, y) for a, y in reversed(list(zip(away, steps, strict=True)))]
    )


@pytest.mark.parametrize("side", ["left", "right"])
def test_text_run_round_one_side_of_a_ragged_cut_is_read(side):
    page = Page()
    x, cut = (120, (840, 1320)) if side == "left" else (800, (200, 680))
    ragged(page, *cut, 100, 640)
    page.put(BELOW, 24, 120, page.put(ROUND, 12.6, x, 110) + 160)
    assert page.amiss() == ([], [])


def test_text_on_both_sides_of_a_cut_with_a_wide_foot_is_read():
    page = Page()
    page.fill([(650, 100), (850, 100), (850, 700), (1400, 700), (1400, 760), (100, 760),
               (100, 700), (650, 700)])  # fmt: skip
    page.put(ROUND, 9, 150, 110)
    page.put(ROUND, 9, 920, 110)
    page.put(BELOW, 24, 120, 850)
    assert page.amiss() == ([], [])


def test_text_under_an_arch_is_read():
    page = Page()
    cv2.ellipse(page.image, (720, 760), (600, 640), 0, 180, 360, 0, 50)
    page.fill([(95, 755), (145, 755), (145, 1000), (95, 1000)])
    page.fill([(1295, 755), (1345, 755), (1345, 1000), (1295, 1000)])
    page.put(ROUND, 16, 320, 560)
    page.put(BELOW, 24, 120, 1100)
    assert page.amiss() == ([], [])


@pytest.mark.parametrize("open_side", ["left", "right", "foot"])
def test_text_in_a_drawn_frame_open_on_one_side_is_read(open_side):
    page = Page()
    sides = {
        "right": [(1200, 100), (100, 140), (130, 700), (1200, 720)],
        "left": [(120, 100), (1200, 140), (1180, 700), (120, 720)],
        "foot": [(100, 720), (140, 110), (1200, 100), (1220, 730)],
    }
    page.draw(sides[open_side], thick=14)
    page.put(ROUND, 18, 260, 220)
    page.put(BELOW, 24, 120, 850)
    assert page.amiss() == ([], [])


def test_rows_of_windows_and_pales_in_a_drawing_are_no_lines():
    page = Page()
    page.draw([(100, 700), (130, 120), (700, 60), (1300, 140), (1330, 690)], thick=6)
    for row in range(4):
        for column in range(20):
            x, y = 220 + 48 * column, 200 + 90 * row
            cv2.rectangle(page.image, (x, y), (x + 18, y + 28), 0, 3)
    page.put(BELOW, 24, 120, 850)
    assert page.amiss() == ([], [])


@pytest.mark.parametrize("gap", [12, 30])
@pytest.mark.parametrize("side", ["left", "right"])
def test_letters_beside_a_shadow_that_comes_down_aslant_are_whole(side, gap):
    page = Page()
    bottom = page.put(BELOW, 24, 150, 260)
    ends = [box[0] if side == "left" else box[2] for box in page.true]
    edge, away = (0, 1) if side == "left" else (WIDE - 1, -1)
    at, level = ends[0] - gap * away, page.true[0][1]
    page.fill([(edge, 0), (at + 60 * away, 0), (at, level), (edge + 10 * away, bottom)])
    page.put(ROUND, 24, 150, bottom + 60)
    assert page.amiss() == ([], [])
