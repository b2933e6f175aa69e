"""What a fault asks of the type, and what a line put right comes to: rules of the shop, by hand.

Who puts right what (machine, stone, case) is common practice; a sort changed without the spacing
is done in the galley (Stewart, *Typesetting*, 1919).
"""

from __future__ import annotations

import pytest
from test_recast_plan import ABOUT, MARK, STYLES, concert, copy_of, planned
from typesetter import Head, Para, compose

from proofcheck.base.bands import BANDS
from proofcheck.base.found import Cause, Collation, Fault, Placing, Status
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Span
from proofcheck.recast.breaks import lay_out_breaks, matter_of
from proofcheck.recast.change import Change, Frame, NewSlug
from proofcheck.recast.cost import Rates, toll_of
from proofcheck.recast.handset import sorts_wanted, spaces_for
from proofcheck.recast.justify import Shape, limits_of_bands
from proofcheck.recast.keyed import keyed, units_of
from proofcheck.recast.search import NewLine
from proofcheck.recast.stretch import OldLine, Paragraph, damage_of
from proofcheck.recast.wording_query import shorter_wording


def fault(kind, line=5, *, copy=(100, 105), status=Status.FAULT, **more):
    told = {"copy_text": "", "proof_text": "", "cause": None, "other_lines": ()} | more
    return Fault(
        "F1", kind, line, 0, Box(0, 0, 1, 1), Span(*copy), told["copy_text"], told["proof_text"],
        MARK, 1.0, status, told["cause"], told["other_lines"],
    )  # fmt: skip


PLACED = Collation(
    (Placing(4, Span(60, 90)), Placing(5, Span(90, 120)), Placing(6, Span(120, 150))), ()
)


def damage(*faults, hand_set=False):
    return damage_of(faults, PLACED, hand_set=hand_set)


def all_of(held):
    return (
        sorted(held.recast), sorted(held.out), sorted(held.moved),
        [line for line, *_ in held.at_stone], held.wanting, dict(held.after), held.ends,
    )  # fmt: skip


NOTHING = ([], [], [], [], [], {}, set())


@pytest.mark.parametrize("kind", list(Kind))
def test_a_query_asks_for_nothing(kind):
    assert all_of(damage(fault(kind, status=Status.QUERY))) == NOTHING


@pytest.mark.parametrize(
    "kind",
    [Kind.WORK_UP, Kind.CROOKED_LINE, Kind.BROKEN_RULE, Kind.OPEN_CORNER, Kind.BORDER_PIECE],
)
def test_a_hand_at_the_stone_needs_no_new_matter(kind):
    assert all_of(damage(fault(kind))) == ([], [], [], [5], [], {}, set())


def test_lines_too_many_come_out_the_foreign_ones_together_of_doubled_ones_one():
    foreign = damage(fault(Kind.LINE_FOREIGN, other_lines=(6, 7)))
    assert sorted(foreign.out) == [5, 6, 7]
    # Of a doubled line the others named are those that stay.
    assert sorted(damage(fault(Kind.LINE_DOUBLED, other_lines=(4,))).out) == [5]


def test_lines_that_changed_places_are_moved():
    assert sorted(damage(fault(Kind.LINES_TRANSPOSED, other_lines=(4,))).moved) == [4, 5]
    assert damage(fault(Kind.LINES_TRANSPOSED)).recast == {}


def test_words_that_changed_places_over_a_line_end_take_both_lines():
    assert sorted(damage(fault(Kind.WORDS_TRANSPOSED, other_lines=(6,))).recast) == [5, 6]
    # Another kind's other lines are named, not spoilt.
    assert sorted(damage(fault(Kind.WORD_DOUBLED, other_lines=(4,))).recast) == [5]


def test_a_new_paragraph_where_the_copy_has_none_takes_the_line_before_too():
    assert sorted(damage(fault(Kind.PARAGRAPH, proof_text="¶")).recast) == [4, 5]
    assert sorted(damage(fault(Kind.PARAGRAPH, copy_text="¶")).recast) == [5]


def test_a_bad_division_is_not_made_again():
    held = damage(fault(Kind.BAD_DIVISION))
    assert (held.ends, sorted(held.recast)) == ({100}, [5])
    assert damage(fault(Kind.WRONG_LETTER)).ends == set()


@pytest.mark.parametrize(("copy", "spoilt"), [((100, 104), [5]), ((120, 130), []), ((80, 90), [])])
def test_what_is_wanting_goes_in_after_a_line_and_spoils_it_where_it_lies_within(copy, spoilt):
    for kind in (Kind.LINE_MISSING, Kind.MATTER_MISSING):
        held = damage(fault(kind, copy=copy))
        assert sorted(held.recast) == spoilt
        assert held.wanting == [(Span(*copy), "F1")]
        assert held.after == {copy[0]: 5}


def test_a_fault_of_no_copy_wants_nothing():
    assert damage(fault(Kind.LETTER_EXTRA, copy=(100, 100))).wanting == []
    assert damage(fault(Kind.LETTER_MISSING, copy=(100, 101))).wanting == [(Span(100, 101), "F1")]


TURNED = {"cause": Cause.TURNED_SORT, "proof_text": "u", "copy_text": "n"}
SWAPPED = {"proof_text": "na", "copy_text": "an"}


@pytest.mark.parametrize(
    ("one", "words"),
    [
        (fault(Kind.WRONG_LETTER, **TURNED), "turn the n in line 5"),
        (fault(Kind.TURNED_SORT, proof_text="o", copy_text="o"), "turn the o in line 5"),
        (fault(Kind.TURNED_SORT, proof_text="s", copy_text=""), "turn the s in line 5"),
        (fault(Kind.LETTERS_TRANSPOSED, **SWAPPED),
         "change the places of “na” in line 5, so that it is “an”"),
        # Another sort is wanted: the line comes out.
        (fault(Kind.WRONG_LETTER, proof_text="u", copy_text="n"), None),
        (fault(Kind.WRONG_LETTER, **{**TURNED, "copy_text": "nn"}), None),
        (fault(Kind.LETTERS_TRANSPOSED, proof_text="na", copy_text="en"), None),
    ],
)  # fmt: skip
def test_the_very_sorts_that_stand_there_are_put_right_in_the_galley(one, words):
    by_hand, by_slug = damage(one, hand_set=True), damage(one)
    assert by_hand.in_galley == ([(5, "F1", words)] if words else [])
    assert sorted(by_hand.recast) == ([] if words else [5])
    assert (by_slug.in_galley, sorted(by_slug.recast)) == ([], [5])


# --- what it costs -------------------------------------------------------------------------------


def test_a_change_of_the_customer_s_alone_is_charged_to_him():
    changes = [(1, 24.0, True), (2, 48.0, False), (3, 72.0, True)]
    toll = toll_of(changes, 2, Rates(minutes_a_slug=2.0, minutes_a_change=5.0))
    assert (toll.slugs, toll.ems) == (6, 144.0)
    # Slugs 6 × 2, three changes and two at the stone 5 × 5; his: 4 × 2 and 2 × 5.
    assert (toll.minutes, toll.alteration_slugs, toll.alteration_minutes) == (37.0, 4, 18.0)


def test_a_line_s_ems_are_its_measure_in_its_own_body():
    faulty = [text.replace("lantern", "lanntern") for text in ABOUT]
    plan, *_ = planned(concert(faulty), copy_of("\n\n".join(ABOUT)), rates=Rates(2.0, 3.0))
    each = sum(slug.measure_pt / slug.body_pt for slug in plan.slugs)
    assert plan.toll.ems == pytest.approx(each)
    assert plan.toll.slugs == len(plan.slugs)
    assert plan.toll.minutes == 2 * len(plan.slugs) + 3 * len(plan.changes)
    assert plan.toll.alteration_slugs == 0


# --- copy keyed, and where its lines may end -----------------------------------------------------


@pytest.mark.parametrize(
    ("copy", "text"),
    [
        ("a -- b", "a—b"), ("a---b", "a—b"), ("a-b", "a-b"), ("a----b", "a----b"),
        ("con\xadcert", "concert"), ("a\u200bb", "ab"), ("e\ufb03cient", "efficient"),
        ("  a \t\n b  ", "a b"), ("the band's", "the band’s"), ("'Tis", "‘Tis"),
        ('("Now")', "(“Now”)"), ('said "no"', "said “no”"), ('she--"no"', "she—“no”"),
    ],
)  # fmt: skip
def test_what_a_typewriter_wrote_is_set_as_the_trade_sets_it(copy, text):
    made = keyed(copy, 0, len(copy))
    assert made.text == text
    assert list(made.at) == sorted(made.at)
    assert len(made.at) == len(text)


def test_a_stretch_of_copy_is_keyed_with_its_places():
    made = keyed("one two three", 4, 9)
    assert (made.text, made.at) == ("two t", (4, 5, 6, 7, 8))
    assert [made.index(at) for at in (0, 4, 6, 9)] == [0, 0, 2, 5]


def test_joined_letters_are_one_unit_the_longest_first():
    assert units_of("waffle off fly") == ["w", "a", "ffl", "e", " ", "o", "ff", " ", "fl", "y"]
    assert units_of("fix", ligatures=False) == ["f", "i", "x"]


def matter(text, **how):
    widths = {"-": 3.0, "fi": 9.0, "f": 6.0, "i": 5.0}
    breaks = lay_out_breaks(text, "eng", **how)
    return matter_of(text, breaks, lambda unit: widths.get(unit, 10.0))


def ends(text, **how):
    return [text[: place.end] + "-" * place.hyphen for place in lay_out_breaks(text, "eng", **how)]


def test_lines_end_between_words_and_after_their_own_hyphens_and_dashes():
    assert ends("of a well-kept inn", divide=False) == [
        "", "of", "of a", "of a well-", "of a well-kept", "of a well-kept inn",
    ]  # fmt: skip
    assert ends("so—and", divide=False) == ["", "so—", "so—and"]
    assert ends("1914–18", divide=False) == ["", "1914–", "1914–18"]
    # Not before a dash, nor after a hyphen that joins nothing.
    assert ends("a -b", divide=False) == ["", "a", "a -b"]


def test_where_a_line_ends_now_one_may_end_unless_it_never_may():
    text = "the band plays"
    assert ends(text, divide=False, also=[6]) == ["", "the", "the ba-", "the band", text]
    assert ends(text, divide=False, also=[6], never=[6]) == ["", "the", "the band", text]
    # The ends of the paragraph are ends whatever is said.
    assert ends(text, divide=False, never=[0, 4, len(text)]) == ["", "the band", text]


@pytest.mark.parametrize(
    "word", ["Efficient", "effi9cient", "well-efficient", "l’efficient", "into"]
)
def test_names_compounds_and_short_words_are_not_divided(word):
    assert not any(place.hyphen for place in lay_out_breaks(word, "eng"))


def test_points_round_a_word_do_not_keep_it_whole():
    divided = {end for end in ends("(efficient),") if end.endswith("-")}
    assert "(effi-" in divided


def test_a_line_is_as_long_as_its_letters_with_the_hyphen_put_in():
    made = matter("ab afix", divide=False, also=[5])
    # Breaks: 0, before “afix”, inside it, the end. The joined fi is 9, parted 6 and the rest.
    assert made.length_pt(0, 1) == 20
    assert made.length_pt(1, 3) == 10 + 9 + 10
    assert made.length_pt(1, 2) == 10 + 6 + 3
    assert made.length_pt(2, 3) == 3 + 10
    assert (made.spaces(0, 1), made.spaces(0, 3), made.spaces(1, 3)) == (0, 1, 0)
    assert (made.line(1, 2), made.line(2, 3), made.line(0, 3)) == ("af-", "ix", "ab afix")


# --- what the customer is asked ------------------------------------------------------------------


def _run(over_pt, *, stands=False, breaks=(0, 10, 20, 30)):
    """Three lines of ten letters, 10 pt each; the second is over its measure by so much."""
    text = "x" * 30
    made = matter_of(text, lay_out_breaks(text, "eng", divide=False, also=breaks), lambda _: 10.0)
    old = (
        OldLine(1, 0, 10, stands=True), OldLine(2, 10, 20, stands=stands),
        OldLine(3, 20, 30, stands=True),
    )  # fmt: skip
    paragraph = Paragraph(0, Span(0, 30), keyed(text, 0, 30), old, frozenset())
    # Letters are parted with a hyphen of 10 pt: eleven to a line.
    frame = Frame(paragraph, made, Shape(110.0 - over_pt, 20.0), 10.0)
    lines = [NewLine(upper, upper + 1, None, None) for upper in range(3)]
    return frame, lines


def test_a_line_too_long_is_told_with_the_letters_it_must_lose():
    limits = limits_of_bands(BANDS["thick"], 10)
    frame, lines = _run(25.0)
    (said,) = shorter_wording(frame, limits, lines)
    assert "3 slugs for line 2" in said
    assert "25 pt too long" in said
    # 25 pt are two letters and a half: three.
    assert "about 3 letters shorter" in said


def test_nothing_is_asked_where_the_line_fits_or_several_are_spoilt():
    limits = limits_of_bands(BANDS["thick"], 10)
    for over in (0.0, -5.0):
        frame, lines = _run(over)
        assert shorter_wording(frame, limits, lines) == []
    frame, lines = _run(25.0, stands=True)
    assert shorter_wording(frame, limits, lines) == []
    # It may be the first of its run, or the last.
    frame, lines = _run(25.0)
    assert len(shorter_wording(frame, limits, lines[1:])) == 1
    assert len(shorter_wording(frame, limits, lines[:2])) == 1
    # Of a run that begins below the spoilt line nothing is asked.
    frame, lines = _run(25.0)
    assert shorter_wording(frame, limits, lines[2:]) == []


# --- notes and slugs -----------------------------------------------------------------------------


def test_a_display_line_that_will_be_too_long_put_right_is_told():
    head = "A GRAND CONCERT OF THE UNITED BANDS"
    blocks = [Head(head.replace("GRAND ", ""), 14), *(Para(text) for text in ABOUT)]
    forme = compose(blocks, measure_picas=24)
    width = forme.slugs[0].width_pt
    plan, *_ = planned(forme, copy_of("\n\n".join([head, *ABOUT])))
    longer = width * len(head) / (len(head) - len("GRAND "))
    assert longer > forme.slugs[0].measure_pt > width
    note = next(n for n in plan.notes if n.startswith("line 1 "))
    assert "more than its measure" in note
    # In a measure that holds it nothing is said.
    roomy = compose(blocks, measure_picas=40)
    plan, *_ = planned(roomy, copy_of("\n\n".join([head, *ABOUT])))
    assert not any(n.startswith("line 1 ") for n in plan.notes)


def test_a_change_says_the_words_it_begins_and_ends_with_three_of_each():
    faulty = [text.replace("for the new bass drum", "for the bass drum") for text in ABOUT]
    plan, _, readings, _ = planned(concert(faulty), copy_of("\n\n".join(ABOUT)))
    (change,) = plan.changes
    texts = {reading.line: reading.text for reading in readings}
    assert change.first_words == " ".join(texts[change.lines[0]].split()[:3])
    assert change.last_words == " ".join(texts[change.lines[-1]].split()[-3:])
    assert change.pitch_pt == pytest.approx(12, rel=0.01)


@pytest.mark.parametrize("name", STYLES)
def test_the_last_slug_of_a_paragraph_is_not_spread(name):
    style = STYLES[name]
    end = ABOUT[0].split()[-1]
    faulty = [ABOUT[0].replace(end, end[:-2] + "x" + end[-2:]), *ABOUT[1:]]
    forme = compose([Para(text) for text in faulty], measure_picas=20, style=style)
    plan, *_ = planned(forme, copy_of("\n\n".join(ABOUT)), bands=style.bands)
    (slug,) = plan.slugs
    assert slug.text.endswith(end)
    assert not slug.spread


# --- sorts ---------------------------------------------------------------------------------------


def test_a_plan_for_type_from_the_case_says_which_sorts_it_wants_and_one_for_slugs_none():
    faulty = [text.replace("lantern", "lanern") for text in ABOUT]
    copy = copy_of("\n\n".join(ABOUT))
    by_hand, *_ = planned(concert(faulty), copy, hand_set=True, bill={"t": 3})
    assert by_hand.sorts.put_in == {"t": 1}
    assert ("t", 3) in [(sort, held) for sort, _, held in by_hand.sorts.short]
    assert planned(concert(faulty), copy)[0].sorts is None


def test_only_a_line_that_keeps_its_sorts_is_put_right_in_the_galley():
    slug = NewSlug("ab", 240.0, 0.0, 0.0, 10.0)
    one = Change((1,), 0, (slug,), ("F1",), "", "")
    two = Change((1, 2), 0, (slug, slug), ("F1",), "", "")
    assert sorts_wanted([one], {1: "ba"}, None).in_galley == (1,)
    assert sorts_wanted([one], {1: "bb"}, None).in_galley == ()
    assert sorts_wanted([two], {1: "ab", 2: "ab"}, None).in_galley == ()
    # A line of which nothing was read gives no sorts back, and has none of its own.
    assert sorts_wanted([one], {}, None).in_galley == ()
    assert sorts_wanted([one], {}, None).put_in == {"a": 1, "b": 1}
    # One a too many, and joined letters beyond those the font holds are set as single ones.
    page = {1: "ab", 2: "afix fine"}
    bill = {"a": 1, "b": 9, "x": 1, "n": 1, "e": 1, "fi": 1, "f": 0, "i": 1}
    assert sorts_wanted([one], page, bill).short == (("a", 2, 1), ("f", 1, 0))


def test_joined_letters_the_font_has_none_of_are_set_as_single_ones():
    slug = NewSlug("fine", 240.0, 0.0, 0.0, 10.0)
    one = Change((1,), 0, (slug,), ("F1",), "", "")
    bill = {"n": 1, "e": 1, "f": 1, "i": 0}
    assert sorts_wanted([one], {1: "fine"}, bill).short == (("i", 1, 0),)
    assert sorts_wanted([one], {1: "fine"}, {**bill, "fi": 1}).short == ()


@pytest.mark.parametrize(("em", "names"), [(1 / 3, ("3-to-em",)), (0.5, ("en",)), (1, ("em",))])
def test_a_gap_of_one_space_of_the_case_takes_that_space(em, names):
    assert spaces_for(em) == names


def test_no_gap_takes_no_space():
    for em in (0, -1, float("nan")):
        with pytest.raises(ValueError, match="takes no space"):
            spaces_for(em)


def test_words_in_capitals_asked_about_once_are_set_again_on_every_line():
    assert sorted(damage(fault(Kind.CASE, other_lines=(4, 6))).recast) == [4, 5, 6]
