"""Forms and braces in the copy's order as far as they may be read so, and what is astray told.

Oracle: the typesetter puts each piece where it stands, and the copy is written beside it.
"""

from dataclasses import replace

import cv2
import pytest
from collating import copy_of
from typesetter import Style, pull
from typesetter.entries import laid_out

from proofcheck import Options, check_proof
from proofcheck.base.found import Verdict
from proofcheck.base.values import Box, Letter, Line, Reading
from proofcheck.collate.parted_lines import wide_whites
from proofcheck.collate.piecemeal import piecemeal
from proofcheck.collate.same import Rules
from proofcheck.collate.sheet_order import sheet_in_order

FACE = Style("schola", 9, 2)
HEAD = "Report upon the byre, to be filled up in ink upon the spot."
MEASURES = ("Length", "Breadth", "Height to eaves")
AIR = ("Air space", "Not less than 600", "cubic feet a beast")
FORM = (HEAD, *(f"{what} ft. in." for what in MEASURES), *AIR)


def read(folder, pieces, *copy):
    proof = laid_out(pieces, FACE, width_px=1250, right=1200)
    cv2.imwrite(str(folder / "sheet.png"), pull(proof, "good", seed=2))
    (folder / "copy.txt").write_text("\n".join(copy) + "\n", encoding="utf-8")
    chosen = Options(type_too=False, recast=False)
    return check_proof(folder / "sheet.png", folder / "copy.txt", options=chosen)


def form(measures=MEASURES, units=(("ft.", "in."),) * 3, air=AIR):
    """A form with its units in columns, and beside a brace what they are measured for."""
    pieces = [(0, 0, HEAD)]
    for at, (what, (one, other)) in enumerate(zip(measures, units, strict=True)):
        pieces += [(0, 2 + 1.4 * at, what), (400, 2 + 1.4 * at, one), (600, 2 + 1.4 * at, other)]
    return [*pieces, *((800, 1.9 + 1.1 * at, words) for at, words in enumerate(air))]


def test_a_form_is_read_row_by_row_and_what_stands_beside_it_after_it(tmp_path):
    report = read(tmp_path, form(), *FORM)
    assert report.verdict is Verdict.CLEAN, report.faults


@pytest.mark.parametrize(
    "wrong",
    [
        {"measures": ("Length", "Height to eaves", "Breadth")},
        {"units": (("ft.", "in."), ("in.", "ft."), ("ft.", "in."))},
        {"units": (("ft.", "in."), ("ft.", "in."), ("ft.", "ft."))},
        {"air": (AIR[0], AIR[2], AIR[1])},
        {"air": (AIR[1], AIR[0], AIR[2])},
    ],
    ids=["names", "units", "a unit", "lines", "head"],
)
def test_what_has_changed_places_in_a_form_is_told(tmp_path, wrong):
    assert read(tmp_path, form(**wrong), *FORM).verdict is Verdict.FAULTS


BRISTLES = [("for clothes, walnut backed", "1s. 9d."), ("for polish, No. 2", "11d."),
            ("for nails, white bone", "6s. 6d."), ("for horses", "2s. 4d.")]  # fmt: skip
BRACED = ("Brushes", "pure bristle")


def braced(rows=BRISTLES, label=BRACED):
    """A list whose rows stand beside a label of two lines, which stands between them."""
    pieces = [(0, 0, HEAD)]
    for at, (what, price) in enumerate(rows):
        pieces += [(330, 2 + 1.2 * at, what), (1000, 2 + 1.2 * at, price)]
    return [*pieces, *((60, 2.6 + 1.2 * at, words) for at, words in enumerate(label))]


BRACED_COPY = (
    HEAD, " ".join((*BRACED, *BRISTLES[0])), *(" ".join(row) for row in BRISTLES[1:])
)  # fmt: skip


def test_what_a_brace_holds_is_read_after_what_stands_before_it(tmp_path):
    report = read(tmp_path, braced(), *BRACED_COPY)
    assert report.verdict is Verdict.CLEAN, report.faults


PRICES = [price for _, price in BRISTLES]


@pytest.mark.parametrize(
    "prices",
    [
        [PRICES[1], PRICES[0], *PRICES[2:]],
        [*PRICES[:2], PRICES[3], PRICES[2]],
        [PRICES[3], PRICES[1], PRICES[2], PRICES[0]],
    ],
    ids=["first", "last", "far"],
)
def test_prices_exchanged_beside_a_brace_are_told(tmp_path, prices):
    rows = [(what, price) for (what, _), price in zip(BRISTLES, prices, strict=True)]
    assert read(tmp_path, braced(rows), *BRACED_COPY).verdict is Verdict.FAULTS


def test_lines_of_a_label_exchanged_beside_a_brace_are_told(tmp_path):
    wrong = read(tmp_path, braced(label=(BRACED[1], BRACED[0])), *BRACED_COPY)
    assert wrong.verdict is Verdict.FAULTS


GOODS = [("318", ("Chimneys, pearl top",), "2/9", "16 6"),
         ("326", ("Table lamps of brass, with", "burner complete"), "87/-", "4 7"),
         ("341", ("Flat wicks, in packets",), "7½", "7 6"),
         ("347", ("Carriage lamps, square",), "150/-", "3 15")]  # fmt: skip


def bill(goods=GOODS):
    """A bill whose date stands under its month, and an entry of which runs over in its cell."""
    pieces, row = [(0, 0, HEAD), (0, 2, "Mar."), (0, 2.8, "14th")], 2.0
    for order, lines, rate, sum_of in goods:
        pieces += [(140, row, order), (850, row, rate), (1050, row, sum_of)]
        pieces += [(330, row + 0.8 * at, words) for at, words in enumerate(lines)]
        row += 1.6 if order == "318" else 0.4 + 0.8 * len(lines)
    return pieces


def billed(goods=GOODS):
    first, *others = (f"{order} {' '.join(lines)} {rate} {sum_of}"
                      for order, lines, rate, sum_of in goods)  # fmt: skip
    return (HEAD, f"Mar. 14th {first}", *others)


def test_an_entry_that_runs_over_in_its_cell_is_read_in_the_cell(tmp_path):
    report = read(tmp_path, bill(), *billed())
    assert report.verdict is Verdict.CLEAN, report.faults


@pytest.mark.parametrize("column", [1, 2, 3])
@pytest.mark.parametrize("upper", [0, 1, 2])
def test_what_has_changed_places_in_rows_that_run_over_is_told(tmp_path, column, upper):
    goods = [list(row) for row in GOODS]
    one, other = goods[upper][column], goods[upper + 1][column]
    goods[upper][column], goods[upper + 1][column] = other, one
    assert read(tmp_path, bill(goods), *billed()).verdict is Verdict.FAULTS


LABEL = ("Damson cheese of the old orchard", "Net", "1 pound", "Price", "9d. the jar")


def labels(*each):
    """Labels side by side whose words stand in two columns, the one beside the other."""
    pieces = []
    for at, (head, net, pound, price, jar) in enumerate(each):
        x = 640 * at
        pieces += [(x, 0, head), (x, 2, net), (x, 3, pound), (x + 300, 2, price), (x + 300, 3, jar)]
    return pieces


def test_each_of_several_tickets_is_read_in_the_copys_order(tmp_path):
    proof = laid_out(labels(LABEL, LABEL), FACE, width_px=1250, right=1200)
    cv2.imwrite(str(tmp_path / "two.png"), pull(proof, "good", seed=2))
    wrong = (*LABEL[:3], LABEL[4], LABEL[3])
    proof = laid_out(labels(LABEL, wrong), FACE, width_px=1250, right=1200)
    cv2.imwrite(str(tmp_path / "wrong.png"), pull(proof, "good", seed=2))
    (tmp_path / "copy.txt").write_text(f"{LABEL[0]}\n" + " ".join(LABEL[1:]) + "\n")
    options = Options(type_too=False, recast=False, up=2)
    sound = check_proof(tmp_path / "two.png", tmp_path / "copy.txt", options=options)
    assert sound.verdict is Verdict.CLEAN, sound.faults
    told = check_proof(tmp_path / "wrong.png", tmp_path / "copy.txt", options=options)
    assert told.verdict is Verdict.FAULTS


def held(*rows):
    """Lines read as they stand, 40 px apart: of each its pieces with their places."""
    out = []
    for number, pieces in enumerate(rows, start=1):
        letters = [
            Letter(char, Box(x + 9 * k, 40 * number - 12, 8, 12), 1.0)
            for x, text in pieces
            for k, char in enumerate(text)
        ]
        box = Box.around(letter.box for letter in letters)
        foot = (40.0 * number, 40.0 * number)
        out.append((Line(number, 0, 0, box, foot, 8.0, 10.0), Reading(number, tuple(letters))))
    return out


def _beside(line, other):
    """A line in the row of another."""
    own, its = line.box, other.box
    return replace(line, baseline=other.baseline, box=Box(own.x, its.y, own.width, its.height))


def _at(line, foot):
    """A line at another height."""
    return replace(line, baseline=(foot, foot), box=line.box._replace(y=int(foot) - 12))


def entry(number, title, price):
    return (0, number), (60, title), (700, price)


ONE, TWO = entry("168", "The mill at daybreak", "350"), entry("169", "Low tide", "90")
NAME, OTHER = ((400, "Jean Tavel, Port-Rouge"),), ((400, "Widow Karsten, Hollen"),)
NAMES = (NAME[0][1], OTHER[0][1])


def test_an_entry_is_not_read_before_the_name_over_it():
    """It stands wholly under the name though not in its column, and the copy has it before."""
    copy = copy_of("168 The mill at daybreak 350\n169 Low tide 90\n" + "\n".join(NAMES))
    assert piecemeal(copy, held(ONE, NAME, TWO, OTHER), Rules()) == []


def test_units_in_columns_are_read_row_by_row():
    units = ((300, "ft."), (600, "in."))
    lines = held(((0, "Length"),), ((0, "Breadth"),), units, units)
    # The units stand in the rows of what is measured.
    lines[2:] = [
        (_beside(line, lines[at][0]), reading) for at, (line, reading) in enumerate(lines[2:])
    ]
    (way,) = piecemeal(copy_of("Length ft. in.\nBreadth ft. in."), lines, Rules())
    assert (way.first, way.end) == (1, 3)
    assert [reading.text for _, reading in way.lines] == ["ft.in.", "Breadth"]


RATES = ("4/6", "87/6", "7/10", "150/6")
ITEMS = ("Do., plain, in tens", "Table lamps, brass", "Flat wicks, packets", "Carriage lamps")


@pytest.mark.parametrize(("first", "second"), [(1, 2), (2, 1)], ids=["as printed", "exchanged"])
def test_a_line_that_runs_over_is_of_the_row_of_its_cell(first, second):
    """Prices set solid are no hindrance; two of them exchanged stay where they are."""
    rows = [((0, str(at + 6)), (60, ITEMS[at]), (700, RATES[at])) for at in range(4)]
    lines = held(*rows[:2], ((60, "burner complete"),), *rows[2:])
    feet = (40.0, 80.0, 106.0, 132.0, 172.0)
    lines = [(_at(line, foot), one) for (line, one), foot in zip(lines, feet, strict=True)]
    rates = [RATES[k] for k in (0, first, second, 3)]
    texts = [f"{at + 6} {ITEMS[at]} {rates[at]}" for at in range(4)]
    texts[1] = f"7 {ITEMS[1]} burner complete {rates[1]}"
    ways = piecemeal(copy_of("\n".join(texts)), lines, Rules())
    read = [reading.text for way in ways for _, reading in way.lines]
    assert read == [f"7{ITEMS[1]}", "burner complete", RATES[1]]


@pytest.mark.parametrize(("text", "whites"), [("Loaf . . . 3d", 2), ("Loaf a b c 3d", 4)])
def test_white_between_the_points_of_a_leader_is_no_gutter(text, whites):
    """Rows of points set far apart stand one under another, as columns do."""
    cells = [(120 * at, word) for at, word in enumerate(text.split())]
    (row,) = held(cells)
    assert len(wide_whites(row)) == whites


TIERS = ((500, "Quantity in hand"), (500, "Shop"), (0, "Article and size"), (500, "Front"))
TIER_FEET = (40.0, 70.0, 100.0, 140.0, 190.0)


@pytest.mark.parametrize(
    ("copied", "read"),
    [
        ((2, 0, 1, 3), [2, 0, 1, 3]),
        ((0, 1, 2, 3), None),
        # Two at the right exchanged stay as they stand.
        ((2, 1, 0, 3), [2, 0, 1, 3]),
    ],
    ids=["as the copy has it", "from the top", "exchanged"],
)
def test_a_head_in_a_higher_cell_is_read_before_those_beside_it(copied, read):
    """A column that is not parted has its head beside rows of heads, over it and under it."""
    rows = [*((cell,) for cell in TIERS), ((0, "Butt hinges"), (500, "14 gross"))]
    lines = held(*rows)
    lines = [(_at(line, foot), one) for (line, one), foot in zip(lines, TIER_FEET, strict=True)]
    texts = [words for _, words in TIERS]
    copy = copy_of("\n".join([*(texts[at] for at in copied), "Butt hinges 14 gross"]))
    ways = piecemeal(copy, lines, Rules())
    found = [one.text for way in ways for _, one in way.lines]
    assert found == ([] if read is None else [texts[at] for at in read][: len(found)])
    assert bool(ways) is (read is not None)


@pytest.mark.parametrize("head", ["Article and size", "Artigle and sive"])
def test_what_is_missing_in_any_order_does_not_hold_a_head_in_the_wrong_one(head):
    """Heads set sideways are laid later; till then their words are missing in the copy."""
    rows = [((500, "Stock-taking sheet"),), *((cell,) for cell in TIERS), ((0, "Butt hinges"),)]
    rows[3] = ((0, head),)
    lines = held(*rows)
    feet = (10.0, *TIER_FEET)
    lines = [
        (_at(replace(line, column=int(at == 0)), foot), one)
        for at, ((line, one), foot) in enumerate(zip(lines, feet, strict=True))
    ]
    texts = [words for _, words in TIERS]
    sideways = "Bin or drawer\nCost of each gross, carried out"
    copy = copy_of(
        "\n".join(("Stock-taking sheet", texts[2], sideways, *texts[:2], texts[3], "Butt hinges"))
    )
    read = [one.text for _, one in sheet_in_order(copy, lines, Rules())]
    assert read == ["Stock-taking sheet", head, *texts[:2], texts[3], "Butt hinges"]


def test_a_line_with_nothing_under_it_at_its_right_is_in_no_cell():
    """The head of one column and the foot of another do not change places."""
    lines = held(*((cell,) for cell in TIERS[:3]))
    lines = [(_at(line, foot), one) for (line, one), foot in zip(lines, TIER_FEET, strict=False)]
    copy = copy_of("Article and size\nQuantity in hand\nShop")
    assert piecemeal(copy, lines, Rules()) == []


@pytest.mark.parametrize("script", ["Gw.6Wxvq ozHkj fpu zqa", "Jno. Wexcombe & Nephew"])
def test_a_line_that_cannot_be_read_does_not_hold_others_in_the_wrong_order(script):
    """A foot of the left column is read after the right one, as the copy has it."""
    texts = ("Repairs in two days.", "Invoice", "Founded 1861", script, "Lamps and chimneys")
    lines = held(*(((500 * (at > 1), text),) for at, text in enumerate(texts)))
    feet = (40.0, 240.0, 50.0, 90.0, 130.0)
    lines = [
        (_at(replace(line, column=int(at > 1)), foot), reading)
        for at, ((line, reading), foot) in enumerate(zip(lines, feet, strict=True))
    ]
    copy = copy_of("\n".join((texts[0], texts[2], "Jno. Wexcombe & Nephew", texts[4], texts[1])))
    read = [reading.text for _, reading in sheet_in_order(copy, lines, Rules())]
    assert read == [texts[0], *texts[2:], texts[1]]


def test_the_last_line_of_a_column_and_the_head_of_the_next_do_not_change_places():
    left, right = ((0, "Sung by the choir"),), ((500, "Part the second"),)
    lines = held(left, right)
    foot = replace(lines[0][0], baseline=(400.0, 400.0), box=Box(0, 388, 153, 12))
    lines[0] = (foot, lines[0][1])
    copy = copy_of("Part the second\nSung by the choir")
    assert piecemeal(copy, lines, Rules()) == []


def test_the_head_of_a_loose_column_does_not_change_places_with_the_foot_of_another():
    """The columns' lines stand apart and at different heights; the copy has two exchanged."""
    left, right = ("Sung by the choir", "A glee for four", "The ferry song"), ("Part two", "Finale")
    lines = held(*(((0, text),) for text in left), *(((500, text),) for text in right))
    feet = (140.0, 230.0, 420.0, 60.0, 110.0)
    lines = [(_at(line, foot), one) for (line, one), foot in zip(lines, feet, strict=True)]
    moved = (left[0], right[0], *left[1:], right[1])
    assert piecemeal(copy_of("\n".join(moved)), lines, Rules()) == []
