"""What can be harmed in a module: the changes a library of such makes, and where each stands.

The changes are those of mutmut (`mutmut.mutation.mutators`): a number one more, a text with XX
about it, in capitals or in none; True for False; None for what is given to a name or to a call, an
argument left out; a bound of a comparison in or out, `and` for `or`, + for - and the like, a `not`
gone; one branch of a conditional for ever; `break` for `continue`; a `case` left out. It lets be
what that lets be: annotations, docstrings, decorators, what stands in no function, functions with a
decorator (but for static and class methods), and calls of `len` and `isinstance`.
"""

from __future__ import annotations

import ast
from dataclasses import dataclass
from typing import TYPE_CHECKING

from libcst import FunctionDef, MetadataWrapper, parse_module
from libcst.metadata import ByteSpanPositionProvider
from mutmut.mutation.file_mutation import MutationVisitor
from mutmut.mutation.mutators import mutation_operators
from mutmut.mutation.pragma_handling import IgnoredCode

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change: the bytes from `start` to `end` of a file, and what stands there instead."""

    path: Path
    line: int
    start: int
    end: int
    was: str
    instead: str
    function: tuple[str, int] | None
    """Name and first line of the outermost function round it; none for what is made once."""
    statement: tuple[int, int] | None
    """Line and column of the statement of that function it stands in."""

    def made(self, source: bytes) -> bytes:
        """The file with the change in it."""
        return source[: self.start] + self.instead.encode() + source[self.end :]

    def is_python(self) -> bool:
        """Whether what comes of it can be loaded at all."""
        try:
            compile(self.made(self.path.read_bytes()), str(self.path), "exec", dont_inherit=True)
        except SyntaxError:
            return False
        return True


@dataclass(frozen=True, slots=True)
class _Stated:
    """A statement of a function: its bytes, and the outermost function round it."""

    start: int
    end: int
    function: tuple[str, int]
    place: tuple[int, int]


def mutants(path: Path) -> list[Mutant]:
    """Every mutant of a module that the library makes, each once, in the order of its text."""
    source = path.read_bytes()
    wrapper = MetadataWrapper(parse_module(source))
    visitor = MutationVisitor(mutation_operators, IgnoredCode(set(), set(), set()))
    wrapper.visit(visitor)
    spans = wrapper.resolve(ByteSpanPositionProvider)
    starts = _starts(source)
    stated = list(_within(ast.parse(source), starts))
    out = {}
    for each in visitor.mutations:
        if not isinstance(each.contained_by_top_level_function, FunctionDef):
            continue
        start = spans[each.original_node].start
        end = start + spans[each.original_node].length
        about = [one for one in stated if one.start <= start and end <= one.end]
        inner = min(about, key=lambda one: one.end - one.start, default=None)
        function, place = (inner.function, inner.place) if inner else (None, None)
        line = 1 + source.count(b"\n", 0, start)
        was, then = source[start:end].decode(), wrapper.module.code_for_node(each.mutated_node)
        out[start, end, then] = Mutant(path, line, start, end, was, then, function, place)
    return [out[key] for key in sorted(out)]


def _starts(source: bytes) -> list[int]:
    """At which byte each line starts."""
    starts = [0]
    for line in source.splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    return starts


def _within(tree: ast.AST, starts: list[int], prefix: str = "") -> Iterator[_Stated]:
    """Every statement that is in a function."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            first = min([node.lineno, *(each.lineno for each in node.decorator_list)])
            for inner in (each for row in node.body for each in ast.walk(row)):
                if isinstance(inner, ast.stmt):
                    start = starts[inner.lineno - 1] + inner.col_offset
                    end = starts[(inner.end_lineno or 0) - 1] + (inner.end_col_offset or 0)
                    place = (inner.lineno, inner.col_offset)
                    yield _Stated(start, end, (prefix + node.name, first), place)
        elif isinstance(node, ast.ClassDef):
            yield from _within(node, starts, f"{prefix}{node.name}.")
        else:
            yield from _within(node, starts, prefix)
