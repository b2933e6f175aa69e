"""Where each printed line stands in the forme: sheet, column, and which slug from the head."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from proofcheck.base.values import Line

__all__ = ["Seat", "seat_words", "seats_of"]


class Seat(NamedTuple):
    """One line's place."""

    sheet: int
    """From 1."""
    column: int
    """From 1, left to right."""
    slug: int
    """From 1, down the column."""
    columns: int
    """Columns of that sheet, type set sideways left out."""
    sideways: bool = False
    """Whether it is set sideways; `slug` is then counted in its block."""


def seats_of(lines: Iterable[Line]) -> dict[int, Seat]:
    """The place of each line by its number, lines given in order."""
    held = list(lines)
    columns = Counter({line.sheet: 1 for line in held})
    for line in held:
        if line.home is None:
            columns[line.sheet] = max(columns[line.sheet], line.column + 1)
    count: Counter[tuple[int, int]] = Counter()
    out = {}
    for line in held:
        count[line.sheet, line.column] += 1
        slug = count[line.sheet, line.column]
        place = line.sheet + 1, line.column + 1, slug, columns[line.sheet]
        out[line.number] = Seat(*place, sideways=line.home is not None)
    return out


def seat_words(seats: Mapping[int, Seat], line: int) -> str:
    """A line's place in words; "" where it is not known."""
    seat = seats.get(line)
    if seat is None:
        return ""
    if seat.sideways:
        return f"sheet {seat.sheet}, set sideways, slug {seat.slug} of its block"
    column = f", column {seat.column}" if seat.columns > 1 else ""
    return f"sheet {seat.sheet}{column}, slug {seat.slug} from the head"
