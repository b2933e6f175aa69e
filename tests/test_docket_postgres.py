"""The docket in PostgreSQL, where a server is installed."""

from __future__ import annotations

import multiprocessing
import os
import pwd
import shutil
import subprocess
import tempfile
from pathlib import Path

import pytest
import sqlalchemy as sa
from docket_cases import DETAILS, JOB, Clock, add_copy, decide_all, ok, pull
from report_cases import COPY_LINES

from proofcheck.docket import decide, export_job, import_job, open_docket, open_job, verify
from proofcheck.docket.troubles import DocketBusyError, DocketError

pytest.importorskip("psycopg", reason="the driver is not installed")


def _programs() -> Path | None:
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    on_path = shutil.which("initdb")
    return found[-1].parent if found else Path(on_path).parent if on_path else None


PROGRAMS = _programs()
pytestmark = pytest.mark.skipif(PROGRAMS is None, reason="no PostgreSQL server is installed")


@pytest.fixture(scope="module")
def server():
    """A server of one's own on a socket in a folder of its own."""
    user = None
    if os.geteuid() == 0:
        try:
            user = pwd.getpwnam("postgres").pw_name
        except KeyError:
            pytest.skip("the server does not run as root, and there is no user for it")
    folder = Path(tempfile.mkdtemp(prefix="pg-"))
    if user:
        shutil.chown(folder, user)

    def call(program, *words):
        subprocess.run(
            [PROGRAMS / program, *words], user=user, cwd=folder, check=True, timeout=120,
            stdout=subprocess.DEVNULL,
        )  # fmt: skip

    data = folder / "data"
    call("initdb", "-D", data, "-A", "trust", "-U", "shop", "--no-sync")
    call(
        "pg_ctl", "-D", data, "-w", "-l", folder / "log", "start",
        "-o", f"-k {folder} -c listen_addresses='' -c fsync=off",
    )  # fmt: skip
    try:
        yield f"postgresql+psycopg://shop@/postgres?host={folder}"
    finally:
        call("pg_ctl", "-D", data, "-m", "immediate", "stop")
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture
def place(server):
    engine = sa.create_engine(server)
    with engine.begin() as connection:
        for table in ("docket_entries", "docket_about", "docket_head"):
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


def test_whoever_waits_in_vain_is_told_to_try_again(place, tmp_path):
    docket = opened(place, tmp_path)
    impatient = opened(place, tmp_path, patience_s=0.1)
    with docket.store.writing(), pytest.raises(DocketBusyError, match="try again"):
        open_job(impatient, JOB, {}, by="P.C.")


def _write(place, folder, turns):
    docket = opened(place, folder)
    for turn in range(turns):
        decide(docket, JOB, "F1", "stand", by="B.A.", note=str(turn))


def test_many_write_at_once(place, tmp_path):
    docket = opened(place, tmp_path)
    open_job(docket, JOB, DETAILS, by="P.C.")
    add_copy(docket, COPY_LINES)
    pull(docket)
    context = multiprocessing.get_context("fork")
    writers = [context.Process(target=_write, args=(place, tmp_path, 5)) for _ in range(4)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    assert len(docket.entries()) == 3 + 20
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
