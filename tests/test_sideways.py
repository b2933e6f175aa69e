"""Type set sideways beside upright type: read as any other, or told as not read."""

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
    compose,
    laid_beside,
    photograph,
    print_proof,
    pull,
    pull_mapped,
)
from typesetter.ganged import ganged, ticket_of, with_stub

from proofcheck import Options, check_proof
from proofcheck.base.found import Verdict
from proofcheck.base.values import Box, Copy, Inset, Lifted, Line, Reading, Scan, Sheet, Span
from proofcheck.base.values import Letter as Read
from proofcheck.collate.same import Rules
from proofcheck.collate.setting import Setting
from proofcheck.collate.sideways_lines import with_sideways_placed
from proofcheck.marks.paths import extent
from proofcheck.results.exchange.outlines import baseline_outline, box_outline
from proofcheck.results.marked.labels import inset_labels, number_labels
from proofcheck.results.proof_record import report_from_text
from proofcheck.results.report import exit_status, scan_box
from proofcheck.results.report_json import report_text
from proofcheck.results.sheets_again import with_pictures
from proofcheck.sheet.insets import as_pulled, where_printed, with_insets
from proofcheck.sheet.lifting import lift
from proofcheck.sheet.pieces import Pieces
from proofcheck.sheet.rows import links

QUICK = Options(type_too=False, recast=False, second_look=False)
TITLE = "The Orrenmouth Regatta"
TEXT = (
    "The bearer may stand upon the upper quay from noon until the last boat is home, and may take "
    "a chair from the heap if any are left. No dogs but those in baskets."
)
UP, DOWN = 1, 3
"""Quarters to the left that a block is turned: it reads upwards, or downwards."""


def sheet_of(image):
    height, width = image.shape
    scan = Scan("proof.png", 0, "", width, height)
    return Sheet(image, scan, 0, 300.0, "file", 0, mirrored=False, skew_deg=0.0, to_scan=np.eye(3))


def ticket(family="schola", *, text=TEXT):
    blocks = [Head(TITLE, 16, 4), Para(text)]
    return print_proof(compose(blocks, measure_picas=20, style=Style(family=family, body_pt=11)))


def sideways(*lines, body_pt=14, family="schola", turn=UP):
    return np.ascontiguousarray(np.rot90(block_of(*lines, body_pt=body_pt, family=family), turn))


def read(folder, image, *copy, options=QUICK):
    """A picture read against lines of copy."""
    path, held = folder / "proof.png", folder / "copy.txt"
    Image.fromarray(image).save(path, dpi=(300, 300))
    held.write_text("\n".join(copy) + "\n", encoding="utf-8")
    return check_proof(path, held, options=options)


def told(report):
    return [(fault.kind.value, fault.copy_text, fault.proof_text) for fault in report.faults]


# --- read ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("family", "words", "body_pt", "turn", "wear"),
    [
        ("schola", "ADMIT TWO", 16, UP, "good"),
        ("goudy", "ADMIT TWO", 12, DOWN, "worn"),
        ("old-standard", "Counterfoil", 14, UP, "good"),
        ("schola", "No. 1234", 14, DOWN, "clean"),
    ],
)
@pytest.mark.parametrize("first", [True, False], ids=["copied first", "copied last"])
def test_a_sound_sheet_with_type_set_sideways_is_clean(
    tmp_path, family, words, body_pt, turn, wear, first
):
    block = sideways(words, body_pt=body_pt, family=family, turn=turn)
    image = pull(laid_beside(ticket(family), block, "right"), wear, seed=1)
    copy = (words, TITLE, TEXT) if first else (TITLE, TEXT, words)
    report = read(tmp_path, image, *copy)
    assert (told(report), report.unread) == ([], ())
    assert report.verdict is Verdict.CLEAN
    assert exit_status(report) == 0


def letterspaced(block, more_px):
    """Lines of letters that do not touch, with more white between them."""
    bare = (block > 128).all(axis=0)
    starts = np.flatnonzero(bare[1:] & ~bare[:-1]) + 1
    return np.insert(block, np.repeat(starts, more_px), 255, axis=1)


@pytest.mark.parametrize("printed", ["COUNTERFOIL", "COUNTERSOIL"])
def test_letterspaced_capitals_set_sideways_are_read(tmp_path, printed):
    spaced = letterspaced(block_of(printed, body_pt=14), 6)
    image = laid_beside(ticket(), np.ascontiguousarray(np.rot90(spaced, UP)), "left")
    report = read(tmp_path, pull(image, "good", seed=1), "COUNTERFOIL", TITLE, TEXT)
    wrong = [("wrong-letter", "F", "S")] if printed == "COUNTERSOIL" else []
    assert told(report) == wrong


@pytest.mark.parametrize(
    ("printed", "body_pt", "more_px", "wrong"),
    [
        ("Keep this card clean", 12, 6, []),
        ("Keep this cord clean", 12, 6, [("wrong-letter", "a", "o")]),
        ("KEEP FROM SUN AND STEAM", 9, 8, []),
        ("KEEP FROM SUN ANO STEAM", 9, 8, [("wrong-letter", "D", "O")]),
    ],
)
def test_letterspaced_words_set_sideways_are_read(tmp_path, printed, body_pt, more_px, wrong):
    spaced = letterspaced(block_of(printed, body_pt=body_pt), more_px)
    image = laid_beside(ticket(), np.ascontiguousarray(np.rot90(spaced, UP)), "left")
    wanted = printed.replace("cord", "card").replace("ANO", "AND")
    report = read(tmp_path, pull(image, "good", seed=1), wanted, TITLE, TEXT)
    assert told(report) == wrong
    assert not report.unread


@pytest.mark.parametrize("wrong", [False, True])
def test_a_counterfoil_with_as_much_as_its_ticket_is_read(tmp_path, wrong):
    lines = ["Sold to the bearer, of the parish", "of Orrenmouth, on the quay, for",
             "the sum of two shillings, and", "paid for in good silver coin"]  # fmt: skip
    set_so = [*lines[:2], lines[2].replace("two", "ten"), lines[3]] if wrong else lines
    image = laid_beside(ticket(), sideways(*set_so, body_pt=10), "left")
    report = read(tmp_path, pull(image, "good", seed=1), " ".join(lines), TITLE, TEXT)
    assert "".join(wanted for _, wanted, _ in told(report)) == "wo" * wrong


@pytest.mark.parametrize("turn", [UP, DOWN], ids=["upwards", "downwards"])
@pytest.mark.parametrize(
    ("printed", "wanted", "either"),
    [
        ("SIOH", "HOIS", True),
        ("HOIS", "HOIS", True),
        # A point, or a figure that stands on serifs, shows which way it is.
        ("No. 8668", "No. 8998", False),
        ("1661", "1991", False),
    ],
)
def test_what_reads_otherwise_upside_down_is_not_read_as_the_copy_has_it(
    tmp_path, printed, wanted, either, turn
):
    image = pull(laid_beside(ticket(), sideways(printed, turn=turn), "right"), "clean", seed=1)
    report = read(tmp_path, image, TITLE, TEXT, wanted)
    assert report.verdict is (Verdict.NOT_WHOLLY_READ if either else Verdict.FAULTS)
    assert bool(report.unread) is either


@pytest.mark.parametrize("turn", [UP, DOWN], ids=["upwards", "downwards"])
@pytest.mark.parametrize(
    ("printed", "wanted", "at"),
    [("ADMIT TWQ", ("O", "Q"), 0.94), ("ACMIT TWO", ("D", "C"), 0.18), ("ADMIT TW", ("O", ""), 1)],
)
def test_a_fault_is_told_where_it_stands_on_the_scan(tmp_path, turn, printed, wanted, at):
    block = sideways(printed, turn=turn)
    bare = ticket()
    proof = laid_beside(bare, block, "right")
    image, to_own = pull_mapped(proof, "good", seed=2)
    report = read(tmp_path, image, TITLE, TEXT, "ADMIT TWO")
    (fault,) = report.faults
    assert (fault.copy_text.strip(), fault.proof_text.strip()) == wanted
    # Where the letter was laid down: so far along the block, from its foot or from its head.
    columns = np.flatnonzero((bare.image < 128).any(0))
    rows = np.flatnonzero((bare.image < 128).any(1))
    x = columns[-1] + 60 + block.shape[1] / 2
    y = rows[0] + 60 + (1 - at if turn == UP else at) * len(block)
    u, v, w = to_own @ (x, y, 1)
    box = scan_box(report.sheets[0], fault.box)
    assert abs(box.x + box.width / 2 - u / w) < 0.4 * block.shape[1]
    assert abs(box.y + box.height / 2 - v / w) < 0.06 * len(block)


def test_a_fault_of_the_type_itself_is_told_too(tmp_path):
    block = block_of("COUNTERFOIL NOT TO BE GIVEN", body_pt=12)
    # A letter N cut through: the others of the line stand beside it.
    cut = block.copy()
    whole = [column for column in range(cut.shape[1]) if (cut[:, column] < 128).any()]
    cut[10:24, whole[-36] : whole[-1] + 1] = 255
    proof = laid_beside(ticket(), np.ascontiguousarray(np.rot90(cut, UP)), "left")
    options = replace(QUICK, type_too=True)
    report = read(
        tmp_path, pull(proof, "good", seed=3), TITLE, TEXT, "COUNTERFOIL NOT TO BE GIVEN",
        options=options,
    )  # fmt: skip
    assert report.faults
    home = report.sheets[0].insets[0].home
    for fault in report.faults:
        box = scan_box(report.sheets[0], fault.box)
        assert home.x - 9 <= box.x
        assert box.right <= home.right + 9


@pytest.mark.parametrize("words", ["ADMIT TWO", "4318"])
def test_what_is_not_in_the_copy_is_told_as_any_other(tmp_path, words):
    proof = laid_beside(ticket(), sideways(words), "right")
    report = read(tmp_path, pull(proof, "good", seed=1), TITLE, TEXT)
    assert told(report) == [("line-foreign", "", words)]


def test_both_ends_of_a_ticket_and_two_lines_in_a_block(tmp_path):
    proof = laid_beside(ticket(), sideways("MEMBERS OF THE", "FLORAL SOCIETY"), "left")
    proof = laid_beside(proof, sideways("Row F, Seat 21", turn=DOWN), "right")
    copy = "MEMBERS OF THE FLORAL SOCIETY", TITLE, TEXT, "Row F, Seat 27"
    report = read(tmp_path, pull(proof, "good", seed=4), *copy)
    assert told(report) == [("wrong-letter", "7", "1")]
    assert {inset.turned_deg for inset in report.sheets[0].insets} == {90, 270}
    assert not report.unread


@pytest.mark.parametrize("frame_px", [0, 4], ids=["parted by white", "framed"])
@pytest.mark.parametrize("every", [False, True], ids=["one copied", "all copied"])
def test_each_of_several_tickets_has_its_own(tmp_path, frame_px, every):
    style = Style(family="schola", body_pt=11)
    matter = "Upper Quay, at Noon", "Take a chair from the heap."
    blocks = [Head(TITLE, 16, 4), *(Head(line, 11, 2) for line in matter)]
    body = ticket_of(blocks, measure_picas=20, height_px=240, style=style)

    def one(words):
        stub = sideways(words, body_pt=11)
        room = 240 - len(stub)
        return with_stub(
            np.pad(stub, ((room // 2, room - room // 2), (20, 20)), constant_values=255), body
        )

    sheet = ganged([one(f"No. 120{n}") for n in (1, 2, 8)], 1, gap_px=90, frame_px=frame_px)
    copied = [(f"No. 120{n}", TITLE, *matter) for n in ((1, 2, 3) if every else (1,))]
    report = read(
        tmp_path, pull(sheet, "good", seed=1), *(line for each in copied for line in each)
    )
    (fault,) = report.faults
    assert fault.proof_text == "8"
    numbers = [line for line in report.lines if line.home]
    assert [line.ticket for line in numbers] == [1, 2, 3]
    assert numbers[-1].number == fault.line


@pytest.mark.parametrize("lying", ["photographed", "on its head", "on its side", "mirrored"])
def test_it_is_read_however_the_sheet_lies(tmp_path, lying):
    proof = laid_beside(ticket(), sideways("ADMIT TWO", turn=DOWN, body_pt=16), "left")
    image = pull(proof, "good", seed=1)
    if lying == "photographed":
        image = cv2.cvtColor(photograph(image, seed=1).image, cv2.COLOR_BGR2GRAY)
    else:
        turns = {"on its head": 2, "on its side": 1}
        image = np.rot90(image, turns[lying]) if lying in turns else image[:, ::-1]
    report = read(tmp_path, np.ascontiguousarray(image), "ADMIT TWO", TITLE, TEXT)
    assert (told(report), report.unread) == ([], ())


# --- not read ------------------------------------------------------------------------------------


def battered(words):
    """Letters whose feet are their heads over again: no reader can tell them."""
    block = block_of(words, body_pt=12)
    head = block[: len(block) // 2]
    return np.ascontiguousarray(np.rot90(np.vstack([head, head[::-1]])))


@pytest.mark.parametrize(
    ("lacking", "options", "named"),
    [
        ("GRATIS PASS", QUICK, False),
        ("GRATIS PASS OF THE HARBOUR BOARD AND ITS GUESTS", QUICK, True),
        ("GRATIS PASS", replace(QUICK, unfit=True), True),
    ],
    ids=["as long as it", "longer", "judged all the same"],
)
def test_what_cannot_be_read_is_told_and_what_of_the_copy_it_may_be(
    tmp_path, lacking, options, named
):
    # One cause is told once; and a sheet with a part not read is never clean.
    proof = laid_beside(ticket(), battered("GRATIS PASS"), "right")
    report = read(tmp_path, pull(proof, "good", seed=1), TITLE, TEXT, lacking, options=options)
    assert not report.sheets[0].insets
    assert [place.words.split(",")[0] for place in report.unread] == ["type set sideways"]
    assert [fault.copy_text.strip() for fault in report.faults] == [lacking] * named
    assert [f"“{lacking}”" in place.words for place in report.unread] == [not named]
    assert [each.copy_text.strip() for each in report.let_go] == [lacking] * (not named)
    assert report.verdict is not Verdict.CLEAN
    assert exit_status(report) != 0


# --- its place -----------------------------------------------------------------------------------


def with_block(turned_deg):
    """A sheet of paper with a block of many greys on it, sideways, and its inset."""
    box = Box(500, 40, 30, 120)
    image = np.full((300, 600), 250, np.uint8)
    image[box.y : box.bottom, box.x : box.right] = np.arange(3600).reshape(120, 30) % 97
    part = Lifted(box, image[box.y : box.bottom, box.x : box.right].copy(), "sideways")
    bare = np.full_like(image, 250)
    sheet = replace(sheet_of(bare), lifted=(part,))
    return image, with_insets(sheet, [(box, turned_deg)])


@pytest.mark.parametrize("turned_deg", [90, 270])
def test_every_place_of_an_inset_leads_to_where_it_is_printed(turned_deg):
    image, sheet = with_block(turned_deg)
    assert np.array_equal(as_pulled(sheet), image)
    (inset,) = sheet.insets
    for x, y in ((0, 0), (119, 0), (0, 29), (70, 11)):
        there = Box(inset.box.x + x, inset.box.y + y, 1, 1)
        home = scan_box(sheet, there)
        assert home == where_printed(sheet, there)
        assert home[2:] == (1, 1)
        assert image[home.y, home.x] == sheet.image[there.y, there.x]
    assert scan_box(sheet, inset.box) == inset.home
    assert scan_box(sheet, Box(10, 20, 30, 40)) == where_printed(sheet, Box(10, 20, 30, 40))


@pytest.mark.parametrize(("turned_deg", "ends"), [(90, ((525, 160), (525, 40))),
                                                  (270, ((505, 40), (505, 160)))])  # fmt: skip
def test_other_programs_are_told_an_upright_baseline(turned_deg, ends):
    # PAGE XML and ALTO have baselines run in the direction of reading.
    _, sheet = with_block(turned_deg)
    (inset,) = sheet.insets
    foot = inset.box.y + 25.0
    line = Line(1, 0, 1, inset.box, (foot, foot), 20.0, 10.0, home=inset.home)
    assert baseline_outline(sheet, line) == ends
    assert set(box_outline(sheet, inset.box)) == {(500, 40), (530, 40), (530, 160), (500, 160)}


def test_the_marked_proof_says_what_an_inset_is_and_numbers_its_lines_with_the_others():
    _, sheet = with_block(90)
    (label,) = inset_labels(sheet, [], 8.0)
    held = extent(label.drawing)
    assert 300 < held.low < held.high < sheet.insets[0].box.y
    lines = [line for line, _ in laid_out()]
    assert [side for side, *_ in number_labels(lines, 1, 8.0).marks] == ["left"] * 4


def test_a_sheet_is_drawn_again_with_its_insets(tmp_path):
    proof = laid_beside(ticket(), sideways("ADMIT TWO"), "right")
    report = read(tmp_path, pull(proof, "good", seed=1), TITLE, TEXT, "ADMIT TWO")
    again = with_pictures(report_from_text(report_text(report)), [tmp_path / "proof.png"])
    (was,), (now,) = report.sheets, again.sheets
    assert np.array_equal(was.image, now.image)
    assert was.insets == now.insets
    assert isinstance(now.insets[0], Inset)


# --- its place in the copy -----------------------------------------------------------------------

LINES = ("Season Ticket", "This ticket is forfeited if lent", "Good for one")


def laid_out():
    """Lines one under another, and under them one that is printed sideways."""
    proof = []
    for number, words in enumerate((*LINES, "ADMIT ONE"), 1):
        box = Box(50, 50 * number, 300, 30)
        home = Box(500, 20, 30, 300) if words == "ADMIT ONE" else None
        line = Line(number, 0, int(home is not None), box, (box.y, box.y), 20.0, 10.0, home=home)
        letters = tuple(Read(char, box, 1.0) for char in words)
        proof.append((line, Reading(number, letters)))
    return proof


def test_nothing_set_sideways_is_a_folio_at_the_foot():
    lines, readings = zip(*laid_out(), strict=True)
    setting = Setting(readings, {line.number: line for line in lines})
    assert [setting.at_foot(at) for at in range(4)] == [False, False, True, False]


@pytest.mark.parametrize("place", [0, 1, 2, 3])
def test_it_is_laid_where_the_copy_has_it(place):
    copied = [*LINES[:place], "ADMIT ONE", *LINES[place:]]
    text = "\n".join(copied)
    starts = [text.index(line) for line in copied]
    spans = tuple(Span(at, at + len(line)) for at, line in zip(starts, copied, strict=True))
    found = with_sideways_placed(Copy(text, "-", "", "utf-8", spans), laid_out(), range(4), Rules())
    assert found == [*range(place), 3, *range(place, 3)]


HEADS = ("Full Marks", "Marks gained", "Place in Form")


@pytest.mark.parametrize("apart_px", [60, 900], ids=["heads of columns", "ends of a ticket"])
@pytest.mark.parametrize("copied", [(0, 1, 2), (1, 0, 2), (0, 2, 1)])
def test_heads_of_columns_keep_their_order_from_left_to_right(copied, apart_px):
    """Two exchanged in the copy are read as they stand, and so told; far apart they are no row."""
    proof = laid_out()[:3]
    for at, words in enumerate(HEADS):
        home = Box(500 + (30 + apart_px) * at, 20, 30, 300)
        held = Line(4 + at, 0, 1 + at, Box(50, 300 + 50 * at, 300, 30), (320, 320), 20.0, 10.0)
        letters = tuple(Read(char, held.box, 1.0) for char in words)
        proof.append((replace(held, home=home), Reading(4 + at, letters)))
    text = "\n".join((*(HEADS[k] for k in copied), *LINES))
    copy = Copy(text, "-", "", "utf-8", (Span(0, len(text)),))
    found = with_sideways_placed(copy, proof, range(6), Rules())
    heads = (3, 4, 5) if apart_px < 900 else tuple(3 + k for k in copied)
    assert found == [*heads, 0, 1, 2]


def put(page, block, x, y):
    place = page[y : y + block.shape[0], x : x + block.shape[1]]
    np.minimum(place, block[: len(place)], out=place)


def headed(upright, heads):
    """A table whose columns have heads set sideways, close under a rule and an upright head."""
    page = np.full((760, 1250), 255, np.uint8)
    for x in (100, 400, 500, 600, 1150):
        page[60 if x != 500 else 130 : 700, x - 2 : x + 2] = 0
    for y in (60, 130, 430, 700):
        page[y - 2 : y + 2, 98:1152] = 0
    put(page, block_of(upright, body_pt=10), 402, 74)
    for at, head in enumerate(heads):
        put(page, sideways(head, body_pt=10), 408 + 100 * at, 138)
    for at, row in enumerate(ROWS):
        put(page, block_of(row, body_pt=10), 620, 460 + 90 * at)
    return page


ROWS = ("Narrow, in boxes of ten", "Broad, in sacks of six")
TWO_HEADS = ("Ground floor", "Upper floors")


@pytest.mark.parametrize("upright", ["Warehouse", "Warehonse"])
def test_a_head_set_sideways_ends_at_the_rule_over_it(tmp_path, upright):
    """The letters of the upright head over the rule would be of its line else."""
    image = pull(replace(ticket(), image=headed(upright, TWO_HEADS)), "good", seed=1)
    report = read(tmp_path, image, "Warehouse", *TWO_HEADS, *ROWS)
    assert told(report) == ([] if upright == "Warehouse" else [("wrong-letter", "u", "n")])
    assert not report.unread


@pytest.mark.parametrize("higher_px", [0, 90])
def test_heads_of_two_tiers_are_laid_as_the_copy_has_them(higher_px):
    """A column that is not parted has its head in the middle of a higher room."""
    proof = laid_out()[:3]
    for at, words in enumerate(HEADS):
        home = Box(500 + 90 * at, 200 - higher_px * (at == 2), 30, 160 + 25 * at)
        held = Line(4 + at, 0, 1 + at, Box(50, 300 + 50 * at, 300, 30), (320, 320), 20.0, 10.0)
        letters = tuple(Read(char, held.box, 1.0) for char in words)
        proof.append((replace(held, home=home), Reading(4 + at, letters)))
    text = "\n".join((HEADS[2], *HEADS[:2], *LINES))
    copy = Copy(text, "-", "", "utf-8", (Span(0, len(text)),))
    found = with_sideways_placed(copy, proof, range(6), Rules())
    assert found == [*((5, 3, 4) if higher_px else (3, 4, 5)), 0, 1, 2]


@pytest.mark.parametrize("second", ["only", "ouly"])
@pytest.mark.parametrize(("family", "body_pt"), [("schola", 9), ("goudy", 11), ("goudy", 14)])
def test_a_short_last_word_of_a_block_is_of_it(tmp_path, family, body_pt, second):
    """Its l lies flat as a rule, and the letters left are too few to be a line by themselves.

    Nor do so few tell small letters from capitals: they are read at the size of the line beside.
    """
    block = sideways("Saturdays", second, body_pt=body_pt, family=family)
    image = laid_beside(ticket(), block, "right")
    report = read(tmp_path, pull(image, "good", seed=1), TITLE, TEXT, "Saturdays only")
    assert told(report) == ([] if second == "only" else [("wrong-letter", "n", "u")])
    assert not report.unread


def test_numbers_one_under_another_beside_it_are_no_word_of_it(tmp_path):
    """Of the stages on a ticket, whose line is set up its edge."""
    page = np.full((560, 900), 255, np.uint8)
    put(page, sideways("Tramways", body_pt=14), 120, 180)
    right = int(np.flatnonzero((page < 128).any(axis=0))[-1])
    stages = ("Fish Dock", "Custom House", "Tide Street", "Corn Market")
    for at, stage in enumerate(stages):
        put(page, block_of(str(at + 3), body_pt=10), right + 30, 150 + 75 * at)
        put(page, block_of(stage, body_pt=10), right + 110, 150 + 75 * at)
    image = pull(replace(ticket(), image=page), "good", seed=1)
    rows = [f"{at + 3} {stage}" for at, stage in enumerate(stages)]
    report = read(tmp_path, image, "Tramways", *rows)
    assert told(report) == []


TRAINS = (("Carden Junction", "1 20", "6 35"), ("Moat Lane Halt", "1 28", "6 43"))
NOTES = ("Saturdays only", "Not on Thursdays")


def timetable(notes=NOTES):
    """Two tables of two rows, each with a note set sideways between its last two columns."""
    proof = []
    for table, note in enumerate(notes):
        for row, cells in enumerate(TRAINS):
            number, y = 1 + len(proof), 100 + 400 * table + 60 * row
            letters = tuple(
                Read(char, Box(x + 14 * k, y, 12, 20), 1.0)
                for x, cell in zip((50, 600, 900), cells, strict=True)
                for k, char in enumerate(cell)
            )
            box = Box.around(letter.box for letter in letters)
            line = Line(number, 0, 0, box, (box.bottom,) * 2, 14.0, 10.0)
            proof.append((line, Reading(number, letters)))
        home = Box(780, 95 + 400 * table, 30, 200)
        held = Line(
            1 + len(proof), 0, 1, Box(50, 1000 + 50 * table, 200, 30), (1030,) * 2, 20.0, 10.0
        )
        letters = tuple(Read(char, held.box, 1.0) for char in note)
        proof.append((replace(held, home=home), Reading(held.number, letters)))
    return proof


def test_a_note_in_a_cell_is_read_amid_the_row_that_the_copy_has_it_in():
    rows = [" ".join(cells) for cells in TRAINS]
    first, last = " ".join(TRAINS[0][:2]), TRAINS[0][2]
    text = "\n".join(row for note in NOTES for row in (f"{first}\t{note}\t{last}", rows[1]))
    copy = Copy(text, "-", "", "utf-8", (Span(0, len(text)),))
    for notes in (NOTES, NOTES[::-1]):
        proof = timetable(notes)
        found = with_sideways_placed(copy, proof, range(6), Rules())
        read = [proof[at][1].text for at in found]
        whole = ["".join(cells) for cells in TRAINS]
        cut = "".join(TRAINS[0][:2])
        if notes == NOTES:
            assert read == [part for note in NOTES for part in (cut, note, last, whole[1])]
        else:
            # Two exchanged are read where they stand, and so told.
            assert read == [part for note in notes for part in (whole[0], note, whole[1])]


# --- upright -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "words",
    ["1|2|3|4|5|6|7|8", "M|E|N|U|S", "I|I|I|I|I|I", "a|b|c|d|e|f", "1|3|4|5|7|9|10|12|14|15|16",
     "h|o|p|s|a|l|e|t|o|d|a|y|g"],
)  # fmt: skip
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
