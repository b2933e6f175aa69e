"""What the page says by places and sizes alone, each rule at its edge.

Letters are laid out by number on a blank sheet, or as plain bars of ink: how tall, how wide, how
far apart they are is known. Of the heights and widths themselves the modules name the source.
"""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from evenly_laid import copy_of
from metal_cases import sheet_of

from proofcheck.base.found import Difference
from proofcheck.base.kinds import KINDS, Group, Kind, of_group
from proofcheck.base.values import Box, Letter, Line, Reading, Span
from proofcheck.collate import collate
from proofcheck.weigh import second_look
from proofcheck.weigh.beyond import base_of
from proofcheck.weigh.calibration import FEATURES, Calibration, features_of
from proofcheck.weigh.dash_lengths import DashLengths
from proofcheck.weigh.dashes import is_seen
from proofcheck.weigh.discriminant import told_apart
from proofcheck.weigh.evidence import Dispute, Evidence, disputes_of
from proofcheck.weigh.fellows import Says
from proofcheck.weigh.heights import Heights
from proofcheck.weigh.overlooked import overlooked
from proofcheck.weigh.own_letters import Frame, letter_patch
from proofcheck.weigh.page_says import PageSays
from proofcheck.weigh.places import Places
from proofcheck.weigh.ring_shapes import ring_of
from proofcheck.weigh.second_look import SecondLook
from proofcheck.weigh.telling import differing, never_silent
from proofcheck.weigh.unlikeness import nearest

X = 20.0
FOOT = 128
"""The baseline of a line at the top of the sheet, pixels."""


def row(text, *, number=1, tall=None, wide=None, gaps=None, foot=FOOT, x=X, sure=0.99, left=100):
    """A line and its reading: every letter 16 wide and 20 high, 2 apart, unless said by place."""
    tall, wide, gaps = tall or {}, wide or {}, gaps or {}
    letters, at = [], left
    for k, char in enumerate(text):
        width = gaps.get(k, 12) if char == " " else wide.get(k, 16)
        high = tall.get(k, 20)
        letters.append(Letter(char, Box(at, foot - high, width, high), sure))
        at += width + (0 if char == " " else gaps.get(k, 2) if k in gaps else 2)
    box = Box.around(letter.box for letter in letters)
    return Line(number, 0, 0, box, (foot, foot), x, 10.0), Reading(number, tuple(letters))


def difference(kind, proof, read, wanted, *, line=1, copy=(0, 1)):
    return Difference(kind, line, Span(*proof), read, Span(*copy), wanted)


def blank(lines=1):
    return sheet_of(np.full((200 * lines + 200, 1400), 255, np.uint8))


def dispute(held, told, *, sheet=None):
    line, reading = held
    found = disputes_of([told], [sheet or blank()], [line], [reading])
    return found[0]


# --- where a difference stands -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "proof", "x", "width"),
    [
        (Kind.WRONG_LETTER, (1, 2), 118, 16),
        (Kind.WRONG_WORD, (0, 3), 100, 52),
        # A gap is midway between its neighbours, before the first and after the last at their edge.
        (Kind.LETTER_MISSING, (1, 1), 117, 0),
        (Kind.LETTER_MISSING, (0, 0), 100, 0),
        (Kind.LETTER_MISSING, (3, 3), 152, 0),
        (Kind.LINE_MISSING, (0, 0), 152, 0),
        (Kind.LINE_DOUBLED, (0, 3), 100, 52),
    ],
)
def test_a_difference_stands_round_its_letters_or_in_their_gap(kind, proof, x, width):
    line, reading = row("abc")
    sheet, box = Places([line], [reading]).of(difference(kind, proof, "", ""))
    assert (sheet, box.x, box.width) == (0, x, width)
    assert (box.y, box.height) == (108, 20)


def test_what_stands_on_no_line_is_at_the_head_of_the_first():
    line, reading = row("abc", number=3)
    later, more = row("abc", number=4, foot=328)
    sheet, box = Places([later, line], [more, reading]).of(
        difference(Kind.LINE_MISSING, (0, 0), "", "x", line=0)
    )
    assert (sheet, box) == (0, Box(100, 108, 0, 20))
    assert Places([], []).of(difference(Kind.LINE_MISSING, (0, 0), "", "")) == (0, Box(0, 0, 0, 0))
    empty = Line(5, 2, 0, Box(7, 8, 9, 10), (18, 18), X, 10.0)
    gap = difference(Kind.LETTER_MISSING, (0, 0), "", "x", line=5)
    assert Places([empty], [Reading(5, ())]).of(gap) == (2, Box(7, 8, 0, 10))


# --- which differences a picture can be asked of -------------------------------------------------


@pytest.mark.parametrize("kind", list(Kind))
def test_what_whole_lines_or_a_rule_settle_is_not_asked_of_the_picture(kind):
    line, reading = row("abc")
    found = disputes_of([difference(kind, (1, 2), "b", "x")], [blank()], [line], [reading])
    assert bool(found) is not KINDS[kind].by_rule
    if found:
        assert (found[0].as_read, found[0].as_copy, found[0].in_copy) == ("abc", "axc", Span(1, 2))


def test_a_difference_on_no_line_or_of_a_whole_page_is_not_asked_either():
    line, reading = row("abc")
    lost = difference(Kind.WRONG_LETTER, (1, 2), "b", "x", line=9)
    long = difference(Kind.WORD_MISSING, (3, 3), "", "x" * 2001)
    fits = difference(Kind.WORD_MISSING, (3, 3), "", "x" * 2000)
    assert list(disputes_of([lost, long, fits], [blank()], [line], [reading])) == [2]


# --- what never passes in silence ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "read", "wanted", "sure", "told"),
    [
        (Kind.WRONG_LETTER, "3", "8", 0.1, True), (Kind.WRONG_LETTER, "½", "¼", 0.1, True),
        (Kind.POINT_WRONG, ",", ".", 0.1, True), (Kind.POINT_WRONG, "-", "–", 0.1, True),
        (Kind.CASE, "a", "A", 0.1, True), (Kind.WRONG_LETTER, "l", "I", 0.1, True),
        (Kind.WRONG_LETTER, "o", "0", 0.1, True), (Kind.WRONG_LETTER, "e", "c", 0.9, False),
        (Kind.WRONG_WORD, "cat", "cap", 0.9, False), (Kind.WRONG_WORD, "ca3", "cap", 0.1, True),
        # An accent read otherwise, where the reader is sure of what it saw.
        (Kind.WRONG_LETTER, "é", "ê", 0.6, True), (Kind.WRONG_LETTER, "é", "ê", 0.4, False),
        (Kind.WRONG_LETTER, "e", "é", 0.6, True), (Kind.WRONG_LETTER, "e", "o", 0.6, False),
    ],
)  # fmt: skip
def test_what_makes_sense_either_way_is_told(kind, read, wanted, sure, told):
    held = row(f"x{read}y", sure=sure)
    asked = dispute(held, difference(kind, (1, 1 + len(read)), read, wanted))
    assert never_silent(asked) is told


@pytest.mark.parametrize(
    ("text", "at", "told"), [("ab c", 2, False), ("ab, c", 3, True), ("ab (c", 2, True)]
)
def test_a_space_is_told_where_a_point_stands_beside_it(text, at, told):
    asked = dispute(row(text), difference(Kind.SPACE_EXTRA, (at, at + 1), " ", ""))
    assert never_silent(asked) is told


@pytest.mark.parametrize(
    ("read", "wanted", "rest"),
    [("cat", "cap", ("t", "p")), ("cat", "cart", ("", "r")), ("aa", "a", ("a", "")),
     ("same", "same", ("", "")), ("", "x", ("", "x")), ("abc", "xbc", ("a", "x")),
     ("aXbYc", "aPbQc", ("XbY", "PbQ"))],
)  # fmt: skip
def test_what_two_texts_have_in_common_at_either_end_is_left_out(read, wanted, rest):
    assert differing(read, wanted) == rest


# --- gaps ----------------------------------------------------------------------------------------


def gap_says(kind, gap, others=(12, 12, 12)):
    """What the page says of a gap beside the other word spaces of its line."""
    text = "aa bb cc dd ee"
    places = [2, 5, 8, 11]
    widths = dict(zip(places, (others[0], gap, *others[1:]), strict=True))
    if kind is Kind.SPACE_MISSING:
        text = text[:5] + text[6:]
        widths = {2: others[0], 7: others[1], 10: others[2], 4: gap}
        told = difference(kind, (5, 5), "", " ")
    else:
        told = difference(kind, (5, 6), " ", "")
    held = row(text, gaps=widths)
    asked = dispute(held, told)
    return PageSays([asked.sheet], [held[0]], [held[1]], [told]).of(asked)


@pytest.mark.parametrize(("gap", "says"), [(3, Says.COPY), (5, Says.COPY), (9, Says.NOTHING)])
def test_a_gap_of_less_than_half_the_line_s_spaces_is_none(gap, says):
    # Word spaces of 14 from ink to ink: 12 and the 2 that letters stand apart.
    assert gap_says(Kind.SPACE_EXTRA, gap - 2) is says


@pytest.mark.parametrize(("gap", "says"), [(13, Says.COPY), (11, Says.COPY), (9, Says.NOTHING)])
def test_a_gap_of_three_quarters_of_the_line_s_spaces_is_one(gap, says):
    assert gap_says(Kind.SPACE_MISSING, gap) is says


def test_a_gap_at_the_end_of_a_line_or_without_others_says_nothing():
    held = row("aa bb")
    for told in (
        difference(Kind.SPACE_EXTRA, (2, 3), " ", ""),
        difference(Kind.SPACE_MISSING, (5, 5), "", " "),
        difference(Kind.SPACE_MISSING, (0, 0), "", " "),
    ):  # fmt: skip
        asked = dispute(held, told)
        assert PageSays([asked.sheet], [held[0]], [held[1]], [told]).of(asked) is Says.NOTHING


# --- heights -------------------------------------------------------------------------------------

CAPITALS = "HAND MEN"
"""Seven capitals that are plain, and a space."""


def of_case(read, wanted, high, *, capitals=28, text=CAPITALS, lift=0):
    held = row(
        f"{text} {read}", tall=dict.fromkeys(range(len(text)), capitals) | {len(text) + 1: high}
    )
    line, reading = held
    if lift:
        last = reading.letters[-1]
        moved = Letter(last.text, last.box._replace(y=last.box.y - lift), 1.0)
        reading = Reading(1, (*reading.letters[:-1], moved))
    at = len(text) + 1
    asked = dispute((line, reading), difference(Kind.CASE, (at, at + 1), read, wanted))
    return Heights([line], [reading]).of_case(asked)


@pytest.mark.parametrize(
    ("read", "wanted", "high", "says"),
    [
        ("o", "O", 28, Says.COPY), ("o", "O", 27, Says.COPY), ("o", "O", 24, Says.NOTHING),
        ("o", "O", 20, Says.NOTHING), ("O", "o", 20, Says.COPY), ("O", "o", 22, Says.COPY),
        ("O", "o", 24, Says.NOTHING), ("O", "o", 28, Says.NOTHING),
        # A d is as tall as a D: its height says nothing; nor does that of what has no such twin.
        ("d", "D", 28, Says.NOTHING), ("E", "e", 20, Says.NOTHING),
        # Not the same letter in another case.
        ("o", "C", 28, Says.NOTHING),
    ],
)  # fmt: skip
def test_case_is_told_by_the_height_of_the_capitals_beside_it(read, wanted, high, says):
    assert of_case(read, wanted, high) is says


def test_fewer_than_three_capitals_say_nothing_of_case():
    assert of_case("o", "O", 28, text="HAN") is Says.COPY
    assert of_case("o", "O", 28, text="HA") is Says.NOTHING
    # Nor does a letter that stands off the capitals' foot.
    assert of_case("o", "O", 28, lift=6) is Says.NOTHING


def of_nought(read, wanted, high, *, figures=24, rings=20, count=3):
    text = "1" * count + "o" * count + read
    tall = dict.fromkeys(range(count), figures) | dict.fromkeys(range(count, 2 * count), rings)
    held = row(text, tall=tall | {2 * count: high})
    told = difference(Kind.WRONG_LETTER, (2 * count, 2 * count + 1), read, wanted)
    return Heights([held[0]], [held[1]]).of_nought(dispute(held, told))


@pytest.mark.parametrize(
    ("read", "wanted", "high", "says"),
    [
        ("o", "0", 24, Says.COPY), ("o", "0", 20, Says.NOTHING), ("o", "0", 30, Says.NOTHING),
        ("0", "o", 24, Says.NOTHING), ("x", "0", 24, Says.NOTHING),
    ],
)  # fmt: skip
def test_an_old_style_nought_is_as_tall_as_the_low_figures(read, wanted, high, says):
    assert of_nought(read, wanted, high) is says


def test_where_figures_and_rings_are_of_one_height_or_few_nothing_is_said():
    assert of_nought("o", "0", 20, figures=20) is Says.NOTHING
    assert of_nought("o", "0", 24, count=2) is Says.NOTHING


# --- rings ---------------------------------------------------------------------------------------


def ring(text, at, widths, talls=None):
    letters = row(text, wide=widths, tall=dict.fromkeys(range(len(text)), 40) | (talls or {}))
    return ring_of(letters[1].letters, at)


@pytest.mark.parametrize(
    ("wide", "told"), [(24, "0"), (26, "0"), (40, "O"), (33, "")],
)  # fmt: skip
def test_a_ring_among_figures_and_round_capitals_is_the_one_it_is_as_wide_as(wide, told):
    # Figures .6 as wide as high, round capitals as wide as high (own table of 157 faces).
    figures = dict.fromkeys((0, 1, 2), 24)
    rounds = dict.fromkeys((3, 4, 5), 40)
    assert ring("258CGQO", 6, figures | rounds | {6: wide}) == told


def test_a_ring_lower_than_its_line_s_capitals_and_figures_is_neither():
    figures, rounds = dict.fromkeys((0, 1, 2), 24), dict.fromkeys((3, 4, 5), 40)
    assert ring("258CGQO", 6, figures | rounds | {6: 40}, {6: 30}) == ""
    assert ring("258CGQO", 6, figures | rounds | {6: 40}, {6: 38}) == "O"


@pytest.mark.parametrize(("wide", "told"), [(44, "O"), (38, ""), (34, ""), (28, "0")])
def test_without_figures_only_a_ring_wider_than_any_nought_is_a_capital(wide, told):
    assert ring("HGQO", 3, dict.fromkeys((0, 1, 2), 40) | {3: wide}) == told


@pytest.mark.parametrize(("wide", "told"), [(24, "0"), (28, ""), (26, "0"), (36, "O")])
def test_without_round_capitals_a_ring_as_wide_as_the_figures_is_a_nought(wide, told):
    # A capital must be far wider than they: one figure may be narrower than its nought.
    assert ring("2580", 3, dict.fromkeys((0, 1, 2), 25) | {3: wide}) == told


def test_a_ring_by_itself_says_nothing():
    assert ring("iO", 1, {}) == ""
    assert ring("O", 0, {}) == ""


# --- dashes --------------------------------------------------------------------------------------


def dashes(lengths, asked, *, sure=0.5, read="–", x=X):
    """What a dash may be beside others: a text of dashes with their widths, and the one asked."""
    text = "".join(char for char, _ in lengths) + read
    wide = {k: width for k, (_, width) in enumerate(lengths)} | {len(lengths): asked}
    line, reading = row(text, wide=wide, sure=sure, x=x)
    return DashLengths({1: line}, [reading]).other(1, reading.letters[-1])


HYPHENS, ENS, EMS = [("-", 10)] * 3, [("–", 20)] * 3, [("—", 40)] * 3


@pytest.mark.parametrize(
    ("read", "wide", "sure", "other"),
    [
        ("–", 20, 0.5, ""), ("–", 24, 0.5, ""), ("–", 26, 0.5, "—"), ("–", 15, 0.5, "-"),
        # As long as the next shorter dashes it is one of them, however sure the reader is.
        ("–", 11, 0.99, "-"), ("–", 12, 0.99, ""), ("—", 21, 0.99, "–"), ("—", 30, 0.99, ""),
        ("—", 30, 0.5, "–"), ("-", 13, 0.5, "–"), ("-", 13, 0.99, ""), ("-", 7, 0.5, ""),
        ("a", 13, 0.5, ""),
    ],
)  # fmt: skip
def test_a_dash_is_the_one_it_is_as_long_as(read, wide, sure, other):
    assert dashes([*HYPHENS, *ENS, *EMS], wide, sure=sure, read=read) == other


def test_few_dashes_say_nothing_of_one_the_reader_doubts():
    assert dashes([("–", 20)] * 2, 40) == "—"
    assert dashes([("–", 20)], 40) == ""


def inked(*boxes, read="a", wanted="-", place=(1, 1), text="ab", gaps=None):
    """A dispute over a sheet with black boxes on it."""
    sheet = blank()
    held = row(text, gaps=gaps or {})
    for letter in held[1].letters:
        if letter.text.isalnum():
            b = letter.box
            sheet.image[b.y : b.bottom, b.x : b.right] = 0
    for b in boxes:
        sheet.image[b.y : b.bottom, b.x : b.right] = 0
    told = difference(Kind.POINT_MISSING, place, read if place[1] > place[0] else "", wanted)
    return dispute(held, told, sheet=sheet)


@pytest.mark.parametrize(
    ("box", "seen"),
    [
        # Free between the letters, an eighth to three quarters of the x-height up.
        (Box(122, 116, 12, 3), True), (Box(122, 124, 12, 3), False), (Box(122, 106, 12, 3), False),
        # Too short for a dash, and a bar that stands up.
        (Box(126, 116, 5, 3), False), (Box(126, 112, 3, 10), False),
    ],
)  # fmt: skip
def test_ink_shaped_and_placed_as_a_dash_is_one(box, seen):
    assert is_seen(inked(box, gaps={0: 26})) is seen
    assert is_seen(inked(gaps={0: 26})) is False


def test_only_a_dash_is_looked_for_so():
    box = Box(122, 116, 12, 3)
    assert is_seen(inked(box, gaps={0: 26}, wanted="–"))
    assert not is_seen(inked(box, gaps={0: 26}, wanted=":"))
    # Where another letter or a dash was read for it, the letters say.
    assert not is_seen(inked(box, gaps={0: 26}, place=(0, 1), read="a"))


# --- a space before a point ----------------------------------------------------------------------


def spaces_told(gap, *, before_points=2, text="aa bb cc, dd ee", high=20):
    """Gaps before points told as spaces: the one in the line, others elsewhere on the page."""
    first = row(text, gaps={7: gap, 2: 12, 5: 12}, tall={7: high})
    second = row("aa, bb, cc, dd ee.", number=2, foot=328, gaps={1: before_points})
    lines, readings = [first[0], second[0]], [first[1], second[1]]
    copy = copy_of(f"{text} aa, bb, cc, dd ee.")
    collation = collate(copy, readings, lines=lines)
    assert collation.differences == ()
    page = PageSays([blank(2)], lines, readings, [])
    found = overlooked(collation, lines, readings, copy, page.fellows, None)
    return [(d.kind, d.line, d.proof.start) for d in found if d.kind is Kind.SPACE_EXTRA]


@pytest.mark.parametrize(("gap", "told"), [(2, False), (9, False), (13, True), (20, True)])
def test_a_gap_before_a_point_as_wide_as_a_word_space_is_one(gap, told):
    assert spaces_told(gap) == ([(Kind.SPACE_EXTRA, 1, 8)] if told else [])


def test_white_after_a_letter_that_is_not_whole_is_none():
    assert spaces_told(20, high=10) == []


def test_a_dispute_elsewhere_on_the_line_hides_no_other_place_and_one_beside_it_does():
    for wanted, hidden in (("aa bb cc, dd eo", False), ("aa bb co, dd ee", True)):
        line, reading = row("aa bb cc, dd ee", gaps={7: 20, 2: 12, 5: 12})
        other, more = row("aa, bb, cc, dd ee.", number=2, foot=328)
        copy = copy_of(f"{wanted} aa, bb, cc, dd ee.")
        lines, readings = [line, other], [reading, more]
        collation = collate(copy, readings, lines=lines)
        assert len(collation.differences) == 1
        page = PageSays([blank(2)], lines, readings, collation.differences)
        found = overlooked(collation, lines, readings, copy, page.fellows, None)
        spaces = [each for each in found if each.kind is Kind.SPACE_EXTRA]
        assert len(spaces) == (0 if hidden else 1), wanted
        for each in spaces:
            assert (each.proof, each.copy, each.proof_text) == (Span(8, 8), Span(8, 8), " ")
            assert each.only_query


# --- marks of quotes -----------------------------------------------------------------------------


def marks(text, at, wanted, *, drawn, gaps=None):
    """What the page says of a quote read where the copy has another, so many marks being drawn."""
    line, reading = row(text, tall=dict.fromkeys(range(len(text)), 20), gaps=gaps)
    sheet = blank()
    quotes = [letter.box for letter in reading.letters if letter.text in "'\""]
    left, right = min(box.x for box in quotes), max(box.right for box in quotes)
    for letter in reading.letters:
        if letter.text not in "'\" ":
            b = letter.box
            sheet.image[b.y : b.bottom, b.x : b.right] = 0
    for k in range(drawn):
        x = left + 2 + k * (right - left - 2) // max(drawn, 1)
        sheet.image[108:116, x : x + 3] = 0
    told = difference(Kind.POINT_WRONG, (at, at + 1), text[at], wanted)
    return PageSays([sheet], [line], [reading], [told]).of(
        dispute((line, reading), told, sheet=sheet)
    )


@pytest.mark.parametrize(("text", "at"), [("ab '", 3), ("' ab", 0), ("a ' b", 2)])
def test_a_double_quote_has_two_marks_and_a_single_one_one_wherever_it_stands(text, at):
    wide = {2: 30, 1: 30} if text[2] == " " or text[1] == " " else {}
    for drawn, said in ((1, Says.READING), (2, Says.COPY), (3, Says.NOTHING)):
        assert marks(text, at, '"', drawn=drawn, gaps=wide) is said, drawn
    double = text.replace("'", '"')
    for drawn, said in ((2, Says.READING), (1, Says.COPY), (3, Says.NOTHING)):
        assert marks(double, at, "'", drawn=drawn, gaps=wide) is said, drawn


def test_marks_of_a_run_of_quotes_are_counted_together():
    # Two single quotes for a double one have as many marks: they can't tell.
    assert marks("a '' b", 2, '"', drawn=3, gaps={1: 30, 4: 30}) is Says.COPY
    assert marks("a '' b", 2, '"', drawn=2, gaps={1: 30, 4: 30}) is Says.READING
    assert marks("a '' b", 3, '"', drawn=3, gaps={1: 30, 4: 30}) is Says.COPY
    line, reading = row("a '' b", gaps={1: 30, 4: 30})
    same = difference(Kind.POINT_WRONG, (2, 4), "''", '"')
    assert PageSays([blank()], [line], [reading], [same]).of(
        dispute((line, reading), same)
    ) is Says.NOTHING  # fmt: skip
    # Where no quote was read at all there is no run to count.
    line, reading = row("ab")
    none = difference(Kind.POINT_MISSING, (1, 1), "", "'")
    assert PageSays([blank()], [line], [reading], [none]).of(
        dispute((line, reading), none)
    ) is Says.NOTHING  # fmt: skip


def test_a_mark_may_hang_on_the_letter_beside_it_where_that_stands_close():
    # Closed up on the letter, one mark found is no proof of a single quote.
    for gap, said in ((2, Says.NOTHING), (8, Says.READING)):
        assert marks("a'", 1, '"', drawn=1, gaps={0: gap}) is said
        assert marks("'a", 0, '"', drawn=1, gaps={0: gap}) is said
        assert marks("a'", 1, '"', drawn=2, gaps={0: gap}) is Says.COPY
        # The other way about nothing can hang on a letter that makes two of one.
        assert marks('a"', 1, "'", drawn=2, gaps={0: gap}) is Says.READING


@pytest.mark.parametrize(
    ("mark", "said"),
    [((0, 8), Says.COPY), ((0, 5), Says.READING), ((0, 20), Says.READING), ((9, 8), Says.READING),
     (None, Says.READING)],
    ids=["as high as the first", "a dot", "a stem", "in the letter's far part", "none"],
)  # fmt: skip
@pytest.mark.parametrize("before", [True, False])
def test_a_second_mark_may_have_been_given_to_the_letter_beside_it(mark, said, before):
    text = "'Ba" if before else "aB'"
    line, reading = row(text, tall=dict.fromkeys(range(3), 20), gaps={0: 14, 1: 14})
    quote, (b,) = text.index("'"), [each.box for each in reading.letters if each.text == "B"]
    # The letter's box takes in 12 px beside its own ink, where the second mark is.
    near = Box(b.x - 12 * before, b.y, b.width + 12, b.height)
    at = reading.letters[quote].box.x
    boxes = {"B": near, "'": Box(at, 108, 3, 8)}
    letters = tuple(replace(each, box=boxes.get(each.text, each.box)) for each in reading.letters)
    sheet = blank()
    sheet.image[b.y : b.bottom, b.x : b.right] = 0
    sheet.image[108:116, at : at + 3] = 0
    if mark:
        off, high = mark
        x = near.x + off if before else near.right - 3 - off
        sheet.image[108 : 108 + high, x : x + 3] = 0
    told = difference(Kind.POINT_WRONG, (quote, quote + 1), "'", '"')
    reading = replace(reading, letters=letters)
    page = PageSays([sheet], [line], [reading], [told])
    assert page.of(dispute((line, reading), told, sheet=sheet)) is said


# --- evidence as numbers -------------------------------------------------------------------------


def test_evidence_is_taken_by_name_and_within_bounds():
    said = Evidence(ratio=100.0, second_look=-1.0, own_letters=0.5, certainty_read=0.7)
    held = dict(
        zip(FEATURES, features_of(difference(Kind.CASE, (0, 1), "a", "A"), said), strict=True)
    )
    assert held == pytest.approx(
        {
            "ratio": 3.0, "ratio-strong": math.tanh(5), "second-look": -1.0, "own-letters": 0.5,
            "own-letters-spoke": 1.0, "certainty-read": 0.7, "point": 0.0, "space": 0.0,
            "case": 1.0,
        }
    )  # fmt: skip
    low = features_of(difference(Kind.WRONG_LETTER, (0, 1), "a", "b"), Evidence(ratio=-100.0))
    assert low == pytest.approx((-1.0, math.tanh(-10 / 6), 0, 0, 0, 0, 0, 0, 0))
    turned = features_of(difference(Kind.TURNED_SORT, (0, 1), "a", "b"), said)
    assert turned[2] == 0.0
    for kind in Kind:
        held = features_of(difference(kind, (0, 1), "a", "b"), Evidence())
        assert held[6] == (kind in of_group(Group.POINTS))
        assert held[7] == (kind in of_group(Group.SPACES))


def test_certainty_is_the_logistic_of_what_is_weighed():
    model = Calibration(0.5, (1.0, 2.0), "")
    assert model.certainty((0.25, -0.375)) == pytest.approx(0.5)
    assert model.certainty((0.25, 0.125)) == pytest.approx(1 / (1 + math.exp(-1)))
    assert 0 < model.certainty((-1e6, 0.0)) < 1e-12
    assert Evidence().as_numbers() == {"certainty-read": 0.0}
    assert Evidence(ratio=0.0, second_look=1.0).as_numbers() == {
        "ratio": 0.0, "second-look": 1.0, "certainty-read": 0.0,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("char", "base"),
    [("é", "e"), ("Ł", "l"), ("ø", "o"), ("ı", "i"), ("đ", "d"), ("b", "b"), ("ß", "ss"),
     ("Å", "a")],
)  # fmt: skip
def test_the_plain_letter_in_an_accented_or_crossed_one(char, base):
    # Names and decompositions of the Unicode Character Database.
    assert base_of(char) == base


# --- the second look ---


@pytest.mark.parametrize(
    ("seen", "vote"),
    [("bamd", 1.0), ("band", -1.0), ("", None), ("bard", 0.0), ("barnd", -0.5), ("bamdl", 0.5)],
)
def test_the_engine_s_word_counts_for_the_reading_it_is_nearer_to(monkeypatch, seen, vote):
    # Two neighbours to either side are shown; the less it is like either, the less it says.
    asked = dispute(row("the bamd"), difference(Kind.WRONG_LETTER, (6, 7), "m", "n"))
    words = [SimpleNamespace(text=seen)] if seen else []
    monkeypatch.setattr(second_look, "find_engine", lambda: SimpleNamespace(require=lambda _: None))
    monkeypatch.setattr(second_look, "read_strips", lambda *_: [words])
    assert SecondLook().testify([asked]) == [vote]
    assert SecondLook().testify([]) == []


def test_the_engine_is_shown_the_place_with_two_letters_to_either_side(monkeypatch):
    shown = []
    monkeypatch.setattr(second_look, "find_engine", lambda: SimpleNamespace(require=lambda _: None))
    monkeypatch.setattr(
        second_look,
        "read_strips",
        lambda _, windows, __: shown.extend(windows) or [[]] * len(windows),
    )
    text = "when the bamd played on the green"
    told = difference(Kind.WRONG_LETTER, (11, 12), "m", "n")
    assert SecondLook().testify([dispute(row(text), told)]) == [None]
    # Letters 18 px apart of x-height 20, shown at 34, and 20 px of white at either end.
    assert shown[0].shape[1] == pytest.approx(4 * 18 * 34 / 20 + 40, abs=20)


# --- letters laid on one another -----------------------------------------------------------------


def test_a_letter_is_as_unlike_as_its_three_nearest_fellows_are():
    def patch(*columns):
        held = np.zeros((20, 20), np.float32)
        held[4:16, list(columns)] = 1.0
        return held

    one = patch(8, 9)
    assert nearest(one, [one]) == pytest.approx(0.0, abs=1e-6)
    # A pixel or three to the side is the same letter; half its ink is cos 45° like it.
    assert nearest(one, [patch(10, 11)]) == pytest.approx(0.0, abs=1e-6)
    half = 1 - math.sqrt(0.5)
    assert nearest(one, [patch(8)]) == pytest.approx(half, abs=1e-3)
    # The mean of the nearest three; the others are not asked.
    assert nearest(one, [patch(8)] * 5 + [one]) == pytest.approx(2 * half / 3, abs=1e-3)
    assert nearest(np.zeros((20, 20), np.float32), [one]) == 1.0
    assert nearest(one, []) == 1.0
    assert nearest(one, [np.zeros((20, 20), np.float32)]) == 1.0


def test_a_letter_is_laid_out_on_its_baseline_at_the_frame_s_x_height():
    image = np.full((200, 200), 255, np.uint8)
    image[80:100, 60:76] = 0  # The letter: 20 px, on a baseline that falls by 10 to the right.
    image[60:66, 60:76] = 0  # What stands above it.
    line = Line(1, 0, 0, Box(0, 60, 200, 60), (100 - 3.4, 100 + 6.6), X, 10.0)
    frame = Frame(height_px=56, width_px=64, x_height_px=20.0, baseline_row=38, whole_column=False)
    patch = letter_patch(image, line, Box(60, 80, 16, 20), frame)
    inked = np.argwhere(patch > 0.5)
    assert patch.shape == (56, 64)
    assert inked[:, 0].min() == pytest.approx(18, abs=1)
    assert inked[:, 0].max() == pytest.approx(37, abs=1)
    assert inked[:, 1].min() == pytest.approx(24, abs=1)
    assert inked[:, 1].max() == pytest.approx(39, abs=1)
    whole = letter_patch(image, line, Box(60, 80, 16, 20), replace(frame, whole_column=True))
    assert np.argwhere(whole > 0.5)[:, 0].min() < 5
    # Twice the x-height, half the size.
    twice = letter_patch(image, replace(line, x_height_px=40.0), Box(60, 80, 16, 20), frame)
    assert (twice > 0.5).sum() == pytest.approx((patch > 0.5).sum() / 4, rel=0.25)


# --- letters told apart --------------------------------------------------------------------------


def clouds(apart, *, count=60, seed=3, size=8):
    """Two classes of one round spread, their middles so many spreads apart along one axis."""
    rng = np.random.default_rng(seed)
    features = rng.normal(0, 1, (2 * count, size)).astype(np.float32)
    features[count:, 0] += apart
    return features, ["a"] * count + ["b"] * count


def test_a_letter_midway_leans_to_neither_and_one_in_a_class_to_that():
    features, labels = clouds(12.0)
    middle = np.zeros((3, 8), np.float32)
    middle[:, 0] = (0.0, 6.0, 12.0)
    found = told_apart(np.concatenate([features, middle]), [*labels, "", "", ""])
    leans = [found.lean(120 + k, "a", "b") for k in range(3)]
    assert [lean.at for lean in leans] == pytest.approx([-1, 0, 1], abs=0.12)
    assert (leans[1].copies, leans[1].others) == (60, 60)
    # Twelve spreads between the classes: one is a sixth of the way from -1 to 1.
    assert leans[2].from_copy == pytest.approx(12, rel=0.25)
    assert leans[2].from_other == pytest.approx(0, abs=1)
    assert leans[0].beside_copies < 1 < leans[0].beside_others
    assert (found.nearest_of(120), found.nearest_of(122)) == ("a", "b")
    every = [found.classes[k] for k in found.nearest()]
    assert every == [found.nearest_of(letter) for letter in range(123)]
    assert found.nearer(122, "a", "b") < 0.5
    assert found.nearer(120, "a", "b") > 2
    # The other way about it leans by as much.
    turned = found.lean(120, "b", "a")
    assert turned.at == pytest.approx(-leans[0].at)
    assert turned.from_other == pytest.approx(leans[0].from_copy, abs=0.01)


def test_a_letter_under_the_wrong_name_still_lies_with_its_own():
    features, labels = clouds(12.0)
    labels[0] = "b"
    found = told_apart(features, labels)
    lean = found.lean(0, "b", "a")
    assert lean.at == pytest.approx(1, abs=0.4)
    assert (lean.copies, lean.others) == (60, 59)
    assert found.nearest_of(0) == "a"
    assert found.lean(0, "a", "a") is None
    assert found.lean(0, "a", "x") is None


def test_a_dispute_holds_its_line_as_the_copy_has_it():
    line, reading = row("the bamd")
    told = difference(Kind.WRONG_LETTER, (6, 7), "m", "n")
    (found,) = disputes_of([told], [blank()], [line], [reading]).values()
    assert isinstance(found, Dispute)
    assert (found.as_read, found.as_copy, found.in_copy) == ("the bamd", "the band", Span(6, 7))
