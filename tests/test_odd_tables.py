"""Odd tables and sheets of two jobs: each is read for what it holds.

Oracle: the typesetter sets them and knows every cell. That a cell is left empty where there is
nothing to say, and that two small jobs are pulled on one sheet, is common practice.
"""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from typesetter import Head, Style, compose, print_proof
from typesetter.ganged import ganged, ticket_of
from typesetter.ruled import table_of

from proofcheck import Options, check_proof
from proofcheck.base.kinds import Kind
from proofcheck.results.report import exit_status

FAIRS = (
    ("Place", "Fair", "Toll"),
    ("Aldham", "in May", ""),
    ("Birk", "", "4d."),
    ("Corsley", "at Easter", "2d."),
    ("Dene", "", ""),
    ("Ewell", "in June", "6d."),
)
FERRY = (
    "The ferry will not cross on Monday",
    "while the rope is made anew;",
    "walkers may go round by the mill.",
)
COW = (
    "A cow of mild temper is for sale",
    "at the farm under the long hill;",
    "ask for the widow after milking.",
)


def read(folder, image, copy, **options):
    """The report on a sheet with a margin."""
    sheet = np.pad(image, 150, constant_values=255)
    cv2.imwrite(str(folder / "sheet.png"), sheet)
    (folder / "copy.txt").write_text(copy, encoding="utf-8")
    asked = Options(**{"type_too": False, "recast": False, "dpi": 300.0, **options})
    return check_proof(folder / "sheet.png", folder / "copy.txt", options=asked)


def table(*changes):
    """The table with cells changed, each given as (row, column, what is printed)."""
    rows = [list(row) for row in FAIRS]
    for row, column, printed in changes:
        rows[row][column] = printed
    return table_of(rows, (12, 12, 8))


def of_tabs(rows):
    return "\n".join("\t".join(row) for row in rows)


def test_a_table_with_empty_cells_is_read(tmp_path):
    report = read(tmp_path, table(), of_tabs(FAIRS), type_too=True)
    assert exit_status(report) == 0, (report.faults, report.unread)


@pytest.mark.parametrize(
    ("change", "told"),
    [((2, 2, "5d."), ("5", "4")), ((4, 2, "3d."), (" 3d.", "")), ((5, 1, ""), ("", "in June"))],
)
def test_what_is_wrong_in_a_table_with_empty_cells_is_told(tmp_path, change, told):
    report = read(tmp_path, table(change), of_tabs(FAIRS))
    found = [(fault.proof_text, fault.copy_text) for fault in report.faults]
    assert [(proof.strip(), copy.strip()) for proof, copy in found] == [
        (told[0].strip(), told[1].strip())
    ]


TRAINS = (
    ("Train", "Aldham", "Birk", "Corsley", "Dene"),
    ("7.10", "7.25", "7.40", "", "8.5"),
    ("9.0", "", "9.31", "9.50", ""),
    ("11.15", "11.30", "", "11.58", "12.10"),
    ("1.5", "1.20", "1.36", "", "1.58"),
)
TRAIN_PICAS = (7,) * 5


def moved(rows, row, of, to):
    rows = [list(each) for each in rows]
    rows[row][to], rows[row][of] = rows[row][of], ""
    return rows


@pytest.mark.parametrize(
    ("rows", "picas", "move", "words"),
    [
        (FAIRS, (12, 12, 8), (2, 2, 1), "“4d.” stands in column 2: the copy has it in column 3"),
        (FAIRS, (12, 12, 8), (1, 1, 2), "“in May” stands in column 3: the copy has it in column 2"),
        (TRAINS, TRAIN_PICAS, (1, 4, 3), "“8.5” stands in column 4: the copy has it in column 5"),
        (TRAINS, TRAIN_PICAS, (2, 2, 1), "“9.31” stands in column 2: the copy has it in column 3"),
    ],
)
@pytest.mark.parametrize("ruled", [True, False])
def test_a_cell_in_another_column_is_told(tmp_path, rows, picas, move, words, ruled):
    """Read row by row the words are the copy's own, in its order."""
    how = {"upright": ruled, "boxed": ruled, "level": ruled}
    report = read(
        tmp_path, table_of(moved(rows, *move), picas, **how), of_tabs(rows), type_too=True
    )
    (fault,) = [fault for fault in report.faults if fault.kind is Kind.WRONG_COLUMN]
    assert words in fault.mark.words
    assert exit_status(report) == 1


@pytest.mark.parametrize("ruled", [True, False])
def test_a_table_of_many_empty_cells_is_sound(tmp_path, ruled):
    how = {"upright": ruled, "boxed": ruled, "level": ruled}
    image = table_of(TRAINS, TRAIN_PICAS, **how)
    report = read(tmp_path, image, of_tabs(TRAINS), type_too=True)
    assert exit_status(report) == 0, report.faults


def test_copy_that_brings_matter_into_line_by_tabs_has_no_columns_of_its_own(tmp_path):
    """Where a long name leaves room for fewer tabs, as any typist does; common practice."""
    rows = (("Al", "4d."), ("Birk", "2d."), ("Corsley under Wood", "6d."), ("Dene", "8d."))
    typed = "Al\t\t\t4d.\nBirk\t\t\t2d.\nCorsley under Wood\t6d.\nDene\t\t\t8d."
    report = read(tmp_path, table_of(rows, (14, 8)), typed, type_too=True)
    assert not [fault for fault in report.faults if fault.kind is Kind.WRONG_COLUMN]


TIDES = (
    ("Day", "", "Morn.", "ft.", "in."),
    ("1", "M", "3 14", "14", "1"),
    ("2", "T", "3 48", "12", "10"),
    ("3", "W", "4 32", "11", "9"),
    ("4", "T", "5 12", "11", "3"),
)


@pytest.mark.parametrize("ruled", [True, False])
def test_heads_of_which_one_goes_over_two_columns_stand_over_their_own(tmp_path, ruled):
    """One head over the day and its letter is typed as one cell; common practice."""
    typed = of_tabs(TIDES).replace("Day\t\t", "Day\t")
    how = {"upright": ruled, "boxed": ruled, "level": ruled}
    report = read(tmp_path, table_of(TIDES, (5, 5, 7, 5, 5), **how), typed, type_too=True)
    assert not [fault for fault in report.faults if fault.kind is Kind.WRONG_COLUMN]
    astray = moved(TIDES, 2, 3, 4)
    astray[2][4] = "12"
    other = typed.replace("12\t10", "12\t")
    report = read(tmp_path, table_of(astray, (5, 5, 7, 5, 5), **how), other, type_too=True)
    assert [fault.kind for fault in report.faults] == [Kind.WRONG_COLUMN]


def two_jobs(**how):
    style = Style("schola", 11, 2)
    made = [
        ticket_of([Head(row, 11, 2) for row in rows], measure_picas=22, height_px=220, style=style)
        for rows in (FERRY, COW)
    ]
    return ganged(made, 2, **how).image


def test_two_jobs_on_one_sheet_against_the_copy_of_both_are_read(tmp_path):
    report = read(tmp_path, two_jobs(), "\n".join(FERRY) + "\n\n" + "\n".join(COW))
    assert exit_status(report) == 0, report.faults


@pytest.mark.parametrize("frame_px", [0, 4])
def test_the_second_job_of_a_sheet_is_told_as_no_part_of_the_copy_of_the_first(tmp_path, frame_px):
    report = read(tmp_path, two_jobs(frame_px=frame_px), "\n".join(FERRY))
    assert exit_status(report) == 1
    assert {fault.kind for fault in report.faults} <= {Kind.WORD_EXTRA, Kind.LINE_FOREIGN}
    assert not any(fault.copy_text for fault in report.faults)


WORDS = ("ash", "bay", "elm", "fir", "oak", "yew", "box", "gum", "fig", "nut", "hop", "rye")


@pytest.mark.slow
def test_forty_columns_are_read(tmp_path):
    cells = [
        [f"{WORDS[(at + row) % len(WORDS)]} {(7 * at + 3 * row) % 90 + 10}" for row in range(5)]
        for at in range(40)
    ]
    columns = [
        print_proof(
            compose([Head(cell, 7, 2, align="left") for cell in column], measure_picas=4),
            margin_picas=0.5,
        ).image
        for column in cells
    ]
    image = np.hstack(columns)
    down = "\n".join(cell for column in cells for cell in column)
    assert exit_status(read(tmp_path, image, down)) == 0
