"""Lists, tables and entries: of orders that are as likely, the copy's; others are told.

Oracle: the typesetter puts each piece where it stands, and the copy is written beside it.
"""

import cv2
import pytest
from typesetter import Style, pull
from typesetter.entries import laid_out

from proofcheck import Options, check_proof
from proofcheck.base.found import Verdict
from proofcheck.base.kinds import Kind

FACES = {
    "schola": Style("schola", 9, 2),
    "large": Style("schola", 10, 2),
    "goudy": Style("goudy", 11, 2),
}
ANY_FACE = pytest.mark.parametrize("face", FACES)
HEAD = "GOODS AT THE WHARF"
LEFT = (
    "Oats, crushed, a quarter",
    "Barley meal",
    "Split peas, the bushel",
    "Bran",
    "Linseed cake, broken",
    "Hay in trusses",
)
RIGHT = (
    "Nails, cut and wrought",
    "Hurdles of ash",
    "Rope",
    "Lamp oil, best colza",
    "Whetstones from the Fell",
    "Boot grease",
)


def read(folder, pieces, copy, face="schola", **options):
    proof = laid_out(pieces, FACES[face], width_px=1250, right=1200)
    cv2.imwrite(str(folder / "sheet.png"), pull(proof, "good", seed=2))
    (folder / "copy.txt").write_text(copy, encoding="utf-8")
    chosen = Options(type_too=False, recast=False, **options)
    return check_proof(folder / "sheet.png", folder / "copy.txt", options=chosen)


def lists(left, right, foot=(), foot_row=9.5):
    """Pieces of two ragged lists level with each other under a head."""
    pieces = [(250, 0, HEAD)]
    for x, texts in ((0, left), (700, right)):
        pieces += [(x, 1.5 + row, text) for row, text in enumerate(texts)]
    return pieces + [(0, foot_row, text) for text in foot]


def copy_down(*lines):
    return f"{HEAD}\n\n" + "\n".join(lines) + "\n"


ACROSS = copy_down(*(f"{one}\t{other}" for one, other in zip(LEFT, RIGHT, strict=True)))


@ANY_FACE
def test_two_ragged_lists_are_read_down_or_across_as_the_copy_has_them(tmp_path, face):
    pieces = lists(LEFT, RIGHT)
    down = read(tmp_path, pieces, copy_down(*LEFT, *RIGHT), face)
    assert down.verdict is Verdict.CLEAN, down.faults
    across = read(tmp_path, pieces, ACROSS, face)
    assert across.verdict is Verdict.CLEAN, across.faults


def test_short_lists_between_lines_across_are_each_read_down_where_the_copy_is(tmp_path):
    over, between = (
        "Of the first marriage were born at the mill:",
        "And of the second, at the quay:",
    )
    first = [["1. Josiah.", "2. Mercy, married early."], ["3. Benjamin,", "4. Janet."]]
    second = [["1. Thomas.", "2. Rachel.", "3. Enoch."], ["4. Susan.", "5. Caleb."]]
    pieces = [(0, 0, over), (0, 3.3, between)]
    for row, columns in ((1.15, first), (4.45, second)):
        for x, texts in zip((60, 700), columns, strict=True):
            pieces += [(x, row + at, text) for at, text in enumerate(texts)]
    down = [over, *first[0], *first[1], between, *second[0], *second[1]]
    report = read(tmp_path, pieces, "\n".join(down))
    assert report.verdict is Verdict.CLEAN, report.faults
    # One entry for another is told in either list, whatever order it is read in.
    down[3], down[8] = "3. Gurth,", "3. Silas."
    told = " ".join(each.proof_text for each in read(tmp_path, pieces, "\n".join(down)).faults)
    assert "Benjamin" in told
    assert "Enoch" in told


def test_lists_of_another_copy_are_a_mismatch(tmp_path):
    other = read(tmp_path, lists(LEFT, RIGHT), "Zwölf Boxkämpfer jagen Viktor über den Deich.")
    assert other.verdict is Verdict.MISMATCH


def test_an_order_that_is_not_the_layouts_is_counted_and_can_be_enforced(tmp_path):
    pieces, copy = lists(LEFT, RIGHT), copy_down(*LEFT, *RIGHT)
    assert read(tmp_path, pieces, copy, "large").collation.waived["reading-order"]
    enforced = read(tmp_path, pieces, copy, "large", enforced=("reading-order",))
    assert enforced.verdict is Verdict.FAULTS


def test_lists_exchanged_are_told(tmp_path):
    report = read(tmp_path, lists(RIGHT, LEFT), copy_down(*LEFT, *RIGHT))
    (fault,) = report.faults
    assert fault.kind is Kind.LINES_TRANSPOSED
    assert "column" in fault.mark.words


def test_lines_exchanged_over_the_gutter_are_told_whichever_way_the_copy_goes(tmp_path):
    left, right = list(LEFT), list(RIGHT)
    left[1], right[1] = right[1], left[1]
    for copy in (copy_down(*LEFT, *RIGHT), ACROSS):
        report = read(tmp_path, lists(left, right), copy)
        assert report.verdict is Verdict.FAULTS
        at = report.copy.text.index(LEFT[1])
        assert any(f.copy.start <= at + len(LEFT[1]) and f.copy.end >= at for f in report.faults)


def test_what_stands_apart_under_a_column_may_follow_both_and_what_does_not_is_astray(tmp_path):
    copy = copy_down(*LEFT, *RIGHT[:4], "", "All goods are weighed twice.")
    foot = ["All goods are weighed twice."]
    apart = read(tmp_path, lists(LEFT, RIGHT[:4], foot), copy)
    assert apart.verdict is Verdict.CLEAN, apart.faults
    pieces, copy = lists(LEFT, RIGHT[:3], RIGHT[3:4], 7.5), copy_down(*LEFT, *RIGHT[:4])
    astray = read(tmp_path, pieces, copy)
    assert astray.verdict is Verdict.FAULTS


ENTRIES = (
    (
        "Anna Moller, Lindenau",
        ((141, ("The mill at daybreak", "with carts"), 350), (142, ("Geese",), 90)),
    ),
    (
        "Jean Tavel, Port-Rouge",
        (
            (143, ("A storm over the harbour",), 1200),
            (144, ("Nets drying on the wall of", "the old custom house"), 275),
            (145, ("Low tide",), 60),
        ),
    ),
    (
        "Widow Karsten, Hollen",
        (
            (146, ("Still life with quinces,", "a jug, and a sleeping cat"), 145),
            (147, ("Portrait of a ferryman",), 800),
        ),
    ),
)


LONE = ("with carts", "a jug, and a sleeping cat")
"""Run-over lines set flush, which leave one that is not."""


def catalogue(changed=()):
    """Pieces of numbered entries under names, numbers and prices in columns; and their copy."""
    pieces, copy, row = [], [], 0
    for name, works in ENTRIES:
        pieces.append((120, row, name))
        copy.append(name)
        row += 1
        for number, titles, price in works:
            shown = dict(changed).get(number, number)
            pieces.append((0, row, f"{shown}."))
            pieces += [(120 + 20 * (k > 0), row + k, text) for k, text in enumerate(titles)]
            row += len(titles)
            pieces.append((1200, row - 1, str(price)))
            copy += [f"{number}. {titles[0]}", *titles[1:]]
            copy[-1] += f" {price}"
    return pieces, "\n".join(copy) + "\n"


@ANY_FACE
def test_numbers_belong_to_their_entries_among_names_and_run_over_lines(tmp_path, face):
    report = read(tmp_path, *catalogue(), face)
    assert not [f for f in report.faults if f.status.value == "fault"], report.faults
    assert any(reading.text.startswith("144. Nets") for reading in report.readings)


def test_run_over_lines_that_hang_begin_no_paragraph_but_a_lone_one_does(tmp_path):
    pieces, copy = catalogue()
    for _, works in ENTRIES:
        for _, titles, _ in works:
            copy = copy.replace("\n".join(titles), " ".join(titles))
    report = read(tmp_path, pieces, copy)
    assert Kind.PARAGRAPH not in {fault.kind for fault in report.faults}
    flush = [(0, row, text) if text in LONE else (x, row, text) for x, row, text in pieces]
    report = read(tmp_path, flush, copy)
    assert [fault.kind for fault in report.faults].count(Kind.PARAGRAPH) == 1


@ANY_FACE
def test_a_dash_for_no_price_is_read_and_told_where_it_is_wanting(tmp_path, face):
    pieces, copy = catalogue()
    none = [(x, row, "—" if text == "800" else text) for x, row, text in pieces]
    sound = read(tmp_path, none, copy.replace("800", "—"), face)
    assert not [f for f in sound.faults if "—" in f.copy_text + f.proof_text], sound.faults
    assert sound.readings[-1].text.endswith("—")
    wanting = [piece for piece in pieces if piece[2] != "800"]
    told = read(tmp_path, wanting, copy.replace("800", "—"), face)
    assert "—" in [f.copy_text.strip() for f in told.faults]
    extra = read(tmp_path, none, copy.replace(" 800", ""), face)
    assert "—" in [f.proof_text.strip() for f in extra.faults]


def test_numbers_exchanged_between_entries_are_told(tmp_path):
    report = read(tmp_path, *catalogue({143: 145, 145: 143}.items()))
    assert report.verdict is Verdict.FAULTS
    told = {report.reading(fault.line).text.split()[0] for fault in report.faults}
    assert told >= {"145.", "143."}


def test_a_short_entry_with_its_figure_far_off_is_of_the_size_of_the_others(tmp_path):
    """Without a tall letter it could be capitals of a smaller size, were it as long as it is wide
    with its white."""
    rows = (("Hemp, second sort", 31), ("common rose seeds", 18), ("run seam", 11), ("Twine", 24))
    pieces = [(x, row, str(text)) for row, both in enumerate(rows)
              for x, text in zip((0, 1200), both, strict=True)]  # fmt: skip
    copy = "".join(f"{name}\t{figure}\n" for name, figure in rows)
    report = read(tmp_path, pieces, copy, "goudy")
    sizes = [line.x_height_px for line in report.lines]
    assert max(sizes) < 1.1 * min(sizes)
    assert not [f for f in report.faults if f.status.value == "fault"], report.faults


@ANY_FACE
@pytest.mark.parametrize("mark", ["“", ",,"])
def test_ditto_marks_far_off_from_any_letter_are_read_and_told(tmp_path, face, mark):
    # Common practice: two quotes, or two commas, under the word that is meant again.
    rows = ["Barley meal, per bushel, ground", "Bran,", "Split peas,", "Linseed cake, broken small"]
    pieces = [(0, at, text) for at, text in enumerate(rows)]
    pieces += [(250, 1, mark), (430, 1, mark), (270, 2, mark), (440, 2, mark)]
    copy = [rows[0], f"Bran, {mark} {mark}", f"Split peas, {mark} {mark}", rows[3]]
    sound = read(tmp_path, pieces, "\n".join(copy), face)
    assert sound.verdict is Verdict.CLEAN, sound.faults
    copy[2] = f"Split peas, {mark}"
    (extra,) = read(tmp_path, pieces, "\n".join(copy), face).faults
    assert extra.line == 3
    copy[1] = f"Bran, {mark} {mark} {mark}"
    missing = read(tmp_path, pieces[:-1], "\n".join(copy), face).faults
    assert [fault.line for fault in missing] == [2]


@ANY_FACE
def test_a_ditto_mark_brings_the_next_within_the_reach_of_its_line(tmp_path, face):
    rows = ["Barley meal, per bushel, ground, and delivered at the wharf", "Bran,", "Linseed cake"]
    pieces = [(0, at, text) for at, text in enumerate(rows)]
    pieces += [(430, 1, "“"), (800, 1, "“")]
    copy = [rows[0], "Bran, “ “", rows[2]]
    sound = read(tmp_path, pieces, "\n".join(copy), face)
    assert sound.verdict is Verdict.CLEAN, sound.faults
    missing = read(tmp_path, pieces[:-1], "\n".join(copy), face).faults
    assert [fault.line for fault in missing] == [2]
