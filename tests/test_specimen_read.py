"""The corrected proof of 1913, pulled, scanned and read through the whole house.

Source and table of marks: tests/test_specimen.py. Here nothing is told about the lines: the
picture of a worn pull and the right text are all that goes in.
"""

from __future__ import annotations

import pytest
from PIL import Image
from typesetter import print_proof, pull
from typesetter.specimen import PlateMark, load_specimen

from proofcheck import check_proof
from proofcheck.base.found import Status
from proofcheck.base.kinds import Kind

pytestmark = pytest.mark.slow

QUOTES = str.maketrans("’‘“”", "''\"\"")
SPECIMEN = load_specimen()
TEXT = [mark for mark in SPECIMEN.marks if mark.evidence == "text"]
# Broken, strange and straying letters, and spaces that print, may be told as letters too; a line
# out at its edge is a fault of the type that the plate marks.
LETTERS_OF_TYPE = {"broken", "wrong-font", "straighten", "push-down", "align"}
OF_TYPE = frozenset(list(Kind)[list(Kind).index(Kind.TURNED_SORT) :])
TYPE = {mark.line for mark in SPECIMEN.marks if mark.sign in LETTERS_OF_TYPE}
LEADS = {mark.line for mark in SPECIMEN.marks if mark.sign == "lead"}
"""Lines with a mark to put in a lead between them and the next."""


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    folder = tmp_path_factory.mktemp("specimen")
    proof = print_proof(SPECIMEN.forme, misalign_pt=0.05, seed=1)
    scan = folder / "proof.png"
    Image.fromarray(pull(proof, "good", seed=1)).save(scan, dpi=(300, 300))
    copy = folder / "copy.txt"
    copy.write_text(SPECIMEN.right + "\n", encoding="utf-8")
    return check_proof(scan, copy)


def _plain(text: str) -> str:
    return text.translate(QUOTES).strip()


def _answers(fault, mark: PlateMark) -> bool:
    return (
        fault.line == mark.line
        and fault.kind in mark.kinds
        and _plain(fault.copy_text) == _plain(mark.copy)
        and _plain(fault.proof_text) == _plain(mark.printed)
    )


def test_every_line_is_found(report):
    assert len(report.lines) == len(SPECIMEN.lines)


@pytest.mark.parametrize("mark", TEXT, ids=lambda mark: f"{mark.line}-{mark.sign}")
def test_the_plates_mark_is_made(report, mark):
    assert any(_answers(fault, mark) for fault in report.faults)


def _beyond(report):
    """Faults told that the plate has no mark for; lines with strange letters left out."""
    return [
        (fault.line, str(fault.kind), fault.proof_text, fault.copy_text)
        for fault in report.faults
        if fault.status is Status.FAULT
        and not any(_answers(fault, mark) for mark in TEXT)
        and fault.line not in TYPE
        and not (fault.mark.sign == "lead" and fault.line - 1 in LEADS)
    ]


def test_each_lead_that_the_plate_wants_put_in_is_told(report):
    told = [fault for fault in report.faults if fault.mark.sign == "lead"]
    assert LEADS
    assert {fault.line - 1 for fault in told} == LEADS
    assert {fault.status for fault in told} == {Status.FAULT}


def test_no_fault_of_the_text_is_called_where_the_plate_has_no_mark(report):
    assert not [told for told in _beyond(report) if told[1] not in OF_TYPE]


def test_no_fault_of_the_type_is_called_where_the_plate_has_no_mark(report):
    assert not [told for told in _beyond(report) if told[1] in OF_TYPE]
