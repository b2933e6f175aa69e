"""The table of marks: whole, drawn, sourced, and answering to the plates."""

import numpy as np
import pytest

from proofcheck.marks import SIGNS, SOURCES, sign
from proofcheck.marks.paths import extent, parse
from proofcheck.marks.strokes import POINTS, point_drawing, sign_drawing
from proofcheck.marks.textmarks import TEXT_MARKS, Spot, text_mark
from proofcheck.results.marked.marks_table import draw_marks_sheet, marks_text

# Signs on the printed table of Bleyer, Newspaper Writing and Editing (1913), in its order and
# with its own words shortened, and the sign of ours that answers to each.
PLATE_1913 = {
    "begin a new paragraph": "paragraph",
    "don't begin a new paragraph": "no-paragraph",
    "make one element follow the other": "run-in",
    "correct uneven spacing": "equal-space",
    "put in space": "space",
    "reduce the space": "less-space",
    "close up": "close-up",
    "close up but leave some space": "close-up-some",
    "push down a space that prints": "push-down",
    "thin spaces between letters": "letter-space",
    "move to the left": "move-left",
    "move to the right": "move-right",
    "move up": "move-up",
    "move down": "move-down",
    "indent one em": "indent-one",
    "make lines parallel": "align",
    "make letter align": "straighten",
    "turn over": "turn",
    "transpose": "transpose",
    "roman": "roman",
    "italic": "italic",
    "capital": "caps",
    "small capital": "small-caps",
    "lower case": "lower-case",
    "black or bold face": "bold",
    "regular for wrong font": "wrong-font",
    "perfect for imperfect type": "broken",
    "period": "period",
    "comma": "comma",
    "semi-colon": "semicolon",
    "colon": "colon",
    "apostrophe": "apostrophe",
    "double quotation marks": "quotes",
    "single quotation marks": "single-quote",
    "one-em dash": "em-dash",
    "two-em dash": "two-em-dash",
    "hyphen": "hyphen",
    "question mark": "question-mark",
    "exclamation point": "exclamation",
    "put in element in margin": "insert",
    "take out": "dele",
    "let it stand": "stet",
    "look this up": "query",
    "see what has been omitted": "out-see-copy",
    "full form for abbreviation": "spell-out",
    "numerical figures": "figures",
}

# The plate of A Few Suggestions to McGraw-Hill Authors (1922), by its numbers.
PLATE_1922 = {
    1: "insert",
    2: "period",
    3: "apostrophe",
    4: "quotes",
    5: "hyphen",
    6: "space",
    7: "close-up",
    8: "dele",
    9: "lower-case",
    10: "caps",
    11: "small-caps",
    12: "italic",
    13: "roman",
    14: "wrong-font",
    15: "transpose",
    17: "paragraph",
    18: "no-paragraph",
    19: "stet",
    20: "query",
    21: "broken",
    24: "push-down",
}


@pytest.mark.parametrize("name", PLATE_1913.values())
def test_signs_of_the_1913_plate_are_here_and_say_so(name):
    assert "1913" in sign(name).sources


@pytest.mark.parametrize("name", PLATE_1922.values())
def test_signs_of_the_1922_plate_are_here_and_say_so(name):
    assert "1922" in sign(name).sources


def test_no_sign_claims_the_1913_plate_without_being_on_it():
    # Besides its table the 1913 book has a corrected proof (lead, change of letters and words)
    # and apostrophes that show how a superior or inferior sign is held.
    elsewhere = {"lead", "replace", "replace-word", "superior", "inferior"}
    claimed = {row.name for row in SIGNS.values() if "1913" in row.sources}
    assert claimed == set(PLATE_1913.values()) | elsewhere


@pytest.mark.parametrize("row", SIGNS.values(), ids=lambda row: row.name)
def test_every_sign_is_whole(row):
    assert row.sources
    assert set(row.sources) <= set(SOURCES)
    assert row.text in TEXT_MARKS
    assert row.ascii.isascii()
    assert row.meaning
    held = extent(sign_drawing(row.name))
    assert held.left == pytest.approx(0.0, abs=1e-9)
    assert 0.3 < held.width < 14
    assert 0.25 < held.height < 2.6
    assert held.low > -0.8
    assert held.high < 2.0


@pytest.mark.parametrize("name", TEXT_MARKS)
@pytest.mark.parametrize("spot", [Spot(0.0), Spot(0.6), Spot(12.0, 1.5, -0.5)])
def test_text_marks_stand_at_their_place(name, spot):
    drawing = text_mark(name, spot)
    if name == "uprights" and not spot.width:
        return
    held = extent(drawing)
    assert held.left > -1.2
    assert held.right < spot.width + 1.2
    assert all(np.isfinite(s.points).all() for s in drawing)


class TestShapesOfThePlates:
    """What can be said in numbers of how the plates of 1913 and 1922 draw their signs."""

    def test_period_and_colon_are_dots_within_a_ring(self):
        for char, dots in ((".", 1), (":", 2)):
            *inside, ring = point_drawing(char)
            assert len(inside) == dots
            held, around = extent(tuple(inside)), extent((ring,))
            assert around.left < held.left
            assert held.right < around.right
            assert np.allclose(ring.points[0], ring.points[-1], atol=0.2)

    def test_comma_hangs_under_a_roof_and_quotes_stand_in_a_cup(self):
        roof, *comma = point_drawing(",")
        apex = roof.points[1]
        assert apex[1] > max(roof.points[0][1], roof.points[2][1])
        assert extent(tuple(comma)).high < apex[1]
        for char, marks in (("’", 1), ("”", 2)):
            cup, *quote = point_drawing(char)
            foot = cup.points[1]
            assert foot[1] < min(cup.points[0][1], cup.points[2][1])
            assert extent(tuple(quote)).low > foot[1]
            assert sum(len(s.points) == 1 for s in quote) == marks

    def test_hyphen_is_two_bars_and_the_closing_stroke(self):
        *bars, slash = point_drawing("-")
        assert len(bars) == 2
        assert all(extent((bar,)).height < 0.1 for bar in bars)
        assert extent((slash,)).height > 1.8

    def test_em_dash_has_its_figure_over_the_bar_between_uprights(self):
        left, bar, *figure, right = point_drawing("—")
        assert extent((left,)).right < extent((bar,)).left
        assert extent((bar,)).right < extent((right,)).left
        assert extent(tuple(figure)).low > extent((bar,)).high

    def test_dele_is_one_stroke_with_two_loops(self):
        (stroke,) = sign_drawing("dele")
        assert _crossings(stroke.points) == 2

    def test_turn_is_a_spiral_outwards_with_the_clock(self):
        (stroke,) = sign_drawing("turn")
        x, y = (stroke.points - stroke.points[:20].mean(axis=0)).T
        turned = np.unwrap(np.arctan2(y, x))
        assert turned[-1] - turned[0] < -2 * np.pi * 1.3

    def test_caret_points_up_at_the_baseline(self):
        (stroke,) = text_mark("caret", Spot(0.0))
        left, apex, right = stroke.points
        assert apex[1] == pytest.approx(0.0, abs=0.1)
        assert apex[1] > max(left[1], right[1])

    def test_stroke_through_a_letter_leans_to_the_right_at_its_head(self):
        (stroke,) = text_mark("stroke", Spot(0.6))
        head, foot = stroke.points
        assert head[1] > 1
        assert foot[1] < 0
        assert head[0] > foot[0]

    @pytest.mark.parametrize(
        ("name", "count"), [("underline", 1), ("underline-2", 2), ("underline-3", 3)]
    )
    def test_lines_under_for_italic_small_capitals_and_capitals(self, name, count):
        drawing = text_mark(name, Spot(4.0))
        assert len(drawing) == count
        assert extent(drawing).high < 0


def _crossings(points):
    count = 0
    for i in range(len(points) - 1):
        for j in range(i + 2, len(points) - 1):
            count += _cross(points[i], points[i + 1], points[j], points[j + 1])
    return count


def _cross(a, b, c, d):
    def side(p, q, r):
        return np.sign((q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]))

    return bool(side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0)


def test_points_have_signs_of_their_own():
    assert set(POINTS.values()) <= set(SIGNS)


@pytest.mark.parametrize("broken", ["L1,1", "M1", "M0,0Q1,1", "A0,0,1,1,0"])
def test_a_broken_path_is_refused(broken):
    with pytest.raises(ValueError, match="path"):
        parse(broken)


def test_the_table_as_text_names_every_sign_and_fits_a_terminal():
    text = marks_text()
    assert all(row.meaning in text for row in SIGNS.values())
    assert max(map(len, text.splitlines())) <= 140
    assert marks_text(ascii_only=True).isascii()


def test_the_sheet_is_drawn_once_and_not_over_another_file(tmp_path):
    from proofcheck.base.errors import OutputError

    for name, magic in (("marks.pdf", b"%PDF"), ("marks.png", b"\x89PNG")):
        path = draw_marks_sheet(tmp_path / name)
        assert path.read_bytes().startswith(magic)
        with pytest.raises(OutputError, match="exists already"):
            draw_marks_sheet(path)
    with pytest.raises(OutputError, match=r"\.pdf or \.png"):
        draw_marks_sheet(tmp_path / "marks.txt")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["marks.pdf", "marks.png"]
