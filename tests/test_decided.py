"""What was decided stands in the papers: dots and "stet", queries, the reader's own marks.

The meaning of stet (dots under what is struck out, "stet" in the margin: let it stand) is in the
printed tables of 1913 and 1922 that the table of marks names.
"""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import cv2
import pikepdf
import pytest
from desk_cases import with_proof
from docket_cases import JOB, begun, quick_folder, record_on
from report_cases import programme
from test_marked_back import signed_right
from test_marks_assign import CASES, difference
from typer.testing import CliRunner

from proofcheck.base.found import Status, Verdict
from proofcheck.base.values import Box, Span
from proofcheck.cli.program import app
from proofcheck.docket import People, ProofTaken, clear_for_press, decide, open_docket, pull_proof
from proofcheck.docket.canonical import sha256_of
from proofcheck.docket.decided import decided_report
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.figures import figures_of
from proofcheck.docket.originals import Original
from proofcheck.docket.own_marks import OwnMark, mark_own
from proofcheck.docket.recording import stored_copy
from proofcheck.docket.verify import verify
from proofcheck.marks import mark_for, query_mark
from proofcheck.marks.assign import plain_mark
from proofcheck.results.marked.labels import foot_labels
from proofcheck.results.page.fault_page import page_html
from proofcheck.results.ruled import Ruling, ruled


@pytest.fixture
def docket(tmp_path):
    """A docket with a job whose first proof has three faults and a query."""
    with quick_folder() as folder:
        held = begun(folder)
        report = programme()
        scan = cv2.imencode(".png", report.sheets[0].image)[1].tobytes()
        copy = stored_copy(held, held.job(JOB).copy)
        sheet = replace(report.sheets[0].scan, sha256=sha256_of(scan))
        report = replace(report, copy=copy, sheets=(replace(report.sheets[0], scan=sheet),))
        taken = ProofTaken.of(report, [Original("proof.png", scan)], People())
        pull_proof(held, JOB, taken, by="B.A.")
        yield held


def drawn(docket):
    return {f.id: f for f in decided_report(docket, docket.job(JOB).proof).faults}


@pytest.mark.parametrize("case", CASES, ids=str)
def test_a_query_granted_is_marked_as_it_would_have_been(case) -> None:
    kind, proof, copy = case[:3]
    mark = mark_for(difference(kind, proof, copy))
    assert plain_mark(query_mark(mark)) == mark


def test_what_is_decided_is_drawn(docket) -> None:
    decide(docket, JOB, "1", "stand", by="B.A.", note="as the customer spells it")
    decide(docket, JOB, "2", "sound", by="B.A.")
    decide(docket, JOB, "3", "query", by="B.A.", note="is “the” wanted?")
    decide(docket, JOB, "4", "correct", by="B.A.")
    faults = drawn(docket)
    assert list(faults) == ["F1", "F3", "F4"]
    stood, asked, granted = faults.values()
    assert (stood.status, stood.mark.text, stood.mark.margin) == (Status.STAND, "dots", "stet")
    assert (asked.status, asked.mark.margin) == (Status.QUERY, "(the ?)")
    assert asked.mark.words == "query: is “the” wanted?"
    assert (granted.status, granted.mark.margin) == (Status.FAULT, "⊙")


def test_only_what_is_to_be_corrected_asks_for_a_slug(docket) -> None:
    decide(docket, JOB, ["1", "3"][0], "stand", by="B.A.")
    decide(docket, JOB, "3", "sound", by="B.A.")
    decide(docket, JOB, "4", "correct", by="B.A.")
    plan = decided_report(docket, docket.job(JOB).proof).recast
    assert {fault for slug in plan for fault in slug.reason} == {"F2", "F4"}


def test_a_proof_of_which_all_was_wrongly_alleged_is_clean_and_is_counted(docket) -> None:
    for number in range(1, 5):
        decide(docket, JOB, str(number), "sound", by="B.A.")
    report = decided_report(docket, docket.job(JOB).proof)
    assert (report.faults, report.verdict) == ((), Verdict.CLEAN)
    counted = figures_of(docket.jobs(), docket.shop)
    assert (counted.alleged_wrongly, counted.faults) == (4, 0)
    assert not [r for r in clear_for_press(docket, JOB).reasons if "undecided" in r.key]


def test_what_stands_is_neither_fault_nor_query_to_the_verdict() -> None:
    report = programme()
    stood = ruled(report, {fault.id: Ruling("stand") for fault in report.faults})
    assert stood.verdict is Verdict.CLEAN
    assert (stood.counts.faults, stood.counts.queries, stood.counts.stand) == (0, 0, 4)
    shown = page_html(stood)
    assert shown.count('<span class="standing">let it stand</span>') == 4
    assert "let stand (4)" in shown
    assert "queries (" not in shown


def test_the_readers_own_mark_is_a_fault_like_any_other(docket) -> None:
    text = docket.job(JOB).copies[0].entry.data["text"]
    mark_own(docket, JOB, OwnMark(4, 25, 25, "the "), by="B.A.")
    mark_own(docket, JOB, OwnMark(1, 4, 5, kind="broken-letter", note="the V"), by="B.A.")
    faults = drawn(docket)
    assert next(iter(faults)) == "F6"  # In the order of the proof, numbered on.
    battered, other = faults["F6"], faults["F5"]
    assert (battered.mark.margin, battered.proof_text) == ("x", "V")
    assert battered.copy == Span(text.index("VILLAGE"), text.index("VILLAGE") + 1)
    assert (other.line, other.status, other.mark.matter) == (4, Status.QUERY, "the")
    found = docket.job(JOB).at("1/F6")
    assert (found.status, found.decision.what, found.charge) == ("reader", "correct", "PE")
    asked = docket.job(JOB).at("1/F5")
    assert (asked.decision.what, asked.charge) == ("query", "AA")  # The copy has no such word.
    assert not verify(docket).troubles


def test_a_rule_marked_by_the_reader_asks_for_no_slug(docket) -> None:
    """Rules and borders are put right at the stone; beside a line of type, they are not of it."""
    for fault in "123":
        decide(docket, JOB, fault, "sound", by="B.A.")
    mark_own(docket, JOB, OwnMark(3, 0, 0, kind="broken-rule", box=Box(10, 20, 300, 8)), by="B.A.")
    mark_own(docket, JOB, OwnMark(2, 0, 0, kind="crooked-rule"), by="B.A.")
    report = decided_report(docket, docket.job(JOB).proof)
    held = {fault.id: fault for fault in report.faults}
    assert held["F5"].box == Box(10, 20, 300, 8)
    assert held["F6"].box == report.line(2).box, "with no box drawn it is beside the whole line"
    assert not report.plan.recasts()
    assert [work.line for work in report.plan.at_stone] == [2, 3]


@pytest.mark.parametrize("box", [
    Box(-1, 0, 9, 9), Box(0, 0, 0, 9), Box(860, 0, 9, 9), Box(0, 560, 9, 99), Box(0, 0, 1 << 40, 9),
])  # fmt: skip
def test_a_box_off_the_sheet_is_refused(docket, box) -> None:
    with pytest.raises(DocketError, match="does not lie on the sheet"):
        mark_own(docket, JOB, OwnMark(3, 0, 0, kind="broken-rule", box=box), by="B.A.")
    for kind in ("", "broken-letter"):
        with pytest.raises(DocketError, match="of a rule or a border"):
            mark_own(docket, JOB, OwnMark(3, 0, 0, kind=kind, box=Box(1, 1, 9, 9)), by="B.A.")
    assert len(docket.job(JOB).proof.found) == 4


def test_a_reader_can_change_his_mind_of_his_own_mark(docket) -> None:
    mark_own(docket, JOB, OwnMark(1, 4, 5, kind="broken-letter"), by="B.A.")
    decide(docket, JOB, "5", "sound", by="B.A.")
    assert "F5" not in drawn(docket)


def test_where_the_copy_bears_the_reader_out_the_slug_is_cast_anew(docket) -> None:
    """The proof has "afterwards" without its point, which the tool only asked about."""
    decide(docket, JOB, "4", "sound", by="B.A.")
    mark_own(docket, JOB, OwnMark(5, 38, 38, "."), by="B.A.")
    report = decided_report(docket, docket.job(JOB).proof)
    assert "F5" in {fault for slug in report.recast for fault in slug.reason}
    assert any("afterwards." in line for slug in report.recast for line in slug.matter)


@pytest.mark.parametrize(("mark", "words"), [
    (OwnMark(9, 0, 1, "x"), "no such place"),
    (OwnMark(1, 0, 99, "x"), "no such place"),
    (OwnMark(1, 5, 4, "x"), "no such place"),
    (OwnMark(1, 0, 1, "T"), "nothing would be changed"),
    (OwnMark(1, 0, 1, kind="wrong-letter"), "no fault of the type"),
])  # fmt: skip
def test_a_mark_that_can_not_be_is_refused(docket, mark, words) -> None:
    entries = len(docket.entries())
    with pytest.raises(DocketError, match=words):
        mark_own(docket, JOB, mark, by="B.A.")
    assert len(docket.entries()) == entries


def test_papers_are_drawn_from_the_docket_alone(docket, tmp_path) -> None:
    decide(docket, JOB, "1", "stand", by="B.A.")
    decide(docket, JOB, "2", "sound", by="B.A.")
    place = ["--docket", str(docket.originals.folder.parent / "docket.db")]

    def papers(*words):
        asked = ["docket", "papers", JOB, "--out", str(tmp_path), *words, *place]
        return CliRunner().invoke(app, asked)

    done = papers()
    assert done.exit_code == 1, done.output
    names = {path.name for path in tmp_path.iterdir()}
    stem = f"{JOB}-1"
    assert {f"{stem}-marked.pdf", f"{stem}-marked.png", f"{stem}-marked.html"} <= names
    with (tmp_path / f"{stem}-corrections.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [(row["fault"], row["status"]) for row in rows] == [
        ("F1", "stand"), ("F3", "fault"), ("F4", "query"),
    ]  # fmt: skip
    assert "exists already" in str(papers().exception)
    assert papers("--overwrite").exit_code == 1


def read_elsewhere(read: Path, folder: Path) -> tuple[Path, Path]:
    """Scan and record of a proof that was read on another docket, laid in a folder."""
    elsewhere = with_proof(read, change=signed_right)
    proof = elsewhere.job(JOB).proof
    scan, record = folder / "proof.png", folder / "record.json"
    scan.write_bytes(elsewhere.originals.read(proof.scans[0]["sha256"]))
    record.write_bytes(elsewhere.originals.read(proof.report_sha256))
    return scan, record


def test_a_proof_pulled_leaves_the_papers_that_read_leaves(tmp_path) -> None:
    """And the very same that are drawn from the docket later, but for what is decided by then."""
    with quick_folder() as read, quick_folder() as here:
        scan, record = read_elsewhere(read, tmp_path)
        begun(here)
        place = ["--docket", str(here / "docket.db")]
        asked = ["--report", str(record), "--by", "B.A.", "--out", str(tmp_path / "pulled")]
        done = CliRunner().invoke(app, ["docket", "pull", JOB, str(scan), *asked, *place])
        assert done.exit_code == 0, done.exception
        assert "change n to u" in done.output
        ends = ("-marked.pdf", "-marked.png", "-marked.html", "-corrections.csv", "-recast.pdf")
        names = {path.name for path in (tmp_path / "pulled").iterdir()}
        assert names == {f"{JOB}-1{end}" for end in ends}
        again = ["docket", "papers", JOB, "--out", str(tmp_path / "again"), *place]
        CliRunner().invoke(app, again)
        assert {path.name for path in (tmp_path / "again").iterdir()} == names


def test_a_proof_pulled_leaves_its_papers_by_the_scan_and_never_over_anything(tmp_path) -> None:
    """As read and revise do; what would lie over a file is refused before it is recorded."""
    with quick_folder() as read, quick_folder() as here:
        scan, record = read_elsewhere(read, here)
        docket = begun(here)
        asked = ["docket", "pull", JOB, str(scan), "--report", str(record), "--by", "B.A.",
                 "--docket", str(here / "docket.db")]  # fmt: skip
        ours = here / f"{JOB}-1-corrections.csv"
        ours.write_text("another's")
        before = {path.name for path in here.iterdir()}
        done = CliRunner().invoke(app, asked)
        assert "exists already" in str(done.exception)
        assert ours.read_text() == "another's"
        assert {path.name for path in here.iterdir()} == before
        assert [entry.kind for entry in docket.entries()] == ["opened", "copy"]
        ours.unlink()
        assert CliRunner().invoke(app, asked).exit_code == 0
        ends = ("-marked.pdf", "-marked.png", "-marked.html", "-corrections.csv", "-recast.pdf")
        names = {path.name for path in here.glob(f"{JOB}-*")}
        assert names == {f"{JOB}-1{end}" for end in ends}


@pytest.mark.parametrize(("more", "status"), [([], 0), (["--out", "papers"], 2)])
def test_a_proof_that_can_not_be_drawn_is_on_record_and_its_lack_of_papers_told(
    more, status, tmp_path, monkeypatch
) -> None:
    """Where they were asked for by a folder the status says so too."""
    monkeypatch.chdir(tmp_path)
    with quick_folder() as here:
        docket = begun(here)
        scan, report = here / "proof.png", here / "report.json"
        scan.write_bytes(b"first")
        report.write_text(record_on(docket))
        asked = ["docket", "pull", JOB, str(scan), "--report", str(report), "--by", "B.A.",
                 "--docket", str(here / "docket.db")]  # fmt: skip
        done = CliRunner().invoke(app, [*asked, *more])
        assert done.exit_code == status
        assert "no papers of it can be drawn: " in done.output
        assert len(docket.job(JOB).proofs) == 1
        assert not list(here.glob(f"{JOB}-*"))


def test_no_papers_are_left_where_none_are_wanted() -> None:
    with quick_folder() as read, quick_folder() as here:
        scan, record = read_elsewhere(read, here)
        docket = begun(here)
        asked = ["docket", "pull", JOB, str(scan), "--report", str(record), "--by", "B.A.",
                 "--docket", str(here / "docket.db"), "--no-papers"]  # fmt: skip
        assert CliRunner().invoke(app, asked).exit_code == 0
        assert len(docket.job(JOB).proofs) == 1
        assert not list(here.glob(f"{JOB}-*"))


def test_what_is_in_dispute_is_drawn_as_undecided_and_says_between_whom(docket, tmp_path) -> None:
    """No decision of two is drawn as the one that holds: neither a slug is cast nor one let be."""
    decide(docket, JOB, "1", "correct", by="B.A.")
    decide(docket, JOB, "1", "sound", by="X.Y.")
    decide(docket, JOB, "2", "sound", by="B.A.")
    decide(docket, JOB, "3", "stand", by="B.A.")
    decide(docket, JOB, "3", "correct", by="X.Y.")
    report = decided_report(docket, docket.job(JOB).proof)
    faults = {fault.id: fault for fault in report.faults}
    said = "in dispute (B.A.: correct; X.Y.: no fault)"
    assert faults["F1"].status is faults["F3"].status is Status.QUERY
    assert faults["F1"].mark.words.startswith(said)
    assert faults["F1"].mark.margin.endswith("?)")
    assert not {"F1", "F3"} & {fault for slug in report.recast for fault in slug.reason}
    note = "1/1 is in dispute, to be settled: B.A.: correct; X.Y.: no fault"
    assert note in report.warnings
    assert note in report.plan.notes
    place = ["--docket", str(docket.originals.folder.parent / "docket.db")]
    done = CliRunner().invoke(app, ["docket", "papers", JOB, "--out", str(tmp_path), *place])
    assert note in " ".join(done.output.split())
    with pikepdf.open(tmp_path / f"{JOB}-1-marked.pdf") as pdf:
        notes = [str(note.get("/Contents", "")) for note in pdf.pages[0].Annots]
    assert any(said in note for note in notes)
    assert said in (tmp_path / f"{JOB}-1-corrections.csv").read_text(encoding="utf-8-sig")
    assert said in (tmp_path / f"{JOB}-1-marked.html").read_text(encoding="utf-8")
    decide(docket, JOB, "1", "sound", by="B.A.")
    assert "F1" not in drawn(docket)


def test_disputes_are_written_at_the_foot_of_the_marked_proof() -> None:
    plain = foot_labels(1500, 2000.0, 20.0)
    told = foot_labels(1500, 2000.0, 20.0, disputes=["1/1 is in dispute", "1/2 is in dispute"])
    assert len(told.inked) == len(plain.inked) + 2
    assert told.height_px > plain.height_px
    lowest = max(
        point[1] for one in told.inked for stroke in one.drawing for point in stroke.points
    )
    assert lowest < 2000 + told.height_px


def test_papers_of_a_scan_that_is_gone_or_was_changed_are_refused(docket, tmp_path) -> None:
    (sha256,) = docket.job(JOB).proof.hashes
    docket.originals.path(sha256).write_bytes(b"another")
    place = str(docket.originals.folder.parent / "docket.db")
    done = CliRunner().invoke(app, ["docket", "papers", JOB, "--docket", place])
    assert done.exit_code != 0
    assert "has been changed" in str(done.exception)


def test_a_docket_with_the_readers_marks_is_read_again_from_disk(docket) -> None:
    mark_own(docket, JOB, OwnMark(1, 4, 5, kind="broken-letter"), by="B.A.")
    again = open_docket(docket.originals.folder.parent / "docket.db")
    assert again.job(JOB).at("1/F5").place["letters"] == [4, 5]
