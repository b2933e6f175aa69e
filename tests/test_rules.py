"""Rules, braces and borders of ornaments among the lines: objects of their own, and no letters.

Every sheet that is right must be read as right, and each leniency has a sheet beside it on which a
fault of the same look is told. What such matter looks like is common practice; the copy is the
measure of what is read.
"""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from PIL import Image
from typesetter import (
    Head,
    Para,
    Style,
    block_of,
    brace_of,
    compose,
    garlanded,
    laid_under,
    print_proof,
    pull,
    table_of,
)

from proofcheck import Options, check_proof
from proofcheck.base.values import Copy, Scan, Sheet, Span
from proofcheck.results.report import exit_status
from proofcheck.sheet.cut_rules import find_cut_rules
from proofcheck.sheet.lifting import lift
from proofcheck.sheet.lines import find_lines
from proofcheck.sheet.pieces import find_pieces, ink_mask
from proofcheck.sheet.sift import sift

QUICK = Options(type_too=False, recast=False, second_look=False)
TITLE = "Carriers from Orrenmouth"
TEXT = (
    "The hours are those of the church clock, and are kept in all weathers but snow. Parcels are "
    "left at the sign of the plough, and paid for there."
)
ROWS = [
    ("No.", "By what way", "Out", "Home"),
    ("1", "Coach, by the ford", "6 15", "7 45"),
    ("2", "Carrier, Tuesdays", "8 5", "11 25"),
    ("3", "Mail, every day", "9 35", "4 45"),
    ("11", "Market cart, Fridays", "12 15", "5 15"),
]
WIDTHS = [4, 12, 5, 5]


def notice(family="schola"):
    blocks = [Head(TITLE, 14, 4), Para(TEXT)]
    return print_proof(
        compose(blocks, measure_picas=24, style=Style(family=family, body_pt=11))
    )  # fmt: skip


def report_on(tmp_path, image, text, wear="good", seed=1, options=QUICK):
    path = tmp_path / "proof.png"
    proof = replace(notice(), image=image)
    Image.fromarray(pull(proof, wear, seed=seed)).save(path, dpi=(300, 300))
    spans, at = [], 0
    for paragraph in text.split("\n"):
        spans.append(Span(at, at + len(paragraph)))
        at += len(paragraph) + 1
    return check_proof(path, Copy(text, "copy.txt", "", "utf-8", tuple(spans)), options=options)


def copy_with(rows):
    return "\n".join([TITLE, TEXT, *("\t".join(row) for row in rows)])


def sheet_of(image):
    height, width = image.shape
    scan = Scan("proof.png", 0, "", width, height)
    return Sheet(image, scan, 0, 300.0, "file", 0, mirrored=False, skew_deg=0.0, to_scan=np.eye(3))


# ------------------------------------------------------------------------------ tables


@pytest.mark.parametrize(
    ("family", "wear", "more"),
    [
        ("schola", "good", {}),
        ("goudy", "worn", {}),
        ("old-standard", "good", {"boxed": False, "weight_px": 2}),
        ("schola", "worn", {"level": False, "boxed": False}),
        ("goudy", "good", {"level": False, "boxed": False, "broken_px": 4}),
        ("schola", "good", {"lead_pt": 3.0}),
    ],
)
def test_a_table_with_rules_reads_as_its_copy(tmp_path, family, wear, more):
    proof = laid_under(notice(family), table_of(ROWS, WIDTHS, family=family, **more))
    report = report_on(tmp_path, proof.image, copy_with(ROWS), wear)
    assert not report.faults, [(f.kind, f.proof_text) for f in report.faults]
    assert exit_status(report) == 0, report.unread
    assert "rule" in " ".join(report.warnings) or "border" in " ".join(report.warnings)


@pytest.mark.parametrize(
    ("row", "cell", "printed"),
    [(2, 2, "8 6"), (3, 1, "Mail, evry day"), (4, 0, "12"), (1, 3, "7 54")],
)
def test_what_is_wrong_in_a_table_with_rules_is_told(tmp_path, row, cell, printed):
    rows = [list(each) for each in ROWS]
    rows[row][cell] = printed
    proof = laid_under(notice(), table_of(rows, WIDTHS))
    report = report_on(tmp_path, proof.image, copy_with(ROWS))
    assert exit_status(report) == 1
    assert len(report.faults) <= 2


def test_a_bar_in_one_line_is_told(tmp_path):
    proof = laid_under(notice(), table_of(ROWS, WIDTHS))
    plain = notice()
    line = plain.lines[2]
    space = [letter.box for letter in line.letters if letter.text == " "][3]
    x = round(space[0] + space[2] / 2)
    image = plain.image.copy()
    top, bottom = round(line.baseline_y - 32), round(line.baseline_y + 8)
    cv2.line(image, (x, top), (x, bottom), 0, 3)
    proof = laid_under(replace(plain, image=image), table_of(ROWS, WIDTHS))
    assert exit_status(report_on(tmp_path, proof.image, copy_with(ROWS))) == 1


def test_bars_that_the_copy_has_are_not_taken_away():
    image = laid_under(notice(), table_of(ROWS, WIDTHS, level=False, boxed=False)).image
    assert lift(sheet_of(image), copy_with(ROWS)).lifted
    assert not lift(sheet_of(image), "1 | Coach").lifted


@pytest.mark.parametrize("body_px", [25, 33, 42, 50])
def test_a_column_of_upright_letters_is_no_rule(body_px):
    # Capital I without serifs, set solid: 0.72 of the body high (common practice), as many one
    # under the other as you like.
    image = notice().image.copy()
    wide, tall = max(round(0.09 * body_px), 2), round(0.72 * body_px)
    for row in range(8):
        y = 420 + row * body_px
        image[y : y + tall, 160 : 160 + wide] = 0
    assert not lift(sheet_of(image)).lifted


def _two_columns(bits):
    """Lines of two columns side by side, and a hair rule between them of some bits (top, foot)."""
    image = np.full((620, 900), 255, np.uint8)
    rows = [("Barth 236.", "Gaulis 69."), ("Baud 115, 116.", "Geisser 71, 72."),
            ("Bayer 334.", "Glein 213."), ("Benteli 56, 196.", "Grob 2, 3."),
            ("Berthoud 48.", "Keller 121."), ("Bindermann 273, 74.", "Hermes 243."),
            ("Blume 176.", "Hittich 186."), ("Bocion 146, 147.", "Horner 269.")]  # fmt: skip
    for row, cells in enumerate(rows):
        for x, words in zip((60, 560), cells, strict=True):
            part = block_of(words, body_pt=10)
            y = 60 + 62 * row
            window = image[y : y + part.shape[0], x : x + part.shape[1]]
            np.minimum(window, part, out=window)
    for top, foot in bits:
        image[top:foot, 538:540] = 0
    return image


WORN = [(196, 330)]
WORN += [(y, y + 9) for y in range(50, 190, 22)] + [(y, y + 6) for y in range(344, 540, 19)]


def test_a_hair_rule_that_prints_in_bits_is_lifted_whole():
    """Of a worn column rule one length alone was found; the bits joined the columns' rows."""
    (part,) = lift(sheet_of(_two_columns(WORN))).lifted
    assert (part.look, part.box.y < 60, part.box.bottom > 530) == ("rule", True, True)
    lines = find_lines(lift(sheet_of(_two_columns(WORN))))
    assert len(lines) == 16
    assert [line.column for line in lines] == [0] * 8 + [1] * 8


def test_bits_far_from_a_rule_thicker_or_beside_its_line_are_none_of_it():
    ruled = _two_columns([(196, 330)])
    (alone,) = lift(sheet_of(ruled)).lifted
    for x, top, foot, wide in ((538, 560, 580, 2), (538, 345, 370, 7), (546, 345, 370, 2)):
        image = ruled.copy()
        image[top:foot, x : x + wide] = 0
        assert [part.box for part in lift(sheet_of(image)).lifted] == [alone.box], (x, top, wide)


def test_what_is_lifted_is_printed_as_before():
    image = pull(laid_under(notice(), table_of(ROWS, WIDTHS)), "worn", seed=4)
    sheet = lift(sheet_of(image))
    assert len(sheet.lifted) > 6
    assert np.array_equal(sheet.as_printed(), image)
    assert (sheet.image < 128).sum() < (image < 128).sum()


def test_letters_that_touch_a_rule_stay_whole():
    clear = np.full((420, 700), 255, np.uint8)
    for row in range(3):
        word = block_of("Ferry hyphenated", body_pt=14)
        y = 100 + 70 * row
        clear[y : y + word.shape[0], 150 : 150 + word.shape[1]] = word
    # Down through the thin of a letter of each line, past all three.
    ink = (word < 128).sum(axis=0)
    x = next(x for x in range(60, word.shape[1]) if ink[x - 1 : x + 2].min() >= 4
             and ink[x - 1 : x + 2].max() < 12) + 150  # fmt: skip
    ruled = clear.copy()
    cv2.line(ruled, (x, 60), (x, 360), 0, 3)
    bare = lift(sheet_of(ruled)).image
    assert (bare[60:90, x - 6 : x + 7] > 200).all()
    lost = (clear < 128) & (bare > 128)
    gained = (clear > 200) & (bare < 128)
    assert lost.sum() < 0.01 * (clear < 128).sum()
    assert gained.sum() < 0.02 * (clear < 128).sum()


# ------------------------------------------------------------------------------ braces


def tolls(brace):
    blocks = [Para(text, align="left") for text in (
        "For every horse or mule, laden", "or not, led or driven",
        "For every coach with springs,", "or other such carriage",
    )]  # fmt: skip
    proof = print_proof(compose(blocks, measure_picas=16, style=Style(body_pt=11, lead_pt=3)))
    image = cv2.copyMakeBorder(proof.image, 0, 0, 0, 500, cv2.BORDER_CONSTANT, value=255)
    right = max(round(line.box[0] + line.box[2]) for line in proof.lines) + 30
    for first, words in ((0, "one penny"), (2, "sixpence")):
        top = round(proof.lines[first].box[1])
        foot = round(proof.lines[first + 1].baseline_y)
        drawn = brace(foot - top)
        window = image[top : top + drawn.shape[0], right : right + drawn.shape[1]]
        np.minimum(window, drawn, out=window)
        word = block_of(words, body_pt=11)
        y = (top + foot) // 2 - word.shape[0] // 2
        x = right + drawn.shape[1] + 20
        image[y : y + word.shape[0], x : x + word.shape[1]] = word
    return image


@pytest.mark.parametrize("wear", ["clean", "good", "worn"])
def test_braces_round_two_lines_are_lifted(wear):
    image = tolls(brace_of)
    pulled = pull(replace(notice(), image=image), wear, seed=2)
    assert [part.look for part in lift(sheet_of(pulled)).lifted] == ["rule", "rule"]
    assert not lift(sheet_of(pulled), "one penny }").lifted


def in_parts(height_px, cuts=(0.16, 0.36, 0.62, 0.85)):
    """A brace of several sorts, or one whose hairlines did not print: white across it."""
    image = brace_of(height_px)
    for cut in cuts:
        at = round(cut * image.shape[0])
        image[at : at + 4] = 255
    return image


@pytest.mark.parametrize("wear", ["clean", "good"])
def test_braces_that_print_in_parts_are_lifted_whole(wear):
    """Read line by line the parts passed for brackets, one too many on every line."""
    image = tolls(in_parts)
    pulled = pull(replace(notice(), image=image), wear, seed=2)
    lifted = lift(sheet_of(pulled)).lifted
    assert [part.look for part in lifted] == ["rule", "rule"]
    # Nothing of them is left among the lines.
    foot_to_foot = [part.box.height for part in lifted]
    whole = [part.box.height for part in lift(sheet_of(tolls(brace_of))).lifted]
    assert foot_to_foot == pytest.approx(whole, abs=3)


def test_brackets_one_under_another_are_no_brace():
    for words in ("(a) one penny", "one penny (a)", "( one penny )"):
        image = np.full((420, 900), 255, np.uint8)
        part = block_of(words, body_pt=11)
        for row in range(6):
            y = 40 + 46 * row
            window = image[y : y + part.shape[0], 60 : 60 + part.shape[1]]
            np.minimum(window, part, out=window)
        assert not lift(sheet_of(image)).lifted, words


def test_a_brace_of_one_line_and_tall_letters_are_not_lifted():
    for words in ("{ one penny }", "S J ( 3 ) f 8 2 {", "[ III ] l 1 7"):
        image = np.full((500, 900), 255, np.uint8)
        for row, size in enumerate((11, 11, 30)):
            part = block_of(words, body_pt=size)
            y = 60 + 110 * row
            image[y : y + part.shape[0], 60 : 60 + part.shape[1]] = part
        assert not lift(sheet_of(image)).lifted, words


# ------------------------------------------------------------------------------ ornaments


@pytest.mark.parametrize(
    ("kind", "corner", "wear", "gap_px"),
    [
        ("star", None, "good", 8),
        ("leaf", None, "worn", 10),
        ("lozenge", "star", "good", 4),
        ("curl", "lozenge", "worn", 8),
    ],
)
def test_a_border_of_ornaments_is_no_matter(tmp_path, kind, corner, wear, gap_px):
    proof = garlanded(notice("goudy"), kind, corner=corner, gap_px=gap_px)
    report = report_on(tmp_path, proof.image, f"{TITLE}\n{TEXT}", wear)
    assert not report.faults, [(f.kind, f.proof_text) for f in report.faults]
    assert exit_status(report) == 0, report.unread
    assert "border" in " ".join(report.warnings)


@pytest.mark.parametrize(
    ("words", "kind"), [("GRATIS", "star"), ("No. 9", "leaf"), ("aaaa", "star"), ("Soho", "curl")]
)
def test_lettering_set_into_a_border_is_told(tmp_path, words, kind):
    proof = garlanded(notice(), kind)
    word = block_of(words, body_pt=10)
    image = proof.image.copy()
    top = int(np.flatnonzero((image < 128).any(1))[0])
    x = image.shape[1] // 2 - word.shape[1] // 2
    image[top : top + 42, x - 10 : x + word.shape[1] + 10] = 255
    y = top + 20 - word.shape[0] // 2
    image[y : y + word.shape[0], x : x + word.shape[1]] = word
    assert exit_status(report_on(tmp_path, image, f"{TITLE}\n{TEXT}")) != 0


def test_lettering_at_the_corners_of_a_border_is_left(tmp_path):
    proof = garlanded(notice(), "star", size_px=44)
    image = proof.image.copy()
    rows, columns = (np.flatnonzero((image < 128).any(axis)) for axis in (1, 0))
    figure = block_of("6", body_pt=13)
    for y in (rows[0], rows[-1] - 44):
        for x in (columns[0], columns[-1] - 44):
            image[y - 1 : y + 46, x - 1 : x + 46] = 255
            image[y : y + figure.shape[0], x + 8 : x + 8 + figure.shape[1]] = figure
    bare = lift(sheet_of(image)).image
    for y in (rows[0], rows[-1] - 44):
        for x in (columns[0], columns[-1] - 44):
            assert (bare[y : y + 44, x : x + 44] < 128).sum() > 0.9 * (figure < 128).sum()


def test_what_is_wrong_within_a_border_is_told(tmp_path):
    proof = garlanded(notice(), "leaf")
    report = report_on(tmp_path, proof.image, f"{TITLE}\n{TEXT}".replace("plough", "plow"))
    assert exit_status(report) == 1


@pytest.mark.parametrize(
    "row", ["oooooooooooooooo", "mmmmmmmmmmmm", "................", "x x x x x x x"]
)
def test_a_row_of_one_letter_is_no_border(row):
    image = notice().image
    drawn = block_of(row, body_pt=14)
    image[60 : 60 + drawn.shape[0], 150 : 150 + drawn.shape[1]] = drawn
    image[-100 : -100 + drawn.shape[0], 150 : 150 + drawn.shape[1]] = drawn
    assert not lift(sheet_of(image)).lifted


def test_a_ring_of_lettering_is_no_border():
    # A legend that runs round all four sides, as on a seal or a label.
    legend = block_of("by order of the wardens of the bridge and the ferry at orren", body_pt=12)
    high, wide = legend.shape
    image = np.full((wide + 200, wide + 200), 255, np.uint8)
    for turn, (x, y) in enumerate(
        ((100, 100), (100 - high, 100), (100, 100 + wide), (100 + wide, 100))
    ):
        part = np.rot90(legend, turn)
        image[y : y + part.shape[0], x : x + part.shape[1]] = part
    text = block_of("Toll paid", body_pt=30)
    image[400 : 400 + text.shape[0], 400 : 400 + text.shape[1]] = text
    assert not lift(sheet_of(image)).lifted


def test_a_drawing_with_straight_sides_is_left_whole():
    # The corner of a frame with holes on a centre line: were its sides taken for rules, the holes
    # would be left and read as letters.
    image = notice().image
    image = np.vstack([image, np.full((700, image.shape[1]), 255, np.uint8)])
    for points in (
        [(300, 1000), (300, 520), (1000, 520)],
        [(460, 1000), (460, 680), (1000, 680)],
        [(380, 480), (380, 1030)],
    ):
        cv2.polylines(image, [np.array(points)], False, 0, 3)
    y = np.arange(520, 681)
    torn = np.stack([1000 + 12 * np.sin((y - 520) / 25), y], axis=1)
    cv2.polylines(image, [torn.astype(np.int32)], False, 0, 3)
    for y in range(600, 1000, 70):
        cv2.circle(image, (380, y), 14, 0, 3)
    word = block_of("of the frame", body_pt=11)
    for y in (760, 820, 880):
        image[y : y + word.shape[0], 1080 : 1080 + word.shape[1]] = word
    assert not lift(sheet_of(image)).lifted


@pytest.mark.parametrize("into", ["band", "frame", "rules"])
def test_a_number_that_belongs_to_a_frame_is_no_folio(tmp_path, into):
    """Common practice: a folio is the page's; a ticket's number stands within its border."""
    proof = garlanded(notice(), "star", inset_px=140) if into != "rules" else notice()
    image = proof.image.copy()
    number = block_of("17", body_pt=10)
    rows, _columns = (np.flatnonzero((image < 128).any(axis)) for axis in (1, 0))
    x, y = image.shape[1] // 2 - number.shape[1] // 2, int(rows[0]) + (0 if into == "band" else 75)
    if into == "rules":
        image = cv2.copyMakeBorder(image, 150, 150, 80, 80, cv2.BORDER_CONSTANT, value=255)
        cv2.rectangle(image, (60, 60), (image.shape[1] - 60, image.shape[0] - 60), 0, 4)
        x, y = image.shape[1] // 2 - number.shape[1] // 2, 120
    image[y : y + 42, x - 10 : x + number.shape[1] + 10] = 255
    image[y : y + number.shape[0], x : x + number.shape[1]] = number
    report = report_on(tmp_path, image, f"{TITLE}\n{TEXT}")
    assert "folio" not in report.collation.waived
    assert exit_status(report) != 0
    assert "17" in " ".join(f.proof_text for f in report.faults) or report.unread


@pytest.mark.parametrize(
    ("family", "sign"), [("schola", "1"), ("schola", "I"), ("goudy", "l"), ("old-standard", "!")]
)
def test_a_column_of_narrow_letters_is_no_dashed_rule_and_a_dashed_rule_is(family, sign):
    """Beside each other, as in a table whose first column is of one figure."""
    column = block_of(*[sign] * 14, body_pt=11, family=family)
    matter = block_of(*["Coach, by the ford"] * 14, body_pt=11, family=family)
    page = np.full((len(matter) + 160, matter.shape[1] + 700), 255, np.uint8)
    page[80 : 80 + len(column), 150 : 150 + column.shape[1]] = column
    page[80 : 80 + len(matter), 400 : 400 + matter.shape[1]] = matter
    for dashes in (False, True):
        if dashes:
            for y in range(80, len(page) - 80, 30):
                page[y : y + 18, 300:308] = 0
        pieces, labels = find_pieces(ink_mask(page))
        sifted = sift(pieces, labels, 300.0)
        found = find_cut_rules(pieces, sifted.letter, sifted.size_px)
        assert [float(pieces.x[rule].min()) for rule in found] == [300.0] * dashes


def test_a_dashed_rule_worn_out_of_shape_is_one_all_the_same():
    """Some dashes are half gone, some have run out at the side: they are no letters beside it."""
    matter = block_of(*["Coach, by the ford"] * 14, body_pt=11)
    page = np.full((len(matter) + 160, matter.shape[1] + 500), 255, np.uint8)
    page[80 : 80 + len(matter), 400 : 400 + matter.shape[1]] = matter
    for at, y in enumerate(range(80, len(page) - 80, 20)):
        page[y : y + 13, 200:206] = 0
        if at % 5 == 0:
            page[y + 3 : y + 10, 203:206] = 255
        elif at % 7 == 0:
            page[y + 4 : y + 13, 200:206] = 255
            page[y + 2 : y + 6, 198:208] = 0
    pieces, labels = find_pieces(ink_mask(page))
    sifted = sift(pieces, labels, 300.0)
    (rule,) = find_cut_rules(pieces, sifted.letter, sifted.size_px)
    assert len(rule) == len(range(80, len(page) - 80, 20))


@pytest.mark.parametrize("gap_px", [2, 3, 4])
def test_a_double_rule_is_one_however_near_its_two_stand(gap_px):
    rows = block_of(*["Coach by the ford"] * 8, body_pt=11)
    page = np.full((len(rows) + 160, 2 * rows.shape[1] + 300), 255, np.uint8)
    middle = page.shape[1] // 2
    for x in (60, middle + 50):
        page[80 : 80 + len(rows), x : x + rows.shape[1]] = rows
    for x in (middle - 5 - gap_px, middle):
        page[60:-60, x : x + 5] = 0
    lines = find_lines(sheet_of(page))
    assert len(lines) == 16
    assert all(line.box.right < middle or line.box.x > middle for line in lines)
    lifted = lift(sheet_of(page))
    assert lifted.lifted
    assert (lifted.image[100:-100, middle - 8 : middle + 8] > 200).all()
