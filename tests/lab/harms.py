"""What can be harmed in a module: each change at one place, and in which function it stands."""

from __future__ import annotations

import ast
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

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
    was: str
    instead: str
    function: tuple[str, int] | None
    """Name and first line of the outermost function round it; none for what is made once."""
    statement: tuple[int, int] | None
    """Line and column of the statement of that function it stands in."""

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
    functions = dict(_within(tree))
    out = []
    for node, instead in _places(tree):
        if id(node) in spared or node.end_lineno is None or node.end_col_offset is None:
            continue
        start = starts[node.lineno - 1] + node.col_offset
        end = starts[node.end_lineno - 1] + node.end_col_offset
        function, statement = functions.get(id(node), (None, None))
        was, then = source[start:end].decode(), f"({ast.unparse(instead)})"
        out.append(Mutant(path, node.lineno, start, end, was, then, function, statement))
    return sorted(out, key=lambda each: (each.start, each.end))


def _within(
    tree: ast.AST, prefix: str = ""
) -> Iterator[tuple[int, tuple[tuple[str, int], tuple[int, int]]]]:
    """For every node that is in a function: the outermost function, and its statement."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            first = min([node.lineno, *(each.lineno for each in node.decorator_list)])
            for statement in node.body:
                for inner, place in _stated(statement):
                    yield id(inner), ((prefix + node.name, first), place)
        elif isinstance(node, ast.ClassDef):
            yield from _within(node, f"{prefix}{node.name}.")
        else:
            yield from _within(node, prefix)


def _stated(statement: ast.stmt) -> Iterator[tuple[ast.AST, tuple[int, int]]]:
    """Every node below a statement, with the place of the innermost statement round it."""
    place = (statement.lineno, statement.col_offset)
    stack: list[ast.AST] = [statement]
    while stack:
        node = stack.pop()
        yield node, place
        for child in ast.iter_child_nodes(node):
            if isinstance(child, ast.stmt):
                yield from _stated(child)
            else:
                stack.append(child)


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
