"""The docket where the disk is full, the folder only to be read, the clock jumped back."""

from __future__ import annotations

import codecs
import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from datetime import timedelta
from pathlib import Path

import pytest
from docket_cases import (
    JOB,
    OLDER,
    Clock,
    add_copy,
    begun,
    child,
    pull,
    quick_folder,
    script,
    version_in,
)

from proofcheck.base.errors import OutputError, ProofcheckError
from proofcheck.base.values import Copy
from proofcheck.docket import decide, open_docket, open_job, take_copy, verify
from proofcheck.docket.canonical import sha256_of
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.originals import Original
from proofcheck.docket.record_words import moment
from proofcheck.docket.schema import VERSION

on_posix = pytest.mark.skipif(sys.platform == "win32", reason="needs processes that fork")


@pytest.fixture
def tmp_path():
    with quick_folder() as folder:
        yield folder


# ------------------------------------------------------------------ a disk that takes no more


def _with_small_files(path, told):
    """Record on with a limit on the size of files: the system itself refuses the write."""
    import resource

    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    docket = open_docket(path, clock=Clock())
    resource.setrlimit(resource.RLIMIT_FSIZE, (150_000, resource.RLIM_INFINITY))
    text = "Programme\n" * 20_000
    copy = Copy(text, "copy.txt", sha256_of(text), "utf-8", ())
    try:
        take_copy(docket, JOB, copy, Original("copy.txt", text.encode()), by="P.C.")
    except OutputError as error:
        told.send(str(error))
    try:
        for number in range(400):
            told.send(open_job(docket, f"job {number}", {"remarks": "x" * 190}, by="P.C.").sha256)
    except DocketError as error:
        told.send(str(error))


@pytest.mark.slow
@on_posix
def test_a_write_that_the_system_refuses_loses_nothing_acknowledged(tmp_path):
    begun(tmp_path)
    original, *acknowledged, refused = child(_with_small_files, tmp_path / "docket.db")
    assert "File too large" in original
    assert "the disk refused it" in refused
    assert "nothing was recorded" in refused
    assert "\n" not in original + refused
    docket = open_docket(tmp_path / "docket.db", clock=Clock())
    assert len(acknowledged) > 5
    assert [entry.sha256 for entry in docket.entries()[2:]] == acknowledged
    assert verify(docket).troubles == ()
    assert open_job(docket, "7", {}, by="P.C.").place == 1


def fill_a_disk(folder: Path) -> None:
    """Work in a folder that is a disk of its own, of little room; tell what happened as JSON."""
    told = {}
    docket = begun(folder)
    filler = folder / "filler"
    try:
        with filler.open("wb") as out:
            while True:
                out.write(bytes(4096))
                out.flush()
    except OSError as error:
        told["the system says"] = error.strerror
    done = []
    try:
        for number in range(1000):
            entry = open_job(docket, f"job {number}", {"remarks": "x" * 190}, by="P.C.")
            done += [entry.sha256]
    except DocketError as error:
        told["docket"] = str(error)
    try:
        pull(docket, b"x" * 200_000)
    except ProofcheckError as error:
        told["original"] = str(error)
    told["whole"] = verify(docket).troubles == ()
    told["there"] = [entry.sha256 for entry in docket.entries()[2:]] == done
    _fill_while_older(folder, filler, told)
    filler.unlink()
    told["goes on"] = open_job(docket, "7", {}, by="P.C.").place
    open_docket(folder / "older.db")
    told["brought up"] = version_in(folder / "older.db")
    print(json.dumps(told))


def _fill_while_older(folder: Path, filler: Path, told: dict) -> None:
    with filler.open("r+b") as out:
        out.truncate(filler.stat().st_size - 120_000)
    script(folder / "older.db", OLDER)
    try:
        with filler.open("ab") as out:
            while True:
                out.write(bytes(4096))
                out.flush()
    except OSError:
        pass
    try:
        open_docket(folder / "older.db")
    except DocketError as error:
        told["older"] = str(error)
    told["version"] = version_in(folder / "older.db")
    told["kept"] = [path.name for path in folder.glob("older.db.*") if path.stat().st_size]


@pytest.mark.slow
def test_a_full_disk_records_nothing_says_so_and_goes_on_with_room(tmp_path):
    unshare = shutil.which("unshare")
    small = f"mount -t tmpfs -o size=600k none {tmp_path}"
    if (
        unshare is None
        or subprocess.run(
            [unshare, "-rm", "sh", "-c", small], check=False, capture_output=True
        ).returncode
    ):
        pytest.skip("a small disk of one's own can't be mounted here")
    work = f"import test_docket_disk as t, pathlib; t.fill_a_disk(pathlib.Path({str(tmp_path)!r}))"
    done = subprocess.run(
        [unshare, "-rm", "sh", "-c", f'{small} && exec "$0" -c "$1"', sys.executable, work],
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
        check=False, capture_output=True, text=True,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert told["the system says"] == os.strerror(28)
    assert "the disk is full; nothing was recorded, make room" in told["docket"]
    assert "the disk is full" in told["original"]
    assert "the disk is full" in told["older"]
    assert (told["whole"], told["there"], told["goes on"]) == (True, True, 1)
    assert (told["version"], told["kept"], told["brought up"]) == ("1", [], str(VERSION))


# ------------------------------------------------------------------ a folder only to be read


def _only_reading(folder, told):
    # Found while Python's own folder may still be read: nobody may not where it is root's.
    codecs.lookup("utf-32-le")
    if os.geteuid() == 0:
        os.setuid(65534)
    docket = open_docket(folder / "docket.db")
    told.send(docket.job(JOB).details["quantity"])
    told.send(verify(docket).troubles)
    for attempt in (
        lambda: open_job(docket, "7", {}, by="P.C."),
        lambda: add_copy_of("Another\n", docket),
        lambda: open_docket(folder / "new.db", create=True),
        lambda: open_docket(folder / "older.db"),
    ):
        try:
            attempt()
        except ProofcheckError as error:
            told.send(str(error))


def add_copy_of(text, docket):
    copy = Copy(text, "copy.txt", sha256_of(text), "utf-8", ())
    return take_copy(docket, JOB, copy, Original("copy.txt", text.encode()), by="P.C.")


@on_posix
def test_a_read_only_folder_can_be_read_and_refuses_writing():
    folder = Path(tempfile.mkdtemp(dir="/var/tmp"))
    try:
        begun(folder)
        script(folder / "older.db", OLDER)
        for held in [folder, *folder.rglob("*")]:
            held.chmod(0o555 if held.is_dir() else 0o444)
        quantity, troubles, job, copy, new, older = child(_only_reading, folder)
        assert (quantity, troubles) == ("250", ())
        assert "may not be written to; nothing was recorded" in job
        assert "originals can't be kept" in copy
        assert "can't be opened" in new
        assert "may not be written to" in older
        assert not [line for line in (job, copy, new, older) if "\n" in line]
        assert version_in(folder / "older.db") == "1"
    finally:
        for held in [folder, *folder.rglob("*")]:
            held.chmod(0o755)
        shutil.rmtree(folder)


# ------------------------------------------------------------------ a clock that jumped back


def test_a_clock_that_jumped_back_is_recorded_and_order_is_kept(tmp_path):
    clock = Clock()
    docket = begun(tmp_path, clock=clock)
    clock.now -= timedelta(days=365)
    pull(docket)
    chain = docket.entries(JOB)
    assert [e.clock_back for e in chain] == [False, False, True]
    assert [e.kind for e in chain] == ["opened", "copy", "proof"]
    assert chain[2].at < chain[1].at
    assert "the clock having jumped back" in moment(chain[2], docket.shop)
    assert verify(docket).troubles == ()


def test_a_clock_that_jumped_back_is_noted_on_a_job_just_opened_too(tmp_path):
    clock = Clock()
    docket = begun(tmp_path, clock=clock)
    clock.now -= timedelta(days=365)
    assert open_job(docket, "7", {}, by="P.C.").clock_back
    assert not open_job(docket, "8", {}, by="P.C.").clock_back
    # Two machines' clocks part by seconds; that is no jump.
    clock.now -= timedelta(seconds=90)
    assert not open_job(docket, "9", {}, by="P.C.").clock_back


def test_decisions_after_the_clock_jumped_back_hold_in_the_order_they_were_made(tmp_path):
    clock = Clock()
    docket = begun(tmp_path, clock=clock)
    pull(docket)
    decide(docket, JOB, "F1", "correct", by="B.A.")
    clock.now -= timedelta(days=1)
    decide(docket, JOB, "F1", "stand", by="B.A.")
    add_copy(docket, ["Another copy"])
    assert docket.job(JOB).at("1/F1").decision.what == "stand"
    assert docket.job(JOB).copy.number == 2
