"""Cleaning a scan: level, flat, evenly lit; every pixel traced back to the scan.

The effect is measured, not the bytes: after cleaning the skew is measured again, and marks whose
place in the scan is known are looked for on the sheet.
"""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from typesetter import photograph, print_proof, pull
from typesetter.jobs import CONCERT, CONCERT_STYLE, PRICES, PRICES_STYLE
from typesetter.setting import compose

from proofcheck.base.errors import SettingError
from proofcheck.base.units import SLUG_PICA_IN
from proofcheck.base.values import Scan
from proofcheck.sheet.clean import clean_sheet, with_measure
from proofcheck.sheet.corners import find_corners
from proofcheck.sheet.light import PAPER
from proofcheck.sheet.scans import Picture
from proofcheck.sheet.skew import measure_slope


def picture_of(image, file_dpi=300.0, *, camera=False):
    height, width = image.shape[:2]
    return Picture(Scan("proof", 0, "", width, height), image, file_dpi, camera)


def whole(box):
    return tuple(round(v) for v in box)


def cleaned(image, **options):
    return clean_sheet(picture_of(image), 0, **options)


def skewed(image, angle_deg):
    """The picture turned clockwise about its middle, on paper large enough to hold it."""
    height, width = image.shape
    pad = round(max(height, width) * abs(np.sin(np.radians(angle_deg)))) + 2
    wide = cv2.copyMakeBorder(image, pad, pad, pad, pad, cv2.BORDER_CONSTANT, value=255)
    middle = (wide.shape[1] / 2, wide.shape[0] / 2)
    turn = cv2.getRotationMatrix2D(middle, -angle_deg, 1.0)
    return cv2.warpAffine(
        wide, turn, wide.shape[::-1], flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE
    )


@pytest.fixture(scope="module")
def concert():
    return print_proof(compose(CONCERT, measure_picas=26, style=CONCERT_STYLE), dpi=200)


@pytest.fixture(scope="module")
def prices():
    return print_proof(compose(PRICES, measure_picas=38, style=PRICES_STYLE), dpi=200)


# ------------------------------------------------------------------ skew


@pytest.mark.parametrize("angle", [-9.0, -0.4, 0.15, 4.6])
@pytest.mark.parametrize("which", ["concert", "prices", "notice_proof"])
def test_skew_is_taken_out_to_a_tenth_of_a_degree(which, angle, request):
    sheet = cleaned(skewed(request.getfixturevalue(which).image, angle))
    assert sheet.skew_deg == pytest.approx(angle, abs=0.08)
    assert abs(measure_slope(sheet.image).skew_deg) < 0.06
    assert sheet.turned_deg == 0


@pytest.mark.parametrize("lines", [1, 2, 3])
def test_few_lines_are_enough(notice_proof, lines):
    _, first, _, _ = whole(notice_proof.lines[1].box)
    _, last, _, height = whole(notice_proof.lines[lines].box)
    few = notice_proof.image.copy()
    few[: first - 2] = 255
    few[last + height + 2 :] = 255
    sheet = cleaned(skewed(few, 1.2))
    assert sheet.skew_deg == pytest.approx(1.2, abs=0.12)


@pytest.mark.parametrize("angle", [0, 3, -12, 90])
def test_one_short_word_is_not_turned(notice_proof, angle):
    x, y, _, height = whole(notice_proof.lines[2].box)
    page = np.full((1600, 1200), 255, np.uint8)
    page[700 : 700 + height, 500:600] = notice_proof.image[y : y + height, x : x + 100]
    sheet = cleaned(skewed(page, angle))
    assert sheet.turned_deg == 0
    assert abs(sheet.skew_deg) <= abs(angle) if angle != 90 else sheet.skew_deg == 0


def test_blank_sheet_is_left_alone():
    blank = np.full((500, 400), 255, np.uint8)
    sheet = cleaned(blank)
    assert np.array_equal(sheet.image, blank)
    assert np.array_equal(sheet.to_scan, np.eye(3))


def test_level_sheet_keeps_its_own_pixels(concert):
    bilevel = np.where(concert.image < 128, 0, 255).astype(np.uint8)
    sheet = cleaned(bilevel)
    assert sheet.skew_deg == 0.0
    assert np.array_equal(sheet.image, bilevel)


@pytest.mark.parametrize(("turns", "told"), [(1, 90), (3, 90)])
def test_lines_that_run_down_the_page_are_turned_level(concert, turns, told):
    """Which of the two quarter turns reads upright is left to the reader."""
    sheet = cleaned(np.ascontiguousarray(np.rot90(concert.image, turns)))
    assert sheet.turned_deg == told
    right = concert.image if turns == 1 else concert.image[::-1, ::-1]
    assert (
        np.array_equal(sheet.image, right)
        or np.abs(sheet.image.astype(int) - right).max() <= 255 - PAPER
    )


def test_a_quarter_turned_and_skewed_sheet(concert):
    sheet = cleaned(np.ascontiguousarray(np.rot90(skewed(concert.image, 2.0))))
    assert sheet.turned_deg == 90
    assert sheet.skew_deg == pytest.approx(2.0, abs=0.06)


# ------------------------------------------------------------------ the way back


def with_marks(image, places):
    marked = image.copy()
    for x, y in places:
        cv2.circle(marked, (x, y), 14, 255, -1)
        cv2.circle(marked, (x, y), 9, 0, -1)
    return marked


def found_marks(image):
    """Middles of the round marks, by their shape and size."""
    ink = (image < 128).astype(np.uint8)
    _, _, stats, middles = cv2.connectedComponentsWithStats(ink)
    width, height, area = stats[1:, 2], stats[1:, 3], stats[1:, 4]
    disc = (abs(width - height) <= 2) & (width > 15) & (width < 24) & (area > 0.66 * width * height)
    return middles[1:][disc]


@pytest.mark.parametrize(("angle", "turns"), [(0.0, 0), (1.7, 0), (-3.2, 1), (0.0, 3)])
def test_sheet_pixels_map_back_to_the_scan(concert, angle, turns):
    scan = np.ascontiguousarray(np.rot90(skewed(concert.image, angle), turns))
    height, width = scan.shape
    places = [(40, 40), (width - 45, 60), (width - 50, height - 40), (60, height - 70)]
    sheet = cleaned(with_marks(scan, places))
    marks = found_marks(sheet.image)
    assert len(marks) >= 4
    back = np.column_stack([marks, np.ones(len(marks))]) @ sheet.to_scan.T
    back = back[:, :2] / back[:, 2:]
    for place in places:
        assert np.hypot(*(back - place).T).min() < 0.6


# ------------------------------------------------------------------ light


def test_light_is_evened_and_a_black_cut_stays_black(notice_proof):
    page = np.full((1700, 1700), 255, np.uint8)
    height, width = notice_proof.image.shape
    page[:height, :width] = notice_proof.image
    page[1150:1550, 300:1400] = 0  # a solid cut a quarter of the page's width
    light = np.linspace(0.95, 0.45, page.shape[1])[None, :] * np.linspace(1, 0.85, 1700)[:, None]
    dim = np.round((35 + page * (220 / 255)) * light).astype(np.uint8)
    image = cleaned(dim).image
    paper, ink = image[page > 250], image[1200:1500, 350:1350]
    assert np.percentile(paper, 1) > PAPER - 14
    assert np.percentile(ink, 99) < 70
    letters = image[:1000][page[:1000] < 20]
    assert np.percentile(letters, 75) < 80


def test_negative_is_turned_to_dark_on_light(concert):
    sheet = cleaned(255 - concert.image)
    assert np.median(sheet.image) > 240
    assert np.abs(sheet.image.astype(int) - concert.image).mean() < 6


def test_page_of_a_dark_cut_is_no_negative(notice_proof):
    page = np.full((1700, 1700), 255, np.uint8)
    page[60:1400, 60:1640] = 12
    width = notice_proof.image.shape[1]
    page[1400:1640, :width] = notice_proof.image[400 : 400 + 240]
    assert np.median(cleaned(page).image) < 60


# ------------------------------------------------------------------ phone pictures


@pytest.mark.parametrize("seed", range(3))
def test_phone_picture_is_laid_flat(concert, seed):
    photo = photograph(
        concert.image, seed=seed, width_px=1500, tilt=0.08, turn_deg=5, shade=0.5, defocus_px=0.7
    )
    image = photo.image[:, :, ::-1].copy()
    sheet = clean_sheet(picture_of(image, 72.0, camera=True), 0)
    assert abs(measure_slope(sheet.image).skew_deg) < 0.08
    # Places on the proof, as the camera saw them, against where the sheet says they are.
    height, width = concert.image.shape
    corners = np.array([(0, 0), (width, 0), (width, height), (0, height)], float)
    seen = cv2.perspectiveTransform(corners[None], photo.to_photo)[0]
    flat = cv2.perspectiveTransform(seen[None], np.linalg.inv(sheet.to_scan))[0]
    right, bottom = sheet.image.shape[1], sheet.image.shape[0]
    assert np.abs(flat - [(0, 0), (right, 0), (right, bottom), (0, bottom)]).max() < 4


@pytest.mark.parametrize("seed", range(3))
def test_corners_are_found_to_three_pixels(prices, seed):
    photo = photograph(prices.image, seed=seed, width_px=1600, tilt=0.1, turn_deg=8, shade=0.55)
    height, width = prices.image.shape
    corners = np.array([[(0, 0), (width, 0), (width, height), (0, height)]], float)
    true = cv2.perspectiveTransform(corners, photo.to_photo)[0]
    found = find_corners(cv2.cvtColor(photo.image, cv2.COLOR_BGR2GRAY))
    assert found is not None
    assert np.abs(found - true).max() < 3


@pytest.mark.parametrize("curl", [0.0, 0.006, 0.012])
def test_nothing_of_the_bench_is_left_along_the_sides(notice_proof, curl):
    """A sliver of it at the edge reads as ink there, and type as cut off."""
    photo = photograph(
        pull(notice_proof, "good"), seed=5, width_px=1500, tilt=0.1, turn_deg=4, curl=curl
    )
    sheet = clean_sheet(picture_of(photo.image[:, :, ::-1].copy(), 72.0, camera=True), 0)
    sides = (sheet.image[:6], sheet.image[-6:], sheet.image[:, :6], sheet.image[:, -6:])
    assert max(float((side < 150).mean()) for side in sides) < 0.03


def test_ink_that_runs_off_the_paper_is_left():
    """Type printed over the paper's edge is cut off there, and must be seen to be."""
    image = np.full((1300, 1000), 255, np.uint8)
    for y in range(200, 1100, 60):
        cv2.line(image, (150, y), (1000, y), 0, 7)
    photo = photograph(image, seed=2, width_px=1500, tilt=0.05, turn_deg=1)
    sheet = clean_sheet(picture_of(photo.image[:, :, ::-1].copy(), 72.0, camera=True), 0)
    assert (sheet.image[:, -1] < 150).mean() > 0.05
    assert (sheet.image[:, 0] < 150).mean() < 0.01


def test_a_sheet_with_bent_sides_is_found_by_its_outline(notice_proof):
    small = cv2.resize(notice_proof.image, None, fx=1, fy=0.5, interpolation=cv2.INTER_AREA)
    photo = photograph(small, seed=4, width_px=1600, curl=0.03)
    found = find_corners(cv2.cvtColor(photo.image, cv2.COLOR_BGR2GRAY))
    assert found is not None
    height, width = small.shape
    corners = np.array([[(0, 0), (width, 0), (width, height), (0, height)]], float)
    true = cv2.perspectiveTransform(corners, photo.to_photo)[0]
    assert np.abs(found - true).max() < 0.06 * photo.image.shape[1]


def test_flat_scan_has_no_background(notice_proof):
    assert find_corners(pull(notice_proof, "worn", 3)) is None


def test_ruled_box_is_not_the_sheet(concert):
    boxed = concert.image.copy()
    height, width = boxed.shape
    cv2.rectangle(boxed, (60, 60), (width - 60, height - 60), 0, 9)
    assert find_corners(boxed) is None


def test_sheet_on_the_black_lid_keeps_its_lengths(concert):
    lid = np.full((2300, 1600), 20, np.uint8)
    height, width = concert.image.shape
    lid[150 : 150 + height, 200 : 200 + width] = concert.image
    sheet = cleaned(lid)
    assert abs(sheet.image.shape[0] - height) <= 3
    assert abs(sheet.image.shape[1] - width) <= 3
    assert np.allclose(sheet.to_scan[:2, :2], np.eye(2), atol=2e-3)
    assert sheet.dpi_source == "file"


@pytest.mark.parametrize("side", ["left", "right", "foot"])
def test_background_is_painted_out_where_the_sheet_leaves_the_picture(concert, side):
    photo = photograph(concert.image, seed=1, width_px=1400, tilt=0.03, turn_deg=1, shade=0.3)
    height, width = photo.image.shape[:2]
    part = {
        "left": np.s_[:, width // 7 :],
        "right": np.s_[:, : width - width // 7],
        "foot": np.s_[: height - height // 7],
    }[side]
    image = np.ascontiguousarray(photo.image[part][:, :, ::-1])
    sheet = clean_sheet(picture_of(image, 72.0, camera=True), 0)
    assert (sheet.image > 200).mean() > 0.8
    assert (photo.image[part] > 150).mean() < 0.8
    assert abs(measure_slope(sheet.image).skew_deg) < 0.3


# ------------------------------------------------------------------ resolution


def test_resolution_is_the_options_then_the_files_then_a_guess(notice_proof):
    image = notice_proof.image
    told = clean_sheet(picture_of(image, 300.0), 0, dpi=400)
    assert (told.dpi, told.dpi_source) == (400, "option")
    told = clean_sheet(picture_of(image, 600.0), 0)
    assert (told.dpi, told.dpi_source) == (600, "file")


@pytest.mark.parametrize("tag", [None, 0.0, 1.0, 72.0, 96.0, 9600.0])
def test_tags_that_mean_nothing_are_not_believed(notice_proof, tag):
    told = clean_sheet(picture_of(notice_proof.image, tag), 0)
    assert told.dpi_source == "guess"
    assert 200 < told.dpi < 450  # 10-point matter at 300


def test_camera_has_no_resolution(notice_proof):
    told = clean_sheet(picture_of(notice_proof.image, 300.0, camera=True), 0)
    assert told.dpi_source == "guess"


@pytest.mark.parametrize("dpi", [0, -300, 30, 5000])
def test_impossible_resolution_is_refused(notice_proof, dpi):
    with pytest.raises(SettingError, match="dpi"):
        cleaned(notice_proof.image, dpi=dpi)


def test_measure_sets_the_resolution(notice_proof):
    """A newspaper column of 13 picas is 2 1/6 inches wide by the machine's pica of 1/6 inch, and
    156 × 0.013837 = 2.1586 inches by the American point (handbooks of 1902 and 1911)."""
    sheet = cleaned(notice_proof.image)
    by_slug = with_measure(sheet, 650.0, 13, pica_in=SLUG_PICA_IN)
    assert by_slug.dpi == pytest.approx(650 / (2 + 1 / 6))
    by_point = with_measure(sheet, 650.0, 13)
    assert by_point.dpi == pytest.approx(650 / 2.1586, rel=1e-4)
    assert by_point.dpi_source == "measure"
    for measure in (0, -4, 4000):
        with pytest.raises(SettingError, match="measure"):
            with_measure(sheet, 650.0, measure)
