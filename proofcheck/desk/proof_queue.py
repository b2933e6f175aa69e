"""Proofs that other programs ask to have read: one after the other, each in a process apart.

Nothing of them goes on the docket. What was read is kept a while to be fetched, then let go.
"""

from __future__ import annotations

import multiprocessing
import os
import queue
import secrets
import shutil
import tempfile
import threading
import time
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Final

from proofcheck.base.errors import ProofcheckError
from proofcheck.base.visible import visible

if TYPE_CHECKING:
    from multiprocessing.process import BaseProcess
    from multiprocessing.queues import Queue

    from proofcheck.base.options import Options

__all__ = ["Asked", "FullError", "ProofQueue", "State", "Unread"]

MOST_WAITING: Final = 20
"""Proofs that may wait at once."""
LONGEST_S: Final = 900.0
"""A reading that takes longer is stopped."""
KEPT_S: Final = 3600.0
"""How long what came of a proof can be fetched."""
_MOST_KEPT: Final = 100
_RECORD: Final = "record.json"


class FullError(ProofcheckError):
    """So many proofs wait that no more is taken."""


class State(StrEnum):
    """How far a proof has come."""

    WAITING = "waiting"
    READING = "reading"
    DONE = "done"
    REFUSED = "refused"
    """It could not be read; the words say why."""


@dataclass(frozen=True, slots=True)
class Unread:
    """A proof to be read."""

    scans: tuple[tuple[str, bytes], ...]
    """Names and bytes, in order."""
    copy: tuple[str, bytes]
    lines: tuple[tuple[str, bytes], ...]
    """Files of lines found elsewhere; none to have them found."""
    options: Options


@dataclass(frozen=True, slots=True)
class Asked:
    """Where one proof stands."""

    name: str
    """By which it is asked after; not to be guessed."""
    state: State
    words: str
    ahead: int = 0
    """How many are read before it."""
    ended: float = 0.0
    """When it was done or refused, by the machine's steady clock."""

    @property
    def over(self) -> bool:
        """Whether nothing more will come."""
        return self.state in {State.DONE, State.REFUSED}


class ProofQueue:
    """Reads what is asked, in order; safe to be asked by several threads.

    Args:
        longest_s: seconds after which a reading is stopped.
        most: proofs that may wait at once.
    """

    def __init__(self, longest_s: float = LONGEST_S, most: int = MOST_WAITING) -> None:
        self._longest_s, self._most = longest_s, most
        self._lock = threading.Lock()
        self._held: dict[str, Asked] = {}
        self._futures: dict[str, Future[None]] = {}
        self._running: BaseProcess | None = None
        self._kept_in: Path | None = None
        self._one = ThreadPoolExecutor(1, thread_name_prefix="service")
        self._closed = False

    def take(self, unread: Unread) -> Asked:
        """Take a proof in. Raises FullError where too many wait."""
        name = secrets.token_urlsafe(18)
        with self._lock:
            self._forget()
            waiting = sum(not asked.over for asked in self._held.values())
            if waiting >= self._most or self._closed:
                msg = f"{waiting} proofs wait already; ask again when some of them are read"
                raise FullError(msg)
            self._held[name] = Asked(name, State.WAITING, "waits for those before it")
            self._futures[name] = self._one.submit(self._read, name, unread)
        return self.of(name) or self._held[name]

    def of(self, name: str) -> Asked | None:
        """Where a proof stands; None for one that is not known, or no longer."""
        with self._lock:
            self._forget()
            asked = self._held.get(name)
            if asked is None:
                return None
            ahead = 0
            for other in self._held.values():
                if other.name == name:
                    break
                ahead += not other.over
            return replace(asked, ahead=0 if asked.over else ahead)

    def record(self, name: str) -> str | None:
        """The record of a proof that is done."""
        asked = self.of(name)
        if asked is None or asked.state is not State.DONE:
            return None
        try:
            return (self._folder / name / _RECORD).read_text("ascii")
        except OSError:
            return None

    def withdraw(self, name: str) -> bool:
        """Let go of a proof and what came of it; one under way is stopped. False for none known."""
        with self._lock:
            asked = self._held.pop(name, None)
            future = self._futures.pop(name, None)
            if asked is not None and asked.state is State.READING and self._running is not None:
                self._running.terminate()
        if future is not None:
            future.cancel()
        if asked is not None and asked.state is not State.READING:
            shutil.rmtree(self._folder / name, ignore_errors=True)
        return asked is not None

    def close(self) -> None:
        """Read no more; what is under way is stopped, and all that was kept is let go."""
        with self._lock:
            self._closed = True
            if self._running is not None:
                self._running.terminate()
        self._one.shutdown(wait=True, cancel_futures=True)
        if self._kept_in is not None:
            shutil.rmtree(self._kept_in, ignore_errors=True)

    @property
    def _folder(self) -> Path:
        """Where all is kept; made when the first proof comes."""
        if self._kept_in is None:
            self._kept_in = Path(tempfile.mkdtemp(prefix="proofcheck-"))
        return self._kept_in

    def _forget(self) -> None:
        """Let go of what was not fetched for long, and of the oldest where there is too much."""
        over = [asked for asked in self._held.values() if asked.over]
        late = time.monotonic() - KEPT_S
        for asked in [a for a in over if a.ended < late] + over[: max(0, len(over) - _MOST_KEPT)]:
            self._held.pop(asked.name, None)
            self._futures.pop(asked.name, None)
            shutil.rmtree(self._folder / asked.name, ignore_errors=True)

    def _say(self, name: str, state: State, words: str) -> None:
        ended = time.monotonic() if state in {State.DONE, State.REFUSED} else 0.0
        with self._lock:
            if name in self._held:
                self._held[name] = Asked(name, state, words, ended=ended)

    def _read(self, name: str, unread: Unread) -> None:
        folder = self._folder / name
        try:
            self._say(name, State.READING, "its reading begins")
            scans, copy, lines = _laid_down(folder, unread)
            options = replace(unread.options, lines=tuple(lines)) if lines else unread.options
            self._apart(name, (folder, scans, copy, options))
        except ProofcheckError as error:
            self._say(name, State.REFUSED, visible(str(error)))
        except Exception as error:  # noqa: BLE001 - the service goes on whatever one proof does
            self._say(name, State.REFUSED, _unforeseen(error))
        with self._lock:
            gone = name not in self._held
        if gone:
            shutil.rmtree(folder, ignore_errors=True)

    def _apart(self, name: str, asked: tuple[Path, list[str], str, Options]) -> None:
        context = multiprocessing.get_context("spawn")
        said: Queue[tuple[str, str]] = context.Queue()
        process = context.Process(target=_read_apart, args=(*asked, said), daemon=True)
        process.start()
        with self._lock:
            self._running = process
            stop = self._closed or name not in self._held
        if stop:
            process.terminate()
        until = time.monotonic() + self._longest_s
        try:
            while True:
                state, words = _heard(process, said, until)
                self._say(name, State(state), words)
                if state != State.READING:
                    return
        except TimeoutError:
            words = f"it took longer than {self._longest_s:g} s and was stopped"
            self._say(name, State.REFUSED, words)
        finally:
            with self._lock:
                self._running = None
            process.terminate()
            process.join(5)


def _heard(process: BaseProcess, said: Queue[tuple[str, str]], until: float) -> tuple[str, str]:
    """What the process says next. Raises TimeoutError when its time is over."""
    while True:
        try:
            return said.get(timeout=0.2)
        except queue.Empty:
            if time.monotonic() > until:
                raise TimeoutError from None
            if not process.is_alive() and said.empty():
                return State.REFUSED, "the program that read it came to an end"


def _laid_down(folder: Path, unread: Unread) -> tuple[list[str], str, list[str]]:
    """What was sent as files of a folder of its own; their names in it: scans, copy, lines."""

    def put(place: str, file: tuple[str, bytes]) -> str:
        name = f"{place}/{_plain(file[0])}"
        (folder / place).mkdir(parents=True)
        (folder / name).write_bytes(file[1])
        return name

    scans = [put(f"scan-{at}", file) for at, file in enumerate(unread.scans, 1)]
    lines = [put(f"lines-{at}", file) for at, file in enumerate(unread.lines, 1)]
    return scans, put("copy", unread.copy), lines


def _plain(name: str) -> str:
    """A name that was sent, as that of a file: no folder, no sign that is not plain."""
    kept = "".join(char if char.isalnum() or char in "-_. " else "-" for char in name)
    return kept.strip(". ")[-100:] or "file"


def _unforeseen(error: Exception) -> str:
    return f"it could not be read ({type(error).__name__}: {visible(str(error))[:200]})"


def _read_apart(
    folder: Path, scans: list[str], copy: str, options: Options, said: Queue[tuple[str, str]]
) -> None:
    """Read a proof and write its record; run in a process of its own."""
    from proofcheck.base.writing import write_whole
    from proofcheck.check import check_proof
    from proofcheck.results.report_json import report_text
    from proofcheck.results.tally import tally

    def tell(words: str) -> None:
        said.put((State.READING, words))

    try:
        # Names in the record are those of the files as they were sent.
        os.chdir(folder)
        report = check_proof(scans, copy, options=options, tell=tell)
        write_whole(_RECORD, report_text(report))
        said.put((State.DONE, tally(report)))
    except ProofcheckError as error:
        said.put((State.REFUSED, visible(str(error))))
    except Exception as error:  # noqa: BLE001 - told to the one who waits
        said.put((State.REFUSED, _unforeseen(error)))
