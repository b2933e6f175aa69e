"""The samples read as a newcomer reads them: every planted fault found, nothing else called one."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import pytest

from proofcheck import check_proof
from proofcheck.base.found import Status
from proofcheck.base.kinds import Kind
from proofcheck.reading.turned import LOOKS_LIKE

pytestmark = pytest.mark.slow

SAMPLES = Path(__file__).parents[1] / "samples"
COPIES = {
    "concert-proof.png": "concert-copy.txt",
    "concert-phone.jpg": "concert-copy.txt",
    "concert-revise.png": "concert-copy.txt",
    "prices-proof.png": "prices-copy.docx",
    "notice-proof.png": "notice-copy.txt",
}


@cache
def _read(name: str):
    report = check_proof(SAMPLES / name, SAMPLES / COPIES[name])
    truth = json.loads((SAMPLES / f"{Path(name).stem}.faults.json").read_text(encoding="utf-8"))
    return report, truth


# Faults of the type itself, on which the picture alone is asked.
OF_TYPE = frozenset(list(Kind)[list(Kind).index(Kind.TURNED_SORT) :])


def _work_ups(truth) -> set[int]:
    return {f["line"] for f in truth["faults"] if f["kind"] == Kind.WORK_UP}


def _kinds(fault) -> set[str]:
    """What a fault answers to: to the eye a turned letter is the letter it looks like."""
    looks = fault.kind is Kind.TURNED_SORT and LOOKS_LIKE.get(fault.copy_text) == fault.proof_text
    return {str(fault.kind), str(Kind.WRONG_LETTER)} if looks else {str(fault.kind)}


@pytest.mark.parametrize("name", COPIES)
def test_every_planted_fault_is_found_at_its_line(name):
    report, truth = _read(name)
    assert len(report.lines) == len(truth["lines"])
    found = {(fault.line, kind) for fault in report.faults for kind in _kinds(fault)}
    wanted = {(f["line"], f["kind"]) for f in truth["faults"] if f["line"] not in _work_ups(truth)}
    assert not wanted - found
    # A space that prints is told as itself or as a point or letter too many in its line.
    assert _work_ups(truth) <= {fault.line for fault in report.faults}


def _beyond(name: str):
    """Faults told that were not planted."""
    report, truth = _read(name)
    planted = {(f["line"], f["kind"]) for f in truth["faults"]}
    return [
        (fault.line, str(fault.kind), fault.proof_text, fault.copy_text)
        for fault in report.faults
        if fault.status is Status.FAULT
        and not planted & {(fault.line, kind) for kind in _kinds(fault)}
        and fault.line not in _work_ups(truth)
    ]


@pytest.mark.parametrize("name", COPIES)
def test_nothing_else_in_the_text_is_called_a_fault(name):
    assert not [told for told in _beyond(name) if told[1] not in OF_TYPE]


@pytest.mark.parametrize("name", COPIES)
def test_no_good_type_is_called_a_fault(name):
    assert not [told for told in _beyond(name) if told[1] in OF_TYPE]
