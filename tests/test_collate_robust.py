"""Collation of odd matter: nothing printed, nothing like the copy, hostile copy, much copy."""

import time

import pytest
from collating import copy_of, readings_of

from proofcheck.collate import collate
from proofcheck.values import Kind

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
def test_hostile_copy_neither_breaks_nor_stalls(copy):
    before = time.process_time()
    collate(copy_of(copy), readings_of(["The band will meet", "word word word word", "xxxxxxxxxx"]))
    assert time.process_time() - before < 20


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


def test_a_large_copy_is_searched_in_little_time():
    sentence = "No. {0} of the {1} series was printed in {2} for the {3} society; price {0}s. {1}d."
    copy = " ".join(
        sentence.format(k, k * 7 % 911, 1800 + k % 99, k * 13 % 701) for k in range(6000)
    )
    words = copy.split()
    proof = [" ".join(words[k : k + 8]) for k in range(40_000, 41_600, 8)]
    before = time.process_time()
    collation = collate(copy_of(copy), readings_of(proof), part=True)
    assert collation.differences == ()
    assert time.process_time() - before < 10
