"""Sheets among those given that are another over again, or of another job: told once each."""

from dataclasses import replace
from random import Random

import cv2
import pytest
from collating import copy_of, pages_of, set_in_lines
from PIL import Image
from typesetter import Para, Style, compose, print_proof, pull
from typesetter import copy_of as copy_of_blocks

from proofcheck import Options, check_proof
from proofcheck.base.found import Verdict
from proofcheck.base.kinds import Kind
from proofcheck.collate.same import Rules
from proofcheck.collate.sheets_apart import set_apart
from proofcheck.copytext import load_copy
from proofcheck.results.lists import correction_list

A = (
    "The ferry was built in the year of the great flood, and first to cross was a goose, which "
    "paid no toll and would not go back for all that was said to it."
)
B = (
    "Old men in the village hold that the rope was made of flax grown upon the far bank, and that "
    "it was wetted every evening so that it might not sing in the wind."
)
C = (
    "A toll of one farthing was asked of all but the miller, who paid for his house in flour, and "
    "of him only while the harvest lasted and the mill was turning."
)
OTHER_JOB = (
    "Onions of the best Bedfordshire sort are sold at fourpence the ounce, and parsnips, which "
    "keep all winter in sand, at threepence; no seed is taken back after the second of May."
)
COPY = f"{A}\n\n{B}\n\n{C}"


def _apart(pages, copy=COPY, **rest):
    sheets = [[set_in_lines(text, 34, Random(3), divide=False)] if text else [[]] for text in pages]
    readings, lines = pages_of(sheets)
    part = rest.get("part", False)
    return set_apart(copy_of(copy), lines, readings, Rules(), part=part), lines


def test_sheets_in_their_order_or_out_of_it_are_all_kept():
    for pages in ([A, B, C], [B, A, C], [C, B, A], [A, C], [A]):
        apart, _ = _apart(pages)
        assert (apart.left_out, apart.notes, apart.unread) == (frozenset(), (), ())


@pytest.mark.parametrize(
    ("pages", "told"),
    [
        ([A, A, B, C], ["sheet 2 is sheet 1 again: left out"]),
        ([A, B, C, B], ["sheet 4 is sheet 2 again: left out"]),
        ([A, B, C, C], ["sheet 4 is sheet 3 again: left out"]),
        ([B, A, B, C], ["sheet 1 is sheet 3 again: left out"]),
        ([A, A, B, A], [f"sheet {n} is sheet 1 again: left out" for n in (2, 4)]),
        (
            [A, B, A, B],
            ["sheet 3 is sheet 1 again: left out", "sheet 4 is sheet 2 again: left out"],
        ),
    ],
)
def test_a_sheet_over_again_is_left_out_and_its_lines_keep_their_numbers(pages, told):
    apart, lines = _apart(pages)
    assert list(apart.notes) == told
    assert apart.unread == ()
    assert [one.line for one in apart.readings] == [line.number for line in lines]
    for line, reading in zip(lines, apart.readings, strict=True):
        assert bool(reading.text) == (line.sheet not in apart.left_out)


def test_what_the_copy_has_twice_stands_twice():
    apart, _ = _apart([A, B, A], copy=f"{A}\n\n{B}\n\n{A}")
    assert not apart.left_out


def test_a_second_scan_with_slips_that_the_first_has_is_one_more_scan():
    faulty = B.replace("flax", "flux")
    apart, _ = _apart([A, faulty, B, C])
    assert apart.notes == ("sheet 3 is sheet 2 again: left out",)
    apart, _ = _apart([A, faulty, faulty, C])
    assert apart.notes == ("sheet 3 is sheet 2 again: left out",)


@pytest.mark.parametrize(
    ("right", "wrong", "told"),
    [
        ("flax", "flux", "“flux” in place of “flax”"),
        ("evening so", "evening, so", "“evening,” in place of “evening”"),
        ("every evening", "every every evening", "“every” in place of nothing"),
        ("upon the far", "upon far", "nothing in place of “the”"),
    ],
)
def test_what_only_the_sheet_left_out_has_wrong_is_told(right, wrong, told):
    lines = set_in_lines(B, 34, Random(3), divide=False)
    joined = "\n".join(lines)
    spoilt = joined.replace(right, wrong, 1) if right in joined else None
    assert spoilt is not None
    pages = [[set_in_lines(A, 34, Random(3), divide=False)], [lines], [spoilt.split("\n")]]
    readings, placed = pages_of(pages)
    apart = set_apart(copy_of(COPY), placed, readings, Rules(), part=False)
    (unread,) = apart.unread
    assert apart.notes == ()
    assert unread.words == f"sheet 2 over again but for {told}, the whole"
    assert (unread.sheet, unread.whole_sheet) == (2, True)


@pytest.mark.parametrize("pages", [[OTHER_JOB, A, B, C], [A, OTHER_JOB, B, C], [A, B, OTHER_JOB]])
def test_a_sheet_of_another_job_is_told_once(pages):
    apart, _ = _apart(pages)
    (unread,) = apart.unread
    assert unread.words == "matter of another job, the whole"
    assert apart.left_out == {pages.index(OTHER_JOB)} == {unread.sheet}


def test_a_sheet_that_can_hardly_be_read_is_not_called_another_job():
    sheets = [[set_in_lines(text, 34, Random(3), divide=False)] for text in (A, OTHER_JOB, B, C)]
    readings, lines = pages_of(sheets)
    doubtful = [
        replace(one, letters=tuple(replace(letter, certainty=0.5) for letter in one.letters))
        if line.sheet == 1
        else one
        for one, line in zip(readings, lines, strict=True)
    ]
    apart = set_apart(copy_of(COPY), lines, doubtful, Rules(), part=False)
    (unread,) = apart.unread
    assert (unread.sheet, unread.whole_sheet) == (1, True)
    assert unread.words.startswith("too poorly printed or scanned")


def test_sheets_all_of_another_job_are_left_to_the_verdict_on_the_whole():
    apart, _ = _apart([OTHER_JOB, OTHER_JOB])
    assert not apart.left_out


def test_a_scrap_by_itself_is_a_line_of_the_proof():
    apart, _ = _apart([A, "To be sold", B])
    assert not apart.left_out


# ---------------------------------------------------------------------------- on pulled sheets


def _pages(folder, pages, wear=()):
    """Scans of pages, each pulled anew."""
    scans = []
    for number, blocks in enumerate(pages):
        style = Style(family="schola", body_pt=10)
        proof = print_proof(compose(blocks, measure_picas=20.0, style=style))
        how = wear[number] if number < len(wear) else "good"
        scans.append(folder / f"page-{number}.png")
        image = Image.fromarray(pull(proof, how, seed=60 + number))
        image.save(scans[-1], dpi=(300, 300))
    (folder / "copy.txt").write_text(copy_of_blocks([*ONE, *TWO]), encoding="utf-8")
    return scans, load_copy(folder / "copy.txt")


ONE, TWO = [Para(A), Para(B)], [Para(C), Para(A.replace("ferry", "wherry").replace("goose", "hen"))]


def _turned_darker(path):
    """The same pull on the glass again: askew, and at another threshold."""
    image = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
    height, width = image.shape
    turn = cv2.getRotationMatrix2D((width / 2, height / 2), 0.9, 1.0)
    turned = cv2.warpAffine(image, turn, (width, height), borderValue=int(image.max()))
    out = path.with_name("again.png")
    Image.fromarray(cv2.convertScaleAbs(turned, alpha=1.08, beta=-22)).save(out, dpi=(300, 300))
    return out


def test_scans_again_of_a_clean_proof_are_clean_and_told(tmp_path):
    (one, two), copy = _pages(tmp_path, [ONE, TWO])
    report = check_proof([one, two, _turned_darker(two)], copy)
    assert report.verdict is Verdict.CLEAN
    assert report.warnings.count("sheet 3 is sheet 2 again: left out") == 1
    assert not any("sheet 1" in note for note in report.warnings)
    kept = sum(line.sheet < 2 for line in report.lines)
    assert f"No fault in {kept} lines read" in correction_list(report)


def test_a_fault_on_a_sheet_scanned_twice_is_told_once(tmp_path):
    wrong = [Para(C.replace("harvest", "harvcst")), TWO[1]]
    scans, copy = _pages(tmp_path, [ONE, wrong, wrong])
    report = check_proof(scans, copy)
    assert [fault.kind for fault in report.faults] == [Kind.WRONG_LETTER]
    assert report.faults[0].sheet == 1
    scans, copy = _pages(tmp_path, [ONE, TWO, wrong])
    assert check_proof(scans, copy).verdict is Verdict.NOT_WHOLLY_READ


@pytest.mark.parametrize("unfit", [False, True])
def test_a_sheet_of_another_job_never_leaves_a_proof_clean(tmp_path, unfit):
    scans, copy = _pages(tmp_path, [ONE, [Para(OTHER_JOB)], TWO])
    report = check_proof(scans, copy, options=Options(unfit=unfit))
    assert report.faults == ()
    assert report.verdict is Verdict.NOT_WHOLLY_READ
    said = correction_list(report)
    assert said.count("another job") == 1
    assert "matter of another job, the whole of sheet 2" in said


def test_a_page_given_twice_in_place_of_another_hides_no_missing_page(tmp_path):
    scans, copy = _pages(tmp_path, [ONE, ONE])
    report = check_proof(scans, copy)
    assert "sheet 2 is sheet 1 again: left out" in report.warnings
    assert report.verdict is Verdict.FAULTS
