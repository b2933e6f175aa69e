"""Likely causes, against the tables they come from.

Keyboard: a US Navy training book on line-casting machines (training papers 10458), as a web page
gives it; its first two columns also in newspaper histories of the run-down line. Case: the
California job case as school books draw it (Polk); letters slide into the box below: W. Blades,
quoted in H. B. Wheatley, *Literary Blunders*. Turned letters: T. MacKellar, *The American
Printer* (1893), and a school composition book of about 1900. Figures 6 and 9 turned: common
practice.
"""

import pytest
from collating import copy_of, readings_of

from proofcheck.base.found import Cause, Difference
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Span
from proofcheck.collate import collate
from proofcheck.collate.causes import (
    CASE_BOX_ABOVE,
    KEYBOARD,
    are_neighbour_keys,
    cause_of,
    with_cause,
)
from proofcheck.collate.stray import is_run_down
from proofcheck.reading.turned import LOOKS_LIKE
from tests.turning import UNCHANGED


def _difference(kind, printed, wanted, at=3):
    proof = Span(at, at + len(printed))
    return Difference(kind, 1, proof, printed, Span(9, 9 + len(wanted)), wanted)


def _cause(kind, printed, wanted, **options):
    return cause_of(_difference(kind, printed, wanted), **options)


def test_the_first_columns_of_the_keyboard_spell_the_run_down_line():
    columns = ["".join(row[k] for row in KEYBOARD) for k in range(5)]
    assert columns[:4] == ["etaoin", "shrdlu", "cmfwyp", "vbgkqj"]


@pytest.mark.parametrize("text", ["etaoin shrdlu", "the etaoi n", "at six SHRDLU", "et aoin"])
def test_a_run_down_line_is_known(text):
    assert is_run_down(text)


@pytest.mark.parametrize("text", ["the station should", "eta oi", "shrdl", ""])
def test_other_lines_are_not_run_down(text):
    assert not is_run_down(text)


@pytest.mark.parametrize("pair", ["et", "io", "in", "sh", "es", "hm", "ta", "ET", "28", "12", ".,"])
def test_neighbouring_keys(pair):
    assert are_neighbour_keys(*pair)
    assert are_neighbour_keys(*pair[::-1])
    wrong = Kind.POINT_WRONG if pair == ".," else Kind.WRONG_LETTER
    assert _cause(wrong, *pair) is Cause.NEIGHBOUR_KEY


@pytest.mark.parametrize("pair", ["en", "eo", "sv", "ee", "az", "27"])
def test_other_keys_are_not_neighbours(pair):
    assert not are_neighbour_keys(*pair)


@pytest.mark.parametrize(("wanted", "printed"), ["lb", "vl", "mc", "um", "nd", "tn", "ao"])
def test_foul_case_on_the_california_lay(wanted, printed):
    assert CASE_BOX_ABOVE[wanted] == printed
    assert _cause(Kind.WRONG_LETTER, printed, wanted, hand_set=True) is Cause.FOUL_CASE


def test_the_foul_case_of_the_book():
    # Blades: "forced" for "farced" (o for a), "book" for "look" (b for l).
    assert _cause(Kind.WRONG_LETTER, "o", "a", hand_set=True) is Cause.FOUL_CASE
    assert _cause(Kind.WRONG_LETTER, "b", "l", hand_set=True) is Cause.FOUL_CASE


@pytest.mark.parametrize("pair", ["nu", "pd", "bq", "69"])
def test_turned_sorts_that_look_like_others(pair):
    one, other = pair
    assert LOOKS_LIKE[one] == other
    assert LOOKS_LIKE[other] == one
    for printed, wanted in (pair, pair[::-1]):
        assert _cause(Kind.WRONG_LETTER, printed, wanted, hand_set=True) is Cause.TURNED_SORT


def test_sorts_that_look_the_same_turned():
    # Letters and figures of roman that half a turn leaves as they are.
    alike = {sort for sort in UNCHANGED if sort.isascii() and sort.isalnum()}
    assert alike == set("osxzHINOSXZ08")


def test_a_slug_is_explained_by_its_keys_before_turning():
    # n and u lie side by side; p and d do not.
    assert _cause(Kind.WRONG_LETTER, "u", "n") is Cause.NEIGHBOUR_KEY
    assert _cause(Kind.WRONG_LETTER, "p", "d") is Cause.TURNED_SORT


def test_turned_characters_are_turned_sorts():
    assert _cause(Kind.TURNED_SORT, "ǝ", "e") is Cause.TURNED_SORT
    assert _cause(Kind.WRONG_LETTER, "ɐ", "e") is Cause.TURNED_SORT


@pytest.mark.parametrize(("printed", "wanted"), [("1", "l"), ("0", "O"), ("rn", "m"), ("cl", "d")])
def test_look_alikes(printed, wanted):
    assert _cause(Kind.WRONG_LETTER, printed, wanted) is Cause.LOOK_ALIKE
    assert _cause(Kind.WRONG_LETTER, wanted, printed) is Cause.LOOK_ALIKE


def test_faults_of_the_machine():
    # Late and fallen mats: "Linotype Manual" (1898).
    assert _cause(Kind.LETTERS_TRANSPOSED, "ra", "ar") is Cause.LATE_MAT
    assert _cause(Kind.LETTER_MISSING, "", "e") is Cause.MAT_NOT_FALLEN
    assert _cause(Kind.LETTER_MISSING, "", "eve") is None
    assert _cause(Kind.POINT_MISSING, "", ".", line_end=True) is Cause.MAT_NOT_FALLEN
    assert _cause(Kind.LETTERS_TRANSPOSED, "ra", "ar", hand_set=True) is None


def test_a_key_struck_twice_prints_the_letter_twice():
    extra = Difference(Kind.LETTER_EXTRA, 1, Span(3, 4), "n", Span(2, 2), "")
    assert with_cause(extra, "bannd").cause is Cause.DOUBLED_KEY
    assert with_cause(extra, "baend").cause is None
    assert with_cause(extra, "bannd", hand_set=True).cause is None


def test_no_cause_is_made_up():
    assert _cause(Kind.WRONG_WORD, "vestry", "schoolroom") is None
    assert _cause(Kind.WRONG_LETTER, "q", "e") is None
    assert _cause(Kind.WORD_MISSING, "", "the") is None


def test_on_a_proof_the_line_says_whether_a_letter_was_struck_twice_or_a_point_is_its_last():
    copy, proof = copy_of("The band played on the green."), ["The bannd playef on", "teh gren"]
    told = collate(copy, readings_of(proof)).differences
    assert [(d.line, d.proof_text, d.copy_text, d.cause) for d in told] == [
        (1, "n", "", Cause.DOUBLED_KEY),
        (1, "f", "d", None),
        (2, "eh", "he", Cause.LATE_MAT),
        (2, "", "e", Cause.MAT_NOT_FALLEN),
        (2, "", ".", Cause.MAT_NOT_FALLEN),
    ]
    # From the case none of that: sorts are picked up one by one.
    by_hand = collate(copy, readings_of(proof), hand_set=True).differences
    assert {d.cause for d in by_hand} == {None}
