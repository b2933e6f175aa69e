"""Cells of several lines side by side, two tables in one, feet under columns: each in its order.

Oracle: the typesetter puts each piece where it stands, and the copy is written beside it.
"""

import cv2
import pytest
from typesetter import Style, pull
from typesetter.entries import laid_out

from proofcheck import Options, check_proof
from proofcheck.base.found import Verdict
from proofcheck.base.kinds import Kind

FACE = Style("schola", 9, 2)


def read(folder, pieces, *copy):
    proof = laid_out(pieces, FACE, width_px=1250, right=1200)
    cv2.imwrite(str(folder / "sheet.png"), pull(proof, "good", seed=2))
    (folder / "copy.txt").write_text("\n".join(copy) + "\n", encoding="utf-8")
    chosen = Options(type_too=False, recast=False)
    return check_proof(folder / "sheet.png", folder / "copy.txt", options=chosen)


def kinds(report):
    return {fault.kind for fault in report.faults}


STAGES = [("Gasworks", "Cemetery Road"), ("Soap Lane", "Toll Bar"), ("Custom House", ""),
          ("Tide Street", "Blind School"), ("Corn Market", "Market Cross")]  # fmt: skip
STAGE_COPY = ["GOODS TRAMWAY", *(f"{one}\t{other or 'Upper Park Gate'}" for one, other in STAGES)]


def stages(over="Upper Park", under="Gate"):
    """A table whose third row has a cell of two lines, beside one that stands between them."""
    pieces = [(300, 0, "GOODS TRAMWAY")]
    for at, (one, other) in enumerate(STAGES):
        pieces += [(0, 1.6 + 1.8 * at, one)] + ([(600, 1.6 + 1.8 * at, other)] if other else [])
    return [*pieces, (600, 4.75, over), (600, 5.65, under)]


def test_a_cell_of_two_lines_is_read_whole_beside_what_stands_between_them(tmp_path):
    report = read(tmp_path, stages(), *STAGE_COPY)
    assert report.verdict is Verdict.CLEAN, report.faults


@pytest.mark.parametrize(("over", "under"), [("Gate", "Upper Park"), ("Upper Park", "Wharf")])
def test_lines_of_a_cell_exchanged_or_wrong_are_told(tmp_path, over, under):
    report = read(tmp_path, stages(over, under), *STAGE_COPY)
    assert report.verdict is Verdict.FAULTS


RECEIPTS = [("Balance from last year", 11), ("Members, sixty-three", 15), ("Ladies, eighteen", 2),
            ("Newspapers sold", 9), ("Billiard table", 8)]  # fmt: skip
PAYMENTS = [("Rent of the rooms", 16), ("Coals and gas", 6), ("Reviews and papers", 7),
            ("Caretaker", 5), ("New cloth", 3), ("Lamp glass", 1)]  # fmt: skip
FOOT = "Examined with the vouchers and found correct, save for the book of fines."


def account(receipts=RECEIPTS, payments=PAYMENTS):
    """Two tables of a column of figures each, side by side, and a line across under them."""
    pieces = [(0, 8, FOOT)]
    for x, rows in ((0, receipts), (640, payments)):
        for at, (name, figure) in enumerate(rows):
            pieces += [(x, at, name), (x + 470, at, str(figure))]
    return pieces


def account_copy(*tables):
    return [*(f"{name}\t{figure}" for rows in tables for name, figure in rows), FOOT]


def test_two_tables_side_by_side_are_read_one_after_the_other(tmp_path):
    report = read(tmp_path, account(), *account_copy(RECEIPTS, PAYMENTS))
    assert report.verdict is Verdict.CLEAN, report.faults


def test_entries_that_have_changed_tables_are_told(tmp_path):
    receipts, payments = list(RECEIPTS), list(PAYMENTS)
    receipts[1], payments[1] = payments[1], receipts[1]
    report = read(tmp_path, account(receipts, payments), *account_copy(RECEIPTS, PAYMENTS))
    assert report.verdict is Verdict.FAULTS
    assert any("Members" in f.copy_text + f.proof_text for f in report.faults), report.faults


LEFT = ["First and third Thursdays,", "three until half past five"]
RIGHT = ["FENNEL LODGE,", "Orchard Terrace,", "Upper Saltby."]


def test_a_list_may_begin_over_the_one_at_its_left(tmp_path):
    pieces = [(400, 0, "Mistress Tredinnock")]
    pieces += [(0, 4 + at, text) for at, text in enumerate(LEFT)]
    pieces += [(1200, 3 + at, text) for at, text in enumerate(RIGHT)]
    report = read(tmp_path, pieces, pieces[0][2], *LEFT, *RIGHT)
    assert report.verdict is Verdict.CLEAN, report.faults
    # What stands under both of them at the left is not of the left one.
    astray = [*pieces[:3], *((1200, 3 + at, text) for at, text in enumerate(RIGHT[:2]))]
    astray.append((0, 7, RIGHT[2]))
    wrong = read(tmp_path, astray, pieces[0][2], LEFT[0], RIGHT[2], LEFT[1], *RIGHT[:2])
    assert wrong.verdict is Verdict.FAULTS


VERSE = [["Come all you hands that haul a net,", "And you that mend a sail,",
          "And hear how Captain Orrin went", "Away before the gale."],
         ["She shipped it green on either side,", "She lay down like a hound;",
          "The foresail went as goes a drum,", "With one great sound."]]  # fmt: skip
IMPRINT = ["Sold by all Hawkers.", "Price One Penny."]


def ballad(foot_row, columns=VERSE):
    pieces = [(420, 0, "A NEW SONG")]
    for x, texts in zip((0, 700), columns, strict=True):
        pieces += [(x, 1.6 + at, text) for at, text in enumerate(texts)]
    return [*pieces, (0, foot_row, IMPRINT[0]), (1200, foot_row, IMPRINT[1])]


def test_a_row_that_stands_apart_under_two_columns_follows_both(tmp_path):
    copy = ["A NEW SONG", *VERSE[0], *VERSE[1], "\t".join(IMPRINT)]
    report = read(tmp_path, ballad(7.4), *copy)
    assert report.verdict is Verdict.CLEAN, report.faults


def test_a_line_at_the_foot_of_its_column_that_belongs_elsewhere_is_told(tmp_path):
    copy = ["A NEW SONG", *VERSE[0], *VERSE[1], "\t".join(IMPRINT)]
    # No white parts the row from the columns: its left half would be of the left one.
    assert read(tmp_path, ballad(5.6), *copy).verdict is Verdict.FAULTS
    moved = [[*VERSE[0][:3], VERSE[1][3]], [*VERSE[1][:3], VERSE[0][3]]]
    report = read(tmp_path, ballad(7.4, moved), *copy)
    assert Kind.LINES_TRANSPOSED in kinds(report)


def test_what_stands_beside_two_rows_follows_both_or_none(tmp_path):
    # Common practice: a brace holds two names, and what both are stands beside it.
    names = ["Silas Wetherden,", "Obadiah Crump,"]
    pieces = [
        (0, 0, FOOT[:44]),
        (0, 2, names[0]),
        (0, 3, names[1]),
        (500, 2.5, "Auditors of the Club"),
    ]
    sound = read(tmp_path, pieces, FOOT[:44], *names, pieces[-1][2])
    assert sound.verdict is Verdict.CLEAN, sound.faults
    # Wholly over them it is before them.
    astray = [*pieces[:3], (500, 1, pieces[-1][2])]
    wrong = read(tmp_path, astray, FOOT[:44], *names, pieces[-1][2])
    assert Kind.LINES_TRANSPOSED in kinds(wrong)


def test_two_rows_of_two_cells_are_read_across_and_cells_exchanged_told(tmp_path):
    cells = ["Oats, crushed", "Barley meal", "Split peas", "Linseed cake"]
    places = [(0, 2), (500, 2), (0, 3), (500, 3)]

    def sheet(order):
        held = [(x, row, cells[k]) for (x, row), k in zip(places, order, strict=True)]
        return [(0, 0, FOOT[:44]), *held, (0, 6, "Weighed twice before they leave the wharf.")]

    copy = [FOOT[:44], "\t".join(cells[:2]), "\t".join(cells[2:]), sheet(range(4))[-1][2]]
    assert read(tmp_path, sheet(range(4)), *copy).verdict is Verdict.CLEAN
    assert read(tmp_path, sheet((3, 1, 2, 0)), *copy).verdict is Verdict.FAULTS


DAYS = [("FRIDAY", "7", ["At daybreak a round of the band through the streets,", "with drums.",
                         "At ten the blessing of the must."]),
        ("SATURDAY", "8", ["Races in sacks; a greased pole by the fountain, and",
                           "a ham of nine pounds at the top.", "Who will tread most?"]),
        ("SUNDAY", "9", ["A ball in the square, and at eleven of the evening",
                         "fireworks.", "All may come in."])]  # fmt: skip


def test_a_day_over_its_date_stands_beside_what_is_done_on_it(tmp_path):
    pieces, copy = [], []
    for at, (day, date, texts) in enumerate(DAYS):
        pieces += [(0, 4 * at, day), (40, 4 * at + 2, date)]
        pieces += [(300, 4 * at + row, text) for row, text in enumerate(texts)]
        copy += [day, date, *texts]
    report = read(tmp_path, pieces, *copy)
    assert not [f for f in report.faults if f.status.value == "fault"], report.faults
    wrong = [(x, row, "9" if text == "8" else text) for x, row, text in pieces]
    told = read(tmp_path, wrong, *copy).faults
    assert any("8" in f.copy_text for f in told), told
