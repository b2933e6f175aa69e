"""Bits of a picture read as letters are no foreign lines; a stray sort in the matter still is one.

Lines, readings and cuts are laid out by number.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from metal_cases import sheet_of

from proofcheck.base.found import Difference, Found, Status
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Letter, Lifted, Line, Reading, Span
from proofcheck.weigh.bits_of_cuts import BIT_OF_CUT, ORNAMENT, bits_of_cuts

CUT = Box(200, 200, 400, 300)
BARE = np.full((900, 900), 255, np.uint8)
RULES = (Box(100, 190, 6, 340), Box(100, 520, 520, 6), Box(610, 190, 6, 340), Box(590, 190, 26, 20))


def line_at(number, x, y, text, certainty, tall=30):
    box = Box(x, y, 20 * len(text), tall)
    letters = tuple(
        Letter(char, Box(x + 20 * at, y, 16, 30), certainty) for at, char in enumerate(text)
    )
    line = Line(number, 0, 0, box, (y + 30.0, y + 30.0), 20.0, 12.0)
    return line, Reading(number, letters)


def let_go(*foreign, among=(), cuts=(CUT,), lifted=(), kind=Kind.LINE_FOREIGN):
    """Numbers of the foreign lines (x, y, text, certainty) let go as bits of cuts."""
    made = [line_at(number, *each) for number, each in enumerate((*foreign, *among), 1)]
    sheet = replace(
        sheet_of(BARE), cuts=cuts, lifted=tuple(Lifted(b, BARE, "rule") for b in lifted)
    )
    found = [
        Found(
            Difference(kind, line.number, Span(0, 1), reading.text, Span(0, 0), ""),
            0, line.box, 0.95, Status.FAULT,
        )
        for line, reading in made[: len(foreign)]
    ]  # fmt: skip
    apart = bits_of_cuts(found, [sheet], [m[0] for m in made], [m[1] for m in made])
    assert {each.reason for each in apart.let_go} <= {BIT_OF_CUT, ORNAMENT}
    gone = [each.line for each in apart.let_go]
    assert sorted(gone + [each.difference.line for each in apart.found]) == [
        each.difference.line for each in found
    ]
    return gone


@pytest.mark.parametrize(
    ("text", "certainty", "gone"),
    [
        ("F", 0.99, True),
        ("i.", 0.6, True),
        ("vxill", 0.7, True),
        ("16", 0.95, False),
        ("ferry", 0.9, False),
    ],
)
def test_what_reads_in_a_cut_is_told_and_what_does_not_is_let_go(text, certainty, gone):
    assert let_go((300, 300, text, certainty)) == ([1] if gone else [])


def test_a_stray_sort_outside_the_cut_is_told():
    assert let_go((300, 560, "F", 0.9)) == []
    assert let_go((300, 300, "F", 0.9), cuts=()) == []


def test_a_stray_sort_in_matter_round_which_a_cut_goes_is_told():
    matter = [(320, 300 + 50 * row, "in the corner", 0.95) for row in range(3)]
    assert let_go((560, 300, "F", 0.9), among=matter) == []
    assert let_go((560, 300, "F", 0.9), among=[(320, 700, "in the corner", 0.95)]) == [1]


def test_bits_between_a_picture_and_the_rules_round_it_are_of_it():
    assert let_go((120, 400, "F", 0.9), lifted=RULES) == [1]
    assert let_go((120, 400, "F", 0.9)) == []
    # Type within the rules is no picture's.
    inside = [(120, 215, "ferry", 0.95)]
    assert let_go((120, 400, "F", 0.9), among=inside, lifted=RULES) == []
    assert let_go((300, 300, "F", 0.9), among=inside, lifted=RULES) == [1]


def test_a_stroke_that_reaches_into_a_cut_is_of_it():
    assert let_go((300, 175, "O", 0.99)) == [1]
    assert let_go((300, 165, "O", 0.99)) == []


@pytest.mark.parametrize(
    ("text", "tall", "gone"),
    [("†", 70, True), ("†", 50, False), ("5", 70, False), ("!", 70, False), ("††", 70, False)],
)
def test_a_cross_far_taller_than_the_type_is_an_ornament(text, tall, gone):
    matter = [(100, 500 + 50 * row, "in the corner", 0.95) for row in range(3)]
    assert let_go((300, 100, text, 0.99, tall), among=matter, cuts=()) == ([1] if gone else [])


def test_other_faults_in_a_cut_are_not_touched():
    assert let_go((300, 300, "F", 0.9), kind=Kind.WRONG_LETTER) == []
