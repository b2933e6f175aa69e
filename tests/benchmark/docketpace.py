"""How long the docket takes over its work when it holds many jobs.

    PYTHONPATH=tests:. python -m benchmark.docketpace --jobs 1000
    PYTHONPATH=tests:. python -m benchmark.docketpace --entries 10,1000,100000 --many 10000

Each job is opened, its copy taken in, a proof recorded and signed. The processor's time for
`verify`, `clear`, for reading one job and all jobs, and for recording one entry more: the middle of
several turns. With --entries and --many the docket is laid down in one go and then worked on: a job
of so many decisions, or so many jobs.
"""

from __future__ import annotations

import argparse
import statistics
import time
from pathlib import Path
from typing import TYPE_CHECKING

import sqlalchemy as sa
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
from proofcheck.docket.canonical import canonical, sha256_of
from proofcheck.docket.chain import FORM, Draft, read_entries, stamp
from proofcheck.docket.originals import Original
from proofcheck.docket.schema import START, entries, head, link
from proofcheck.docket.show import job_text

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["filled", "main", "pace", "pace_at"]

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


# ------------------------------------------------------------------ laid down in one go


def laid_down(docket, drafts) -> None:
    """Put entries at the end of the docket in one go, chained as the docket chains its own.

    Recording one by one waits for the disk each time; what is measured here is the work after.

    Args:
        docket: the record.
        drafts: each with its job's number.
    """
    with docket.store.writing() as connection:
        number, book = connection.execute(sa.select(head.c.number, head.c.book)).one()
        last = {e.job: (e.place, e.sha256) for e in read_entries(connection)}
        rows = []
        for job, draft in drafts:
            place, before = last.get(job, (0, START))
            body = canonical(
                {
                    "entry": FORM, "job": job, "place": place + 1, "before": before,
                    "at": stamp(docket.clock()), "zone": "UTC +00:00", "kind": draft.kind,
                    "by": draft.by, "data": draft.data, "originals": draft.originals,
                }
            )  # fmt: skip
            sha256 = sha256_of(body)
            number, last[job] = number + 1, (place + 1, sha256)
            book = link(book, number, sha256)
            rows.append(
                {"number": number, "job": job, "place": place + 1, "body": body,
                 "sha256": sha256, "book": book}
            )  # fmt: skip
        connection.execute(entries.insert(), rows)
        connection.execute(head.update().values(number=number, book=book))
    with docket.heads.path.open("a", encoding="ascii") as file:
        file.writelines(f"{row['number']}:{row['book']}\n" for row in rows)


def one_long_job(folder: Path, count: int):
    """A docket with one job of so many entries: its proof's faults decided over and over."""
    docket = open_docket(folder / "docket.db", create=True)
    open_job(docket, "1", {"customer": "Village band"}, by="P.C.")
    text = "\n".join(COPY_LINES) + "\n"
    copy = Copy(text, "copy.txt", sha256_of(text), "utf-8", ())
    take_copy(docket, "1", copy, Original("copy.txt", text.encode()), by="P.C.")
    pull(docket, b"scan", job="1")
    words = ("correct", "stand", "sound")
    laid_down(
        docket,
        [
            ("1", Draft("decided", "B.A.", {"fault": f"1/F{at % 4 + 1}", "what": words[at % 3]}))
            for at in range(max(count - 3, 0))
        ],
    )
    return open_docket(folder / "docket.db")


def many_jobs(folder: Path, jobs: int):
    """A docket with so many jobs of four entries; their originals are one job's, shared."""
    docket = filled(folder, 1)
    drafts = [Draft(e.kind, e.by, e.data, list(e.originals)) for e in docket.entries("1")]
    laid_down(docket, [(str(n), draft) for n in range(2, jobs + 1) for draft in drafts])
    return open_docket(folder / "docket.db")


def pace_at(count: int, jobs: int = 0) -> dict[str, float]:
    """Milliseconds for each piece of work on a job of so many entries, or on so many jobs."""
    with quick_folder() as folder:
        docket = many_jobs(folder, jobs) if jobs else one_long_job(folder, count)
        job = str(max(jobs // 2, 1))
        told: list[str] = []
        first = {"verify": _timed(lambda: verify(docket, tell=told.append))}
        held = verify(docket)
        assert not held.troubles, held.troubles[:2]
        assert held.entries < 1000 or told, "no word on how far it is"
        again = open_docket(folder / "docket.db")
        first["append, the first"] = _timed(
            lambda: amend_job(again, job, {"ink": "red"}, by="P.C.")
        )
        work: dict[str, Callable[[], object]] = {
            "append": lambda: amend_job(again, job, {"ink": "black"}, by="P.C."),
            "show": lambda: job_text(again.job(job), again.shop),
            "clear": lambda: clear_for_press(again, job),
        }
        turns = 1 if count > 10_000 else _TURNS
        for name, what in work.items():
            first[name] = statistics.median(_timed(what) for _ in range(turns))
        return {name: round(ms, 1) for name, ms in first.items()}


def main() -> None:
    """Measure and print, milliseconds of the processor's time."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--jobs", type=int, default=0, help="recorded one by one")
    parser.add_argument("--entries", default="", help="of one job: 10,1000,100000")
    parser.add_argument("--many", type=int, default=0, metavar="JOBS", help="laid down in one go")
    asked = parser.parse_args()
    for count in filter(None, asked.entries.split(",")):
        _say(f"one job of {int(count):,} entries", pace_at(int(count)))
    if asked.many:
        _say(f"{asked.many:,} jobs", pace_at(0, asked.many))
    if asked.jobs or not (asked.entries or asked.many):
        _say(f"{asked.jobs or 1000:,} jobs, recorded one by one", pace(asked.jobs or 1000))


def _say(name: str, told: dict[str, float]) -> None:
    print(name)
    for what, ms in told.items():
        print(f"  {what:<20}{ms:>10} ms", flush=True)


if __name__ == "__main__":
    main()
