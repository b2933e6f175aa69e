"""In what order one sheet's lines are read, where its columns or gutters leave more ways than one.

The layout reads down its columns and straight across lines with wide white in them. Where another
order lays far better on the copy, that is the one meant.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.collate.gutters import Lists, lists_in, other_orders
from proofcheck.collate.laying import Laying, laid_alone, unexplained

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.values import Copy, Line, Reading
    from proofcheck.collate.same import Rules

__all__ = ["sheet_in_order"]

_WORTH = 12
"""Letters, some two words, that another order must explain which this one does not."""
_BETTER = 0.6
"""It leaves less than this share of what this one leaves unexplained."""

_Set = tuple["Line", "Reading"]


def sheet_in_order(copy: Copy, held: Sequence[_Set], rules: Rules) -> list[_Set]:
    """One sheet's lines in the order that lays best on the copy: as they are, but for good reason.

    Args:
        copy: the approved copy.
        held: the sheet's lines and what was read in them, in the order of the layout.
        rules: the allowances made.
    """
    ways = other_orders(held)
    laid = laid_alone(copy, held, rules) if ways or lists_in(held) else None
    if laid is None or unexplained(laid, ends=False) < _WORTH:
        return list(held)
    return _down_the_lists(copy, *_as_a_whole(copy, list(held), laid, ways, rules), rules)


def _as_a_whole(
    copy: Copy, held: list[_Set], laid: Laying, ways: Sequence[list[_Set]], rules: Rules
) -> tuple[list[_Set], Laying]:
    """All lines of the sheet in another order, where that lays far better."""
    tried = [laid_alone(copy, way, rules) for way in ways]
    costs = [unexplained(one, ends=False) for one in tried]
    if not costs or not _is_far_better(min(costs), unexplained(laid, ends=False)):
        return held, laid
    best = costs.index(min(costs))
    return ways[best], tried[best]


def _down_the_lists(copy: Copy, held: list[_Set], laid: Laying, rules: Rules) -> list[_Set]:
    """Each stretch of lists side by side read list by list, where that lays far better."""
    settled: set[tuple[int, int]] = set()
    found = lists_in(held)
    while ways := next((one for one in found if one[0][:2] not in settled), None):
        settled.add(ways[0][:2])
        if _open_in(laid, *ways[0][:2]) < _WORTH:
            continue
        orders = [[*held[: way.first], *way.lines, *held[way.end :]] for way in ways]
        tried = [laid_alone(copy, order, rules) for order in orders]
        best = min(range(len(ways)), key=lambda at: unexplained(tried[at], ends=False))
        if _is_better_there(tried[best], laid, ways[best]):
            # What is left of the stretch may be lists as well: it ends elsewhere now.
            held, laid, found = orders[best], tried[best], lists_in(orders[best])
    return held


def _is_better_there(other: Laying, laid: Laying, way: Lists) -> bool:
    """Whether far less is left open in the stretch itself, and as much less on the whole sheet."""
    within = _open_in(other, way.first, way.first + len(way.lines))
    gain = unexplained(laid, ends=False) - unexplained(other, ends=False)
    return gain >= _WORTH and _is_far_better(within, _open_in(laid, way.first, way.end))


def _open_in(laid: Laying, first: int, end: int) -> int:
    return unexplained(laid, ends=False, among=range(first, end))


def _is_far_better(after: int, before: int) -> bool:
    """Whether so much less is left unexplained that another order is the true one."""
    return after <= before - _WORTH and after < _BETTER * before
