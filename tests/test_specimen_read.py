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
from proofcheck.values import Status

QUOTES = str.maketrans("’‘“”", "''\"\"")
SPECIMEN = load_specimen()
TEXT = [mark for mark in SPECIMEN.marks if mark.evidence == "text"]
OTHER_LINE = pytest.mark.xfail(reason="as in tests/test_specimen.py: the l of shal-low")
# Broken, strange and straying letters, and spaces that print, may be told as letters too.
LETTERS_OF_TYPE = {"broken", "wrong-font", "straighten", "push-down"}
TYPE = {mark.line for mark in SPECIMEN.marks if mark.sign in LETTERS_OF_TYPE}


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


@pytest.mark.parametrize(
    "mark",
    [pytest.param(m, marks=OTHER_LINE if (m.line, m.copy) == (2, "l") else ()) for m in TEXT],
    ids=lambda mark: f"{mark.line}-{mark.sign}",
)
def test_the_plates_mark_is_made(report, mark):
    assert any(_answers(fault, mark) for fault in report.faults)


@pytest.mark.xfail(reason="as in tests/test_specimen.py: lines 1 and 2")
def test_no_fault_is_called_where_the_plate_has_no_mark(report):
    beyond = [
        (fault.line, str(fault.kind), fault.proof_text, fault.copy_text)
        for fault in report.faults
        if fault.status is Status.FAULT
        and not any(_answers(fault, mark) for mark in TEXT)
        and fault.line not in TYPE
    ]
    assert not beyond
