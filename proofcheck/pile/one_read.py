"""One job of a pile read, wherever it is done: files in, papers out, nothing kept.

It runs in a worker on this machine or on another. It takes and gives values that can be sent, and
gives the same bytes however often it is asked.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import socket
import tempfile
import time
import traceback
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from proofcheck.base.errors import CopyError, ProofcheckError, ScanError, SheetUnfitError
from proofcheck.base.visible import visible
from proofcheck.pile.memory import peak_mib
from proofcheck.pile.reach import bytes_of

if TYPE_CHECKING:
    import datetime as dt

    from proofcheck.base.options import Options
    from proofcheck.pile.piled import Source
    from proofcheck.results.report import Report

__all__ = ["REPORT", "Outcome", "Sent", "Task", "read_one"]

REPORT = "report.json"


@dataclass(frozen=True, slots=True)
class Sent:
    """A file on its way to where it is read."""

    source: Source
    sha256: str
    data: bytes | None = None
    """Its bytes, where it does not lie within the worker's reach."""


@dataclass(frozen=True, slots=True)
class Task:
    """One job to be read."""

    number: int
    job: str
    folder: str
    """Name of its papers."""
    scans: tuple[Sent, ...]
    copy: Sent
    options: Options
    proof: str
    day: dt.date
    program: str
    """Version of the program that is to read it."""
    scratch: str | None = None
    """Where the worker may lay files meanwhile; the system's own place if not given."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of it."""

    status: int
    """As `read` exits."""
    verdict: str
    words: str
    """One line."""
    faults: int = 0
    queries: int = 0
    unread: int = 0
    sheets: int = 0
    papers: tuple[tuple[str, bytes], ...] = field(default=(), repr=False)
    """Names and bytes of what it is to be laid down with, the report among them."""
    lasting: bool = False
    """Reading it again would give the same."""
    trace: str = ""
    """Of a trouble that was not foreseen."""
    peak_mib: int = 0
    """The most memory its worker has had so far."""
    seconds: float = 0.0
    processor_s: float = 0.0
    """Seconds of one core, those of the programs it ran among them."""
    worker: str = ""


def read_one(task: Task) -> Outcome:
    """Read one job; every trouble is told in its outcome."""
    started, spent = time.perf_counter(), _processor_s()
    folder = Path(tempfile.mkdtemp(prefix="proofcheck-", dir=task.scratch))
    names = {str(folder): "."}
    try:
        found = _read(task, folder, names)
    except ProofcheckError as error:
        found = _refused(error, _named(str(error), names))
    except MemoryError:
        words = "not enough memory for this proof; give each worker more (fewer --workers)"
        found = Outcome(2, "not-read", words)
    except Exception as error:  # noqa: BLE001 - one bad sheet never stops the rest
        words = f"an unforeseen trouble ({type(error).__name__}: {visible(str(error))[:160]})"
        found = Outcome(2, "not-read", words, trace=_named(_trace(error), names))
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    seconds = round(time.perf_counter() - started, 3)
    worker = f"{socket.gethostname()}-{os.getpid()}"
    cost = round(_processor_s() - spent, 3)
    return replace(found, peak_mib=peak_mib(), seconds=seconds, processor_s=cost, worker=worker)


def _processor_s() -> float:
    return sum(os.times()[:4])


def _read(task: Task, folder: Path, names: dict[str, str]) -> Outcome:
    from proofcheck.check import check_proof
    from proofcheck.copytext import load_copy
    from proofcheck.read_job import Progress, ReadJob, write_files
    from proofcheck.results.report import exit_status, program_version
    from proofcheck.results.report_json import report_text
    from proofcheck.results.tally import tally

    if program_version() != task.program:
        msg = f"a worker has proofcheck {program_version()}, not {task.program}; install the same"
        raise ProofcheckError(msg)
    place = _laid(task.copy, folder / f"copy{_ending(task.copy)}", names)
    copy = replace(load_copy(place, encoding=task.options.encoding), name=task.copy.source.name)
    scans = [
        _laid(sent, folder / f"{number}{_ending(sent)}", names)
        for number, sent in enumerate(task.scans, 1)
    ]
    report = _told(check_proof(scans, copy, options=task.options), names)
    out = folder / "papers"
    out.mkdir()
    if report.judged:
        job = ReadJob(
            (Path(task.folder),), copy.name, job=task.job, proof=task.proof, folder=out,
            day=task.day,
        )  # fmt: skip
        write_files(job, report, Progress(None))
    papers = [(path.name, path.read_bytes()) for path in sorted(out.iterdir())]
    return Outcome(
        exit_status(report), report.verdict.value, tally(report), report.counts.faults,
        report.counts.queries, len(report.unread), len(report.sheets),
        ((REPORT, report_text(report).encode()), *papers), lasting=True,
    )  # fmt: skip


def _laid(sent: Sent, path: Path, names: dict[str, str]) -> Path:
    """The file where it can be read; raises ScanError where it is not the one that was meant."""
    names[str(path)] = sent.source.name
    data = sent.data if sent.data is not None else bytes_of(sent.source)
    if hashlib.sha256(data).hexdigest() != sent.sha256:
        msg = f"{sent.source.name} was changed while it waited to be read; read it again"
        raise ProofcheckError(msg)
    path.write_bytes(data)
    return path


def _ending(sent: Sent) -> str:
    """Of its name: what a copy is, is told by it."""
    ending = Path(sent.source.name).suffix.lower()
    return ending if ending.isascii() and ending[1:].isalnum() and len(ending) < 12 else ""


def _told(report: Report, names: dict[str, str]) -> Report:
    """The report in which each scan is called as a person knows it."""
    sheets = tuple(
        replace(sheet, scan=replace(sheet.scan, name=_named(sheet.scan.name, names)))
        for sheet in report.sheets
    )
    warnings = tuple(_named(each, names) for each in report.warnings)
    return replace(report, sheets=sheets, warnings=warnings)


def _named(text: str, names: dict[str, str]) -> str:
    for path in sorted(names, key=len, reverse=True):
        for written in (path, visible(path)):
            text = text.replace(written, names[path])
    return text


def _refused(error: ProofcheckError, words: str) -> Outcome:
    from proofcheck.results.report_json import unreadable_text

    words = visible(words)
    if isinstance(error, SheetUnfitError):
        papers = ((REPORT, unreadable_text(words).encode()),)
        return Outcome(2, "unreadable", words, papers=papers, lasting=True)
    lasting = isinstance(error, ScanError | CopyError)
    return Outcome(2, "unreadable" if lasting else "not-read", words, lasting=lasting)


def _trace(error: Exception) -> str:
    text = "".join(traceback.format_exception(error))
    return text.encode("utf-8", "backslashreplace").decode("utf-8")
