"""Tests run on a program that was harmed, quickly: only those that come to the harmed place.

A process of its own loads the tests once and splits off another for each mutant, in which the code
of the one function is exchanged (`Tests.warm`). What is made as a module is loaded (a table, a
number with a name) cannot be exchanged afterwards: for that the program is loaded anew with the
change in it (`Tests.fresh`).
"""

from __future__ import annotations

import gc
import os
import resource
import signal
import sys
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path
from types import CodeType, FunctionType
from typing import TYPE_CHECKING

from tests.lab.reaching import Changed, Loop, Reach, loaded, split

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    import pytest

    from tests.lab.harms import Mutant

MOST_BYTES = 6 << 30
"""Of memory beyond what a process starts with: a mutant that gathers without end is stopped."""


def bounded(seconds: float) -> None:
    """From here on so much processor time, then this process is stopped; ten times by the clock."""
    signal.signal(signal.SIGPROF, signal.SIG_DFL)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    signal.signal(signal.SIGALRM, signal.SIG_DFL)
    signal.alarm(int(10 * seconds) + 60)


@dataclass(frozen=True, slots=True)
class Said:
    """What came of a mutant: `failed`, `passed` or `late`, and the test that said so."""

    said: str
    test: str
    seconds: float


def order(found: Reach, wanted: Iterable[str], most_seconds: float) -> list[str]:
    """Tests in the order they are to run: quick ones first, those that share something together.

    Those with which `most_seconds` would be passed are left out.
    """
    groups: dict[str, list[str]] = defaultdict(list)
    grouped = set(found.grouped)
    for test in wanted:
        groups[test.split("::")[0] if test in grouped else test].append(test)
    took = found.seconds.__getitem__
    out, spent = [], 0.0
    for tests in sorted(groups.values(), key=lambda tests: sum(map(took, tests))):
        for test in sorted(tests, key=took, reverse=len(tests) > 1):
            # First the one that made what is shared: what the others take was measured after it.
            spent += took(test)
            if spent <= most_seconds:
                out.append(test)
    return out


@dataclass(frozen=True, slots=True)
class Tests:
    """The tests of a room, in a copy of the checkout, and what is known of them."""

    copy: Path
    files: tuple[str, ...]
    found: Reach
    most_seconds: float
    """Of the processor, for the tests of one mutant."""

    def wanted(self, mutant: Mutant) -> list[str]:
        """The tests that can notice a mutant, in their order.

        Those that come to its statement; for what is made as the module is loaded, those that come
        to any statement of the module or of one that imports from it, or else all.
        """
        here = str(mutant.path.relative_to(self.copy))
        numbers = {
            number
            for number, (path, line, column) in enumerate(self.found.statements)
            if path == here and (line, column) == mutant.statement
        }
        if self.anew(mutant):
            users = {here} | {each for each in self._paths() if self._imports(each, mutant.path)}
            numbers |= {n for n, (path, *_) in enumerate(self.found.statements) if path in users}
        reached = self.found.reached
        wanted = [test for test, at in reached.items() if not numbers.isdisjoint(at)]
        everything = self.anew(mutant) and not wanted
        return order(self.found, reached if everything else wanted, self.most_seconds)

    def anew(self, mutant: Mutant) -> bool:
        """Whether the change counts as the program or its tests are loaded."""
        here = str(mutant.path.relative_to(self.copy))
        return mutant.statement is None or any(
            self.found.statements[number] == (here, *mutant.statement)
            for number in self.found.loading
        )

    def _paths(self) -> set[str]:
        return {path for path, *_ in self.found.statements}

    def _imports(self, path: str, module: Path) -> bool:
        return f"{module.parent.name}.{module.stem} import" in (self.copy / path).read_text("utf-8")

    def limits(self) -> dict[str, float]:
        """Processor time that is plenty, by test: it may have to make what its file shares."""
        most: dict[str, float] = defaultdict(float)
        for test, took in self.found.seconds.items():
            most[test.split("::")[0]] = max(most[test.split("::")[0]], took)
        return {
            test: 3 * (took + most[test.split("::")[0]]) + 5
            for test, took in self.found.seconds.items()
        }

    def _said(self, work: Callable[[], int]) -> Said:
        """What a process of its own says of a mutant."""
        last = self.copy / "last"
        last.write_text("(loading)", "utf-8")
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        status, killed = split(work)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        took = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
        said = "late" if killed else "failed" if status else "passed"
        return Said(said, "" if said == "passed" else last.read_text("utf-8"), took)

    def _run(self, plugin: Loop, items: Sequence[pytest.Item]) -> int:
        """Run tests until one fails; which is running is written down for the first process."""
        pages = int(Path("/proc/self/statm").read_text("utf-8").split()[0])
        most = pages * resource.getpagesize() + MOST_BYTES
        resource.setrlimit(resource.RLIMIT_AS, (most, resource.RLIM_INFINITY))
        limits, last = self.limits(), self.copy / "last"
        for item, following in zip(items, [*items[1:], None], strict=True):
            last.write_text(item.nodeid, "utf-8")
            bounded(limits.get(item.nodeid, 60.0))
            if not plugin.run(item, following):
                return 1
        return 0

    def fresh(self, mutant: Mutant) -> Said:
        """Of a mutant in a program that is loaded anew with it."""
        wanted = self.wanted(mutant)
        files = sorted({test.split("::")[0] for test in wanted})

        def loop(session: pytest.Session, plugin: Loop) -> None:
            known = {item.nodeid: item for item in session.items}
            new = [item for name, item in known.items() if name not in self.found.seconds]
            items = [*new, *(known[test] for test in wanted if test in known)]
            os._exit(1 if session.testsfailed else self._run(plugin, items))

        def work() -> int:
            bounded(60.0)
            change = Changed(lambda source, _: mutant.made(source), [mutant.path])
            sys.meta_path.insert(0, change)
            return loaded(self.copy, files, loop) or 70

        return self._said(work)

    def warm(self, mutants: Sequence[Mutant], tell: Callable[[Mutant, Said], None]) -> None:
        """Of all mutants that stand in functions; `tell` is called in a process of its own.

        Those that cannot be exchanged so are passed over, and told nothing of.
        """

        def loop(session: pytest.Session, plugin: Loop) -> None:
            if session.testsfailed:
                return
            items = {item.nodeid: item for item in session.items}
            functions = _functions(self.copy)
            gc.freeze()
            for mutant in mutants:
                wanted = self.wanted(mutant)
                if not wanted:
                    tell(mutant, Said("unreached", "", 0.0))
                    continue
                new = None if self.anew(mutant) else _exchanged(mutant, functions)
                if new is None:
                    continue

                def work(
                    new: Sequence[tuple[FunctionType, CodeType]] = new,
                    wanted: Sequence[str] = wanted,
                ) -> int:
                    for function, code in new:
                        function.__code__ = code
                    return self._run(plugin, [items[test] for test in wanted])

                tell(mutant, self._said(work))

        split(lambda: loaded(self.copy, self.files, loop))


def _functions(copy: Path) -> dict[tuple[str, str], list[FunctionType]]:
    """Every function of the program that there is, by file and full name."""
    found: dict[tuple[str, str], list[FunctionType]] = defaultdict(list)
    for each in gc.get_objects():
        if isinstance(each, FunctionType) and each.__code__.co_filename.startswith(str(copy)):
            found[each.__code__.co_filename, each.__code__.co_qualname].append(each)
    return found


def _exchanged(
    mutant: Mutant, functions: dict[tuple[str, str], list[FunctionType]]
) -> list[tuple[FunctionType, CodeType]] | None:
    """Which functions get which code; None where a change after loading would not reach all."""
    if mutant.function is None:
        return None
    name, first = mutant.function
    path = str(mutant.path)
    inner = f"{name}.<locals>."
    if any(file == path and other.startswith(inner) for file, other in functions):
        return None  # One within it was made as the module was loaded.
    live = [each for each in functions[path, name] if each.__code__.co_firstlineno == first]
    code = _code(compile(mutant.made(mutant.path.read_bytes()), path, "exec"), name, first)
    if not live or code is None:
        return None
    if any(each.__code__.co_freevars != code.co_freevars for each in live):
        return None
    return [(each, code) for each in live]


def _code(outer: CodeType, name: str, first: int) -> CodeType | None:
    for each in outer.co_consts:
        if isinstance(each, CodeType):
            if (each.co_qualname, each.co_firstlineno) == (name, first):
                return each
            if (found := _code(each, name, first)) is not None:
                return found
    return None
