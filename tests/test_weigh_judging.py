"""What is told, asked or let go, by what the witnesses say: each row of the rule by itself.

The witnesses are stood in for, so that every combination comes about. That nothing which makes
sense either way passes in silence, and that only a person settles it, is the shop's own rule.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from test_weigh_rules import blank, difference, dispute, row

from proofcheck.base.kinds import Kind
from proofcheck.base.values import Letter, Reading
from proofcheck.reading.alphabet import NO_LETTER
from proofcheck.weigh.evidence import Evidence
from proofcheck.weigh.fellows import Says
from proofcheck.weigh.judging import BORNE_OUT, PAGE_BEARS_OUT, Judge
from proofcheck.weigh.page_letters import PageLetters
from proofcheck.weigh.places import Places

LINE = "the bamd 3 plays"


def judge(certainty, *, says=None, letters=None, doubts=False, unknown="", without=None):
    """A judge whose witnesses come to that certainty (`without` the engine to another)."""

    def weighed(features):
        return certainty if without is None or features[2] else without

    own = letters and SimpleNamespace(of=lambda _: letters, doubts=lambda _: doubts)
    if doubts and not own:
        own = SimpleNamespace(of=lambda _: (Says.NOTHING, ""), doubts=lambda _: True)
    held = row(LINE)
    return Judge(
        SimpleNamespace(certainty=weighed), Places([held[0]], [held[1]]),
        says and SimpleNamespace(of=lambda _: says),
        SimpleNamespace(concerns=lambda _: False, unknown=frozenset(unknown)), own or None,
    )  # fmt: skip


WRONG = difference(Kind.WRONG_LETTER, (6, 7), "m", "n")
FIGURE = difference(Kind.WRONG_LETTER, (9, 10), "3", "8")


def of(judged_by, told, **evidence):
    return judged_by.of(0, told, dispute(row(LINE), told), Evidence(**evidence))


@pytest.mark.parametrize(
    ("certainty", "reason"), [(0.9, ""), (0.03, ""), (0.019, BORNE_OUT), (0.001, BORNE_OUT)]
)
def test_under_one_in_fifty_the_picture_bears_out_the_copy(certainty, reason):
    found = of(judge(certainty), WRONG)
    assert (found.certainty, found.reason) == (certainty, reason)


@pytest.mark.parametrize(
    ("says", "certainty", "comes_to", "reason"),
    [
        (None, 0.001, 0.02, ""), (None, 0.5, 0.5, ""),
        (Says.NOTHING, 0.001, 0.02, ""), (Says.READING, 0.001, 0.9, ""),
        (Says.READING, 0.97, 0.97, ""), (Says.COPY, 0.001, 0.001, PAGE_BEARS_OUT),
        # What the witnesses hold for a fault is none for the page's letters to let go.
        (Says.COPY, 0.5, 0.5, ""), (Says.SEEN, 0.5, 0.01, PAGE_BEARS_OUT),
        (Says.ALIKE, 0.001, 0.001, "3 and 8 can't be told apart in this face"),
        (Says.ALIKE, 0.5, 0.5, ""),
    ],
)  # fmt: skip
def test_a_figure_is_asked_about_unless_the_page_s_own_settle_it(says, certainty, comes_to, reason):
    found = of(judge(certainty, says=says), FIGURE)
    assert (found.certainty, found.reason) == (comes_to, reason)
    assert found.alike == (reason if says is Says.ALIKE and reason else "")


def test_what_is_plainly_off_the_copy_s_letters_is_never_let_go():
    assert of(judge(0.001, doubts=True), WRONG).reason == ""
    assert of(judge(0.001, doubts=True), WRONG).certainty == 0.02
    assert of(judge(0.001, says=Says.COPY, doubts=True), FIGURE).reason == ""


@pytest.mark.parametrize(
    ("letters", "certainty", "comes_to", "reason"),
    [
        ((Says.READING, ""), 0.1, 0.9, ""), ((Says.READING, ""), 0.95, 0.95, ""),
        ((Says.COPY, ""), 0.8, 0.02, PAGE_BEARS_OUT), ((Says.COPY, ""), 0.01, 0.01, PAGE_BEARS_OUT),
        ((Says.NOTHING, ""), 0.4, 0.4, ""),
        # By letters of other sizes alone it is asked about.
        ((Says.RATHER, ""), 0.001, 0.3, ""), ((Says.RATHER, ""), 0.8, 0.8, ""),
    ],
)  # fmt: skip
def test_the_proof_s_own_letters_settle_a_letter(letters, certainty, comes_to, reason):
    found = of(judge(certainty, letters=letters), WRONG)
    assert (found.certainty, found.reason) == (comes_to, reason)


def test_they_let_no_figure_go_and_say_it_is_wrong_where_its_ink_does_not_gainsay_them():
    copy, read = (Says.COPY, ""), (Says.READING, "")
    assert of(judge(0.001, letters=copy, says=Says.NOTHING), FIGURE).reason == ""
    assert of(judge(0.1, letters=read, says=Says.NOTHING), FIGURE).certainty == 0.9
    for alone in (Says.COPY, Says.ALIKE):
        assert of(judge(0.1, letters=read, says=alone), FIGURE).certainty < 0.9


def test_of_many_with_one_cause_the_first_is_asked_about():
    one = judge(0.01, letters=(Says.COPY, "n is read as m"))
    first, second = of(one, WRONG), of(one, WRONG)
    assert (first.certainty, first.difference.only_query, first.reason) == (0.3, True, "")
    assert (second.certainty, second.difference.only_query) == (0.01, False)
    assert second.reason


def test_the_engine_lets_no_letter_go_but_may_a_point():
    # With the engine's word one in a thousand, without it one in three.
    both = judge(0.001, without=0.3)
    assert of(both, WRONG, second_look=-1.0).certainty == 0.02
    assert of(both, WRONG, second_look=-1.0).reason == ""
    point = difference(Kind.POINT_EXTRA, (6, 7), "m", "")
    assert of(both, point, second_look=-1.0).certainty == 0.001
    # Nor does it make one more certain than it was.
    assert of(judge(0.5, without=0.1), WRONG, second_look=-1.0).certainty == 0.5
    assert of(judge(0.001, without=0.005), WRONG, second_look=-1.0).certainty == 0.005


# --- what whole lines bear witness to ------------------------------------------------------------


def by_rule(told, reading=None, *, unknown="", paler=frozenset()):
    held = replace(judge(0.5, unknown=unknown), paler=paler)
    if reading is not None:
        held.places.readings[1] = reading
    return held.of(0, told, None, None).certainty


@pytest.mark.parametrize("kind", [Kind.LINE_MISSING, Kind.MATTER_MISSING])
def test_a_line_of_letters_that_can_not_be_read_may_be_there_all_the_same(kind):
    told = difference(kind, (0, 0), "", "ab ŧŧ")
    assert by_rule(told) == 0.95
    assert by_rule(told, unknown="ŧ") == 0.475
    assert by_rule(difference(kind, (0, 0), "", "abc ŧŧ"), unknown="ŧ") == 0.95
    assert by_rule(difference(kind, (0, 0), "", ""), unknown="ŧ") == 0.95


@pytest.mark.parametrize(("sure", "certainty"), [(0.9, 0.95), (0.61, 0.95), (0.5, 0.2375)])
def test_a_foreign_line_that_was_ill_read_may_be_a_stain(sure, certainty):
    told = difference(Kind.LINE_FOREIGN, (0, 4), "abcd", "")
    assert by_rule(told, row("abcd", sure=sure)[1]) == pytest.approx(certainty)
    # Of any other kind it says nothing.
    assert (
        by_rule(difference(Kind.LINE_DOUBLED, (0, 4), "abcd", ""), row("abcd", sure=0.1)[1]) == 0.95
    )


def test_a_foreign_line_that_is_all_ornament_is_for_a_person():
    told = difference(Kind.LINE_FOREIGN, (0, 2), NO_LETTER * 2, "")
    letters = row("ab")[1].letters
    ornament = Reading(1, tuple(Letter(NO_LETTER, one.box, 0.9) for one in letters))
    assert by_rule(told, ornament) == 0.475
    mixed = Reading(1, (ornament.letters[0], letters[1]))
    assert by_rule(told, mixed) == 0.95
    # A rule with an ornament in its middle is read as dashes.
    ruled = Reading(1, (ornament.letters[0], replace(letters[1], text="—")))
    assert by_rule(told, ruled) == 0.475


def test_a_foreign_line_in_paler_ink_than_the_type_is_for_a_person():
    told = difference(Kind.LINE_FOREIGN, (0, 4), "abcd", "")
    read = row("abcd", sure=0.99)[1]
    assert by_rule(told, read, paler=frozenset({1})) == 0.475
    assert by_rule(told, read, paler=frozenset({2})) == 0.95
    missing = difference(Kind.LINE_MISSING, (0, 0), "", "abcd")
    assert by_rule(missing, read, paler=frozenset({1})) == 0.95


def test_white_between_the_letters_makes_a_foreign_line_no_surer():
    """A stroke of a pencil: two letters guessed at, and the white between them plain."""
    told = difference(Kind.LINE_FOREIGN, (0, 3), "y o", "")
    letters = row("y o", sure=0.5)[1].letters
    read = Reading(1, (letters[0], replace(letters[1], certainty=0.98), letters[2]))
    assert by_rule(told, read) == pytest.approx(0.2375)


# --- the proof's own letters ---------------------------------------------------------------------

COUNT = 60
APART = 20.0
"""Spreads between the two classes."""


def own_letters(*places, read="b", often=0, spread=1.0):
    """A page of 60 a's and 60 b's, and letters read as one for the other at places between.

    0 is where the a's lie, 1 where the b's do; a pair is a place and how far it lies aside.
    """
    rng = np.random.default_rng(7)
    features = rng.normal(0, spread, (2 * COUNT, 10)).astype(np.float32)
    features[COUNT:, 0] += APART
    more = np.zeros((len(places), 10), np.float32)
    for k, place in enumerate(places):
        at, aside = place if isinstance(place, tuple) else (place, 0.0)
        more[k, 0], more[k, 1] = at * APART, aside
    wanted = "a" if read == "b" else "b"
    text = "a" * COUNT + "b" * COUNT + read * len(places)
    held = row(text)
    told = [
        difference(Kind.WRONG_LETTER, (2 * COUNT + k, 2 * COUNT + k + 1), read, wanted)
        for k in range(len(places))
    ]
    seen = np.concatenate([features, more]).astype(np.float16)
    seer = SimpleNamespace(letters_seen=lambda *_: [seen])
    page = PageLetters(seer, [blank()], [held[0]], [held[1]], told)
    return [(page.of(asked), page.doubts(asked)) for asked in (dispute(held, one) for one in told)]


@pytest.mark.parametrize(
    ("at", "says"),
    [(1.0, Says.READING), (0.9, Says.READING), (0.5, Says.NOTHING), (0.0, Says.COPY),
     (0.1, Says.COPY)],
)  # fmt: skip
def test_a_letter_is_that_which_it_lies_with(at, says):
    (((answer, cause), _),) = own_letters(at)
    assert (answer, cause) == (says, "")
    # The other way about it is the same.
    (((answer, _), _),) = own_letters(1 - at, read="a")
    assert answer is says


def test_a_letter_that_lies_with_neither_is_neither_but_doubted_where_it_is_off_the_copy_s():
    (((answer, _), doubted),) = own_letters(0.6)
    assert (answer, doubted) == (Says.NOTHING, True)
    (((answer, _), doubted),) = own_letters(0.0)
    assert doubted is False
    (((answer, _), doubted),) = own_letters(0.2)
    assert doubted is False


def test_one_letter_read_as_another_time_and_again_has_one_cause():
    # Five that lie together, apart from either class's middle but with the copy's letters.
    answers = own_letters(*[0.05] * 5)
    assert {answer for (answer, _), _ in answers} == {Says.COPY}
    assert {cause for (_, cause), _ in answers} == {"a is read as b"}
    assert {cause for (_, cause), _ in own_letters(*[0.05] * 4)} == {""}
