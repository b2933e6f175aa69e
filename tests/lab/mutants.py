"""Small harm done to the program on purpose, to see whether the tests notice.

    python -m tests.lab.mutants --sample 20 --seed 1 --room collate --room recast

Each mutant is one change at one place: a comparison turned, `and` for `or`, a `not` gone, a number
one off, a yes for a no, nothing returned. It is made in a copy of the checkout, and the fast tests
of that room are run on it until the first one fails. A mutant that no test fails on is printed with
its place. A mutant that runs on past its time is counted as noticed, and said apart.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import resource
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

ROOT = Path(__file__).parents[2]

ROOMS: dict[str, tuple[str, tuple[str, ...]]] = {
    "collate": (
        "collate/*.py",
        ("collate_*", "same", "allowances", "causes"),
    ),
    "weigh": ("weigh/*.py", ("weigh", "weigh_told")),
    "metal": ("metal/*.py", ("metal", "metal_measures", "comparing", "leaning")),
    "recast": ("recast/*.py", ("recast_plan", "recast_search", "recast_trade")),
    "clear": (
        "docket/clear.py",
        ("docket_unproved", "docket_work", "docket_record", "docket_overrun"),
    ),
}
"""For each room: its modules, and the test files whose business it is."""

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


def _run(copy: Path, tests: list[str], seconds: float) -> str:
    """`failed`, `passed` or `late`: what the tests say of the copy as it stands."""

    def bounded() -> None:
        resource.setrlimit(resource.RLIMIT_CPU, (int(seconds), int(seconds) + 1))
        os.nice(5)

    quiet = ["-x", "-q", "--no-header", "-p", "no:cacheprovider", "-m", "not slow"]
    env = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1", "PYTHONHASHSEED": "0"}
    done = subprocess.run(
        [sys.executable, "-m", "pytest", *quiet, *tests],
        cwd=copy,
        env=env,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        preexec_fn=bounded,
        check=False,
    )
    if done.returncode < 0:
        return "late"
    return "passed" if done.returncode == 0 else "failed"


def _tests_of(copy: Path, room: str) -> list[str]:
    return sorted(
        str(path.relative_to(copy))
        for name in ROOMS[room][1]
        for path in (copy / "tests").glob(f"test_{name}.py")
    )


def try_room(copy: Path, room: str, sample: int, seed: int, seconds: float) -> None:
    """Make a random sample of a room's mutants, and print what became of them.

    Raises:
        SystemExit: the tests of the room fail on the program as it is.
    """
    modules = sorted((copy / "proofcheck").glob(ROOMS[room][0]))
    every = [each for path in modules for each in mutants(path)]
    tests = _tests_of(copy, room)
    if (said := _run(copy, tests, seconds)) != "passed":
        msg = f"{room}: the tests have {said} before anything was harmed"
        raise SystemExit(msg)
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
    parser.add_argument("--seconds", type=float, default=120, help="processor time for one")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
        copy = Path(folder) / "checkout"
        left = shutil.ignore_patterns(".*", "__pycache__", "*.egg-info")
        shutil.copytree(ROOT, copy, ignore=left)
        for room in asked.room or ROOMS:
            try_room(copy, room, asked.sample, asked.seed, asked.seconds)


if __name__ == "__main__":
    main()
