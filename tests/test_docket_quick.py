"""A job told from the snapshot: as by the whole record, and never from what was changed."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import sys

import pytest
from docket_cases import JOB, add_copy, begun, decide_all, ok, pull, quick_folder, script
from report_cases import COPY_LINES

from proofcheck.docket import amend_job, clear_for_press, open_docket, open_job, verify
from proofcheck.docket.canonical import canonical, sha256_of
from proofcheck.docket.originals import Original
from proofcheck.docket.quick import told_quickly
from proofcheck.docket.schema import link
from proofcheck.docket.snapshot import read_snapshot


@pytest.fixture
def tmp_path():
    with quick_folder() as folder:
        yield folder


def two_jobs(folder):
    """Job 1042 O.K.'d, another beside it, and the snapshot of both."""
    docket = begun(folder)
    pull(docket)
    decide_all(docket, "stand")
    ok(docket)
    open_job(docket, "7", {"customer": "Chapel"}, by="P.C.")
    add_copy(docket, [*COPY_LINES, "No. 7"], job="7")
    pull(docket, b"seven", job="7", faults=False)
    ok(docket, job="7")
    assert verify(docket).troubles == ()
    return docket


def snapshot_of(docket):
    return docket.heads.path.with_suffix(".snapshot")


def by_all(docket, number):
    """The answer by the whole record."""
    kept = snapshot_of(docket)
    data = kept.read_bytes()
    kept.unlink()
    answer = clear_for_press(docket, number)
    kept.write_bytes(data)
    return answer


def same(docket, number):
    quick, whole = clear_for_press(docket, number), by_all(docket, number)
    assert (quick.clear, quick.reasons) == (whole.clear, whole.reasons)
    assert (quick.checked.number, quick.checked.book) == (whole.checked.number, whole.checked.book)
    return quick


def test_a_job_is_told_from_the_snapshot_as_by_the_whole_record(tmp_path):
    docket = two_jobs(tmp_path)
    told = told_quickly(docket, JOB)
    assert told.chains[JOB] == list(docket.entries(JOB))
    assert (told.number, told.book) == (verify(docket).number, verify(docket).book)
    assert same(docket, JOB).clear
    amend_job(docket, "7", {"ink": "red"}, by="P.C.")
    add_copy(docket, [*COPY_LINES, "Should it rain, the concert is off."])
    assert told_quickly(docket, JOB) is not None
    assert not same(docket, JOB).clear
    assert same(docket, "7").clear


def test_it_goes_on_for_as_long_as_one_records_and_is_made_anew(tmp_path, monkeypatch):
    monkeypatch.setattr("proofcheck.docket.quick._RENEWED", 3)
    docket = two_jobs(tmp_path)
    before = read_snapshot(snapshot_of(docket))
    for ink in ("red", "blue", "green", "black"):
        amend_job(docket, "7", {"ink": ink}, by="P.C.")
    open_job(docket, "8", {}, by="P.C.")
    assert told_quickly(docket, JOB) is not None
    held = read_snapshot(snapshot_of(docket))
    assert held.number == before.number + 5
    assert held.job("7") == (8, docket.job("7").entries[-1].sha256)
    assert held.job("8")[0] == 1
    assert held.job("9") == (0, "")
    assert same(docket, JOB).clear


def forged(path, number, change, *, chain=False):
    """One entry changed in the file, its hash and (if asked) all links after it made anew."""
    held = sqlite3.connect(path)
    rows = held.execute(
        "SELECT number, body, sha256, book FROM docket_entries ORDER BY 1"
    ).fetchall()
    book = ""
    for n, *old in rows:
        body, sha256, _ = old
        if n == number:
            entry = json.loads(body)
            change(entry)
            body = canonical(entry)
            sha256 = sha256_of(body)
        book = link(book or "0" * 64, n, sha256) if chain else old[2]
        held.execute(
            "UPDATE docket_entries SET body=?, sha256=?, book=? WHERE number=?",
            (body, sha256, book, n),
        )
    if chain:
        held.execute("UPDATE docket_head SET book = ?", (book,))
    held.commit()
    held.close()


def entry_number(docket, kind):
    return next(e.number for e in docket.job(JOB).entries if e.kind == kind)


@pytest.mark.parametrize("chain", [False, True])
@pytest.mark.parametrize("later", [False, True])
def test_nothing_of_the_job_is_changed_unseen(tmp_path, chain, later):
    docket = two_jobs(tmp_path)
    if later:
        amend_job(docket, "7", {"ink": "red"}, by="P.C.")
    number = entry_number(docket, "signed")
    forged(tmp_path / "docket.db", number, lambda e: e["data"].update(note="by wire"), chain=chain)
    assert told_quickly(docket, JOB) is None
    assert not clear_for_press(docket, JOB).clear


def removed(number):
    return f"DELETE FROM docket_entries WHERE number = {number}"  # noqa: S608


@pytest.mark.parametrize("what", ["last", "head too", "list too", "in between"])
def test_no_entry_of_the_job_is_taken_away_unseen(tmp_path, what):
    docket = two_jobs(tmp_path)
    add_copy(docket, [*COPY_LINES, "Should it rain, the concert is off."])
    last = docket.last_number()
    sql = removed(entry_number(docket, "decided") if what == "in between" else last)
    if what in {"head too", "list too"}:
        sql += (
            f"; UPDATE docket_head SET number = {last - 1}, book = "  # noqa: S608
            f"(SELECT book FROM docket_entries WHERE number = {last - 1})"
        )
    if what == "list too":
        lines = docket.heads.path.read_text().splitlines()
        docket.heads.path.write_text("\n".join(lines[:-1]) + "\n")
        # Nothing else knows of it; but the copy itself lies there still, and no entry names it.
        script(tmp_path / "docket.db", sql)
        assert told_quickly(docket, JOB).unnamed
        return
    script(tmp_path / "docket.db", sql)
    assert told_quickly(docket, JOB) is None
    assert not clear_for_press(docket, JOB).clear


def test_an_older_copy_or_another_docket_bears_no_snapshot_out(tmp_path):
    docket = two_jobs(tmp_path)
    path = tmp_path / "docket.db"
    shutil.copy(path, tmp_path / "kept.db")
    amend_job(docket, JOB, {"ink": "red"}, by="P.C.")
    verify(docket)
    shutil.copy(tmp_path / "kept.db", path)
    assert told_quickly(docket, JOB) is None
    (tmp_path / "other").mkdir()
    other = two_jobs(tmp_path / "other")
    shutil.copy(other.store.engine.url.database or tmp_path / "other" / "docket.db", path)
    amend_job(open_docket(path), JOB, {"ink": "red"}, by="P.C.")
    assert told_quickly(docket, JOB) is None
    assert not clear_for_press(docket, JOB).clear


def test_a_snapshot_that_was_changed_is_none(tmp_path):
    docket = two_jobs(tmp_path)
    path = snapshot_of(docket)
    whole = path.read_bytes()
    for at in range(0, len(whole), max(1, len(whole) // 60)):
        path.write_bytes(whole[:at] + bytes([whole[at] ^ 4]) + whole[at + 1 :])
        assert read_snapshot(path) is None
    for cut in (0, 1, 40, len(whole) - 1):
        path.write_bytes(whole[:cut])
        assert read_snapshot(path) is None
        assert clear_for_press(docket, JOB).clear
    path.unlink()
    path.mkdir()
    assert clear_for_press(docket, JOB).clear


def test_an_original_changed_gone_or_named_by_no_entry_is_told(tmp_path):
    docket = two_jobs(tmp_path)
    report = docket.job(JOB).proof.report_sha256
    data = json.loads(docket.originals.read(report))
    data["warnings"] = ["another reading"]
    docket.originals.keep([Original("r.json", json.dumps(data).encode())])
    assert not same(docket, JOB).clear
    assert "no entry names" in clear_for_press(docket, JOB).reasons[0].words
    os.truncate(docket.originals.path(report), 10)
    assert "has been changed" in clear_for_press(docket, JOB).reasons[0].words


def test_what_is_wrong_in_another_jobs_row_is_told_by_verify(tmp_path):
    docket = two_jobs(tmp_path)
    number = next(e.number for e in docket.entries("7") if e.kind == "signed")
    forged(tmp_path / "docket.db", number, lambda e: e["data"].update(note="by wire"))
    assert f"entry {number} does not follow" in " ".join(verify(docket).troubles)
    assert not clear_for_press(docket, "7").clear


def test_verify_says_how_far_it_is(tmp_path, monkeypatch):
    monkeypatch.setattr(sys.modules["proofcheck.docket.verify"], "_STEP", 4)
    told = []
    verify(two_jobs(tmp_path), tell=told.append)
    assert told[0].startswith("entry 4 of ")
    assert any(words.startswith("original 4 of ") for words in told)
