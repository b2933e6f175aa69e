"""O or nought by its shape, an old-style nought by its height, stems by those of their own size.

Oracle: the typesetter's own faces, of which it knows which letter it printed.
"""

from __future__ import annotations

import numpy as np
import pytest
from test_ink import sheet_of
from typesetter import Head, Style, compose, print_proof

from proofcheck.base.found import Difference
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Letter, Line, Reading, Span
from proofcheck.weigh.evidence import Dispute
from proofcheck.weigh.fellows import Fellows, Says
from proofcheck.weigh.heights import Heights
from proofcheck.weigh.ring_shapes import is_common_nought, is_of_kind, ring_among, ring_of

FACES = ["schola", "old-standard"]
"""Faces of lining figures; the nought of the third face is of old style."""


def set_line(text, face, body_pt=24.0):
    """The letters of one line as they were printed, spaces and all."""
    proof = print_proof(compose([Head(text, body_pt, 2)], style=Style(face, 10, 2)))
    boxes = [Box(*(round(side) for side in letter.box)) for letter in proof.lines[0].letters]
    assert len(boxes) == len(text)
    return [Letter(char, box, 0.9) for char, box in zip(text, boxes, strict=True)]


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize("text", ["2O to 58 COD", "COD 80", "DOG 1O 28", "L0NDON"])
def test_a_ring_is_known_by_its_width_or_not_at_all(face, text):
    letters = set_line(text, face)
    told = [ring_of(letters, at) for at, char in enumerate(text) if char in "O0"]
    true = [char for char in text if char in "O0"]
    assert all(said in ("", is_) for said, is_ in zip(told, true, strict=True)), told
    assert any(told), told


@pytest.mark.parametrize("face", FACES)
def test_a_ring_among_the_wrong_kind_is_not_taken_for_one_of_them(face):
    figure, capital = set_line("L0NDON", face), set_line("25O38", face)
    assert ring_of(figure, 1) != "O"
    assert ring_of(capital, 2) != "0"


@pytest.mark.parametrize("face", FACES)
def test_a_ring_with_none_of_the_other_kind_beside_it_is_left_open(face):
    letters = set_line("GOOD LONDON", face)
    assert not any(ring_of(letters, at) for at in (1, 2, 6, 9))


def boxes(text, face, chars):
    return [each.box for each in set_line(text, face) if each.text in chars]


@pytest.mark.parametrize("face", FACES)
def test_a_ring_is_told_beside_the_figures_and_capitals_of_all_lines(face):
    figures, capitals = boxes("235 689", face, "235689"), boxes("CODED GOOD", face, "CDGO")
    nought, capital = boxes("0", face, "0")[0], boxes("O", face, "O")[0]
    assert ring_among(nought, figures, capitals) in ("", "0")
    assert ring_among(capital, figures, capitals) in ("", "O")
    assert "" in {ring_among(nought, figures[:2], capitals), ring_among(nought, figures, [])}
    assert ring_among(nought, figures, capitals) or ring_among(capital, figures, capitals)


@pytest.mark.parametrize("face", FACES)
def test_noughts_all_read_as_capitals_are_noughts_and_an_o_among_them_is_none(face):
    noughts, figures = boxes("0 00 000 0", face, "0"), boxes("235 689", face, "235689")
    capital = boxes("O", face, "O")[0]
    assert is_common_nought(noughts[0], noughts[1:], figures, [])
    assert not is_common_nought(capital, noughts, figures, [])
    assert not is_common_nought(noughts[0], noughts[1:4], figures, []), "few may be chance"
    # The sheet has such an O without doubt: nothing is said.
    assert not is_common_nought(noughts[0], noughts[1:], figures, [noughts[0]])


@pytest.mark.parametrize("face", FACES)
def test_capitals_in_place_of_every_nought_are_no_noughts(face):
    capitals, figures = boxes("O OO OOO O", face, "O"), boxes("235 689", face, "235689")
    assert not is_common_nought(capitals[0], capitals[1:], figures, [])


@pytest.mark.parametrize("face", FACES)
def test_a_ring_is_one_of_the_kind_that_the_sheet_has_if_it_is_as_wide(face):
    noughts = [each.box for each in set_line("100 20 50 10", face) if each.text == "0"]
    capitals = [each.box for each in set_line("LOOK OUT", face) if each.text == "O"]
    nought, capital = set_line("50", face)[1].box, set_line("5O", face)[1].box
    assert is_of_kind(nought, noughts, capitals)
    assert is_of_kind(nought, noughts, [])
    assert not is_of_kind(capital, noughts, [])
    assert not is_of_kind(capital, noughts, capitals)
    assert not is_of_kind(nought, noughts[:2], [])
    assert not is_of_kind(nought, noughts, [nought])


def in_number(text, face, printed):
    """What is said of the ring of a number that was read as o where the copy has a nought."""
    letters = set_line(printed, face)
    at = text.index("o")
    letters[at] = Letter("o", letters[at].box, 0.9)
    box = letters[at].box
    line = Line(1, 0, 0, Box(0, 0, 400, 80), (float(box.bottom),) * 2, 0.7 * box.height, 10.0)
    reading = Reading(1, tuple(letters))
    copy = text.replace("o", "0")
    difference = Difference(Kind.WRONG_LETTER, 1, Span(at, at + 1), "o", Span(at, at + 1), "0")
    told = Dispute(difference, None, line, reading, text, copy, Span(at, at + 1))
    return Heights([line], [reading]).of_nought(told)


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize("number", ["19o4", "38o", "o73"])
def test_a_ring_as_high_as_the_lining_figures_of_its_number_is_a_nought(face, number):
    assert in_number(number, face, number.replace("o", "0")) is Says.COPY
    assert in_number(number, face, number) is not Says.COPY


@pytest.mark.parametrize("number", ["19o4", "38o", "o73", "1o2", "21o"])
def test_beside_old_style_figures_no_height_makes_a_nought(number):
    assert in_number(number, "goudy", number) is not Says.COPY


def test_an_old_style_nought_is_no_capital():
    letters = set_line("L0NDON", "goudy")
    assert ring_of(letters, 1) == ""


def dispute(read, wanted, height):
    """A letter read as another, so high, in a line of x-height 20."""
    line = Line(1, 0, 0, Box(0, 0, 100, 40), (30.0, 30.0), 20.0, 10.0)
    reading = Reading(1, (Letter(read, Box(10, 30 - height, 18, height), 0.9),))
    kind = Kind.WRONG_LETTER
    difference = Difference(kind, 1, Span(0, 1), read, Span(0, 1), wanted)
    return line, Dispute(difference, None, line, reading, read, wanted, Span(0, 1))


def said_of_nought(read, wanted, height, *, nought_px=24, ring_px=21):
    line, asked = dispute(read, wanted, height)
    held = "".join(("1" * 4, "o" * 8))
    tall = [nought_px if char == "1" else ring_px for char in held]
    letters = [
        Letter(char, Box(20 * k, 30 - high, 15, high), 1.0)
        for k, (char, high) in enumerate(zip(held, tall, strict=True))
    ]
    return Heights([line], [Reading(1, tuple(letters))]).of_nought(asked)


def test_an_old_style_nought_is_as_tall_as_its_figures_and_no_o():
    assert said_of_nought("o", "0", 24) is Says.COPY
    assert said_of_nought("0", "o", 21) is Says.COPY
    # An o set for a nought, and the other way about.
    assert said_of_nought("o", "0", 21) is Says.NOTHING
    assert said_of_nought("0", "o", 24) is Says.NOTHING
    # Where both are of one height, and in lining figures, nothing is said.
    assert said_of_nought("o", "0", 21, nought_px=21) is Says.NOTHING
    assert said_of_nought("o", "0", 21, nought_px=31) is Says.NOTHING


def test_letters_of_another_size_do_not_speak_for_a_stem():
    """Laid beside a few of the head, a stem is nearest to whatever stands in its own size."""
    image = np.full((200, 700), 255, np.uint8)
    small = [Box(20 + 25 * k, 140, 4, 30) for k in range(8)]
    large = [Box(20 + 60 * k, 20, 12, 60) for k in range(4)]
    for box in (*small, *large):
        image[box.y : box.bottom, box.x : box.right] = 0
    image[22:30, 14:40] = 0
    head = Line(1, 0, 0, Box(10, 20, 400, 60), (80.0, 80.0), 42.0, 24.0)
    note = Line(2, 0, 0, Box(10, 140, 400, 30), (170.0, 170.0), 20.0, 9.0)
    readings = [
        Reading(1, tuple(Letter("I", box, 1.0) for box in large)),
        Reading(2, tuple(Letter("l", box, 1.0) for box in small)),
    ]
    fellows = Fellows([sheet_of(image)], [head, note], readings, [])
    assert fellows.says(2, small[3], "l", "I") is not Says.READING
