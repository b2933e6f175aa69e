"""A pile read from beginning to end: nothing read twice, nothing lost, the worst told first.

Exit status as `read` has it (`diff`'s, POSIX.1-2017), of all jobs the worst.
"""

from __future__ import annotations

import csv
import io
import json
import os
import shutil
import signal
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest
from pile_cases import SAMPLES, Inline, pile_of, real_pile, told
from test_cli import refused, run

from proofcheck.base.errors import OutputError
from proofcheck.base.options import Options
from proofcheck.pile import batch_job
from proofcheck.pile.batch_job import BatchJob, read_pile
from proofcheck.pile.crew import Crew, own_crew
from proofcheck.pile.job_folders import JobFolders
from proofcheck.pile.reading_through import DIED, GONE, read_through
from proofcheck.pile.summing_up import Summary


@pytest.fixture
def pretending(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Jobs are read by `told`, in this process; the list of those that were."""
    read: list[str] = []

    def noting(task):
        read.append(task.job)
        return told(task)

    def crew(_executor, workers):
        return Crew(workers, lambda _: Inline(), can_renew=False, read=noting)

    monkeypatch.setattr(batch_job, "crew_of", crew)
    return read


def _read(job: BatchJob) -> Summary:
    return read_pile(job, executor=Inline())


def _listed(folder: Path) -> dict[str, tuple[int, bytes]]:
    """Every file of the papers, with its inode and bytes."""
    return {
        str(path.relative_to(folder)): (path.stat().st_ino, path.read_bytes())
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.name.startswith("summary") and path.name != "lock"
    }


# ------------------------------------------------------------------ the summary


def test_the_worst_comes_first_and_gives_the_status(tmp_path: Path, pretending) -> None:
    names = ["a-clean", "b-faults", "c-mismatch", "d-queries", "e-unreadable", "f-not-wholly-read"]
    pile = pile_of(tmp_path / "in", *names)
    (pile / "lone.txt").write_text("no scan")
    summary = _read(BatchJob(pile, tmp_path / "out"))
    found = [row.verdict for row in summary.worst_first]
    assert found == [
        "not-read", "unreadable", "mismatch", "not-wholly-read", "faults", "queries", "clean",
    ]  # fmt: skip
    assert summary.status == 2
    assert summary.counted()["clean"] == 1
    assert len(pretending) == 6


def test_all_three_summaries_say_the_same(tmp_path: Path, pretending) -> None:
    pile = pile_of(tmp_path / "in", "=1+1", "faults", "clean")
    summary = _read(BatchJob(pile, tmp_path / "out"))
    out = tmp_path / "out"
    told_json = json.loads((out / "summary.json").read_text())
    assert [each["job"] for each in told_json["jobs"]] == ["faults", "=1+1", "clean"]
    assert told_json["status"] == summary.status == 1
    rows = list(csv.DictReader(io.StringIO((out / "summary.csv").read_text("utf-8-sig"))))
    # A spreadsheet must not take a job's name for a formula (OWASP, "CSV Injection").
    assert [row["job"] for row in rows] == ["faults", "'=1+1", "clean"]
    page = (out / "summary.html").read_text()
    assert 'href="faults/faults-marked.html"' in page
    assert page.index("faults") < page.index("clean")
    assert (out / "faults" / "faults-marked.html").is_file()


def test_a_clean_pile_exits_0(tmp_path: Path, pretending) -> None:
    assert _read(BatchJob(pile_of(tmp_path / "in", "1", "2"), tmp_path / "out")).status == 0


# ------------------------------------------------------------------ going on where it was


def test_done_work_is_known_by_what_it_was_made_of(tmp_path: Path, pretending) -> None:
    pile = pile_of(tmp_path / "in", "1", "2", "3")
    job = BatchJob(pile, tmp_path / "out")
    _read(job)
    before = _listed(job.out)
    for path in pile.iterdir():
        os.utime(path, (1, 1))  # a time says nothing
    again = _read(job)
    assert len(pretending) == 3
    assert all(row.read_before for row in again.rows)
    assert _listed(job.out) == before


@pytest.mark.parametrize(
    "changed",
    [
        lambda pile, job: (pile / "2.png").write_bytes(b"another scan") and job,
        lambda pile, job: (pile / "2.txt").write_text("another copy") and job,
        lambda _, job: replace(job, options=Options(part=True)),
        lambda _, job: replace(job, proof="second"),
    ],
)
def test_what_has_changed_is_not_taken_for_done_and_not_written_over(
    tmp_path: Path, pretending, changed
) -> None:
    pile = pile_of(tmp_path / "in", "2")
    job = BatchJob(pile, tmp_path / "out")
    _read(job)
    before = _listed(job.out)
    job = changed(pile, job)
    (row,) = _read(job).rows
    assert (row.status, row.verdict) == (2, "not-read")
    assert "--overwrite" in row.what
    assert _listed(job.out) == before
    (row,) = _read(replace(job, overwrite=True)).rows
    assert (row.status, len(pretending)) == (0, 2)
    assert _listed(job.out) != before


def test_a_file_named_in_the_options_counts_by_its_bytes(tmp_path: Path, pretending) -> None:
    bill = tmp_path / "bill.toml"
    bill.write_text("[sorts]\na = 1")
    job = BatchJob(pile_of(tmp_path / "in", "1"), tmp_path / "out", Options(bill=bill))
    _read(job)
    bill.write_text("[sorts]\na = 2")
    (row,) = _read(job).rows
    assert row.status == 2


def test_papers_that_were_spoilt_are_not_taken_for_done(tmp_path: Path, pretending) -> None:
    job = BatchJob(pile_of(tmp_path / "in", "1"), tmp_path / "out")
    _read(job)
    (job.out / "1" / "report.json").unlink()
    (row,) = _read(job).rows
    assert "not as they were left" in row.what
    (row,) = _read(replace(job, overwrite=True)).rows
    assert row.status == 0


@pytest.mark.parametrize("overwrite", [False, True])
def test_what_a_person_laid_there_is_never_replaced(
    tmp_path: Path, pretending, overwrite: bool
) -> None:
    pile = pile_of(tmp_path / "in", "1", "2")
    job = BatchJob(pile, tmp_path / "out")
    _read(job)
    (job.out / "1" / "letter to the customer.txt").write_text("by hand")
    shutil.rmtree(job.out / "2")
    (job.out / "2").mkdir()
    (job.out / "2" / "notes.txt").write_text("by hand")
    for path in pile.glob("*.png"):
        path.write_bytes(b"another scan")
    before = _listed(job.out)
    summary = _read(replace(job, overwrite=overwrite))
    assert [row.verdict for row in summary.rows] == ["not-read", "not-read"]
    assert all("none of these papers" in row.what for row in summary.rows)
    assert _listed(job.out) == before


def test_what_a_kill_left_behind_is_cleared_away(tmp_path: Path, pretending) -> None:
    job = BatchJob(pile_of(tmp_path / "in", "1"), tmp_path / "out")
    half = job.out / ".0123456789abcdef.part"
    half.mkdir(parents=True)
    (half / "done.json").write_text("{}")
    _read(job)
    assert not half.exists()
    assert sorted(path.name for path in job.out.iterdir()) == [
        ".proofcheck-batch", "1", "summary.csv", "summary.html", "summary.json",
    ]  # fmt: skip


@pytest.mark.slow
def test_killed_at_any_point_it_goes_on_where_it_was(tmp_path: Path) -> None:
    pile, out = real_pile(tmp_path / "in", 3), tmp_path / "out"
    command = [sys.executable, "-m", "proofcheck.cli", "batch", pile, "--out", out, "--workers=1"]
    started = subprocess.Popen(
        list(map(str, command)), stdout=subprocess.DEVNULL, start_new_session=True
    )
    deadline = time.monotonic() + 240
    while not (out / "300" / "done.json").is_file():
        assert started.poll() is None
        assert time.monotonic() < deadline
        time.sleep(0.05)
    started.send_signal(signal.SIGKILL)
    started.wait()
    before = _listed(out / "300")
    while _in_session(started.pid):  # a worker ends with the one who leads
        assert time.monotonic() < deadline
        time.sleep(0.1)
    done = run("batch", pile, "--out", out, "--workers=1")
    assert done.returncode == 0, done.stdout + done.stderr
    assert "1 job was read before" in done.stdout
    assert _listed(out / "300") == before
    told_json = json.loads((out / "summary.json").read_text())
    assert [each["read_before"] for each in told_json["jobs"]] == [True, False, False]
    assert 0 < max(told_json["peak_mib"].values()) <= told_json["memory_mib"]


def _in_session(leader: int) -> list[str]:
    """Processes still there of those a program started."""
    found = []
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            name, _, rest = path.read_text().rpartition(")")
        except OSError:
            continue
        state, _, _, session = rest.split()[:4]
        if int(session) == leader and state != "Z":
            found.append(name)
    return found


# ------------------------------------------------------------------ one bad job


def test_what_can_t_be_read_is_told_and_the_rest_goes_on(tmp_path: Path) -> None:
    pile = real_pile(tmp_path / "in", 1)
    (pile / "cut.png").write_bytes((SAMPLES / "notice-proof.png").read_bytes()[:9000])
    (pile / "cut.txt").write_text("copy")
    (pile / "blank.png").write_bytes((SAMPLES / "notice-proof.png").read_bytes())
    (pile / "blank.txt").write_text(" \n")
    out = tmp_path / "out"
    done = run("batch", pile, "--out", out, "--workers", 1)
    assert done.returncode == 2
    assert done.stderr == ""  # silent in a pipe
    told_json = json.loads((out / "summary.json").read_text())
    words = {each["job"]: (each["verdict"], each["what"]) for each in told_json["jobs"]}
    assert words["300"][0] == "clean"
    assert words["cut"][0] == words["blank"][0] == "unreadable"
    assert words["cut"][1].startswith("cut.png: ")
    assert words["blank"][1].startswith("blank.txt: ")
    # As `read` writes them, named by the job.
    names = [path.name for path in sorted((out / "300").iterdir())]
    assert names == [
        "300-corrections.csv", "300-marked.html", "300-marked.pdf", "300-marked.png", "done.json",
        "report.json",
    ]  # fmt: skip
    report = (out / "300" / "report.json").read_text()
    assert str(tmp_path) not in report  # no path of the place it was read in
    again = run("batch", pile, "--out", out, "--workers", 1)
    assert again.returncode == 2
    assert "0 sheets read" in again.stdout
    assert "3 jobs were read before" in again.stdout


class _Tasks:
    """Tasks by name alone."""

    def __new__(cls, *names: str):
        from test_pile_batch import _task

        return iter([_task(number, name) for number, name in enumerate(names)])


def _task(number: int, name: str):
    import datetime as dt

    from proofcheck.pile.one_read import Sent, Task
    from proofcheck.pile.piled import Source

    sent = Sent(Source(name, name), "0" * 64)
    day = dt.date(2026, 1, 1)
    return Task(number, name, name, (sent,), sent, Options(), "first", day, "0")


@pytest.mark.slow
def test_a_worker_that_dies_is_told_for_its_job_and_the_rest_goes_on() -> None:
    crew = replace(own_crew(2, 0), read=told)
    names = ["slow 1", "die", "slow 2", "4", "5", "die too", "7"]
    found = {task.job: outcome.words for task, outcome in read_through(_Tasks(*names), crew)}
    assert set(found) == set(names)
    assert {name for name, words in found.items() if words == DIED} == {"die", "die too"}


@pytest.mark.slow
def test_an_executor_handed_over_that_breaks_is_told_for_all_that_is_left() -> None:
    own = own_crew(1, 0)
    executor = own.begin(1)
    crew = Crew(1, lambda _: executor, can_renew=False, read=told)
    found = [(task.job, out) for task, out in read_through(_Tasks("die", "2", "3"), crew)]
    executor.shutdown()
    assert sorted(name for name, _ in found) == ["2", "3", "die"]
    assert all(out.words == GONE and out.status == 2 for _, out in found)


@pytest.mark.slow
def test_a_worker_that_may_have_too_little_memory_says_so(tmp_path: Path) -> None:
    """A bound far below what any proof needs: one line a job, and no more."""
    pile = real_pile(tmp_path / "in", 1)
    done = run("batch", pile, "--out", tmp_path / "out", "--workers", 1, "--memory", 60)
    assert done.returncode == 2
    (told_json,) = json.loads((tmp_path / "out" / "summary.json").read_text())["jobs"]
    assert told_json["verdict"] == "not-read"
    assert "memory" in told_json["what"]


# ------------------------------------------------------------------ bad places


def test_results_within_what_is_read_are_refused(tmp_path: Path) -> None:
    pile = pile_of(tmp_path / "in", "1")
    for out in (pile, pile / "out", pile / "a" / "b"):
        refused(run("batch", pile, "--out", out), "lies within")
    assert sorted(path.name for path in pile.iterdir()) == ["1.png", "1.txt"]


def test_results_go_beside_what_is_read(tmp_path: Path, pretending) -> None:
    pile = pile_of(tmp_path / "monday.batch", "1")
    assert BatchJob(pile).out == tmp_path / "monday.batch-read"
    (tmp_path / "pile.csv").write_text("proof,copy\nmonday.batch/1.png,monday.batch/1.txt\n")
    job = BatchJob(tmp_path / "pile.csv")
    assert _read(job).status == 0
    assert (tmp_path / "pile-read" / "1" / "done.json").is_file()


def test_a_place_that_can_t_be_written_to_is_told_before_the_reading(tmp_path: Path) -> None:
    pile = pile_of(tmp_path / "in", "1")
    (tmp_path / "file").write_text("")
    refused(run("batch", pile, "--out", tmp_path / "file"), "file", "name another folder")
    refused(run("batch", pile, "--out", "/proc/none"), "/proc/none", "name another folder")


def test_a_summary_of_somebody_else_is_left_as_it_is(tmp_path: Path, pretending) -> None:
    pile, out = pile_of(tmp_path / "in", "1"), tmp_path / "out"
    out.mkdir()
    (out / "summary.csv").write_text("the accountant's")
    with pytest.raises(OutputError, match="--overwrite"):
        _read(BatchJob(pile, out))
    assert (out / "summary.csv").read_text() == "the accountant's"
    assert not pretending


def test_two_batches_at_once_into_one_folder_are_told(tmp_path: Path) -> None:
    pile, out = pile_of(tmp_path / "in", "1"), tmp_path / "out"
    with JobFolders(out):
        refused(run("batch", pile, "--out", out), "another batch")


def test_an_empty_folder_and_an_unknown_option(tmp_path: Path) -> None:
    (tmp_path / "in").mkdir()
    refused(run("batch", tmp_path / "in"), "no scan and no copy")
    refused(run("batch", tmp_path / "none"), "none", "can't be read")
    refused(run("batch", tmp_path / "in", "--options", "colour=red"), "no option 'colour'")
    refused(run("batch", tmp_path / "in", "--workers", -1, "--options", ""), "no scan")


def test_what_goes_with_what_can_be_asked_for_alone(tmp_path: Path) -> None:
    pile = pile_of(tmp_path / "in", "1")
    done = run("batch", pile, "--pairs")
    assert (done.returncode, done.stdout) == (0, "1: 1.png with 1.txt\n")
    assert [path.name for path in tmp_path.iterdir()] == ["in"]
