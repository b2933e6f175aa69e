"""What the tests of piles share: small piles, and readers that do what is wanted of them."""

from __future__ import annotations

import os
import signal
import time
from concurrent.futures import Executor, Future
from pathlib import Path

from proofcheck.base.found import Verdict
from proofcheck.pile.one_read import Outcome, Task

SAMPLES = Path(__file__).parent.parent / "samples"


class Inline(Executor):
    """Does each piece of work as it is handed over."""

    def submit(self, fn, /, *args, **kwargs):
        future: Future = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except Exception as error:  # noqa: BLE001 - as executors do
            future.set_exception(error)
        return future


def told(task: Task) -> Outcome:
    """As the job's name has it: a verdict, or a worker that dies."""
    if "die" in task.job:
        os.kill(os.getpid(), signal.SIGKILL)
    if "slow" in task.job:
        time.sleep(0.5)
    verdict = next((v.value for v in Verdict if v.value in task.job), "clean")
    status = {"clean": 0, "queries": 1, "faults": 1}.get(verdict, 2)
    papers = (("report.json", b"{}"), (f"{task.folder}-marked.html", b"<p>"))
    return Outcome(
        status, verdict, f"as {task.job} says", sheets=len(task.scans), papers=papers,
        lasting=True, peak_mib=10, worker=str(os.getpid()),
    )  # fmt: skip


def pile_of(folder: Path, *names: str) -> Path:
    """A folder with a scan and a copy for each name; nothing in them can be read."""
    folder.mkdir(parents=True, exist_ok=True)
    for name in names:
        (folder / f"{name}.png").write_bytes(f"scan of {name}".encode())
        (folder / f"{name}.txt").write_text(f"copy of {name}")
    return folder


def real_pile(folder: Path, count: int) -> Path:
    """A folder of so many jobs of one small proof, no two of the same bytes."""
    folder.mkdir(parents=True, exist_ok=True)
    scan = (SAMPLES / "notice-proof.png").read_bytes()
    copy = (SAMPLES / "notice-copy.txt").read_text()
    for number in range(count):
        # What follows the end of a picture is read by nobody.
        (folder / f"{300 + number}.png").write_bytes(scan + bytes([number]))
        (folder / f"{300 + number}.txt").write_text(copy)
    return folder
