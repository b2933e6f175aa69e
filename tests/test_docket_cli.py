"""The docket on the command line, and what it shows to people."""

from __future__ import annotations

import json
import random
import re
from datetime import UTC, datetime, timedelta

import pypdfium2
import pytest
import typer
from docket_cases import (
    JOB,
    Clock,
    begun,
    decide_all,
    ok,
    pull,
    quick_folder,
    record_on,
    report_on,
    shown_made,
)
from report_cases import COPY_LINES
from typer.testing import CliRunner

from proofcheck.base.errors import ProofcheckError, SettingError
from proofcheck.cli.docket_group import add_docket
from proofcheck.docket import (
    decide,
    open_docket,
    open_job,
    override,
    verify,
)
from proofcheck.docket.clear import reasons_against
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.figures import figures_of
from proofcheck.docket.given import report_at
from proofcheck.docket.history_page import job_html
from proofcheck.docket.record_words import reason_words, refs_words, waits_for
from proofcheck.docket.shop import Shop, load_shop
from proofcheck.docket.show import job_text, list_text
from proofcheck.papers_job import sign_off_sheet
from proofcheck.results.sealing import laid_out, sealed

NASTY = "<script>alert(1)</script>\u202e\x1b[31m"


@pytest.fixture
def tmp_path():
    with quick_folder() as folder:
        yield folder


@pytest.fixture
def run(tmp_path):
    app = typer.Typer()
    add_docket(app)

    def call(*words):
        place = ["--docket", str(tmp_path / "docket.db")]
        return CliRunner().invoke(app, [*map(str, words), *place])

    return call


def test_a_job_from_the_command_line(tmp_path, run):
    copy = tmp_path / "programme.txt"
    copy.write_text("\n".join(COPY_LINES) + "\n")
    assert run("docket", "open", JOB, "--by", "P.C.", "--customer", "Village band").exit_code == 0
    assert run("docket", "copy", JOB, copy, "--by", "P.C.").exit_code == 0
    assert run("clear", JOB).exit_code == 1
    docket = begun_at(tmp_path)
    scan, report = tmp_path / "proof.png", tmp_path / "report.json"
    scan.write_bytes(b"first")
    report.write_text(record_on(docket))
    done = run(
        "docket", "pull", JOB, scan, "--report", report, "--by", "B.A.", "--operator", "T.W."
    )
    assert done.exit_code == 0, done.exception
    unknown = run("docket", "decide", JOB, "F1,F9", "stand", "--by", "B.A.")
    assert "no fault 1/9" in str(unknown.exception)
    assert docket.job(JOB).undecided == docket.job(JOB).found
    for faults in ("F1", "F2,1/F3"):
        assert run("docket", "decide", JOB, faults, "stand", "--by", "B.A.").exit_code == 0
    assert run("docket", "decide", JOB, "F4", "query", "--by", "B.A.").exit_code == 0
    answer = ("--answer", "no point", "--answered-by", "the secretary")
    assert run("docket", "decide", JOB, "F4", "stand", *answer, "--by", "B.A.").exit_code == 0
    assert run("docket", "sign", JOB, "ok", "--by", "the secretary").exit_code == 0
    told = run("clear", JOB, scan, "--copy", copy)
    assert (told.exit_code, "taken in, not read here" in told.output) == (1, True)
    assert "[taken-in:1]" in run("docket", "vouch", JOB).output
    eyes = ("--by", "B. Adams", "--reason", "read by eye against the copy")
    assert run("docket", "vouch", JOB, "taken-in:1", *eyes).exit_code == 0
    noted = re.search(r"later: (\d+:[0-9a-f]{64})", run("docket", "sign", JOB, "ok", "--by",
                      "the secretary").output)[1]  # fmt: skip
    told = run("clear", JOB, scan, "--copy", copy, "--noted", noted)
    assert "B. Adams answers for: the report on the first proof" in told.output
    assert f"Record: {noted}" in told.output
    assert run("clear", JOB, "--noted", noted.replace(":", ":0")[:-1]).exit_code == 1
    assert (told.exit_code, told.output.splitlines()[0]) == (0, "Clear for press, job 1042: yes")
    assert "O.K." in run("docket", "show", JOB).output
    assert "press" in run("docket", "list").output
    assert "4 faults" not in run("docket", "list", "--figures").output
    assert "O.K. of proof 1" in run("docket", "list", "--day", "today").output
    assert run("docket", "verify").exit_code == 0
    archive = tmp_path / "job.zip"
    assert run("docket", "export", JOB, archive).exit_code == 0
    assert "the archive holds" in run("docket", "verify", archive).output
    again = run("docket", "import", archive, "--by", "X.Y.")
    assert (again.exit_code, "nothing new" in again.output) == (0, True)
    for name, option in (("sheet.pdf", ("sheet", JOB)), ("job.html", ("show", JOB, "--page"))):
        assert run("docket", *option, tmp_path / name).exit_code == 0
        assert (tmp_path / name).stat().st_size > 1000


def begun_at(folder):
    return open_docket(folder / "docket.db")


@pytest.mark.parametrize(
    "words",
    [
        ("docket", "show", "99"),
        ("docket", "list", "--day", "yesterday"),
        ("docket", "verify", "--noted", "x"),
        ("docket", "sheet", JOB, "out.pdf"),
        ("docket", "pull", JOB, "missing.png", "--by", "B.A.", "--report", "missing.json"),
        ("clear", JOB, "--override", "--by", "M.K."),
    ],
)
def test_trouble_is_one_line(tmp_path, run, words):
    begun(tmp_path)
    told = run(*words)
    assert isinstance(told.exception, ProofcheckError)
    assert "\n" not in str(told.exception)


def test_a_report_that_lacks_a_part_is_refused_in_one_line(tmp_path, run):
    docket = begun(tmp_path)
    scan, path = tmp_path / "proof.png", tmp_path / "report.json"
    scan.write_bytes(b"first")
    whole = report_on(docket)
    path.write_text(json.dumps(whole))
    for part in ("report", "verdict", "copy", "scans", "lines", "faults"):
        path.write_text(json.dumps({key: held for key, held in whole.items() if key != part}))
        told = run("docket", "pull", JOB, scan, "--report", path, "--by", "B.A.")
        assert "is no report of a proof" in str(told.exception)
    for part, keys in (("lines", ("box", "copy")), ("faults", ("mark", "proof"))):
        for key in keys:
            spoilt = json.loads(json.dumps(whole))
            del spoilt[part][0][key]
            path.write_text(json.dumps(spoilt))
            told = run("docket", "pull", JOB, scan, "--report", path, "--by", "B.A.")
            assert "is no report of a proof" in str(told.exception)
    assert [entry.kind for entry in docket.entries()] == ["opened", "copy"]


def test_no_report_comes_in_by_hand_but_under_the_name_of_a_person(tmp_path, run):
    docket = begun(tmp_path)
    scan, path = tmp_path / "proof.png", tmp_path / "report.json"
    scan.write_bytes(b"first")
    words = ("docket", "pull", JOB, scan, "--by", "B.A.")
    whole = record_on(docket, faults=False)
    by_hand = {n: v for n, v in json.loads(whole).items() if n not in {"record", "digest"}}
    by_hand |= {"report": 1}
    for text in (
        json.dumps(by_hand),
        whole.replace('"agreement": 0.9', '"agreement": 0.8'),
        # Every value as it was, but not the bytes: sealed, and still not as it was written.
        whole.replace("\n ", "\n  ", 1),
        # Sealed anew over a fault less than its record has.
        laid_out(sealed({**json.loads(record_on(docket)), "warnings": ["all is well"]})),
    ):
        assert text != whole
        path.write_text(text)
        told = run(*words, "--report", path)
        assert "is no report of a proof" in str(told.exception), text[:200]
    assert [entry.kind for entry in docket.entries()] == ["opened", "copy"]
    assert "give that with --report" in str(run(*words, "--read-by", "B. Adams").exception)
    path.write_text(json.dumps(by_hand))
    assert run(*words, "--report", path, "--read-by", "B. Adams").exit_code == 0
    signed = run("docket", "sign", JOB, "ok", "--by", "the secretary")
    read = "read by a person, B. Adams, and by no program"
    assert read in signed.output
    assert f"the first proof was {read} [by-person:1]" in run("clear", JOB).output
    shown = run("docket", "show", JOB).output
    assert shown.count(read) == 3  # of the proof, of the O.K., and why it is not clear
    sheet = told_on(sign_off_sheet(docket, docket.job(JOB)))
    assert read in sheet
    # No scan of it can be opened: the sheet says so where its picture would be.
    assert "No picture the proof can't be shown here: " in sheet
    eyes = ("--by", "B. Adams", "--reason", "read aloud with the copyholder")
    assert run("docket", "vouch", JOB, "by-person:1", *eyes).exit_code == 0
    assert run("clear", JOB).exit_code == 0
    assert verify(docket).troubles == ()


def test_a_record_taken_in_is_whole_to_the_last_byte(tmp_path):
    docket = begun(tmp_path)
    path = tmp_path / "report.json"
    whole = record_on(docket).encode("ascii")
    path.write_bytes(whole)
    report_at(path)
    rng = random.Random(7)
    for at in (*rng.sample(range(len(whole)), 60), len(whole) - 1):
        spoilt = bytearray(whole)
        spoilt[at] ^= 1 << rng.randrange(7)
        path.write_bytes(bytes(spoilt))
        with pytest.raises(DocketError, match="is no report of a proof"):
            report_at(path)


def test_hostile_text_neither_breaks_nor_injects(tmp_path):
    docket = begun(tmp_path)
    open_job(docket, "1043", {"customer": NASTY, "remarks": NASTY}, by="P.C.")
    pull(docket)
    decide(docket, JOB, "F1", "query", by="B.A.", note=NASTY)
    for number in (JOB, "1043"):
        job = docket.job(number)
        page = job_html(job, Shop())
        assert "<script" not in page
        assert "\u202e" not in page + job_text(job, Shop())
        assert "\x1b" not in page + job_text(job, Shop()) + list_text([job])
        assert len(re.findall(r"default-src 'none'", page)) == 1


def test_each_job_says_whom_it_waits_for(tmp_path):
    docket = begun(tmp_path)
    told = [waits_for(docket.job(JOB))[0]]
    pull(docket)
    told.append(waits_for(docket.job(JOB))[0])
    decide(docket, JOB, "F4", "query", by="B.A.")
    decide_all(docket)
    told.append(waits_for(docket.job(JOB))[0])
    decide(docket, JOB, "F4", "correct", by="B.A.")
    told.append(waits_for(docket.job(JOB))[0])
    pull(docket, b"revise", faults=False, revise=shown_made(docket))
    told.append(waits_for(docket.job(JOB))[0])
    ok(docket)
    told.append(waits_for(docket.job(JOB))[0])
    assert told == ["operator", "reader", "customer", "corrector", "customer", "press"]


def test_a_job_ordered_to_press_waits_for_the_press_and_says_by_whose_order(tmp_path):
    docket = begun(tmp_path)
    pull(docket, faults=False)
    override(docket, JOB, by="M.K.", reason="the fair is tomorrow")
    job = docket.job(JOB)
    assert waits_for(job) == ("press", "by order of M.K.")
    assert "clear for press: no" in job_text(job, Shop())
    assert "Waits for the press: by order of M.K." in job_html(job, Shop())
    pull(docket, b"second", faults=False)
    assert waits_for(docket.job(JOB))[0] == "customer"


def told_on(sheet):
    pdf = pypdfium2.PdfDocument(sheet)
    words = " ".join(" ".join(page.get_textpage().get_text_range() for page in pdf).split())
    pdf.close()
    return words


def test_many_reasons_of_one_sort_are_told_in_one_line(tmp_path):
    docket = begun(tmp_path)
    pull(docket)
    reasons = reasons_against(docket.job(JOB))
    assert reason_words(reasons) == (
        "4 undecided: 1/1, 1/2, 1/3, 1/4",
        "the customer has not given an O.K.",
    )
    assert reason_words(reasons[:2]) == tuple(reason.words for reason in reasons[:2])
    assert refs_words(["2/F1", "1/F10", "1/R1", "1/F2"]) == "1/2, 1/10, 1/R1, 2/1"


def test_each_command_says_what_is_next_and_warns_of_a_clock_gone_back(tmp_path, run):
    docket = begun(tmp_path)
    pull(docket)
    told = run("docket", "decide", JOB, "F4", "query", "--by", "B.A.").output
    assert "4 found, 3 undecided, 1 query open; waits for the reader: 3 to decide" in told
    assert "Set the clock right" not in told
    decide_all(docket)
    late = Clock(datetime.now(UTC) + timedelta(days=2))
    open_job(open_docket(tmp_path / "docket.db", clock=late), "7", {}, by="P.C.")
    told = run("docket", "sign", JOB, "ok", "--by", "the secretary").output
    assert "O.K. of the first proof recorded; not yet clear for press: query 1/4" in told
    assert "earlier than at the entry before" in told


def test_a_fault_missed_on_the_revise_is_counted_once(tmp_path):
    docket = begun(tmp_path)
    pull(docket)
    decide_all(docket)
    pull(docket, b"revise", revise=shown_made(docket, **{"1/F1": "missed"}))
    carried = [found.ref for found in docket.job(JOB).found if found.carried_from]
    assert carried == ["2/F1"]
    first = figures_of([docket.job(JOB)], Shop())
    assert first.faults == sum(f.status == "fault" for f in docket.job(JOB).found) - 1


def test_figures_count_sorts_and_leave_out_initials_if_the_shop_says_so(tmp_path):
    docket = begun(tmp_path)
    pull(docket)
    decide(docket, JOB, "F3", "stand", by="B.A.")
    figures = figures_of(docket.jobs(), Shop())
    assert (figures.proofs, figures.faults) == (1, 2)
    assert figures.sorts == {("u", "n"): 1}
    assert figures.causes == {"turned sort": 1}
    assert figures.operators["T.W.", "wrong-letter"] == 1
    assert not figures_of(docket.jobs(), Shop(operators_in_figures=False)).operators


@pytest.mark.parametrize(
    "text",
    ["zone = 'Nowhere/Town'", "colour = 'red'", "minutes_a_slug = true", "hour_costs = -1", "x ="],
)
def test_settings_that_cannot_be_used_are_refused(tmp_path, text):
    path = tmp_path / "docket.toml"
    path.write_text(text)
    with pytest.raises(SettingError) as caught:
        load_shop(path)
    assert "\n" not in str(caught.value)
