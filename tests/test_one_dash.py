"""One dash printed wherever the copy has another is asked about once, and never let go wholly.

Oracle: counted by hand. That en and em dashes stand for one another by the style of a house is
common practice (unspaced em or spaced en dashes in running matter).
"""

from __future__ import annotations

import pytest

from proofcheck.base.found import Difference
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Letter, Reading, Span
from proofcheck.weigh.judging import Judged
from proofcheck.weigh.one_dash import asked_once


def dashes(count: int, read: str = "—", wanted: str = "–") -> list[Judged]:
    """A price list with a dash a line where no price is."""
    return [
        Judged(at, Difference(Kind.POINT_WRONG, at + 1, Span(5, 6), read,
                              Span(8 * at, 8 * at + 1), wanted), 0.1)
        for at in range(count)
    ]  # fmt: skip


def readings(count: int, text: str = "Rose —") -> dict[int, Reading]:
    letters = tuple(Letter(char, Box(9 * at, 0, 8, 8), 0.9) for at, char in enumerate(text))
    return {line: Reading(line, letters) for line in range(1, count + 1)}


def told(judged: list[Judged]) -> list[Judged]:
    return [one for one in judged if not one.reason]


def test_one_cause_is_put_once_as_a_query_with_its_count() -> None:
    judged, causes = asked_once(dashes(24), readings(24))
    (put,) = told(judged)
    assert len(judged) == 24
    assert (put.at, put.difference.only_query) == (0, True)
    assert put.certainty >= 0.02  # what is below is let go
    assert causes == {"— is printed wherever the copy has –": 24}


@pytest.mark.parametrize("count", [1, 3])
def test_few_are_told_one_by_one(count: int) -> None:
    given = dashes(count)
    assert asked_once(given, readings(count)) == (given, {})


def test_where_the_page_prints_both_each_is_told() -> None:
    given, held = dashes(6), readings(6) | {7: readings(1, "Aster –")[1]}
    assert asked_once(given, held) == (given, {})


@pytest.mark.parametrize(("read", "wanted"), [(".", ","), ("3", "8"), ("-", "."), ("", "–")])
def test_nothing_else_is_one_cause(read: str, wanted: str) -> None:
    given = dashes(24, read, wanted)
    assert asked_once(given, readings(24)) == (given, {})


def test_what_was_let_go_stays_so_and_is_not_counted() -> None:
    given = dashes(5)
    given[0] = Judged(0, given[0].difference, 0.01, "the picture bears out the copy")
    judged, causes = asked_once(given, readings(5))
    assert judged[0] is given[0]
    assert [one.at for one in told(judged)] == [1]
    assert list(causes.values()) == [4]
