"""Forms with dotted blanks to write on, set by the typesetter, the dots drawn after the words.

Oracle: the typesetter knows what stands on each line. That a blank runs from the words to the end
of the measure, and that the copy need not have its dots, is common practice.
"""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from collating import copy_of, readings_of
from PIL import Image
from typesetter import Para, Style, block_of, compose, print_proof, pull

from proofcheck import Options, check_proof
from proofcheck.base.agreed import agreed_places
from proofcheck.base.found import Verdict
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Span
from proofcheck.collate import collate
from proofcheck.collate.same import Rules
from proofcheck.sheet.pieces import find_pieces
from proofcheck.sheet.sift import are_frames

WORDS = (
    "Write the number of packets wanted before each sort, and send this form with a postal order.",
    "Name",
    "House and village",
    "Nearest railway station",
    "Tall Blue Peas, the pint",
    "Signed on behalf of the sender,",
)
PICAS = 24
MEASURE_PX = PICAS * 50
FACES = ("schola", "old-standard", "goudy")


def form(family, words=WORDS, pitch=9, dot=3):
    """The form with a row of dots from each short line's end to the measure's."""
    style = Style(family=family, body_pt=11, lead_pt=8)
    proof = print_proof(
        compose([Para(line, "left", 0) for line in words], measure_picas=PICAS, style=style)
    )
    image = proof.image.copy()
    left = min(line.box[0] for line in proof.lines)
    for line in proof.lines:
        x, _, width, _ = line.box
        if width > MEASURE_PX * 0.8:
            continue
        foot = round(line.baseline_y)
        at = round(x + width + 20)
        for start in range(at, round(left + MEASURE_PX), pitch):
            image[foot - dot : foot, start : start + dot] = 0
    return replace(proof, image=image)


def report_on(tmp_path, proof, text, wear="good", seed=1, **options):
    path, copy = tmp_path / "proof.png", tmp_path / "copy.txt"
    Image.fromarray(pull(proof, wear, seed=seed)).save(path, dpi=(proof.dpi, proof.dpi))
    copy.write_text(text, encoding="utf-8")
    given = {"type_too": False, "recast": False, "second_look": False, **options}
    return check_proof(path, copy, options=Options(**given))


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize(("pitch", "dot"), [(9, 3), (14, 4), (22, 4)])
def test_a_form_with_dotted_blanks_is_as_the_copy_has_it_without_them(tmp_path, face, pitch, dot):
    report = report_on(tmp_path, form(face, pitch=pitch, dot=dot), "\n".join(WORDS))
    assert report.verdict is Verdict.CLEAN, (report.faults, report.unread)


@pytest.mark.parametrize("face", FACES[::2])
@pytest.mark.parametrize(
    ("wrong", "kind"),
    [(("railway", "raiway"), Kind.LETTER_MISSING), (("village", "villaqe"), Kind.WRONG_LETTER),
     (("Name", "Nama"), Kind.WRONG_LETTER), (("sender,", "sender."), Kind.POINT_WRONG)],
)  # fmt: skip
def test_a_fault_before_a_dotted_blank_is_told(tmp_path, face, wrong, kind):
    printed = tuple(line.replace(*wrong) for line in WORDS)
    report = report_on(tmp_path, form(face, printed), "\n".join(WORDS))
    assert [each.kind for each in report.faults] == [kind]
    assert not report.unread


COPY = "Sent on Signed in full"


@pytest.mark.parametrize(
    ("printed", "enforced", "kinds"),
    [
        ("Sent on ........ Signed in full.......", (), []),
        ("Sent on Signed in full.......", (), []),
        ("....... Sent on Signed in full", (), []),
        # Leaders within a line are in no place of theirs, and three points are no blank.
        ("Sent on ........ Signed in full", (), [Kind.POINT_EXTRA]),
        ("Sent on Signed in full...", (), [Kind.POINT_EXTRA]),
        # Beside a blank a word wrong is one.
        ("Sent on Singed in full ........", (), [Kind.LETTERS_TRANSPOSED]),
        ("Sent on Signed in full ........", ("leaders",), [Kind.POINT_EXTRA]),
    ],
)
def test_a_row_of_points_where_the_copy_has_none_is_a_blank(printed, enforced, kinds):
    found = collate(copy_of(COPY), readings_of([printed]), rules=Rules().without(*enforced))
    assert [each.kind for each in found.differences] == kinds
    passed = not enforced and Kind.POINT_EXTRA not in kinds
    assert bool(found.waived.get("leaders")) is passed


LIST = ["Lamp oil, best white gallon 9d.", "Colza, refined quart 1s. 2d.", "Turpentine pint 7d."]


PROSE = (
    "The drum went by and then no more was heard of them that day in all the lanes about the old"
    " mill by the ford."
)


def led(line, places=1):
    """A row of points before its last words."""
    words = line.split()
    return " ".join([*words[:-places], ".......", *words[-places:]])


@pytest.mark.parametrize(
    ("copy", "printed", "kinds"),
    [
        # A list typed without tabs, each price led up to; a price wrong is told all the same.
        (LIST, [led(line, 2) for line in LIST], []),
        (LIST, [led(LIST[0], 2), led(LIST[1], 3), led("Turpentine pint 9d.", 2)],
         [Kind.WRONG_LETTER]),
        # One row alone is no list; nor is one whose tab stands elsewhere, nor prose.
        ([LIST[0]], [led(LIST[0], 2)], [Kind.POINT_EXTRA]),
        (["Doors open\t6.30", "Carriages at\t10.0"], ["Doors ....... open 6.30",
         "Carriages ....... at 10.0"], [Kind.POINT_EXTRA] * 2),
        ([PROSE], ["The drum went by ....... and then no more was heard of",
          "them that day ....... in all the lanes about the old mill by the ford."],
         [Kind.POINT_EXTRA] * 2),
    ],
)  # fmt: skip
def test_leaders_of_a_list_lead_over_what_its_copy_has_as_white(copy, printed, kinds):
    found = collate(copy_of("\n".join(copy)), readings_of(printed))
    assert [each.kind for each in found.differences] == kinds


def test_leaders_are_no_ground_for_telling_cells_apart():
    """The one cell that is read stands before the figure, though the copy has two alike."""
    copy = "7¼\tWick Siding\t...\ta\t11 42\t...\ta\t..."
    read = "7¼ Wick Siding " + "." * 60 + " a 11 42 a"
    agreed = agreed_places(read, copy, Span(0, len(copy)))
    assert copy[agreed[read.index("42")] :].startswith("42")
    assert agreed[read.index(" a ") + 1] == copy.index("\ta\t") + 1


def squares(rows, stroke, cells=2, high=60, wide=70):
    """A column of squares to write figures in, each of some cells; none joined to the next."""
    image = np.full((rows * (high + 14) + 80, wide * cells + 80), 255, np.uint8)
    for row in range(rows):
        top = 40 + row * (high + 14)
        for cell in range(cells):
            corner = (40 + cell * wide, top)
            cv2.rectangle(image, corner, (corner[0] + wide, top + high), 0, stroke)
    return (image < 128).astype(np.uint8)


@pytest.mark.parametrize("stroke", [2, 4, 6])
@pytest.mark.parametrize("cells", [1, 2, 3])
def test_an_empty_square_is_a_box_and_no_letter(stroke, cells):
    assert are_frames(*find_pieces(squares(6, stroke, cells))).all()


@pytest.mark.parametrize("family", ["schola", "old-standard", "goudy"])
def test_no_letter_is_a_box_however_large(family):
    ink = block_of("OQDBHEU&0869@", body_pt=72, family=family) < 128
    assert not are_frames(*find_pieces(ink.astype(np.uint8))).any()


def test_a_list_with_squares_and_dotted_blanks_is_clean_and_its_fault_told(tmp_path):
    """As a laundry's or a grocer's list has them: common practice."""
    proof = form("schola")
    image = proof.image.copy()
    right = round(max(line.box[0] for line in proof.lines) + MEASURE_PX + 30)
    image = np.pad(image, ((0, 0), (0, 160)), constant_values=255)
    for line in proof.lines:
        if line.box[2] < MEASURE_PX * 0.8:
            foot = round(line.baseline_y) + 8
            cv2.rectangle(image, (right, foot - 44), (right + 100, foot), 0, 3)
            cv2.line(image, (right + 50, foot - 44), (right + 50, foot), 0, 3)
    text = "\n".join(WORDS)
    report = report_on(tmp_path, replace(proof, image=image), text)
    assert report.verdict is Verdict.CLEAN, (report.faults, report.unread)
    report = report_on(tmp_path, replace(proof, image=image), text.replace("railway", "railwey"))
    assert [each.kind for each in report.faults] == [Kind.WRONG_LETTER]


def with_dots_within(family, pitch, dot):
    """A line with a row of dots in place of its middle words, and what is left of it."""
    words = ("Write down what is wanted, and the sum that is sent with this.",
             "Packets as it may please you in all d.")  # fmt: skip
    style = Style(family=family, body_pt=11, lead_pt=8)
    proof = print_proof(
        compose([Para(line, "left", 0) for line in words], measure_picas=PICAS, style=style)
    )
    image, line = proof.image.copy(), proof.lines[-1]
    boxes = [letter.box for letter in line.letters]
    start, end = (round(boxes[at][0]) for at in (len("Packets "), len(words[1]) - 2))
    foot = round(line.baseline_y)
    image[foot - 50 : foot + 20, start:end] = 255
    for x in range(start + 8, end - 20, pitch):
        image[foot - dot : foot, x : x + dot] = 0
    return replace(proof, image=image), f"{words[0]}\nPackets d."


@pytest.mark.parametrize("face", FACES)
def test_a_fine_dotted_rule_within_a_line_is_no_matter(tmp_path, face):
    report = report_on(tmp_path, *with_dots_within(face, pitch=7, dot=3))
    assert report.verdict is Verdict.CLEAN, (report.faults, report.unread)


@pytest.mark.parametrize("face", FACES)
def test_points_that_the_copy_has_not_are_told_within_a_line(tmp_path, face):
    """They stand as far apart as they are cast wide."""
    report = report_on(tmp_path, *with_dots_within(face, pitch=13, dot=5))
    assert Kind.POINT_EXTRA in [fault.kind for fault in report.faults]
    assert report.verdict is not Verdict.CLEAN
