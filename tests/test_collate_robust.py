"""Collation of odd matter: nothing printed, nothing like the copy, hostile copy, much copy."""

from random import Random

import pytest
from collating import copy_of, readings_of, set_in_lines

from proofcheck.base.kinds import Kind
from proofcheck.collate import collate

COPY = "The band will meet at the bridge at six o'clock and march by way of Mill Lane to the green."


@pytest.mark.parametrize("proof", [[], [""], ["", ""]])
def test_nothing_printed_is_not_this_copy(proof):
    collation = collate(copy_of(COPY), readings_of(proof))
    assert collation.mismatch
    assert collation.differences == ()
    assert len(collation.placings) == len(proof)


def test_another_job_is_a_mismatch_and_not_a_list_of_faults():
    proof = [
        "Onions, Bedfordshire Champion, fourpence",
        "Parsnips, Hollow Crown, the ounce threepence",
        "Radish, French Breakfast, twopence",
    ]
    collation = collate(copy_of(COPY), readings_of(proof))
    assert collation.mismatch
    assert collation.differences == ()
    assert collation.agreement < 0.4
    assert all(placing.copy is None for placing in collation.placings)


def test_half_another_job_is_still_this_copy():
    proof = [
        "The band will meet at the bridge at six",
        "o'clock and march by way of Mill Lane to",
        "the green.",
        "Onions, Bedfordshire Champion, 4d.",
        "Parsnips, Hollow Crown, 3d.",
    ]
    found = collate(copy_of(COPY), readings_of(proof)).differences
    assert [(d.kind, d.line, d.other_lines) for d in found] == [(Kind.LINE_FOREIGN, 4, (5,))]


@pytest.mark.parametrize(
    "copy",
    [
        "<script>alert(1)</script> & \\x00 %s {0} ${x} `rm`",
        "a\u202eb\u0301\u0301\u0301 \ud800 \U0010ffff",
        "word " * 40_000,
        "." * 100_000,
        "- " * 50_000,
        "x" * 200_000,
    ],
    ids=["markup", "controls", "words", "points", "dashes", "one word"],
)
def test_hostile_copy_breaks_nothing(copy):
    proof = readings_of(["The band will meet", "word word word word", "xxxxxxxxxx"])
    collation = collate(copy_of(copy), proof)
    assert len(collation.placings) == len(proof)


def test_readings_with_a_letter_of_several_code_points_keep_their_letters_apart():
    # A turned sort of the private use area, an astral character: one letter each.
    proof = ["The b\ue100nd will meet at \U0001d51ehe bridge"]
    found = collate(copy_of("The band will meet at the bridge"), readings_of(proof)).differences
    assert [(d.proof, d.copy_text) for d in found] == [((5, 6), "a"), ((22, 23), "t")]


def test_lines_keep_their_own_numbers():
    readings = [
        r for r in readings_of(["Onions", "The baud will", "meet at the bridge"]) if r.line > 1
    ]
    (found,) = collate(copy_of("The band will meet at the bridge"), readings).differences
    assert found.line == 2


def test_a_stretch_of_a_large_copy_is_found():
    sentence = "No. {0} of the {1} series was printed in {2} for the {3} society; price {0}s. {1}d."
    copy = " ".join(
        sentence.format(k, k * 7 % 911, 1800 + k % 99, k * 13 % 701) for k in range(6000)
    )
    words = copy.split()
    proof = [" ".join(words[k : k + 8]) for k in range(40_000, 41_600, 8)]
    collation = collate(copy_of(copy), readings_of(proof), part=True)
    assert collation.differences == ()


ROW, SET_ROW = "Ditto, dwarf\t4d.", "Ditto, dwarf ...... 4d."


def _of_rows(proof, rows=30):
    found = collate(copy_of("\n".join([ROW] * rows)), readings_of(proof)).differences
    return [(d.kind, d.line, d.proof_text, d.copy_text) for d in found]


def test_like_rows_fall_into_their_places():
    assert _of_rows([SET_ROW] * 30) == []
    wrong = [SET_ROW] * 12 + ["Ditto, dwarf ...... 6d."] + [SET_ROW] * 17
    assert _of_rows(wrong) == [(Kind.WRONG_LETTER, 13, "6", "4")]


def test_one_like_row_too_few_or_too_many_is_one_line():
    (missing,) = _of_rows([SET_ROW] * 29)
    assert (missing[0], missing[3]) == (Kind.LINE_MISSING, "Ditto, dwarf 4d.")
    (extra,) = _of_rows([SET_ROW] * 31)
    assert extra[0] is Kind.LINE_DOUBLED


@pytest.mark.parametrize("times", [5, 60, 200])
def test_copy_that_repeats_itself_is_followed_in_order(times):
    sentence = "Admit one to the summer concert in the Mill Meadow on Saturday the 11th of July. "
    text = (sentence * times).strip()
    lines = set_in_lines(text, 37, Random(1), divide=False)
    assert collate(copy_of(text), readings_of(lines)).differences == ()
    at = len(lines) // 3
    del lines[at]
    (found,) = collate(copy_of(text), readings_of(lines)).differences
    assert (found.kind, found.line <= at) == (Kind.LINE_MISSING, True)


@pytest.mark.parametrize(
    ("first", "told"),
    [
        ("Vane was glad of it, and so was the baker’s boy.", []),
        ("Vans was glad of it, and so was the baker’s boy.", ["wrong"]),
        ("ane was glad of it, and so was the baker’s boy.", ["lost"]),
    ],
)
def test_a_part_may_begin_behind_a_words_own_hyphen(first, told):
    """ "Hesketh-" stands at the end of the line above, which is not on the part."""
    copy = copy_of(
        "The old mill by the ford had long been let to Hepzibah Hesketh-Vane was glad of it, "
        "and so was the baker’s boy. They met by the sluice each Sunday after church."
    )
    proof = readings_of([first, "They met by the sluice each Sunday after church."])
    collation = collate(copy, proof, part=True)
    assert bool(collation.differences) is bool(told)
    assert collate(copy, proof).differences, "of the whole copy much is missing"


def test_a_line_of_which_hardly_a_word_was_read_to_the_letter_is_no_foreign_line():
    """Its letters are those that stand there: what is wrong in it is told, and no line missing."""
    copy = "Electric Light—Lift—Baths on every floor—Sledge and Omnibus at all trains. Porter."
    lines = ["Hotel Belmonde", "ElcctricLight Lift Baths on cvery floro—",
             "Sledge and Omnibus at all trains. Porter."]  # fmt: skip
    found = collate(copy_of(f"Hotel Belmonde\n{copy}"), readings_of(lines)).differences
    assert found
    told = {one.kind for one in found}
    assert not told & {Kind.LINE_FOREIGN, Kind.LINE_MISSING, Kind.MATTER_MISSING}
    other = [lines[0], "Sundries for the month, as per book", lines[2]]
    found = collate(copy_of(f"Hotel Belmonde\n{copy}"), readings_of(other)).differences
    assert Kind.LINE_FOREIGN in {one.kind for one in found}


def test_long_words_run_together_with_letters_wrong_are_told_letter_by_letter():
    found = collate(
        copy_of("Presented by the Elmhurst Dispensary in May."),
        readings_of(["Presented by the ElmhrstDispensarv", "in May."]),
    ).differences
    told = [(one.kind, one.copy_text, one.proof_text) for one in found]
    assert told == [
        (Kind.LETTER_MISSING, "u", ""),
        (Kind.SPACE_MISSING, " ", ""),
        (Kind.WRONG_LETTER, "y", "v"),
    ]
