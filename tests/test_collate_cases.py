"""Collation by cases kept as data: copy, the proof's lines, what a reader marks."""

import tomllib
from pathlib import Path

import pytest
from collating import copy_of, lines_of, readings_of

from proofcheck.base.found import Cause
from proofcheck.base.kinds import Kind
from proofcheck.collate import collate

CASES = tomllib.loads(
    (Path(__file__).parent / "data" / "collation_cases.toml").read_text(encoding="utf-8")
)["case"]


def _collate(case):
    readings = readings_of(case["proof"])
    lines = lines_of(readings, case["columns"]) if "columns" in case else ()
    return collate(copy_of(case["copy"]), readings, lines=lines, part=case.get("part", False))


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_a_case_is_told_as_a_reader_would(case):
    collation = _collate(case)
    told = [
        [d.kind.value, d.line, d.proof_text, d.copy_text] + (["query"] if d.only_query else [])
        for d in collation.differences
    ]
    assert told == case["faults"]
    assert not collation.mismatch
    if "waived" in case:
        assert dict(collation.waived) == case["waived"]


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_spans_say_where_the_texts_are(case):
    for d in _collate(case).differences:
        line = case["proof"][d.line - 1] if d.line else ""
        assert line[d.proof.start : d.proof.end] == d.proof_text
        assert 0 <= d.copy.start <= d.copy.end <= len(case["copy"])
        if d.kind in (Kind.LINE_DOUBLED, Kind.LINE_FOREIGN):
            assert d.copy.start == d.copy.end


def test_the_cases_leave_no_kind_of_text_untold():
    told = {fault[0] for case in CASES for fault in case["faults"]}
    of_text = set(list(Kind)[: list(Kind).index(Kind.TURNED_SORT) + 1])
    # Divisions and paragraphs have tests of their own.
    assert {k.value for k in of_text - {Kind.BAD_DIVISION, Kind.PARAGRAPH}} <= told


def _one(name):
    return _collate(next(case for case in CASES if case["name"] == name)).differences[0]


def test_lines_name_the_other_lines_concerned():
    assert _one("a line twice over").other_lines == (2,)
    assert _one("two lines swapped").other_lines == (3,)
    assert _one("matter of another job is one fault").other_lines == (3,)
    assert _one("a line astray").other_lines == ()


def test_lines_have_their_causes():
    assert _one("a line twice over").cause is Cause.SLUG_LEFT_IN
    assert _one("two lines swapped").cause is Cause.SLUG_MISPLACED
    assert _one("a run-down line is always named").cause is Cause.RUN_DOWN_LINE
    assert _one("matter of another job is one fault").cause is Cause.OTHER_JOB
