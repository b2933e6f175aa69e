"""How a revise comes: scanned much as the proof was, or otherwise, or only part of the forme."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from revise_cases import OTHERWISE

from .muddles import Result

if TYPE_CHECKING:
    from collections.abc import Iterator

    import numpy as np

__all__ = ["Coming", "counted_by_way", "some_way"]


@dataclass(frozen=True, slots=True)
class Coming:
    """One way a revise comes, and the lines of the forme that are on it."""

    way: str
    first: int
    last: int

    def shows(self, line: int) -> bool:
        """Whether a line of the forme is on it."""
        return self.first <= line <= self.last

    def before(self, lines: int) -> Coming:
        """How the earlier proof came: the whole of it, on as many sheets."""
        return Coming("two sheets" if self.sheets == 2 else "", 1, lines)

    @property
    def shift(self) -> int:
        """Lines of the forme above those it shows."""
        return self.first - 1

    @property
    def part(self) -> bool:
        """Whether it is a revise of part of the forme."""
        return self.way == "a part"

    @property
    def ends(self) -> tuple[int, int] | None:
        """First and last line of a part."""
        return (self.first, self.last) if self.part else None

    @property
    def sheets(self) -> int:
        """Sheets that proof and revise stand on."""
        return 2 if self.way == "two sheets" else 1


def some_way(rng: np.random.Generator, lines: int, ways: tuple[str, ...] = OTHERWISE) -> Coming:
    """One of the ways at random; of a part, the head or the tail of the forme."""
    way = str(rng.choice(ways))
    if way != "a part":
        return Coming(way, 1, lines)
    cut = int(rng.integers(lines // 2, max(2 * lines // 3, lines // 2 + 1)))
    return Coming(way, 1, cut) if rng.random() < 0.5 else Coming(way, lines - cut + 1, lines)


@contextmanager
def counted_by_way(result: Result, way: str) -> Iterator[Result]:
    """Take in what is counted meanwhile, its corrections also by the way the revise came."""
    part = Result()
    yield part
    for what in ("all", "told"):
        part.counts[f"correction by a revise: {way}: {what}"] = part.counts[f"corrections: {what}"]
    part.notes = [f"{way}: {note}" for note in part.notes]
    part.pictures = [(f"{way}: {note}", picture) for note, picture in part.pictures]
    result.add(part)
