"""Grades of faults of the type, by the bar that the page's own spread sets."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import date
from types import SimpleNamespace

import jsonschema
import numpy as np
import pikepdf
import pytest
from report_cases import programme

from proofcheck.base.found import Difference, Grade
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Span
from proofcheck.marks.assign import mark_for
from proofcheck.metal.findings import MetalFinding
from proofcheck.metal.grading import graded
from proofcheck.results.lists import correction_csv, correction_list
from proofcheck.results.marked import Heading, draw_marked_proof, lay_out
from proofcheck.results.page.fault_page import card_html
from proofcheck.results.proof_record import report_from_text
from proofcheck.results.report_json import report_schema, report_text, report_to_json

LETTERS = 200


def _page(lost: dict[int, float], wear: float = 0.0):
    """A page of one line; some of its letters want ink, and all the rest so much as the wear."""
    wanting = np.full(LETTERS, wear)
    wanting[list(lost)] = list(lost.values())
    fount = SimpleNamespace(lost=wanting, unlike=np.full(LETTERS, 0.1))
    return SimpleNamespace(
        fount=fount,
        borne_out=np.ones(LETTERS, bool),
        row_of={1: 0},
        number_at=lambda _, at: at if at < LETTERS else None,
    )


def _broken(at: int, **told) -> MetalFinding:
    text = {"proof_text": "e", "copy_text": "e", **told}
    span = Span(at, at + 1)
    return MetalFinding(Kind.BROKEN_LETTER, 1, 0, Box(0, 0, 9, 9), span, 0.9, **text)


@pytest.mark.parametrize(("lost", "grade"), [(0.2, Grade.RESET), (0.03, Grade.LOOK)])
def test_plain_loss_goes_back_and_wear_is_looked_at(lost, grade):
    told = graded(_page({7: lost}), [_broken(7)])
    assert [each.grade for each in told.findings] == [grade]
    assert told.notes == ()


def test_what_is_worn_as_all_the_sheet_is_counted_and_not_marked():
    told = graded(_page({7: 0.03}, wear=0.05), [_broken(7)])
    assert told.findings == ()
    assert told.notes == (f"{LETTERS} letters are worn as the sheet prints: marked nowhere",)


def test_a_letter_plainly_lost_stands_out_of_a_worn_sheet():
    told = graded(_page({7: 0.3}, wear=0.05), [_broken(7)])
    assert [each.grade for each in told.findings] == [Grade.RESET]
    assert told.notes == (f"{LETTERS - 1} letters are worn as the sheet prints: marked nowhere",)


def test_what_was_read_as_another_letter_and_a_damaged_mat_are_no_wear():
    page = _page({7: 0.03}, wear=0.05)
    found = [_broken(7, proof_text="c"), _broken(7, other_lines=(2, 3))]
    assert [each.grade for each in graded(page, found).findings] == [Grade.RESET] * 2


def test_spaces_are_for_a_look_and_all_other_kinds_go_back():
    found = [
        MetalFinding(kind, 1, 0, Box(0, 0, 9, 9), Span(3, 4), 0.9)
        for kind in (Kind.UNEVEN_SPACING, Kind.TURNED_SORT, Kind.WORK_UP, Kind.OFF_LINE)
    ]
    grades = [each.grade for each in graded(_page({}), found).findings]
    assert grades == [Grade.LOOK, Grade.RESET, Grade.RESET, Grade.RESET]


@pytest.fixture(scope="module")
def report():
    """A programme with a broken letter to be reset and a worn one to be looked at."""
    held = programme()
    mark = mark_for(Difference(Kind.BROKEN_LETTER, 2, Span(5, 6), "g", Span(22, 23), "g"))
    grades = (Grade.RESET, Grade.LOOK)
    broken = [
        replace(each, kind=Kind.BROKEN_LETTER, mark=mark, grade=grade)
        for each, grade in zip(held.faults[:2], grades, strict=True)
    ]
    return replace(held, faults=(*broken, *held.faults[2:]))


def ungraded(report):
    return replace(report, faults=tuple(replace(each, grade=None) for each in report.faults))


def test_the_grade_stands_in_list_and_table(report):
    rows = list(csv.DictReader(io.StringIO(correction_csv(report))))
    assert [row["grade"] for row in rows] == ["reset", "look", "", ""]
    for width in (60, 110):
        told = correction_list(report, width=width)
        assert told.count("reset") == 1
        assert told.count("look") == 1


def test_the_grade_stands_in_the_report_and_comes_back_from_its_record(report):
    told = report_to_json(report)
    assert [fault["grade"] for fault in told["faults"]] == ["reset", "look", None, None]
    jsonschema.validate(told, report_schema())
    back = report_from_text(report_text(report))
    assert [fault.grade for fault in back.faults] == [Grade.RESET, Grade.LOOK, None, None]


def test_the_grade_stands_on_the_marked_proof_and_its_page(report, tmp_path):
    heading = Heading("Concert", "1", date(2024, 5, 4), 3, 1)
    layout, plain = (
        lay_out(each.sheets, each.lines, each.faults, heading)
        for each in (report, ungraded(report))
    )
    widths = [
        {sign.fault: sign.rect.right - sign.rect.left for page in each.pages for sign in page.signs}
        for each in (layout, plain)
    ]
    assert widths[0]["F2"] > widths[1]["F2"] + 10
    assert widths[0]["F1"] == pytest.approx(widths[1]["F1"])
    assert "<dd>look</dd>" in card_html(report, report.faults[1])
    pdf = draw_marked_proof(layout, pdf=tmp_path / "marked.pdf")[0]
    with pikepdf.open(pdf) as held:
        contents = [str(note.Contents) for note in held.pages[0].Annots]
    assert sum("grade: look" in each for each in contents) == 1
    assert sum("grade: reset" in each for each in contents) == 1
