"""Sheets several up: one copy, printed again and again, each ticket read by itself.

Oracle: the typesetter sets each ticket and knows what it has. That numbered work runs by one step
from ticket to ticket, across the sheet or down it, is common practice.
"""

import csv
import io
from functools import cache

import cv2
import numpy as np
import pytest
from typesetter import Columns, Gap, Head, Para, Style, compose, copy_of, print_proof, pull
from typesetter.ganged import ganged, ticket_of, with_stub

from proofcheck import Options, check_proof
from proofcheck.base.errors import SettingError
from proofcheck.base.found import Status, Verdict
from proofcheck.base.kinds import Kind
from proofcheck.base.options import load_settings
from proofcheck.base.values import Box, Copy, Span
from proofcheck.collate.numbering import Numbers, numbers_of, run_of
from proofcheck.collate.several_up import several_up
from proofcheck.results.lists import correction_csv, correction_list
from proofcheck.results.report import exit_status
from proofcheck.sheet.cells import find_cells
from proofcheck.sheet.pieces import Pieces, find_pieces
from proofcheck.sheet.rows import Segment, find_segments, parted_by_rules

FACES = {"goudy": Style("goudy", 11, 2), "schola": Style("schola", 10, 2)}
SECOND = "Second draw, a hive of bees and a smoker"


def blocks(number, second=SECOND):
    return [
        Head("WRAYFORD BEE SOCIETY", 14, 4),
        Head("Grand Draw, the 9th of June", 10, 2),
        Gap(6),
        Head("First draw, a garden seat of oak", 9, 2),
        *([Head(second, 9, 2)] if second else []),
        Gap(14),
        Head(f"Ticket {number}", 9, 2, align="left"),
    ]


@cache
def ticket(number, second=SECOND, face="goudy"):
    style = FACES[face]
    return ticket_of(blocks(number, second), measure_picas=18, height_px=430, style=style)


def read(folder, tickets, copy, across=2, face="goudy", frame_px=4, **options):
    """The report on a sheet of tickets; an int is a sound one with that number."""
    held = [ticket(t, face=face) if isinstance(t, int) else t for t in tickets]
    proof = ganged(held, across, frame_px=frame_px)
    cv2.imwrite(str(folder / "sheet.png"), pull(proof, "good", seed=11))
    (folder / "copy.txt").write_text(copy, encoding="utf-8")
    usual = {"type_too": False, "recast": False, **options}
    return check_proof(folder / "sheet.png", folder / "copy.txt", options=Options(**usual))


def copy_for(*numbers):
    return "\n\n".join(copy_of(blocks(number)) for number in numbers)


ONE = copy_for(1201)
FRAMES = pytest.mark.parametrize("frame_px", [0, 4], ids=["white", "boxed"])


@FRAMES
@pytest.mark.parametrize("face", FACES)
def test_a_sound_run_is_clean_and_counted(tmp_path, face, frame_px):
    report = read(tmp_path, [1201, 1202, 1203, 1204], ONE, face=face, frame_px=frame_px)
    assert exit_status(report) == 0, report.faults
    assert report.collation.waived["numbering"] == 3
    assert sorted({line.ticket for line in report.lines}) == [1, 2, 3, 4]
    assert all(p.copy and p.copy.end <= len(report.copy.text) for p in report.collation.placings)
    assert report.copy.text.strip() == ONE.strip()
    assert any("4 tickets" in note for note in report.warnings)


@FRAMES
def test_a_fault_in_the_third_ticket_alone_is_told_there(tmp_path, frame_px):
    wrong = ticket(1203, SECOND.replace("bees", "dees"))
    report = read(tmp_path, [1201, 1202, wrong, 1204], ONE, frame_px=frame_px, recast=True)
    (fault,) = report.faults
    assert (fault.kind, fault.proof_text, fault.copy_text) == (Kind.WRONG_LETTER, "d", "b")
    assert report.copy.text[fault.copy.start : fault.copy.end] == "b"
    assert report.line(fault.line).ticket == 3
    assert "ticket 3" in correction_list(report)
    assert "ticket 3" in correction_list(report, width=40)
    (row,) = csv.DictReader(io.StringIO(correction_csv(report)))
    assert (row["ticket"], row["sheet and line"]) == ("3", str(fault.line))
    assert [slug.text for change in report.plan.changes for slug in change.slugs] == [SECOND]


@FRAMES
def test_a_line_wanting_on_one_ticket_is_told(tmp_path, frame_px):
    report = read(tmp_path, [1201, ticket(1202, ""), 1203, 1204], ONE, frame_px=frame_px)
    (fault,) = report.faults
    assert (fault.kind, fault.copy_text) == (Kind.LINE_MISSING, SECOND)
    assert report.line(fault.line).ticket == 2


BROKEN = {
    "one left out": ([1201, 1202, 1204, 1205], {("4", "3"), ("5", "4")}),
    "one twice": ([1201, 1202, 1202, 1204], {("2", "3")}),
    "one astray": ([1201, 1207, 1203, 1204], {("7", "2")}),
    "no run": ([1201, 1201, 1201, 1207], {("7", "1")}),
}


@pytest.mark.slow
@FRAMES
@pytest.mark.parametrize("case", BROKEN)
def test_a_broken_run_is_a_fault(tmp_path, case, frame_px):
    printed, told = BROKEN[case]
    report = read(tmp_path, printed, ONE, frame_px=frame_px)
    assert {(f.proof_text, f.copy_text) for f in report.faults} == told
    assert all(fault.status is Status.FAULT for fault in report.faults)


@pytest.mark.slow
def test_numbers_run_down_the_sheet_or_backwards_or_by_more_than_one(tmp_path):
    for printed in ([1201, 1203, 1202, 1204], [1204, 1203, 1202, 1201], [1201, 1701, 2201, 2701]):
        report = read(tmp_path, printed, ONE)
        assert report.verdict is Verdict.CLEAN, (printed, report.faults)
        assert report.collation.waived["numbering"] == 3


def test_a_run_enforced_against_is_told(tmp_path):
    report = read(tmp_path, [1201, 1202, 1203, 1204], ONE, enforced=("numbering",))
    assert [(f.proof_text, f.copy_text) for f in report.faults] == [
        ("2", "1"),
        ("3", "1"),
        ("4", "1"),
    ]


def test_two_tickets_make_no_run_but_a_query(tmp_path):
    report = read(tmp_path, [1201, 1202], ONE)
    assert report.verdict is Verdict.QUERIES
    assert {(f.proof_text, f.copy_text) for f in report.faults} >= {("2", "1")}


@pytest.mark.slow
@FRAMES
def test_a_ticket_missing_is_told(tmp_path, frame_px):
    for tickets, across in (([1201, 1202, 1203, None], 2), ([1201, 1202, 1203], 1)):
        report = read(tmp_path, tickets, ONE, across, frame_px=frame_px, up=4)
        (fault,) = report.faults
        assert fault.kind is Kind.MATTER_MISSING
        assert any("4 tickets were asked for, and 3 are" in note for note in report.warnings)
    unasked = read(tmp_path, [1201, 1202, 1203, None], ONE, frame_px=frame_px)
    assert [fault.kind for fault in unasked.faults] == [Kind.MATTER_MISSING]


@FRAMES
def test_a_ticket_too_many_is_told(tmp_path, frame_px):
    report = read(tmp_path, [1201, 1202, 1203], ONE, 1, frame_px=frame_px, up=2)
    assert report.verdict is Verdict.FAULTS


@pytest.mark.slow
@FRAMES
def test_copy_of_all_tickets_is_laid_in_its_own_order(tmp_path, frame_px):
    copy = copy_for(1201, 1202, 1203, 1204)
    for printed in ([1201, 1202, 1203, 1204], [1201, 1203, 1202, 1204]):
        report = read(tmp_path, printed, copy, frame_px=frame_px, up=4)
        assert report.verdict is Verdict.CLEAN, (printed, report.faults)
    report = read(tmp_path, [1201, 1202, 1204, 1203], copy, frame_px=frame_px)
    assert {(f.proof_text, f.copy_text) for f in report.faults} == {("3", "4"), ("4", "3")}
    report = read(tmp_path, [1201, 1202, 1203, None], copy, frame_px=frame_px)
    assert report.verdict is Verdict.FAULTS


@pytest.mark.parametrize(
    "rule", [{"weight_px": 4}, {"weight_px": 8, "dash_px": (18, 11)}], ids=["plain", "dashed"]
)
def test_tickets_with_counterfoils(tmp_path, rule):
    style = FACES["schola"]
    body = (
        Head("HATS AND COATS", 14, 4),
        Para("Left at the owner’s risk, and given up to whoever brings this ticket.", "left", 0.0),
    )

    def set_so(stub, number):
        left = ticket_of(
            [Head("Stub", 9, 4), Head(f"{stub}", 14, 2)],
            measure_picas=8,
            height_px=300,
            style=style,
        )
        matter = [*body, Head(f"{number}", 14, 2)]
        right = ticket_of(matter, measure_picas=16, height_px=300, style=style)
        return with_stub(left, right, **rule)

    copy = "\n\n".join(("Stub", "57", copy_of(list(body)), "57"))
    sound = [set_so(n, n) for n in (57, 58, 59)]
    report = read(tmp_path, sound, copy, across=1)
    assert report.verdict is Verdict.CLEAN, report.faults
    assert report.collation.waived["numbering"] == 4
    wrong = [set_so(57, 57), set_so(58, 59), set_so(59, 59)]
    report = read(tmp_path, wrong, copy, across=1)
    assert [(f.proof_text, f.copy_text) for f in report.faults] == [("9", "8")]


def test_one_sheet_scanned_twice_is_not_two_tickets(tmp_path):
    proof = print_proof(compose(blocks(1201), measure_picas=18, style=FACES["goudy"]))
    for name in ("a.png", "b.png"):
        cv2.imwrite(str(tmp_path / name), pull(proof, "good", seed=3))
    (tmp_path / "copy.txt").write_text(ONE, encoding="utf-8")
    scans = [tmp_path / "a.png", tmp_path / "b.png"]
    usual = Options(type_too=False, recast=False)
    report = check_proof(scans, tmp_path / "copy.txt", options=usual)
    assert "sheet 2 is sheet 1 again: left out" in report.warnings
    assert not any(line.ticket for line in report.lines)


def test_columns_of_text_are_no_tickets(tmp_path):
    left, right = (
        Para(" ".join(sentences))
        for sentences in (
            (
                "The bees of Wrayford were kept in straw, and wintered under the barn’s eaves.",
                "They were told of every death in the house, and fed with burnt sugar in spring.",
            ),
            (
                "A swarm in May was sold for a load of hay, and one in July for nothing at all.",
                "Whoever followed a swarm over a hedge might keep it, if he rang a pan as he ran.",
            ),
        )
    )
    matter = [Head("WRAYFORD BEES", 14, 4), Columns((left,), (right,))]
    proof = print_proof(compose(matter, measure_picas=40, style=FACES["schola"]))
    cv2.imwrite(str(tmp_path / "sheet.png"), pull(proof, "good", seed=4))
    copy = [matter[0], left, right]
    (tmp_path / "copy.txt").write_text(copy_of(copy), encoding="utf-8")
    usual = Options(type_too=False, recast=False)
    report = check_proof(tmp_path / "sheet.png", tmp_path / "copy.txt", options=usual)
    assert report.verdict is Verdict.CLEAN
    assert {line.ticket for line in report.lines} == {0}


RUNS = [
    # what is printed across, and what is wanted there; None where it is asked
    ([331, 332, 333], ["331", "332", "333"]),
    ([331, 332, 334], ["331", "332", "333"]),
    ([333, 332, 331], ["333", "332", "331"]),
    ([331, 331, 332], ["331", "331", "331"]),
    ([331, 332], None),
    ([331, 347], ["331", "331"]),
    ([331, 402, 519], None),
    ([401, 402, 403], None),
    ([331, None, 333], ["331", "332", "333"]),
]


@pytest.mark.parametrize(("printed", "wanted"), RUNS)
def test_what_is_a_run(printed, wanted):
    found = run_of(["331"], [[value] for value in printed], [range(len(printed))])
    assert found.asked == (wanted is None,)
    assert list(found.wanted[0]) == (wanted or ["331"] * len(printed))


def test_noughts_in_the_copy_stand_for_any_run_and_keep_their_width():
    found = run_of(["0000"], [[98], [99], [100]], [range(3)])
    assert found == Numbers((("0098", "0099", "0100"),), (False,))


def test_a_place_in_a_ticket_is_carried_home_where_its_number_is_wider():
    text = "No. 99 of the draw\n\nNo. 99"
    paragraphs = (Span(0, 18), Span(20, 26))
    copy = Copy(text, "-", "", "utf-8", paragraphs)
    spans = numbers_of(text)
    gang = several_up(copy, [[1], [2]], Numbers((("99", "100"), ("99", "100")), (False, False)))
    assert [text[a:b] for a, b in spans] == ["99", "99"]
    assert [gang.copy.text[a:b] for a, b in gang.copy.paragraphs] == [
        "No. 99 of the draw",
        "No. 99",
        "No. 100 of the draw",
        "No. 100",
    ]
    for word in ("of", "the", "draw", "No"):
        for at in (gang.copy.text.index(word), gang.copy.text.rindex(word)):
            home = gang.home(Span(at, at + len(word)))
            assert text[home.start : home.end] == word
    second = gang.copy.text.index("100")
    assert gang.home(Span(second, second + 3)) == spans[0]
    assert gang.home(Span(second + 2, second + 3)).end == spans[0].end


def test_how_many_up_is_a_setting(tmp_path):
    (tmp_path / "shop.toml").write_text("up = 4\n", encoding="utf-8")
    assert load_settings(tmp_path / "shop.toml").up == 4
    for bad in ("up = -1", "up = true", 'up = "4"', "up = 4.5", "up = 1000"):
        (tmp_path / "shop.toml").write_text(bad + "\n", encoding="utf-8")
        with pytest.raises(SettingError):
            load_settings(tmp_path / "shop.toml")


def test_rules_that_hold_no_letters_are_no_boxes() -> None:
    """Looked at once more, what is left of a page may be rules and nothing else."""
    ink = np.zeros((300, 300), np.uint8)
    ink[50:250, (50, 249)] = ink[(50, 249), 50:250] = 1
    pieces, labels = find_pieces(ink)
    assert find_cells(pieces, labels, [], 20.0) == []


CHECK = ["CLOAK ROOM", "274", "One garment only; umbrellas have", "checks of their own."]


def check_of(number="274", words=CHECK):
    blocks = [Head(words[0], 12, 2), Head(number, 44, 4), Gap(8)]
    blocks += [Head(line, 9, 2, align="left") for line in words[2:]]
    return ticket_of(blocks, measure_picas=13, height_px=480, style=FACES["goudy"])


@pytest.mark.parametrize("frame_px", [4, 9])
def test_display_as_large_as_the_white_between_tickets_is_of_its_own_ticket(tmp_path, frame_px):
    """A rule between them parts two numbers that stand no farther off than two words would."""
    copy = "\n".join(CHECK)
    sound = read(tmp_path, [check_of()] * 3, copy, across=3, frame_px=frame_px)
    assert exit_status(sound) == 0, sound.faults
    assert sorted({line.ticket for line in sound.lines}) == [1, 2, 3]
    wrong = read(tmp_path, [check_of(), check_of("247"), check_of()], copy, across=3,
                 frame_px=frame_px)  # fmt: skip
    told = {each.line for each in wrong.faults}
    assert told
    assert {wrong.line(line).ticket for line in told} == {2}


def segment(x, y, wide, count=4, high=20):
    members = np.arange(count)
    ends = (float(y), float(y + high))
    return Segment(members, float(x), float(x + wide), *ends, float(high), 4.0, ends, ends)


def card(left):
    """A border, within it a table of six squares that does not touch it, open at both sides."""
    level = [Box(left, y, 600, 5) for y in (100, 1005)]
    upright = [Box(left + x, 100, 5, 910) for x in (0, 595)]
    level += [Box(left + 40, 200 + 110 * row, 520, 5) for row in range(7)]
    upright += [Box(left + x, 200, 5, 665) for x in (200, 400)]
    held = [segment(left + 230, 130, 140)]
    for row in range(12):
        y = 215 + 55 * row
        held += [segment(left + x, y, wide) for x, wide in ((60, 90), (230, 140), (430, 90))]
    return [*level, *upright], held


def test_a_table_within_its_border_is_one_with_it_and_two_such_are_two_tickets():
    none = np.zeros((1100, 1400), np.uint8)
    cards = [card(40), card(720)]
    rules = [box for one, _ in cards for box in one]
    held = [each for _, one in cards for each in one]
    cells = find_cells(*find_pieces(none), held, 20.0, (rules, ()))
    assert [cell.ticket for cell in cells] == [1, 2]
    assert [cell.box.x > 600 for cell in cells] == [False, True]
    # Large type on the same sheet does not bring the two together.
    assert len(find_cells(*find_pieces(none), held, 150.0, (rules, ()))) == 2


def test_a_run_is_cut_where_a_rule_stands_through_it_and_nowhere_else():
    x = np.array([0.0, 50, 130, 180])
    pieces = Pieces(x, np.full(4, 100.0), x + 40, np.full(4, 160.0), np.full(4, 900.0))
    (run,) = find_segments(pieces, np.ones(4, bool))
    through, low, level = Box(108, 20, 6, 300), Box(108, 150, 6, 300), Box(60, 128, 90, 6)
    assert [len(s.members) for s in parted_by_rules(pieces, [run], [through])] == [2, 2]
    for other in (low, level, Box(300, 20, 6, 300)):
        assert parted_by_rules(pieces, [run], [other]) == [run]


def test_a_panel_closes_the_box_of_what_stands_beside_it():
    """Rules go on from it on both sides: what is over, beside, in and under it is apart."""
    none = np.zeros((900, 1500), np.uint8)
    frame = [Box(50, y, 1400, 5) for y in (50, 845)] + [Box(x, 50, 5, 800) for x in (50, 1445)]
    rules = [*frame, Box(50, 240, 960, 8), Box(50, 640, 960, 8)]
    panel = Box(1000, 240, 445, 408)
    over = [segment(100, 90 + 70 * row, 400) for row in range(2)]
    price = segment(300, 430, 300, 4, 120)
    within = [segment(1100, 300 + 100 * row, 200) for row in range(3)]
    under = [segment(100, 690 + 70 * row, 500) for row in range(2)]
    held = [*over, price, *within, *under]
    assert find_cells(*find_pieces(none), held, 20.0, (rules, ())) == []
    cells = find_cells(*find_pieces(none), held, 20.0, (rules, [panel]))
    middles = [(cell.box.x + cell.box.width / 2, cell.box.y) for cell in cells]
    assert len(cells) == 4
    assert middles[1][0] < panel.x < middles[2][0]
    assert middles[0][1] < middles[1][1] < middles[3][1]
    # One that stands by itself closes nothing.
    apart = Box(1050, 300, 300, 280)
    assert find_cells(*find_pieces(none), held, 20.0, (rules, [apart])) == []
