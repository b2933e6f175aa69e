"""Lines of a proof of several sheets, named by sheet and line wherever people read of them."""

import csv
import io
from dataclasses import replace
from datetime import date

import pikepdf
import pytest
from report_cases import PRINTED_LINES, fault_at, programme, set_sheet

from proofcheck.base.found import Mark, Unread
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Span
from proofcheck.recast.change import Change, NewSlug
from proofcheck.recast.plan import Move, RecastPlan, StoneWork, TakenOut
from proofcheck.results.castlists import short_list
from proofcheck.results.castlists.hand_rows import entry_of, hand_lists, named_lists
from proofcheck.results.line_names import PLAIN, LineNames, line_names
from proofcheck.results.lists import CSV_COLUMNS, correction_csv, correction_list
from proofcheck.results.marked import Heading, draw_marked_proof, lay_out
from proofcheck.results.page.fault_page import page_html
from proofcheck.results.report_json import report_text

NAMES = LineNames({4: "1·4", 9: "2·4", 14: "2·9", 2: "1·2"})


def _two_sheets():
    """The programme, its printed lines again on a second sheet, and a fault on that."""
    report = programme()
    sheet, lines, readings = set_sheet(PRINTED_LINES, number=1, first=6)
    mark = Mark("dele", "", "dele", "line-through", "take out line 9: it is line 4 over again")
    texts = (PRINTED_LINES[3], "")
    doubled = fault_at(readings[3], 5, Kind.LINE_DOUBLED, Span(0, 9), Span(0, 0), texts, mark)
    return replace(
        report,
        sheets=(*report.sheets, sheet),
        lines=(*report.lines, *lines),
        readings=(*report.readings, *readings),
        faults=(*report.faults, replace(doubled, sheet=1, other_lines=(4,))),
        warnings=("line 7 ends a paragraph with 3 letters alone",),
        unread=(Unread(1, Box(5, 5, 20, 20), "2 × 2 mm near line 8"),),
    )


@pytest.mark.parametrize(
    ("said", "named"),
    [
        (
            "take out line 9: it is line 4 over again",
            "take out line 2·4: it is line 1·4 over again",
        ),
        ("lines 4 to 9 should follow line 14", "lines 1·4 to 2·4 should follow line 2·9"),
        ("lines 2, 4 and 9 change places", "lines 1·2, 1·4 and 2·4 change places"),
        ("Lines 4, 9: wide spaces", "Lines 1·4, 2·4: wide spaces"),
        ("wanting after line 4: “see line 9”", "wanting after line 1·4: “see line 9”"),
        ("change “a” in line 4, so that it is “b”", "change “a” in line 1·4, so that it is “b”"),
        ("after line 4: “said he,” line 9 “and”", "after line 1·4: “said he,” line 2·4 “and”"),
        ("after line 4: “”he said, line 9", "after line 1·4: “”he said, line 2·4"),
        ("after line 4: “he ”said“, line 9“", "after line 1·4: “he ”said“, line 9“"),
        ("line 4 of the copy not proved", "line 4 of the copy not proved"),
        ("line 77 and the baseline 4, deadline 9", "line 77 and the baseline 4, deadline 9"),
        ("4 lines, 9 new slugs", "4 lines, 9 new slugs"),
    ],
)
def test_words_name_lines_and_leave_the_matter_alone(said, named):
    assert NAMES.words(said) == named
    assert NAMES.words(named) == named
    assert PLAIN.words(said) == said


def test_matter_that_speaks_of_lines_is_never_changed():
    report = programme()
    mark = Mark("insert", "line 4", "line 4/", "caret", "insert “line 4”")
    fault = replace(report.faults[2], mark=mark, copy_text="line 4 ")
    assert NAMES.fault(fault) == fault
    moved = Mark("transpose", "after line 4", "tr after line 4", "swap", "line 9 should follow")
    told = NAMES.fault(replace(report.faults[2], mark=moved)).mark
    assert (told.matter, told.margin) == ("after line 1·4", "tr after line 1·4")


@pytest.mark.parametrize("width", [100, 40])
def test_the_list_names_sheet_and_line(width):
    said = " ".join(correction_list(_two_sheets(), width=width).split())
    assert "2·4" in said
    assert "1·2" in said
    assert "line 2·2 ends a paragraph" in said
    assert "near line 2·3 of sheet 2" in said
    assert "take out line 9" not in said
    one = correction_list(programme(), width=width)
    assert "·" not in one


def test_plain_terminals_get_a_sign_they_have():
    assert "2.4" in correction_list(_two_sheets(), ascii_only=True)


def test_a_spreadsheet_has_both_the_number_and_the_name():
    rows = list(csv.DictReader(io.StringIO(correction_csv(_two_sheets()))))
    assert [row["line"] for row in rows] == ["2", "3", "4", "5", "9"]
    assert [row["sheet and line"] for row in rows] == ["1·2", "1·3", "1·4", "1·5", "2·4"]
    assert "line 2·4" in rows[-1]["instruction"]
    assert CSV_COLUMNS[-1] == "sheet and line"
    alone = list(csv.DictReader(io.StringIO(correction_csv(programme()))))
    assert [row["sheet and line"] for row in alone] == ["2", "3", "4", "5"]


def test_the_page_names_them_and_the_json_keeps_numbers():
    report = _two_sheets()
    page = page_html(report)
    assert "Line 2·4" in page
    assert "it is line 1·4 over again" in page
    assert "Line 9" not in page
    assert "·" not in report_text(report)


def test_the_marked_proof_names_them(tmp_path):
    report = _two_sheets()
    faults = [fault for fault in report.faults if fault.id in {"F1", "F5"}]
    heading = Heading("Concert", "first", date(1931, 3, 5), 5, 0)
    layout = lay_out(report.sheets, report.lines, faults, heading, recast={9})
    draw_marked_proof(layout, png=tmp_path / "marked.png", pdf=tmp_path / "marked.pdf")
    with pikepdf.open(tmp_path / "marked.pdf") as pdf:
        notes = [str(each.get("/Contents", "")) for each in pdf.pages[1].get("/Annots", [])]
    assert any(note.startswith("Line 2·4: take out line 2·4: it is line 1·4") for note in notes)
    alone = lay_out(report.sheets[:1], report.lines[:5], faults[:1], heading)
    assert [mark.line for mark in alone.pages[0].text_marks] == ["2"]


def _plan():
    slug = NewSlug("children free.", 300.0, 0.0, 4.0, 10.0, number=1)
    change = Change((9, 14), 4, (slug,), ("F1",), "one", "two")
    after = Change((), 4, (replace(slug, number=2),), ("F2",), "", "")
    return RecastPlan(
        (change, after),
        (TakenOut(9, "F3"),),
        (Move(14, 2, "F4"),),
        (StoneWork(9, "push down the lead under line 9", "F5"),),
    )


def test_the_lists_for_machine_and_stone_name_them():
    told = short_list(_plan(), NAMES)
    assert "2·4–2·9" in told
    assert "after 1·4" in told
    lists = named_lists(hand_lists(_plan()), NAMES)
    stone = {entry.label: entry.words for entry in map(entry_of, lists.stone)}
    assert "to stand after line 1·2" in stone["2·9"]
    assert "ush down the lead under line 2·4" in stone["2·4"]
    assert "line 2·4" in lists.machine[0].words
    assert "·" not in short_list(_plan())
    assert line_names(programme()) is PLAIN
