"""A letter of another fount is told by the letters beside it, where it has no fellows.

Oracle: the typesetter knows of which face it set each letter. That one letter of another face in a
line is a fault, and a word in another face a change of type that the copy may want: `common
practice`. The cards are invented.
"""

from __future__ import annotations

import shutil
from dataclasses import replace

import numpy as np
import pytest
from metal_cases import findings, matter_of, prose_forme
from typesetter import Head, compose, wrong_font
from typesetter.faults import broken_letter

from proofcheck.base.errors import WeightsError
from proofcheck.base.kinds import Kind
from proofcheck.metal.by_line import NOT_ASKED, OWN_LINE_NETWORK, by_line
from proofcheck.metal.in_line import FEW_LETTERS, rows_asked
from proofcheck.metal.judged import judge
from proofcheck.metal.type_network import open_type_network
from proofcheck.metal.wrongfont import MANY_INITIALS

OF_LETTERS = {Kind.WRONG_FONT, Kind.BROKEN_LETTER}
CARD = (
    Head("GRAND HARVEST SUPPER", 18, family="schola"),
    Head("Mill Meadow, by the Ferry", 13, family="goudy", style="italic"),
    Head("TICKETS SIXPENCE", 14, family="old-standard"),
    Head("Doors open at seven o’clock", 11, family="goudy"),
    Head("Brass Band and Dancing", 12, family="schola", style="bold"),
)


def card(*heads):
    return compose(heads or CARD, measure_picas=24)


def told(forme):
    found = [one for one in findings(forme) if one.kind in OF_LETTERS]
    return [(one.line, one.kind, one.copy_text) for one in found]


def test_nothing_is_told_of_a_card_each_line_of_which_is_of_another_face():
    assert told(card()) == []


@pytest.mark.parametrize(
    ("line", "word", "letter", "other", "style"),
    [
        (1, "HARVEST", 0, "schola", "bold"),
        (1, "SUPPER", 2, "goudy", "italic"),
        (2, "Meadow", 2, "schola", "bold"),
        (3, "TICKETS", 2, "schola", "bold"),
        (4, "seven", 3, "schola", "bold"),
        (5, "Dancing", 2, "goudy", "italic"),
    ],
)
def test_one_letter_of_another_face_is_told_and_no_other(line, word, letter, other, style):
    faulty = wrong_font(card(), line, word, letter=letter, other=other, style=style)
    assert told(faulty) == [(line, Kind.WRONG_FONT, word[letter])]


def test_a_word_in_another_face_is_a_change_of_type():
    forme = card()
    for letter in range(len("HARVEST")):
        forme = wrong_font(forme, 1, "HARVEST", letter=letter, other="goudy", style="italic")
    assert told(forme) == []


def test_a_broken_capital_without_fellows_is_told():
    faulty = broken_letter(card(), 3, "TICKETS", letter=3, seed=4)
    assert told(faulty) == [(3, Kind.BROKEN_LETTER, "K")]


def test_a_figure_that_stands_alone_may_be_of_any_face():
    # The number of a ticket, or a folio, is often of a fount of its own: `common practice`.
    heads = (Head("ADMIT BEARER TO ROW 7", 16, family="schola"), *CARD[1:])
    forme = wrong_font(card(*heads), 1, "7", other="goudy", style="italic")
    assert told(forme) == []
    forme = wrong_font(card(*heads), 1, "ADMIT", letter=1, other="goudy", style="italic")
    assert told(forme) == [(1, Kind.WRONG_FONT, "D")]


def test_of_a_long_proof_the_heads_in_capitals_are_asked_alone():
    short, long = matter_of(card()), matter_of(prose_forme())
    assert rows_asked(short) == list(range(len(CARD)))
    assert len(long.fount.text) <= FEW_LETTERS
    many = replace(long.fount, text=np.repeat(long.fount.text, 2))
    assert rows_asked(replace(long, fount=many)) == []


def test_every_letter_and_figure_of_a_long_line_has_something_said_of_it():
    matter = matter_of(card(Head("the miller ground corn for eleven farms in the year 1908", 8)))
    said = by_line(matter, [0])
    letters = np.array([text.isalnum() for text in matter.fount.text.tolist()])
    assert letters.sum() > 24, "more than are seen together"
    assert (said.other[letters & matter.cut_true] > NOT_ASKED).all()
    assert (said.other[~letters] == NOT_ASKED).all()


def test_of_a_line_of_three_letters_nothing_is_said():
    matter = matter_of(card(Head("1s. 6", 12), *CARD))
    assert (by_line(matter, [0]).other == NOT_ASKED).all()


def test_what_the_fellows_say_holds_where_the_proof_is_of_one_face():
    judged = judge(matter_of(prose_forme()))
    text = judged.matter.fount.text.tolist()
    small = np.array([each.islower() for each in text])
    assert not judged.by_line[small & judged.matter.running[judged.matter.fount.line]].any()


def test_weights_are_held_against_their_checksum(tmp_path):
    damaged = tmp_path / OWN_LINE_NETWORK.name
    shutil.copy(OWN_LINE_NETWORK.with_suffix(".json"), damaged.with_suffix(".json"))
    damaged.write_bytes(OWN_LINE_NETWORK.read_bytes()[:-1] + b"\0\0")
    with pytest.raises(WeightsError, match=r"looking at the type are damaged .*SHA-256"):
        open_type_network(damaged)
    with pytest.raises(WeightsError, match="looking at the type"):
        open_type_network(tmp_path / "none.onnx")


def test_initials_of_another_face_that_begin_many_lines_are_asked_about_once():
    """So an index is set; two such letters are two letters of another fount."""
    towns = ["Ashwater fourteen", "Bridestow forty", "Corsley eleven", "Denbury seventeen"]
    forme = card(*(Head(town, 12, family="schola") for town in towns))
    for line, town in enumerate(towns[:2], 1):
        forme = wrong_font(forme, line, town.split()[0], letter=0, other="goudy", style="bold")
    assert told(forme) == [(1, Kind.WRONG_FONT, "A"), (2, Kind.WRONG_FONT, "B")]
    forme = wrong_font(forme, MANY_INITIALS, "Corsley", letter=0, other="goudy", style="bold")
    (one,) = (one for one in findings(forme) if one.kind in OF_LETTERS)
    assert (one.line, one.other_lines, one.only_query) == (1, (2, 3), True)
    assert one.words == "wrong font: so begin 3 lines"
