"""Ruled jobbing work: entries numbered in two columns, labels in a grid, numbers white on black in
their boxes, a table whose heads are set sideways.

Each sheet that is right reads as its copy, and beside each one that is set wrong is told. Oracle:
the typesetter puts each piece where it stands, rules are drawn, and the copy is written beside it.
"""

from dataclasses import replace

import cv2
import numpy as np
import pytest
from test_rules import sheet_of
from typesetter import Style, block_of, panel_of, pull
from typesetter.entries import laid_out
from typesetter.ruled import table_of

from proofcheck import Options, check_proof
from proofcheck.base.found import Verdict
from proofcheck.sheet.lifting import lift

FACE = Style("schola", 9, 2)
MARGIN = 150
"""Of the sheets that are laid out, in pixels."""
PITCH = 48


def laid(pieces, rules=(), blocks=(), width_px=1250):
    """Pieces on a sheet, with rules (x, y, right, bottom) and pictures (x, y, picture) on it."""
    proof = laid_out(pieces, FACE, width_px=width_px, pitch_px=PITCH)
    image = proof.image
    for x, y, right, bottom in rules:
        image[MARGIN + y : MARGIN + bottom, MARGIN + x : MARGIN + right] = 0
    for x, y, picture in blocks:
        high, wide = picture.shape
        place = image[MARGIN + y : MARGIN + y + high, MARGIN + x : MARGIN + x + wide]
        np.minimum(place, picture, out=place)
    return replace(proof, image=image)


def read(folder, proof, *copy):
    cv2.imwrite(str(folder / "sheet.png"), pull(proof, "good", seed=5))
    (folder / "copy.txt").write_text("\n".join(copy) + "\n", encoding="utf-8")
    chosen = Options(type_too=False, recast=False)
    return check_proof(folder / "sheet.png", folder / "copy.txt", options=chosen)


def told(report):
    return [(fault.kind.value, fault.proof_text, fault.copy_text) for fault in report.faults]


# ----------------------------------------------------------- entries numbered in two ruled columns

LOTS = [
    [
        ("1.", "Bay mare, rising seven, quiet", "in all gears."),
        ("2.", "Grey gelding, a steady one."),
        ("3.", "Roan cob, has carried a lady,", "and drawn a gig."),
        ("4.", "Moorland pony and cart."),
    ],
    [
        ("5.", "Carrier's van on springs, to", "seat eight."),
        ("6.", "Tumbril, harvest ladders."),
        ("7.", "Spring cart, painted blue, fit", "for a higgler."),
        ("8.", "Dog cart with lamps."),
    ],
]


def lots(columns=LOTS):
    pieces, rules = [(330, 0, "To be sold at Orrenmouth")], [(604, 80, 608, 420)]
    for left, entries in zip((0, 650), columns, strict=True):
        row = 2.0
        for number, *lines in entries:
            pieces.append((left, row, number))
            for line in lines:
                pieces.append((left + 80, row, line))
                row += 1
    return laid(pieces, rules)


LOT_COPY = ["To be sold at Orrenmouth", *(" ".join(entry) for column in LOTS for entry in column)]


def test_numbers_that_hang_in_two_ruled_columns_are_of_their_entries(tmp_path):
    report = read(tmp_path, lots(), *LOT_COPY)
    assert report.verdict is Verdict.CLEAN, told(report)


def test_numbers_exchanged_or_a_wrong_entry_in_ruled_columns_are_told(tmp_path):
    first, second = LOTS
    swapped = [*second[:1], ("7.", *second[1][1:]), ("6.", *second[2][1:]), second[3]]
    assert read(tmp_path, lots([first, swapped]), *LOT_COPY).verdict is Verdict.FAULTS
    other = [*first[:3], ("4.", "Moorland mare and cart.")]
    report = read(tmp_path, lots([other, second]), *LOT_COPY)
    assert any("pony" in wanted for _, _, wanted in told(report)), told(report)


LEFT = ["Flour, two pounds", "Butter, half of it", "Sugar, as much", "Eggs, four new-laid"]
RIGHT = [
    "Beat the butter to a cream with the hand,",
    "add the sugar by degrees, and work it",
    "until it is white. Whisk the eggs for ten",
    "minutes and stir them in with a spoon.",
]


@pytest.mark.parametrize("last", ["FLOUR", "MEAL"])
def test_all_words_of_a_line_across_a_gutter_are_of_that_line(tmp_path, last):
    words = [(0, "LEAFLET"), (250, "ON BAKING"), (545, "WITH WHITE"), (850, last)]
    pieces = [(x, 0, word) for x, word in words]
    for at, (one, other) in enumerate(zip(LEFT, RIGHT, strict=True)):
        pieces += [(0, 1.15 + 1.1 * at, one), (480, 1.15 + at, other)]
    copy = ["LEAFLET ON BAKING WITH WHITE FLOUR", *LEFT, " ".join(RIGHT)]
    report = read(tmp_path, laid(pieces), *copy)
    assert (report.verdict is Verdict.CLEAN) == (last == "FLOUR"), told(report)


# ----------------------------------------------------------------------------- labels in a grid

LABELS = [
    ("41", "Oil lamp", "Red ware. The lip is black with soot.", "Given by the rector"),
    ("42", "Coffer key", "Forged, of three lobes, a span long.", "Town stores"),
    ("43", "Comb", "Box wood, with two rows of fine teeth.", "Bought of a pedlar"),
    ("44", "Weight", "Bronze, of two pounds less an ounce.", "Lent by the mayor"),
    ("45", "Whistle", "Mutton bone, bored with two holes.", "Found on the moor"),
    ("46", "Tile", "A hare in yellow, brown about it.", "From the old abbey"),
]


def labels(held=LABELS):
    rules = [(-60, y, 2300, y + 4) for y in (60, 390, 720)]
    rules += [(x, 60, x + 4, 724) for x in (730, 1500)]
    pieces = [(0, 0, "Museum of Orrenmouth"), (2000, 0, "North cases")]
    for at, lines in enumerate(held):
        x, row = 770 * (at % 3), 2 + 6.9 * (at // 3)
        pieces += [(x, row + 1.2 * step, line) for step, line in enumerate(lines)]
    return laid([*pieces, (800, 16, "PRAY DO NOT TOUCH THE EXHIBITS")], rules, width_px=2310)


LABEL_COPY = ["Museum of Orrenmouth\tNorth cases", *(line for label in LABELS for line in label),
              "PRAY DO NOT TOUCH THE EXHIBITS"]  # fmt: skip


def test_labels_in_a_grid_are_read_label_by_label(tmp_path):
    report = read(tmp_path, labels(), *LABEL_COPY)
    assert report.verdict is Verdict.CLEAN, told(report)


def test_what_is_wrong_in_a_grid_of_labels_is_told(tmp_path):
    numbers = [("45", *LABELS[1][1:]), *LABELS[2:4], ("42", *LABELS[4][1:])]
    report = read(tmp_path, labels([LABELS[0], *numbers, LABELS[5]]), *LABEL_COPY)
    assert report.verdict is Verdict.FAULTS
    assert "45" in [printed for _, printed, _ in told(report)], told(report)
    names = [LABELS[0], (*LABELS[1][:3], "Town stables"), *LABELS[2:]]
    report = read(tmp_path, labels(names), *LABEL_COPY)
    assert any("abl" in printed for _, printed, _ in told(report)), told(report)


# ------------------------------------------------------ numbers white on black in their own boxes

NAMES = [("ATTERBURY", "Josiah, of Forge Row,", "farrier."),
         ("BINDLOSS", "Thomas, of the Mill,", "corn dealer."),
         ("CRAYTHORNE", "Edwin, of Church End,", "gentleman."),
         ("DUMBLE", "Sarah, of Back Lane,", "teacher.")]  # fmt: skip
HEAD, FOOT = "Parish Council of Great Snelling", "Place a cross against two names, and no more."


def ballot(numbers="1234", names=NAMES):
    """Boxes in two columns: a number on black at the left, a name, a square to be crossed."""
    pieces, rules, blocks = [(430, 0, HEAD), (350, 13, FOOT)], [], []
    for at, (number, lines) in enumerate(zip(numbers, names, strict=True)):
        x, y = 760 * (at % 2), 90 + 250 * (at // 2)
        rules += frame(x, y, 720, 210, 5) + frame(x + 580, y + 50, 100, 100, 8)
        figure = panel_of(block_of(number, body_pt=24), pad_px=0)
        block = np.zeros((210, 120), np.uint8)
        high, wide = figure.shape
        block[80 : 80 + high, 45 : 45 + wide] = figure
        blocks.append((x, y, block))
        pieces += [(x + 140, y / PITCH + 0.7 + step, line) for step, line in enumerate(lines)]
    return laid(pieces, rules, blocks, width_px=1490)


def frame(x, y, width, height, thick):
    right, bottom = x + width, y + height
    return [(x, y, right, y + thick), (x, bottom - thick, right, bottom),
            (x, y, x + thick, bottom), (right - thick, y, right, bottom)]  # fmt: skip


BALLOT_COPY = [HEAD, *(line for number, lines in zip("1234", NAMES, strict=True)
               for line in (number, *lines)), FOOT]  # fmt: skip


def test_numbers_on_black_are_read_in_their_boxes(tmp_path):
    report = read(tmp_path, ballot(), *BALLOT_COPY)
    assert report.verdict is Verdict.CLEAN, told(report)
    assert len(report.sheets[0].panels) == 4


@pytest.mark.parametrize("numbers", ["1243", "1734"])
def test_a_wrong_number_on_black_is_told(tmp_path, numbers):
    report = read(tmp_path, ballot(numbers), *BALLOT_COPY)
    assert report.verdict is Verdict.FAULTS


def test_a_wrong_name_in_a_numbered_box_is_told(tmp_path):
    names = [NAMES[0], ("BINDLOSS", "Thomas, of the Mill,", "coal dealer."), *NAMES[2:]]
    report = read(tmp_path, ballot(names=names), *BALLOT_COPY)
    assert [wanted for _, _, wanted in told(report)] == ["r", "n"], told(report)
    report = read(tmp_path, ballot(names=[NAMES[1], NAMES[0], *NAMES[2:]]), *BALLOT_COPY)
    assert report.verdict is Verdict.FAULTS


def test_a_white_light_in_a_black_cut_is_no_number(tmp_path):
    block = np.zeros((210, 120), np.uint8)
    cv2.circle(block, (60, 105), 26, 255, cv2.FILLED)
    pieces = [(0, 0, HEAD), (0, 8, FOOT)]
    report = read(tmp_path, laid(pieces, blocks=[(300, 90, block)]), HEAD, FOOT)
    assert not report.sheets[0].panels


# ----------------------------------------------------------------- rules between heads set sideways

STATIONS = ["Hollin Quay", "Withernmouth", "Marsh Halt", "Thorley Bridge", "Scarle Fen"]


def trains():
    """A table of hours with upright hair rules, its heads reading upwards between them."""
    rows = range(8)
    foot = 430 + 70 * len(rows)
    rules = [(0, y, 1150, y + 5) for y in (60, *range(430, foot + 1, 70))]
    rules += [(x, 60, x + 4, foot + 5) for x in range(150, 1151, 200)]
    pieces, blocks = [(0, 0, "Up trains, week-days")], []
    for at, name in enumerate(STATIONS):
        # The stems of letters in large heads are as many strokes near a rule as a hatching has.
        words = np.rot90(block_of(name, body_pt=14)).copy()
        blocks.append((185 + 200 * at, 415 - words.shape[0], words))
        pieces += [
            (205 + 200 * at, 9.25 + 1.458 * row, f"{row + 6} {10 * at + row}") for row in rows
        ]
    pieces += [(0, 9.25 + 1.458 * row, "Mail" if row % 2 else "Slow") for row in rows]
    return laid(pieces, rules, blocks)


def test_rules_between_heads_set_sideways_are_rules():
    bare = lift(sheet_of(pull(trains(), "good", seed=3)))
    upright = [part.box for part in bare.lifted if part.box.height > 800]
    assert len(upright) == 6


# ---------------------------------------------------------- a form with a boxed table, twice over

ROWS = [("Sent", "Articles", "Short"), ("", "Table linen", ""), ("", "Sheets and slips", ""),
        ("", "Towels, roller", ""), ("", "Aprons", "")]  # fmt: skip
OVER, UNDER = ("The Marlstone Steam Laundry", "Weir Lane, by the bridge"), "Return the hamper."


def two_up(second_under=UNDER):
    form = []
    for under in (UNDER, second_under):
        page = np.full((720, 1150), 255, np.uint8)
        table = table_of(ROWS, (3, 9, 3))
        for at, words in enumerate(
            (block_of(*OVER, body_pt=12), table, block_of(under, body_pt=10))
        ):
            high, wide = words.shape
            y = (40, 200, 600)[at]
            page[y : y + high, 40 : 40 + wide] = words
        form.append(page)
    return np.pad(np.hstack(form), 100, constant_values=255)


@pytest.mark.parametrize("second_under", [UNDER, "Return the hammer."])
def test_a_form_with_a_boxed_table_two_up_is_read_ticket_by_ticket(tmp_path, second_under):
    cv2.imwrite(str(tmp_path / "sheet.png"), two_up(second_under))
    rows = ["\t".join(row).strip() for row in ROWS]
    (tmp_path / "copy.txt").write_text("\n".join((*OVER, *rows, UNDER)) + "\n", encoding="utf-8")
    chosen = Options(type_too=False, recast=False)
    report = check_proof(tmp_path / "sheet.png", tmp_path / "copy.txt", options=chosen)
    wrong = [("wrong-letter", "m", "p")] if second_under is not UNDER else []
    assert told(report) == wrong
    assert any("2 tickets" in warning for warning in report.warnings)


# ---------------------------------------------------------------- a grid of notices, one on black

NOTICES = [
    ("BLANKETS", "Northern make, seven pounds", "9/11", "the pair, in blue"),
    ("GLOVES", "Tan and black, of four buttons", "1/9", "not exchanged"),
    ("MANTLES", "Last season's shapes, in serge", "12/6", "to clear, forty only"),
    ("REMNANTS", "Silks and laces, upon tables", "2/4", "on all Mondays"),
]
OVER_ALL, UNDER_ALL = "The great winter sale of Arkle and Venn", "No patterns are cut."


def notices(held=NOTICES, drop=14):
    """Boxes of two rows, the right ones a little lower in type than the left, one on black."""
    page = np.full((1250, 1700), 255, np.uint8)
    for at, lines in enumerate(held):
        x, y = 100 + 750 * (at % 2), 250 + 400 * (at // 2)
        box = np.full((400, 750), 255, np.uint8)
        for step, (line, body_pt) in enumerate(zip(lines, (15, 9, 22, 8), strict=True)):
            words = block_of(line, body_pt=body_pt)
            top, left = 40 + 85 * step + drop * (at % 2), 375 - words.shape[1] // 2
            box[top : top + words.shape[0], left : left + words.shape[1]] = words
        page[y : y + 400, x : x + 750] = 255 - box if at == 3 else box
    for y, wide in ((250, 1504), (650, 750), (1050, 1504)):
        page[y : y + 4, 100 : 100 + wide] = 0
    for x in (100, 850, 1600):
        page[250:1054, x : x + 4] = 0
    for line, y in ((OVER_ALL, 120), (UNDER_ALL, 1140)):
        words = block_of(line, body_pt=11)
        page[y : y + words.shape[0], 300 : 300 + words.shape[1]] = words
    return page


@pytest.mark.parametrize("last", [NOTICES[3], (*NOTICES[3][:3], "on all Sundays")])
def test_notices_in_a_ruled_grid_are_read_box_by_box(tmp_path, last):
    cv2.imwrite(str(tmp_path / "sheet.png"), notices([*NOTICES[:3], last]))
    copy = [OVER_ALL, *(line for lines in NOTICES for line in lines), UNDER_ALL]
    (tmp_path / "copy.txt").write_text("\n".join(copy) + "\n", encoding="utf-8")
    chosen = Options(type_too=False, recast=False, dpi=300)
    report = check_proof(tmp_path / "sheet.png", tmp_path / "copy.txt", options=chosen)
    wanted = [] if last is NOTICES[3] else [("S", "M"), ("u", "o")]
    assert [(printed, meant) for _, printed, meant in told(report)] == wanted
    assert [line.box.x > 850 for line in report.lines[1:5]] == [False] * 4
