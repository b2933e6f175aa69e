"""A village concert's programme as a job on a docket, with proofs that need no reader."""

from __future__ import annotations

import copy
import multiprocessing
import os
import sqlite3
import tempfile
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from pathlib import Path

from report_cases import COPY_LINES, programme

from proofcheck.base.options import Options
from proofcheck.copytext import load_copy
from proofcheck.docket import (
    People,
    ProofTaken,
    Word,
    decide,
    open_docket,
    open_job,
    pull_proof,
    sign_off,
    take_copy,
)
from proofcheck.docket.canonical import sha256_of
from proofcheck.docket.originals import Original
from proofcheck.results.report import verdict_of
from proofcheck.results.report_json import report_text, report_to_json
from proofcheck.results.sealing import sealed

JOB = "1042"
DETAILS = {
    "customer": "Village band",
    "quantity": "250",
    "stock": "cream laid, demy",
    "ink": "black",
}
OLDER = (Path(__file__).parent / "data" / "docket_version_1.sql").read_text("utf-8")
"""A docket as version 1 of the tables had it, made by its own statements."""
START = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)


@contextmanager
def quick_folder():
    """A folder in memory where the system has one: waiting for the disk is no part of the test."""
    memory = Path("/dev/shm")  # noqa: S108 - a folder of one's own is made in it
    with tempfile.TemporaryDirectory(dir=memory if os.access(memory, os.W_OK) else None) as name:
        yield Path(name)


class Clock:
    """Goes on a minute at each look, unless it is set."""

    def __init__(self, now=START):
        self.now = now

    def __call__(self):
        self.now += timedelta(minutes=1)
        return self.now


def begun(folder, *, clock=None, address=""):
    """A docket with one job opened and its copy taken in, in a file or at an address."""
    place = address or folder / "docket.db"
    originals = folder / "docket-originals"
    docket = open_docket(place, create=True, originals=originals, clock=clock or Clock())
    open_job(docket, JOB, DETAILS, by="P.C.")
    add_copy(docket, COPY_LINES)
    return docket


def add_copy(docket, lines, job=JOB, by="P.C."):
    path = docket.originals.folder.parent / f"copy-{len(docket.entries())}.txt"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return take_copy(docket, job, load_copy(path), Original.of(path), by=by)


@lru_cache(maxsize=2)
def _programme(*, faults):
    return report_to_json(programme() if faults else programme(faults=(), recast=()))


def report_on(docket, *, job=JOB, scan=b"first", faults=True, version=None):
    """The JSON of a report on the job's copy, its scan being these bytes."""
    held = docket.job(job).copies[(version or 0) - 1 if version else -1]
    data = copy.deepcopy(_programme(faults=faults))
    text = held.entry.data["text"]
    data["copy"] |= {"sha256": held.sha256, "characters": len(text)}
    data["verdict"] = "faults" if faults else "clean"
    data["made"]["settings"] = Options().as_settings()
    if not text.startswith(COPY_LINES[0]):
        # Another copy than the programme: the first line holds all of it.
        spans = [[0, len(text)], *([None] * 4)]
        data["lines"] = [{**ln, "copy": s} for ln, s in zip(data["lines"], spans, strict=True)]
    elif len(text) > len("\n".join(COPY_LINES)) + 1:
        data["lines"][-1]["copy"][1] = len(text)
    for place in data["scans"]:
        place["sha256"] = sha256_of(scan)
    return sealed(data)


def record_on(docket, *, job=JOB, scan=b"first", faults=True):
    """The text of a record of reading, whole in itself, on the job's copy; these bytes its scan."""
    held = docket.job(job).copy
    report = programme() if faults else programme(faults=(), recast=())
    sheets = tuple(
        replace(sheet, scan=replace(sheet.scan, sha256=sha256_of(scan))) for sheet in report.sheets
    )
    copy_ = replace(report.copy, sha256=held.sha256, text=held.entry.data["text"])
    made = replace(report.provenance, settings=Options().as_settings())
    report = replace(report, verdict=verdict_of(report.faults))
    return report_text(replace(report, sheets=sheets, copy=copy_, provenance=made))


def pull(docket, scan=b"first", *, job=JOB, revise=None, findings=(), here=True, more=None, **how):
    """Record a proof on the job's copy; `more` changes its report."""
    report = report_on(docket, job=job, scan=scan, **how)
    if more is not None:
        more(report)
    taken = ProofTaken(
        report, (Original("proof.png", scan),), People(reader="B.A.", operator="T.W."), revise,
        findings, here,
    )  # fmt: skip
    return pull_proof(docket, job, taken, by="B.A.")


def decide_all(docket, what="correct", job=JOB, note=""):
    for found in docket.job(job).undecided:
        decide(docket, job, found.ref, what, by="B.A.", note=note)


def ok(docket, words="ok", job=JOB, **more):
    return sign_off(docket, job, Word(words, "the band's secretary", "in person"), **more)


def shown_made(docket, job=JOB, **others):
    """What a revise says that shows all corrections made, but for those named otherwise."""
    made = {found.ref: "made" for found in docket.job(job).corrections}
    return {"against": len(docket.job(job).proofs), "corrections": {**made, **others}}


def script(path, sql):
    """Carry out SQL in a file, behind the docket's back."""
    held = sqlite3.connect(path)
    held.executescript(sql)
    held.close()


def version_in(path):
    """Version of the tables in a file, as it says."""
    held = sqlite3.connect(path)
    (version,) = held.execute("SELECT value FROM docket_about WHERE name = 'version'").fetchone()
    held.close()
    return version


def child(target, *words):
    """What a process of its own told, in order."""
    here, there = multiprocessing.get_context("fork").Pipe(duplex=False)
    process = multiprocessing.get_context("fork").Process(target=target, args=(*words, there))
    process.start()
    there.close()
    told = []
    try:
        while True:
            told.append(here.recv())
    except EOFError:
        pass
    process.join(60)
    return told
