"""A pile read through: as many jobs under way as there are workers, and no more in memory.

A worker that dies takes the whole pool with it, and the pool can't say whose fault it was. So
those that were under way are read again one by one, each alone; the one at which a worker dies
again is told, and the rest goes on.
"""

from __future__ import annotations

from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, CancelledError, wait
from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.pile.crew import dismiss
from proofcheck.pile.one_read import Outcome

if TYPE_CHECKING:
    from collections.abc import Iterator
    from concurrent.futures import Executor, Future

    from proofcheck.pile.crew import Crew
    from proofcheck.pile.one_read import Task

__all__ = ["read_through"]

DIED = (
    "its worker died (killed, or out of memory) and once more when it was read alone; "
    "read it by itself, at a lower resolution, or give it more memory"
)
GONE = "not read: the executor broke down before its turn; read the pile again, it goes on"


def read_through(tasks: Iterator[Task], crew: Crew) -> Iterator[tuple[Task, Outcome]]:
    """Read all tasks, in any order; one outcome for each.

    Tasks are asked for one by one, as workers become free.
    """
    lost: list[Task] = []
    while True:
        executor = crew.begin(crew.workers)
        whole = False
        try:
            yield from _until_broken(executor, tasks, crew, lost)
            whole = True
        finally:
            dismiss(executor, crew, at_once=not whole)
        if not lost:
            return
        if not crew.can_renew:
            for task in (*lost, *tasks):
                yield task, Outcome(2, "not-read", GONE)
            return
        for task in lost:
            yield task, _alone(task, crew)
        lost.clear()


def _until_broken(
    executor: Executor, tasks: Iterator[Task], crew: Crew, lost: list[Task]
) -> Iterator[tuple[Task, Outcome]]:
    """Read until all is done, or the executor is broken: then `lost` has what was under way."""
    under_way: dict[Future[Outcome], Task] = {}
    while not lost:
        while len(under_way) < crew.workers + 1 and not lost:
            task = next(tasks, None)
            if task is None:
                break
            try:
                under_way[executor.submit(crew.read, task)] = task
            except BrokenExecutor:
                lost.append(task)
        if not under_way:
            return
        done, _ = wait(under_way, return_when=FIRST_COMPLETED)
        for future in done:
            task = under_way.pop(future)
            found = _outcome(future)
            if found is None:
                lost.append(task)
            else:
                yield task, found
    for future, task in under_way.items():
        found = _outcome(future)
        if found is None:
            lost.append(task)
        else:
            yield task, found


def _alone(task: Task, crew: Crew) -> Outcome:
    executor = crew.begin(1)
    whole = False
    try:
        found = _outcome(executor.submit(crew.read, task)) or Outcome(2, "not-read", DIED)
        whole = True
    finally:
        dismiss(executor, crew, at_once=not whole)
    return found


def _outcome(future: Future[Outcome]) -> Outcome | None:
    """What came of it; None where the executor broke."""
    try:
        return future.result()
    except BrokenExecutor:
        return None
    except CancelledError:
        return Outcome(2, "not-read", GONE)
    except Exception as error:  # noqa: BLE001 - whatever an executor says of a worker it lost
        why = f"{type(error).__name__}: {visible(str(error))[:160]}"
        return Outcome(2, "not-read", f"its worker gave no answer ({why}); read the pile again")
