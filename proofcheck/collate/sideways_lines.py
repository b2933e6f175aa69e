"""Where in the order of reading type set sideways comes: the copy says.

A counterfoil may stand before, after or amid the rest of the copy; where it is printed does not
tell. The heads of columns do: side by side they are read from left to right.
"""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from proofcheck.collate.laying import laid_alone, unexplained

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from proofcheck.base.values import Box, Copy, Line, Reading
    from proofcheck.collate.same import Rules

__all__ = ["with_sideways_placed"]

_LEVEL = 0.5
"""Share of the shorter one's height that two heads of columns have in common."""
_ALIGNED = 0.6
"""… and how near, in widths of the narrower, their heads, feet or middles stand: those of columns
that are parted further below stand higher, and a copy has them before."""
_COLUMN = 6.0
"""White between them at most, in widths of the narrower; the ends of a ticket are farther apart."""


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
    order = _placed(copy, proof, chosen, rules)
    for row in _side_by_side(_blocks(proof, order), proof):
        order = _from_left(order, row)
    return order


def _placed(
    copy: Copy, proof: Sequence[tuple[Line, Reading]], chosen: Sequence[int], rules: Rules
) -> list[int]:
    """The order in which each block stands where it lays best."""
    order, least = list(chosen), _cost(copy, proof, chosen, rules)
    # Where each ticket begins with it, no one block lays better until all are moved.
    heads = _heads_first(proof, chosen)
    if least and (cost := _cost(copy, proof, heads, rules)) < least:
        order, least = heads, cost
    blocks = _blocks(proof, chosen)
    # The heads of columns are moved together first: one alone may lay no better.
    rows = [[at for block in row for at in block] for row in _side_by_side(blocks, proof)]
    for block in (*rows, *blocks):
        for way in _ways(order, block, proof):
            if not least:
                return order
            cost = _cost(copy, proof, way, rules)
            if cost < least:
                order, least = way, cost
    return order


def _side_by_side(
    blocks: Sequence[list[int]], proof: Sequence[tuple[Line, Reading]]
) -> list[list[list[int]]]:
    """Blocks that stand as the heads of columns do, row by row: level, and near one another."""
    rows: list[list[list[int]]] = []
    for block in sorted(blocks, key=lambda one: _home(one, proof).x):
        near = (row for row in rows if _is_next(_home(row[-1], proof), _home(block, proof)))
        row = next(near, None)
        if row is None:
            rows.append([block])
        else:
            row.append(block)
    return [row for row in rows if len(row) > 1]


def _home(block: Sequence[int], proof: Sequence[tuple[Line, Reading]]) -> Box:
    home = proof[block[0]][0].home
    if home is None:
        msg = "the lines stand upright"
        raise ValueError(msg)
    return home


def _is_next(one: Box, other: Box) -> bool:
    shared = min(one.bottom, other.bottom) - max(one.y, other.y)
    level = shared > _LEVEL * min(one.height, other.height)
    narrow = min(one.width, other.width)
    off = one.y - other.y, one.bottom - other.bottom
    aligned = min(*map(abs, off), abs(sum(off)) / 2) < _ALIGNED * narrow
    return level and aligned and other.x - one.right <= _COLUMN * narrow


def _from_left(order: Sequence[int], row: Sequence[list[int]]) -> list[int]:
    """The order with the blocks of a row, where they stand in it, from left to right."""
    turn = {at: place for place, at in enumerate(order)}
    as_placed = sorted(row, key=lambda block: turn[block[0]])
    instead = {was[0]: now for was, now in zip(as_placed, row, strict=True)}
    theirs = {at for block in row for at in block}
    return [at for one in order for at in (instead.get(one, []) if one in theirs else [one])]


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
