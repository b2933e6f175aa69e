"""Block initials: an ornamented block with its letter white in it, at the head of a paragraph."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image
from typesetter import beside_block, pull

from proofcheck import Options, check_proof
from proofcheck.base.values import Copy, Span
from proofcheck.results.report import exit_status

FULL = Options(recast=False, second_look=False)
BESIDE = (
    "HEN the bridge is closed the ferry will carry all who come, and their beasts, at half the "
    "usual toll. The wardens ask those who have carts to wait"
)
UNDER = (
    "for the slack of the tide, since the horses will not swim. Whoever breaks a rail shall pay "
    "for two, and whoever mends one goes free for the year."
)


def report_on(tmp_path, proof, copy, wear="good", seed=2):
    path = tmp_path / "proof.png"
    Image.fromarray(pull(proof, wear, seed=seed)).save(path, dpi=(300, 300))
    return check_proof(
        path, Copy(copy, "copy.txt", "", "utf-8", (Span(0, len(copy)),)), options=FULL
    )


@pytest.mark.parametrize(
    ("family", "style", "letter", "seed"),
    [
        ("schola", "bold", "S", 83),
        ("schola", "bold", "W", 87),
        ("schola", "bold", "B", 66),
        ("old-standard", "roman", "T", 84),
        ("goudy", "roman", "S", 83),
    ],
)
def test_the_lines_beside_a_block_are_read_and_its_letter_or_it_is_told(
    tmp_path, family, style, letter, seed
):
    proof = beside_block(letter, BESIDE, UNDER, family=family, style=style, seed=seed)
    report = report_on(tmp_path, proof, proof.copy)
    assert all(fault.copy.end <= 1 for fault in report.faults), report.faults
    read = report.readings[0].text
    assert "HEN the bridge" in read
    if not report.unread:
        assert read.lower().startswith(letter.lower()) or report.faults


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize(("printed", "wanted"), [("S", "W"), ("B", "R"), ("W", "T"), ("I", "L")])
def test_another_letter_in_the_block_does_not_pass(tmp_path, printed, wanted, seed):
    proof = beside_block(printed, BESIDE, UNDER, seed=seed)
    report = report_on(tmp_path, proof, wanted + proof.copy[1:], seed=seed)
    assert exit_status(report) != 0


def test_a_letter_wanting_beside_a_block_is_told(tmp_path):
    proof = beside_block("S", BESIDE.replace("wardens", "wadens"), UNDER, seed=83)
    report = report_on(tmp_path, proof, f"S{BESIDE} {UNDER}")
    assert any(fault.copy.start == 1 + BESIDE.index("wardens") + 2 for fault in report.faults)


def test_a_block_is_printed_as_before(tmp_path):
    proof = beside_block("S", BESIDE, UNDER, seed=83)
    (sheet,) = report_on(tmp_path, proof, proof.copy).sheets
    assert [part.look for part in sheet.lifted] == ["initial"]
    (part,) = sheet.lifted
    window = np.s_[part.box.y : part.box.bottom, part.box.x : part.box.right]
    assert (sheet.as_printed()[window] < 128).sum() > 1.2 * (sheet.image[window] < 128).sum()
