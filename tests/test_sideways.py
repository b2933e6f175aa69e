"""Type set sideways beside upright type: told as not read, and no junk made of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from PIL import Image
from typesetter import Head, Para, Style, block_of, compose, laid_beside, print_proof, pull

from proofcheck import Options, check_proof
from proofcheck.base.found import Verdict
from proofcheck.base.values import Copy, Scan, Sheet, Span
from proofcheck.results.report import exit_status
from proofcheck.sheet.lifting import lift
from proofcheck.sheet.pieces import Pieces
from proofcheck.sheet.rows import links

QUICK = Options(type_too=False, recast=False, second_look=False)
TITLE = "The Orrenmouth Regatta"
TEXT = (
    "The bearer may stand upon the upper quay from noon until the last boat is home, and may take "
    "a chair from the heap if any are left. No dogs but those in baskets."
)


def sheet_of(image):
    height, width = image.shape
    scan = Scan("proof.png", 0, "", width, height)
    return Sheet(image, scan, 0, 300.0, "file", 0, mirrored=False, skew_deg=0.0, to_scan=np.eye(3))


def ticket(family="schola"):
    blocks = [Head(TITLE, 16, 4), Para(TEXT)]
    return print_proof(compose(blocks, measure_picas=20, style=Style(family=family, body_pt=11)))


@pytest.mark.parametrize(
    ("family", "words", "body_pt", "turn", "wear"),
    [
        ("schola", "ADMIT TWO", 16, 1, "good"),
        ("goudy", "ADMIT TWO", 12, 3, "worn"),
        ("old-standard", "Counterfoil", 14, 1, "good"),
    ],
)
def test_type_set_sideways_is_told_and_no_junk_made_of_it(
    tmp_path, family, words, body_pt, turn, wear
):
    block = np.rot90(block_of(words, body_pt=body_pt, family=family), turn)
    proof = laid_beside(ticket(family), np.ascontiguousarray(block), "right")
    path = tmp_path / "proof.png"
    Image.fromarray(pull(proof, wear, seed=1)).save(path, dpi=(300, 300))
    copy = f"{TITLE}\n{TEXT}"
    spans = (Span(0, len(TITLE)), Span(len(TITLE) + 1, len(copy)))
    report = check_proof(path, Copy(copy, "copy.txt", "", "utf-8", spans), options=QUICK)
    assert not report.faults, [(f.kind, f.proof_text) for f in report.faults]
    assert [place.words.split(",")[0] for place in report.unread] == ["type set sideways"]
    assert exit_status(report) == 2


@pytest.mark.parametrize(
    ("lacking", "options", "told"),
    [
        ("ADMIT TWO", QUICK, False),
        ("ADMIT TWO OF THE HARBOUR BOARD AND THEIR GUESTS", QUICK, True),
        ("ADMIT TWO", replace(QUICK, unfit=True), True),
    ],
    ids=["as long as it", "longer", "judged all the same"],
)
def test_what_of_the_copy_may_stand_sideways_is_named_with_it(tmp_path, lacking, options, told):
    # One cause is told once; and a sheet with a part not read is never clean.
    block = np.rot90(block_of("ADMIT TWO", body_pt=16, family="schola"))
    proof = laid_beside(ticket(), np.ascontiguousarray(block), "right")
    path, copy = tmp_path / "proof.png", tmp_path / "copy.txt"
    Image.fromarray(pull(proof, "good", seed=1)).save(path, dpi=(300, 300))
    copy.write_text(f"{TITLE}\n{TEXT}\n{lacking}\n", encoding="utf-8")
    report = check_proof(path, copy, options=options)
    assert [fault.copy_text.strip() for fault in report.faults] == [lacking] * told
    assert [f"“{lacking}”" in place.words for place in report.unread] == [not told]
    assert [each.copy_text.strip() for each in report.let_go] == [lacking] * (not told)
    assert report.verdict is not Verdict.CLEAN
    assert exit_status(report) != 0


@pytest.mark.parametrize("words", ["1|2|3|4|5|6|7|8", "M|E|N|U|S", "I|I|I|I|I|I", "a|b|c|d|e|f"])
def test_letters_one_over_the_other_are_not_sideways(words):
    rows = [Head(word, 14, 0, align="left") for word in words.split("|")]
    image = print_proof(compose(rows, measure_picas=3, style=Style())).image
    ground = np.full((image.shape[0] + 200, 2000), 255, np.uint8)
    ground[100 : 100 + image.shape[0], 1400 : 1400 + image.shape[1]] = image
    beside = ticket().image
    ground[: beside.shape[0], : beside.shape[1]] = beside[: ground.shape[0]]
    assert not lift(sheet_of(ground)).lifted


def test_a_page_on_its_side_is_left_as_it_is():
    image = np.ascontiguousarray(np.rot90(ticket().image))
    assert not lift(sheet_of(image)).lifted


def test_no_pieces_have_no_neighbours():
    """A sheet of dirt has nothing that could stand sideways."""
    nothing = Pieces(*(np.empty(0) for _ in range(5)))
    assert [len(end) for end in links(nothing, 1.0)] == [0, 0]
