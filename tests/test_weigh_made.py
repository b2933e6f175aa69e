"""Weighing from end to end with witnesses stood in for: who is asked what, and what is handed on.

What a dispute's numbers come to is set by hand, so that each part of what is told (its place, its
certainty, why it was let go) is known beforehand.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from test_weigh_rules import blank, difference, dispute, row
from test_weigh_shapes import FULL, TWO_BARS, page

from proofcheck.base.found import Collation, Status
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Letter, Reading, Span
from proofcheck.weigh import Thresholds, Witnesses, gather, weigh
from proofcheck.weigh.calibration import FEATURES, Calibration
from proofcheck.weigh.evidence import Evidence
from proofcheck.weigh.fellows import Says
from proofcheck.weigh.grouping import grouped
from proofcheck.weigh.judging import (
    BELOW_THE_LINE,
    ONE_CHARACTER,
    OVERLOOKED,
    PAGE_BEARS_OUT,
    Judge,
    Judged,
)
from proofcheck.weigh.overlooked import overlooked
from proofcheck.weigh.own_letters import places_by_letter
from proofcheck.weigh.page_letters import PageLetters, Stranger
from proofcheck.weigh.page_says import PageSays
from proofcheck.weigh.places import Places
from proofcheck.weigh.quote_ways import Quote, quotes_of, wrong_way
from proofcheck.weigh.quotes_amiss import quotes_amiss

TEXT = "the bamd plays"
WRONG = difference(Kind.WRONG_LETTER, (6, 7), "m", "n", copy=(6, 7))


class Speaks:
    """A witness that says the same of all, and remembers what it was asked."""

    def __init__(self, number):
        self.number, self.asked = number, []

    def testify(self, disputes):
        self.asked += [each.difference for each in disputes]
        return [self.number] * len(disputes)


def held(*told, text=TEXT, sure=None):
    """A collation of one line, with how surely some of its letters were read."""
    line, reading = row(text)
    letters = [
        replace(one, certainty=(sure or {}).get(at, 0.99)) for at, one in enumerate(reading.letters)
    ]
    return Collation((), told), [blank()], [line], [Reading(1, tuple(letters))]


# --- who is asked ---------------------------------------------------------------------------------


def test_each_witness_has_its_own_number():
    witnesses = Witnesses(Speaks(1.5), Speaks(-1.0), Speaks(0.25))
    found = gather(*held(WRONG, sure={6: 0.4}), witnesses)
    assert found == {0: Evidence(1.5, -1.0, 0.25, 0.4)}
    assert found[0].as_numbers() == {
        "ratio": 1.5, "second-look": -1.0, "own-letters": 0.25, "certainty-read": 0.4,
    }  # fmt: skip
    assert gather(*held(WRONG), Witnesses()) == {0: Evidence(None, None, None, 0.99)}
    assert gather(*held(), witnesses) == {}


@pytest.mark.parametrize(
    ("proof", "read", "sure"),
    [
        ((4, 7), "bam", 0.3), ((6, 7), "m", 0.7),
        # Of what is missing the letters before and after say how well it could be seen.
        ((6, 6), "", 0.5), ((0, 0), "", 0.6), ((14, 14), "", 0.2),
    ],
)  # fmt: skip
def test_a_place_was_read_as_surely_as_its_least_sure_letter(proof, read, sure):
    told = difference(Kind.WRONG_WORD, proof, read, "x")
    certain = {4: 0.3, 5: 0.5, 6: 0.7, 0: 0.6, 13: 0.2}
    assert gather(*held(told, sure=certain), Witnesses())[0].certainty_read == sure


def test_the_engine_is_asked_only_of_what_the_proof_s_own_letters_leave_open():
    other = difference(Kind.WRONG_LETTER, (9, 10), "p", "q")
    letters = SimpleNamespace(
        of=lambda one: (Says.COPY if one.difference is WRONG else Says.NOTHING, ""),
        doubts=lambda _: False,
    )
    engine = Speaks(-1.0)
    found = gather(*held(WRONG, other), Witnesses(second_look=engine, letters=letters))
    assert engine.asked == [other]
    assert [found[at].second_look for at in (0, 1)] == [None, -1.0]
    without = gather(*held(WRONG, other), Witnesses(letters=letters))
    assert [without[at].second_look for at in (0, 1)] == [None, None]


# --- what is handed on ----------------------------------------------------------------------------


def certain(share):
    return Calibration(float(np.log(share / (1 - share))), (0.0,) * len(FEATURES), "set in a test")


@pytest.mark.parametrize(
    ("share", "standing"), [(0.51, Status.FAULT), (0.49, Status.QUERY), (0.021, Status.QUERY)]
)
def test_what_stands_has_its_place_its_certainty_and_what_was_said(share, standing):
    told = weigh(*held(WRONG), Witnesses(Speaks(0.5)), certain(share))
    (found,) = told.found
    assert (found.difference, found.sheet, found.status) == (WRONG, 0, standing)
    assert found.box == Box(100 + 5 * 18 + 12, 108, 16, 20)
    assert found.certainty == pytest.approx(share)
    assert found.evidence == {"ratio": 0.5, "certainty-read": 0.99}
    assert (told.let_go, told.notes) == ((), ())
    # What only a person can settle is a query however plain.
    only = replace(WRONG, only_query=True)
    (found,) = weigh(*held(only), Witnesses(), certain(0.9)).found
    assert found.status is Status.QUERY


def test_what_is_let_go_says_all_that_it_was_and_why():
    told = weigh(*held(WRONG), Witnesses(), certain(0.01))
    assert told.found == ()
    (gone,) = told.let_go
    assert (gone.kind, gone.line, gone.sheet) == (Kind.WRONG_LETTER, 1, 0)
    assert gone.box == Box(100 + 5 * 18 + 12, 108, 16, 20)
    assert (gone.copy, gone.copy_text, gone.proof_text) == (Span(6, 7), "n", "m")
    assert gone.certainty == pytest.approx(0.01)
    assert gone.reason == "the picture bears out the copy"


def test_a_shop_may_call_less_or_more_a_fault_and_let_go_what_it_will():
    called = Thresholds(fault=0.8, query=0.4)
    for share, standing in ((0.81, Status.FAULT), (0.79, Status.QUERY), (0.41, Status.QUERY)):
        (found,) = weigh(*held(WRONG), Witnesses(), certain(share), called=called).found
        assert found.status is standing
    told = weigh(*held(WRONG), Witnesses(), certain(0.39), called=called)
    assert told.found == ()
    assert told.let_go[0].reason == BELOW_THE_LINE


def test_characters_that_can_not_be_told_apart_are_named_once_with_their_places():
    told = [difference(Kind.WRONG_LETTER, (at, at + 1), "3", "8") for at in (4, 9)]
    alike = SimpleNamespace(of=lambda _: Says.ALIKE, fellows=page(("a", FULL))[0])
    found = weigh(*held(*told, text="the 3amd 3lays"), Witnesses(page=alike), certain(0.001))
    assert found.found == ()
    assert found.notes == ("3 and 8 can't be told apart in this face: 2 places",)
    one = weigh(*held(told[0], text="the 3amd 3lays"), Witnesses(page=alike), certain(0.001))
    assert one.notes == ("3 and 8 can't be told apart in this face: 1 place",)


def test_a_cause_is_counted_in_the_notes():
    told = [difference(Kind.WRONG_LETTER, (at, at + 1), "m", "n") for at in (0, 4, 9)]
    letters = SimpleNamespace(of=lambda _: (Says.COPY, "n is read as m"), doubts=lambda _: False)
    found = weigh(*held(*told, text="mhe mamd mlays"), Witnesses(letters=letters), certain(0.01))
    assert found.notes == ("n is read as m: 3 places",)
    assert [each.status for each in found.found] == [Status.QUERY]
    assert len(found.let_go) == 2


# --- one place judged -----------------------------------------------------------------------------


def judge(certainty=0.3, **more):
    line, reading = row(TEXT)
    beyond = SimpleNamespace(
        concerns=lambda _: more.get("concerns", False), unknown=frozenset(),
        judge=lambda *_: (0.1, "because"),
    )  # fmt: skip
    return Judge(
        SimpleNamespace(certainty=lambda _: certainty), Places([line], [reading]),
        more.get("page"), beyond, more.get("letters"),
    )  # fmt: skip


def test_what_is_judged_keeps_its_place_in_the_collation():
    asked = dispute(row(TEXT), WRONG)
    for judged in (
        judge().of(7, WRONG, asked, Evidence()),
        judge(0.001).of(7, WRONG, asked, Evidence()),
        judge().of(7, WRONG, None, None),
        judge(concerns=True).of(7, WRONG, asked, Evidence()),
        judge(letters=SimpleNamespace(of=lambda _: (Says.READING, ""))).of(
            7, WRONG, asked, Evidence()
        ),
        judge(letters=SimpleNamespace(of=lambda _: (Says.COPY, ""))).of(
            7, WRONG, asked, Evidence()
        ),
    ):
        assert (judged.at, judged.difference) == (7, WRONG)
    assert judge(concerns=True).of(7, WRONG, asked, Evidence()) == Judged(7, WRONG, 0.1, "because")
    figure = difference(Kind.WRONG_LETTER, (4, 5), "3", "8")
    asked = dispute(row("the 3amd"), figure)
    for says in Says:
        told = judge(page=SimpleNamespace(of=lambda _, says=says: says))
        assert told.of(7, figure, asked, Evidence()).at == 7
        assert told.of(7, figure, asked, Evidence()).difference == figure


def test_what_reader_and_copy_agree_on_is_only_asked_about():
    # The line reads as the copy has it; the page says that another letter stands there.
    told = difference(Kind.WRONG_LETTER, (4, 5), "d", "b")
    asked = dispute(row("the band"), told)
    assert judge(0.9).of(7, told, asked, Evidence()) == Judged(7, told, OVERLOOKED)


def test_of_characters_that_the_reader_has_one_for_it_says_nothing():
    # A vulgar fraction and the same written out have one class for the reader.
    told = difference(Kind.POINT_WRONG, (3, 4), "-", "\u2010")
    asked = dispute(row("the-band"), told)
    found = judge(0.4).of(7, told, asked, Evidence())
    assert found == Judged(7, told, 0.4, ONE_CHARACTER)


# --- letters of one word together -----------------------------------------------------------------


def together(*told, text=TEXT, reasons=("", "", ""), concerns=lambda _: True):
    """What is left of differences of one line that concern letters the reader has not."""
    held_ = row(text)
    judged = [
        Judged(at, each, 0.1 * (at + 1), reason)
        for at, (each, reason) in enumerate(zip(told, reasons, strict=False))
    ]
    disputes = {at: replace(dispute(held_, each), difference=each) for at, each in enumerate(told)}
    found = grouped(judged, SimpleNamespace(concerns=concerns), disputes)
    return [
        (one.difference.proof_text, one.difference.copy_text, round(one.certainty, 3))
        for one in found
    ]


def letter(at, read, wanted, **more):
    return difference(more.pop("kind", Kind.WRONG_LETTER), (at, at + len(read)), read, wanted,
                      copy=(at, at + 1), **more)  # fmt: skip


def test_strange_letters_of_one_word_or_of_words_side_by_side_are_one():
    one, two, three = letter(4, "b", "ř"), letter(6, "m", "ň"), letter(9, "p", "š")
    assert together(one, two) == [("bam", "řaň", 0.2)]
    assert together(letter(4, "b", "ř"), letter(5, "a", "á")) == [("ba", "řá", 0.2)]
    # A space between is of the run; anything else is not.
    assert together(letter(6, "md", "ňd"), three) == [("md p", "ňd š", 0.2)]
    assert together(one, three) == [("b", "ř", 0.1), ("p", "š", 0.2)]
    assert together(one, two, three) == [("bam", "řaň", 0.2), ("p", "š", 0.3)]
    joined = grouped(
        [Judged(3, letter(6, "md", "ňd"), 0.4), Judged(4, three, 0.1)],
        SimpleNamespace(concerns=lambda _: True), {3: None, 4: dispute(row(TEXT), three)},
    )  # fmt: skip
    (whole,) = joined
    assert (whole.at, whole.certainty, whole.difference.kind) == (3, 0.4, Kind.WRONG_WORD)
    assert (whole.difference.proof, whole.difference.copy) == (Span(6, 10), Span(6, 10))
    assert whole.difference.cause is None


def test_what_is_of_another_line_or_kind_or_was_let_go_otherwise_stands_by_itself():
    one, two = letter(4, "b", "ř"), letter(6, "m", "ň")
    apart = [("b", "ř", 0.1), ("m", "ň", 0.2)]
    assert together(one, two, concerns=lambda each: each is one) == apart
    assert together(one, two, concerns=lambda each: each is two) == apart
    assert together(one, two, reasons=("why", "")) == apart
    assert together(one, two, reasons=("why", "other")) == [("bam", "řaň", 0.2)]
    out = letter(6, "", "ň", kind=Kind.WORD_MISSING)
    assert together(one, out) == [("b", "ř", 0.1), ("", "ň", 0.2)]
    assert together(letter(4, "", "ň", kind=Kind.WORD_MISSING), two)[1] == ("m", "ň", 0.2)
    # Where they overlap they are two.
    assert together(letter(4, "bam", "řam"), letter(6, "m", "ň")) == [
        ("bam", "řam", 0.1), ("m", "ň", 0.2),
    ]  # fmt: skip


# --- what was overlooked --------------------------------------------------------------------------


def strangers(*found, told=()):
    """What is told of letters that reader and copy agree on, the page's own letters saying so."""
    line, reading = row("the band plays")
    copy = SimpleNamespace(text="the band plays")
    collation = Collation((SimpleNamespace(line=1, copy=Span(0, 14)),), tuple(told))
    fellows = SimpleNamespace(
        is_rather=lambda *_: False, is_usual=lambda *_: True, is_nearer=lambda *_: False
    )
    letters = SimpleNamespace(strangers=lambda: [Stranger(*each) for each in found])
    return overlooked(collation, [line], [reading], copy, fellows, letters)


def test_a_stranger_among_the_page_s_letters_is_told_at_its_place():
    (one,) = strangers((1, 6, "m"))
    assert (one.line, one.proof, one.proof_text) == (1, Span(6, 7), "m")
    assert (one.copy, one.copy_text, one.kind) == (Span(6, 7), "n", Kind.WRONG_LETTER)
    assert one.only_query
    assert [each.proof.start for each in strangers((1, 6, "m"), (1, 9, "q"))] == [6, 9]
    assert strangers((2, 6, "m")) == ()
    # Not what is in dispute itself, or stands beside it; two places off it is told.
    for at, hidden in ((6, True), (5, True), (7, True), (4, False), (8, False)):
        other = difference(Kind.WRONG_LETTER, (at, at + 1), "x", "y")
        assert (strangers((1, 6, "m"), told=[other]) == ()) is hidden, at


# --- quotes ---------------------------------------------------------------------------------------

SIX, NINE = np.zeros((20, 12), np.float32), np.zeros((20, 12), np.float32)
SIX[4:8, 4:6], SIX[8:14, 3:9] = 1.0, 1.0
NINE[4:10, 3:9], NINE[10:14, 6:8] = 1.0, 1.0
STRAIGHT = np.zeros((20, 12), np.float32)
STRAIGHT[4:14, 4:8] = 1.0


def seen(text, copy, shapes):
    """The quotes of a line that can be measured: what is wanted, and how far each leans."""
    line, reading = row(text)
    fellows = SimpleNamespace(
        patch=lambda _, box: shapes[[one.box for one in reading.letters].index(box)]
    )
    agreed = {at: at for at in range(len(text))}
    assert line.number == 1
    return [
        (one.at, one.wanted, one.said, round(one.lean, 3))
        for one in quotes_of(reading, agreed, copy, fellows)
    ]


def test_which_quote_is_wanted_is_said_by_the_copy_or_by_its_place():
    every = dict.fromkeys(range(40), NINE)

    def wanted(copy):
        text = copy.translate({ord(c): "'" for c in "‘’"} | {ord(c): '"' for c in "“”"})
        return [(one[1], one[2]) for one in seen(text, copy, every)]

    assert wanted("say “yes” now") == [("“", True), ("”", True)]
    assert wanted('say "yes" now') == [("“", False), ("”", False)]
    assert wanted('say ("yes") now') == [("“", False), ("”", False)]
    assert wanted("the cook's") == [("’", False)]
    # At the head of a word a single one may be an apostrophe; between letters a double is neither.
    assert wanted("say 'tis so") == []
    assert wanted('in"side') == []
    assert wanted('a " b') == []
    assert wanted('yes," he') == [("”", False)]
    assert wanted('—"yes') == [("“", False)]
    assert wanted('x/"yes') == []


def test_a_quote_leans_to_where_its_weight_is():
    (six,) = seen("a 'yes", "a ‘yes", {2: SIX})
    assert six[:3] == (2, "‘", True)
    # Rows of 2 and of 6 px: its middle lies (4·2·2 + 6·6·7)/44 down, of 10 rows.
    assert six[3] == pytest.approx((4 * 2 * 2 + 6 * 6 * 7) / 44 / 10 - 0.5, abs=2e-3)
    (nine,) = seen("a 'yes", "a ‘yes", {2: NINE})
    assert nine[3] < 0
    (nine,) = seen("cook's", "cook’s", {4: NINE})
    assert nine[3] > 0
    # A straight one leans nowhere, and one without ink.
    assert seen("cook's", "cook’s", {4: STRAIGHT}) == []
    # A speck beside it says nothing.
    speck = NINE.copy()
    speck[17:19, 1:3] = 1.0
    (specked,) = seen("cook's", "cook’s", {4: speck})
    assert specked[3] == pytest.approx(nine[3], abs=1e-3)


def quote(at, wanted, lean, patch=None, *, said=True):
    shape = (SIX if (wanted in "‘“") == (lean > 0) else NINE) if patch is None else patch
    return Quote(1, at, at, wanted, said, lean, shape)


def wrong(*quotes):
    return [one.at for one in wrong_way(quotes)]


def test_one_that_leans_the_other_way_than_its_fellows_stands_wrong():
    right = [quote(k, "’", 0.08) for k in range(3)]
    assert wrong(*right) == []
    assert wrong(*right, quote(9, "’", -0.08)) == [9]
    assert wrong(*right, quote(9, "’", -0.009, NINE)) == []
    # By itself it is told by those of the other kind that it is like.
    assert wrong(quote(1, "‘", 0.08), quote(2, "’", -0.08, SIX)) == [2]
    # No face has its closing quotes so; an opening one alone may be.
    assert wrong(quote(2, "’", -0.08)) == [2]
    assert wrong(quote(2, "‘", -0.08)) == []
    assert wrong(quote(2, "’", -0.08, said=False)) == []
    # Where none stands right, it is asked once.
    assert wrong(*(quote(k, "’", -0.08, SIX) for k in range(3)), quote(9, "‘", 0.08)) == [0]
    assert quote(1, "‘", 0.1).instead == "’"
    assert quote(1, "“", 0.1).instead == "”"
    assert (quote(1, "“", 0.1).opens, quote(1, "’", 0.1).opens) == (True, False)


def test_a_quote_amiss_takes_the_place_of_what_was_in_dispute_there():
    text, copy = "he said \"no' now", "he said “no” now"
    line, reading = row(text)
    at = text.index("'")
    told = difference(Kind.POINT_WRONG, (at, at + 1), "'", '"', copy=(at, at + 1))
    collation = Collation((SimpleNamespace(line=1, copy=Span(0, len(copy))),), (told,))
    fellows = SimpleNamespace(
        patch=lambda _, box: (
            SIX if box in (reading.letters[8].box, reading.letters[at].box) else STRAIGHT
        )
    )
    found, instead_of = quotes_amiss(collation, [reading], SimpleNamespace(text=copy), fellows)
    (one,) = found
    assert (one.kind, one.line, one.proof, one.copy) == (
        Kind.POINT_WRONG, 1, Span(at, at + 1), Span(at, at + 1),
    )  # fmt: skip
    assert (one.proof_text, one.copy_text, one.only_query) == ("“", "”", True)
    assert instead_of == {told}
    assert line.number == 1


# --- examples of each letter ----------------------------------------------------------------------


def test_letters_in_no_dispute_are_examples_however_narrow():
    letters = tuple(
        Letter(c, Box(10 * k, 0, wide, 10), 1.0)
        for k, (c, wide) in enumerate(zip("abcd ef", (1, 0, 5, 5, 5, 5, 5), strict=True))
    )
    told = difference(Kind.WRONG_LETTER, (3, 4), "d", "x")
    places = places_by_letter([Reading(1, letters)], [told], 9)
    # Not what has no width, nor spaces, nor what is in dispute or beside it.
    assert dict(places) == {"a": [(1, letters[0].box)], "e": [(1, letters[5].box)],
                            "f": [(1, letters[6].box)]}  # fmt: skip
    assert set(places_by_letter([Reading(2, letters)], [told], 9)) == {"a", "c", "d", "e", "f"}


def test_few_examples_are_taken_from_all_over_the_proof():
    letters = tuple(Letter("a", Box(10 * k, 0, 5, 10), 1.0) for k in range(7))
    places = places_by_letter([Reading(4, letters), Reading(5, letters[:2])], [], 4)
    assert places == {"a": [(4, letters[k].box) for k in (0, 2, 4, 6)]}


def test_the_page_s_own_letters_let_a_letter_go_from_end_to_end():
    letters = [("m", FULL)] * 8 + [("3", FULL)] * 8 + [("8", TWO_BARS)] * 8 + [("3", TWO_BARS)]
    at = len(letters) - 1
    told = difference(Kind.WRONG_LETTER, (at, at + 1), "3", "8")
    fellows, reading = page(*letters, told=[told])
    line = fellows._lines[1]
    sheet = fellows._sheets[0]
    says = PageSays([sheet], [line], [reading], [told])
    found = weigh(
        Collation((), (told,)), [sheet], [line], [reading], Witnesses(page=says), certain(0.001)
    )
    assert [each.reason for each in found.let_go] == [PAGE_BEARS_OUT]


# --- letters told apart ---------------------------------------------------------------------------


def told_by_letters(*places, often=0, read="b", names=None):
    """What the letters of a page say of some read as b for a: places on the way from a to b.

    Sixty of either lie twenty spreads apart; `often` more were read so and lie with the a's.
    """
    rng = np.random.default_rng(11)
    count = 60
    features = rng.normal(0, 1, (2 * count + often + len(places), 10)).astype(np.float32)
    features[count : 2 * count, 0] += 20.0
    for k, at in enumerate(places):
        features[2 * count + often + k] = 0.0
        features[2 * count + often + k, 0] = 20.0 * at
    text = "a" * count + "b" * count + read * (often + len(places))
    line, reading = row(text)
    told = [
        difference(Kind.WRONG_LETTER, (at, at + 1), read, "a") for at in range(2 * count, len(text))
    ]
    seer = SimpleNamespace(letters_seen=lambda *_: [features.astype(np.float16)])
    letters = PageLetters(seer, [blank()], [line], [reading], told)
    asked = [dispute((line, reading), each) for each in told]
    return letters, asked, reading


def test_letters_read_for_another_time_and_again_are_one_cause_where_most_lie_with_the_copy_s():
    letters, asked, _ = told_by_letters(often=8)
    answers = [letters.of(each) for each in asked]
    assert {says for says, _ in answers} == {Says.COPY}
    causes = [cause for _, cause in answers]
    assert "a is read as b" in causes
    assert set(causes) <= {"a is read as b", ""}
    # Those of the same name that lie with the b's are no such slip, and are told.
    letters, asked, _ = told_by_letters(1.0, 1.0, often=8)
    answers = [letters.of(each) for each in asked]
    assert [says for says, _ in answers[-2:]] == [Says.READING] * 2
    assert {says for says, _ in answers[:-2]} == {Says.COPY}
    # Where most do not lie with the copy's, none is excused as one.
    letters, asked, _ = told_by_letters(*[1.0] * 8, often=5)
    assert all(not cause for _, cause in map(letters.of, asked))


def test_what_is_of_another_length_or_place_or_case_is_not_asked_of_them():
    letters, asked, reading = told_by_letters(0.0)
    line = asked[0].line
    last = len(reading.letters) - 1
    longer = difference(Kind.WRONG_WORD, (last - 1, last + 1), "bb", "aab")
    assert letters.of(dispute((line, reading), longer)) == (Says.NOTHING, "")
    assert letters.doubts(dispute((line, reading), longer)) is False
    # Letters read as the copy has them say nothing beside the one that is not.
    word = difference(Kind.WRONG_WORD, (last - 1, last + 1), "bb", "ba")
    assert letters.of(dispute((line, reading), word))[0] is Says.COPY
    both = difference(Kind.WRONG_WORD, (last - 1, last + 1), "bb", "aa")
    assert letters.of(dispute((line, reading), both))[0] is Says.READING


def test_a_letter_that_plainly_lies_with_another_kind_is_a_stranger():
    rng = np.random.default_rng(13)
    features = rng.normal(0, 1, (120, 10)).astype(np.float32)
    features[60:, 0] += 20.0
    features[5], features[70] = 0.0, 0.0
    features[5, 0] = 20.0
    text = "a" * 60 + "b" * 60
    line, reading = row(text)
    seer = SimpleNamespace(letters_seen=lambda *_: [features.astype(np.float16)])

    def found(*told):
        letters = PageLetters(seer, [blank()], [line], [reading], told)
        return sorted((one.line, one.at, one.is_rather) for one in letters.strangers())

    assert found() == [(1, 5, "b"), (1, 70, "a")]
    # What is in dispute is none, nor an example: not one letter for another, nor in another case,
    # nor where more stands than the copy has.
    for read, wanted in (("a", "b"), ("a", "A"), ("a", "ab"), ("a", "")):
        told = difference(Kind.WRONG_LETTER, (5, 6), read, wanted)
        assert found(told) == [(1, 70, "a")], wanted
    beside = difference(Kind.WRONG_WORD, (4, 6), "aa", "ca")
    assert found(beside) == [(1, 5, "b"), (1, 70, "a")]
