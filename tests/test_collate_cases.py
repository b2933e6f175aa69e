"""Collation by cases kept as data, a file a group of kinds: what a reader marks and what not.

`data/kinds/README.md` says how a case is written; each file names its sources.
"""

import tomllib
from pathlib import Path

import pytest
from collating import copy_of, lines_of, pages_of, readings_of

from proofcheck.base.found import Cause
from proofcheck.base.kinds import KINDS, Group, Kind, of_group
from proofcheck.collate import collate

CASES = [
    {**case, "file": path.stem}
    for path in sorted((Path(__file__).parent / "data" / "kinds").glob("*.toml"))
    for case in tomllib.loads(path.read_text(encoding="utf-8"))["case"]
]
OF_TEXT = sorted(set(Kind) - of_group(Group.TYPE, Group.RULES))


def _laid_out(case):
    """Readings and lines of a case."""
    if "sheets" in case:
        return pages_of(case["sheets"])
    readings = readings_of(case["proof"])
    return readings, lines_of(readings, case["columns"]) if "columns" in case else ()


def _collate(case):
    readings, lines = _laid_out(case)
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
    printed = [reading.text for reading in _laid_out(case)[0]]
    for d in _collate(case).differences:
        line = printed[d.line - 1] if d.line else ""
        if d.kind is not Kind.PARAGRAPH:
            assert line[d.proof.start : d.proof.end] == d.proof_text
        assert 0 <= d.copy.start <= d.copy.end <= len(case["copy"])
        if d.kind in (Kind.LINE_DOUBLED, Kind.LINE_FOREIGN):
            assert d.copy.start == d.copy.end


@pytest.mark.parametrize("kind", OF_TEXT)
def test_every_kind_of_the_text_has_a_wrong_case_and_a_right_one_where_its_group_is(kind):
    held = [case for case in CASES if case["file"] == KINDS[kind].group.value.replace(" ", "_")]
    assert [case for case in held if any(fault[0] == kind for fault in case["faults"])]
    assert [case for case in held if kind in case.get("right_of", ())]


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_a_case_is_right_of_no_kind_that_it_has(case):
    assert not {fault[0] for fault in case["faults"]} & set(case.get("right_of", ()))
    assert set(case.get("right_of", ())) <= set(OF_TEXT)


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
