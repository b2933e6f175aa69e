"""Which mark answers to which fault: the conventions of the trade."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from proofcheck.base.found import Cause, Difference, Mark
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Span
from proofcheck.marks import AMERICAN, SIGNS, margin_drawing, mark_for, query_mark
from proofcheck.marks.by_group import with_own
from proofcheck.marks.paths import extent
from proofcheck.marks.textmarks import TEXT_MARKS


def difference(kind, proof="", copy="", *, line=12, other=(), cause=None):
    return Difference(
        kind, line, Span(0, len(proof)), proof, Span(0, len(copy)), copy, cause, other
    )


# Kind, printed, copy → sign, margin, mark in the text. The conventions are those of the older
# American handbooks: Bleyer 1913 (plates), McGraw-Hill 1922 (plate), New International
# Encyclopædia (strike and rewrite transposed letters in machine composition).
CASES = [
    (Kind.WRONG_LETTER, "u", "n", "replace", "n/", "stroke"),
    (Kind.LETTER_MISSING, "", "l", "insert", "l/", "caret"),
    (Kind.LETTER_EXTRA, "e", "", "dele", "₰", "stroke"),
    (Kind.LETTERS_TRANSPOSED, "ei", "ie", "replace", "ie/", "line-through"),
    (Kind.WRONG_WORD, "form", "from", "replace-word", "from/", "line-through"),
    (Kind.WORD_MISSING, "", "the ", "insert", "the/", "caret"),
    (Kind.WORD_EXTRA, " very", "", "dele", "₰", "line-through"),
    (Kind.WORD_DOUBLED, " bed", "", "dele", "₰", "line-through"),
    (Kind.WORDS_TRANSPOSED, "nearby railroad", "railroad nearby", "transpose", "tr", "curve"),
    (Kind.CASE, "l", "L", "caps", "caps", "underline-3"),
    (Kind.CASE, "B", "b", "lower-case", "l.c.", "stroke"),
    (Kind.CASE, "BRIDGE", "Bridge", "replace-word", "Bridge/", "line-through"),
    (
        Kind.CASE,
        "BANDMASTER, JOSIAH",
        "Bandmaster, Josiah",
        "capitals-lower-case",
        "u. & l.c.",
        "ring",
    ),
    (Kind.WRONG_WORD, "one", "one two three four five", "see-copy", "see copy", "line-through"),
    (Kind.POINT_MISSING, "", ".", "period", "⊙", "caret"),
    (Kind.POINT_MISSING, "", ",", "comma", ",/", "caret"),
    (Kind.POINT_MISSING, "", "'", "apostrophe", "’˅", "caret"),
    (Kind.POINT_MISSING, "", '"', "quotes", "”˅", "caret"),
    (Kind.POINT_MISSING, "", "-", "hyphen", "=/", "caret"),
    (Kind.POINT_MISSING, "", "—", "em-dash", "|1—|", "caret"),
    (Kind.POINT_MISSING, "", "(", "parentheses", "(/", "caret"),
    (Kind.POINT_MISSING, "", '."', "insert", "⊙ ”˅", "caret"),
    (Kind.POINT_WRONG, ".", ",", "comma", ",/", "stroke"),
    (Kind.POINT_EXTRA, "-", "", "dele", "₰", "stroke"),
    (Kind.SPACE_MISSING, "", " ", "space", "#", "caret"),
    (Kind.SPACE_EXTRA, " ", "", "close-up", "⁐", "close-up"),
    (Kind.BAD_DIVISION, "-", "", "division", "div.", "ring"),
    (Kind.PARAGRAPH, "", "\n", "paragraph", "¶", "angle"),
    (Kind.PARAGRAPH, "\n", " ", "no-paragraph", "no ¶", "run-in"),
    (Kind.MATTER_MISSING, "", "one two three four five", "out-see-copy", "out, see copy", "caret"),
    (
        Kind.LINE_MISSING,
        "",
        "a line of more than four words",
        "out-see-copy",
        "out, see copy",
        "caret-under-line",
    ),
    (Kind.LINE_DOUBLED, "the line", "", "dele", "₰", "line-through"),
    (Kind.LINES_TRANSPOSED, "one line", "the other line and one line", "transpose", "tr", "swap"),
    (Kind.LINE_FOREIGN, "etaoin shrdlu", "", "dele", "₰", "line-through"),
    (Kind.TURNED_SORT, "ǝ", "e", "turn", "9", "stroke"),
    (Kind.WRONG_FONT, "a", "a", "wrong-font", "w.f.", "underline"),
    (Kind.BROKEN_LETTER, "m", "m", "broken", "x", "stroke"),
    (Kind.WORK_UP, "", "", "push-down", "⊥", "cup-under"),
    (Kind.OFF_LINE, "h", "h", "straighten", "=", "level-lines"),
    (Kind.HAIRLINE, "l", "l", "broken", "x", "stroke"),
    (Kind.UNEVEN_SPACING, "", "", "equal-space", "✓✓✓", "tick"),
    (Kind.CROOKED_LINE, "", "", "straighten", "=", "level-lines"),
    (Kind.SHORT_MEASURE, "", "", "move-right", "]", "bracket-right"),
    (Kind.WRONG_COLUMN, "4d.", "4d.", "move-right", "]", "bracket-right"),
    (Kind.BROKEN_RULE, "", "", "mend-rule", "rule", "ring-place"),
    (Kind.OPEN_CORNER, "", "", "join-corner", "join", "ring-place"),
    (Kind.CROOKED_RULE, "", "", "true-rule", "true", "ring-place"),
    (Kind.BORDER_PIECE, "", "", "border-piece", "border", "ring-place"),
]


@pytest.mark.parametrize(("kind", "proof", "copy", "sign", "margin", "text"), CASES)
def test_marks_of_slugs(kind, proof, copy, sign, margin, text):
    other = (13,) if kind in (Kind.LINE_DOUBLED, Kind.LINES_TRANSPOSED) else ()
    mark = mark_for(difference(kind, proof, copy, other=other))
    assert (mark.sign, mark.margin, mark.text) == (sign, margin, text)


def test_every_kind_that_has_a_mark_of_its_own_is_among_the_cases():
    """What has none is marked as its group is: `test_kinds` shows that of every kind."""
    usual = with_own({})
    own = {kind for kind in Kind if AMERICAN.makers[kind] is not usual[kind]}
    assert {case[0] for case in CASES} >= own
    assert len(own) > 25


def test_letters_set_by_hand_are_transposed_with_the_curve():
    mark = mark_for(difference(Kind.LETTERS_TRANSPOSED, "ei", "ie"), hand_set=True)
    assert (mark.sign, mark.margin, mark.text) == ("transpose", "tr", "curve")


@pytest.mark.parametrize(
    ("kind", "proof", "copy", "words"),
    [
        (Kind.WRONG_LETTER, "u", "n", "change u to n"),
        (Kind.WORD_DOUBLED, " the", "", "take out the second “the”"),
        (Kind.POINT_WRONG, ".", ",", "change period to comma"),
        (Kind.WORD_MISSING, "", " the", "put in “the”"),
        (Kind.LETTERS_TRANSPOSED, "ei", "ie", "transposed: “ei” should be “ie”"),
        (Kind.CASE, "l", "L", "capital L"),
        (Kind.TURNED_SORT, "ǝ", "e", "turn e: it stands upside down"),
    ],
)
def test_plain_words(kind, proof, copy, words):
    assert mark_for(difference(kind, proof, copy)).words == words


def test_whole_lines_are_named():
    doubled = mark_for(difference(Kind.LINE_DOUBLED, "x", other=(11,)))
    assert doubled.words == "take out line 12: it is line 11 over again"
    foreign = mark_for(difference(Kind.LINE_FOREIGN, "etaoin", cause=Cause.RUN_DOWN_LINE))
    assert foreign.words == "take out line 12: a run-down line"
    before = mark_for(difference(Kind.LINE_MISSING, copy="ends here", line=0))
    assert before.words == "a line is wanting before line 1: “ends here”"
    assert before.text == "caret-over-line"


def test_lines_that_change_places_and_lines_astray_are_told_apart():
    swap = difference(Kind.LINES_TRANSPOSED, "second line", "first line second line", other=(13,))
    assert mark_for(swap).words == "lines 12 and 13 change places"
    astray = difference(Kind.LINES_TRANSPOSED, "a line", "a line", other=(13,))
    mark = mark_for(replace(astray, follows=4))
    assert mark.words == "lines 12 and 13 should follow line 4"
    assert mark.margin == "tr after line 4"
    first = difference(Kind.LINES_TRANSPOSED, "a line", "a line")
    assert mark_for(replace(first, follows=0)).words == "line 12 should stand first"


def test_a_query_is_asked_not_ordered():
    mark = query_mark(mark_for(difference(Kind.WRONG_LETTER, "u", "n")))
    assert mark.margin == "(n ?)"
    assert mark.words == "query: change u to n?"


def test_a_query_is_ringed_in_the_margin_and_an_order_is_not():
    mark = mark_for(difference(Kind.WRONG_LETTER, "u", "n"))
    plain, asked = margin_drawing(mark), margin_drawing(mark, query=True)
    *inside, ring = asked
    held, around = extent(tuple(inside)), extent((ring,))
    assert around.left < held.left < held.right < around.right
    assert around.low < held.low < held.high < around.high
    assert len(plain) < len(asked)


def test_an_instruction_is_closed_where_another_sign_follows():
    # "tr./" before a dele on the corrected proof of 1913.
    mark = mark_for(difference(Kind.WORDS_TRANSPOSED, "a b", "b a"))
    assert len(margin_drawing(mark, followed=True)) == len(margin_drawing(mark)) + 1


@given(st.sampled_from(Kind), st.text(max_size=60), st.text(max_size=60), st.booleans())
def test_any_difference_gets_a_mark_that_can_be_drawn(kind, proof, copy, hand_set):
    mark = mark_for(difference(kind, proof, copy), hand_set=hand_set)
    assert isinstance(mark, Mark)
    assert mark.sign in SIGNS
    assert mark.text in TEXT_MARKS
    assert mark.margin
    assert mark.words.isprintable()
    assert mark.margin.isprintable()
    assert len(mark.words) < 240
    for query in (False, True):
        drawing = margin_drawing(query_mark(mark) if query else mark, query=query)
        assert extent(drawing).width > 0


def test_a_turned_sort_is_turned_by_hand_and_recast_on_a_slug():
    # The corrected proof of 1913 turns the d of "bruised" that prints as p.
    turned = difference(Kind.WRONG_LETTER, "p", "d", cause=Cause.TURNED_SORT)
    assert mark_for(turned, hand_set=True).sign == "turn"
    assert mark_for(turned).margin == "d/"
