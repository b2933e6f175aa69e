"""One numbering from proof to proof: "2/4" is the fourth of the second, wherever it is told."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re

import pikepdf
import pytest
from docket_cases import JOB, begun, decide_all, ok, pull, quick_folder, report_on, shown_made
from markup_cases import fault, sheet
from report_cases import programme

from proofcheck.base.fault_numbers import (
    named_in_full,
    names_in_full,
    proof_name,
    proof_numbered,
    shown_number,
    shown_ref,
)
from proofcheck.docket import People, ProofTaken, pull_proof
from proofcheck.docket.against import reasons_against
from proofcheck.docket.canonical import sha256_of
from proofcheck.docket.decisions import decide_several
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.history_page import job_html
from proofcheck.docket.named_lines import named_lines
from proofcheck.docket.originals import Original
from proofcheck.docket.own_marks import OwnMark, mark_own
from proofcheck.docket.show import job_text
from proofcheck.docket.which_proof import proof_meant
from proofcheck.recast.plan import RecastPlan, StoneWork, TakenOut
from proofcheck.results.castlists import machine_entries, stone_entries
from proofcheck.results.castlists.list_words import numbered_plan
from proofcheck.results.lists import correction_csv, correction_list
from proofcheck.results.marked import Heading, lay_out
from proofcheck.results.marked.annotations import annotation
from proofcheck.results.marked.labels import sign_numbers
from proofcheck.results.page.fault_page import page_html
from proofcheck.results.sealing import sealed


@pytest.fixture
def docket():
    with quick_folder() as folder:
        yield begun(folder)


@pytest.mark.parametrize(
    ("said", "meant"),
    [("4", "2/F4"), ("F4", "2/F4"), ("f4", "2/F4"), ("1/4", "1/F4"), ("1 / F4", "1/F4"),
     ("R1", "2/R1"), ("2/r1", "2/R1")],
)  # fmt: skip
def test_what_is_said_is_what_is_meant(said, meant):
    assert named_in_full(said, 2) == meant
    assert named_in_full(shown_ref(meant), 7) == meant


def test_stretches_of_numbers_are_said_in_one():
    assert names_in_full("F1-F3, 5", 2) == ("2/F1", "2/F2", "2/F3", "2/F5")
    assert names_in_full("1/2-4 2/1-2/2,1/3", 3) == ("1/F2", "1/F3", "1/F4", "2/F1", "2/F2")
    assert names_in_full("R1 – R2", 2) == ("2/R1", "2/R2")
    assert names_in_full(" , ", 2) == ()
    for wrong in ("5-3", "1/2-2/4", "F1-R3", "1-", "-3", "a-b", "1-99999", "1-2-3"):
        with pytest.raises(ValueError, match=r"no stretch|no fault to a later"):
            names_in_full(wrong, 2)


def test_a_proof_is_known_by_its_name_in_the_series():
    for number in range(1, 11):
        assert proof_numbered(proof_name(number)) == number
        assert proof_numbered(str(number)) == number
    assert proof_numbered("First") == proof_numbered("galley") == proof_numbered("") == 1


def test_several_are_decided_by_a_stretch_and_none_where_one_is_wrong(docket):
    pull(docket)
    with pytest.raises(DocketError, match=r"no fault 1/5 .*has: 1/1, 1/2, 1/3, 1/4"):
        decide_several(docket, JOB, "F1-F5", "stand", by="B.A.")
    with pytest.raises(DocketError, match="3-1 goes from no fault"):
        decide_several(docket, JOB, "3-1", "stand", by="B.A.")
    assert docket.job(JOB).undecided == docket.job(JOB).found
    decide_several(docket, JOB, "F1-F3", "stand", by="B.A.")
    assert [f.shown for f in docket.job(JOB).undecided] == ["1/4"]


def test_a_number_means_one_proof_wherever_it_is_said(docket):
    with pytest.raises(DocketError, match="no proof yet"):
        proof_meant(docket.job(JOB))
    pull(docket)
    decide_all(docket)
    pull(docket, b"revise", revise=shown_made(docket))
    job = docket.job(JOB)
    assert [proof_meant(job, n).number for n in (1, 2, None, 0)] == [1, 2, 2, 2]
    for number in (-1, 3):
        with pytest.raises(DocketError, match=f"no proof {number}; it has 2"):
            proof_meant(job, number)
        with pytest.raises(DocketError, match=f"no proof {number}; it has 2"):
            ok(docket, proof=number)
        with pytest.raises(DocketError, match=f"no proof {number}; it has 2"):
            mark_own(docket, JOB, OwnMark(1, 0, 1, "x"), by="B.A.", proof=number)


def test_the_docket_never_shows_the_name_on_record(docket):
    pull(docket)
    decide_all(docket)
    pull(docket, b"revise", revise=shown_made(docket, **{"1/F2": "missed"}))
    job = docket.job(JOB)
    reasons = " ".join(reason.words for reason in reasons_against(job))
    told = job_text(job, docket.shop) + job_html(job, docket.shop) + reasons
    assert {"2/1", "2/4", "1/2"} <= set(re.findall(r"\b[0-9]/[0-9]\b", told))
    assert not re.findall(r"\b[0-9]/F[0-9]|\bF[0-9]", told)


def test_of_several_sheets_the_docket_names_lines_by_sheet_and_line(docket):
    report = report_on(docket)
    report["scans"].append(report["scans"][0] | {"sha256": sha256_of(b"second sheet")})
    for line in report["lines"][2:]:
        line["scan"] = 1
    scans = (Original("1.png", b"first"), Original("2.png", b"second sheet"))
    taken = ProofTaken(report | sealed(report), scans, People(reader="B.A."), None, (), here=True)
    pull_proof(docket, JOB, taken, by="B.A.")
    job = docket.job(JOB)
    lines = {found.line for found in job.found}
    assert min(lines) <= 2 < max(lines)
    wanted = {f"1·{n}" if n <= 2 else f"2·{n - 2}" for n in lines}
    names = named_lines(docket, job)
    told = job_text(job, docket.shop, names=names)
    assert set(re.findall(r"line ([12]·[0-9]+) ", told)) == wanted
    page = job_html(job, docket.shop, names=names)
    assert set(re.findall(r"<td>([12]·[0-9]+)</td>", page)) == wanted


def test_lists_page_and_marked_proof_have_the_same_numbers():
    report = programme()
    wanted = [f"2/{n}" for n in range(1, len(report.faults) + 1)]
    for width in (100, 60):
        listed = correction_list(report, width=width, proof=2)
        assert re.findall(r"^ *(2/[0-9]+)", listed, re.MULTILINE) == wanted
    rows = csv.DictReader(io.StringIO(correction_csv(report, 2)))
    assert {row["proof"] for row in rows} == {"2"}
    page = page_html(report, proof=2)
    assert re.findall(r'class="number">([^<]*)<', page) == wanted
    assert "F1 on the proof" not in page


def test_a_viewer_of_the_marked_proof_lists_the_numbers_and_they_stand_in_its_margin():
    page_sheet, lines = sheet()
    faults = [fault(lines[3], number=2), fault(lines[7], number=3, at=0.8)]
    heading = Heading("Concert", "revise", dt.date(2026, 5, 4), 2, 0, number=2)
    (page,) = lay_out([page_sheet], lines, faults, heading).pages
    assert [mark.number for mark in page.text_marks] == ["2/2", "2/3"]
    named = sign_numbers(page.signs, 2, 20.0)
    for (_, rect), sign in zip(named, page.signs, strict=True):
        assert rect.left > sign.rect.right or rect.right < sign.rect.left
        assert 0 < rect.left < rect.right < page.width_px
    pdf = pikepdf.new()
    made = annotation(pdf, pdf.add_blank_page(), page.text_marks[0], (1.0, 800.0), None)
    assert "no. 2/2" in str(made.Contents)


def test_the_cast_list_has_them_too():
    plan = RecastPlan((), (TakenOut(3, "F2"),), (), (StoneWork(1, "push", "F4"),))
    told = numbered_plan(plan, 3)
    words = " ".join(entry.words for entry in (*machine_entries(told), *stone_entries(told)))
    assert "(3/2)" in words
    assert "(3/4)" in words
    assert shown_number(3, "R2") == "3/R2"
