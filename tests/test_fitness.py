"""Which sheets are refused, and why: proofs spoilt step by step, and pictures of other things.

The reasons are those for which readers refuse proofs (over-inked, pale, smeared, short of margin:
common practice of proof rooms) and what a scan can add (blank, out of focus, too coarse).
"""

from __future__ import annotations

import re
from dataclasses import replace
from textwrap import wrap

import cv2
import numpy as np
import pytest
from typesetter import PRESETS, Head, Leader, Para, Style, compose, photograph, print_proof, pull

from proofcheck.base.errors import ScanError, SheetUnfitError
from proofcheck.base.values import Scan
from proofcheck.sheet.clean import clean_sheet
from proofcheck.sheet.fitness import check_fit
from proofcheck.sheet.lines import find_lines
from proofcheck.sheet.scans import Picture

TEXT = (
    "The band will play in the meadow behind the mill on Saturday, the fourth of July, at half "
    "past three, wet or fine; chairs are found by the committee, and those who bring their own "
    "are asked to carry them home. Tea and buns may be had of the school at a reasonable price, "
    "and the children's races begin as soon as the last march has been played."
)


def judged(image, dpi=300.0):
    """None for a sheet that passes, or the refusal."""
    height, width = image.shape[:2]
    sheet = clean_sheet(Picture(Scan("proof.png", 0, "", width, height), image, dpi), 0)
    try:
        check_fit(sheet, find_lines(sheet))
    except SheetUnfitError as error:
        return error
    return None


def refused(image, words, dpi=300.0):
    error = judged(image, dpi)
    assert error is not None, f"passed, should be {words}"
    assert re.search(words, str(error)), str(error)
    assert str(error).startswith("proof.png: ")
    assert "\n" not in str(error)
    assert error.measured in str(error)
    assert error.needed in str(error)
    assert error.measured
    assert error.needed
    return error


@pytest.fixture(scope="module")
def proof():
    return print_proof(
        compose(
            [Head("SUMMER CONCERT", 14), Para(TEXT), Para(TEXT)], measure_picas=20, style=Style()
        )
    )


@pytest.fixture(scope="module")
def page(proof):
    """A clean pull, its x-height about 19 px."""
    return pull(proof, "clean", 1)


@pytest.fixture(scope="module")
def x_height(proof):
    return float(np.median([line.x_height_px for line in proof.lines]))


def blurred(image, sigma):
    noise = np.random.default_rng(0).normal(0, 2, image.shape)
    soft = cv2.GaussianBlur(image.astype(np.float32), (0, 0), sigma)
    return np.clip(soft + noise, 0, 255).astype(np.uint8)


def moved(image, length, angle_deg):
    size = 2 * round(length / 2) + 1
    kernel = np.zeros((size, size), np.float32)
    reach = np.array([np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))]) * size / 2
    middle = np.array([size // 2, size // 2])
    ends = [tuple(int(v) for v in np.round(middle + s * reach)) for s in (-1, 1)]
    cv2.line(kernel, ends[0], ends[1], 1.0, 1, cv2.LINE_AA)
    noise = np.random.default_rng(0).normal(0, 2, image.shape)
    soft = cv2.filter2D(image.astype(np.float32), -1, kernel / kernel.sum())
    return np.clip(soft + noise, 0, 255).astype(np.uint8)


# ------------------------------------------------------------------ what passes


@pytest.mark.parametrize("wear", sorted(PRESETS))
def test_pulled_proofs_pass(proof, wear):
    assert judged(pull(proof, wear, 5)) is None


def test_a_perfect_picture_and_a_bilevel_one_pass(proof, page):
    assert judged(proof.image) is None
    assert judged(np.where(page < 128, 0, 255).astype(np.uint8)) is None


@pytest.mark.parametrize(
    "style",
    [{"family": "goudy"}, {"family": "old-standard"}, {"body_pt": 8.0}, {"body_pt": 18.0}],
    ids=lambda style: str(*style.values()),
)
def test_other_faces_and_sizes_pass(style):
    proof = print_proof(compose([Para(TEXT)], measure_picas=24, style=Style(**style)))
    assert judged(pull(proof, "good", 2)) is None


def test_a_sheet_of_capitals_passes():
    heads = [Head(words, 18) for words in ("GRAND SUMMER CONCERT", "IN THE MILL MEADOW", "TEA")]
    assert judged(print_proof(compose(heads, measure_picas=24)).image) is None


def test_one_line_passes(proof, page):
    x, y, width, height = (round(v) for v in proof.lines[2].box)
    alone = np.full((height + 400, width + 300), 250, np.uint8)
    alone[200 : 200 + height + 8, 150 : 150 + width] = page[y - 4 : y + height + 4, x : x + width]
    assert judged(alone) is None


def test_a_phone_picture_passes(proof):
    photo = photograph(pull(proof, "good", 3), seed=3, width_px=2000)
    assert judged(photo.image[:, :, ::-1].copy(), 72.0) is None


def test_type_that_just_clears_the_edge_passes(proof, page):
    left = min(line.box[0] for line in proof.lines)
    right = max(line.box[0] + line.box[2] for line in proof.lines)
    assert judged(np.ascontiguousarray(page[:, round(left) - 6 : round(right) + 6])) is None


# ------------------------------------------------------------------ what is refused


def test_blank(page):
    refused(np.full((900, 700), 255, np.uint8), "blank")
    grain = np.random.default_rng(0).normal(235, 3, page.shape)
    refused(np.clip(grain, 0, 255).astype(np.uint8), "blank")


@pytest.mark.parametrize("share", [0.2, 0.15, 0.1])
def test_pale(page, share):
    faded = 240 - (255 - page.astype(np.float32)) * share
    grain = np.random.default_rng(0).normal(0, 2, page.shape)
    refused(np.clip(faded + grain, 0, 255).astype(np.uint8), "too pale")


def mostly_white(share, specks):
    """Rows of a table with little but white in them, pale, and dirt among them."""
    image = print_proof(compose([Head("Ewell", 10, 6, align="left")] * 4, measure_picas=6)).image
    price = print_proof(compose([Head("6d.", 10, 6, align="right")] * 4, measure_picas=4)).image
    between = np.full((len(image), 1500), 255, np.uint8)
    table = np.hstack([image, between, price])
    grey = 240 - (255 - table.astype(np.float32)) * share
    rng = np.random.default_rng(3)
    for y, x in zip(rng.integers(60, 250, specks), rng.integers(500, 1700, specks), strict=True):
        grey[y : y + 2, x : x + 2] = 0
    return np.clip(grey + rng.normal(0, 2, grey.shape), 0, 255).astype(np.uint8)


def test_rows_that_are_mostly_white_are_as_dark_as_their_ink():
    assert judged(mostly_white(0.9, specks=0)) is None
    refused(mostly_white(0.15, specks=12), "too pale|no lines|blank")


@pytest.mark.parametrize("share", [0.4, 0.6])
def test_light_but_legible_passes(page, share):
    faded = 240 - (255 - page.astype(np.float32)) * share
    assert judged(faded.astype(np.uint8)) is None


@pytest.mark.parametrize("share", [0.05, 0.1])
def test_a_little_blur_passes(page, x_height, share):
    assert judged(blurred(page, share * x_height)) is None


@pytest.mark.parametrize("share", [0.22, 0.3])
def test_out_of_focus(page, x_height, share):
    refused(blurred(page, share * x_height), "out of focus")


@pytest.mark.parametrize("angle", [0, 45, 90])
def test_moved_while_taken(page, x_height, angle):
    refused(moved(page, 0.8 * x_height, angle), "smeared|run together")


@pytest.mark.parametrize("angle", [0, 90])
def test_a_slight_movement_passes(page, x_height, angle):
    assert judged(moved(page, 0.15 * x_height, angle)) is None


def test_a_script_that_leans_far_is_not_smeared():
    """Its strokes all lie one way, as if edges across them were wiped out; they are sharp."""
    heads = [Head(text, 12, 6, style="italic") for text in wrap(TEXT, 40)[:5]]
    proof = print_proof(compose(heads, measure_picas=40, style=Style(family="old-standard")))
    sheet = np.full_like(proof.image, 255)
    for line in proof.lines:
        band = slice(round(line.baseline_y) - 40, round(line.baseline_y) + 20)
        lean = np.array([[1, -0.9, 0.9 * 40], [0, 1, 0]])
        size = proof.image.shape[1], 60
        sheet[band] = cv2.warpAffine(proof.image[band], lean, size, borderValue=255)
    once = pull(replace(proof, image=sheet), "good", 3)
    worn = pull(replace(proof, image=once), "worn", 3)
    assert judged(worn) is None


def test_over_inked(page, x_height):
    size = round(0.34 * x_height) | 1
    swollen = cv2.erode(page, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size)))
    refused(swollen, "over-inked|run together")


@pytest.mark.parametrize("x_height_px", [5, 6.5])
def test_too_coarse(page, x_height, x_height_px):
    share = x_height_px / x_height
    small = cv2.resize(page, None, fx=share, fy=share, interpolation=cv2.INTER_AREA)
    error = refused(small, "too coarse", dpi=300 * share)
    assert float(error.measured.split()[1]) == pytest.approx(x_height_px, abs=1.0)
    assert "scan at 200 dpi" in error.needed


def test_coarse_but_legible_passes(page, x_height):
    share = 10 / x_height
    small = cv2.resize(page, None, fx=share, fy=share, interpolation=cv2.INTER_AREA)
    assert judged(small, 300 * share) is None


@pytest.mark.parametrize("side", ["left", "right", "head", "foot"])
def test_cut_off_at_the_margin(proof, page, side):
    boxes = [[round(v) for v in line.box] for line in proof.lines]
    column = boxes[3]
    cut = {
        "left": np.s_[:, column[0] + 60 :],
        "right": np.s_[:, : column[0] + column[2] - 60],
        "head": np.s_[boxes[2][1] + boxes[2][3] // 3 :],
        "foot": np.s_[: boxes[-2][1] + boxes[-2][3] // 2],
    }[side]
    refused(np.ascontiguousarray(page[cut]), f"cut off at the {side}")


def other_pictures():
    rng = np.random.default_rng(8)
    clouds = sum(
        cv2.resize(rng.normal(0, 2**k, (2**k, 2**k)).astype(np.float32), (900, 700))
        / 2**k * (40 / (k + 1))
        for k in range(1, 8)
    )  # fmt: skip
    y, x = np.mgrid[0:700, 0:900]
    rings = 127 + 100 * np.sin(np.hypot(x - 400, y - 350) / 9)
    fur = cv2.GaussianBlur(rng.normal(0, 300, (700, 900)), (0, 0), sigmaX=1, sigmaY=9) + 120
    return {"clouds": clouds + 128, "rings": rings, "fur": fur}


@pytest.mark.parametrize("what", ["clouds", "rings", "fur"])
def test_a_picture_of_something_else(what):
    picture = np.clip(other_pictures()[what], 0, 255).astype(np.uint8)
    refused(picture, "no lines of type|out of focus|smeared|broken|too coarse|cut off|run together")


def test_refusal_is_a_scan_error_with_status_two(page):
    error = judged(np.full((300, 300), 255, np.uint8))
    assert isinstance(error, ScanError)
    assert error.exit_status == 2


@pytest.mark.parametrize(
    ("family", "body_pt", "measure"),
    [("schola", 8, 38), ("goudy", 10, 26), ("old-standard", 12, 18)],
)
@pytest.mark.parametrize("wear", ["clean", "worn"])
def test_a_price_list_with_more_leader_than_letters_is_fit(family, body_pt, measure, wear):
    items = [("Ash lath", "4d."), ("Chain, yd.", "6d."), ("File", "7d."), ("Hasp", "2d.")]
    blocks = [Leader(item, price) for item, price in items]
    style = Style(family=family, body_pt=body_pt)
    image = pull(print_proof(compose(blocks, measure_picas=measure, style=style)), wear, seed=1)
    assert judged(image) is None


def test_leaders_do_not_hide_letters_that_run_together():
    items = [("Ash lath and paling", "4d."), ("Chain by the yard", "6d."), ("Gate hooks", "3d.")]
    forme = compose([Leader(item, price) for item, price in items], measure_picas=24, style=Style())
    image = pull(print_proof(forme), "good", seed=2)
    smeared = cv2.erode(image, np.ones((1, 19), np.uint8))
    refused(smeared, "run together|over-inked|out of focus|smeared|no lines")
