"""Capitals, small capitals, and the letters that look alike in both.

Which small letters are shaped like their capitals, and how tall small letters and small capitals
are, is common practice; the heights below are in pixels of a 10-point face at 300 dpi (capitals
30, small capitals and small letters 20).
"""

from __future__ import annotations

import pytest
from collating import copy_of

from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Letter, Reading
from proofcheck.collate import collate
from proofcheck.collate.same import Rules
from proofcheck.marks import mark_for

TALL, LOW = 30, 20
LEAD = "and all the people of the village came to hear the band that played upon the green"


def _small_capitals(word: str) -> list[int]:
    """Heights of a word in small capitals, its first letter a large one if read as a capital."""
    return [TALL if k == 0 and char.isupper() else LOW for k, char in enumerate(word)]


def _as_printed(word: str) -> list[int]:
    """Heights of a word whose letters are what they are read as."""
    return [TALL if char.isupper() else LOW for char in word]


def _told(copy: str, printed: str, heights: list[int], rules: Rules | None = None):
    """Differences of one line, the one after a line of plain matter, and what was waived."""
    readings = [
        Reading(
            number,
            tuple(
                Letter(char, Box(10 * k, 40 * number - tall, 8, tall), 1.0)
                for k, (char, tall) in enumerate(zip(text, sizes, strict=True))
            ),
        )
        for number, text, sizes in ((1, LEAD, _as_printed(LEAD)), (2, printed, heights))
    ]
    found = collate(copy_of(f"{LEAD}\n{copy}"), readings, rules=rules or Rules())
    told = [(d.kind.value, d.proof_text, d.copy_text, d.only_query) for d in found.differences]
    return told, dict(found.waived)


def _by_word(text: str, heights) -> list[int]:
    words = [heights(word) for word in text.split(" ")]
    return [tall for word in words for tall in (*word, 1)][:-1]


@pytest.mark.parametrize(
    ("copy", "printed"),
    [
        ("Bandmaster, Josiah Fennimarch", "BANDMASTER, JoSIAH FENNIMARCH"),
        ("Conductor, Oscar Woxley", "CoNDUcToR, OscAR WoXLEY"),
        ("the order of the cow and so on", "THE oRDER oF THE cow AND so oN"),
    ],
)
def test_a_line_in_small_capitals_is_one_query(copy: str, printed: str):
    told, _ = _told(copy, printed, _by_word(printed, _small_capitals))
    assert told == [("case", printed, copy, True)]


def test_a_word_in_small_capitals_within_a_line_is_one_query():
    printed = "printed in the Otter HERoLD of that week"
    heights = _by_word(printed, lambda w: _small_capitals(w) if w == "HERoLD" else _as_printed(w))
    told, _ = _told("printed in the Otter Herold of that week", printed, heights)
    assert told == [("case", "HERoLD", "Herold", True)]


@pytest.mark.parametrize("printed", ["SUMMER CoNCERT", "sUMMER CONcERT", "SUMMER cONCERT"])
@pytest.mark.parametrize("tall", [LOW, TALL])
def test_letters_as_tall_as_the_capitals_beside_them_are_capitals(printed: str, tall: int):
    told, waived = _told("SUMMER CONCERT", printed, [tall] * len(printed))
    assert told == []
    assert waived == {"small-caps": sum(char.islower() for char in printed)}


def test_a_small_letter_plainly_shorter_than_its_word_is_a_fault():
    told, _ = _told("SUMMER CONCERT", "SUMMER CoNCERT", _by_word("SUMMER CoNCERT", _as_printed))
    assert told == [("case", "o", "O", False)]


def test_without_the_allowance_letters_are_taken_as_read():
    printed = "SUMMER CoNCERT"
    heights = _by_word(printed, _small_capitals)
    told, _ = _told("SUMMER CONCERT", printed, heights, Rules().without("small-caps"))
    assert told == [("case", "o", "O", False)]


@pytest.mark.parametrize(
    ("copy", "printed", "faults"),
    [
        ("the patient donkey", "the patient Donkey", [("D", "d")]),
        ("the patient cows", "the patient Cows", [("C", "c")]),
        ("the cost of it", "the cosT of it", [("T", "t")]),
        ("said the Vicar so", "said the vicar So", [("v", "V"), ("S", "s")]),
    ],
)
def test_a_lone_wrong_capital_or_small_letter_stays_a_fault(copy, printed, faults):
    told, _ = _told(copy, printed, _by_word(printed, _as_printed))
    assert told == [("case", wrong, right, False) for wrong, right in faults]


def test_a_wrong_letter_among_small_capitals_is_told_in_capitals():
    printed = "BANDMASTER, JoSIAN FENNIMARCH"
    told, _ = _told("Bandmaster, Josiah Fennimarch", printed, _by_word(printed, _small_capitals))
    # That they are capitals is a query, in one stretch on either side of the wrong letter.
    assert told == [
        ("case", "BANDMASTER, JoSIA", "Bandmaster, Josia", True),
        ("wrong-letter", "N", "H", False),
        ("case", "FENNIMARCH", "Fennimarch", True),
    ]


@pytest.mark.parametrize(
    ("copy", "printed", "queries"),
    [
        ("The sun went down", "T he sun went down", []),
        ("The sun went down", "T HE sun went down", [("case", "T HE", "The", True)]),
        ("It was then", "I T was then", [("case", "I T", "It", True)]),
    ],
)
def test_a_word_may_stand_off_from_its_large_initial(copy, printed, queries):
    heights = [2 * TALL, *_by_word(printed[1:], _as_printed)]
    told, waived = _told(copy, printed, heights)
    assert told == queries
    assert waived == {"letter-space": 1}


def test_a_large_initial_that_is_a_word_keeps_its_space():
    heights = [2 * TALL, *_by_word(" sun went down", _as_printed)]
    assert _told("A sun went down", "A sun went down", heights) == ([], {})
    told, _ = _told("A sun went down", "Asun went down", [2 * TALL, *_as_printed("sun went down")])
    assert told == [("space-missing", "", " ", False)]


def test_a_point_off_from_an_initial_is_no_word_that_stands_off():
    # A point is less than half as tall as any capital, so that each looks large beside it.
    heights = [TALL, TALL, TALL // 4, *_by_word(" Cole spoke", _as_printed)]
    told, waived = _told("B. Cole spoke", "B . Cole spoke", heights)
    assert told == [("space-extra", " ", "", False)]
    assert waived == {}


PARTS = ("Overture", "Part Song", "Recit. and Air", "Violin Solo")


def _programme(*printed: str) -> list[Reading]:
    """A line of plain matter, and the parts of a programme, a line each."""
    lines = [(LEAD, _as_printed(LEAD)), *((one, _by_word(one, _small_capitals)) for one in printed)]
    return [
        Reading(
            number,
            tuple(
                Letter(char, Box(10 * k, 40 * number - tall, 8, tall), 1.0)
                for k, (char, tall) in enumerate(zip(text, sizes, strict=True))
            ),
        )
        for number, (text, sizes) in enumerate(lines, start=1)
    ]


def test_what_is_set_in_capitals_throughout_a_job_is_asked_once():
    copy = copy_of("\n".join((LEAD, *PARTS)))
    (told,) = collate(copy, _programme(*(part.upper() for part in PARTS))).differences
    assert (told.kind, told.only_query, told.line) == (Kind.CASE, True, 2)
    assert told.other_lines == (3, 4, 5)
    assert mark_for(told).words.endswith("lines 3, 4 and 5 are set in capitals too")


def test_two_lines_in_capitals_are_two_queries_and_a_wrong_letter_among_many_is_told():
    copy = copy_of("\n".join((LEAD, *PARTS)))
    two = collate(copy, _programme(*(part.upper() for part in PARTS[:2]), *PARTS[2:]))
    assert [(d.line, d.other_lines) for d in two.differences] == [(2, ()), (3, ())]
    wrong = [*(part.upper() for part in PARTS[:3]), "VIOLIN SOLD"]
    told = collate(copy, _programme(*wrong)).differences
    assert any(d.kind is Kind.WRONG_LETTER and d.line == 5 for d in told)
