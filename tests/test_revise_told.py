"""A revise as it is shown, and as the docket records it."""

from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pikepdf
import pytest
import typer
from docket_cases import JOB, Clock, quick_folder
from PIL import Image
from revise_cases import notice, pulled
from test_revise import corrected, faulty, first
from typer.testing import CliRunner
from typesetter import swap_lines

from proofcheck.base.errors import OutputError
from proofcheck.base.options import Options
from proofcheck.cli.docket_group import add_docket
from proofcheck.docket import (
    ProofTaken,
    Word,
    clear_for_press,
    decide,
    open_docket,
    open_job,
    pull_proof,
    sign_off,
    take_copy,
)
from proofcheck.docket.decided import paper_of
from proofcheck.docket.originals import Original
from proofcheck.papers_job import revise_job_of, write_revise_papers
from proofcheck.read_job import Progress
from proofcheck.results.marked.paint_pdf import paint_pages
from proofcheck.results.marked.paint_png import paint_png
from proofcheck.results.report_json import report_to_json
from proofcheck.revise import compare_proofs
from proofcheck.revise.marked import marked_pages
from proofcheck.revise.record import asked_of, findings_data, revise_data, to_put_back
from proofcheck.revise.revise_errors import ReviseError
from proofcheck.revise.revise_job import Read
from proofcheck.revise.revise_page import revise_html
from proofcheck.revise.revise_report import revise_json, revise_list

SCANS = {"first": b"scan of the first proof", "revise": b"scan of the revise"}


@pytest.fixture
def tmp_path():
    with quick_folder() as folder:
        yield folder


@pytest.fixture(scope="module")
def muddled():
    """Line 4 corrected, line 8 not, lines 10 and 11 swapped."""
    later = pulled(swap_lines(corrected(4), 10, 11), 31)
    return later, compare_proofs(first(), later)


def test_the_report_says_made_missed_and_new(muddled):
    later, told = muddled
    text = revise_list(told, first(), later)
    assert text.splitlines()[0].startswith("Revise: 1 made, 0 partly, 1 missed; 1 new;")
    assert "✓" in text
    assert "changed places" in text
    assert revise_list(told, first(), later, ascii_only=True).isascii()
    data = json.loads(revise_json(told, first(), later))
    assert [c["made"] for c in data["corrections"]] == ["made", "missed"]
    assert data["clean"] is False
    assert len(data["slugs"]) == len(later.lines)


@lru_cache(maxsize=1)
def on_two_sheets():
    """Ten slugs, five a sheet: line 4 corrected, line 8 not, 9 and 10 swapped."""
    before = pulled(faulty(), 35, sheets=2)
    later = pulled(swap_lines(corrected(4), 10, 11), 36, sheets=2, copy=notice().copy)
    return before, later, compare_proofs(before, later)


def test_of_several_sheets_every_line_is_named_by_sheet_and_line():
    before, later, told = on_two_sheets()
    sheets = [sum(line.sheet == number for line in later.lines) for number in (0, 1)]
    text = revise_list(told, before, later)
    swapped = f"slugs 2·{10 - sheets[0]} and 2·{11 - sheets[0]} have changed places"
    page = revise_html(told, before, later)
    for shown in (text, page):
        assert swapped in shown
    assert re.search(r"✓ +1/1 +line 1·4 ", text)
    assert re.search(rf"missed +1/2 +line 2·{8 - sheets[0]} ", text)
    assert "line 1·4 of the earlier proof" in page
    again = re.search("read whole: lines (.*) of", text)[1]
    assert all(re.fullmatch(r"[12]·\d+", name) for name in again.split(", "))
    # The record keeps the numbers, by which the next revise knows what this one found.
    assert [f["words"] for f in findings_data(told)] == ["slugs 10 and 11 have changed places"]


def test_the_page_shows_old_over_new_and_carries_no_script(muddled):
    later, told = muddled
    page = revise_html(told, first(), later, title="Job 1042 <b>\u202e")
    assert page.count("<img ") == 6
    assert "<script" not in page
    assert "<b>" not in page
    assert "\u202e" not in page
    assert page.index("earlier proof</figcaption>") < page.index("revise</figcaption>")


def test_the_marked_revise_has_ink_in_its_margins(muddled):
    later, told = muddled
    pages = marked_pages(told, first(), later, "Job 1042: revise")
    assert len(pages) == 1
    assert paint_pages(pages, "revise").startswith(b"%PDF")
    picture = Image.open(io.BytesIO(paint_png(pages[0]))).convert("RGB")
    sheet = later.sheets[0].image.shape[1]
    right = picture.crop((pages[0].at[0] + sheet, 0, picture.width, picture.height))
    r, g, b = (np.asarray(right)[..., k].astype(int) for k in range(3))
    red = int(((r > 150) & (g < 90) & (b < 90)).sum())
    assert red > 200


def begun(folder):
    docket = open_docket(folder / "docket.db", create=True, clock=Clock())
    open_job(docket, JOB, {}, by="P.C.")
    report = first()
    copy = Original("notice.txt", report.copy.text.encode())
    take_copy(docket, JOB, report.copy, copy, by="P.C.")
    record(docket, report, "first")
    for found in docket.job(JOB).undecided:
        decide(docket, JOB, found.ref, "correct", by="B.A.")
    sign_off(docket, JOB, Word("ok-with-corrections", "the secretary", "in person"))
    return docket


def record(docket, report, which, told=None):
    job, earlier = docket.job(JOB), first()
    data = report_to_json(report)
    data["made"]["settings"] = Options().as_settings()
    data["made"]["reader"] = Options().reader
    scan = Original(f"{which}.png", SCANS.get(which, which.encode()))
    for place in data["scans"]:
        place["sha256"] = scan.reference()["sha256"]
    revise = findings = None
    if told is not None:
        revise = revise_data(job, asked_of(job, earlier), (earlier, report), told)
        findings = findings_data(told)
    pull_proof(
        docket,
        JOB,
        ProofTaken(data, (scan,), revise=revise, findings=findings or (), here=True),
        by="B.A.",
    )


def keys(docket):
    return [reason.key for reason in clear_for_press(docket, JOB).reasons]


def test_a_revise_with_all_made_clears_a_job_okd_with_corrections(tmp_path):
    docket = begun(tmp_path)
    later = pulled(corrected(4, 8), 32)
    record(docket, later, "revise", compare_proofs(first(), later))
    assert keys(docket) == []


def test_a_finding_left_as_it_was_is_not_made_by_nothing_moving_again(tmp_path):
    """Slugs swapped on the revise, decided to be corrected, and pulled again as they stood."""
    docket = begun(tmp_path)
    swapped = swap_lines(corrected(4, 8), 10, 11)
    later = pulled(swapped, 33, copy=first().copy.text)
    record(docket, later, "revise", compare_proofs(first(), later))
    for found in docket.job(JOB).undecided:
        decide(docket, JOB, found.ref, "correct", by="B.A.")
    again = pulled(swapped, 34, copy=first().copy.text)
    told = compare_proofs(later, replace(again, faults=()), [])
    data = revise_data(docket.job(JOB), asked_of(docket.job(JOB), later), (later, again), told)
    assert told.findings == ()
    assert set(data["corrections"].values()) == {"missed"}


def test_what_a_revise_found_out_of_its_place_and_is_put_back_is_made(tmp_path):
    docket = begun(tmp_path)
    swapped = swap_lines(corrected(4, 8), 10, 11)
    later = pulled(swapped, 33, copy=first().copy.text)
    record(docket, later, "revise", compare_proofs(first(), later))
    for found in docket.job(JOB).undecided:
        decide(docket, JOB, found.ref, "correct", by="B.A.")
    job = docket.job(JOB)
    assert to_put_back(job) == {10, 11}
    asked = asked_of(job, later)
    again = replace(pulled(corrected(4, 8), 35, copy=first().copy.text), faults=())
    told = compare_proofs(
        later, again, [f for f in asked.values() if f], number=3, to_put_back=to_put_back(job)
    )
    assert told.findings == ()
    made = revise_data(job, asked, (later, again), told)["corrections"]
    assert set(made.values()) == {"made"}
    (own,) = (f.ref for f in job.corrections if f.status == "revise")
    # And by itself, where no fault of the reading says as much.
    told = compare_proofs(later, again, [], to_put_back=to_put_back(job))
    assert told.findings == ()
    assert revise_data(job, {}, (later, again), told)["corrections"][own] == "made"
    # Another pair swapped by the way is told, and does not make the first less made.
    other = pulled(swap_lines(corrected(4, 8), 2, 3), 36, copy=first().copy.text)
    told = compare_proofs(later, replace(other, faults=()), [], to_put_back=to_put_back(job))
    assert [f.kind.value for f in told.findings] == ["slugs-swapped"]
    assert revise_data(job, {}, (later, other), told)["corrections"][own] == "made"


def test_a_muddled_revise_says_every_reason(tmp_path, muddled):
    docket = begun(tmp_path)
    later, told = muddled
    record(docket, later, "revise", told)
    assert keys(docket) == [
        *(f"undecided:{f.ref}" for f in docket.job(JOB).undecided),
        "correction:1/F2",
    ]
    assert {f.kind for f in docket.job(JOB).proof.found} >= {"slugs-swapped"}


def test_a_revise_leaves_all_that_a_first_reading_leaves(tmp_path, muddled):
    later, told = muddled
    asked = revise_job_of([tmp_path / "scan.png"], tmp_path, job="Job 7")
    write_revise_papers(Read(told, first(), later), asked, Progress(None))
    names = {path.name for path in tmp_path.iterdir()}
    assert names >= {
        "scan-marked.png", "scan-marked.pdf", "scan-marked.html", "scan-corrections.csv",
    }  # fmt: skip
    text = (tmp_path / "scan-corrections.csv").read_text("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert [row["proof"] for row in rows] == ["2"] * len(later.faults)
    with pytest.raises(OutputError, match="exists already"):
        write_revise_papers(Read(told, first(), later), asked, Progress(None))


def test_a_revise_of_a_docketed_job_leaves_papers_that_can_be_taken_back_in(tmp_path, muddled):
    """Its marked proof names the proof, as those drawn from the docket do."""
    docket = begun(tmp_path)
    later, told = muddled
    record(docket, later, "revise", told)
    job = docket.job(JOB)
    asked = revise_job_of([tmp_path / "scan.png"], tmp_path, job=f"Job {JOB}")
    write_revise_papers(Read(told, first(), later), asked, Progress(None), job)
    with pikepdf.open(tmp_path / "scan-marked.pdf") as pdf:
        private = pdf.pages[0].PieceInfo["/Proofcheck"].Private
        assert str(private.Paper) == paper_of(job, job.proof).name


def test_a_revise_on_the_command_line_needs_something_to_go_by(tmp_path):
    app = typer.Typer()
    add_docket(app)
    scan = tmp_path / "scan.png"
    scan.write_bytes(b"x")
    told = CliRunner().invoke(app, ["revise", str(scan)])
    assert isinstance(told.exception, ReviseError)
    (tmp_path / "scan-revise.pdf").write_bytes(b"x")
    told = CliRunner().invoke(app, ["revise", str(scan)])
    assert "exists already" in str(told.exception)
