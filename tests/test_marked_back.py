"""A marked proof answered in a PDF viewer and taken in: decisions, own marks, nothing twice."""

from __future__ import annotations

import io
import shutil
from dataclasses import replace
from datetime import timedelta

import pikepdf
import pytest
from desk_cases import JOB, with_proof
from docket_cases import START, Clock, quick_folder
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pikepdf import Array, Dictionary, Name, String
from typer.testing import CliRunner
from viewer_cases import Viewer, on_page, quad

from proofcheck.base.decision_words import BUTTONS
from proofcheck.cli.program import app
from proofcheck.desk.drawn_papers import paper
from proofcheck.docket import Word, decide, open_docket, open_job, sign_off, verify
from proofcheck.docket.against import reasons_against
from proofcheck.docket.decided import decided_report
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.originals import Original
from proofcheck.docket.own_marks import stored_report
from proofcheck.docket.record_words import entry_words
from proofcheck.docket.reply_meaning import STATES
from proofcheck.docket.taking_in import take_marked


def signed_right(report):
    """The programme with signs of the table, so that it can be drawn."""
    second = replace(report.faults[1], mark=replace(report.faults[1].mark, sign="dele"))
    return replace(report, faults=(report.faults[0], second, *report.faults[2:]))


@pytest.fixture(scope="module")
def begun_once():
    """A docket with a proof, and its marked proof as it was drawn."""
    with quick_folder() as folder:
        docket = with_proof(folder, change=signed_right)
        yield folder, marked_proof(docket)


@pytest.fixture
def docket(begun_once):
    with quick_folder() as folder:
        shutil.copytree(begun_once[0], folder, dirs_exist_ok=True)
        yield open_docket(folder / "docket.db", clock=Clock(START + timedelta(days=1)))


def marked_proof(docket):
    job = docket.job(JOB)
    return paper(docket, job, job.proof, "marked")[0]


@pytest.fixture
def viewer(begun_once):
    return Viewer(begun_once[1])


def taken(docket, viewer, **how):
    return take_marked(docket, Original("marked.pdf", viewer.saved()), **how)


def decision(docket, ref):
    found = docket.job(JOB).at(ref).decision
    return (found.what, found.by, found.note) if found else None


def words(result):
    return [line.words for line in result.lines]


@pytest.mark.parametrize(("state", "what"), [(s, w) for s, w in STATES.items() if s != "None"])
def test_a_state_decides_in_the_name_of_him_who_set_it(docket, viewer, state, what) -> None:
    viewer.reply("F2", state=state)
    result = taken(docket, viewer)
    assert result.left == 0
    assert decision(docket, "1/F2") == (what, "C.D.", "")
    entry = docket.entries(JOB)[-1]
    assert entry.originals[0]["name"] == "marked.pdf"
    assert docket.originals.read(entry.originals[0]["sha256"])[:5] == b"%PDF-"
    assert verify(docket).troubles == ()


def test_words_go_with_the_state_as_its_note(docket, viewer) -> None:
    viewer.reply("F1", "as the customer spells it")
    viewer.reply("F1", state="Rejected")
    taken(docket, viewer)
    assert decision(docket, "1/F1") == ("stand", "C.D.", "as the customer spells it")


@pytest.mark.parametrize(("said", "what"), [
    ("stet", "stand"), ("Stet, as he wrote it", "stand"), ("correct", "correct"),
    ("No fault: a speck", "sound"), ("is a point wanted?", "query"),
    *((words, what) for what, words in BUTTONS.items()), ("Ask the customer, please", "query"),
])  # fmt: skip
def test_words_alone_decide_where_they_say_so(docket, viewer, said, what) -> None:
    viewer.reply("F1", said)
    taken(docket, viewer)
    assert decision(docket, "1/F1") == (what, "C.D.", said)


def test_words_that_decide_nothing_are_told_and_left(docket, viewer) -> None:
    viewer.reply("F1", "standing type, I think")
    result = taken(docket, viewer)
    assert result.left == 1
    assert "decides nothing" in words(result)[0]
    assert decision(docket, "1/F1") is None


def test_a_decision_taken_in_is_told_in_the_words_of_the_desk(docket, viewer) -> None:
    viewer.reply("F1", state="Rejected")
    viewer.reply("F2", state="Cancelled")
    told = words(taken(docket, viewer))
    assert "let it stand, C.D." in told[0]
    assert "no fault, C.D." in told[1]
    record = [entry_words(entry) for entry in docket.entries(JOB)[-2:]]
    assert record == ["1/1 decided: let it stand", "1/2 decided: no fault"]


def test_what_is_let_stand_is_called_so_in_the_papers_notes(docket) -> None:
    decide(docket, JOB, "1", "stand", by="B.A.")
    with pikepdf.open(io.BytesIO(marked_proof(docket))) as pdf:
        said = [str(note.Subj) for page in pdf.pages for note in page.Annots]
        told = [str(note.Contents) for page in pdf.pages for note in page.Annots]
    assert sum(one.startswith("let it stand: ") for one in said) == 1
    assert sum("let it stand (not: " in one for one in told) == 1
    assert not any(one.startswith("stand") for one in said)


def test_one_persons_last_state_holds_though_each_answers_the_one_before(docket, viewer) -> None:
    first = viewer.reply("F1", state="Accepted")
    viewer.reply(first, state="Rejected")
    taken(docket, viewer)
    assert decision(docket, "1/F1")[0] == "stand"
    assert sum(e.kind == "decided" for e in docket.entries(JOB)) == 1


def test_none_takes_a_decision_back_and_says_nothing_of_what_is_undecided(docket, viewer) -> None:
    decide(docket, JOB, "2", "correct", by="B.A.")
    viewer.reply("F1", state="None")
    viewer.reply("F2", state="None")
    result = taken(docket, viewer)
    assert result.left == 0
    assert decision(docket, "1/F2") is None
    assert [e.data["fault"] for e in docket.entries(JOB) if e.kind == "decided"] == ["1/F2", "1/F2"]


def test_two_readers_who_part_are_both_on_the_record(docket, viewer) -> None:
    viewer.reply("F1", state="Accepted")
    viewer.who = "E.F."
    viewer.reply("F1", state="Rejected")
    result = taken(docket, viewer)
    said = [(e.by, e.data["what"]) for e in docket.entries(JOB) if e.kind == "decided"]
    assert said == [("C.D.", "correct"), ("E.F.", "stand")]
    assert len(result.lines) == 2


def test_what_was_taken_is_not_taken_twice_even_saved_anew(docket, viewer) -> None:
    viewer.reply("F1", state="Accepted")
    rect = on_page(stored_report(docket, docket.job(JOB).proof), 1, 4, 11,
                   page=viewer.pdf.pages[0])  # fmt: skip
    viewer.put("StrikeOut", rect, QuadPoints=quad(rect))
    taken(docket, viewer)
    count = docket.last_number()
    viewer.pdf.docinfo["/Title"] = "saved again"
    result = taken(docket, viewer)
    assert docket.last_number() == count
    assert result.left == 0
    assert all(line.before for line in result.lines)
    decide(docket, JOB, "1", "stand", by="B.A.")
    taken(docket, viewer)
    assert decision(docket, "1/F1")[0] == "stand", "what was decided since is not overturned"


def test_only_showing_records_nothing(docket, viewer) -> None:
    viewer.reply("F1", state="Accepted")
    before = docket.last_number()
    result = taken(docket, viewer, only_show=True)
    assert docket.last_number() == before
    assert [line.recorded for line in result.lines] == [True]


def test_who_is_not_named_is_named_by_him_who_takes_it_in(docket, viewer) -> None:
    viewer.who = ""
    viewer.reply("F1", state="Accepted")
    assert "--by" in words(taken(docket, viewer))[0]
    assert taken(docket, viewer, by="G.H.").left == 0
    assert decision(docket, "1/F1")[1] == "G.H."


def test_the_customers_replies_answer_his_queries_and_nothing_else(docket) -> None:
    decide(docket, JOB, "4", "query", by="B.A.", note="is a point wanted?")
    viewer = Viewer(marked_proof(docket), "the secretary")
    viewer.reply("F4", "yes, please")
    viewer.reply("F4", state="Accepted")
    viewer.reply("F1", state="Rejected")
    result = taken(docket, viewer, customer=True, by="B.A.")
    found = docket.job(JOB).at("1/F4").decision
    assert (found.what, found.answer, found.answered_by, found.by) == (
        "correct", "yes, please", "the secretary", "B.A.",
    )  # fmt: skip
    assert decision(docket, "1/F1") is None
    assert result.left == 1
    again = taken(docket, viewer, customer=True, by="B.A.")
    assert [line.before for line in again.lines] == [True, False]


def test_a_mark_whose_words_were_written_over_is_told(docket, viewer) -> None:
    viewer.marks()["F1"].Contents = String("no, stet")
    result = taken(docket, viewer)
    assert result.left == 1
    assert "written over" in words(result)[0]


# ------------------------------------------------------------------- a reader's own marks

STRETCHES = [
    # line, letters, how it is put, its words; kind, printed, wanted, decided
    (1, 4, 11, "StrikeOut", "", "word-extra", "VILLAGE ", "", "query"),
    (1, 12, 16, "StrikeOut", "BRASS", "wrong-word", "BAND", "BRASS", "query"),
    (4, 19, 19, "Caret", "the", "word-missing", "", "the ", "correct"),
    (5, 38, 38, "Caret", ".", "point-missing", "", ".", "correct"),
    (3, 0, 8, "Highlight", "broken letter: the S", "broken-letter", "Saturday", "Saturday",
     "correct"),
    (2, 5, 9, "Highlight", "is this the name?", "wrong-word", "give", "give", "query"),
]  # fmt: skip


@pytest.mark.parametrize("case", STRETCHES, ids=lambda case: f"{case[3]} {case[4]}")
def test_what_a_reader_puts_in_is_a_mark_of_his_own(docket, viewer, case) -> None:
    line, start, end, how, said, kind, printed, wanted, what = case
    report = stored_report(docket, docket.job(JOB).proof)
    rect = on_page(report, line, start, end, page=viewer.pdf.pages[0])
    if how == "Caret":
        rect = [rect[0] - 3, rect[1] - 2, rect[0] + 3, rect[1] + 6]
        viewer.put("Caret", rect, said)
    else:
        viewer.put(how, rect, said, QuadPoints=quad(rect))
    result = taken(docket, viewer)
    assert result.left == 0, words(result)
    found = docket.job(JOB).at("1/F5")
    assert (found.kind, found.printed, found.wanted) == (kind, printed, wanted)
    assert (found.line, found.decision.what, found.decision.by) == (line, what, "C.D.")
    drawn = {fault.id: fault for fault in decided_report(docket, docket.job(JOB).proof).faults}
    assert drawn["F5"].line == line


def test_a_mark_of_ones_own_is_on_the_next_marked_proof(docket, viewer) -> None:
    report = stored_report(docket, docket.job(JOB).proof)
    rect = on_page(report, 2, 5, 9, page=viewer.pdf.pages[0])
    viewer.put("Highlight", rect, "is this the name?", QuadPoints=quad(rect))
    taken(docket, viewer)
    again = Viewer(marked_proof(docket))
    assert again.marks().keys() == {"F1", "F2", "F3", "F4", "F5"}
    assert "is this the name?" in str(again.marks()["F5"].Contents)


def test_a_question_on_what_the_copy_has_otherwise_shows_what_it_has(docket, viewer) -> None:
    """The letter the tool alleged; a reader who only asks about it is shown the copy's word."""
    report = stored_report(docket, docket.job(JOB).proof)
    rect = on_page(report, 2, 14, 20, page=viewer.pdf.pages[0])
    viewer.put("Highlight", rect, "odd", QuadPoints=quad(rect))
    taken(docket, viewer)
    found = docket.job(JOB).at("1/F5")
    assert (found.printed, found.wanted, found.decision.what) == ("snmmer", "summer", "query")


def test_a_note_in_the_margin_is_of_the_line_beside_it(docket, viewer) -> None:
    report = stored_report(docket, docket.job(JOB).proof)
    left, low, _, high = on_page(report, 3, 0, 1, page=viewer.pdf.pages[0])
    viewer.put("FreeText", [left - 60, low, left - 10, high], "set in italic?")
    taken(docket, viewer)
    found = docket.job(JOB).at("1/F5")
    assert (found.line, found.decision.what, found.decision.note) == (3, "query", "set in italic?")


def test_a_strike_out_with_a_caret_of_its_group_is_matter_replaced(docket, viewer) -> None:
    report = stored_report(docket, docket.job(JOB).proof)
    rect = on_page(report, 2, 14, 20, page=viewer.pdf.pages[0])
    caret = viewer.put("Caret", [rect[2] - 2, rect[1], rect[2] + 2, rect[3]], "summer")
    viewer.put("StrikeOut", rect, QuadPoints=quad(rect), IRT=caret, RT=Name.Group)
    result = taken(docket, viewer)
    found = docket.job(JOB).at("1/F5")
    assert len(result.lines) == 1
    assert (found.printed, found.wanted, found.decision.what) == ("snmmer", "summer", "correct")


def test_a_strike_out_over_two_lines_is_a_mark_on_each(docket, viewer) -> None:
    report = stored_report(docket, docket.job(JOB).proof)
    page = viewer.pdf.pages[0]
    rects = [on_page(report, 3, 21, 38, page=page), on_page(report, 4, 0, 7, page=page)]
    corners = Array([*quad(rects[0]), *quad(rects[1])])
    viewer.put("StrikeOut", rects[0], QuadPoints=corners)
    assert taken(docket, viewer).left == 0
    found = [docket.job(JOB).at(f"1/F{n}") for n in (5, 6)]
    assert [each.line for each in found] == [3, 4]
    assert found[1].printed == "Tickets "


def test_what_is_called_off_says_nothing_or_stands_nowhere_is_not_taken(docket, viewer) -> None:
    report = stored_report(docket, docket.job(JOB).proof)
    rect = on_page(report, 1, 4, 11, page=viewer.pdf.pages[0])
    off = viewer.put("Highlight", rect, "odd", QuadPoints=quad(rect))
    viewer.who = "E.F."
    viewer.reply(off, state="Rejected")
    viewer.put("Highlight", rect, "", QuadPoints=quad(rect))
    viewer.put("Text", [2, 2, 12, 12], "a note at the very foot")
    result = taken(docket, viewer)
    told = " ".join(words(result))
    assert len(docket.job(JOB).proof.found) == 4
    assert "called off by E.F." in told
    assert "says nothing" in told
    assert "no line stands there" in told
    assert result.left == 2


def test_what_was_replied_to_a_mark_of_one_s_own_is_its_note_and_no_matter(docket, viewer) -> None:
    report = stored_report(docket, docket.job(JOB).proof)
    left, low, _, high = on_page(report, 4, 19, 19, page=viewer.pdf.pages[0])
    caret = viewer.put("Caret", [left - 3, low, left + 3, high], "the")
    taken(docket, viewer)
    viewer.who = "E.F."
    viewer.reply(caret, "yes, I missed it too")
    result = taken(docket, viewer)
    assert [line.before for line in result.lines] == [True], "a reply makes no second mark of it"
    other = Viewer(viewer.saved(), "G.H.")
    rect = on_page(report, 1, 12, 16, page=other.pdf.pages[0])
    struck = other.put("StrikeOut", rect, "BRASS", QuadPoints=quad(rect))
    other.reply(struck, "are you sure?")
    taken(docket, other)
    found = docket.job(JOB).at("1/F6")
    assert (found.wanted, found.decision.note) == ("BRASS", "G.H.: are you sure?")


def test_who_is_called_as_the_tool_is_heard_all_the_same(docket, viewer) -> None:
    viewer.who = "proofcheck"
    viewer.reply("F1", state="Accepted")
    rect = on_page(stored_report(docket, docket.job(JOB).proof), 2, 5, 9,
                   page=viewer.pdf.pages[0])  # fmt: skip
    viewer.put("Highlight", rect, "odd", QuadPoints=quad(rect))
    assert [line.recorded for line in taken(docket, viewer).lines] == [True, True]


def test_what_is_said_of_a_place_that_was_not_read_is_told(docket, viewer) -> None:
    place = viewer.put("Square", [10, 10, 40, 40], "Not read: 3 × 3 mm", Subj=String("not read"),
                       T=String("proofcheck"))  # fmt: skip
    viewer.reply(place, "a thumb mark")
    result = taken(docket, viewer)
    assert "a thumb mark" in words(result)[0]
    assert result.left == 1


def test_a_page_that_lost_its_data_still_gives_its_replies(docket, viewer) -> None:
    """A viewer may write pages anew; the names of the marks say whose they are."""
    del viewer.pdf.pages[0]["/PieceInfo"]
    viewer.reply("F1", state="Accepted")
    viewer.put("Highlight", [50, 50, 90, 60], "odd")
    result = taken(docket, viewer)
    assert decision(docket, "1/F1")[0] == "correct"
    assert "can't be told" in words(result)[1]


# --------------------------------------------------------------------------- the wrong file


def refused(docket, data, match):
    before = docket.last_number()
    with pytest.raises(DocketError, match=match) as caught:
        take_marked(docket, Original("back.pdf", data), by="B.A.")
    assert "\n" not in str(caught.value)
    assert docket.last_number() == before


def test_a_proof_of_another_docket_is_refused(viewer, tmp_path) -> None:
    """The same job and scan, by number and name, but another record."""
    other = with_proof(tmp_path)
    amended = open_docket(tmp_path / "docket.db")
    viewer.reply("F1", state="Accepted")
    job = amended.job(JOB)
    assert (job.number, len(job.proofs)) == (JOB, 1)
    refused(other, viewer.saved(), "of another docket")
    empty = open_docket(tmp_path / "empty.db", create=True)
    open_job(empty, JOB, {}, by="B.A.")
    refused(empty, viewer.saved(), "of another docket")


def test_files_that_are_no_marked_proof_are_refused_in_a_line(docket, viewer) -> None:
    held = marked_proof(docket)
    refused(docket, b"", "no PDF that can be read")
    refused(docket, b"%PDF-1.7 and no more", "no PDF that can be read")
    refused(docket, held[: len(held) // 3], "no PDF|not the marked proof")
    blank = pikepdf.new()
    blank.add_blank_page()
    out = io.BytesIO()
    blank.save(out)
    refused(docket, out.getvalue(), "not the marked proof of a docket")
    out = io.BytesIO()
    viewer.pdf.save(out, encryption=pikepdf.Encryption(owner="o", user="u"))
    refused(docket, out.getvalue(), "locked by a password")


def test_a_proof_drawn_without_a_docket_is_told_from_others(docket, viewer) -> None:
    for note in viewer.marks().values():
        note.NM = String("F1")
    del viewer.pdf.pages[0]["/PieceInfo"]
    refused(docket, viewer.saved(), "drawn without a docket")


def test_a_file_with_marks_of_two_proofs_is_refused(docket, viewer) -> None:
    name = str(viewer.marks()["F1"].NM).replace(":1:", ":2:", 1)
    viewer.put("Highlight", [0, 0, 9, 9], NM=String(name))
    viewer.pdf.pages[0].Annots[-1].NM = String(name)
    refused(docket, viewer.saved(), "more than one proof")


def test_marks_nobody_answered_come_to_nothing(docket, viewer) -> None:
    result = taken(docket, viewer)
    assert (result.lines, result.left) == ((), 0)


ODD = st.one_of(
    st.integers(-9, 9), st.text(max_size=8).map(String), st.just(Name.Odd), st.booleans(),
    st.just(Array([])), st.just(Array([1, Name.A, 3])), st.just(Dictionary(A=1)),
    st.floats(allow_nan=False, allow_infinity=False, min_value=-1e9, max_value=1e9),
)  # fmt: skip
KEYS = ["NM", "T", "Contents", "M", "State", "StateModel", "RT", "IRT", "Rect", "QuadPoints",
        "Subtype"]  # fmt: skip


@settings(max_examples=40, derandomize=True,
          suppress_health_check=[HealthCheck.function_scoped_fixture])  # fmt: skip
@given(held=st.dictionaries(st.sampled_from(KEYS), ODD, max_size=6))
def test_annotations_with_odd_values_are_passed_over_or_told(docket, begun_once, held) -> None:
    viewer = Viewer(begun_once[1])
    viewer.reply("F1", state="Accepted")
    viewer.put("Highlight", [10, 10, 60, 20], "x")
    for key, value in held.items():
        viewer.pdf.pages[0].Annots[-1][f"/{key}"] = value
    taken(docket, viewer, only_show=True)


def test_annotations_that_answer_one_another_in_a_circle_are_no_trap(docket, viewer) -> None:
    one = viewer.put("Text", [0, 0, 9, 9], "a")
    two = viewer.put("Text", [0, 0, 9, 9], "b", IRT=one)
    one.IRT = two
    taken(docket, viewer)
    assert len(docket.job(JOB).proof.found) == 4


def test_the_command_says_what_became_of_each(docket, viewer, tmp_path) -> None:
    viewer.reply("F1", state="Accepted")
    viewer.reply("F2", "who knows")
    back = tmp_path / "back.pdf"
    back.write_bytes(viewer.saved())

    def take(*more):
        place = ["--docket", docket.store.place]
        return CliRunner().invoke(app, ["docket", "take", str(back), *more, *place])

    shown = take("--show")
    assert "1 thing to record, 1 to be seen to" in shown.stdout
    done = take()
    assert done.exit_code == 1
    assert "+ 1/1, line 2: correct, C.D." in done.stdout
    assert "! 1/2, line 3: “who knows” decides nothing" in done.stdout
    assert "= 1/1, line 2: correct, C.D. (was: correct, C.D.): taken before" in take().stdout


def test_after_the_customers_ok_a_reply_on_paper_needs_its_reason(docket, viewer) -> None:
    for fault in "1234":
        decide(docket, JOB, fault, "stand", by="C.D.")
    sign_off(docket, JOB, Word("ok", "the secretary", "in person"))
    viewer.who = "E.F."
    viewer.reply("F1", state="Accepted")
    assert "needs a reason: write it in a reply" in words(taken(docket, viewer, only_show=True))[0]
    assert taken(docket, viewer).left == 1
    viewer.reply("F1", "the name is wrong")
    shown = words(taken(docket, viewer, only_show=True))[0]
    assert "both stand till it is settled" in shown
    assert taken(docket, viewer).left == 0
    found = docket.job(JOB).at("1/F1")
    assert [one.by for one in (*found.others, found.decision)] == ["C.D.", "E.F."]
    assert any(r.key == "disputed:1/F1" for r in reasons_against(docket.job(JOB)))
