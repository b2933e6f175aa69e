"""Small harm done to the program on purpose, to see whether the tests notice.

    python -m tests.lab.mutants --sample 20 --seed 1 --room collate --room recast

Each mutant is one change at one place: a comparison turned, `and` for `or`, a `not` gone, a number
one off, a yes for a no, nothing returned. It is made in a copy of the checkout, and the fast tests
of that room are run on it, the quickest files first, until the first one fails. A mutant that no
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
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).parents[2]

ROOMS: dict[str, tuple[str, tuple[str, ...]]] = {
    "collate": (
        "collate/*.py",
        (
            "collate_*", "same", "allowances", "causes", "kinds", "part_held", "several_up",
            "sheets_apart", "makeup_sheets", "reading_order", "verse", "silence",
        ),
    ),
    "weigh": (
        "weigh/*.py",
        (
            "weigh", "weigh_*", "page_letters", "one_dash", "dash_lengths", "end_points",
            "second_look", "letters_alphabet", "sideways", "turned_words", "silence",
        ),
    ),
    "metal": (
        "metal/*.py",
        (
            "metal", "metal_*", "comparing", "leaning", "patch_store", "rare", "unsound", "grading",
            "risen", "rule_faults", "ticket_twins",
        ),
    ),
    "recast": ("recast/*.py", ("recast_*", "hands")),
    "clear": (
        "docket/clear.py",
        (
            "docket_unproved", "docket_work", "docket_record", "docket_overrun", "docket_anchor",
            "docket_quick", "docket_two_minds", "docket_tampering", "docket_cli",
        ),
    ),
}  # fmt: skip
"""For each room: its modules, and the test files whose business it is."""

MOST_SECONDS = 600.0
"""Of the processor, for one file of tests on the program as it is."""

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


def _tests_of(copy: Path, room: str) -> list[str]:
    return sorted(
        str(path.relative_to(copy))
        for name in ROOMS[room][1]
        for path in (copy / "tests").glob(f"test_{name}.py")
    )


def _quick_first(copy: Path, room: str) -> tuple[list[str], float]:
    """The test files of a room, the quickest first, and processor time that is plenty for all.

    Raises:
        SystemExit: they fail on the program as it is.
    """
    took: dict[str, float] = {}
    for path in _tests_of(copy, room):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        if (said := _run(copy, [path], MOST_SECONDS, keep=True)) != "passed":
            msg = f"{room}: {path} has {said} before anything was harmed"
            raise SystemExit(msg)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        took[path] = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    print(f"{room}: {len(took)} files of tests, {sum(took.values()):.0f} s", flush=True)
    return sorted(took, key=lambda path: took[path]), 3 * sum(took.values()) + 10


def try_room(copy: Path, room: str, sample: int, seed: int) -> None:
    """Make a random sample of a room's mutants, and print what became of them.

    Raises:
        SystemExit: the tests of the room fail on the program as it is.
    """
    modules = sorted((copy / "proofcheck").glob(ROOMS[room][0]))
    every = [each for path in modules for each in mutants(path)]
    tests, seconds = _quick_first(copy, room)
    chosen = random.Random(seed).sample(every, min(sample, len(every)))
    counts = dict.fromkeys(("failed", "late", "passed"), 0)
    for mutant in chosen:
        source = mutant.path.read_bytes()
        mutant.path.write_bytes(mutant.made(source))
        said = _run(copy, tests, seconds)
        mutant.path.write_bytes(source)
        counts[said] += 1
        if said == "passed":
            was = source[mutant.start : mutant.end].decode()
            where = f"{mutant.path.relative_to(copy)}:{mutant.line}"
            print(f"  lives: {where}: {was} -> {mutant.instead}", flush=True)
    noticed = counts["failed"] + counts["late"]
    print(
        f"{room}: {noticed} of {len(chosen)} noticed ({counts['late']} by running late), "
        f"of {len(every)} that can be made",
        flush=True,
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
        for room in asked.room or ROOMS:
            try_room(copy, room, asked.sample, asked.seed)


if __name__ == "__main__":
    main()
