"""Strips against set matter: size, level, place, and nothing of the neighbours."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from typesetter import Para, Style, compose, lines_of, print_proof

from proofcheck.base.values import Box, Line, Scan, Sheet
from proofcheck.sheet.lines import find_lines
from proofcheck.sheet.strips import cut_strip

PROSE = (
    "The foot-bridge below the mill will be closed from Monday to Thursday, while the jolly "
    "carpenter renews the planks and the hand rail; those bound for the school may cross by the "
    "ferry, if they bring their own umbrellas and do not feed the donkey."
)


def sheet_of(image, dpi=300.0):
    height, width = image.shape
    scan = Scan("proof", 0, "", width, height)
    return Sheet(image, scan, 0, dpi, "option", 0, mirrored=False, skew_deg=0.0, to_scan=np.eye(3))


def printed(text=PROSE, measure=20, dpi=300, indent_pt=None, **style):
    forme = compose([Para(text, indent_pt=indent_pt)], measure_picas=measure, style=Style(**style))
    return print_proof(forme, dpi=dpi)


def feet_and_heads(strip, line, letters="xuvwz"):
    """Top and bottom row edge (at half ink) of flat letters, found in the strip's columns."""
    found = []
    for letter in line.letters:
        if letter.text in letters:
            left, right = strip.to_strip_x([letter.box[0], letter.box[0] + letter.box[2]])
            part = 255.0 - strip.image[:, round(float(left)) : round(float(right))]
            rows = np.flatnonzero(part.max(axis=1) > 127)
            found.append((rows[0], rows[-1] + 1))
    return np.array(found)


@pytest.mark.parametrize("dpi", [200, 300, 600])
@pytest.mark.parametrize("family", ["schola", "old-standard"])
def test_small_letters_stand_on_row_34_and_are_18_high(dpi, family):
    proof = printed(dpi=dpi, family=family)
    sheet = sheet_of(proof.image, dpi)
    edges = []
    for line, true in zip(find_lines(sheet), proof.lines, strict=True):
        strip = cut_strip(sheet, line)
        assert strip.image.shape[0] == 48
        assert strip.image.dtype == np.uint8
        edges += [*feet_and_heads(strip, true)]
    heads, feet = np.transpose(edges)
    assert np.median(feet) == pytest.approx(34, abs=1)
    assert np.median(heads) == pytest.approx(16, abs=1)


def test_places_map_both_ways():
    proof = printed()
    sheet = sheet_of(proof.image)
    line = find_lines(sheet)[1]
    strip = cut_strip(sheet, line)
    there = np.linspace(0, strip.image.shape[1], 7)
    np.testing.assert_allclose(strip.to_strip_x(strip.to_sheet_x(there)), there)
    assert float(strip.to_sheet_x(8)) == pytest.approx(line.box.x, abs=0.01)
    inked = np.flatnonzero((strip.image < 128).any(axis=0))
    assert inked[0] == pytest.approx(8, abs=1.5)
    assert strip.image.shape[1] - 1 - inked[-1] == pytest.approx(8, abs=1.5)


@pytest.mark.parametrize("lead_pt", [2.0, 0.0])
def test_neighbours_are_white_and_own_letters_whole(lead_pt):
    """Against strips of a page on which the other lines were never printed."""
    proof = printed("jolly giddy bulky happy fifty pygmy judge, " * 6, 16, lead_pt=lead_pt)
    sheet = sheet_of(proof.image)
    for line, true in zip(find_lines(sheet), proof.lines, strict=True):
        alone = np.full_like(proof.image, 255)
        for letter in true.letters:
            x, y, width, height = letter.box
            window = (
                slice(int(y), int(np.ceil(y + height)) + 1),
                slice(int(x), int(np.ceil(x + width)) + 1),
            )
            alone[window] = proof.image[window]
        strip = cut_strip(sheet, line).image.astype(int)
        pure = cut_strip(sheet_of(alone), line).image.astype(int)
        ink = (255 - pure).sum()
        assert np.abs(strip - pure).sum() < 0.01 * ink


def test_contrast_is_full_on_pale_grey():
    proof = printed()
    pale = (150 + proof.image.astype(float) * 60 / 255).astype(np.uint8)
    sheet = sheet_of(pale)
    strip = cut_strip(sheet, find_lines(sheet)[0]).image
    assert strip.min() == 0
    assert strip.max() == 255
    plain = cut_strip(sheet_of(proof.image), find_lines(sheet)[0]).image
    assert np.abs(strip.astype(int) - plain).mean() < 6


def test_a_tilted_line_gives_the_strip_of_a_level_one():
    proof = printed()
    level = sheet_of(proof.image)
    slope = 0.012
    height, width = proof.image.shape
    shear = np.array([[1, 0, 0], [slope, 1, 0]], float)
    tilted = sheet_of(cv2.warpAffine(proof.image, shear, (width, height + 60), borderValue=255))
    line = find_lines(level)[1]
    left, right = line.baseline
    fallen = replace(
        line,
        baseline=(left + slope * line.box.x, right + slope * line.box.right),
        box=Box(line.box.x, line.box.y + 5, line.box.width, line.box.height + 12),
    )
    one, other = (cut_strip(*pair).image.astype(int) for pair in ((level, line), (tilted, fallen)))
    assert np.abs(one - other).mean() < 8


def test_a_bowed_line_is_made_straight():
    proof = printed(measure=26)
    height, width = proof.image.shape
    x = np.arange(width, dtype=np.float32)
    bow = 9 * (2 * x / width - 1) ** 2
    rows = np.arange(height, dtype=np.float32)[:, None] - bow[None, :].astype(np.float32)
    columns = np.broadcast_to(x, rows.shape).astype(np.float32)
    bowed = cv2.remap(proof.image, columns, rows, cv2.INTER_LINEAR, borderValue=255)
    sheet = sheet_of(bowed)
    lines = find_lines(sheet)
    assert len(lines) == len(proof.lines)
    for line, true in list(zip(lines, proof.lines, strict=True))[1:3]:
        edges = feet_and_heads(cut_strip(sheet, line), true, "nhimrxlk")
        assert np.ptp(edges[:, 1]) <= 2
        assert np.median(edges[:, 1]) == pytest.approx(34, abs=1)


def test_a_dropped_initial_is_brought_to_the_height_of_capitals():
    proof = printed(measure=16, indent_pt=0.0)
    big = printed("H", body_pt=40.0)
    x, y, width, height = (round(side) for side in big.lines[0].letters[0].box)
    page = np.full((proof.image.shape[0] + 100, proof.image.shape[1] + 300), 255, np.uint8)
    page[50 : 50 + proof.image.shape[0], 200 : 200 + proof.image.shape[1]] = proof.image
    top = 50 + round(proof.lines[0].box[1])
    left = 200 + round(proof.lines[1].box[0]) - width - 12
    page[top : top + height, left : left + width] = big.image[y : y + height, x : x + width]
    sheet = sheet_of(page)
    first, second = find_lines(sheet)[:2]
    strip = cut_strip(sheet, first)
    head = strip.image[:, 8 : int(strip.to_strip_x(left + width))]
    rows = np.flatnonzero((head < 128).any(axis=1))
    assert rows[-1] + 1 == pytest.approx(34, abs=1)
    assert len(rows) == pytest.approx(18 / 0.68, abs=1.5)
    there = np.linspace(8, strip.image.shape[1] - 8, 9)
    np.testing.assert_allclose(strip.to_strip_x(strip.to_sheet_x(there)), there, atol=0.01)
    letter = proof.lines[0].letters[4]
    middle = 200 + letter.box[0] + letter.box[2] / 2
    column = round(float(strip.to_strip_x(middle)))
    assert (strip.image[:, column - 4 : column + 5] < 128).any()
    second_strip = cut_strip(sheet, second)
    assert second_strip.image.shape[1] < strip.image.shape[1] + 40
    assert second.box.x > left + width


def make_line(box, baseline, x_height):
    return Line(1, 0, 0, box, baseline, x_height, 10.0)


@pytest.mark.parametrize("tone", [0, 128, 255])
@pytest.mark.parametrize(
    "line",
    [
        make_line(Box(0, 0, 3, 3), (3.0, 3.0), 2.0),
        make_line(Box(0, 0, 1, 1), (1.0, 1.0), 0.1),
        make_line(Box(5, 5, 0, 0), (5.0, 5.0), 10.0),
        make_line(Box(-10, -10, 40, 40), (0.0, 25.0), 12.0),
        make_line(Box(0, 0, 60, 30), (300.0, 500.0), 200.0),
    ],
)
def test_odd_lines_give_strips_all_the_same(tone, line):
    sheet = sheet_of(np.full((30, 60), tone, np.uint8))
    assert cut_strip(sheet, line).image.shape[0] == 48


def test_a_line_of_ten_thousand_pixels():
    image = np.full((60, 10_000), 255, np.uint8)
    image[20:40, 50:9950:20] = 0
    line = make_line(Box(50, 20, 9881, 20), (40.0, 40.0), 20.0)
    assert cut_strip(sheet_of(image), line).image.shape[1] > 8000
    strip = cut_strip(sheet_of(image), replace(line, x_height_px=1.0))
    assert strip.image.shape[1] == 16384
    assert float(strip.to_sheet_x(strip.image.shape[1])) > 9920


def test_true_lines_of_the_typesetter_cut_as_well_as_found_ones():
    proof = printed()
    sheet = sheet_of(proof.image)
    for line, true in zip(lines_of(proof), proof.lines, strict=True):
        edges = feet_and_heads(cut_strip(sheet, line), true, "xuvwznhir")
        assert np.median(edges[:, 1]) == pytest.approx(34, abs=1)
