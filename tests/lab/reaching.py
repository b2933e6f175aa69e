"""Which test comes to which statements: each is run once, in a process split off this one.

The first process has loaded the large libraries; what is split off it ends with its work.
"""

from __future__ import annotations

import ast
import builtins
import functools
import gc
import hashlib
import importlib.abc
import importlib.machinery
import json
import os
import signal
import sys
import time
import traceback
from contextlib import suppress
from dataclasses import asdict, dataclass, field
from pathlib import Path
from types import CodeType
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable, Generator, Iterable, Iterator, Sequence


ROOT = Path(__file__).parents[2]


@dataclass(slots=True)
class Reach:
    """To which statements each test comes, on the program as it is."""

    statements: list[tuple[str, int, int]]
    """File, line and column of each."""
    seconds: dict[str, float] = field(default_factory=dict)
    """Of the processor, by the name of a test; with what it shares with others of its file."""
    reached: dict[str, list[int]] = field(default_factory=dict)
    grouped: list[str] = field(default_factory=list)
    """Tests that share something made for their file."""
    loading: list[int] = field(default_factory=list)
    """What is come to as the tests are loaded."""


class Reaching(ast.NodeTransformer):
    """Has a module set a byte of `__reached__` wherever it comes to a statement of a function."""

    def __init__(self, first: int) -> None:
        self.first = first
        self.places: list[tuple[int, int]] = []
        self._depth = 0

    def _noted(self, statement: ast.stmt) -> list[ast.stmt]:
        if isinstance(statement, ast.Expr) and isinstance(statement.value, ast.Constant):
            return [statement]  # A docstring stays at the head of its function.
        number = self.first + len(self.places)
        self.places.append((statement.lineno, statement.col_offset))
        note = ast.parse(f"__reached__[{number}] = 1").body[0]
        for node in ast.walk(note):
            ast.copy_location(node, statement)
        return [note, statement]

    def visit(self, node: ast.AST) -> ast.AST:
        """The node with every statement of a function in it noted."""
        function = isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        self._depth += function
        self.generic_visit(node)
        if self._depth:
            for field in ("body", "orelse", "finalbody"):
                rows = getattr(node, field, None)
                if isinstance(rows, list) and not isinstance(node, ast.ClassDef):
                    setattr(node, field, [new for row in rows for new in self._noted(row)])
        self._depth -= function
        return node


class Changed(importlib.abc.MetaPathFinder):
    """Loads some modules of the copy from changed sources."""

    def __init__(self, change: Callable[[bytes, str], ast.AST | bytes], paths: Iterable[Path]):
        self.change = change
        self.paths = {str(path) for path in paths}

    def find_spec(self, fullname: str, path: Any, target: Any = None) -> Any:
        spec = importlib.machinery.PathFinder.find_spec(fullname, path, target)
        if spec is None or spec.origin not in self.paths:
            return None
        loader = _ChangedLoader(fullname, spec.origin)
        loader.change = self.change
        spec.loader = loader
        return spec


class _ChangedLoader(importlib.machinery.SourceFileLoader):
    change: Callable[[bytes, str], ast.AST | bytes]

    def get_code(self, fullname: str) -> CodeType:
        path = self.get_filename(fullname)
        changed = self.change(Path(path).read_bytes(), path)
        return compile(changed, path, "exec", dont_inherit=True)  # type: ignore[arg-type]


class Loop:
    """Runs what it is given in place of pytest's own loop, and knows whether a test failed."""

    def __init__(self, loop: Callable[[pytest.Session], None]) -> None:
        self.loop = loop
        self.failed = False

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        self.loop(session)
        return True

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self.failed |= report.failed

    def run(self, item: pytest.Item, following: pytest.Item | None) -> bool:
        """Whether a test passes (or is skipped)."""
        self.failed = False
        item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
        return not self.failed


def split(work: Callable[[], int]) -> tuple[int, bool]:
    """What `work` comes to in a process of its own, and whether that was stopped by a signal."""
    child = os.fork()
    if not child:
        status = 70
        try:
            os.setpgid(0, 0)
            status = work()
        except Exception:
            traceback.print_exc()
            raise
        finally:
            os._exit(status)  # Never on into what the first process has still to do.
    _, said = os.waitpid(child, 0)
    with suppress(ProcessLookupError, PermissionError):
        os.killpg(child, signal.SIGKILL)  # What the tests have started and not ended.
    return (0, True) if os.WIFSIGNALED(said) else (os.WEXITSTATUS(said), False)


def loaded(copy: Path, files: Sequence[str], loop: Callable[[pytest.Session, Loop], None]) -> int:
    """Load tests of the copy and do with them what `loop` says. Only in a process of its own."""
    os.chdir(copy)
    os.environ["PYTHONPATH"] = str(copy)
    os.environ["HYPOTHESIS_STORAGE_DIRECTORY"] = str(copy / ".hypothesis")
    sys.path[:] = [str(copy), *(path for path in sys.path if Path(path or ".").resolve() != ROOT)]
    for name in [name for name in sys.modules if name.split(".")[0] in ("tests", "proofcheck")]:
        del sys.modules[name]
    with (copy / "told").open("w", encoding="utf-8") as told:
        os.dup2(told.fileno(), 1)
        os.dup2(told.fileno(), 2)
    plugin = Loop(lambda session: loop(session, plugin))
    quiet = ["-q", "-n", "0", "--no-header", "-p", "no:cacheprovider", "-m", "not slow"]
    return int(pytest.main([*quiet, *files], plugins=[plugin]))


def reach(copy: Path, modules: Sequence[Path], files: Sequence[str], kept: Path) -> Reach:
    """Run all tests of these files once on the program as it is.

    Of files that were run so before nothing is asked again while they, what they are helped by and
    the program are the same: what they came to is kept in the folder `kept`.

    Raises:
        SystemExit: one of them fails on it.
    """
    trees: dict[str, ast.AST] = {}
    places: list[tuple[str, int, int]] = []
    for path in modules:
        visitor = Reaching(len(places))
        trees[str(path)] = visitor.visit(ast.parse(path.read_bytes()))
        places += [(str(path.relative_to(copy)), *place) for place in visitor.places]
    found = Reach(places)
    keys = _keys(copy, modules, files)
    left = [file for file in files if not (kept / keys[file]).exists()]
    noted = copy / "noted"

    def work() -> int:
        builtins.__reached__ = bytearray(len(places))  # type: ignore[attr-defined]
        sys.meta_path.insert(0, Changed(lambda _, path: trees[path], modules))
        return loaded(copy, left, lambda session, plugin: _note(session, plugin, found, noted))

    if left:
        noted.unlink(missing_ok=True)
        status, _ = split(work)
        if status or not noted.exists():
            why = (copy / "told").read_text("utf-8")[-4000:]
            raise SystemExit(f"before anything was harmed: {why}")
        _keep(json.loads(noted.read_text("utf-8")), {file: kept / keys[file] for file in left})
    for file in files:
        rows = json.loads((kept / keys[file]).read_text("utf-8"))
        found.seconds |= rows["seconds"]
        found.reached |= rows["reached"]
        found.grouped += rows["grouped"]
        found.loading = sorted({*found.loading, *rows["loading"]})
    return found


def _keep(rows: dict[str, Any], paths: dict[str, Path]) -> None:
    """Write down what was found, a file of its own for each file of tests."""
    for file, path in paths.items():
        own = {test for test in rows["seconds"] if test.split("::")[0] == file}
        mine = {
            "seconds": {test: rows["seconds"][test] for test in own},
            "reached": {test: rows["reached"][test] for test in own},
            "grouped": [test for test in rows["grouped"] if test in own],
            "loading": rows["loading"],
        }
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(json.dumps(mine), "utf-8")


def _keys(copy: Path, modules: Sequence[Path], files: Sequence[str]) -> dict[str, str]:
    """For each file of tests what stands for it, its data, its helpers and the program."""
    same = hashlib.sha256("".join(map(str, sorted(modules))).replace(str(copy), "").encode())
    for path in sorted([*copy.glob("proofcheck/**/*.py"), *copy.glob("tests/**/*.py")]):
        if not path.name.startswith("test_") and "lab" not in path.parts:
            same.update(path.read_bytes())
    data = b"".join(path.read_bytes() for path in sorted(copy.glob("tests/data/**/*.toml")))
    out = {}
    for file in files:
        own = (copy / file).read_bytes()
        told = same.digest() + own + (data if b"data" in own else b"")
        out[file] = f"{Path(file).stem}-{hashlib.sha256(told).hexdigest()[:24]}.json"
    return out


def _note(session: pytest.Session, plugin: Loop, found: Reach, noted: Path) -> None:
    bytes_: bytearray = builtins.__reached__  # type: ignore[attr-defined]

    def taken() -> set[int]:
        here = {number for number, byte in enumerate(bytes_) if byte}
        bytes_[:] = bytes(len(bytes_))
        return here

    found.loading = sorted(taken())
    shared = _Shared(taken)
    session.config.pluginmanager.register(shared)
    caches = [
        each
        for each in gc.get_objects()
        if isinstance(each, functools._lru_cache_wrapper)
        and not str(each.__module__).startswith("typesetter")
    ]
    items = session.items
    if session.testsfailed:
        return
    for item, following in zip(items, [*items[1:], None], strict=True):
        for each in caches:
            each.cache_clear()  # What another test has worked out is worked out again.
        shared.here, before = set(), time.process_time()
        passed = plugin.run(item, following)
        took = time.process_time() - before
        if not passed:
            return
        used = [each for each in _fixtures(item) if each in shared.reached]
        here = taken() | shared.here
        here.update(*(shared.reached[each] for each in used))
        found.reached[item.nodeid] = sorted(here)
        found.seconds[item.nodeid] = took
        if used:
            found.grouped.append(item.nodeid)
    noted.write_text(json.dumps(asdict(found)), "utf-8")


def _fixtures(item: pytest.Item) -> Iterator[object]:
    info = getattr(item, "_fixtureinfo", None)
    for definitions in info.name2fixturedefs.values() if info else ():
        yield from definitions


class _Shared:
    """What is come to as something is made that several tests use."""

    def __init__(self, taken: Callable[[], set[int]]) -> None:
        self.taken = taken
        self.here: set[int] = set()
        self.reached: dict[object, set[int]] = {}

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: Any) -> Generator[None, Any, Any]:
        if fixturedef.scope == "function":
            return (yield)
        self.here |= self.taken()
        made = yield
        self.reached[fixturedef] = self.taken()
        return made
