"""The docket in PostgreSQL, where a server is installed."""

from __future__ import annotations

import multiprocessing
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import threading
from pathlib import Path

import pytest
import sqlalchemy as sa
from docket_cases import DETAILS, JOB, OLDER, Clock, add_copy, decide_all, ok, pull
from report_cases import COPY_LINES

from proofcheck.docket import decide, export_job, import_job, open_docket, open_job, verify
from proofcheck.docket.docket_errors import DocketBusyError, DocketError, RecordBrokenError
from proofcheck.docket.schema import VERSION

pytest.importorskip("psycopg", reason="the driver is not installed (pip install 'psycopg[binary]')")
TABLES = (
    "docket_entries", "docket_about", "docket_head", "docket_entries_v1", "docket_about_v1",
)  # fmt: skip


def _programs() -> Path | None:
    """Folder of the server's programs: on PATH, or where Debian keeps them beside it."""
    on_path = shutil.which("initdb")
    if on_path:
        return Path(on_path).parent
    found = list(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    return max(found, key=lambda program: int(program.parts[4])).parent if found else None


PROGRAMS = _programs()
pytestmark = [
    pytest.mark.skipif(PROGRAMS is None, reason="no PostgreSQL server is installed (no initdb)"),
    pytest.mark.skipif(sys.platform == "win32", reason="the server is reached by a socket file"),
]


def _someone():
    """The server refuses to run as root: who it runs as then, or a skip; None for oneself."""
    import pwd

    if os.geteuid() != 0:
        return None
    for name in ("postgres", "nobody"):
        try:
            return pwd.getpwnam(name).pw_name
        except KeyError:
            continue
    return pytest.skip("the server does not run as root, and there is no other user for it")


@pytest.fixture(scope="module")
def server():
    """A server of one's own, on a socket in a folder of its own, thrown away afterwards."""
    user = _someone()
    # The path of a socket has few letters to spare, so not in a deep temporary folder.
    folder = Path(tempfile.mkdtemp(prefix="pg-", dir="/tmp"))
    if user:
        shutil.chown(folder, user)

    def call(program, *words):
        with (folder / "said").open("ab") as said:
            subprocess.run(
                [PROGRAMS / program, *words], user=user, cwd=folder, check=True, timeout=60,
                stdin=subprocess.DEVNULL, stdout=said, stderr=said,
            )  # fmt: skip

    data = folder / "data"
    try:
        call("initdb", "-D", data, "-A", "trust", "-U", "shop", "-E", "UTF8", "--no-sync")
        call(
            "pg_ctl", "-D", data, "-w", "-t", "50", "-l", folder / "log", "start",
            "-o", f"-k {folder} -c listen_addresses='' -c fsync=off",
        )  # fmt: skip
    except (subprocess.SubprocessError, OSError) as error:
        why = (folder / "said").read_text("utf-8", "replace")[-300:]
        shutil.rmtree(folder, ignore_errors=True)
        if os.environ.get("CI"):
            raise
        pytest.skip(f"the PostgreSQL server could not be started ({error}): {why}")
    try:
        yield f"postgresql+psycopg://shop@/postgres?host={folder}"
    finally:
        call("pg_ctl", "-D", data, "-m", "immediate", "stop")
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture
def place(server):
    engine = sa.create_engine(server)
    with engine.begin() as connection:
        for table in TABLES:
            connection.exec_driver_sql(f"DROP TABLE IF EXISTS {table}")
    engine.dispose()
    return server


def opened(place, folder, **how):
    return open_docket(place, create=True, originals=folder / "originals", clock=Clock(), **how)


def test_a_job_in_a_database_elsewhere(place, tmp_path):
    docket = opened(place, tmp_path)
    open_job(docket, JOB, DETAILS, by="P.C.")
    add_copy(docket, COPY_LINES)
    pull(docket)
    open_job(docket, "1043", {}, by="P.C.")
    add_copy(docket, ["A price list"], job="1043")
    with pytest.raises(DocketError, match="first proof of job 1042"):
        pull(docket, job="1043", faults=False)
    decide_all(docket)
    ok(docket, "ok-with-corrections")
    assert verify(docket).troubles == ()
    archive = export_job(docket, JOB, tmp_path / "job.zip")
    here = open_docket(tmp_path / "docket.db", create=True)
    assert import_job(here, archive, by="X.Y.").new == 8
    assert verify(here).troubles == ()


def test_meddling_is_found(place, tmp_path):
    docket = opened(place, tmp_path)
    open_job(docket, JOB, DETAILS, by="P.C.")
    add_copy(docket, COPY_LINES)
    with docket.store.engine.begin() as connection:
        connection.exec_driver_sql("DELETE FROM docket_entries WHERE number = 2")
    assert "entry 2 and all after it" in verify(docket).troubles[0]


def test_a_last_link_meddled_with_is_found_and_nothing_is_added_to_it(place, tmp_path):
    docket = opened(place, tmp_path)
    open_job(docket, JOB, DETAILS, by="P.C.")
    with docket.store.engine.begin() as connection:
        connection.exec_driver_sql("UPDATE docket_head SET book = 'f' || substr(book, 2)")
    assert verify(docket).troubles
    with pytest.raises(RecordBrokenError, match="run verify"):
        open_job(docket, "7", {}, by="P.C.")


def old_tables(docket_address):
    """The older docket's tables and rows, as that version's statements make them here."""
    held = sqlite3.connect(":memory:")
    held.executescript(OLDER)
    engine = sa.create_engine(docket_address)
    with engine.begin() as connection:
        for (made,) in held.execute("SELECT sql FROM sqlite_master WHERE sql IS NOT NULL"):
            connection.exec_driver_sql(made.replace("BLOB", "BYTEA"))
        for table, values in (("docket_about", "%s, %s"), ("docket_entries", "%s, %s, %s, %s, %s")):
            for row in held.execute(f"SELECT * FROM {table}"):  # noqa: S608
                insert = f"INSERT INTO {table} VALUES ({values})"  # noqa: S608
                connection.exec_driver_sql(insert, row)
    held.close()
    engine.dispose()


def test_older_tables_are_brought_up_once_with_a_copy_kept(place, tmp_path):
    old_tables(place)
    dockets = []
    threads = [
        threading.Thread(target=lambda: dockets.append(opened(place, tmp_path))) for _ in range(4)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(dockets) == 4
    docket = dockets[0]
    assert docket.job("1042").details == {"customer": "Village band", "quantity": "300"}
    assert [t for t in verify(docket).troubles if "original" not in t] == []
    with docket.store.engine.connect() as connection:
        kept = connection.exec_driver_sql("SELECT count(*) FROM docket_entries_v1").scalar()
        version = connection.exec_driver_sql("SELECT value FROM docket_about_v1").scalar()
    assert (kept, version) == (6, "1")


def test_newer_tables_are_refused_and_left_as_they_are(place, tmp_path):
    docket = opened(place, tmp_path)
    with docket.store.engine.begin() as connection:
        connection.exec_driver_sql(f"UPDATE docket_about SET value = '{VERSION + 1}'")  # noqa: S608
    with pytest.raises(DocketError, match="newer version"):
        opened(place, tmp_path)


def test_whoever_waits_in_vain_is_told_to_try_again(place, tmp_path):
    docket = opened(place, tmp_path)
    impatient = opened(place, tmp_path, patience_s=0.1)
    with docket.store.writing(), pytest.raises(DocketBusyError, match="try again"):
        open_job(impatient, JOB, {}, by="P.C.")


def _write(place, folder, turns):
    docket = opened(place, folder)
    for turn in range(turns):
        decide(docket, JOB, "F1", "stand", by="B.A.", note=str(turn))


@pytest.mark.slow
def test_many_write_at_once_and_whoever_looks_sees_a_whole_record(place, tmp_path):
    docket = opened(place, tmp_path)
    open_job(docket, JOB, DETAILS, by="P.C.")
    add_copy(docket, COPY_LINES)
    pull(docket)
    context = multiprocessing.get_context("fork")
    writers = [context.Process(target=_write, args=(place, tmp_path, 5)) for _ in range(8)]
    for writer in writers:
        writer.start()
    while any(writer.is_alive() for writer in writers):
        assert verify(docket).troubles == ()
    for writer in writers:
        writer.join()
    assert [writer.exitcode for writer in writers] == [0] * 8
    assert len(docket.entries()) == 3 + 40
    assert verify(docket).troubles == ()


def test_a_database_that_is_not_there_is_one_line(tmp_path):
    for address in (
        f"postgresql+psycopg://shop@/postgres?host={tmp_path}",
        "nosuchdatabase://shop/docket",
    ):
        with pytest.raises(DocketError) as caught:
            opened(address, tmp_path)
        assert "\n" not in str(caught.value)
    with pytest.raises(DocketError, match="originals"):
        open_docket("postgresql+psycopg://shop@/postgres", create=True)
