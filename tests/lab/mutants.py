"""Small harm done to the program on purpose, to see whether the tests notice.

    python -m tests.lab.mutants --sample 20 --seed 1 --room collate --room recast

Each mutant is one change at one place: a comparison turned, `and` for `or`, a `not` gone, a number
one off, a yes for a no, nothing returned. It is made in a copy of the checkout, and the fast tests
of that room are run on it, those that call it by itself first, until one fails. A mutant that no
test fails on is printed with its place. A mutant on which they take three times as long as on the
program as it is runs on without end: it is counted as noticed, and said apart.
"""

from __future__ import annotations

import os

# Said before numpy is loaded, as `tests/conftest.py` says it: one thread a process.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import argparse
import ast
import importlib
import random
import resource
import shutil
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).parents[2]


class Room(NamedTuple):
    """Where the modules of a room are, and the test files whose business it is."""

    modules: str
    near: tuple[str, ...]
    """Those that call it by itself; the quickest first."""
    far: tuple[str, ...] = ()
    """Those that read whole sheets through it: run on what the near ones let live."""


ROOMS = {
    "collate": Room(
        "collate/*.py",
        (
            "kinds", "collate_cases", "same", "collate_geometry", "collate_capitals", "causes",
            "collate_makeup", "allowances", "collate_properties", "collate_robust",
        ),
        (
            "part_held", "sheets_apart", "makeup_sheets", "reading_order", "verse", "several_up",
            "silence",
        ),
    ),
    "weigh": Room(
        "weigh/*.py",
        (
            "dash_lengths", "one_dash", "weigh", "end_points", "weigh_told", "page_letters",
            "weigh_dashes", "second_look", "letters_alphabet",
        ),
        ("sideways", "turned_words", "specimen_read", "specimen_samples", "silence"),
    ),
    "metal": Room(
        "metal/*.py",
        (
            "kinds", "patch_store", "metal_measures", "rare", "grading", "leaning", "comparing",
            "unsound", "metal", "metal_lines", "risen", "rule_faults",
        ),
        ("ticket_twins", "rules"),
    ),
    "recast": Room(
        "recast/*.py",
        ("recast_search", "recast_trade", "recast_plan", "hands"),
        ("recast_read", "bounds"),
    ),
    "clear": Room(
        "docket/clear.py",
        (
            "docket_clearance", "docket_unproved", "docket_work", "docket_two_minds",
            "docket_anchor", "docket_quick", "docket_tampering", "docket_record", "docket_cli",
        ),
    ),
}  # fmt: skip

MOST_SECONDS = 600.0
"""Of the processor, for the tests of a room on the program as it is."""

TURNED: dict[type[ast.cmpop], str] = {
    ast.Lt: "<=",
    ast.LtE: "<",
    ast.Gt: ">=",
    ast.GtE: ">",
    ast.Eq: "!=",
    ast.NotEq: "==",
    ast.In: "not in",
    ast.NotIn: "in",
    ast.Is: "is not",
    ast.IsNot: "is",
}


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change: the bytes from `start` to `end` of a file, and what stands there instead."""

    path: Path
    line: int
    start: int
    end: int
    instead: str

    def made(self, source: bytes) -> bytes:
        """The file with the change in it."""
        return source[: self.start] + self.instead.encode() + source[self.end :]


def _places(tree: ast.AST) -> Iterator[tuple[ast.expr, ast.expr]]:
    """Every place that can be harmed, with what is to stand there."""
    for node in ast.walk(tree):
        match node:
            case ast.Compare(left=left, ops=[op], comparators=[right]):
                text = f"({ast.unparse(left)}) {TURNED[type(op)]} ({ast.unparse(right)})"
                yield node, ast.Name(text)
            case ast.BoolOp(op=op, values=values):
                word = " or " if isinstance(op, ast.And) else " and "
                yield node, ast.Name(word.join(f"({ast.unparse(value)})" for value in values))
            case ast.UnaryOp(op=ast.Not(), operand=operand):
                yield node, operand
            case ast.Constant(value=bool() as value):
                yield node, ast.Constant(not value)
            case ast.Constant(value=int() | float() as value):
                off = value + 1 if isinstance(value, int) else value * 1.5 or 1.0
                yield node, ast.Constant(off)
            case ast.Return(value=ast.expr() as value) if not isinstance(value, ast.Constant):
                yield value, ast.Constant(None)
            case _:
                pass


def mutants(path: Path) -> list[Mutant]:
    """Every mutant of a module, in the order of its text; annotations are let be."""
    source = path.read_bytes()
    starts = [0]
    for line in source.splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    tree = ast.parse(source)
    spared = {id(inner) for outer in _spared(tree) for inner in ast.walk(outer)}
    out = []
    for node, instead in _places(tree):
        if id(node) in spared or node.end_lineno is None or node.end_col_offset is None:
            continue
        start = starts[node.lineno - 1] + node.col_offset
        end = starts[node.end_lineno - 1] + node.end_col_offset
        out.append(Mutant(path, node.lineno, start, end, f"({ast.unparse(instead)})"))
    return sorted(out, key=lambda each: (each.start, each.end))


def _spared(tree: ast.AST) -> Iterator[ast.AST]:
    """What no run can see: annotations, the settings of a dataclass, texts to be filled in."""
    for node in ast.walk(tree):
        if isinstance(node, ast.ClassDef | ast.FunctionDef):
            yield from node.decorator_list
        if isinstance(node, ast.FunctionDef) and node.returns:
            yield node.returns
        if isinstance(node, ast.arg | ast.AnnAssign) and node.annotation:
            yield node.annotation
        if isinstance(node, ast.JoinedStr):
            yield node


def _run(copy: Path, tests: list[str], seconds: float, *, keep: bool = False) -> str:
    """`failed`, `passed` or `late`: what the tests say of the copy as it stands.

    In a fork of this process, which has loaded the large libraries already. With `keep` what the
    tests compile to is kept for the runs after it, which write nothing: a module that was harmed
    and mended within one second could else be taken for the other.
    """
    child = os.fork()
    if child:
        _, status = os.waitpid(child, 0)
        if os.WIFSIGNALED(status):
            return "late"
        return "passed" if os.WEXITSTATUS(status) == 0 else "failed"
    resource.setrlimit(resource.RLIMIT_CPU, (int(seconds), int(seconds) + 1))
    os.chdir(copy)
    os.environ["PYTHONPATH"] = str(copy)
    os.environ["HYPOTHESIS_STORAGE_DIRECTORY"] = str(copy / ".hypothesis")
    sys.dont_write_bytecode = not keep
    sys.path[:] = [str(copy), *(path for path in sys.path if Path(path or ".").resolve() != ROOT)]
    for name in [name for name in sys.modules if name.split(".")[0] in ("tests", "proofcheck")]:
        del sys.modules[name]
    with Path(os.devnull).open("w", encoding="utf-8") as nowhere:
        os.dup2(nowhere.fileno(), 1)
        os.dup2(nowhere.fileno(), 2)
    quiet = ["-x", "-q", "-n", "0", "--no-header", "-p", "no:cacheprovider", "-m", "not slow"]
    status = 70
    try:
        status = int(pytest.main([*quiet, *tests]))
    finally:
        os._exit(status)  # Never on into what the first process has still to do.


@dataclass(frozen=True, slots=True)
class _Tests:
    """Files of tests that pass on the program as it is, and processor time that is plenty."""

    paths: list[str]
    seconds: float

    @classmethod
    def tried(cls, copy: Path, names: tuple[str, ...]) -> _Tests:
        """Run them on the program as it is.

        Raises:
            SystemExit: they fail on it.
        """
        paths = [f"tests/test_{name}.py" for name in names]
        if not paths:
            return cls([], 0.0)
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        if (said := _run(copy, paths, MOST_SECONDS, keep=True)) != "passed":
            msg = f"the tests have {said} before anything was harmed: {' '.join(paths)}"
            raise SystemExit(msg)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        took = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
        print(f"  {took:.0f} s of the processor's time: {' '.join(names)}", flush=True)
        return cls(paths, 3 * took + 10)


def try_room(copy: Path, room: Room, sample: int, seed: int) -> str:
    """Make a random sample of a room's mutants, print those that live, say how many were noticed.

    Raises:
        SystemExit: the tests of the room fail on the program as it is.
    """
    modules = sorted((copy / "proofcheck").glob(room.modules))
    every = [each for path in modules for each in mutants(path)]
    near, far = _Tests.tried(copy, room.near), None
    chosen = random.Random(seed).sample(every, min(sample, len(every)))
    counts = dict.fromkeys(("failed", "late", "passed"), 0)
    for mutant in chosen:
        source = mutant.path.read_bytes()
        harmed = mutant.made(source)
        mutant.path.write_bytes(harmed)
        said = _run(copy, near.paths, near.seconds)
        if said == "passed" and room.far:
            mutant.path.write_bytes(source)
            far = far or _Tests.tried(copy, room.far)
            mutant.path.write_bytes(harmed)
            said = _run(copy, far.paths, far.seconds)
        mutant.path.write_bytes(source)
        counts[said] += 1
        if said == "passed":
            was = source[mutant.start : mutant.end].decode()
            where = f"{mutant.path.relative_to(copy)}:{mutant.line}"
            print(f"  lives: {where}: {was} -> {mutant.instead}", flush=True)
    noticed = counts["failed"] + counts["late"]
    return (
        f"{noticed} of {len(chosen)} noticed ({counts['late']} by running late), "
        f"of {len(every)} that can be made"
    )


def main() -> None:
    """Try the rooms asked for, in a copy of the checkout."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--room", action="append", choices=[*ROOMS])
    parser.add_argument("--sample", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    os.nice(5)
    for heavy in ("cv2", "onnxruntime", "PIL.Image", "rapidfuzz", "pypdfium2"):
        importlib.import_module(heavy)
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
        copy = Path(folder) / "checkout"
        left = shutil.ignore_patterns(".*", "__pycache__", "*.egg-info")
        shutil.copytree(ROOT, copy, ignore=left)
        for name in asked.room or ROOMS:
            print(f"{name}:", flush=True)
            print(f"{name}: {try_room(copy, ROOMS[name], asked.sample, asked.seed)}", flush=True)


if __name__ == "__main__":
    main()
