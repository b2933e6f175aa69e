"""The scanner's folder watched: each proof read into the docket as soon as it is whole."""

from __future__ import annotations

import shlex
import shutil
import subprocess
import tempfile
import time
from collections import Counter
from concurrent.futures import BrokenExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from proofcheck.base.errors import OutputError, ProofcheckError, SettingError
from proofcheck.base.options import Options
from proofcheck.base.visible import visible
from proofcheck.pile.arriving import Group, Parting, Settling, groups_of
from proofcheck.pile.crew import dismiss, own_crew
from proofcheck.pile.into_docket import Arrived, Took, take_proof
from proofcheck.pile.memory import share_mib
from proofcheck.pile.piled import folder_names
from proofcheck.pile.putting_away import put_apart, put_away
from proofcheck.pile.slips import NEEDS, can_read_codes, take_pages

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from concurrent.futures import Executor

    from proofcheck.docket import Docket
    from proofcheck.pile.arriving import Lying

__all__ = ["Watch", "WatchJob", "printer_of"]

APART = "apart"
_PRINT_S = 120
_MOST_TRIES = 3


@dataclass(frozen=True, slots=True)
class WatchJob:
    """What a person asks for."""

    folder: Path
    """The scanner's."""
    by: str
    """Initials under which proofs are recorded."""
    out: Path
    """Where papers go, a folder a job, and what can't be read, into "apart"."""
    options: Options = field(default_factory=Options)
    print_with: str = ""
    """The shop's own command that prints a file; nothing is printed if empty."""
    once: bool = False
    """Stop when nothing is left to do."""
    settle_s: float = 1.5
    """How long a file must be still to be taken for whole …"""
    quiet_s: float = 8.0
    """… and how long no further sheet of a proof must have come …"""
    patience_s: float = 20.0
    """… and how long one that can't be opened is waited for, since it may not be whole."""
    look_s: float = 0.5


class Watch:
    """Watches until it is stopped.

    Args:
        job: what is asked for.
        docket: where proofs are recorded.
        say: told one line for each proof that came, and for whatever goes wrong.
    """

    def __init__(self, job: WatchJob, docket: Docket, say: Callable[[str], None]) -> None:
        if not job.folder.is_dir():
            msg = f"{visible(str(job.folder))} is no folder; name the one the scanner writes to"
            raise SettingError(msg)
        if job.out.resolve() == job.folder.resolve():
            msg = "papers can't go where the scanner writes to; name another folder with --out"
            raise OutputError(msg)
        self._printer = printer_of(job.print_with)
        self._job, self._docket, self._say = job, docket, say
        self._settling = Settling(job.folder, job.settle_s)
        codes = can_read_codes()
        if not codes:
            say(f"names alone are gone by: {NEEDS}")
        self._parting = Parting(self._known, codes=codes, all_=docket.numbers)
        self._crew = own_crew(1, share_mib(1))
        self._executor: Executor | None = None
        self._waits: dict[str, float] = {}
        """Until when a proof is let lie, by the name of its first file."""
        self._tried: Counter[str] = Counter()
        """How often it could not be read for no fault of its own."""
        self.apart = 0
        """How many files were put apart, or had to be left."""

    def run(self) -> None:
        """Watch; return when nothing is left to do, if only once was asked for."""
        whole = False
        try:
            while self.look() or not self._job.once:
                time.sleep(self._job.look_s)
            whole = True
        finally:
            if self._executor is not None:
                dismiss(self._executor, self._crew, at_once=not whole)

    def look(self) -> bool:
        """Look once, and take what is whole; whether anything is still to come."""
        now = time.monotonic()
        try:
            still, coming = self._settling.look(now)
        except OSError as error:
            name = visible(str(self._job.folder))
            msg = f"{name} can't be looked at any more ({error.strerror}); watch it again"
            raise SettingError(msg) from error
        try:
            found = groups_of(still, self._parting)
        except ProofcheckError as error:  # the docket, and no sheet's fault
            if self._job.once:
                raise
            self._say(f"the docket can't be asked: {visible(str(error))}")
            time.sleep(self._job.patience_s)
            return True
        groups = [group for group in found if not self._given_up(group)]
        for group in groups:
            if self._is_due(group, now):
                self._take(group)
        return coming or bool(groups)

    def _given_up(self, group: Group) -> bool:
        """Whether it is left lying for good: where nobody waits, nothing is tried for ever."""
        return self._job.once and self._tried[group.all[0].path.name] >= _MOST_TRIES

    def _is_due(self, group: Group, now: float) -> bool:
        if now < self._waits.get(group.all[0].path.name, 0.0):
            return False
        return group.whole or now - group.since >= self._job.quiet_s

    def _take(self, group: Group) -> None:
        try:
            if group.trouble:
                self._refused(group, Took(group.trouble, torn=group.whole and not group.job))
            elif group.runs:
                self._take_runs(group, group.files[0][1])
            elif not group.files:
                words = f"the slip of job {visible(group.job)} came with no proof after it"
                self._refused(group, Took(words))
            else:
                self._take_one(group)
        except OutputError as error:  # what is put away nowhere lies where it was
            self._later(group, str(error))

    def _take_one(self, group: Group) -> None:
        took = self._read(group.job, [lying.path for _, lying in group.files])
        if not took.taken:
            self._refused(group, took)
            return
        for lying in group.all:
            # One that was written over meanwhile has not been read, and is taken by itself.
            if lying.unchanged:
                put_away(lying.path, self._papers(group.job) / "scans")
        self._told(group.job, took)

    def _take_runs(self, group: Group, lying: Lying) -> None:
        """One file with slips in it: each stretch of pages is a proof by itself."""
        troubles = []
        with tempfile.TemporaryDirectory(prefix="proofcheck-") as folder:
            for number, run in enumerate(group.runs, 1):
                job = self._parting.job_of_slip(run.job)
                if not job or not run.pages:
                    what = "pages before the first slip" if run.pages else f"the slip of job {job}"
                    troubles.append(f"{what} with nothing that belongs to them")
                    continue
                name = f"{lying.path.stem}-part-{number}"
                part = take_pages(lying.path, run.pages, Path(folder) / name)
                took = self._read(job, [part])
                if took.again:
                    self._later(group, took.words)
                    return
                if took.taken:
                    put_away(part, self._papers(job) / "scans")
                    self._told(job, took)
                else:
                    troubles.append(f"job {job}: {took.words}")
        if troubles:
            self._refused(group, Took(f"{visible(lying.path.name)}: {'; '.join(troubles)}"))
        elif lying.unchanged:
            put_away(lying.path, self._job.out / "taken apart")

    def _read(self, number: str, scans: Sequence[Path]) -> Took:
        if not self._known(number):
            return Took(f"there is no job {visible(number)} on the docket; open it first")
        store, originals = str(self._docket.store.place), self._docket.originals.folder
        arrived = Arrived(
            store, originals, number, tuple(scans), self._papers(number), self._job.by,
            self._job.options,
        )  # fmt: skip
        for _ in range(2):
            try:
                if self._executor is None:
                    self._executor = self._crew.begin(1)
                return self._executor.submit(take_proof, arrived).result()
            except BrokenExecutor:
                self._executor = None
        return Took("the program that read it died twice (killed, or out of memory)")

    def _refused(self, group: Group, took: Took) -> None:
        if took.again:
            self._later(group, took.words)
            return
        age = time.monotonic() - group.since
        if took.torn and age < self._job.patience_s:
            # It may not be whole: some scanners stop to think in the middle of a page.
            self._waits[group.all[0].path.name] = time.monotonic() + self._job.settle_s
            return
        paths = [lying.path for lying in group.all if lying.unchanged]
        put_apart(paths, self._job.out / APART, took.words)
        self.apart += len(paths)
        names = ", ".join(visible(path.name) for path in paths)
        if paths:
            self._say(f"PUT APART {names}: {took.words}")

    def _later(self, group: Group, words: str) -> None:
        """Let it lie and try again, since it was not its fault."""
        name = group.all[0].path.name
        self._tried[name] += 1
        if self._tried[name] == 1:
            self._say(f"{visible(name)} waits: {words}")
        self._waits[name] = time.monotonic() + self._job.patience_s
        if self._given_up(group):
            self.apart += len(group.all)
            self._say(f"LEFT LYING {visible(name)}: {words}")

    def _told(self, number: str, took: Took) -> None:
        self._say(f"{took.words}; papers: {visible(str(self._papers(number)))}")
        if self._printer and took.pdf is not None:
            trouble = _printed(self._printer, took.pdf)
            if trouble:
                self._say(f"NOT PRINTED {visible(took.pdf.name)}: {trouble}")

    def _papers(self, number: str) -> Path:
        name = folder_names([number])[number]
        return self._job.out / (f"job-{name}" if name.casefold() == APART else name)

    def _known(self, text: str) -> str:
        """The number of the job that a text names; "" where there is none."""
        writable = text.encode("utf-8", "ignore").decode("utf-8") == text
        return text if text and writable and self._docket.current(text) is not None else ""


def printer_of(command: str) -> list[str]:
    """The shop's command as arguments, none of which a shell sees.

    Raises:
        SettingError: it is no command, or there is none such on this machine.
    """
    try:
        words = shlex.split(command)
    except ValueError as error:
        msg = f"--print-with {visible(command)}: a quotation mark is not closed"
        raise SettingError(msg) from error
    if command and (not words or shutil.which(words[0]) is None):
        msg = f"--print-with: there is no program {visible(words[0] if words else command)!r} here"
        raise SettingError(msg)
    return words


def _printed(printer: Sequence[str], pdf: Path) -> str:
    """Print a file; what went wrong, or ""."""
    path = str(pdf.resolve())
    command = [word.replace("{}", path) for word in printer]
    if command == list(printer):
        command.append(path)
    try:
        done = subprocess.run(
            command, stdin=subprocess.DEVNULL, capture_output=True, timeout=_PRINT_S, check=False
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        return visible(str(error))[:200]
    said = done.stderr.decode("utf-8", "replace").strip().splitlines()
    return (
        "" if done.returncode == 0 else visible(said[-1] if said else f"status {done.returncode}")
    )
