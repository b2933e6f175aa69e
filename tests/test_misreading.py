"""What a difference counts for where the reader slips often.

The rule of odds is Bayes' own: as many times commoner the one cause, so many times less likely the
other. What is usual, and how many slips battered small type brings, is measured on own sheets.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest
from test_weigh_rules import blank, difference, row

from proofcheck.base.found import Status
from proofcheck.base.kinds import Kind
from proofcheck.weigh import Thresholds, Witnesses, weigh
from proofcheck.weigh.calibration import FEATURES, Calibration
from proofcheck.weigh.fellows import Says
from proofcheck.weigh.misreading import AS_IF, MOST, USUAL, Misreading

LETTERS = 400


def lines_of(*x_heights, sheet=0):
    """Lines of so many letters each, so high."""
    made = [row("n" * LETTERS) for _ in x_heights]
    lines = [
        replace(line, number=number, sheet=sheet, x_height_px=x_height)
        for number, ((line, _), x_height) in enumerate(zip(made, x_heights, strict=True), 1)
    ]
    readings = [replace(reading, line=number) for number, (_, reading) in enumerate(made, 1)]
    return lines, readings


def slip(line, kind=Kind.WRONG_LETTER):
    return replace(difference(kind, (3, 4), "c", "e"), line=line)


def test_where_slips_are_as_usual_certainty_stays():
    lines, readings = lines_of(20)
    assert Misreading(lines, readings, []).tempered(1, 0.9) == pytest.approx(0.9)
    assert Misreading(lines, readings, [slip(1)]).tempered(1, 0.9) == pytest.approx(0.9)


def test_odds_fall_as_slips_grow():
    lines, readings = lines_of(20)
    slips = [slip(1)] * 12
    times = (12 + AS_IF * USUAL) / (LETTERS + AS_IF) / USUAL
    less = Misreading(lines, readings, slips).tempered(1, 0.9)
    assert less / (1 - less) == pytest.approx(9 / times)
    assert Misreading(lines, readings, slips).tempered(1, 1.0) == 1.0


def test_but_no_further_than_so_far():
    lines, readings = lines_of(20)
    less = Misreading(lines, readings, [slip(1)] * 200).tempered(1, 0.96)
    assert less / (1 - less) == pytest.approx(24 / MOST)
    assert less > 0.5


def test_slips_count_for_type_of_their_own_size_and_sheet():
    lines, readings = lines_of(20, 21, 40)
    slips = [slip(1)] * 30
    held = Misreading(lines, readings, slips)
    assert held.tempered(2, 0.9) < 0.5
    assert held.tempered(3, 0.9) == pytest.approx(0.9)
    elsewhere = [lines[0], replace(lines[1], sheet=1), lines[2]]
    assert Misreading(elsewhere, readings, slips).tempered(2, 0.9) == pytest.approx(0.9)


def test_spaces_are_no_slips_of_letters():
    lines, readings = lines_of(20)
    spaces = [slip(1, Kind.SPACE_MISSING)] * 30
    assert Misreading(lines, readings, spaces).tempered(1, 0.9) == pytest.approx(0.9)


def weighed(text, told, certain):
    """What is found, where the page's own letters bear out all that was read for certain."""
    line, reading = row(text)
    collation = SimpleNamespace(differences=tuple(told))
    letters = SimpleNamespace(
        of=lambda d: ((Says.READING if d.difference.proof.start in certain else Says.NOTHING), ""),
        doubts=lambda _: True,
    )
    seldom = Calibration(-9.0, (0.0,) * len(FEATURES), "")
    return weigh(
        collation, [blank()], [line], [reading], Witnesses(letters=letters), seldom,
        called=Thresholds(),
    ).found  # fmt: skip


def test_a_fault_on_a_sheet_that_is_misread_is_asked_about_and_never_let_go():
    text = "the committee sat " * 8
    told = [difference(Kind.WRONG_LETTER, (at, at + 1), text[at], "x") for at in range(0, 120, 6)]
    alone = weighed(text, told[:1], {0})
    among = weighed(text, told, {0})
    assert [one.status for one in alone] == [Status.FAULT]
    assert len(among) == len(told)
    assert {one.status for one in among} == {Status.QUERY}


def test_faults_are_no_slips():
    # Every one of them is borne out by the page: a bad compositor, not a bad impression.
    text = "the committee sat " * 8
    told = [difference(Kind.WRONG_LETTER, (at, at + 1), text[at], "x") for at in range(0, 120, 6)]
    found = weighed(text, told, set(range(0, 120, 6)))
    assert {one.status for one in found} == {Status.FAULT}


def test_a_collation_without_differences_is_weighed():
    line, reading = row("the band")
    held = weigh(
        SimpleNamespace(differences=()), [], [line], [reading], Witnesses(),
        Calibration(0.0, (0.0,) * len(FEATURES), ""),
    )  # fmt: skip
    assert held.found == ()
