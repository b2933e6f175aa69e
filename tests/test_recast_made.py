"""Paragraphs put right on matter made by hand, every letter 5 points wide, reckoned to the point.

What is to come of each follows from the widths: lines of ten or twenty letters, a measure of 100
points, spaces of the case from the 5-to-em to two 3-to-ems (Stewart, *Typesetting*, 1919).
"""

from __future__ import annotations

import string
from dataclasses import dataclass, replace

import numpy as np
import pytest

from proofcheck.base.found import Collation, Placing
from proofcheck.base.values import Box, Copy, Emphasis, Letter, Reading, Span
from proofcheck.recast.faces import Face
from proofcheck.recast.galley import Galley, Measure, StandingLine
from proofcheck.recast.resetting import MOST_MATTER, Resetter
from proofcheck.recast.settings import CastSettings
from proofcheck.recast.stretch import Damage, touched_paragraphs
from proofcheck.recast.widths import SeenLine, SetWidth, SetWidths, fit_widths

FIVES = Face("fives", dict.fromkeys(string.ascii_letters + string.digits + string.punctuation, 0.5))
BY_HAND = CastSettings(hand_set=True)


@dataclass(frozen=True)
class Printed:
    """One printed line: what of the copy it holds, and how it stands."""

    copy: str
    text: str = ""
    full: bool = True
    indent: float = 0.0
    size: int = 0
    column: tuple[int, int] = (0, 0)


def put_right(text, printed, *, settings=BY_HAND, emphasis=(), widths=None, **damage):
    """The resetter after all the paragraphs that the damage touches; each line of copy is one."""
    spans, at = [], 0
    for row in text.split("\n"):
        spans.append(Span(at, at + len(row)))
        at += len(row) + 1
    copy = Copy(text, "c.txt", "0" * 64, "utf-8", tuple(s for s in spans if len(s)), emphasis)
    placings, lines, readings, found = [], {}, [], 0
    for number, line in enumerate(printed, 1):
        found = text.index(line.copy, found)
        placings.append(Placing(number, Span(found, found + len(line.copy))))
        lines[number] = StandingLine(
            number, line.column, line.size, line.indent, 100.0, line.full, line.indent, 4.0
        )
        letters = tuple(Letter(c, Box(0, 0, 1, 1), 1.0) for c in line.text or line.copy)
        readings.append(Reading(number, letters))
        found += len(line.copy)
    sizes = {line.size for line in printed} | {0}
    measures = {
        column: Measure(0.0, 100.0 + 50 * column[1], 12.0 + column[1])
        for column in {line.column for line in printed} | {(0, 0)}
    }
    held = {
        size: SetWidths(10.0 * (1 + size), FIVES, (widths or {}) if not size else {})
        for size in sizes
    }
    bodies = {size: 10.0 * (1 + size) for size in sizes}
    galley = Galley(lines, measures, held, bodies, dict.fromkeys(sizes, 0.0))
    harm = Damage(**damage)
    resetter = Resetter(galley, copy, readings, harm, settings)
    for paragraph in touched_paragraphs(copy, Collation(tuple(placings), ()), harm):
        resetter.put_right(paragraph)
    return resetter


FOURS = "aaaa bbbb cccc dddd eeee ffff gggg hhhh iiii jjjj kkkk llll"
LINES = [Printed(FOURS[:19]), Printed(FOURS[20:39]), Printed(FOURS[40:], full=False)]
"""Four words a line: 80 pt and three spaces of 6⅔ pt; ff is as wide as two f."""


def test_one_line_amiss_is_cast_again_and_no_other():
    made = put_right(FOURS, LINES, recast={2: ["F1", "F2", "F1"]})
    (change,) = made.numbered()
    (slug,) = change.slugs
    assert (change.lines, change.after, change.faults) == ((2,), 1, ("F1", "F2"))
    assert (change.first_words, change.last_words) == ("eeee ffff gggg", "ffff gggg hhhh")
    assert (change.pitch_pt, change.gained, change.depth_pt) == (12.0, 0, 0.0)
    assert (slug.text, slug.measure_pt, slug.indent_pt) == (FOURS[20:39], 100.0, 0.0)
    assert (slug.body_pt, slug.number, slug.divided, slug.thin) == (10.0, 1, False, False)
    assert slug.space_pt == pytest.approx(20 / 3)
    assert slug.spread
    assert (made.notes, made.queries, made.run_on_slugs) == ([], [], 1)


def test_the_last_line_is_not_spread_and_has_the_usual_space():
    made = put_right(FOURS, LINES, recast={3: ["F1"]})
    (change,) = made.numbered()
    (slug,) = change.slugs
    assert (change.lines, change.after) == ((3,), 2)
    # What the line has room for, 20 pt for three spaces, is more than the 3-to-em.
    assert slug.space_pt == pytest.approx(10 / 3)
    assert not slug.spread


def test_changes_are_told_in_the_order_of_the_proof_and_slugs_numbered_through():
    text = f"{FOURS}\n{FOURS.upper()}"
    upper = [replace(line, copy=line.copy.upper()) for line in LINES]
    made = put_right(text, [*LINES, *upper], recast={1: ["F1"], 3: ["F2"], 5: ["F3"]})
    changes = made.numbered()
    assert [change.lines for change in changes] == [(1,), (3,), (5,)]
    assert [change.after for change in changes] == [0, 2, 4]
    assert [slug.number for change in changes for slug in change.slugs] == [1, 2, 3]
    assert [change.faults for change in changes] == [("F1",), ("F2",), ("F3",)]
    assert made.run_on_slugs == 3


def test_words_of_italic_are_as_wide_as_italic_letters_are():
    # “eeee” in an italic of 6 pt a letter is 4 pt longer: its line has 16 pt for three spaces.
    at = FOURS.index("eeee")
    wide = {"italic e": SetWidth(6.0, 0.1, 40)}
    for start, end, space in (
        (at, at + 4, 16 / 3),
        (at + 3, at + 4, 19 / 3),
        # Italic of any other word, or that ends where this begins, changes nothing.
        (at - 5, at, 20 / 3),
        (at + 4, at + 9, 20 / 3),
    ):
        slant = (Emphasis(Span(start, end), "italic"),)
        made = put_right(FOURS, LINES, recast={2: ["F1"]}, widths=wide, emphasis=slant)
        ((slug,),) = [change.slugs for change in made.numbered()]
        assert slug.space_pt == pytest.approx(space)


def test_a_line_too_open_for_its_spaces_takes_thin_spaces_beside_them():
    # Fifteen letters leave 25 pt for three spaces, 8⅓ pt each: more than two 3-to-ems, less than
    # with the widest thin space beside each (2.8 pt; Stewart 1919). Less matter would be worse.
    text = "aaaaa bbbb cccc dd eeeeeeeeeeee"
    made = put_right(text, [Printed(text[:18]), Printed(text[19:])], recast={1: ["F1"]})
    ((slug,),) = [change.slugs for change in made.numbered()]
    assert (slug.text, slug.thin) == (text[:18], True)
    assert slug.space_pt == pytest.approx(25 / 3)
    # A letter less is too much for both.
    text = text.replace("aaaaa", "aaa")
    made = put_right(text, [Printed(text[:16]), Printed(text[17:])], recast={1: ["F1"]})
    assert made.numbered() == ()
    assert made.notes[0].startswith("no plan for lines 1 to 2: ")


def test_what_fits_in_no_way_is_left_to_a_hand_and_said():
    text = "incomprehensibilities " * 2 + "end"
    lines = [
        Printed("incomprehensibilities"), Printed("incomprehensibilities"),
        Printed("end", full=False),
    ]  # fmt: skip
    settings = CastSettings(hand_set=True, language="xxx")
    made = put_right(text, lines, settings=settings, recast={1: ["F1"], 2: ["F2"], 3: ["F3"]})
    assert made.numbered() == ()
    (note,) = made.notes
    assert note == (
        "no plan for lines 1 to 3: no setting keeps its spaces within the bands; space by hand"
    )


def test_a_paragraph_longer_than_any_is_not_planned_at_one_time():
    for count, why in (
        (MOST_MATTER, "no setting keeps its spaces within the bands; space by hand"),
        (MOST_MATTER + 1, "it is longer than is planned at one time"),
    ):
        made = put_right("a" * count, [Printed("a" * 20)], recast={1: ["F1"]})
        assert made.notes == [f"no plan for lines 1 to 1: {why}"]


# --- paragraphs of which nothing is printed -------------------------------------------------------

HEAD = "GRAND CONCERT"
GONE = f"{HEAD}\n{FOURS}\n{FOURS.upper()}"
HEADED = [Printed(HEAD, full=False, indent=20.0, size=1), *LINES]


def test_a_paragraph_not_printed_goes_in_after_the_line_before_it_in_the_shape_of_its_fellows():
    start = GONE.index("AAAA")
    made = put_right(GONE, HEADED, wanting=[(Span(start, len(GONE)), "F1")], after={start: 4})
    (change,) = made.numbered()
    assert (change.lines, change.after, change.faults) == ((), 4, ("F1",))
    assert (change.first_words, change.last_words) == ("", "")
    # Its first line is indented by an em (common practice): no four words go in.
    assert [slug.indent_pt for slug in change.slugs] == [10.0] + [0.0] * (len(change.slugs) - 1)
    assert " ".join(slug.text for slug in change.slugs) == FOURS.upper()
    assert change.pitch_pt == 12.0
    assert change.gained == len(change.slugs)
    assert change.depth_pt == 12.0 * len(change.slugs)
    assert made.run_on_slugs >= len(change.slugs)


def test_it_is_set_as_the_full_line_that_it_follows_or_else_as_most_lines_are():
    # In the size of the line before where that is full; a head or a short line says nothing.
    start = GONE.index("AAAA")
    wanting = [(Span(start, len(GONE)), "F1")]
    for follows in (1, 3):
        made = put_right(GONE, HEADED, wanting=wanting, after={start: follows})
        slugs = [slug for change in made.numbered() for slug in change.slugs]
        assert {slug.body_pt for slug in slugs} == {10.0}
    # Twice as large not two of its words go into the measure with a space that is allowed.
    big = [replace(HEADED[0], full=True, indent=0.0), *LINES]
    made = put_right(GONE, big, wanting=wanting, after={start: 1})
    assert made.numbered() == ()
    (note,) = made.notes
    assert note.startswith("no plan for a paragraph that is not printed: no setting")


def test_of_a_proof_with_no_line_nothing_is_planned():
    made = put_right(FOURS, [], wanting=[(Span(0, len(FOURS)), "F1")])
    assert made.numbered() == ()
    assert made.notes == [
        "no plan for a paragraph that is not printed: no printed line shows how it is set"
    ]


def test_matter_wanting_at_the_head_goes_in_before_the_first_line_of_its_paragraph():
    text = f"{HEAD}\n{FOURS}"
    lines = [HEADED[0], *LINES[1:]]
    made = put_right(text, lines, wanting=[(Span(14, 34), "F1")])
    (change,) = made.numbered()
    assert change.after == 1
    assert change.slugs[0].text.startswith("aaaa")
    assert (change.lines, change.faults) == ((), ("F1",))


def test_a_fault_is_cured_by_the_change_in_whose_stretch_it_lies_and_by_no_other():
    text = f"{FOURS}\n{FOURS.upper()}"
    upper = [replace(line, copy=line.copy.upper()) for line in LINES]
    one, two = text.index("ffff"), text.index("GGGG")
    made = put_right(
        text, [*LINES, *upper],
        recast={2: ["F1"], 5: ["F2"]},
        wanting=[(Span(one, one + 4), "F3"), (Span(two, two + 4), "F4")],
    )  # fmt: skip
    assert [change.faults for change in made.numbered()] == [("F1", "F3"), ("F2", "F4")]


def test_a_fault_that_ends_where_a_stretch_begins_or_begins_where_it_ends_is_not_of_it():
    # Line 2 is cast again; what is wanting at the end of line 1 or the head of line 3 is theirs.
    for start, end, of_it in ((19, 20, False), (19, 21, True), (40, 44, False), (39, 41, True)):
        made = put_right(FOURS, LINES, recast={2: ["F1"]}, wanting=[(Span(start, end), "F2")])
        changes = [change for change in made.numbered() if change.lines == (2,)]
        assert [change.faults for change in changes] == [("F1", "F2") if of_it else ("F1",)], start


# --- lines by themselves --------------------------------------------------------------------------


def test_a_display_line_keeps_its_indention_and_is_told_where_it_gets_too_long():
    # 80 pt of line for the twelve letters read; put right it is longer as its letters are.
    for letters, length in ((2, 93), (3, 100), (4, 107)):
        text = f"{HEAD[:5]}{letters * 'X'} CONCERT"
        made = put_right(text, [Printed(text, HEAD, full=False, indent=20.0)], recast={1: ["F1"]})
        ((slug,),) = [change.slugs for change in made.numbered()]
        assert (slug.text, slug.measure_pt, slug.indent_pt) == (text, 100.0, 20.0)
        assert (slug.space_pt, slug.body_pt, slug.spread) == (0.0, 10.0, False)
        assert len(made.notes) == (length > 101)
        for note in made.notes:
            assert note.startswith(f"line 1 will be about {length} pt long put right, more than ")
            assert "its measure of 100 pt: " in note
        assert made.run_on_slugs == 1


def test_a_line_that_stands_out_over_the_edge_is_not_indented_the_other_way():
    made = put_right(HEAD, [Printed(HEAD, full=False, indent=-3.0)], recast={1: ["F1"]})
    assert [slug.indent_pt for change in made.numbered() for slug in change.slugs] == [0.0]


def test_rows_with_leaders_are_cast_one_by_one_each_in_its_column():
    text = "tea black\t3d\nred wine\t5d"
    rows = [
        Printed("tea black\t3d", "tea blak .... 3d"),
        Printed("red wine\t5d", "red wine .... 5d", column=(0, 1)),
    ]
    made = put_right(text, rows, recast={1: ["F1"], 2: ["F2"]})
    one, two = made.numbered()
    assert [slug.text for change in (one, two) for slug in change.slugs] == [
        "tea black ..... 3d", "red wine ..... 5d",
    ]  # fmt: skip
    assert [slug.measure_pt for change in (one, two) for slug in change.slugs] == [100.0, 150.0]
    assert (one.lines, two.lines, two.after) == ((1,), (2,), 1)
    assert (one.pitch_pt, two.pitch_pt) == (12.0, 13.0)
    # Leaders give: no row of them is too long.
    assert made.notes == []
    assert made.run_on_slugs == 2


def test_a_row_of_which_nothing_is_printed_has_leaders_as_its_fellows_have():
    text = "tea black\t3d\nred wine\t5d"
    for printed, wanted in (
        ("tea black .... 3d", "red wine ..... 5d"),
        ("tea black 3d", "red wine 5d"),
    ):
        start = text.index("red")
        row = Printed("tea black\t3d", printed)
        made = put_right(text, [row], wanting=[(Span(start, len(text)), "F1")], after={start: 1})
        (change,) = made.numbered()
        (slug,) = change.slugs
        assert slug.text == wanted
        assert (change.lines, change.after, change.faults) == ((), 1, ("F1",))
        assert (slug.measure_pt, slug.spread, slug.space_pt) == (100.0, False, 0.0)
    # Where no line is printed at all nothing is known of its measure, and its body is no figure.
    made = put_right("red wine\t5d", [], wanting=[(Span(0, 11), "F1")])
    (change,) = made.numbered()
    (slug,) = change.slugs
    assert (slug.measure_pt, slug.indent_pt, slug.space_pt, slug.spread) == (0.0, 0.0, 0.0, False)
    assert slug.body_pt > 0
    assert change.pitch_pt == 0.0


# --- widths, held against least squares solved whole ----------------------------------------------


def test_the_widths_are_those_of_least_squares_where_every_distance_fits():
    # Distances of letters whose right and left parts are known: no noise, so that every weight
    # settles at 1, and what the face says beforehand bends the widths by a little only.
    rng = np.random.default_rng(7)
    names = "abcdefgh"
    right = {name: 4.0 + 0.3 * k for k, name in enumerate(names)}
    left = {name: 0.2 + 0.05 * k for k, name in enumerate(names)}
    lines = []
    for number in range(1, 31):
        units = list(rng.choice(list(names), 24))
        units[8] = units[16] = " "
        places, at, before, gap = [], 10.0, "", 0.0
        for unit in units:
            if unit == " ":
                gap = 3.0 + 0.1 * number
                places.append(0.0)
                continue
            at += right[before] + left[unit] + gap if before else 0.0
            gap, before = 0.0, unit
            places.append(at)
        lines.append(SeenLine(number, tuple(units), tuple(places)))
    face = Face("x", {name: (right[name] + left[name]) / 10 for name in names},
                {name: left[name] / 10 for name in names})  # fmt: skip
    found = fit_widths(lines, face, em_pt=11.0, px_pt=0.24)
    # The size is corrected to that at which the face sets as wide.
    assert found.em_pt == pytest.approx(10.0, rel=0.01)
    for name in names:
        assert found.widths[name].width_pt == pytest.approx(right[name] + left[name], abs=1e-3)
        assert found.left_pt[name] == pytest.approx(left[name], abs=1e-3)
    for number, space in found.spaces_pt.items():
        assert space == pytest.approx(3.0 + 0.1 * number, abs=0.01)
    assert len(found.spaces_pt) == 30
    # Seen as first and as second of about as many distances, at least so often each.
    counts = {name: sum(line.units.count(name) for line in lines) for name in names}
    for name, width in found.widths.items():
        assert 0.8 * counts[name] <= width.seen <= counts[name]
        assert width.measured
    # A letter read amiss now and then is let out of account.
    odd = [
        replace(line, left_pt=(*line.left_pt[:3], line.left_pt[3] + 2.5, *line.left_pt[4:]))
        if line.number % 6 == 0 and " " not in line.units[3:4] else line
        for line in lines
    ]  # fmt: skip
    again = fit_widths(odd, face, em_pt=10.0, px_pt=0.24)
    for name in names:
        assert again.widths[name].width_pt == pytest.approx(right[name] + left[name], abs=0.02)
    assert found.error_pt({"a": 0}) == 0.0
    assert found.error_pt({"a": 4}) == pytest.approx(4 * found.error_pt({"a": 1}))
    assert found.widths["a"].sure_pt == pytest.approx(found.error_pt({"a": 1}))


def test_fewer_than_two_distances_say_nothing_and_fewer_than_eight_nothing_of_the_size():
    face = Face("x", {"a": 0.5}, {"a": 0.05})
    one = fit_widths([SeenLine(1, ("a", "a"), (0.0, 6.0))], face, em_pt=10.0, px_pt=0.24)
    assert (dict(one.widths), one.em_pt) == ({}, 10.0)
    for count, em in ((8, 10.0), (9, 12.0)):
        line = SeenLine(1, ("a",) * count, tuple(6.0 * k for k in range(count)))
        found = fit_widths([line], face, em_pt=10.0, px_pt=0.24)
        assert found.em_pt == pytest.approx(em), count
        assert found.widths["a"].seen == count - 1
