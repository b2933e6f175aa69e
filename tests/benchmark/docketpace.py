"""How long the docket takes over its work when it holds many jobs.

    PYTHONPATH=tests:. python -m benchmark.docketpace --jobs 1000

Each job is opened, its copy taken in, a proof recorded and signed. The processor's time for
`verify`, `clear`, for reading one job and all jobs, and for recording one entry more: the middle of
several turns.
"""

from __future__ import annotations

import argparse
import statistics
import time
from pathlib import Path
from typing import TYPE_CHECKING

from docket_cases import ok, pull, quick_folder
from report_cases import COPY_LINES

from proofcheck.base.values import Copy
from proofcheck.docket import (
    amend_job,
    clear_for_press,
    open_docket,
    open_job,
    take_copy,
    verify,
)
from proofcheck.docket.canonical import sha256_of
from proofcheck.docket.originals import Original

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["filled", "main", "pace"]

_TURNS = 5


def filled(folder: Path, jobs: int):
    """A docket with so many jobs, four entries each."""
    docket = open_docket(folder / "docket.db", create=True)
    for number in range(1, jobs + 1):
        job = str(number)
        open_job(docket, job, {"customer": "Village band", "quantity": "250"}, by="P.C.")
        text = "\n".join([*COPY_LINES, f"No. {number} of the season."]) + "\n"
        copy = Copy(text, "copy.txt", sha256_of(text), "utf-8", ())
        take_copy(docket, job, copy, Original("copy.txt", text.encode()), by="P.C.")
        pull(docket, f"scan {number}".encode(), job=job, faults=False)
        ok(docket, job=job)
    return docket


def pace(jobs: int) -> dict[str, float]:
    """Milliseconds for each piece of work on a docket of so many jobs."""
    with quick_folder() as folder:
        begun = time.process_time()
        docket = filled(folder, jobs)
        told = {"filling, an entry": (time.process_time() - begun) * 1000 / (4 * jobs)}
        last = str(jobs // 2)
        work: dict[str, Callable[[], object]] = {
            "verify": lambda: verify(docket),
            "clear": lambda: clear_for_press(docket, last),
            "one job": lambda: docket.job(last),
            "all jobs": docket.jobs,
            "recording": lambda: amend_job(docket, last, {"ink": "black"}, by="P.C."),
        }
        for name, what in work.items():
            told[name] = statistics.median(_timed(what) for _ in range(_TURNS))
        return {name: round(ms, 1) for name, ms in told.items()}


def _timed(what: Callable[[], object]) -> float:
    start = time.process_time()
    what()
    return (time.process_time() - start) * 1000


def main() -> None:
    """Measure and print, milliseconds."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--jobs", type=int, default=1000)
    asked = parser.parse_args()
    for name, ms in pace(asked.jobs).items():
        print(f"{name:<20}{ms:>10} ms")


if __name__ == "__main__":
    main()
