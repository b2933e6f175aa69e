"""The docket as a record: what goes in comes out, whole, in order, or is refused in one line."""

from __future__ import annotations

import shutil
import sqlite3
from datetime import UTC, datetime, timedelta

import pytest
from docket_cases import JOB, Clock, add_copy, begun, decide_all, ok, pull, quick_folder
from report_cases import COPY_LINES

from proofcheck.docket import decide, open_docket, open_job, verify
from proofcheck.docket.chain import Draft
from proofcheck.docket.docket_errors import DocketBusyError, DocketError, RecordBrokenError
from proofcheck.docket.putback import record_put_back
from proofcheck.docket.schema import START


@pytest.fixture
def tmp_path():
    with quick_folder() as folder:
        yield folder


def whole_job(folder):
    docket = begun(folder)
    pull(docket)
    decide_all(docket)
    ok(docket, "ok-with-corrections")
    return docket


def rows(path):
    with sqlite3.connect(path) as held:
        found = held.execute("SELECT * FROM docket_entries ORDER BY number").fetchall()
    held.close()
    return found


def meddle(path, sql, *values):
    held = sqlite3.connect(path)
    held.execute(sql, values)
    held.commit()
    held.close()


def test_each_entry_carries_the_hash_of_the_one_before(tmp_path):
    docket = whole_job(tmp_path)
    chain = docket.entries(JOB)
    assert chain[0].before == START
    assert [e.before for e in chain[1:]] == [e.sha256 for e in chain[:-1]]
    assert [e.place for e in chain] == list(range(1, len(chain) + 1))
    checked = verify(docket)
    assert checked.troubles == ()
    assert (checked.entries, checked.number) == (len(chain), len(chain))
    assert checked.originals == 3  # copy, scan, report


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE docket_entries SET body = replace(body, 'B.A.', 'B.B.') WHERE number = 4",
        "UPDATE docket_entries SET sha256 = 'f' || substr(sha256, 2) WHERE number = 4",
        "UPDATE docket_entries SET book = 'g' || substr(book, 2) WHERE number = 4",
        "UPDATE docket_entries SET job = '1043' WHERE number = 4",
        "UPDATE docket_entries SET place = 40 WHERE number = 4",
        "DELETE FROM docket_entries WHERE number = 4",
        "swap",
    ],
)
def test_verify_says_which_entry_was_meddled_with(tmp_path, sql):
    docket = whole_job(tmp_path)
    if sql == "swap":
        meddle(tmp_path / "docket.db", "UPDATE docket_entries SET number = 99 WHERE number = 4")
        meddle(tmp_path / "docket.db", "UPDATE docket_entries SET number = 4 WHERE number = 5")
        meddle(tmp_path / "docket.db", "UPDATE docket_entries SET number = 5 WHERE number = 99")
    else:
        meddle(tmp_path / "docket.db", sql)
    troubles = verify(docket).troubles
    if sql.startswith("DELETE"):
        assert troubles[0].startswith("an entry before entry 5 is missing")
    else:
        assert troubles[0].startswith("entry 4 ")


def test_an_entry_taken_off_the_end_is_missed(tmp_path):
    docket = whole_job(tmp_path)
    last = len(docket.entries())
    meddle(tmp_path / "docket.db", "DELETE FROM docket_entries WHERE number = ?", last)
    assert f"entry {last} and all after it" in verify(docket).troubles[0]


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE docket_head SET book = 'g' || substr(book, 2)",
        "UPDATE docket_head SET number = number - 1",
        "UPDATE docket_head SET number = number + 1",
        "UPDATE docket_head SET only = 2",
        "DELETE FROM docket_head",
        "INSERT INTO docket_head VALUES (2, 0, '0')",
        "DELETE FROM docket_entries WHERE number = (SELECT max(number) FROM docket_entries)",
    ],
)
def test_a_last_link_meddled_with_is_found_and_nothing_is_added_to_it(tmp_path, sql):
    docket = whole_job(tmp_path)
    meddle(tmp_path / "docket.db", sql)
    held = rows(tmp_path / "docket.db")
    assert verify(docket).troubles
    with pytest.raises(RecordBrokenError, match="run verify"):
        decide(docket, JOB, "F1", "stand", by="B.A.", note="seen again")
    assert rows(tmp_path / "docket.db") == held


def test_what_others_recorded_meanwhile_is_seen_without_reading_all_anew(tmp_path, monkeypatch):
    docket = whole_job(tmp_path)
    decide(docket, JOB, "F1", "stand", by="B.A.", note="seen again")
    other = open_docket(tmp_path / "docket.db", clock=Clock())
    for what in ("correct", "stand", "query"):
        decide(other, JOB, "F2", what, by="X.Y.", note="seen again")
    seen = []
    from proofcheck.docket import chain

    read = chain._read
    monkeypatch.setattr(
        chain, "_read", lambda number, *rest: seen.append(number) or read(number, *rest)
    )
    entry = decide(docket, JOB, "F1", "correct", by="B.A.", note="seen again")
    # Its own last entry and the three of the other; the last again, to follow on it.
    assert set(seen) == set(range(entry.number - 4, entry.number))
    assert len(seen) <= 6
    jobs = []
    docket.record(JOB, lambda job: jobs.append(job) or _nothing_new())
    told, again = jobs[0], docket.job(JOB)
    assert told.entries == again.entries[:-1]
    assert told.found == again.found
    assert told.found[1].decision.what == "query"


def _nothing_new():
    return Draft("amended", "P.C.", {"details": {}})


def test_a_record_changed_behind_its_back_is_read_anew(tmp_path):
    docket = whole_job(tmp_path)
    path = tmp_path / "docket.db"
    shutil.copy(path, tmp_path / "kept.db")
    decide(docket, JOB, "F1", "stand", by="B.A.", note="seen again")
    for name in ("docket.db", "docket.db-wal", "docket.db-shm"):
        (tmp_path / name).unlink(missing_ok=True)
    shutil.copy(tmp_path / "kept.db", path)
    entry = decide(docket, JOB, "F1", "query", by="B.A.", note="seen again")
    assert entry.place == len(docket.entries())
    # The list of links beside it tells that it was put back, till that is said on record.
    assert "entry 9 had another link when it was recorded" in verify(docket).troubles[0]
    record_put_back(docket, by="B.A.", reason="the disk failed; Monday's copy")
    assert verify(docket).troubles == ()


def test_a_link_written_down_proves_what_the_record_was(tmp_path):
    docket = whole_job(tmp_path)
    noted = verify(docket)
    decide(docket, JOB, "F1", "stand", by="B.A.", note="seen again")
    assert verify(docket, noted=(noted.number, noted.book)).troubles == ()
    assert verify(docket, noted=(noted.number, "0" * 64)).troubles


@pytest.mark.parametrize("how", ["changed", "gone"])
def test_an_original_changed_or_gone_is_named(tmp_path, how):
    docket = whole_job(tmp_path)
    copy = docket.originals.path(docket.job(JOB).copy.sha256)
    if how == "gone":
        copy.unlink()
    else:
        copy.write_bytes(copy.read_bytes().replace(b"green", b"greem"))
    troubles = verify(docket).troubles
    assert len(troubles) == 1
    assert "copy-1.txt" in troubles[0]


def test_a_clock_that_jumped_back_is_recorded_and_order_is_kept(tmp_path):
    clock = Clock()
    docket = begun(tmp_path, clock=clock)
    clock.now -= timedelta(days=365)
    pull(docket)
    chain = docket.entries(JOB)
    assert [e.clock_back for e in chain] == [False, False, True]
    assert [e.kind for e in chain] == ["opened", "copy", "proof"]
    assert chain[2].at < chain[1].at


def test_dates_are_utc_with_the_zone_of_the_shop(tmp_path):
    (tmp_path / "docket.toml").write_text('zone = "Europe/London"\n')
    docket = open_docket(
        tmp_path / "docket.db", create=True, clock=Clock(datetime(2026, 7, 1, 9, 0, tzinfo=UTC))
    )
    entry = open_job(docket, "7", {}, by="P.C.")
    assert entry.at.utcoffset() == timedelta(0)
    # British summer time is an hour ahead of UTC (tz database).
    assert entry.zone == "Europe/London +01:00"


@pytest.mark.parametrize("place", [".", "/", ""])
def test_a_folder_is_no_docket(place):
    with pytest.raises(DocketError, match="is no file for a docket"):
        open_docket(place)


def test_what_is_no_docket_is_refused(tmp_path):
    other = tmp_path / "other.db"
    meddle(other, "CREATE TABLE jobs (number)")
    held = other.read_bytes()
    with pytest.raises(DocketError, match="not a docket"):
        open_docket(other, create=True)
    assert other.read_bytes() == held
    text = tmp_path / "text.db"
    text.write_text("Programme of the summer concert\n" * 200)
    with pytest.raises(RecordBrokenError, match="damaged"):
        open_docket(text)
    with pytest.raises(DocketError, match="no docket"):
        open_docket(tmp_path / "none.db")
    assert not (tmp_path / "none.db").exists()
    with pytest.raises(DocketError, match="folder"):
        open_docket(tmp_path)
    with pytest.raises(DocketError, match="does not exist"):
        open_docket(tmp_path / "missing" / "docket.db", create=True)


def test_whoever_waits_in_vain_is_told_to_try_again(tmp_path):
    docket = begun(tmp_path)
    impatient = open_docket(tmp_path / "docket.db", patience_s=0.1)
    with docket.store.writing(), pytest.raises(DocketBusyError, match="try again"):
        open_job(impatient, "7", {}, by="P.C.")
    assert open_job(impatient, "7", {}, by="P.C.").place == 1


def test_a_job_is_opened_once_and_must_have_a_name(tmp_path):
    docket = begun(tmp_path)
    with pytest.raises(DocketError, match="open already"):
        open_job(docket, JOB, {}, by="P.C.")
    for number in ("", "  ", "a\u202eb", "x" * 300):
        with pytest.raises(DocketError, match="number"):
            open_job(docket, number, {}, by="P.C.")
    with pytest.raises(DocketError, match="initials"):
        open_job(docket, "7", {}, by=" ")
    with pytest.raises(DocketError, match="no entry"):
        open_job(docket, "7", {"colour": "red"}, by="P.C.")
    with pytest.raises(DocketError, match="no job 99"):
        docket.job("99")
    assert len(COPY_LINES) == 5
    with pytest.raises(DocketError, match="already"):
        add_copy(docket, COPY_LINES)
