"""Who reads a pile: worker processes of this machine, or any executor a program hands over."""

from __future__ import annotations

import contextlib
import multiprocessing
import multiprocessing.connection
import os
import signal
import threading
from concurrent.futures import Executor, ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from proofcheck.pile.memory import bound_memory
from proofcheck.pile.one_read import read_one

if TYPE_CHECKING:
    from collections.abc import Callable

    from proofcheck.pile.one_read import Outcome, Task

__all__ = ["Crew", "crew_of", "dismiss", "own_crew"]


@dataclass(frozen=True, slots=True)
class Crew:
    """Workers, and how they are had."""

    workers: int
    begin: Callable[[int], Executor]
    """An executor of so many workers."""
    can_renew: bool
    """Whether another can be had where one has broken."""
    read: Callable[[Task], Outcome] = read_one
    """What each of them does."""
    sends_bytes: bool = False
    """Whether files travel with the task, since not every worker can reach this machine's."""
    memory_mib: int = 0
    """The most each may have; 0 for no bound known."""


def own_crew(workers: int, memory_mib: int) -> Crew:
    """Worker processes of this machine, started anew, one thread each."""

    def begin(count: int) -> Executor:
        return ProcessPoolExecutor(
            count,
            mp_context=multiprocessing.get_context("spawn"),
            initializer=_begin_worker,
            initargs=(memory_mib,),
        )

    return Crew(workers, begin, can_renew=True, memory_mib=memory_mib)


def crew_of(executor: Executor, workers: int) -> Crew:
    """An executor as it was handed over; it is used, and left open."""
    return Crew(workers, lambda _: executor, can_renew=False)


def dismiss(executor: Executor, crew: Crew, *, at_once: bool = False) -> None:
    """Let an executor of our own go; at once means in the middle of its work."""
    if not crew.can_renew:
        return
    processes = list((getattr(executor, "_processes", None) or {}).values())
    executor.shutdown(wait=not at_once, cancel_futures=True)
    for process in processes if at_once else ():
        process.terminate()


def _begin_worker(memory_mib: int) -> None:
    """Settle a process of our own before it loads any library."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)  # Ctrl-C ends it without a word
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ[name] = "1"
    os.environ["OMP_THREAD_LIMIT"] = "1"
    bound_memory(memory_mib)
    with contextlib.suppress(OSError):
        # Where memory runs out, a worker goes rather than the one who has the results.
        Path("/proc/self/oom_score_adj").write_text("500", encoding="ascii")
    threading.Thread(target=_end_with_parent, daemon=True).start()
    from proofcheck.base.threads import use_threads

    use_threads(1)


def _end_with_parent() -> None:
    """End this process when the one who leads is gone, however it went."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        multiprocessing.connection.wait([parent.sentinel])
        os._exit(1)
