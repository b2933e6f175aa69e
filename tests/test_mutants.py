"""What is harmed to try the tests, and what is said of how much they notice."""

from __future__ import annotations

import ast
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.lab.mutants import JUDGES, ROOMS, wilson
from tests.lab.noticing import order
from tests.lab.reaching import Reach, Reaching

if TYPE_CHECKING:
    from tests.lab.harms import Mutant

MODULE = '''"""Text of a module."""

MOST = 3


class Box:
    wide: int = 2

    def holds(self, at: int) -> bool:
        """Whether it does."""
        def inner(x: int) -> int:
            return x + 1

        if at < self.wide and not at == MOST:
            return True
        return inner(at) in (4,)


def told(most: float = 0.5) -> str:
    return f"{most:.2f}"
'''


@pytest.fixture
def module(tmp_path: Path) -> Path:
    path = tmp_path / "module.py"
    path.write_text(MODULE, encoding="utf-8")
    return path


def harmed(module: Path) -> list[Mutant]:
    """What the library harms in it; skipped where that is not installed (`measure`)."""
    pytest.importorskip("mutmut")
    from tests.lab.harms import mutants

    return mutants(module)


def test_every_harm_can_be_compiled_and_changes_the_program(module: Path) -> None:
    every = harmed(module)
    source = module.read_bytes()
    plain = ast.dump(ast.parse(source))
    for each in every:
        harm = each.made(source)
        assert ast.dump(ast.parse(harm)) != plain, each
        assert source[each.start : each.end].decode() == each.was
        assert each.is_python()
    assert len({(each.start, each.end, each.instead) for each in every}) == len(every)
    changes = {(each.was, each.instead) for each in every}
    # A number, a default, a comparison's bound, `and`, `not`, truth, + for -, what is given.
    assert changes >= {
        ("1", "2"), ("0.5", "1.5"), (" < self.wide", " <= self.wide"), ("True", "False"),
        ("not at == MOST", "at == MOST"), ("x + 1", "x - 1"), ("inner(at)", "inner(None)"),
    }  # fmt: skip
    assert any(" and " in was and " or " in instead for was, instead in changes)
    # What stands in no function, annotations and docstrings are let be.
    assert not {"3", "2"} & {each.was for each in every if each.line < 9}
    assert not any("most:" in each.was or each.was == ".2f" for each in every)
    assert not any("Whether" in each.was for each in every)


def test_what_can_not_be_loaded_is_no_harm(module: Path) -> None:
    one = next(each for each in harmed(module) if each.was == "x + 1")
    assert not replace(one, instead="x +").is_python()


def test_a_harm_knows_the_function_and_the_statement_it_stands_in(module: Path) -> None:
    by_text = {(each.was, each.line): each for each in harmed(module)}
    # A default is made once, as the module is loaded.
    assert by_text["0.5", 19].function is None
    inner = by_text["x + 1", 12]
    assert inner.function == ("Box.holds", 9)
    assert inner.statement == (12, 12)
    assert by_text[" < self.wide", 14].statement == (14, 8)


def test_every_module_and_every_file_of_tests_of_a_room_is_there() -> None:
    root = Path(__file__).parents[1]
    for name, room in ROOMS.items():
        for glob in room.modules:
            assert list((root / "proofcheck").glob(glob)), (name, glob)
        for test in room.tests:
            assert (root / "tests" / f"test_{test}.py").exists(), (name, test)
    assert len(set(JUDGES)) == len(JUDGES)


def test_statements_that_are_come_to_are_noted_and_nothing_else_changes(module: Path) -> None:
    visitor = Reaching(0)
    tree = visitor.visit(ast.parse(MODULE))
    reached = bytearray(len(visitor.places))
    held: dict[str, object] = {"__reached__": reached}
    exec(compile(tree, "module", "exec"), held)  # noqa: S102 -- the module above
    assert not any(reached)
    assert held["Box"].holds.__doc__ == "Whether it does."  # type: ignore[attr-defined]
    assert held["Box"]().holds(1)  # type: ignore[operator]
    lines = {visitor.places[number][0] for number, byte in enumerate(reached) if byte}
    assert lines == {11, 14, 15}


@pytest.mark.parametrize(
    ("hits", "of", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611),
     (1, 29, 0.0061, 0.1718)],
)  # fmt: skip
def test_the_interval_is_wilson_s(hits: int, of: int, low: float, high: float) -> None:
    # R. G. Newcombe, "Two-sided confidence intervals for the single proportion", Statistics in
    # Medicine 17 (1998), table I, method 3; from memory.
    assert wilson(hits, of) == pytest.approx((low, high), abs=1e-4)


def test_quick_tests_go_first_and_those_that_share_something_together() -> None:
    found = Reach(
        [],
        seconds={"a::slow": 3.0, "a::quick": 0.1, "b::one": 2.0, "b::two": 0.2, "c::long": 50.0},
        grouped=["b::one", "b::two"],
    )
    assert order(found, found.seconds, 10.0) == ["a::quick", "b::one", "b::two", "a::slow"]
    assert order(found, found.seconds, 1.0) == ["a::quick"]
