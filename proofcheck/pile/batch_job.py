"""A pile read from beginning to end: what `proofcheck batch` asks for."""

from __future__ import annotations

import os
import time
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, TextIO

from proofcheck.base.errors import OutputError, ProofcheckError, SettingError
from proofcheck.base.options import Options
from proofcheck.base.visible import visible
from proofcheck.base.writing import write_whole
from proofcheck.pile.by_name import pile_of_folder
from proofcheck.pile.crew import crew_of, own_crew
from proofcheck.pile.job_folders import JobFolders
from proofcheck.pile.listed import pile_of_table
from proofcheck.pile.memory import cores, share_mib
from proofcheck.pile.one_read import Outcome, Sent, Task
from proofcheck.pile.piled import folder_names
from proofcheck.pile.reach import bytes_of, sha256_of_source
from proofcheck.pile.reading_through import read_through
from proofcheck.pile.summary_page import how_fast, summary_html
from proofcheck.pile.summing_up import Row, Summary, summary_csv, summary_json
from proofcheck.pile.told import pairs_text, summary_text
from proofcheck.pile.work_key import work_key
from proofcheck.results.report import program_version

if TYPE_CHECKING:
    from collections.abc import Iterator
    from concurrent.futures import Executor
    from pathlib import Path

    from proofcheck.pile.crew import Crew
    from proofcheck.pile.piled import Pile, Piled, Source
    from proofcheck.read_job import Progress

__all__ = ["BatchJob", "read_pile", "run_batch"]

SUMMARIES = ("summary.html", "summary.csv", "summary.json")


@dataclass(frozen=True, slots=True)
class BatchJob:
    """What a person asks for."""

    given: Path
    """A folder of scans and copies, or a table of them."""
    folder: Path | None = None
    """Where results go; beside what is given, with "-read" to its name, if not said."""
    options: Options = field(default_factory=Options)
    proof: str = "first"
    workers: int = 0
    """How many worker processes; one for each core if 0."""
    memory_mib: int = 0
    """The most each worker may have; its share of the machine's if 0."""
    cluster: str = ""
    """Address of a scheduler whose workers read; none if empty."""
    overwrite: bool = False
    pairs_only: bool = False
    """Only say what goes with what."""

    @property
    def out(self) -> Path:
        """Where results go."""
        if self.folder is not None:
            return self.folder
        given = self.given.resolve()
        return given.with_name(f"{given.stem if given.is_file() else given.name}-read")


def run_batch(job: BatchJob, out: TextIO, progress: Progress) -> int:
    """Read the pile, print what is worth saying, and return the worst status.

    Raises ProofcheckError where the pile as a whole can't be read.
    """
    if job.pairs_only:
        pile = _pile(job)
        out.write(pairs_text(pile))
        return 2 if any(each.trouble for each in pile.jobs) else 0
    summary = read_pile(job, progress=progress)
    progress.done()
    out.write(summary_text(summary, how_fast(summary)))
    out.write(f"Summary: {visible(str(job.out / SUMMARIES[0]))}\n")
    out.flush()
    return summary.status


def read_pile(
    job: BatchJob, *, executor: Executor | None = None, progress: Progress | None = None
) -> Summary:
    """Read the pile and write its papers and its summary.

    Args:
        job: what is asked for.
        executor: who reads, in place of worker processes of this machine; it is left open. As
            many jobs are given to it at a time as `job.workers` says, and one more.
        progress: told how many are left.

    Raises:
        SettingError: the folder or table can't be used.
        OutputError: results can't be written.
        ProofcheckError: the cluster can't be reached.
    """
    pile = _pile(job)
    _refuse_place(job)
    began = time.perf_counter()
    with JobFolders(job.out, overwrite=job.overwrite) as folders:
        _make_room(job, folders)
        if job.cluster:
            from proofcheck.pile.cluster import cluster_crew

            with cluster_crew(job.cluster) as crew:
                summary = _Batch(job, pile, folders, crew, progress).read()
        else:
            crew = _crew(job, executor)
            summary = _Batch(job, pile, folders, crew, progress).read()
        summary = replace(summary, seconds=time.perf_counter() - began)
        title = f"Proofs of {job.given.resolve().name}"
        for name, data in zip(
            SUMMARIES,
            (summary_html(summary, title).encode(), summary_csv(summary), summary_json(summary)),
            strict=True,
        ):
            write_whole(job.out / name, data, overwrite=True)
    return summary


class _Batch:
    """One pass through a pile."""

    def __init__(
        self, job: BatchJob, pile: Pile, folders: JobFolders, crew: Crew, progress: Progress | None
    ) -> None:
        self._job, self._pile, self._folders, self._crew = job, pile, folders, crew
        self._progress = progress
        self._names = folder_names(each.job for each in pile.jobs)
        self._rows: dict[int, Row] = {}
        self._keys: dict[int, str] = {}
        self._peaks: dict[str, int] = {}
        self._day: date = datetime.now(UTC).astimezone().date()

    def read(self) -> Summary:
        """Read what is not read yet; the summary of all."""
        for task, outcome in read_through(self._tasks(), self._crew):
            if outcome.worker:
                peak = max(outcome.peak_mib, self._peaks.get(outcome.worker, 0))
                self._peaks[outcome.worker] = peak
            laid = ""
            if outcome.lasting:
                self._folders.lay(task.folder, self._keys[task.number], outcome)
                laid = task.folder
            self._rows[task.number] = _row(self._pile.jobs[task.number], outcome, laid)
            self._tell()
        rows = tuple(self._rows[number] for number in sorted(self._rows))
        memory = self._crew.memory_mib
        return Summary(rows, self._pile.left, self._crew.workers, memory, self._peaks)

    def _tasks(self) -> Iterator[Task]:
        """What is to be read, job by job; what is done or can't be read gets its row here."""
        for number, each in enumerate(self._pile.jobs):
            if each.trouble or each.copy is None:
                self._rows[number] = _row(each, Outcome(2, "not-read", each.trouble))
                continue
            try:
                task = self._task(number, each, each.copy)
                key = self._keys[number] = work_key(task)
                done = self._folders.done(task.folder, key)
            except ProofcheckError as error:
                self._rows[number] = _row(each, Outcome(2, "not-read", str(error)))
                continue
            if done is not None:
                self._rows[number] = _row(each, done, task.folder, before=True)
                self._tell()
                continue
            if self._crew.sends_bytes:
                task = replace(task, scans=tuple(map(_packed, task.scans)), copy=_packed(task.copy))
            yield task

    def _task(self, number: int, each: Piled, copy: Source) -> Task:
        return Task(
            number=number,
            job=each.job,
            folder=self._names[each.job],
            scans=tuple(Sent(scan, sha256_of_source(scan)) for scan in each.scans),
            copy=Sent(copy, sha256_of_source(copy)),
            options=each.options,
            proof=self._job.proof,
            day=self._day,
            program=program_version(),
            scratch=None if self._crew.sends_bytes else str(self._folders.scratch.resolve()),
        )

    def _tell(self) -> None:
        if self._progress is not None:
            all_, done = len(self._pile.jobs), len(self._rows)
            bad = sum(row.status > 0 for row in self._rows.values())
            told = f"{done:,} of {all_:,} jobs done, {all_ - done:,} left"
            self._progress.tell(told + (f"; {bad:,} not clean" if bad else ""))


def _packed(sent: Sent) -> Sent:
    """With its bytes, unless every worker can open its address."""
    return sent if sent.source.is_address else replace(sent, data=bytes_of(sent.source))


def _row(each: Piled, found: Outcome, folder: str = "", *, before: bool = False) -> Row:
    return Row(
        job=each.job,
        status=found.status,
        verdict=found.verdict,
        what=found.words,
        faults=found.faults,
        queries=found.queries,
        unread=found.unread,
        sheets=found.sheets,
        scans=tuple(scan.name for scan in each.scans),
        copy=each.copy.name if each.copy else "",
        notes=each.notes,
        folder=folder,
        papers=tuple(name for name, _ in found.papers) if folder else (),
        read_before=before,
        seconds=found.seconds,
        processor_s=found.processor_s,
        peak_mib=found.peak_mib,
        trace=found.trace,
    )


def _pile(job: BatchJob) -> Pile:
    if job.given.is_dir():
        return pile_of_folder(job.given, job.options)
    return pile_of_table(job.given, job.options)


def _crew(job: BatchJob, executor: Executor | None) -> Crew:
    if job.workers < 0 or job.memory_mib < 0:
        msg = "workers and memory can't be less than 0; leave them out for the usual"
        raise SettingError(msg)
    workers = job.workers or cores()
    if executor is not None:
        return crew_of(executor, workers)
    return own_crew(workers, job.memory_mib or share_mib(workers))


def _refuse_place(job: BatchJob) -> None:
    """Refuse to lay results among what is read: they would be read the next time."""
    given, out = job.given.resolve(), job.out.resolve()
    if given.is_dir() and (out == given or given in out.parents):
        msg = (
            f"the folder for results, {visible(str(job.out))}, lies within the one that is read; "
            "name one outside it with --out"
        )
        raise OutputError(msg)


def _make_room(job: BatchJob, folders: JobFolders) -> None:
    """Put the last summary away: until this one is written there is none that holds."""
    paths = [folders.folder / name for name in SUMMARIES]
    if folders.fresh and not job.overwrite:
        taken = next((path for path in paths if os.path.lexists(path)), None)
        if taken is not None:
            msg = f"{visible(str(taken))} exists already; name another folder, or say --overwrite"
            raise OutputError(msg)
    for path in paths:
        try:
            path.unlink(missing_ok=True)
        except OSError as error:
            msg = f"{visible(str(path))} can't be written anew ({error.strerror}); move it away"
            raise OutputError(msg) from error
