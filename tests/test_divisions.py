"""Divisions at line ends against the rules of the old manuals and printers' own practice."""

import pytest

from proofcheck.base.divisions import may_divide, running_divisions
from proofcheck.base.found import Status


def judged(divided, language="eng"):
    """The status of a word written with "|" where it is divided."""
    return may_divide(divided.replace("|", ""), divided.index("|"), language).status


@pytest.mark.parametrize(
    "divided",
    # As found at line ends of four books of 1866 to 1918; dictionaries refuse the last eight.
    [
        "con|tinually",
        "accom|plish",
        "gar|den",
        "be|side",
        "moun|ting",
        "nec|essary",
        "un|observing",
        "know|ledge",
        "prog|ress",
        "vigil|ance",
        "pleas|ure",
        "prec|edent",
        "consumpt|ion",
    ],
)
def test_divisions_good_printers_made(divided):
    assert judged(divided) is None


@pytest.mark.parametrize(
    ("divided", "reason"),
    [
        # Hart's Rules: at least two letters before; Hamilton 1918: no word of four letters, no
        # figures, amounts or initials. No part without a vowel: common practice.
        ("a|gain", "one letter left"),
        ("contr|y", "one letter carried"),
        ("in|to", "four letters"),
        ("£1,0|00", "figures"),
        ("U.S|.A.", "initials"),
        ("str|ength", "vowel"),
        ("could|n't", "vowel"),
    ],
)
def test_hard_rules_give_faults(divided, reason):
    division = may_divide(divided.replace("|", ""), divided.index("|"))
    assert division.status is Status.FAULT
    assert reason in division.reason


@pytest.mark.parametrize(
    "divided",
    # Three letters after (Hart's Rules) was not kept by all; the rest no dictionary allows.
    ["recent|ly", "with|in", "pri|nter", "thro|ugh", "semi-bar|barous"],
)
def test_custom_gives_queries(divided):
    assert judged(divided) is Status.QUERY


def test_own_hyphens_and_dashes_are_good_places():
    assert judged("two-|thirds") is None
    assert judged("1914–|18") is None
    assert judged("and|—so") is None
    assert judged("10-|day") is None


def test_names_and_heads():
    assert judged("Maat|schappij") is None  # a name: no dictionary speaks
    assert judged("(Dan|iel,") is None
    assert judged("CONTIN|UED") is None
    assert judged("CONTINU|ED") is Status.QUERY


def test_points_round_the_word_change_nothing():
    assert judged("“con|tinually,”") is None
    assert judged("(moth|er’s)") is None


def test_other_languages():
    assert judged("Schiff|fahrt", "deu") is None
    assert judged("ex|emple", "fra+eng") is None
    assert judged("thro|ugh", "no such language") is None  # without a dictionary, hard rules only
    assert judged("str|ength", "no such language") is Status.FAULT
    assert judged("τυπο|γραφία", "ell") is None


def test_place_outside_the_word():
    for at in (0, 4, -1):
        with pytest.raises(ValueError, match="no place"):
            may_divide("word", at)


def test_more_than_two_running():
    lines = [True, True, False, True, True, True, False, True]
    assert running_divisions(lines) == (range(3, 6),)
    assert running_divisions(lines, most=3) == ()
    assert running_divisions([True] * 4) == (range(4),)
    assert running_divisions([]) == ()
