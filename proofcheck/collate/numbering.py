"""Numbers that run from one ticket to the next: No. 1201, 1202 … where the copy has the one.

A run goes up or down by the same step from each ticket to the next, across the sheet or down it,
and takes in the copy's own number (or the copy has noughts for it). Two tickets make no run: any
two numbers do. Common practice in numbered work.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from itertools import combinations
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from proofcheck.base.values import Span

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.collate.laying import Laying

__all__ = ["Numbers", "numbers_of", "printed_numbers", "run_of"]

_NUMBER = re.compile(r"\d{1,3}(?:,\d{3})+|\d+")
_LEAST = 3
"""So many tickets at least make a run."""


class Numbers(NamedTuple):
    """What each number of the copy is to be on each ticket."""

    wanted: tuple[tuple[str, ...], ...]
    """By number of the copy and place."""
    asked: tuple[bool, ...]
    """For each number of the copy, whether what differs is only a question: no run is plain."""
    down: bool = False
    """Whether the run goes down the sheet, column by column."""


def numbers_of(copy: str) -> list[Span]:
    """Where the copy has numbers."""
    return [Span(*found.span()) for found in _NUMBER.finditer(copy)]


def printed_numbers(laying: Laying, numbers: Sequence[Span]) -> list[int | None]:
    """What a ticket has for each number of the copy; None where it can't be told."""
    at, text = laying.alignment.copy_at, laying.alignment.stream.text
    out: list[int | None] = []
    for start, end in numbers:
        first = int(np.searchsorted(laying.copy.start, start))
        last = int(np.searchsorted(laying.copy.start, end))
        before = np.flatnonzero((at >= 0) & (at < first))
        after = np.flatnonzero(at >= last)
        low = int(before[-1]) + 1 if len(before) else 0
        high = int(after[0]) if len(after) else len(text)
        found = _NUMBER.findall(text[low:high])
        out.append(_value(found[0]) if len(found) == 1 else None)
    return out


def _value(number: str) -> int:
    return int(number.replace(",", ""))


def run_of(
    copy: Sequence[str],
    printed: Sequence[Sequence[int | None]],
    orders: Sequence[Sequence[int]],
) -> Numbers:
    """Which numbers run, and how.

    Args:
        copy: each number as the copy has it.
        printed: for each place what it has for each of them.
        orders: the places across, and down.
    """
    groups: dict[str, list[int]] = defaultdict(list)
    for turn, number in enumerate(copy):
        groups[number].append(turn)
    best = max(
        range(len(orders)),
        key=lambda k: (sum(_Fit(n, g, printed, orders[k]).held for n, g in groups.items()), -k),
    )
    wanted = [[number] * len(printed) for number in copy]
    asked = [False] * len(copy)
    for number, group in groups.items():
        fit = _Fit(number, group, printed, orders[best])
        for turn in group:
            asked[turn] = fit.asked
            for rank, place in enumerate(orders[best]):
                wanted[turn][place] = fit.at(rank)
    return Numbers(tuple(map(tuple, wanted)), tuple(asked), down=best == 1)


class _Fit:
    """The run that one number makes over the places, if it makes one."""

    def __init__(
        self,
        number: str,
        group: Sequence[int],
        printed: Sequence[Sequence[int | None]],
        order: Sequence[int],
    ) -> None:
        self._number = number
        own = _value(number)
        seen = [
            (rank, value)
            for rank, place in enumerate(order)
            for turn in group
            if (value := printed[place][turn]) is not None
        ]
        places = len({rank for rank, _ in seen})
        same = Counter(value for _, value in seen)
        alike = max(same.values(), default=0)
        self._run = _best_run(seen, own, len(order))
        fits = _held(seen, *self._run) if self._run else 0
        self.held = max(fits, alike)
        takes_in = self._run is not None and (own == 0 or _takes_in(self._run, own, len(order)))
        by_one = self._run is not None and abs(self._run[1]) == 1
        enough = len(order) >= _LEAST and places >= 2
        most = fits == len(seen) or 2 * fits + by_one > len(seen)
        if not by_one and fits < len(seen):
            # Of three numbers any two are a step apart.
            most = most and fits > places / 2 + 1
        plain = enough and takes_in and fits > alike and most
        self.asked = not plain and 2 * alike <= len(seen) and (by_one or places >= _LEAST)
        if not plain:
            self._run = None

    def at(self, rank: int) -> str:
        """The number wanted at a place of the run's order, written as the copy writes it."""
        if self._run is None:
            return self._number
        value = self._run[0] + rank * self._run[1]
        if "," in self._number:
            return f"{value:,}"
        return str(value).zfill(len(self._number)) if self._number[0] == "0" else str(value)


def _best_run(seen: Sequence[tuple[int, int]], own: int, count: int) -> tuple[int, int] | None:
    """First number and step of the run that holds most of what is seen; None for none."""
    found = set()
    for (one, first), (other, second) in combinations(seen, 2):
        if one != other and first != second and (second - first) % (other - one) == 0:
            step = (second - first) // (other - one)
            start = first - one * step
            if start >= 0 and start + (count - 1) * step >= 0:
                found.add((start, step))
    return max(
        found,
        key=lambda run: (_held(seen, *run), _takes_in(run, own, count), -abs(run[1]), run[1]),
        default=None,
    )


def _held(seen: Sequence[tuple[int, int]], start: int, step: int) -> int:
    return sum(value == start + rank * step for rank, value in seen)


def _takes_in(run: tuple[int, int], own: int, count: int) -> bool:
    return own in (run[0] + rank * run[1] for rank in range(count))
