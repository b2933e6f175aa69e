"""The docket's file damaged or meddled with: what is found, and what only a noted link shows."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import sys

import pytest
from benchmark.fileflips import flips_unseen, used_bytes
from docket_cases import (
    JOB,
    OLDER,
    add_copy,
    begun,
    child,
    decide_all,
    ok,
    pull,
    quick_folder,
    script,
)
from report_cases import COPY_LINES

from proofcheck.docket import clear_for_press, open_docket, open_job, verify, vouch
from proofcheck.docket.canonical import canonical, sha256_of
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.filecheck import file_troubles, record_head
from proofcheck.docket.originals import Original
from proofcheck.docket.putback import record_put_back
from proofcheck.docket.schema import FORMS, START, link


@pytest.fixture
def tmp_path():
    with quick_folder() as folder:
        yield folder


def job_okd(folder):
    """A job with faults let stand, O.K.'d and clear."""
    docket = begun(folder)
    pull(docket)
    decide_all(docket, "stand")
    ok(docket)
    assert clear_for_press(docket, JOB).clear
    return docket


def why(docket, **held):
    answer = clear_for_press(docket, JOB, **held)
    assert not answer.clear
    return " ".join(reason.words for reason in answer.reasons)


# ------------------------------------------------------------------ bits of the file


def test_no_bit_of_the_used_bytes_is_turned_over_unseen():
    told = flips_unseen(120, seed=7)
    assert told["cleared wrongly"] == 0
    assert [told.get(f"unseen in {kind}", 0) for kind in ("head", "pages", "cells")] == [0, 0, 0]
    assert told["flips in cells"] > 60


def test_no_bit_of_the_heads_of_file_and_pages_is_turned_over_unseen():
    told = flips_unseen(120, seed=8, kinds=("head", "pages"))
    assert (told["unseen in head"], told["unseen in pages"]) == (0, 0)


def test_an_index_that_hides_the_new_copy_neither_holds_nor_clears(tmp_path):
    docket = job_okd(tmp_path)
    add_copy(docket, [*COPY_LINES, "Should it rain, the concert is off."])
    path = tmp_path / "docket.db"
    held = sqlite3.connect(path)
    (root,) = held.execute(
        "SELECT rootpage FROM sqlite_master WHERE name = 'ix_docket_entries_job'"
    ).fetchone()
    held.close()
    data = bytearray(path.read_bytes())
    page = data[(root - 1) * 4096 : root * 4096]
    # Cells fill a page from its end: the first found is the last entry's, filed under 0042 now.
    data[(root - 1) * 4096 + page.index(JOB.encode())] ^= 1
    path.write_bytes(bytes(data))
    assert "damaged" in verify(open_docket(path)).troubles[0]
    assert "damaged" in why(open_docket(path))


@pytest.mark.parametrize(
    "sql",
    [
        "CREATE TRIGGER quiet AFTER INSERT ON docket_entries BEGIN SELECT 1; END",
        "CREATE TABLE more (number)",
        "CREATE VIEW jobs AS SELECT job FROM docket_entries",
        "DROP INDEX ix_docket_entries_job",
        "CREATE INDEX more ON docket_entries (place)",
        "PRAGMA user_version = 7",
        "PRAGMA application_id = 7",
        "INSERT INTO docket_about VALUES ('more', '1')",
        "UPDATE docket_entries SET body = CAST(body AS TEXT) WHERE number = 2",
        "UPDATE docket_entries SET job = CAST(job AS BLOB) WHERE number = 2",
        "UPDATE docket_head SET book = CAST(book AS BLOB)",
    ],
)
def test_what_does_not_belong_in_the_file_is_found(tmp_path, sql):
    docket = job_okd(tmp_path)
    script(tmp_path / "docket.db", sql)
    assert verify(docket).troubles
    assert not clear_for_press(docket, JOB).clear


def test_a_table_told_otherwise_than_it_was_made_is_found(tmp_path):
    docket = job_okd(tmp_path)
    script(
        tmp_path / "docket.db",
        "PRAGMA writable_schema = ON; UPDATE sqlite_master SET sql = "
        "replace(sql, 'job TEXT', 'job BLOB') WHERE name = 'docket_entries'",
    )
    assert "docket_entries of the docket's file" in verify(docket).troubles[0]


def test_a_docket_as_made_and_one_brought_up_have_the_tables_they_should(tmp_path):
    for path, docket in (
        (tmp_path / "docket.db", begun(tmp_path)),
        (tmp_path / "older.db", None),
    ):
        if docket is None:
            script(path, OLDER)
        with open_docket(path).store.reading() as connection:
            rows = connection.exec_driver_sql("SELECT * FROM docket_entries").all()
            assert file_troubles(connection, rows if docket else []) == []
            names = connection.exec_driver_sql("SELECT name FROM sqlite_master").all()
        assert {name for (name,) in names} == {name for _, name, _ in FORMS}


def test_the_head_of_a_record_is_as_sqlite_itself_writes_it(tmp_path):
    """Held against a file SQLite wrote, found there by the matter that follows."""
    rows = [
        (None, "2041", 1, b"body" * 300, "a" * 64),
        (None, "é1", -129, b"", "b"),
        (None, "", 0, b"x" * 70, "c" * 200),
        (None, "q", 1 << 40, b"y", "d"),
        (None, "r", -(1 << 23), b"z", "e"),
    ]
    path = tmp_path / "plain.db"
    held = sqlite3.connect(path)
    held.execute("CREATE TABLE t (n INTEGER PRIMARY KEY, a, b, c, d)")
    held.executemany("INSERT INTO t VALUES (?, ?, ?, ?, ?)", rows)
    held.commit()
    held.close()
    data = path.read_bytes()
    for row in rows:
        assert record_head(row) + row[1].encode() in data


def test_the_measure_of_used_bytes_leaves_only_free_room_out(tmp_path):
    """Every byte it leaves out can be changed and all is read as it was."""
    docket = job_okd(tmp_path)
    path = tmp_path / "docket.db"
    data = bytearray(path.read_bytes())
    used = {at for held in used_bytes(bytes(data)).values() for at in held}
    for at in range(len(data)):
        if at not in used:
            data[at] ^= 0x55
    path.write_bytes(bytes(data))
    assert len(used) < len(data)
    assert verify(docket).troubles == ()
    assert clear_for_press(docket, JOB).clear


# ------------------------------------------------------------------ put back, swapped, made anew


def test_an_older_copy_put_back_is_told_and_can_be_answered_for(tmp_path):
    docket = job_okd(tmp_path)
    path = tmp_path / "docket.db"
    shutil.copy(path, tmp_path / "kept.db")
    add_copy(docket, [*COPY_LINES, "Should it rain, the concert is off."])
    shutil.copy(tmp_path / "kept.db", path)
    assert "once went on to entry 9 and ends at 8" in verify(docket).troubles[0]
    assert "once went on to entry 9" in why(docket)
    with pytest.raises(DocketError, match="reason"):
        record_put_back(docket, by="B.A.", reason=" ")
    record_put_back(docket, by="B.A.", reason="the disk failed; the copy of Monday")
    assert verify(docket).troubles == ()
    # It says on record what was lost, and settles nothing that comes after.
    assert docket.entries("")[-1].data["links"][0][0] == 9
    shutil.copy(tmp_path / "kept.db", path)
    assert verify(docket).troubles
    with pytest.raises(DocketError, match="nothing was put back"):
        record_put_back(begun_in(tmp_path / "new"), by="B.A.", reason="for no reason")


def begun_in(folder):
    folder.mkdir()
    return begun(folder)


def test_a_docket_swapped_for_another_is_told(tmp_path):
    docket = job_okd(tmp_path)
    other = begun_in(tmp_path / "other")
    open_job(other, "7", {}, by="P.C.")
    for _ in range(9):
        add_copy(other, [f"Copy {len(other.entries())}"], job="7")
    shutil.copy(tmp_path / "other" / "docket.db", tmp_path / "docket.db")
    assert any("another docket was put in its place" in t for t in verify(docket).troubles)


def made_anew(path, change):
    """Change entries and work every hash, both chains and the last link out anew."""
    held = sqlite3.connect(path)
    rows = held.execute("SELECT number, job, body FROM docket_entries ORDER BY number").fetchall()
    held.execute("DELETE FROM docket_entries")
    last, book, number = {}, START, 0
    for _, job, held_body in rows:
        entry = json.loads(held_body)
        if not change(entry):
            continue
        number += 1
        place, before = last.get(job, (0, START))
        entry |= {"place": place + 1, "before": before}
        body = canonical(entry)
        book = link(book, number, sha256_of(body))
        last[job] = place + 1, sha256_of(body)
        held.execute(
            "INSERT INTO docket_entries VALUES (?, ?, ?, ?, ?, ?)",
            (number, job, place + 1, body, sha256_of(body), book),
        )
    held.execute("UPDATE docket_head SET number = ?, book = ?", (number, book))
    held.commit()
    held.close()


def without_faults(entry):
    if entry["kind"] == "proof":
        entry["data"] |= {"found": [], "verdict": "clean"}
    return entry["kind"] != "decided"


def open_job_with_faults(folder):
    docket = begun(folder)
    pull(docket)
    ok(docket)
    return docket, verify(docket)


def test_a_fault_taken_off_the_record_is_told_by_the_report(tmp_path):
    docket, _ = open_job_with_faults(tmp_path)
    docket.heads.path.unlink()
    made_anew(tmp_path / "docket.db", without_faults)
    assert "its report says faults, the record clean" in why(docket)

    def one_fault(entry):
        if entry["kind"] == "proof":
            del entry["data"]["found"][1]
        return True

    (tmp_path / "two").mkdir()
    docket, _ = open_job_with_faults(tmp_path / "two")
    docket.heads.path.unlink()
    made_anew(tmp_path / "two" / "docket.db", one_fault)
    assert "its report tells of F2, which is not on the record" in why(docket)


@pytest.mark.parametrize("part", ["settings", "held", "unread", "words", "copy"])
def test_what_a_proof_showed_is_held_against_its_report(tmp_path, part):
    docket, _ = open_job_with_faults(tmp_path)
    docket.heads.path.unlink()

    def change(entry):
        data = entry["data"]
        if entry["kind"] == "proof" and part in {"words", "copy"}:
            data["found"][0][part] = "nothing of note" if part == "words" else [0, 1]
        elif entry["kind"] == "proof":
            data["read"][part] = {"settings": {}, "held": [[0, 9]], "unread": ["x"]}[part]
        return True

    made_anew(tmp_path / "docket.db", change)
    assert "at odds" in why(docket)


def test_a_report_changed_along_with_the_record_leaves_the_right_one_lying_unnamed(tmp_path):
    docket, noted = open_job_with_faults(tmp_path)
    docket.heads.path.unlink()
    report = json.loads(docket.originals.read(docket.job(JOB).proof.report_sha256))
    report |= {"faults": [], "verdict": "clean", "counts": {"faults": 0, "queries": 0}}
    forged = Original("report.json", json.dumps(report).encode())
    (reference,) = docket.originals.keep([forged])

    def change(entry):
        if entry["kind"] == "proof":
            spans = [[0, 1]]
            for line in report["lines"]:
                start, end = line["copy"]
                spans[-1:] = (
                    [[spans[-1][0], end]] if start <= spans[-1][1] else [spans[-1], [start, end]]
                )
            entry["data"]["read"]["held"] = spans
            entry["data"]["report"] = reference["sha256"]
            entry["originals"][-1] = reference
        return without_faults(entry)

    made_anew(tmp_path / "docket.db", change)
    # The record holds in itself: the report it names says what it says.
    assert verify(docket).troubles == ()
    told = why(docket)
    assert "a report on this job lies among the originals that no entry names" in told
    # With that gone too, only a link noted outside shows it.
    key = next(r.key for r in clear_for_press(docket, JOB).reasons if r.facts)
    vouch(docket, JOB, [key], by="A. Mason", reason="a recording broken off")
    assert clear_for_press(docket, JOB).clear
    assert "whose link was written down" in why(docket, noted=(noted.number, noted.book))


def test_a_list_of_links_tells_a_chain_worked_out_anew(tmp_path):
    docket, _ = open_job_with_faults(tmp_path)
    made_anew(tmp_path / "docket.db", lambda entry: entry["data"].update(note="") or True)
    assert any("worked out anew" in words for words in verify(docket).troubles)


@pytest.mark.parametrize("at", range(0, 300, 37))
def test_every_bit_of_the_list_of_links_counts(tmp_path, at):
    docket = job_okd(tmp_path)
    data = bytearray(docket.heads.path.read_bytes())
    data[at] ^= 1 << (at % 7)
    docket.heads.path.write_bytes(bytes(data))
    assert verify(docket).troubles


def test_a_list_of_links_broken_off_by_a_stop_is_no_trouble(tmp_path):
    docket = job_okd(tmp_path)
    held = docket.heads.path.read_bytes()
    docket.heads.path.write_bytes(held[:-30])
    open_job(docket, "7", {}, by="P.C.")
    assert verify(docket).troubles == ()
    docket.heads.path.unlink()
    assert "no list of links" in verify(docket).notes[0]
    assert verify(docket).troubles == ()


def _record_and_stop(place, told):
    docket = open_docket(place)
    # Another who reads meanwhile keeps what is recorded in the log, where a stop leaves it.
    with docket.store.engine.connect() as reader:
        reader.exec_driver_sql("BEGIN")
        reader.exec_driver_sql("SELECT * FROM docket_head").all()
        add_copy(docket, [*COPY_LINES, "Should it rain, the concert is off."])
        told.send(docket.entries()[-1].number)
        os._exit(0)


@pytest.mark.skipif(sys.platform == "win32", reason="needs processes that fork")
def test_a_log_damaged_after_a_stop_takes_nothing_away_unseen(tmp_path):
    """SQLite leaves out what follows on a damaged frame of its log, without a word."""
    job_okd(tmp_path)
    assert child(_record_and_stop, tmp_path / "docket.db") == [9]
    log = tmp_path / "docket.db-wal"
    data = bytearray(log.read_bytes())
    data[60] ^= 4
    log.write_bytes(bytes(data))
    (tmp_path / "docket.db-shm").unlink()
    docket = open_docket(tmp_path / "docket.db")
    assert len(docket.entries()) == 8
    assert "its log was lost" in why(docket)


def test_what_is_refused_leaves_nothing_lying_among_the_originals(tmp_path):
    docket = begun(tmp_path)
    before = set(docket.originals.held())
    with pytest.raises(DocketError):
        pull(docket, more=lambda report: report["copy"].update(sha256="0" * 64))
    assert set(docket.originals.held()) == before
