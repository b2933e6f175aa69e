"""Lists for hands: what to cast, what to do at the stone, ticked off slug by slug."""

from __future__ import annotations

from dataclasses import replace

import pypdfium2
import pytest
from desk_cases import JOB, served, with_proof
from docket_cases import quick_folder
from report_cases import programme
from test_desk import asked

from proofcheck.base.values import Box, Copy, Emphasis, Line, Span
from proofcheck.docket import decide, verify
from proofcheck.docket.decided import decided_report
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.show import day_text
from proofcheck.docket.ticks import row_key, rows_of, tick, ticked
from proofcheck.recast.change import Change, NewSlug
from proofcheck.recast.plan import Move, RecastPlan, StoneWork, TakenOut
from proofcheck.results.castlists import hand_lists, report_hand_lists, stone_entries
from proofcheck.results.castlists.forme_places import seat_words, seats_of
from proofcheck.results.castlists.list_pages import lists_pdf
from proofcheck.results.castlists.slug_styles import styled_slugs
from proofcheck.results.plain_page import WIDTH, wrapped
from proofcheck.results.plain_widths import text_width


def slug(text, number, **more):
    return NewSlug(text, 240.0, 0.0, 3.0, 10.0, number=number, **more)


def change(lines, texts, *, after=0, faults=("F1",), first=1, **more):
    slugs = tuple(slug(text, first + k) for k, text in enumerate(texts))
    return Change(lines, after, slugs, faults, "first words", "last words", pitch_pt=11.0, **more)


PLAN = RecastPlan(
    changes=(
        change((3, 4), ("one", "two", "three"), faults=("F1", "F2")),
        change((8, 9, 10), ("four", "five"), first=4, faults=("F5",)),
    ),
    taken_out=(TakenOut(12, "F7"),),
    moved=(Move(14, 2, "F8"),),
    at_stone=(
        StoneWork(3, "push down the space", "F3"),
        StoneWork(16, "push down the space", "F9"),
        StoneWork(16, "push down the lead", "F10"),
        StoneWork(16, "push down the space", "F11"),
    ),
)


def told(lists):
    return [(row.sort, row.label, row.new, row.faults) for row in lists.stone]


def test_one_slug_is_one_line_and_changes_stand_apart_from_what_comes_out() -> None:
    """Three entries for one slug are one line, with all their faults."""
    assert told(hand_lists(PLAN)) == [
        ("change", "3", 1, ("F1", "F2", "F3")),
        ("change", "4", 2, ("F1", "F2")),
        ("change", "8", 4, ("F5",)),
        ("change", "9", 5, ("F5",)),
        ("in", "4+", 3, ("F1", "F2")),
        ("out", "10", 0, ("F5",)),
        ("out", "12", 0, ("F7",)),
        ("move", "14", 0, ("F8",)),
        ("work", "16", 0, ("F9", "F10", "F11")),
    ]
    words = {row.label: row.words for row in hand_lists(PLAN).stone}
    assert words["16"] == "Push down the space; push down the lead"
    assert words["3"].startswith("Line 3 out, slug 1 in; it begins “first words”")
    assert words["3"].endswith("push down the space")
    assert "moves down 1 line (11 pt)" in words["4+"]
    assert "moves up 1 line" in words["10"]


def test_every_slug_of_the_machine_goes_in_at_the_stone_once() -> None:
    lists = hand_lists(PLAN)
    assert [row.number for row in lists.machine] == [1, 2, 3, 4, 5]
    assert sorted(row.new for row in lists.stone if row.new) == [1, 2, 3, 4, 5]
    assert "10 pt; 20.1 picas" not in lists.machine[0].words  # slugs: the pica of 1/6 inch
    assert "10 pt; 19.9 picas" in lists.machine[0].words
    face = hand_lists(PLAN, face="Old Style").machine[0]
    assert "Old Style, 10 pt" in face.words


def line(number, sheet, column):
    return Line(number, sheet, column, Box(0, number * 10, 9, 9), (0.0, 0.0), 5.0, 10.0)


def test_a_line_is_found_by_sheet_column_and_slug_from_the_head() -> None:
    lines = [line(1, 0, 0), line(2, 0, 0), line(3, 0, 1), line(4, 0, 1), line(5, 1, 0)]
    seats = seats_of(lines)
    assert [tuple(seats[n])[:3] for n in (1, 2, 3, 4, 5)] == [
        (1, 1, 1), (1, 1, 2), (1, 2, 1), (1, 2, 2), (2, 1, 1),
    ]  # fmt: skip
    assert seat_words(seats, 4) == "sheet 1, column 2, slug 2 from the head"
    assert seat_words(seats, 5) == "sheet 2, slug 1 from the head"
    assert seat_words(seats, 9) == ""


def test_a_slug_set_sideways_is_of_no_column() -> None:
    sideways = replace(line(3, 0, 1), home=Box(80, 0, 9, 30))
    seats = seats_of([line(1, 0, 0), line(2, 0, 0), sideways])
    assert seat_words(seats, 2) == "sheet 1, slug 2 from the head"
    assert seat_words(seats, 3) == "sheet 1, set sideways, slug 1 of its block"


def copy_with_italic(text, italic):
    at = text.index(italic)
    span = Span(at, at + len(italic))
    return Copy(text, "c", "0" * 64, "utf-8", (Span(0, len(text)),), (Emphasis(span, "italic"),))


def test_what_is_italic_in_the_copy_is_shown_italic_over_a_division_too() -> None:
    copy = copy_with_italic(
        "the news in the Evening Gazette of today\nwas read out", "Evening Gazette"
    )
    slugs = (
        slug("the news in the Even-", 1, divided=True),
        slug("ing Gazette of today", 2),
    )
    made = Change((1,), 0, slugs, ("F1",), "the", "today")
    runs = styled_slugs(made, copy, {1: Span(0, 40), 2: Span(41, 53)})
    assert runs == (
        (("the news in the ", ""), ("Even-", "italic")),
        (("ing Gazette", "italic"), (" of today", "")),
    )
    plan = RecastPlan(changes=(made,))
    lists = hand_lists(plan, {}, copy, {1: Span(0, 40), 2: Span(41, 53)})
    assert "italic: “Even-”" in lists.machine[0].words
    page = pypdfium2.PdfDocument(lists_pdf(plan, "Gazette", lists))[0].get_textpage()
    assert "Even-" in page.get_text_range()


def test_without_copy_or_emphasis_all_is_roman() -> None:
    made = PLAN.changes[0]
    assert styled_slugs(made, None, {}) == ((("one", ""),), (("two", ""),), (("three", ""),))


def test_the_paper_has_every_row_under_its_heading() -> None:
    pdf = pypdfium2.PdfDocument(lists_pdf(PLAN, "Concert"))
    words = " ".join(page.get_textpage().get_text_range() for page in pdf).replace("\r\n", " ")
    for head in ("Slugs to cast", "At the stone", "Change in place", "Put in", "Take out", "Move"):
        assert head in words
    assert len(stone_entries(PLAN)) == 9
    many = RecastPlan(at_stone=tuple(StoneWork(n, "push down", f"F{n}") for n in range(1, 200)))
    assert len(pypdfium2.PdfDocument(lists_pdf(many, "Long"))) > 4


def test_lines_of_the_papers_are_broken_by_the_widths_of_the_font() -> None:
    """Held against pdfium, a renderer of PDF that knows the metrics of the 14 fonts itself."""
    import ctypes

    import pypdfium2.raw as pdfium

    held = pypdfium2.PdfDocument.new()
    font = pdfium.FPDFText_LoadStandardFont(held.raw, b"Helvetica")
    width = ctypes.c_float()
    shown = [chr(code) for code in range(33, 127)]
    for letter in shown:
        asked_for = pdfium.FPDFFont_GetGlyphWidth(font, ord(letter), 1000.0, ctypes.byref(width))
        assert asked_for
        assert abs(text_width(letter, 1000.0) - width.value) <= 1, letter
    lines = wrapped("Line 15 out, slug 4 in; it reads their grandfathers. " * 9 + "a" * 300, 9, 54)
    assert all(len(line) < 130 for line in lines)
    assert all(text_width(line, 9) <= WIDTH - 108 for line in lines)
    assert text_width(lines[0], 9) > 0.85 * (WIDTH - 108)


def test_hand_set_matter_says_lines_and_no_hot_metal() -> None:
    lists = hand_lists(replace(PLAN, hand_set=True))
    told = "Line 3 must be overrun to line 4: line 3 out, new line 1 in"
    assert lists.stone[0].words.startswith(told)


@pytest.fixture
def docket():
    with quick_folder() as folder:
        held = with_proof(folder)
        for fault in ("1", "2", "3"):
            decide(held, JOB, fault, "correct", by="B.A.")
        yield held


def lists_of(docket):
    return report_hand_lists(decided_report(docket, docket.job(JOB).proof))


def test_the_lists_name_faults_by_proof_and_number(docket) -> None:
    report = decided_report(docket, docket.job(JOB).proof)
    for proof in (1, 2):
        lists = report_hand_lists(report, proof=proof)
        named = {fault for row in lists.stone for fault in row.faults}
        assert named
        assert all(name.startswith(f"{proof}/") and "F" not in name for name in named)
        assert all(f"{proof}/" in row.words for row in lists.machine)


def test_a_tick_is_an_entry_and_said_twice_is_one(docket) -> None:
    row = lists_of(docket).stone[0]
    entry = tick(docket, JOB, 1, "stone", row, done=True, by="S.T.")
    assert entry.data["words"] == row.words
    assert tick(docket, JOB, 1, "stone", row, done=True, by="S.T.") is None
    assert {k: e.by for k, e in ticked(docket.job(JOB), 1, "stone").items()} == {
        row_key(row): "S.T."
    }
    assert ticked(docket.job(JOB), 1, "machine") == {}
    tick(docket, JOB, 1, "stone", row, done=False, by="B.A.")
    assert ticked(docket.job(JOB), 1, "stone") == {}
    assert verify(docket).troubles == ()
    said = day_text(docket.entries(), entry.at.date(), docket.shop)
    assert "stone list of proof 1, done: Line" in said
    assert "not done after all" in said


def test_a_tick_holds_for_that_matter_alone(docket) -> None:
    before = lists_of(docket)
    for row in rows_of(before, "machine"):
        tick(docket, JOB, 1, "machine", row, done=True, by="S.T.")
    decide(docket, JOB, "1", "stand", by="B.A.")
    done = ticked(docket.job(JOB), 1, "machine")
    assert all(row_key(row) in done for row in before.machine)
    assert not any(row_key(row) in done for row in lists_of(docket).machine)


def test_ticks_for_what_is_not_there_are_refused(docket) -> None:
    row = lists_of(docket).stone[0]
    for proof, which, by in ((9, "stone", "S.T."), (1, "oven", "S.T."), (1, "stone", "")):
        with pytest.raises(DocketError):
            tick(docket, JOB, proof, which, row, done=True, by=by)


def test_a_report_without_a_plan_has_no_lists() -> None:
    assert report_hand_lists(programme()) is None


def test_the_lists_at_the_desk_name_what_is_undecided_and_what_is_in_dispute() -> None:
    with quick_folder() as folder:
        docket = with_proof(folder)
        decide(docket, JOB, "2", "correct", by="B.A.")
        for by, what in (("B.A.", "stand"), ("C.D.", "correct")):
            decide(docket, JOB, "3", what, by=by)
        plan = decided_report(docket, docket.job(JOB).proof).plan
        paper = pypdfium2.PdfDocument(lists_pdf(plan, "Concert"))[0].get_textpage()
        assert "Not decided yet, and listed as if to be corrected: 1/1" in paper.get_text_range()
        with served(docket) as address:
            for which in ("machine", "stone"):
                path = f"/hands?job={JOB}&proof=1&list={which}"
                page = asked(address.removeprefix("http://"), "GET", path)[2]
                assert page.count("listed as if to be corrected: 1/1") == 1
                assert "not settled: 1/3. Nothing is cast or changed for it" in page
                assert page.count("1/3 is in dispute") == 0
                assert "1/3" not in page[page.index("<main") : page.index("</ol>")]
