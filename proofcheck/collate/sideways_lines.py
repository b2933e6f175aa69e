"""Where in the order of reading type set sideways comes: the copy says.

A counterfoil may stand before, after or amid the rest of the copy; where it is printed does not
tell.
"""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from proofcheck.collate.laying import laid_alone, unexplained

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from proofcheck.base.values import Copy, Line, Reading
    from proofcheck.collate.same import Rules

__all__ = ["with_sideways_placed"]


def with_sideways_placed(
    copy: Copy,
    proof: Sequence[tuple[Line, Reading]],
    chosen: Sequence[int],
    rules: Rules,
) -> list[int]:
    """The order in which each block set sideways stands where it lays best.

    A block that lays nowhere better stays where it is, and lines that stand upright keep their
    order. A block keeps to the ticket it is of.

    Args:
        copy: the approved copy.
        proof: its lines, with what was read on each.
        chosen: the places there of the lines of one sheet, or of one ticket, in order.
        rules: the allowances made.
    """
    order, least = list(chosen), _cost(copy, proof, chosen, rules)
    # Where each ticket begins with it, no one block lays better until all are moved.
    heads = _heads_first(proof, chosen)
    if least and (cost := _cost(copy, proof, heads, rules)) < least:
        order, least = heads, cost
    for block in _blocks(proof, chosen):
        for way in _ways(order, block, proof):
            if not least:
                return order
            cost = _cost(copy, proof, way, rules)
            if cost < least:
                order, least = way, cost
    return order


def _cost(
    copy: Copy, proof: Sequence[tuple[Line, Reading]], order: Sequence[int], rules: Rules
) -> int:
    laid = laid_alone(copy, [proof[at] for at in order], rules)
    return unexplained(laid, ends=False)


def _heads_first(proof: Sequence[tuple[Line, Reading]], chosen: Sequence[int]) -> list[int]:
    """What is set sideways at the head of each ticket."""
    tickets = list(dict.fromkeys(proof[at][0].ticket for at in chosen))
    lines = {at: proof[at][0] for at in chosen}
    return sorted(chosen, key=lambda at: (tickets.index(lines[at].ticket), lines[at].home is None))


def _blocks(proof: Sequence[tuple[Line, Reading]], chosen: Sequence[int]) -> list[list[int]]:
    runs = groupby(chosen, key=lambda at: proof[at][0].home)
    return [list(run) for home, run in runs if home is not None]


def _ways(
    order: Sequence[int], block: Sequence[int], proof: Sequence[tuple[Line, Reading]]
) -> Iterator[list[int]]:
    """The other places of its ticket in which a block may stand: never within another block."""
    rest = [at for at in order if at not in block]
    mine = [proof[at][0].ticket == proof[block[0]][0].ticket for at in rest]
    homes = [None, *(proof[at][0].home for at in rest), None]
    for at in range(len(rest) + 1):
        within = homes[at] is not None and homes[at] == homes[at + 1]
        if any(mine[max(at - 1, 0) : at + 1]) and not within:
            yield [*rest[:at], *block, *rest[at:]]
