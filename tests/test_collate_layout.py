"""How lines lie on their sheets, rule by rule: heads, rows, gutters, tickets, order.

Lines are laid out by number, so that each can stand right at a bound and just past it. How many
lines stand in good order is held against trying every choice of them.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, permutations

import pytest

from proofcheck.base.values import Box, Letter, Line, Reading
from proofcheck.collate import makeup
from proofcheck.collate.gutters import lists_in, other_orders
from proofcheck.collate.order import Order, alike, find_order, steady_of, stray_blocks
from proofcheck.collate.own_lines import own_lines_on
from proofcheck.collate.place import candidates, chain, loose
from proofcheck.collate.setting import Setting
from proofcheck.collate.tickets import Gang, gangs, parts_of

X = 10.0


def line(number, *, x=100, y=None, width=200, high=14, sheet=0, column=0, ticket=0, size=X):
    """A line 14 px high whose baseline is its foot; rows 24 px apart unless said."""
    y = 100 + 24 * (number - 1) if y is None else y
    held = Line(number, sheet, column, Box(x, y, width, high), (y + high, y + high), size, 10.0)
    return replace(held, ticket=ticket)


def laid(lines, texts=None):
    """The setting of lines, each with a text."""
    texts = texts or {}
    readings = [
        Reading(one.number, tuple(Letter(c, one.box, 1.0) for c in texts.get(one.number, "text")))
        for one in lines
    ]
    return Setting(readings, {one.number: one for one in lines})


# --- where a line stands on its sheet -------------------------------------------------------------


def test_head_and_foot_are_the_first_row_and_the_last_to_a_line_s_height():
    rows = [line(1), line(2), line(3), line(4)]
    setting = laid(rows)
    assert [setting.at_head(at) for at in range(4)] == [True, False, False, False]
    assert [setting.at_foot(at) for at in range(4)] == [False, False, False, True]
    # A line beside them that begins lower by its own height still is of the row.
    for off, of_it in ((14, True), (15, False)):
        setting = laid([line(1), line(2, x=400, y=100 + off), line(3)])
        assert setting.at_head(1) is of_it
        setting = laid([line(1), line(2, x=400, y=148 - off), line(3, y=148)])
        assert setting.at_foot(1) is of_it
    # The first row itself is told to half its height.
    for off, of_it in ((7, True), (8, False)):
        setting = laid([line(1), line(2, x=400, y=100 + off), line(3)])
        assert setting.first_rows == ((0, 1) if of_it else (0,))


def test_each_sheet_has_a_head_and_a_foot_of_its_own():
    rows = [line(1), line(2), line(3, sheet=1, y=100), line(4, sheet=1, y=124)]
    setting = laid(rows)
    assert [setting.at_head(at) for at in range(4)] == [True, False, True, False]
    assert [setting.at_foot(at) for at in range(4)] == [False, True, False, True]
    assert setting.first_rows == (0, 2)
    assert (setting.other_heads(0), setting.other_heads(2)) == ([2], [0])
    assert setting.other_heads(1) == []
    assert [one.number for one in setting.on_sheet(1)] == [3, 4]
    assert setting.on_sheet(7) == []
    assert (setting.column(2), setting.place) == ((1, 0), {1: 0, 2: 1, 3: 2, 4: 3})


def test_without_geometry_the_first_line_is_the_head_and_the_last_the_foot():
    readings = [Reading(number, ()) for number in (1, 2, 3)]
    setting = Setting(readings, {})
    assert [setting.at_head(at) for at in range(3)] == [True, False, False]
    assert [setting.at_foot(at) for at in range(3)] == [False, False, True]
    assert setting.alone_in_row(1)
    assert setting.stands_apart(1)
    assert setting.well_in(1)
    assert setting.towards_right(1)
    assert not setting.next_in_row(0, 1)
    assert (setting.line(1), setting.column(1), setting.first_rows) == (None, None, ())
    assert setting.other_heads(0) == []


@pytest.mark.parametrize(("off", "alone"), [(0, False), (6, False), (7, True), (24, True)])
def test_lines_stand_in_one_row_that_share_more_than_half_their_height(off, alone):
    setting = laid([line(1), line(2, x=400, y=100 + off)])
    assert setting.alone_in_row(0) is alone
    assert setting.alone_in_row(1) is alone


def test_of_two_in_a_row_the_second_is_in_a_column_to_the_right():
    rows = [line(1), line(2, x=400, y=100, column=1), line(3, x=700, y=100, column=2)]
    setting = laid(rows)
    assert setting.next_in_row(0, 1)
    assert setting.next_in_row(0, 2)
    assert not setting.next_in_row(1, 0)
    assert not setting.next_in_row(0, 0)
    # Level enough to a fifth of their height; on another sheet never.
    for off, beside in ((11, True), (12, False)):
        setting = laid([line(1), line(2, x=400, y=100 + off, column=1)])
        assert setting.next_in_row(0, 1) is beside
    setting = laid([line(1), line(2, x=400, y=100, column=1, sheet=1)])
    assert not setting.next_in_row(0, 1)


@pytest.mark.parametrize(("white", "apart"), [(31, False), (32, True), (48, True), (24, False)])
def test_a_line_stands_apart_by_a_third_more_than_rows_are_from_each_other(white, apart):
    # Rows of 24 px: 1.3 times as much is 31.2.
    rows = [line(1, y=100 - white), *(line(k, y=100 + 24 * (k - 2)) for k in (2, 3, 4))]
    setting = laid(rows)
    assert setting.stands_apart(0) is apart
    assert not setting.stands_apart(2)
    assert setting.stands_apart(0, white / 24)
    assert not setting.stands_apart(0, white / 24 + 0.01)


def test_a_sheet_of_few_rows_is_taken_to_be_leaded_as_usual():
    # No two rows to measure: 2.6 x-heights (common practice), 26 px, and 1.3 times that 33.8.
    for white, apart in ((33, False), (34, True)):
        assert laid([line(1, y=100 - white), line(2, y=100)]).stands_apart(0) is apart
    # Nor is white between all rows a pitch: no more than 1.5 times the usual, 39 px.
    for white, apart in ((50, False), (51, True)):
        rows = [line(1, y=100 - white), line(2, y=100), line(3, y=300)]
        assert laid(rows).stands_apart(0) is apart
    # Two in one row are no step; nor is anything else on the sheet, all alone it stands apart.
    assert laid([line(1)]).stands_apart(0)


def test_a_line_well_in_begins_two_ems_in_and_one_towards_the_right_past_the_middle():
    for x, well in ((140, False), (141, True)):
        assert laid([line(1, x=x, width=40), line(2), line(3)]).well_in(0) is well
    assert laid([line(1, x=300)]).well_in(0)
    # Of matter from 100 to 500: past 300 by 40, and ending 40 before its edge.
    for x, width, right in ((340, 40, False), (341, 40, True), (400, 59, True), (400, 60, False)):
        rows = [line(1, x=x, width=width), line(2, width=400), line(3, width=400)]
        assert laid(rows).towards_right(0) is right, (x, width)
    assert laid([line(1)]).towards_right(0)
    # Other sheets say nothing of this one.
    assert laid([line(1, x=140, width=40), line(2, sheet=1)]).well_in(0)


# --- lists side by side ---------------------------------------------------------------------------


def row_of(number, cells, *, column=0, y=None):
    """A line read across: cells at their places, parted by a space."""
    y = 100 + 24 * (number - 1) if y is None else y
    letters = []
    for k, (x, text) in enumerate(cells):
        if k:
            left = letters[-1].box.right
            letters.append(Letter(" ", Box(left, y, x - left, 14), 1.0))
        letters += [Letter(c, Box(x + 10 * n, y, 9, 14), 1.0) for n, c in enumerate(text)]
    box = Box.around(letter.box for letter in letters if letter.text != " ")
    held = Line(number, 0, column, box, (y + 14, y + 14), X, 10.0)
    return held, Reading(number, tuple(letters))


def texts_of(way):
    return [reading.text for _, reading in way]


def down(held):
    """All lines in each way that lists side by side in them may be read, the likeliest first."""
    return [
        [*held[: way.first], *way.lines, *held[way.end :]]
        for ways in lists_in(held)
        for way in ways
    ]


LEFT, RIGHT = ["aaaa", "bbbb", "cccc", "dddd"], ["mmmm", "nnnn", "oooo", "pppp"]


def two_lists(apart=60, count=4, **more):
    rows = zip(LEFT[:count], RIGHT[:count], strict=True)
    return [
        row_of(n, [(100, a), (100 + 39 + apart, b)], **more) for n, (a, b) in enumerate(rows, 1)
    ]


@pytest.mark.parametrize(
    ("apart", "count", "parted"), [(60, 4, True), (14, 4, True), (13, 4, False), (14, 2, False),
                                   (60, 3, True)],
)  # fmt: skip
def test_white_of_1_4_x_heights_down_three_lines_may_be_a_gutter(apart, count, parted):
    ways = [texts_of(way) for way in down(two_lists(apart, count))]
    assert ways[:1] == ([[*LEFT[:count], *RIGHT[:count]]] if parted else [])


def test_lines_parted_at_a_gutter_keep_their_row_and_get_columns_from_the_left():
    way = down(two_lists())[0]
    assert [line.column for line, _ in way] == [0] * 4 + [1] * 4
    assert [line.number for line, _ in way] == [1, 2, 3, 4] * 2
    assert [(line.box.x, line.box.right) for line, _ in way[::4]] == [(100, 139), (199, 238)]
    assert [line.box.y for line, _ in way] == [100, 124, 148, 172] * 2
    # On a slope the part's baseline is that of its own ends.
    sloping = [
        (replace(line, baseline=(line.baseline[0], line.baseline[0] + 13.8)), reading)
        for line, reading in two_lists()
    ]
    way = down(sloping)[0]
    assert way[0][0].baseline == pytest.approx((114.0, 114.0 + 3.9))
    assert way[4][0].baseline == pytest.approx((114.0 + 9.9, 114.0 + 13.8))


def test_a_line_across_the_gutter_ends_the_lists_and_short_ones_belong_to_one():
    across = row_of(5, [(100, "x" * 14)])
    assert texts_of(down([*two_lists(), across])[0]) == [*LEFT, *RIGHT, "x" * 14]
    above = row_of(1, [(100, "x" * 14)])
    below = [row_of(n + 1, [(100, a), (199, b)]) for n, (a, b) in
             enumerate(zip(LEFT, RIGHT, strict=True), 1)]  # fmt: skip
    assert texts_of(down([above, *below])[0]) == ["x" * 14, *LEFT, *RIGHT]
    # A line under the left list alone may be of it, or follow both.
    under = row_of(5, [(100, "eeee")])
    assert [texts_of(way) for way in down([*two_lists(), under])[:2]] == [
        [*LEFT, "eeee", *RIGHT], [*LEFT, *RIGHT, "eeee"],
    ]  # fmt: skip


def test_a_list_may_begin_after_a_line_that_is_white_there_by_chance():
    head = [row_of(1, [(100, "aaaa"), (199, "mmmm")]), row_of(2, [(100, "eeee")])]
    rows = zip(LEFT[1:], RIGHT[1:], strict=True)
    ways = down([*head, *(row_of(n, [(100, a), (199, b)]) for n, (a, b) in enumerate(rows, 3))])
    assert [texts_of(way) for way in ways] == [
        ["aaaa", "eeee", *LEFT[1:], *RIGHT],
        ["aaaa mmmm", "eeee", *LEFT[1:], *RIGHT[1:]],
    ]


def test_two_lines_alone_are_lists_only_where_the_white_between_is_plainly_wide():
    assert [len(lists_in(two_lists(apart, 2))) for apart in (24, 25)] == [0, 1]


def test_lists_above_and_below_a_line_across_are_parted_each_by_itself_from_the_foot():
    rows = zip(LEFT, RIGHT, strict=True)
    across = row_of(3, [(100, "x" * 14)])
    held = [row_of(n + (n > 2), [(100, a), (199, b)]) for n, (a, b) in enumerate(rows, 1)]
    found = [ways[0] for ways in lists_in([*held[:2], across, *held[2:]])]
    assert [way[:2] for way in found] == [(3, 5), (0, 2)]
    assert [texts_of(way.lines) for way in found] == [
        ["cccc", "dddd", "oooo", "pppp"], ["aaaa", "bbbb", "mmmm", "nnnn"],
    ]  # fmt: skip


def test_a_row_that_has_nothing_in_the_middle_list_has_parts_of_the_others():
    rows = zip(LEFT, RIGHT, ["ssss", "tttt", "uuuu", "vvvv"], strict=True)
    held = [row_of(n, [(100, a), (200, b), (300, c)]) for n, (a, b, c) in enumerate(rows, 1)]
    held[1] = row_of(2, [(100, "bbbb"), (300, "tttt")])
    wanted = [*LEFT, "mmmm", "oooo", "pppp", "ssss", "tttt", "uuuu", "vvvv"]
    assert texts_of(down(held)[0]) == wanted


def test_three_lists_have_two_gutters_and_a_column_of_no_matter_is_none():
    rows = zip(LEFT, RIGHT, ["ssss", "tttt", "uuuu", "vvvv"], strict=True)
    held = [row_of(n, [(100, a), (200, b), (300, c)]) for n, (a, b, c) in enumerate(rows, 1)]
    way, across_one, *_ = down(held)
    assert texts_of(way) == [*LEFT, *RIGHT, "ssss", "tttt", "uuuu", "vvvv"]
    assert [line.column for line, _ in way[::4]] == [0, 1, 2]
    # White that is less wide may part but numbers from their entries.
    assert len(across_one) == 8


def test_columns_of_the_layout_may_be_read_row_by_row():
    left = [row_of(n, [(100, text)], y=100 + 24 * (n - 1)) for n, text in enumerate(LEFT, 1)]
    right = [
        row_of(n + 4, [(300, text)], column=1, y=103 + 24 * (n - 1))
        for n, text in enumerate(RIGHT, 1)
    ]
    (way,) = other_orders([*left, *right])
    assert texts_of(way) == ["aaaa", "mmmm", "bbbb", "nnnn", "cccc", "oooo", "dddd", "pppp"]
    # Level to half an x-height: 5 px.
    for off, ways in ((4, []), (5, [["mmmm", "aaaa"]])):
        line, read = left[0]
        lower = replace(line, baseline=(114.0 + off,) * 2), read
        higher = replace(right[0][0], baseline=(114.0, 114.0)), right[0][1]
        assert [texts_of(way) for way in other_orders([lower, higher])] == ways


def test_what_stands_apart_under_all_other_columns_may_come_last():
    left = [row_of(n, [(100, text)]) for n, text in enumerate(LEFT, 1)]
    right = [row_of(n + 5, [(300, t)], column=1, y=100 + 24 * (n - 1)) for n, t in
             enumerate(RIGHT, 1)]  # fmt: skip
    for white, last in ((31, False), (32, True)):
        foot = row_of(5, [(100, "foot")], y=172 + white)
        ways = [texts_of(way) for way in other_orders([*left, foot, *right])]
        assert ([*LEFT, *RIGHT, "foot"] in ways) is last
    # Not what is level with the other column's last.
    level = row_of(5, [(100, "foot")], y=250)
    deep = row_of(10, [(300, "qqqq")], column=1, y=250)
    ways = [texts_of(way) for way in other_orders([*left, level, *right, deep])]
    assert [*LEFT, *RIGHT, "qqqq", "foot"] not in ways


# --- tickets --------------------------------------------------------------------------------------


def test_boxes_are_places_row_by_row_and_a_row_may_lack_some():
    lines = [
        line(1, x=100, y=100, ticket=1), line(2, x=100, y=124, ticket=1),
        line(3, x=500, y=100, ticket=2), line(4, x=500, y=300, ticket=3),
        line(5, x=100, y=500),
    ]  # fmt: skip
    (gang,) = gangs(lines, range(5))
    assert (gang.places, gang.across, gang.outside) == (((0, 1), (2,), (), (3,)), 2, (4,))
    assert gang.plain
    assert gang.order(down=False) == [0, 1, 2, 3]
    assert gang.order(down=True) == [0, 2, 1, 3]
    assert Gang(((), (), ()), 3).order(down=True) == [0, 1, 2]


def sheet_of_tickets(across, down, *, gutter=100, between=60, rows=2):
    """Lines of so many tickets, each of two rows 24 px apart and 200 px wide."""
    out = []
    for at in range(across * down):
        column, band = at % across, at // across
        for row in range(rows):
            x = 100 + column * (200 + gutter)
            y = 100 + band * (24 * (rows - 1) + 14 + between) + 24 * row
            out.append(line(len(out) + 1, x=x, y=y))
    return out


@pytest.mark.parametrize(("across", "down"), [(1, 1), (2, 1), (1, 2), (2, 2), (3, 2), (2, 4)])
def test_white_at_an_even_pitch_parts_tickets(across, down):
    lines = sheet_of_tickets(across, down)
    found = gangs(lines, range(10, 10 + len(lines)))
    places = tuple((10 + 2 * k, 11 + 2 * k) for k in range(across * down))
    assert (places, across) in [(gang.places, gang.across) for gang in found]
    # All on one is always among them, and first.
    assert found[0].places == (tuple(range(10, 10 + len(lines))),)
    wanted = next(gang for gang in found if (gang.places, gang.across) == (places, across))
    assert wanted.plain


def test_a_gutter_is_1_5_x_heights_and_white_between_tickets_half_as_much_again_as_within():
    for gutter, parted in ((15, True), (14, False)):
        lines = sheet_of_tickets(2, 1, gutter=gutter)
        assert (2 in [gang.across for gang in gangs(lines, range(4))]) is parted
    # Within a ticket 24 px from foot to foot: 14 of white over letters of 10.
    for between, plain in ((17, True), (16, False)):
        lines = sheet_of_tickets(1, 2, between=between)
        wanted = [gang for gang in gangs(lines, range(4)) if gang.places == ((0, 1), (2, 3))]
        assert wanted[0].plain is plain


@pytest.mark.parametrize(
    ("copy", "up", "parts"),
    [
        ("Admit one\nNo. 1\nAdmit one\nNo. 2", 0, 2),
        ("Admit one\nNo. 1\nAdmit one\nNo. 2\nAdmit one\nNo. 3", 0, 3),
        ("Admit one\nNo. 1\n\nAdmit  one\nNo. 22", 0, 2),
        ("Admit one\nNo. 1", 0, 1),
        ("Admit one", 0, 1),
        ("", 0, 1),
        ("Admit one\nNo. 1\nGrand concert\nDoors open", 0, 1),
        # Four rows alike are four tickets of one, two of two where so many are asked for.
        ("Admit one\nAdmit one\nAdmit one\nAdmit one", 0, 2),
        ("a b c\nd e f\ng h i\na b c\nd e f\ng h i", 0, 2),
        ("\n".join(["Admit one", "No. 1"] * 4), 0, 4),
        ("\n".join(["Admit one", "No. 1"] * 4), 2, 2),
        ("\n".join(["Admit one", "No. 1"] * 4), 3, 4),
    ],
)
def test_copy_of_all_tickets_is_as_many_as_it_can_be_said_to_be(copy, up, parts):
    assert parts_of(copy, up) == parts


# --- order ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("sequence", list(permutations(range(5))))
def test_no_more_lines_can_stand_in_good_order_than_are_said_to(sequence):
    steady = steady_of(sequence)
    kept = [k for k in sequence if k in steady]
    assert kept == sorted(kept)
    for size in range(len(steady) + 1, 6):
        assert not any(list(c) == sorted(c) for c in combinations(sequence, size))
    blocks = stray_blocks(sequence)
    assert sorted(k for block in blocks for k in block) == sorted(set(sequence) - steady)
    for block in blocks:
        # A run follows itself in the proof and in the copy.
        assert [sequence.index(k) - sequence.index(block[0]) for k in block] == [*range(len(block))]
        assert block == [*range(block[0], block[0] + len(block))]


def test_a_line_that_could_not_be_placed_goes_with_the_line_before_it():
    order = Order({0: (0, 5), 2: (10, 15), 3: (6, 9)}, {5: 2})
    # Line 1 goes with line 0; line 4 not with line 3, which is astray, but with line 2.
    assert order.sequence(6) == [0, 1, 3, 2, 4]
    assert order.sequence(6, frozenset({1})) == [0, 3, 2, 4]
    assert Order().sequence(3) == [0, 1, 2]
    # One astray carries none with it: line 2 belongs to line 0, which is steady.
    astray = Order({0: (0, 5), 1: (90, 95), 3: (10, 15), 4: (20, 25)})
    assert astray.sequence(5) == [0, 2, 3, 4, 1]
    # Before the first that is placed nothing goes before.
    assert Order({1: (0, 5)}).sequence(3) == [0, 1, 2]
    assert stray_blocks([]) == []
    assert stray_blocks([3, 4, 0, 1, 2]) == [[3, 4]]
    assert steady_of([2, 0, 1]) == {0, 1}


# --- lines of the shop's own ----------------------------------------------------------------------


def test_the_shop_s_own_line_is_let_go_at_the_head_or_foot_alone():
    lines = [line(1), line(2), line(3), line(4, sheet=1, y=100), line(5, sheet=1, y=124)]
    own = "Printed at the Mill."
    for at, outermost in ((1, True), (2, False), (3, True), (4, True), (5, True)):
        texts = {n: own if n == at else "matter" for n in range(1, 6)}
        readings = laid(lines, texts).readings
        found = own_lines_on(lines, readings, [own], "matter")
        assert found == ({at} if outermost else frozenset())
        # Nor is it, where it is not to the letter as named, or where the copy has it.
        assert not own_lines_on(lines, readings, ["Printed at the Mil."], "matter")
        assert not own_lines_on(lines, readings, [own], f"matter {own}")
        assert not own_lines_on(lines, readings, [""], "matter")
    # A line level with it on either side does not stand above it or below.
    beside = [line(1), line(2, x=400, y=104), line(3)]
    texts = {1: own, 2: "matter", 3: "matter"}
    assert own_lines_on(beside, laid(beside, texts).readings, [own], "x") == {1}
    assert own_lines_on(beside, laid(beside, {2: own}).readings, [own], "x") == {2}


# --- which line comes after which -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("first", "second", "step"),
    [
        # On one sheet and in one column by their numbers; sheets by theirs.
        (line(1), line(2), "ON"), (line(2), line(1), "BACK"),
        (line(1), line(2, sheet=1), "ON"), (line(1, sheet=1), line(2), "BACK"),
        # To the right is on, to the left below is across, to the left level with it is back.
        (line(1), line(2, x=400, y=100, column=1), "ON"),
        (line(1), line(2, x=400, y=60, column=1), "ON"),
        (line(1, x=400, column=1), line(2, y=107), "ACROSS"),
        (line(1, x=400, column=1), line(2, y=106), "BACK"),
        # Where they stand over one another, below is on and above is back.
        (line(1), line(2, x=250, y=107, column=1), "ON"),
        (line(1), line(2, x=250, y=106, column=1), "BACK"),
        (line(1), line(2, x=300, y=60, column=1), "ON"),
    ],
)  # fmt: skip
def test_how_two_lines_stand_that_follow_one_another_in_the_copy(first, second, step):
    setting = laid(sorted((first, second), key=lambda one: one.number))
    places = (setting.place[first.number], setting.place[second.number])
    assert makeup._step(*places, setting).name == step


def test_without_geometry_lines_follow_by_their_numbers():
    setting = Setting([Reading(1, ()), Reading(2, ())], {})
    assert [makeup._step(*pair, setting).name for pair in ((0, 1), (1, 0))] == ["ON", "BACK"]


@pytest.mark.parametrize(
    ("numbers", "words"),
    [([0], "page 1"), ([1, 2], "pages 2 and 3"), ([0, 2, 3], "pages 1, 3 and 4")],
)
def test_pages_are_named_from_one(numbers, words):
    assert makeup._named("page", numbers) == words


# --- where a line may be in the copy --------------------------------------------------------------

COPY = "The band plays on the green at seven, and the choir sings at eight in the old mill."
PARTS = [
    "The band plays on the green",
    "at seven, and the choir",
    "sings at eight in the old mill.",
]


def test_every_line_is_placed_where_its_letters_are():
    whole, lines = loose(COPY), [loose(part) for part in PARTS]
    found = candidates(whole, lines)
    for row, part in enumerate(PARTS):
        best = next(each for each in found if each.line == row)
        before = len(loose(COPY[: COPY.index(part)]).codes)
        assert (best.start, best.end) == (before, before + len(lines[row].codes))
        assert best.share == 1.0
    kept = chain(found, [len(each.codes) for each in lines])
    assert [each.line for each in kept] == [0, 1, 2]
    assert [each.start for each in kept] == sorted(each.start for each in kept)
    # A wrong letter takes the runs it stands in, and the place stays.
    one = candidates(whole, [loose("at sevem, and the choir")])[0]
    assert one.start == len(loose(COPY[: COPY.index(PARTS[1])]).codes)
    assert 0.5 < one.share < 1.0
    assert candidates(whole, [loose("qxzqxzqxz")]) == []
    assert candidates(whole, []) == []
    assert candidates(loose(""), lines) == []


def test_lines_out_of_order_are_not_all_of_one_chain():
    whole, lines = loose(COPY), [loose(PARTS[k]) for k in (1, 0, 2)]
    kept = chain(candidates(whole, lines), [len(each.codes) for each in lines])
    assert [each.line for each in kept] in ([0, 2], [1, 2])
    order = find_order(whole, lines, frozenset())
    assert order.sequence(3) == [1, 0, 2]
    assert order.doubled == {}
    # What is skipped has no place; what stands twice repeats the other.
    assert find_order(whole, lines, frozenset({1})).places.keys() == {0, 2}
    twice = find_order(whole, [loose(PARTS[k]) for k in (0, 0, 1, 2)], frozenset())
    assert len(twice.doubled) == 1
    assert set(twice.doubled.items()) <= {(0, 1), (1, 0)}
    assert alike(loose("the band plays"), loose("the band plsys"))
    assert not alike(loose("the band plays"), loose("a choir sings"))
