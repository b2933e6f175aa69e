"""Where lines stand, and in which order they may be read: rules of make-up put to places by number.

That a folio stands at head or foot, apart from the text or where text does not begin, and that
numbered work runs by one step from ticket to ticket is common practice.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise, product

import numpy as np
import pytest
from collating import copy_of
from hypothesis import given, settings
from hypothesis import strategies as st

from proofcheck.base.found import Collation
from proofcheck.base.values import Box, Letter, Line, Reading, Span
from proofcheck.collate import collate
from proofcheck.collate.arranging import with_reordered
from proofcheck.collate.capitals import only_capitals, with_capitals
from proofcheck.collate.gutters import lists_in, other_orders
from proofcheck.collate.numbering import Numbers, numbers_of, run_of
from proofcheck.collate.order import Order, steady_of, stray_blocks
from proofcheck.collate.quotes import is_quote
from proofcheck.collate.same import USUAL, compared
from proofcheck.collate.setting import Setting
from proofcheck.collate.several_up import several_up

X = 10.0
"""x-height of the text, pixels; lines are 30 apart and 16 high."""


def line(number, text, left, top, *, column=0, sheet=0, x=X, gaps=None):
    """A line of letters 10 px wide; `gaps` are the widths of its word spaces in turn."""
    given, at, letters = iter(gaps or ()), left, []
    for char in text:
        width = next(given, 8) if char == " " else 10
        letters.append(Letter(char, Box(at, top, width, 16), 1.0))
        at += width
    box = Box(left, top, at - left, 16)
    base = top + 13.0
    return Line(number, sheet, column, box, (base, base), x, 10.0), Reading(number, tuple(letters))


def setting(*held):
    lines, readings = zip(*held, strict=True)
    return Setting(readings, {one.number: one for one in lines})


TEXT = ["the band was first gathered", "in the winter when the mill", "stood still and the office"]


def sheet(*more, first=1, top=100, number=0):
    """Three lines of text, and what stands beside them."""
    rows = [line(first + k, text, 100, top + 30 * k, sheet=number) for k, text in enumerate(TEXT)]
    return setting(*rows, *more)


# --- heads and feet ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("left", "top", "head", "foot"),
    [(200, 40, True, False), (200, 100, True, False), (200, 160, False, True),
     (200, 240, False, True), (200, 130, False, False)],
)  # fmt: skip
def test_the_first_row_of_a_sheet_is_its_head_and_the_last_its_foot(left, top, head, foot):
    held = sheet(line(9, "12", left + 400, top))
    assert (held.at_head(3), held.at_foot(3)) == (head, foot)


def test_each_sheet_has_a_head_of_its_own():
    rows = [line(1, TEXT[0], 100, 100), line(2, TEXT[1], 100, 130)]
    rows += [line(3, TEXT[2], 100, 400, sheet=1), line(4, TEXT[0], 100, 430, sheet=1)]
    held = setting(*rows)
    assert [held.at_head(k) for k in range(4)] == [True, False, True, False]
    assert [held.at_foot(k) for k in range(4)] == [False, True, False, True]
    assert held.first_rows == (0, 2)
    assert (held.other_heads(0), held.other_heads(2), held.other_heads(1)) == ([2], [0], [])


def test_without_places_the_first_line_is_the_head_and_the_last_the_foot():
    readings = [line(k, text, 0, 0)[1] for k, text in enumerate(TEXT, 1)]
    held = Setting(readings, {})
    assert [held.at_head(k) for k in range(3)] == [True, False, False]
    assert [held.at_foot(k) for k in range(3)] == [False, False, True]
    assert held.alone_in_row(1)
    assert held.stands_apart(1)
    assert held.column(1) is None
    assert not held.next_in_row(0, 1)


@pytest.mark.parametrize(("white", "apart"), [(30, False), (36, False), (42, True), (80, True)])
def test_a_line_more_than_a_third_further_off_than_the_others_stands_apart(white, apart):
    held = sheet(line(9, "12", 200, 100 + 60 + white))
    assert held.stands_apart(3) is apart
    # From the nearest row, whichever side it is on.
    assert sheet(line(9, "12", 200, 100 - white)).stands_apart(3) is apart


def test_what_stands_level_is_one_row():
    beside = sheet(line(9, "12", 600, 130, column=1))
    assert not beside.alone_in_row(3)
    assert beside.next_in_row(1, 3)
    assert not beside.next_in_row(3, 1)
    assert not beside.next_in_row(0, 3)
    below = sheet(line(9, "12", 600, 145, column=1))
    assert below.alone_in_row(3)


@pytest.mark.parametrize(("left", "inside"), [(100, False), (139, False), (141, True)])
def test_a_line_two_ems_in_from_the_edge_is_well_in(left, inside):
    assert sheet(line(9, "12", left, 40)).well_in(3) is inside


def test_a_signature_stands_in_the_right_half_and_ends_before_the_edge():
    right = max(100 + 10 * len(text) - 2 * text.count(" ") for text in TEXT)
    middle = (100 + right) / 2
    for left, so in ((middle + 30, False), (middle + 45, True), (right - 45, False)):
        assert sheet(line(9, "B", round(left), 240)).towards_right(3) is so, left


# --- folios --------------------------------------------------------------------------------------

WORDS = " ".join(TEXT)


def of_folio(text, left, top, *, x=X, framed=frozenset()):
    """How a line beside the text is told: the kinds of its differences."""
    rows = [line(k + 2, words, 100, 100 + 30 * k) for k, words in enumerate(TEXT)]
    number = 1 if top < 100 else 9
    rows = [line(number, text, left, top, x=x), *rows] if number == 1 else [
        *rows, line(number, text, left, top, x=x)
    ]  # fmt: skip
    lines, readings = zip(*sorted(rows, key=lambda row: row[0].number), strict=True)
    found = collate(copy_of(WORDS), readings, lines=lines, framed=framed)
    return [d.kind.value for d in found.differences]


@pytest.mark.parametrize("text", ["12", "xii", "XIV", "[7]", "— 12 —", "\ufffc 12 -", "(3)", "12."])
def test_a_number_by_itself_at_head_or_foot_is_a_folio(text):
    assert of_folio(text, 200, 40) == []
    assert of_folio(text, 200, 220) == []


@pytest.mark.parametrize("text", ["1234", "12a", "iiii", "the", "12 34", "J"])
def test_what_is_no_page_number_is_no_folio(text):
    assert of_folio(text, 200, 220) != []


def test_a_number_in_a_frame_among_the_text_or_of_display_size_is_no_folio():
    assert of_folio("12", 200, 220, framed=frozenset({9})) == ["line-foreign"]
    assert of_folio("12", 200, 220, x=1.7 * X) == ["line-foreign"]
    assert of_folio("12", 200, 220, x=1.5 * X) == []
    # Under the text as another line of it would be.
    assert of_folio("12", 100, 190) == ["line-foreign"]


@pytest.mark.parametrize("text", ["B", "C 2", "BB", "K*", "2*"])
def test_a_letter_of_the_printers_alphabet_at_the_foot_is_a_signature(text):
    assert of_folio(text, 240, 220) == []
    assert of_folio(text, 240, 40) != []


# --- columns and rows ----------------------------------------------------------------------------


def order(held):
    return [[reading.text for _, reading in way] for way in other_orders(held)]


def down(held):
    ways = (way for ways in lists_in(held) for way in ways)
    orders = ([*held[: way.first], *way.lines, *held[way.end :]] for way in ways)
    return [[reading.text for _, reading in order] for order in orders]


def test_two_lists_read_across_may_be_read_down():
    rows = [("tea", "oats"), ("milk", "rye"), ("flour", "beans"), ("salt", "peas")]
    held = []
    for k, (left, right) in enumerate(rows):
        gap = 200 - 10 * len(left)
        held.append(line(k + 1, f"{left} {right}", 100, 100 + 30 * k, gaps=[gap]))
    (way,) = down(held)
    assert way == [a for a, _ in rows] + [b for _, b in rows]
    # Two lines with white at one place may be chance, where it is no wider than after a point.
    assert len(down(held[:2])) == 1
    near = [line(k + 1, f"{a} {b}", 100, 100 + 30 * k, gaps=[54 - 10 * len(a)]) for k, (a, b) in
            enumerate(rows[:2])]  # fmt: skip
    assert down(near) == []
    # Nor is the white between words a gutter: 1.4 x-heights at least.
    narrow = [
        line(k + 1, f"{a} {b}", 100, 100 + 30 * k, gaps=[13]) for k, (a, b) in enumerate(rows)
    ]
    assert down(narrow) == []


def test_what_stands_before_and_after_the_lists_keeps_its_place():
    rows = [("tea", "oats"), ("milk", "rye"), ("flour", "beans")]
    held = [line(1, "what the shop has in store today", 100, 70)]
    for k, (left, right) in enumerate(rows):
        gap = 200 - 10 * len(left)
        held.append(line(k + 2, f"{left} {right}", 100, 100 + 30 * k, gaps=[gap]))
    held.append(line(5, "and what it will have in a week", 100, 190))
    (way,) = down(held)
    assert way == [
        "what the shop has in store today", "tea", "milk", "flour", "oats", "rye", "beans",
        "and what it will have in a week",
    ]  # fmt: skip


def test_columns_may_be_read_row_by_row():
    left = [line(k + 1, text, 100, 100 + 30 * k) for k, text in enumerate(["tea", "oats"])]
    right = [
        line(k + 3, text, 400, 100 + 30 * k, column=1) for k, text in enumerate(["3d.", "4d."])
    ]
    assert ["tea", "3d.", "oats", "4d."] in order([*left, *right])
    # Level to half an x-height.
    level = [line(3, "3d.", 400, 104, column=1), line(4, "4d.", 400, 134, column=1)]
    assert ["tea", "3d.", "oats", "4d."] in order([*left, *level])


def test_a_line_under_all_other_columns_may_be_read_last():
    left = [line(k + 1, f"left {k}", 100, 100 + 30 * k) for k in range(3)]
    foot = line(4, "at the foot", 100, 100 + 30 * 2 + 60)
    right = [line(k + 5, f"right {k}", 400, 100 + 30 * k, column=1) for k in range(3)]
    last = [f"left {k}" for k in range(3)] + [f"right {k}" for k in range(3)] + ["at the foot"]
    assert last in order([*left, foot, *right])
    # Not one that stands in its column's own step, nor one with another column's lines below it.
    close = line(4, "at the foot", 100, 100 + 30 * 3)
    assert last not in order([*left, close, *right])
    longer = [*right, line(8, "right 3", 400, 100 + 30 * 6, column=1)]
    assert [*last[:-1], "right 3", "at the foot"] not in order([*left, foot, *longer])


# --- tickets -------------------------------------------------------------------------------------

TICKET = "Bee Society\nTicket 0041\nPrice 6d. to Row 7"


def ganged(numbers):
    """The ticket's copy taken so often, its second number 6, its third 7 on all."""
    spans = numbers_of(TICKET)
    assert [TICKET[a:b] for a, b in spans] == ["0041", "6", "7"]
    wanted = (tuple(numbers), ("6",) * len(numbers), ("7",) * len(numbers))
    gang = Numbers(wanted, (False, False, False))
    return several_up(copy_of(TICKET), [(k,) for k in range(len(numbers))], gang)


def test_each_ticket_has_the_copy_with_its_own_number():
    gang = ganged(["0041", "0042", "110043"])
    texts = [
        gang.copy.text[start : start + len(ticket.text)]
        for start, ticket in zip(gang.starts, gang.tickets, strict=True)
    ]
    assert texts == [TICKET.replace("0041", n) for n in ("0041", "0042", "110043")]
    told = [gang.copy.text[a:b] for a, b in gang.copy.paragraphs]
    assert told == [row for text in texts for row in text.split("\n")]


@pytest.mark.parametrize("numbers", [["0041", "0042"], ["41", "420000"], ["0041", "7"]])
def test_a_stretch_of_any_ticket_is_found_again_in_the_copy_given(numbers):
    gang = ganged(numbers)
    for start, ticket, number in zip(gang.starts, gang.tickets, numbers, strict=True):
        for word in ("Bee", "Society", "Ticket", "Price", "6", "Row", "7"):
            at = start + ticket.text.rindex(word)
            home = gang.home(Span(at, at + len(word)))
            assert home == Span(TICKET.rindex(word), TICKET.rindex(word) + len(word)), word
        at = start + ticket.text.index(number, ticket.text.index("Ticket"))
        home = gang.home(Span(at, at + len(number)))
        assert TICKET[home.start : home.end] == "0041"
        # A place within a number lies within the copy's.
        inner = gang.home(Span(at + 1, at + 1)) if len(number) > 1 else home
        assert home.start <= inner.start <= inner.end <= home.end
        whole = gang.home(Span(start, start + len(ticket.text)))
        assert whole == Span(0, len(TICKET))


def runs(copy, printed, *, across=None, down=None):
    count = len(printed)
    across = across or list(range(count))
    found = run_of([copy], [[n] for n in printed], [across, down or across])
    return list(found.wanted[0]), found.asked[0], found.down


@pytest.mark.parametrize(
    ("copy", "printed", "wanted", "asked"),
    [
        ("41", [41, 42, 43, 44], ["41", "42", "43", "44"], False),
        ("44", [41, 42, 43, 44], ["41", "42", "43", "44"], False),
        ("0041", [41, 42, 43], ["0041", "0042", "0043"], False),
        ("0000", [41, 42, 43], ["0041", "0042", "0043"], False),
        ("1,200", [1198, 1199, 1200], ["1,198", "1,199", "1,200"], False),
        # Down by one, and by a larger step.
        ("43", [43, 42, 41], ["43", "42", "41"], False),
        ("100", [100, 200, 300, 400], ["100", "200", "300", "400"], False),
        # One of four is wrong, or was not read.
        ("41", [41, 42, 48, 44], ["41", "42", "43", "44"], False),
        ("41", [41, None, 43, 44], ["41", "42", "43", "44"], False),
        # All alike are no run; nor are two, nor a run that the copy's number is not of.
        ("41", [41, 41, 41, 41], ["41"] * 4, False),
        ("41", [41, 42], ["41", "41"], True),
    ],
)
def test_numbers_run_by_one_step_from_ticket_to_ticket(copy, printed, wanted, asked):
    assert runs(copy, printed)[:2] == (wanted, asked)


def test_a_run_that_the_copy_s_number_is_not_of_is_asked_about():
    wanted, asked, _ = runs("7", [41, 42, 43, 44])
    assert (wanted, asked) == (["7"] * 4, True)


def test_numbers_run_across_the_sheet_or_down_it():
    # Two across, two down: places 0 1 / 2 3; down the sheet they are 0 2 1 3.
    assert runs("1", [1, 3, 2, 4], down=[0, 2, 1, 3]) == (["1", "3", "2", "4"], False, True)
    assert runs("1", [1, 2, 3, 4], down=[0, 2, 1, 3]) == (["1", "2", "3", "4"], False, False)


@pytest.mark.parametrize(
    ("text", "numbers"),
    [("No. 12 of 1,200", ["12", "1,200"]), ("12,5", ["12", "5"]), ("a1b2", ["1", "2"]), ("", [])],
)
def test_figures_of_a_thousand_are_one_number(text, numbers):
    assert [text[a:b] for a, b in numbers_of(text)] == numbers


# --- capitals ------------------------------------------------------------------------------------


def in_capitals(text, heights):
    letters = tuple(
        Letter(char, Box(10 * k, 40 - tall, 8, tall), 1.0)
        for k, (char, tall) in enumerate(zip(text, heights, strict=True))
    )
    reading = Reading(1, letters)
    return with_capitals(compared(text, USUAL), reading).text


def test_a_letter_as_tall_as_the_capitals_of_its_word_is_one_of_them():
    # Small letters are .62 to .75 of a capital's height in text faces (common practice).
    assert in_capitals("BAoK", [20, 20, 20, 20]) == "BAOK"
    assert in_capitals("BAoK", [20, 20, 14, 20]) == "BAoK"
    assert in_capitals("BAoK", [20, 20, 18, 20]) == "BAOK"
    # The first letter of a word in small capitals may be larger than the rest.
    assert in_capitals("BAoK", [28, 20, 20, 20]) == "BAOK"
    # A word with any other small letter is no word in capitals.
    assert in_capitals("BAoKe", [20, 20, 20, 20, 14]) == "BAoKe"
    # Nor is anything known of a word without a capital after its first letter.
    assert in_capitals("Box", [20, 20, 20]) == "Box"


def test_only_letters_shaped_like_capitals_may_be_capitals():
    assert only_capitals("BooK 12")
    assert only_capitals("CoVeR"[:3])
    assert not only_capitals("Cover")
    assert np.all([only_capitals(char) for char in "cosuvwxz"])
    assert not any(only_capitals(char) for char in "abdefghijklmnpqrty")


# --- paragraphs ----------------------------------------------------------------------------------

PROSE = [
    "the band was first gathered in the winter", "when the mill stood still and the office",
    "fell to the smith, who could not read",
    "eleven men and two boys learned their part", "by lantern in the drying loft of the mill",
    "and nobody went home before the candles", "had failed one after another in the cold",
]  # fmt: skip
EM = 2.2 * X


def begun(*, indent=1.0, short=2.0, after=0.0, count=7, copy=None):
    """Prose whose fourth line is indented, the third short of the measure by so many ems."""
    rows = []
    for k, text in enumerate(PROSE[:count]):
        left = 100 + round(EM * (indent if k == 3 else after if k == 4 else 0.0))
        one, reading = line(k + 1, text, left, 100 + 30 * k)
        right = 100 + 420 - (round(short * EM) if k == 2 else 0)
        rows.append((replace(one, box=one.box._replace(width=right - one.box.x)), reading))
    lines, readings = zip(*rows, strict=True)
    found = collate(copy_of(copy or " ".join(PROSE[:count])), readings, lines=lines)
    return [(d.kind.value, d.line, d.proof_text, d.copy_text) for d in found.differences]


NOT_WANTED = [("paragraph", 4, "¶", "")]


@pytest.mark.parametrize(
    ("how", "told"),
    [
        ({}, True), ({"indent": 0.6}, False), ({"indent": 0.8}, True), ({"indent": 3.9}, True),
        ({"indent": 4.2}, False), ({"short": 1.3}, False), ({"short": 1.7}, True),
        # The lines beside it must stand at the edge, and the column must be of six lines or more.
        ({"after": 0.3}, True), ({"after": 0.5}, False), ({"count": 6}, True),
        ({"count": 5}, False),
    ],
)  # fmt: skip
def test_a_paragraph_is_begun_where_a_line_is_indented_after_a_short_one(how, told):
    assert begun(**how) == (NOT_WANTED if told else [])


def test_a_paragraph_of_the_copy_s_own_is_none_too_many():
    assert begun(copy=f"{' '.join(PROSE[:3])}\n{' '.join(PROSE[3:])}") == []


def test_in_a_list_whose_run_over_lines_are_indented_an_indent_begins_nothing():
    # Entries of two lines, the second of each indented by an em; one is of three.
    rows, copy = [], []
    for k in range(4):
        first, second = PROSE[k], PROSE[(k + 3) % 7]
        rows.append(line(2 * k + 1, first, 100, 100 + 60 * k))
        rows.append(line(2 * k + 2, second, 100 + round(EM), 130 + 60 * k))
        copy.append(f"{first} {second}")
    lines, readings = zip(*rows, strict=True)
    assert collate(copy_of("\n".join(copy)), readings, lines=lines).differences == ()


def test_a_line_that_runs_over_between_two_entries_begins_nothing():
    """Where no other runs over flush; were all of it one paragraph it would begin another."""
    entries = ((0,), (1,), (2, 3), (4,), (5,), (6,))
    alone = "\n".join(" ".join(PROSE[k] for k in entry) for entry in entries)
    assert begun(copy=alone) == []
    flush = "\n".join(" ".join(part) for part in (PROSE[:2], PROSE[2:4], PROSE[4:]))
    assert begun(copy=flush) == NOT_WANTED
    assert begun(copy="\n".join([" ".join(PROSE[:2]), " ".join(PROSE[2:])])) == NOT_WANTED


@pytest.mark.parametrize(
    ("end", "told"), [("the cold mill.", True), ("the cold mill", False), ("the cold mill.”", True)]
)
def test_a_paragraph_run_on_within_a_line_is_told_after_prose_that_ends(end, told):
    one = f"the band was first gathered in the winter when the mill stood still {end}"
    other = "Eleven men and two boys learned their parts by lantern in the loft of the mill"
    words = f"{one} {other}".split()
    texts = [" ".join(words[k : k + 6]) for k in range(0, len(words), 6)]
    rows = [line(k + 1, text, 100, 100 + 30 * k) for k, text in enumerate(texts)]
    lines, readings = zip(*rows, strict=True)
    found = collate(copy_of(f"{one}\n{other}"), readings, lines=lines).differences
    assert [(d.kind.value, d.copy_text) for d in found] == [("paragraph", "¶")] * told


# --- the order of the lines ----------------------------------------------------------------------


@settings(max_examples=200, derandomize=True)
@given(st.permutations(range(9)))
def test_as_many_lines_as_can_be_stand_in_good_order(order):
    # The longest rising run, found by trying every one.
    steady = steady_of(order)
    held = [each for each in order if each in steady]
    assert held == sorted(held)
    longest = max(
        sum(map(bool, chosen))
        for chosen in product((0, 1), repeat=len(order))
        if all(a < b for a, b in pairwise([v for v, c in zip(order, chosen, strict=True) if c]))
    )
    assert len(steady) == longest


@pytest.mark.parametrize(
    ("order", "blocks"),
    [
        ([0, 1, 2, 3], []), ([0, 2, 1, 3, 4], [[2]]), ([3, 4, 0, 1, 2], [[3, 4]]),
        # Lines that are in no order part no run: 5 was foreign.
        ([4, 6, 0, 1, 2, 3], [[4, 6]]),
    ],
)  # fmt: skip
def test_lines_that_stray_together_are_one_block(order, blocks):
    assert stray_blocks(order) == blocks


def test_a_line_that_was_not_placed_follows_the_line_it_follows_in_the_proof():
    places = {0: (0, 9), 1: (10, 19), 3: (20, 29), 4: (30, 39)}
    assert Order(places).sequence(5) == [0, 1, 2, 3, 4]
    assert Order(places, doubled={4: 3}).sequence(5) == [0, 1, 2, 3]
    assert Order(places).sequence(5, frozenset({1})) == [0, 2, 3, 4]
    # One astray carries none with it.
    astray = {0: (0, 9), 1: (90, 99), 3: (20, 29), 4: (30, 39)}
    assert Order(astray).sequence(5) == [0, 2, 3, 4, 1]
    # One before all that are placed comes first.
    assert Order({1: (0, 9), 2: (10, 19)}).sequence(3) == [0, 1, 2]


# --- quotes and their partners -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "at", "opens", "like", "is_one"),
    [
        ("say ‘go’ now", 4, True, "'", True), ("say ‘go’ now", 7, False, "'", True),
        ('say "go" now', 4, True, '"', True), ('say "go" now', 7, False, '"', True),
        # An apostrophe has no partner; nor has a quote one of the other weight.
        ("say 'tis now", 4, True, "'", False), ("the boys' ball", 8, False, "'", False),
        ("the boy's 'old' cap", 7, False, "'", False), ("say ‘go’ now", 4, True, '"', False),
        ('say "go" now', 4, True, "'", False),
        # What opens does not close, nor the reverse; out of the text nothing does.
        ("say ‘go’ now", 4, False, "'", False), ("say ‘go’ now", 7, True, "'", False),
        ("say", 3, True, "'", False), ("say", -1, True, "'", False),
        ("say ‘go’", 4, True, "", False),
        # After a closing one that was opened before it there is none left to close.
        ("‘go’ boys' cap", 9, False, "'", False),
    ],
)  # fmt: skip
def test_a_single_quote_has_its_partner_or_is_an_apostrophe(text, at, opens, like, is_one):
    assert is_quote(text, at, opens=opens, like=like) is is_one


def test_sheets_read_in_another_order_are_counted_but_not_of_another_copy():
    laid = Collation((), (), {"folio": 2}, 0.9)
    assert with_reordered(laid, 2).waived == {"folio": 2, "reading-order": 2}
    assert with_reordered(laid, 0).waived == {"folio": 2}
    other = replace(laid, mismatch=True)
    assert with_reordered(other, 2).waived == {"folio": 2}


def late_column(copy):
    """What is told of a first column whose lower part the layout has read after the second."""
    left, right = PROSE[:5], ("Soups.", "Mock turtle and hare", "Boiled cod and oysters")
    tops = [100 + 30 * k for k in range(5)]
    held = [(left[k], 100, tops[k], 0) for k in (0, 1)]
    held += [(text, 700, 100 + 30 * k, 1) for k, text in enumerate(right)]
    held += [(left[k], 100, tops[k], 0) for k in (2, 3, 4)]
    rows = [line(k + 1, text, x, y, column=column) for k, (text, x, y, column) in enumerate(held)]
    lines, readings = zip(*rows, strict=True)
    found = collate(copy_of("\n".join((*copy(left), *right))), readings, lines=lines)
    return [(d.kind.value, d.line, d.other_lines) for d in found.differences]


@pytest.mark.parametrize("at", [1, 2, 3])
def test_lines_exchanged_in_a_column_that_is_read_late_are_told(at):
    """Each stands well to the other column, but not to the line beside it."""

    def exchanged(left):
        return [*left[:at], left[at + 1], left[at], *left[at + 2 :]]

    assert late_column(lambda left: left) == []
    assert [kind for kind, *_ in late_column(exchanged)] == ["lines-transposed"]
    if at > 1:
        assert late_column(exchanged) == [("lines-transposed", at + 4, (at + 5,))]
