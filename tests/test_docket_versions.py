"""Dockets written by another version: a newer one refused untouched, an older one brought up."""

from __future__ import annotations

import os
import sqlite3
import sys
from datetime import UTC, datetime

import pytest
from docket_cases import OLDER, Clock, begun, child, pull, quick_folder, script, version_in

from proofcheck.docket import open_docket, verify
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.originals import Original
from proofcheck.docket.schema import VERSION

on_posix = pytest.mark.skipif(sys.platform == "win32", reason="needs processes that fork")


@pytest.fixture
def tmp_path():
    with quick_folder() as folder:
        yield folder


@pytest.mark.parametrize("journal", ["wal", "delete"])
def test_a_newer_docket_is_refused_and_left_untouched(tmp_path, journal):
    begun(tmp_path)
    path = tmp_path / "docket.db"
    newer = f"UPDATE docket_about SET value = '{VERSION + 1}'"  # noqa: S608
    script(path, f"{newer}; PRAGMA journal_mode={journal}")
    before = {held: held.read_bytes() for held in tmp_path.rglob("*") if held.is_file()}
    for create in (False, True):
        with pytest.raises(DocketError, match=r"newer version .* left untouched") as caught:
            open_docket(path, create=create)
        assert "\n" not in str(caught.value)
    after = {held: held.read_bytes() for held in tmp_path.rglob("*") if held.is_file()}
    assert after == before


def test_a_docket_whose_version_is_none_is_refused(tmp_path):
    begun(tmp_path)
    script(tmp_path / "docket.db", "UPDATE docket_about SET value = 'two'")
    with pytest.raises(DocketError, match="version is 'two'"):
        open_docket(tmp_path / "docket.db")


def keep_copies(docket):
    """The originals that the older docket names: its two copies, text as the entries hold it."""
    for entry in docket.entries("1042"):
        if entry.kind == "copy":
            text = entry.data["text"].encode()
            assert (
                docket.originals.keep([Original("copy.txt", text)])[0]["sha256"]
                == (entry.originals[0]["sha256"])
            )


def test_an_older_docket_is_brought_up_to_date_with_a_copy_kept(tmp_path):
    path = tmp_path / "docket.db"
    script(path, OLDER)
    docket = open_docket(path, clock=Clock(datetime(2026, 6, 1, tzinfo=UTC)))
    keep_copies(docket)
    assert verify(docket).troubles == ()
    assert version_in(path) == str(VERSION)
    assert docket.numbers() == ("1042", "1043")
    job = docket.job("1042")
    assert job.details == {"customer": "Village band", "quantity": "300"}
    assert [change["now"] for change in job.copy.alterations] == ["four"]
    assert decide_and_verify(docket)
    kept = tmp_path / "docket.db.version-1"
    script(tmp_path / "again.db", OLDER)
    with sqlite3.connect(kept) as old, sqlite3.connect(tmp_path / "again.db") as new:
        assert list(old.iterdump()) == list(new.iterdump())
    old.close()
    new.close()
    assert not list(tmp_path.glob("*.part"))


def decide_and_verify(docket):
    pull(docket, b"first", job="1042", faults=False)
    return verify(docket).troubles == ()


def test_a_copy_kept_before_is_never_written_over(tmp_path):
    path = tmp_path / "docket.db"
    script(path, OLDER)
    (tmp_path / "docket.db.version-1").write_text("kept")
    open_docket(path)
    assert (tmp_path / "docket.db.version-1").read_text() == "kept"
    assert version_in(tmp_path / "docket.db.version-1.2") == "1"


def test_an_older_docket_that_was_meddled_with_says_so_when_brought_up(tmp_path):
    path = tmp_path / "docket.db"
    script(path, OLDER)
    script(path, "DELETE FROM docket_entries WHERE number = 2")
    docket = open_docket(path)
    assert "before entry 3 is missing" in verify(docket).troubles[0]


def _stop_within(path, told):
    from proofcheck.docket import schema

    migrate = schema.migrate

    def stopped(connection, found):
        migrate(connection, found)
        told.send("made")
        os._exit(1)

    schema.migrate = stopped
    open_docket(path)


@on_posix
def test_stopped_while_it_is_brought_up_an_older_docket_is_as_it_was(tmp_path):
    path = tmp_path / "docket.db"
    script(path, OLDER)
    assert child(_stop_within, path) == ["made"]
    assert version_in(path) == "1"
    docket = open_docket(path)
    keep_copies(docket)
    assert verify(docket).troubles == ()
