"""Type of several sizes side by side: each line by itself, measured by its own letters.

Oracle: the typesetter says where each line's letters stand and how high they are.
"""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from typesetter import Head, Para, Proof, Style, compose, print_proof, pull

from proofcheck import Options, check_proof
from proofcheck.base.found import Verdict
from proofcheck.base.values import Scan, Sheet
from proofcheck.sheet.lines import find_lines
from proofcheck.sheet.pieces import Pieces
from proofcheck.sheet.true_lines import Row
from proofcheck.sheet.unlike_ends import parted_where_unlike

TEXT = (
    "The miller of Nether Sallow owed every Lent ten sticks of eels, a stick being five and twenty "
    "fish threaded through the gills, and in a dry year he might pay one half in lampreys, but not "
    "in money or in meal."
)
NOTES = ("The rent", "formerly paid", "in sticks of eels.")


def sheet_of(image):
    scan = Scan("proof", 0, "", *image.shape[::-1])
    return Sheet(
        image, scan, 0, 300.0, "option", 0, mirrored=False, skew_deg=0.0, to_scan=np.eye(3)
    )


def text_page(text=TEXT, measure=22, body=11):
    """A paragraph with white paper at its right."""
    style = Style("schola", body, 2)
    proof = print_proof(compose([Para(text, indent_pt=0)], measure_picas=measure, style=style))
    return np.pad(proof.image, ((0, 0), (0, 500)), constant_values=255), proof.lines


def put(page, text, x, base, body, face="roman"):
    """One line of type put on a page: its first ink at x, its letters on the baseline."""
    forme = compose(
        [Head(text, body, 0.0, align="left", style=face)],
        measure_picas=len(text) * body / 12 + 4,
        style=Style("schola", body, 2),
    )
    proof = print_proof(forme, margin_picas=1)
    line = proof.lines[0]
    left, top, wide, tall = (round(side) for side in line.box)
    ink = proof.image[top - 2 : top + tall + 2, left - 2 : left + wide + 2]
    y = round(base - line.baseline_y) + top - 2
    window = page[y : y + ink.shape[0], x - 2 : x - 2 + ink.shape[1]]
    np.minimum(window, ink, out=window)
    return line.x_height_px


def blank(height=300, width=1500):
    return np.full((height, width), 255, np.uint8)


def bases(lines):
    return [round(line.baseline[0]) for line in lines]


@pytest.mark.parametrize(("off", "apart"), [(0, 1), (2, 1), (7, 2), (-7, 2)])
def test_words_of_two_compartments_that_are_off_a_level_are_two_lines(off, apart):
    page = blank()
    put(page, "on the high wire", 100, 150, 8)
    put(page, "and with a concertina", 900, 150 + off, 8)
    lines = find_lines(sheet_of(page))
    assert len(lines) == apart
    if apart == 2:
        assert sorted(bases(lines)) == pytest.approx(sorted([150, 150 + off]), abs=1)


@pytest.mark.parametrize("small", [7, 7.5, 8])
def test_words_of_two_sizes_far_apart_on_a_level_have_each_its_x_height(small):
    page = blank()
    sizes = [put(page, "pure bristle", 100, 150, small), put(page, "for nails", 700, 150, 10.5)]
    lines = find_lines(sheet_of(page))
    assert [line.x_height_px for line in lines] == pytest.approx(sizes, rel=0.05)


def test_words_of_one_size_far_apart_on_a_level_are_one_line():
    page = blank()
    put(page, "pure bristle", 100, 150, 10)
    put(page, "FOR THE NAILS", 700, 150, 10)
    assert len(find_lines(sheet_of(page))) == 1


@pytest.mark.parametrize(("off", "apart"), [(0, 2), (18, 3)])
def test_a_few_letters_far_off_between_two_lines_are_a_line_of_their_own(off, apart):
    """As the initials at the end of a bill, beside a note of two lines."""
    page = blank()
    put(page, "Terms: nett cash in one month.", 100, 120, 9)
    put(page, "No claim after three days.", 100, 160, 9)
    put(page, "E. & O. E.", 1200, 120 + off, 9)
    lines = find_lines(sheet_of(page))
    assert len(lines) == apart
    if off:
        assert min(abs(found - 120 - off) for found in bases(lines)) <= 1


def test_dashes_for_a_price_are_of_the_line_they_stand_in():
    """They stand at half the height of its letters, and on no baseline of theirs."""
    page = blank()
    put(page, "Terms: nett cash in one month", 100, 120, 9)
    put(page, "No claim after three days", 100, 160, 9)
    for x, dash in ((1200, "-."), (1240, "-."), (1280, "-.")):
        put(page, dash, x, 120, 9)
    assert len(find_lines(sheet_of(page))) == 2


def test_words_most_letters_of_which_hang_are_of_the_line_of_others():
    page = blank()
    put(page, "jolly pygmy, pygmy happy gypsy", 100, 150, 10)
    put(page, "a morning in the same sun", 760, 150, 10)
    assert len(find_lines(sheet_of(page))) == 1


@pytest.mark.parametrize("size", [7, 8])
@pytest.mark.parametrize("shift", [-16, -8, 0, 6])
def test_side_notes_beside_larger_text_are_a_column_and_none_is_lost(size, shift):
    """Wherever their lines stand against those of the text."""
    page, text = text_page()
    right = round(max(line.box[0] + line.box[2] for line in text))
    first = round(text[1].baseline_y)
    wanted = [first + shift + round(place * size * 5) for place in range(3)]
    for base, note in zip(wanted, NOTES, strict=True):
        x_height = put(page, note, right + 45, base, size)
    lines = find_lines(sheet_of(page))
    assert [line.column for line in lines] == [0] * len(text) + [1] * 3
    assert bases(lines[-3:]) == pytest.approx(wanted, abs=1)
    for line in lines[-3:]:
        assert line.x_height_px == pytest.approx(x_height, rel=0.06)
    for line, true in zip(lines, text, strict=False):
        assert line.box.right == pytest.approx(true.box[0] + true.box[2], abs=2)


@pytest.mark.parametrize("off", [-16, -6, 0, 4, 12])
def test_a_lone_side_note_between_two_rows_of_the_text_is_not_lost(off):
    page, text = text_page()
    right = round(max(line.box[0] + line.box[2] for line in text))
    base = round((text[1].baseline_y + text[2].baseline_y) / 2 + off)
    put(page, "formerly paid", right + 45, base, 7)
    lines = find_lines(sheet_of(page))
    assert len(lines) == len(text) + 1
    assert min(abs(found - base) for found in bases(lines)) <= 1


def test_prices_in_smaller_type_on_the_lines_of_a_list_are_no_side_notes():
    page = blank()
    for row in range(5):
        put(page, ("Bran", "Barley meal", "Split peas", "Hay", "Oats")[row], 100, 60 + 50 * row, 11)
        put(page, f"{row + 3}s. {row + 4}d.", 500, 60 + 50 * row, 8)
    lines = find_lines(sheet_of(page))
    assert {line.column for line in lines} == {0}
    assert [round(base, -1) for base in bases(lines)] == sorted(
        round(base, -1) for base in bases(lines)
    )


@pytest.mark.parametrize("off", [0, 4])
def test_entries_between_heads_with_prices_far_off_are_no_side_notes(off):
    """Also where the sheet is not quite level."""
    page = blank(500)
    for row, entry in enumerate(("48. The heron", "", "50. Evening", "51. A study", "")):
        base = 60 + 60 * row
        if entry:
            put(page, entry, 100, base, 9)
            put(page, f"{row + 3}50", 1150, base + off, 9)
        else:
            put(page, "Anna Berth of Murren", 500, base, 12)
    assert {line.column for line in find_lines(sheet_of(page))} == {0}


@pytest.mark.parametrize("middle", ["formerly paid", "formerly laid"])
def test_a_fault_in_a_side_note_is_told(tmp_path, middle):
    page, text = text_page()
    right = round(max(line.box[0] + line.box[2] for line in text))
    for place, note in enumerate((NOTES[0], middle, NOTES[2])):
        put(page, note, right + 60, round(text[0].baseline_y) - 6 + 37 * place, 8)
    page = np.pad(page, ((0, 0), (0, 60)), constant_values=255)
    cv2.imwrite(str(tmp_path / "sheet.png"), pull(Proof(page, (), 300.0, "", ()), "good", seed=2))
    (tmp_path / "copy.txt").write_text(f"{TEXT}\n\n{' '.join(NOTES)}\n", encoding="utf-8")
    options = Options(type_too=False, recast=False)
    report = check_proof(tmp_path / "sheet.png", tmp_path / "copy.txt", options=options)
    told = [(fault.copy_text, fault.proof_text) for fault in report.faults]
    assert (report.verdict is Verdict.CLEAN) == (middle in NOTES)
    assert told == ([] if middle in NOTES else [("p", "l")])


@pytest.mark.parametrize("bold", [9, 11])
def test_lining_figures_on_the_line_of_names_are_of_it(bold):
    """As high as capitals and all alike, they seem small letters of a larger size."""
    page = blank()
    put(page, "Harrold Tubb", 100, 150, 10)
    put(page, "18", 560, 150, bold, "bold")
    for place, figures in enumerate(("12", "57", "31", "23", "45", "20")):
        put(page, figures, 680 + 120 * place, 150, 9)
    assert len(find_lines(sheet_of(page))) == 1


def test_a_word_before_a_wide_white_is_not_measured_with_what_stands_beyond_it():
    page = blank()
    put(page, "at the hour", 100, 150, 10)
    put(page, "min", 480, 150, 10)
    put(page, "HOH", 1200, 150, 14)
    first = min(find_lines(sheet_of(page)), key=lambda line: line.box.x)
    assert first.box.right > 480


@pytest.mark.parametrize(("white", "parts"), [(40, 1), (85, 1), (110, 1), (240, 2)])
def test_a_few_letters_of_which_some_rise_are_of_their_line_unless_far_off(white, parts):
    """White between sentences is wide, and quotes that stand in it are no letters."""
    before = [20, 20, 26, 20, 20, 20, 20, 26, 32, 20, 20, 20, 20, 26, 32, 20, 20, 20, 20, 20]
    after = [31, 26, 20, 26, 32, 20]
    x = np.array([20 * place + (place >= len(before)) * white for place in range(26)], float)
    y = 100.0 - np.array(before + after)
    pieces = Pieces(x, y, x + 16, np.full(26, 100.0), 16 * (100 - y))
    rows = parted_where_unlike(pieces, [Row(np.arange(26), 0, 0)])
    assert [len(row.members) for row in rows] == ([26] if parts == 1 else [20, 6])


def test_a_price_of_few_figures_with_its_point_and_dash_is_of_its_entry():
    before = [31, 31, 20, 32, 20, 20, 26, 20, 31, 31, 20, 20, 32, 20]
    after = [25, 24, 24, 4]
    x = np.array([20 * place + (place >= len(before)) * 400 for place in range(19)], float)
    y = 100.0 - np.array([*before, *after, 12])
    bottom = np.array([100.0] * 18 + [91.0])
    right = x + np.array([16] * 18 + [40])
    pieces = Pieces(x, y, right, bottom, (right - x) * (bottom - y))
    assert len(parted_where_unlike(pieces, [Row(np.arange(19), 0, 0)])) == 1
