"""Bars of ink, rules and twins put to the rules of the stone, each at its edge.

That spaces, leads and hairlines print where they stand up, that a rule is whole and joins at its
corners, and that a job several up is cast from one copy of the line is common practice. Letters
are blocks of ink laid out by number (`evenly_laid`), so that every length is known.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from evenly_laid import PITCH_PX, WIDE, judged, line_of, matter_laid

from proofcheck.base.found import Grade
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Span
from proofcheck.metal.alone import cut_alone
from proofcheck.metal.findings import MetalFinding
from proofcheck.metal.grading import graded
from proofcheck.metal.miscast import miscast_lines
from proofcheck.metal.offline import off_line_letters
from proofcheck.metal.risen import risen_spaces
from proofcheck.metal.rule_corners import corner_faults, is_joined
from proofcheck.metal.rule_faults import told_at
from proofcheck.metal.twin_bodies import apart_from_twins
from proofcheck.metal.twins import as_twins, unlike_twins
from proofcheck.metal.workup import work_ups
from proofcheck.sheet.ruling import Rule

LINE = "we saw men row over sea and see now none"
BASE = 100 + PITCH_PX + 28
"""The baseline of the second line."""
SPACE = 100 + 2 * (WIDE + 2) - 2
"""Where its first word space begins; it is 14 px wide."""


def page(*ink, texts=None, count=6, tops=None, copy=None):
    texts, tops = texts or {}, tops or {}
    rows = [
        line_of(texts.get(n, LINE), n, top=100 + (n - 1) * PITCH_PX + tops.get(n, 0))
        for n in range(1, count + 1)
    ]
    words = copy or " ".join(texts.get(n, LINE) for n in range(1, count + 1))
    return judged(matter_laid(rows, words, ink=ink))


def bar(left, high, low, wide):
    """A bar that reaches so far over and under the second line's baseline."""
    return Box(left, BASE - high, wide, high + low)


def told(found):
    return [(each.kind, each.line) for each in found]


# --- spaces and hairlines that stand up ----------------------------------------------------------


def test_letters_alone_are_no_fault():
    assert work_ups(page()) == []
    assert risen_spaces(page()) == []


@pytest.mark.parametrize(
    ("high", "low", "wide", "kind"),
    [
        # From the shoulder to the foot of the body: 1.32 x-heights over, .33 under the baseline.
        (30, 10, 6, Kind.WORK_UP), (28, 10, 6, Kind.WORK_UP), (22, 10, 6, None), (30, 5, 6, None),
        # What runs on through the line is a rule.
        (60, 10, 6, None), (30, 30, 6, None),
        # No wider than a seventh of the x-height it is a hairline.
        (30, 10, 2, Kind.HAIRLINE), (30, 10, 4, Kind.WORK_UP),
    ],
)  # fmt: skip
def test_ink_from_shoulder_to_foot_of_the_body_is_a_space_that_stands_up(high, low, wide, kind):
    found = told(work_ups(page(bar(SPACE + 4, high, low, wide))))
    assert found == ([(kind, 2)] if kind else [])


def test_a_letter_whose_own_ink_runs_so_far_is_none():
    left = 100
    for text, faults in (("(e saw men row over sea and see now none", 0), (LINE, 1)):
        found = work_ups(page(bar(left + 4, 30, 10, 6), texts={2: text}))
        assert len(found) == faults, text


@pytest.mark.parametrize(("count", "faults"), [(2, 2), (3, 0)])
def test_a_line_full_of_them_has_its_baseline_ill_found(count, faults):
    bars = [bar(SPACE + 4 + 84 * k, 30, 10, 6) for k in range(count)]
    assert len(work_ups(page(*bars))) == faults


@pytest.mark.parametrize(
    ("high", "low", "wide", "is_told"),
    [
        (20, 0, 6, True), (18, 0, 6, True), (16, 0, 6, False), (26, 4, 6, True),
        # Its foot may end a third of an x-height over the baseline, no higher.
        (25, -6, 6, True), (28, -9, 6, False),
        (20, 0, 3, True), (20, 0, 2, False),
        # A body is two and a half x-heights high at most; a rule between two cells is higher.
        (36, 16, 6, True), (42, 18, 6, False),
    ],
)  # fmt: skip
def test_a_plain_bar_in_a_word_space_is_a_space_that_prints(high, low, wide, is_told):
    found = told(risen_spaces(page(bar(SPACE + 4, high, low, wide))))
    assert found == ([(Kind.WORK_UP, 2)] if is_told else [])


def test_a_bar_with_a_head_or_a_foot_of_its_own_is_no_space():
    stem = bar(SPACE + 5, 22, 0, 4)
    for serif in (Box(SPACE + 2, BASE - 4, 10, 4), Box(SPACE + 2, BASE - 22, 10, 4)):
        assert risen_spaces(page(stem, serif)) == []


def test_the_side_of_a_box_round_a_word_is_no_space():
    high, low, wide = 30, 10, 4
    side = bar(SPACE + 5, high, low, wide)
    over, under = (Box(SPACE + 5, y, 60, 4) for y in (side.y, side.bottom - 4))
    assert told(risen_spaces(page(side))) == [(Kind.WORK_UP, 2)]
    assert risen_spaces(page(side, over, under)) == []
    # A stroke at one end alone is none.
    assert told(risen_spaces(page(side, over))) == [(Kind.WORK_UP, 2)]


@pytest.mark.parametrize(("count", "faults"), [(3, 3), (4, 0)])
def test_more_than_three_bars_in_a_line_are_no_spaces(count, faults):
    text = "we so me no as is it on"
    bars = [bar(SPACE + 4 + 48 * k, 22, 0, 5) for k in range(count)]
    assert len(risen_spaces(page(*bars, texts={2: text}))) == faults


# --- leads ---------------------------------------------------------------------------------------


def lead(long, thick, *, under=10, left=200):
    return Box(left, BASE + under, long, thick)


@pytest.mark.parametrize(
    ("long", "thick", "is_told"),
    [
        (120, 5, True), (60, 5, True), (45, 5, False), (120, 3, True), (120, 2, False),
        (120, 15, True), (120, 18, False),
    ],
)  # fmt: skip
def test_a_bar_between_two_lines_of_a_paragraph_is_a_lead_that_prints(long, thick, is_told):
    found = work_ups(page(lead(long, thick, under=6)))
    assert told(found) == ([(Kind.WORK_UP, 2)] if is_told else [])
    assert all("push down the lead that prints under line 2" in each.words for each in found)
    assert not any(each.only_query for each in found)


def test_a_bar_nearly_as_long_as_its_line_or_between_paragraphs_is_asked_about():
    (whole,) = work_ups(page(lead(round(0.9 * line_of(LINE, 1)[0].box.width), 5, left=104)))
    assert whole.only_query
    copy = f"{LINE} {LINE}\n" + " ".join([LINE] * 4)
    (between,) = work_ups(page(lead(120, 6), copy=copy))
    assert between.only_query
    assert between.certainty < 0.5 < work_ups(page(lead(120, 6)))[0].certainty
    # A thin stroke there is of a drawing.
    assert work_ups(page(lead(120, 4), copy=copy)) == []


def test_a_bar_between_paragraphs_as_long_as_another_rule_of_the_sheet_is_a_rule():
    """So lists and cards are ruled: under each head, and round the table; common practice."""
    paragraphs = f"{LINE} {LINE}\n" + " ".join([LINE] * 4)
    wide = line_of(LINE, 1)[0].box.width
    mine = lead(wide, 6, left=100)
    below = 100 + 6 * PITCH_PX + 60

    def found(other, copy=paragraphs):
        return told(work_ups(page(mine, other, copy=copy)))

    assert found(Box(100, below, wide, 6)) == []
    for other in (Box(100, below, wide - 20, 6), Box(120, below, wide - 20, 6)):
        assert found(other) == [(Kind.WORK_UP, 2)]
    # Within a paragraph stands no rule.
    assert found(Box(100, below, wide, 6), copy=None) == [(Kind.WORK_UP, 2)]


def test_a_bar_in_more_white_than_between_lines_is_a_rule():
    assert work_ups(page(lead(120, 5, under=20), tops=dict.fromkeys(range(3, 7), 12))) == []


def test_what_fills_the_white_from_line_to_line_is_a_panel():
    close = dict.fromkeys(range(3, 7), -20)
    assert told(work_ups(page(lead(120, 6, under=4), tops=close))) == [(Kind.WORK_UP, 2)]
    assert work_ups(page(lead(120, 14, under=0), tops=close)) == []


def test_a_lead_is_tied_to_the_letters_over_it():
    (found,) = work_ups(page(lead(2 * (WIDE + 2) + 40, 5, left=100)))
    assert found.letters.start == 0
    assert LINE[found.letters.start : found.letters.end].startswith("we sa")


# --- rules at their corners ----------------------------------------------------------------------

MM = 300 / 25.4


def rule(start, stop, middle, *, upright=False, thick=6.0):
    length = round(stop - start)
    return Rule(
        upright, float(start), float(stop), float(middle), 0.0, thick, np.ones(length, bool),
        np.full(length, round(thick)),
    )  # fmt: skip


def frame(*, short_mm=0.0, past_mm=0.0, others_mm=0.0):
    """A frame of four rules; the head rule is short of its right corner, or runs past it."""
    left, right, head, foot = 200, 1000, 200, 700
    more = others_mm * MM
    stop = right + 3 - short_mm * MM + past_mm * MM
    return [
        rule(left - 3 + more, stop, head), rule(left - 3 + more, right + 3 - more, foot),
        rule(head - 3, foot + 3, left, upright=True), rule(head - 3, foot + 3, right, upright=True),
    ]  # fmt: skip


def drawn(rules):
    ink = np.zeros((900, 1300), np.uint8)
    for each in rules:
        half = each.thick_px / 2
        along = slice(round(each.start), round(each.stop))
        across = slice(round(each.middle - half), round(each.middle + half))
        ink[(along, across) if each.upright else (across, along)] = 1
    return ink


def corners(rules, ink=None):
    found = corner_faults(rules, drawn(rules) if ink is None else ink, 300.0)
    return [(kind, words) for kind, _, words in found]


@pytest.mark.parametrize(("short_mm", "open_"), [(0.0, False), (1.1, True), (2.0, True),
                                                 (6.0, False)])  # fmt: skip
def test_a_corner_that_does_not_join_is_open(short_mm, open_):
    # Half a millimetre of white at least; past four the rule was meant to end there.
    found = corners(frame(short_mm=short_mm))
    assert found == ([(Kind.OPEN_CORNER, "does not join at the corner")] if open_ else [])


@pytest.mark.parametrize(("past_mm", "is_told"), [(0.3, False), (1.2, True)])
def test_a_rule_that_runs_past_its_corner_is_told(past_mm, is_told):
    found = corners(frame(past_mm=past_mm))
    assert found == ([(Kind.CROOKED_RULE, "runs past the corner")] if is_told else [])


def test_rules_that_stop_short_of_one_another_everywhere_are_meant_to():
    assert corners(frame(short_mm=1.0, others_mm=1.0)) == []


def test_a_corner_with_something_in_it_is_not_open():
    rules = frame(short_mm=2.0)
    ink = drawn(rules)
    ink[190:212, 980:1010] = 1
    assert corners(rules, ink) == []


def test_a_rule_is_joined_where_others_meet_both_its_ends():
    rules = frame()
    assert all(is_joined(each, rules, 300.0) for each in rules)
    short = frame(short_mm=1.5)
    assert [is_joined(each, short, 300.0) for each in short] == [False, True, True, False]


@pytest.mark.parametrize(
    ("y", "where"), [(40, "over line 1"), (125, "beside line 1"), (400, "under line 2")]
)
def test_what_is_of_no_letter_is_told_at_the_nearest_line(y, where):
    lines = [line_of(LINE, n)[0] for n in (1, 2)]
    sheet = SimpleNamespace(number=0, image=np.zeros((600, 2000)))
    found = told_at(sheet, lines, Kind.BROKEN_RULE, Box(1500, y, 40, 4), "rule {} is broken")
    assert found.words == f"rule {where} is broken"
    edge = told_at(sheet, lines, Kind.BROKEN_RULE, Box(1990, 590, 40, 40), "{}")
    assert (edge.box.right, edge.box.bottom) == (2000, 600)


# --- twins ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("off", "own", "of", "left"),
    [
        (0.1, 0.1, {1: 0.0, 2: 0.02}, 0.09), (0.1, 0.1, {1: 0.1, 2: 0.1}, 0.0),
        (0.1, 0.1, {}, 0.1), (0.1, 0.1, {1: 0.3, 2: 0.3}, 0.0), (0.05, 0.2, {1: 0.0}, 0.05),
        (-0.1, -0.1, {1: 0.0, 2: 0.0}, -0.1),
    ],
)  # fmt: skip
def test_a_line_must_stand_out_from_its_twins_as_from_its_neighbours(off, own, of, left):
    assert unlike_twins(off, own, (1, 2), of) == pytest.approx(left)


def test_twins_that_are_odd_too_excuse_a_line():
    assert as_twins((1, 2, 3), {1: 2.0, 2: 0.5, 3: 2.0}, 1.0)
    assert not as_twins((1, 2, 3), {1: 2.0, 2: 0.5, 3: 0.9}, 1.0)
    assert not as_twins((1,), {}, 1.0)


def heights(scale, count=6):
    return {"a": [round(60 * scale)] * count, "b": [round(90 * scale)] * count}


def test_the_one_line_of_another_size_is_told_and_of_two_against_two_both():
    found = apart_from_twins({1: heights(1), 2: heights(1), 3: heights(1.1)}, 0.05)
    assert list(found) == [3]
    assert found[3].off == pytest.approx(np.log(1.1), abs=0.01)
    assert not found[3].tied
    small = apart_from_twins({1: heights(1), 2: heights(0.9), 3: heights(1)}, 0.05)
    assert list(small) == [2]
    assert small[2].off == pytest.approx(np.log(0.9), abs=0.01)
    tied = apart_from_twins({n: heights(1 + 0.1 * (n > 2)) for n in (1, 2, 3, 4)}, 0.05)
    assert sorted(tied) == [1, 2, 3, 4]
    assert all(each.tied for each in tied.values())


def test_lines_of_one_size_or_of_few_like_letters_say_nothing():
    assert apart_from_twins({1: heights(1), 2: heights(1.03)}, 0.05) == {}
    assert apart_from_twins({1: heights(1, 2), 2: heights(1.2, 2)}, 0.05) == {}
    assert apart_from_twins({1: {"a": [60] * 9}, 2: {"b": [90] * 9}}, 0.05) == {}
    # In type so small that the difference is a pixel it may be the inking.
    assert apart_from_twins({1: {"a": [10] * 9}, 2: {"a": [11] * 9}}, 0.05) == {}


# --- letters off their line, and lines of another size ---


def lifted(by, places=(3,), texts=None):
    """What is told where letters of the third line stand higher by so many pixels."""
    texts = texts or {}
    rows = [
        line_of(texts.get(n, LINE), n, lift=dict.fromkeys(places, by) if n == 3 else None)
        for n in range(1, 9)
    ]
    copy = " ".join(texts.get(n, LINE) for n in range(1, 9))
    return off_line_letters(judged(matter_laid(rows, copy, ink=())))


@pytest.mark.parametrize(
    ("px", "words"), [(0, None), (1, None), (5, "s stands high"), (-5, "s stands low")]
)
def test_a_letter_a_seventh_of_the_x_height_off_its_line_is_told(px, words):
    found = lifted(px)
    assert [(each.line, each.letters.start) for each in found] == ([(3, 3)] if words else [])
    assert all(each.words == f"off its line: {words}" for each in found)
    assert not any(each.only_query for each in found)


def test_a_whole_word_moves_its_neighbours_too():
    assert lifted(5, places=(3, 4, 5)) == []


def sized(tall, *, alike=(), ends_at=None):
    """What is told of the fourth of eight lines whose letters are so tall, the others 30 px."""
    rows = [line_of(LINE, n, tall=tall if n == 4 or n in alike else 30) for n in range(1, 9)]
    copy = " ".join([LINE] * 8) if not ends_at else (
        "\n".join([" ".join([LINE] * ends_at), " ".join([LINE] * (8 - ends_at))])
    )  # fmt: skip
    matter = matter_laid(rows, copy, ink=())
    return [(each.line, each.kind, each.only_query) for each in miscast_lines(judged(matter))]


@pytest.mark.parametrize(("tall", "is_told"), [(30, False), (31, False), (33, True), (27, True)])
def test_a_line_cast_on_another_body_is_told(tall, is_told):
    # A point more or less is a tenth of 10-point: 30 px to 33.
    assert sized(tall) == ([(4, Kind.WRONG_FONT, False)] if is_told else [])


def test_several_lines_together_are_matter_set_smaller_and_few_say_nothing():
    assert sized(33, alike=(5,)) == []
    # Of a paragraph of three other lines or more the size is known.
    assert sized(33, ends_at=4) == [(4, Kind.WRONG_FONT, False)]
    assert sized(33, ends_at=3) == [(4, Kind.WRONG_FONT, False)]
    rows = [line_of(LINE, n, tall=33 if n == 2 else 30) for n in (1, 2, 3)]
    few = matter_laid(rows, " ".join([LINE] * 3), ink=())
    assert miscast_lines(judged(few)) == []


# --- what kind of line it is ---


@pytest.mark.parametrize(
    ("text", "is_words", "is_small"),
    [
        ("we saw men row over", True, True), ("we saw men", False, True),
        ("WE SAW MEN ROW OVER", False, False), ("WE SAW MEN ROW now", False, False),
        ("WE SAW MEN now we", True, False),
        ("1874 1875 1876 1877 1878", False, False), ("Wm. Rose, 12, 1874 to 1876", True, False),
    ],
)  # fmt: skip
def test_a_line_of_words_has_three_spaces_and_small_letters(text, is_words, is_small):
    texts = [LINE, LINE, LINE, text]
    rows = [line_of(each, n) for n, each in enumerate(texts, 1)]
    matter = matter_laid(rows, "\n".join(texts))
    assert (matter.is_words(3), matter.is_mostly_small(3)) == (is_words, is_small)


def test_a_line_far_larger_than_the_text_is_none_of_it():
    for x, of_text, words in ((20, True, True), (22, True, True), (23, False, True),
                              (27, False, False)):  # fmt: skip
        rows = [*(line_of(LINE, n) for n in (1, 2, 3)), line_of(LINE, 4, x=x)]
        matter = matter_laid(rows, " ".join([LINE] * 4))
        assert (matter.is_text(3), matter.is_words(3)) == (of_text, words), x
    assert matter.em_px(0) == pytest.approx(10 * 300 / 72.27, rel=0.01)
    assert matter.body_x_height == 20


# --- grades --------------------------------------------------------------------------------------


def finding(kind, at, **more):
    one = MetalFinding(kind, 1, 0, Box(0, 0, 1, 1), Span(at, at + 1), 0.9)
    return replace(one, proof_text="a", copy_text="a", **more)


def worn(lost):
    """A proof of letters that have lost so much of their ink."""
    count = len(lost)
    fount = SimpleNamespace(lost=np.array(lost, float), unlike=np.zeros(count))
    return SimpleNamespace(
        fount=fount, borne_out=np.ones(count, bool), row_of={1: 0},
        number_at=lambda _, at: at if at < count else None,
    )  # fmt: skip


def test_what_the_whole_sheet_has_is_no_fault_of_one_letter():
    lost = [0.0] * 94 + [0.03, 0.03, 0.03, 0.04, 0.05, 0.30]
    found = [finding(Kind.BROKEN_LETTER, at) for at in (0, 98, 99)]
    kept, notes = graded(worn(lost), found)
    # Of 100 letters 97 want no more than .03: what wants less than that is the sheet's wear; what
    # wants twice as much, and a sixteenth of its ink, is broken.
    assert [(each.letters.start, each.grade) for each in kept] == [
        (98, Grade.LOOK), (99, Grade.RESET),
    ]  # fmt: skip
    assert notes == ("4 letters are worn as the sheet prints: marked nowhere",)
    assert graded(worn([0.0] * 98 + [0.03, 0.3]), found[2:]).notes == ()


@pytest.mark.parametrize(
    ("one", "grade"),
    [
        (finding(Kind.UNEVEN_SPACING, 0), Grade.LOOK), (finding(Kind.OFF_LINE, 0), Grade.RESET),
        (finding(Kind.TURNED_SORT, 0), Grade.RESET),
        # The scar of a mat, and what was read as another letter, is no wear.
        (finding(Kind.BROKEN_LETTER, 0, other_lines=(4,)), Grade.RESET),
        (replace(finding(Kind.BROKEN_LETTER, 0), proof_text="c"), Grade.RESET),
    ],
)  # fmt: skip
def test_spaces_are_looked_at_and_the_rest_goes_back(one, grade):
    (kept,), _ = graded(worn([0.0] * 99 + [0.3]), [one])
    assert kept.grade is grade


# --- letters cut alone ---------------------------------------------------------------------------


def test_a_letter_much_wider_than_its_kind_was_not_cut_alone_unless_it_is_of_one_piece():
    boxes = [Box(30 * k, 0, 16, 20) for k in range(8)]
    boxes[5] = Box(150, 0, 28, 20)

    def alone(piece, other=None):
        held = list(boxes)
        if other:
            held[6] = other
        half = np.array([box.width / 2 for box in held])
        cut = SimpleNamespace(half_width=half, widest_piece=lambda _: piece)
        fount = SimpleNamespace(
            cut=cut, fellows={"a": None}, text=np.array(["a"] * 8), line=np.zeros(8, int)
        )
        return cut_alone(fount, held).tolist()

    assert alone(1.0) == [True] * 8
    assert alone(0.7) == [True] * 5 + [False, True, True]
    # It takes in more than half of its neighbour.
    assert not alone(1.0, Box(166, 0, 16, 20))[5]
    assert alone(1.0, Box(171, 0, 16, 20))[5]


@pytest.mark.parametrize(
    ("wide", "piece", "is_alone"), [(40, 0.5, True), (48, 0.5, False), (48, 0.9, True)]
)
def test_what_is_wider_than_a_letter_s_picture_was_not_cut_alone_whatever_it_is(
    wide, piece, is_alone
):
    """As a figure with the rule of a blank after it; the only one of its kind."""
    boxes = [Box(0, 0, 16, 20), Box(30, 0, wide, 20)]
    cut = SimpleNamespace(
        half_width=np.array([box.width / 2 for box in boxes]), widest_piece=lambda _: piece
    )
    fount = SimpleNamespace(cut=cut, fellows={}, text=np.array(["1", "9"]), line=np.zeros(2, int))
    assert cut_alone(fount, boxes).tolist() == [True, is_alone]
