"""Proofs read in the background: one after the other, in a process apart, with progress told."""

from __future__ import annotations

import multiprocessing
import multiprocessing.queues
import queue
import shutil
import tempfile
import threading
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from proofcheck.base.errors import ProofcheckError
from proofcheck.base.visible import visible

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from multiprocessing.process import BaseProcess

    from proofcheck.base.options import Options
    from proofcheck.docket.book import Docket

__all__ = ["Dropped", "Reading", "ReadingRoom"]

_KEPT = 50
"""Readings that are still told of when they are done."""


@dataclass(frozen=True, slots=True)
class Dropped:
    """A proof to be read."""

    number: str
    """The job's."""
    scans: tuple[tuple[str, bytes], ...]
    """Names and bytes, in order."""
    by: str
    """Initials of who dropped it in."""


@dataclass(frozen=True, slots=True)
class Reading:
    """How one reading goes."""

    place: int
    number: str
    words: str
    done: bool = False
    trouble: bool = False


class ReadingRoom:
    """Reads what is dropped in, in order.

    Args:
        docket: where it is recorded.
        options: the shop's choices.
        told: called, from another thread, whenever something about a reading has changed.
    """

    def __init__(self, docket: Docket, options: Options, told: Callable[[], None]) -> None:
        self._docket, self._options, self._told = docket, options, told
        self._lock = threading.Lock()
        self._held: dict[int, Reading] = {}
        self._count = 0
        self._one = ThreadPoolExecutor(1, thread_name_prefix="reading")

    def readings(self) -> tuple[Reading, ...]:
        """Those under way and the last ones done, in the order they came."""
        with self._lock:
            return tuple(self._held.values())

    def take(self, dropped: Dropped) -> Reading:
        """Take a proof in; it is read when those before it are."""
        with self._lock:
            self._count += 1
            before = any(not held.done for held in self._held.values())
            words = "waits for those before it" if before else "is about to be read"
            taken = Reading(self._count, dropped.number, words)
            self._held[taken.place] = taken
            while len(self._held) > _KEPT:
                self._held.pop(next(iter(self._held)))
        self._one.submit(self._read, taken, dropped)
        self._told()
        return taken

    def close(self) -> None:
        """Read no more; what is under way is let finish."""
        self._one.shutdown(wait=True, cancel_futures=True)

    def _say(
        self, taken: Reading, words: str, *, done: bool = False, trouble: bool = False
    ) -> None:
        now = replace(taken, words=words, done=done, trouble=trouble)
        with self._lock:
            self._held[taken.place] = now
        self._told()

    def _read(self, taken: Reading, dropped: Dropped) -> None:
        folder = Path(tempfile.mkdtemp(prefix="proofcheck-"))
        try:
            self._record(taken, dropped, folder)
        except ProofcheckError as error:
            self._say(taken, visible(str(error)), done=True, trouble=True)
        except Exception as error:  # noqa: BLE001 - the desk goes on whatever one proof does
            words = f"it could not be read ({type(error).__name__}: {visible(str(error))[:200]})"
            self._say(taken, words, done=True, trouble=True)
        finally:
            shutil.rmtree(folder, ignore_errors=True)

    def _record(self, taken: Reading, dropped: Dropped, folder: Path) -> None:
        """The proof read and recorded in a process of its own, so that the desk stays quick."""
        scans = []
        for at, (name, data) in enumerate(dropped.scans, 1):
            path = folder / str(at) / _plain(name)
            path.parent.mkdir()
            path.write_bytes(data)
            scans.append(path)
        store = self._docket.store
        place = str(store.place), self._docket.originals.folder
        context = multiprocessing.get_context("spawn")
        said: multiprocessing.queues.Queue[tuple[str, str]] = context.Queue()
        asked = (place, dropped.number, scans, dropped.by, self._options, said)
        process = context.Process(target=_read_apart, args=asked, daemon=True)
        process.start()
        try:
            for kind, words in _all_said(process, said):
                if kind == "trouble":
                    raise ProofcheckError(words)
                self._say(taken, words, done=kind == "done")
        finally:
            process.join(5)


def _all_said(
    process: BaseProcess, said: multiprocessing.queues.Queue[tuple[str, str]]
) -> Iterator[tuple[str, str]]:
    """What the process says, to the last word."""
    while True:
        try:
            kind, words = said.get(timeout=0.5)
        except queue.Empty:
            if process.is_alive():
                continue
            kind, words = "trouble", "the program that read it came to an end"
        yield kind, words
        if kind != "tell":
            return


def _plain(name: str) -> str:
    """A name a person gave, as that of a file: no folder, no sign that is not plain."""
    kept = "".join(char if char.isalnum() or char in "-_. " else "-" for char in name)
    return kept.strip(". ")[-100:] or "proof"


def _read_apart(
    place: tuple[str, Path],
    number: str,
    scans: Sequence[Path],
    by: str,
    options: Options,
    said: multiprocessing.queues.Queue[tuple[str, str]],
) -> None:
    """Read a proof into the docket, in a process of its own."""
    from proofcheck.docket import open_docket
    from proofcheck.docket.recorded import proof_text
    from proofcheck.revise.next_proof import record_next_proof

    def tell(words: str) -> None:
        said.put(("tell", words))

    try:
        docket = open_docket(place[0], originals=place[1])
        record_next_proof(docket, number, scans, by=by, options=options, tell=tell)
        said.put(("done", proof_text(docket.job(number))))
    except ProofcheckError as error:
        said.put(("trouble", visible(str(error))))
    except Exception as error:  # noqa: BLE001 - told to the one who waits
        words = f"it could not be read ({type(error).__name__}: {visible(str(error))[:200]})"
        said.put(("trouble", words))
