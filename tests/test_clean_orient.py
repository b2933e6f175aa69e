"""Turning and mirroring: exact, booked rightly, and chosen by what reads."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from proofcheck.base.values import Scan, Sheet
from proofcheck.sheet.orient import choose_variant, turned

WAYS = list(itertools.product((0, 90, 180, 270), (False, True)))


def sheet_of(image, turned_deg=0, *, mirrored=False):
    height, width = image.shape
    scan = Scan("proof", 0, "", width, height)
    return Sheet(image, scan, 0, 300.0, "file", turned_deg, mirrored, 0.0, np.eye(3))


def laid(image, turned_deg, *, mirrored):
    """First mirrored, then turned clockwise."""
    image = image[:, ::-1] if mirrored else image
    return np.ascontiguousarray(np.rot90(image, -(turned_deg // 90)))


@pytest.fixture
def image():
    return np.random.default_rng(4).integers(0, 255, (7, 11), np.uint8)


@pytest.mark.parametrize(("turn", "mirrored"), WAYS)
def test_turned_is_exact_and_maps_back(image, turn, mirrored):
    sheet = turned(sheet_of(image), turn, mirrored)
    assert np.array_equal(sheet.image, laid(image, turn, mirrored=mirrored))
    for y, x in np.ndindex(sheet.image.shape):
        u, v, _ = sheet.to_scan @ (x, y, 1)
        assert image[round(v), round(u)] == sheet.image[y, x]


def test_what_is_booked_brings_the_scan_to_the_sheet(image):
    for first, second in itertools.product(WAYS, WAYS):
        sheet = turned(turned(sheet_of(image), *first), *second)
        right = laid(image, sheet.turned_deg, mirrored=sheet.mirrored)
        assert np.array_equal(sheet.image, right), (first, second)


def test_only_quarters(image):
    with pytest.raises(ValueError, match="45"):
        turned(sheet_of(image), 45)


def test_mirroring_turns_the_skew_round(image):
    import dataclasses

    sheet = dataclasses.replace(sheet_of(image), skew_deg=1.5)
    assert turned(sheet, 180).skew_deg == 1.5
    assert turned(sheet, 0, mirrored=True).skew_deg == -1.5


class Reader:
    """Reads only the right way up; counts how often it is asked."""

    def __init__(self, right, good=0.9, bad=0.3):
        self.right, self.good, self.bad, self.asked = right, good, bad, 0

    def __call__(self, sheet):
        self.asked += 1
        return self.good if np.array_equal(sheet.image, self.right) else self.bad


@pytest.mark.parametrize(("turn", "mirrored"), WAYS)
def test_the_way_that_reads_is_chosen(image, turn, mirrored):
    reader = Reader(image)
    chosen = choose_variant(sheet_of(laid(image, turn, mirrored=mirrored)), reader)
    assert np.array_equal(chosen.image, image)
    assert reader.asked <= 8


def test_a_good_sheet_is_read_once(image):
    reader = Reader(image)
    sheet = sheet_of(image)
    assert choose_variant(sheet, reader) is sheet
    assert reader.asked == 1


def test_a_sheet_that_reads_no_way_is_left_as_it_lies(image):
    sheet = sheet_of(image)
    assert choose_variant(sheet, lambda _: 0.2) is sheet


def test_a_doubt_does_not_turn_a_sheet(image):
    sheet = sheet_of(image)
    upside_down = turned(sheet, 180).image
    assert choose_variant(sheet, Reader(upside_down, good=0.63, bad=0.6)) is sheet
