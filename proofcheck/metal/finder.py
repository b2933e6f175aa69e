"""How a module of this room says that it finds faults: by a `FINDER`; no list is kept of them."""

from __future__ import annotations

from dataclasses import dataclass
from importlib import import_module
from itertools import pairwise
from pkgutil import iter_modules
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from proofcheck.metal.findings import MetalFinding
    from proofcheck.metal.judged import Judged

__all__ = ["Finder", "finders_in"]


@dataclass(frozen=True, slots=True)
class Finder:
    """What finds one kind of fault, or a few that are seen together, in a proof that is judged."""

    standing: int
    """Of two findings at one letter that of the lower standing is kept; no two have the same."""
    find: Callable[[Judged], list[MetalFinding]]


def finders_in(package: str, path: Iterable[str]) -> tuple[Finder, ...]:
    """The finders of all modules of a package, in their standing.

    Args:
        package: its name.
        path: where its modules lie, as its `__path__` says.

    Raises:
        ValueError: two have the same standing.
    """
    names = [f"{package}.{module.name}" for module in iter_modules(path)]
    told = {name: getattr(import_module(name), "FINDER", None) for name in names}
    held = {name: each for name, each in told.items() if isinstance(each, Finder)}
    order = sorted(held, key=lambda name: (held[name].standing, name))
    for one, other in pairwise(order):
        if held[one].standing == held[other].standing:
            msg = f"{one} and {other} find with the same standing, {held[one].standing}"
            raise ValueError(msg)
    return tuple(held[name] for name in order)
