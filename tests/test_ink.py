"""Each letter's own ink against set matter, from centres as unsure as a reader's."""

from __future__ import annotations

import numpy as np
import pytest
from typesetter import Leader, Para, Style, compose, print_proof

from proofcheck.base.values import Scan, Sheet
from proofcheck.sheet.ink import line_ink, place_letters
from proofcheck.sheet.lines import find_lines

PROSE = (
    "“Jig!” said he; the affair of fifty flutes: joyful, minimum illicit wrath? No—it is half-"
    "past nine, and Fry’s difficult waffle will be cold."
)


def sheet_of(image, dpi=300.0):
    height, width = image.shape
    scan = Scan("proof", 0, "", width, height)
    return Sheet(image, scan, 0, dpi, "option", 0, mirrored=False, skew_deg=0.0, to_scan=np.eye(3))


def printed(*blocks, measure=20, **style):
    return print_proof(compose(list(blocks), measure_picas=measure, style=Style(**style)))


def spread(line):
    """A line's characters and their middles, ligatures as letters side by side."""
    text, middles, whole = "", [], []
    for letter in line.letters:
        x, _, width, _ = letter.box
        count = len(letter.text)
        for index, character in enumerate(letter.text):
            text += character
            middles.append(x + width * (index + 0.5) / count)
            whole.append(letter if count == 1 else None)
    return text, np.array(middles), whole


def shared(box, true):
    """Intersection over union with a true box."""
    x, y, width, height = true
    across = min(box.right, x + width) - max(box.x, x)
    down = min(box.bottom, y + height) - max(box.y, y)
    inside = max(across, 0) * max(down, 0)
    return inside / (box.width * box.height + width * height - inside)


@pytest.mark.parametrize("family", ["schola", "old-standard", "goudy"])
@pytest.mark.parametrize("unsure_px", [0, 3])
def test_letters_get_their_own_ink(family, unsure_px):
    proof = printed(Para(PROSE), family=family)
    sheet = sheet_of(proof.image)
    rng = np.random.default_rng(5)
    fits = []
    for line, true in zip(find_lines(sheet), proof.lines, strict=True):
        text, middles, whole = spread(true)
        boxes = place_letters(sheet, line, text, middles + rng.normal(0, unsure_px, len(middles)))
        assert len(boxes) == len(text)
        fits += [
            shared(box, letter.box)
            for box, letter in zip(boxes, whole, strict=True)
            if letter is not None and letter.text != " "
        ]
    # Where "f" hangs over its neighbour and touches it, a straight cut must take from one.
    assert np.mean(np.array(fits) > 0.6) > (0.98 if unsure_px == 0 else 0.95)
    assert np.median(fits) > 0.9


@pytest.mark.parametrize("family", ["schola", "goudy"])
def test_no_letter_is_boxed_by_its_dot_alone(family):
    words = "limited illicit missions in his diminished majority visited Fiji with jinni "
    proof = printed(Para(words * 2), family=family, body_pt=9)
    sheet = sheet_of(proof.image)
    rng = np.random.default_rng(8)
    for line, true in zip(find_lines(sheet), proof.lines, strict=True):
        text, middles, _ = spread(true)
        boxes = place_letters(sheet, line, text, middles + rng.normal(0, 2, len(middles)))
        low = true.baseline_y - 0.5 * line.x_height_px
        assert all(
            box.bottom > low
            for box, character in zip(boxes, text, strict=True)
            if character in "ij"
        )


def test_spaces_are_the_gaps_between_their_neighbours():
    proof = printed(Para(PROSE))
    sheet = sheet_of(proof.image)
    line, true = find_lines(sheet)[0], proof.lines[0]
    text, middles, _ = spread(true)
    boxes = place_letters(sheet, line, text, middles)
    for index, character in enumerate(text):
        if character == " ":
            assert boxes[index].x == boxes[index - 1].right
            assert boxes[index].right == boxes[index + 1].x
            assert boxes[index].width > 4


def test_touching_letters_are_parted_between_their_middles():
    proof = printed(Para("minimum illumination hum", "left", 0))
    image = proof.image.copy()
    letters = proof.lines[0].letters
    base = round(proof.lines[0].baseline_y)
    image[base - 3 : base, round(letters[0].box[0]) : round(letters[6].box[0]) + 10] = 0
    sheet = sheet_of(image)
    line = find_lines(sheet)[0]
    text, middles, whole = spread(proof.lines[0])
    boxes = place_letters(sheet, line, text, middles)
    for box, letter in list(zip(boxes, whole, strict=True))[:7]:
        x, _, width, _ = letter.box
        assert box.x == pytest.approx(x, abs=5)
        assert box.right == pytest.approx(x + width, abs=5)


def test_a_speck_over_a_letter_is_no_part_of_it():
    proof = printed(Para("moon", "left", 0))
    image = proof.image.copy()
    letter = proof.lines[0].letters[0]
    x, y = round(letter.box[0] + letter.box[2] / 2), round(letter.box[1])
    image[y - 8 : y - 4, x : x + 4] = 0
    sheet = sheet_of(image)
    text, middles, _ = spread(proof.lines[0])
    boxes = place_letters(sheet, find_lines(sheet)[0], text, middles)
    assert boxes[0].y == pytest.approx(letter.box[1], abs=1.5)


def test_line_ink_holds_the_line_and_nothing_of_its_neighbours():
    proof = printed(
        Para("jolly giddy bulky happy fifty pygmy judge, " * 5), lead_pt=0.0, measure=16
    )
    sheet = sheet_of(proof.image)
    for line, true in zip(find_lines(sheet), proof.lines, strict=True):
        ink = line_ink(sheet, line)
        base = true.baseline_y
        assert ink.pieces.y.min() > base - 2.2 * true.x_height_px
        assert ink.pieces.bottom.max() < base + 0.9 * true.x_height_px
        assert ink.mask.sum() == ink.pieces.area.sum()
        assert (np.diff(ink.pieces.x) >= 0).all()


def test_more_characters_than_ink():
    proof = printed(Para("in", "left", 0))
    sheet = sheet_of(proof.image)
    line = find_lines(sheet)[0]
    x = line.box.x
    boxes = place_letters(sheet, line, "i n , x", [x, x, x + 9, x + 9, x + 9, x + 300, x + 400])
    assert len(boxes) == 7
    assert all(box.width >= 0 and box.height >= 1 for box in boxes)
    assert place_letters(sheet, line, "", []) == ()
    assert len(place_letters(sheet, line, " ", [x])) == 1


def test_one_centre_a_character():
    proof = printed(Leader("Rake", "1s. 9d."))
    sheet = sheet_of(proof.image)
    with pytest.raises(ValueError, match="3 characters but 1 centres"):
        place_letters(sheet, find_lines(sheet)[0], "abc", [1.0])


def test_an_empty_sheet_has_no_ink():
    proof = printed(Para("in", "left", 0))
    line = find_lines(sheet_of(proof.image))[0]
    blank = sheet_of(np.full_like(proof.image, 255))
    assert len(line_ink(blank, line).pieces) == 0
    assert len(place_letters(blank, line, "in", [line.box.x, line.box.x + 9])) == 2
