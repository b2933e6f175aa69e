"""The test typesetter against the trade's figures and against its own picture."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from typesetter import (
    Columns,
    Head,
    Leader,
    Para,
    Rule,
    Style,
    compose,
    divisions,
    lines_of,
    photograph,
    print_proof,
    pull,
    pull_mapped,
    readings_of,
)
from typesetter.faces import family

PT_PER_IN = 72.27  # American point of 0.013837 in (De Vinne; type founders' agreement of 1886)

PROSE = (
    "The carpenter renewed the planks of the foot-bridge, beginning at the downstream end, while "
    "the schoolmaster measured the depth of the water with an umbrella and reported considerable "
    "satisfaction; whereupon the ferryman, who had not been consulted, affirmed that the official "
    "figures were insufficient, and that difficulties of this description always followed "
    "improvements. Nevertheless the afternoon passed without disagreement—the planks were fitted, "
    "and the children crossed."
)


@pytest.fixture(scope="module")
def forme():
    return compose([Para(PROSE), Para(PROSE)], measure_picas=18, style=Style(body_pt=10))


@pytest.fixture(scope="module")
def proof(forme):
    return print_proof(forme)


@pytest.mark.parametrize(
    ("name", "alphabet_pt"), [("schola", 135.4), ("old-standard", 125.9), ("goudy", 113.6)]
)
def test_alphabet_length_of_the_faces(name, alphabet_pt):
    # Lower-case alphabet lengths at 10 pt as measured from the Debian packages of these faces
    # by another program, for copyfitting.
    letters = "abcdefghijklmnopqrstuvwxyz"
    length = sum(family(name).roman.glyph(c).advance_em for c in letters) * 10
    assert length == pytest.approx(alphabet_pt, abs=0.6)


def test_lines_stand_body_and_lead_apart(proof):
    bases = np.array([line.baseline_y for line in proof.lines])
    assert np.allclose(np.diff(bases), 12 * 300 / PT_PER_IN, atol=1e-6)


def test_full_lines_fill_the_measure_and_their_bands_keep_the_wedges_range(forme, proof):
    measure_px = 18 / 6 * 300  # slug length: 6 picas to the inch
    wide = 0
    for slug, line in zip(forme.slugs, proof.lines, strict=True):
        if not slug.full:
            continue
        right = line.measure_px[0] + measure_px
        # A letter's side bearing, or the kern of an f, is all that may differ.
        assert line.box[0] + line.box[2] == pytest.approx(right, abs=5.0)
        widths = [s.width_pt / PT_PER_IN for s in slug.sorts if s.band]
        assert min(widths) >= 0.0375 - 1e-9
        wide += max(widths) > 0.1035
    # Past the wedges only where even a division did not help, and a hand put spaces in.
    assert wide <= 2


def test_the_proof_holds_the_copy(forme, proof):
    text = "".join(
        line.text[:-1] if line.ends_with_division else line.text + " " for line in proof.lines
    )
    assert text.replace("— ", "—").replace("foot- ", "foot-").split() == forme.copy.split()
    for line in proof.lines:
        for item in line.letters:
            if item.copy >= 0 and item.text != " ":
                assert forme.copy[item.copy] == item.text


def test_divisions_keep_two_before_and_three_after_and_never_run_to_three(forme):
    assert divisions("hospital,") == [3]
    assert divisions("only") == []
    running = 0
    seen = 0
    for slug in forme.slugs:
        running = running + 1 if slug.division else 0
        seen += slug.division
        assert running <= 2
    assert seen >= 1


def test_ligatures_are_the_faces_own(forme):
    cast = {s.text for slug in forme.slugs for s in slug.sorts if len(s.text) > 1}
    assert {"fi", "ffi"} <= cast
    spaced = compose([Head("official figures", letterspace_pt=2.0)], measure_picas=30)
    assert all(len(s.text) == 1 for s in spaced.slugs[0].sorts)


def test_letters_lie_in_their_boxes_and_nothing_lies_outside(proof):
    ink = proof.image < 128
    covered = np.zeros_like(ink)
    for line in proof.lines:
        for item in line.letters:
            if item.text == " ":
                continue
            x, y, width, height = item.box
            x0, y0 = int(np.floor(x)) - 1, int(np.floor(y)) - 1
            x1, y1 = int(np.ceil(x + width)) + 1, int(np.ceil(y + height)) + 1
            assert ink[y0:y1, x0:x1].any()
            covered[y0:y1, x0:x1] = True
    assert not (ink & ~covered).any()


def test_the_same_letter_falls_differently_on_the_pixels(proof):
    shapes = set()
    for line in proof.lines:
        for item in line.letters:
            if item.text == "e" and item.sort.style == "roman":
                x, y, width, height = (round(v) for v in item.box)
                shapes.add(proof.image[y : y + height, x : x + width].tobytes())
    assert len(shapes) > 20


def test_columns_are_numbered_left_then_right():
    left = (Leader("Garden twine", "4d."), Leader("Nails, cut", "3¼d."))
    right = (Leader("Spade, strapped", "4s. 4d."),)
    blocks = [Head("PRICES"), Rule(), Columns(left, right), Head("Terms: ready money")]
    proof = print_proof(compose(blocks, measure_picas=30))
    texts = [line.text.replace(".", "").split()[0] for line in proof.lines]
    assert texts == ["PRICES", "Garden", "Nails,", "Spade,", "Terms:"]
    assert [line.column for line in proof.lines] == [0, 0, 0, 1, 0]
    garden, nails, spade = proof.lines[1:4]
    assert garden.baseline_y == pytest.approx(spade.baseline_y)
    # Figures end on one edge.
    assert garden.box[0] + garden.box[2] == pytest.approx(nails.box[0] + nails.box[2], abs=0.5)


def test_readings_and_lines_are_the_truth(proof):
    readings, lines = readings_of(proof), lines_of(proof)
    assert [r.text for r in readings] == [line.text for line in proof.lines]
    assert [line.number for line in lines] == list(range(1, len(lines) + 1))
    x_height = family("schola").roman.height_em("x") * 10 * 300 / PT_PER_IN
    assert lines[0].x_height_px == pytest.approx(x_height)


@pytest.mark.parametrize("wear", ["clean", "good", "worn"])
def test_a_pull_is_worn_alike_from_the_same_seed_and_stays_in_place(proof, wear):
    crop = proof.image[:400]
    small = type(proof)(crop, (), proof.dpi, "", ())
    image, matrix = pull_mapped(small, wear, seed=3)
    assert image.shape == crop.shape
    assert np.array_equal(image, pull(small, wear, seed=3))
    assert not np.array_equal(image, pull(small, wear, seed=4))
    back = cv2.warpPerspective(image, np.linalg.inv(matrix), crop.shape[::-1], borderValue=255)
    strong = crop < 20
    # The type's own ink prints; far from type the paper stays white.
    assert (back[strong] < 150).mean() > 0.97
    white = cv2.erode((crop > 250).astype(np.uint8), np.ones((9, 9))).astype(bool)
    assert (back[20:-20][white[20:-20]] > 180).mean() > 0.995


def test_a_photograph_shows_the_sheet_where_its_matrix_says(proof):
    picture = photograph(pull(proof, "clean", seed=1), seed=5, width_px=900)
    height, width = proof.image.shape
    inside = np.array([[[40.0, 40.0]], [[width - 40.0, height - 40.0]]])
    outside = np.array([[[-30.0, -30.0]], [[width + 30.0, height + 30.0]]])
    grey = cv2.cvtColor(picture.image, cv2.COLOR_BGR2GRAY)

    def levels(points):
        spots = cv2.perspectiveTransform(points, picture.to_photo)[:, 0]
        return [int(grey[round(y), round(x)]) for x, y in spots]

    assert min(levels(inside)) > max(levels(outside)) + 40
