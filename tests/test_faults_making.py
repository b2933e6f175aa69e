"""A fault is made in one place, and marked by the set of marks that is passed in."""

from __future__ import annotations

from dataclasses import replace

import pytest

from proofcheck.base.found import Difference, Found, Mark, Status
from proofcheck.base.kinds import KINDS, Cure, Group, Kind, cured_by, of_group
from proofcheck.base.values import Box, Span
from proofcheck.faults import make_faults
from proofcheck.marks import AMERICAN, SetOfMarks


def found(kind=Kind.WRONG_LETTER, status=Status.FAULT, **own):
    told = Difference(kind, 2, Span(0, 1), "u", Span(4, 5), "n")
    return Found(told, 0, Box(10, 20, 8, 12), 0.9, status, {"ratio": 3.0}, **own)


def test_faults_are_numbered_in_the_order_given_and_lose_nothing():
    made = make_faults([found(), found(Kind.TURNED_SORT)])
    assert [fault.id for fault in made] == ["F1", "F2"]
    first = made[0]
    assert (first.kind, first.line, first.box) == (Kind.WRONG_LETTER, 2, Box(10, 20, 8, 12))
    assert (first.copy, first.copy_text, first.proof_text) == (Span(4, 5), "n", "u")
    assert (first.certainty, first.evidence) == (0.9, {"ratio": 3.0})
    assert first.mark.margin == "n/"


def test_a_query_is_put_as_a_question():
    (query,) = make_faults([found(status=Status.QUERY)])
    assert "?" in query.mark.margin
    assert query.mark.words.startswith("query: ")


def test_its_own_sign_and_words_go_before_the_usual():
    (fault,) = make_faults([found(Kind.UNEVEN_SPACING, sign="less-space", words="too wide")])
    row = AMERICAN.signs["less-space"]
    assert (fault.mark.sign, fault.mark.margin, fault.mark.text) == (
        "less-space",
        row.margin,
        row.text,
    )
    assert fault.mark.words == "too wide"


def test_another_practice_changes_the_marks_and_nothing_else():
    ringed = Mark("ring", "", "o", "ring", "look here")
    other = SetOfMarks("rings", AMERICAN.signs, dict.fromkeys(Kind, lambda *_: ringed))
    every = [found(kind) for kind in Kind]
    ours, theirs = make_faults(every), make_faults(every, other)
    assert {fault.mark for fault in theirs} == {ringed}
    assert [replace(fault, mark=ringed) for fault in ours] == list(theirs)


@pytest.mark.parametrize("kind", Kind)
def test_a_practice_must_have_a_mark_for_every_kind(kind):
    makers = {each: maker for each, maker in AMERICAN.makers.items() if each is not kind}
    with pytest.raises(ValueError, match=kind.value):
        SetOfMarks("half", AMERICAN.signs, makers)


@pytest.mark.parametrize("kind", Kind)
def test_every_kind_has_its_row_and_takes_the_place_only_of_faults_of_the_text(kind):
    row = KINDS[kind]
    assert row.kind is kind
    assert not row.misread_as & of_group(Group.TYPE, Group.LINES, Group.LINE_ENDS)


def test_lines_and_what_the_stone_cures():
    # common practice: slugs are put in, taken out and moved without a new one being cast.
    assert of_group(Group.LINES) == {
        Kind.LINE_MISSING,
        Kind.LINE_DOUBLED,
        Kind.LINES_TRANSPOSED,
        Kind.LINE_FOREIGN,
    }
    assert cured_by(Cure.STONE) == {Kind.WORK_UP, Kind.CROOKED_LINE} | of_group(Group.RULES)
    assert cured_by(Cure.MOVE) == {Kind.LINES_TRANSPOSED}
