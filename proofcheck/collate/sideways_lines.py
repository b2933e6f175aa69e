"""Where in the order of reading type set sideways comes: the copy says.

A counterfoil may stand before, after or amid the rest of the copy; where it is printed does not
tell. The heads of columns do: side by side they are read from left to right. What stands sideways
in a cell of a table may be read amid one of its rows, between the cells it stands between.
"""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from proofcheck.collate.laying import laid_alone, unexplained
from proofcheck.collate.parted_lines import part_of, wide_whites

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from proofcheck.base.values import Box, Copy, Line, Reading
    from proofcheck.collate.same import Rules

__all__ = ["with_sideways_placed"]

_Set = tuple["Line", "Reading"]

_LEVEL = 0.5
"""Share of the shorter one's height that two heads of columns have in common."""
_ALIGNED = 0.6
"""… and how near, in widths of the narrower, their heads, feet or middles stand: those of columns
that are parted further below stand higher, and a copy has them before."""
_COLUMN = 6.0
"""White between them at most, in widths of the narrower; the ends of a ticket are farther apart."""


def with_sideways_placed(
    copy: Copy,
    proof: list[_Set],
    chosen: Sequence[int],
    rules: Rules,
) -> list[int]:
    """The order in which each block set sideways stands where it lays best.

    A block that lays nowhere better stays where it is, and lines that stand upright keep their
    order. A block keeps to the ticket it is of.

    Args:
        copy: the approved copy.
        proof: its lines, with what was read on each; the parts of a row in which something is read
            are added at its end.
        chosen: the places there of the lines of one sheet, or of one ticket, in order.
        rules: the allowances made.
    """
    order = _placed(copy, proof, chosen, rules)
    blocks = _blocks(proof, order)
    rows = [proof[at] for at in chosen if proof[at][0].home is None]
    for run in (*_side_by_side(blocks, proof), *_in_columns(blocks, proof, rows)):
        order = _in_turn(order, run)
    return order


def _placed(copy: Copy, proof: list[_Set], chosen: Sequence[int], rules: Rules) -> list[int]:
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
        order, least = _amid_a_row(copy, proof, order, block, least, rules)
    return order


def _amid_a_row(
    copy: Copy, proof: list[_Set], order: list[int], block: Sequence[int], least: int, rules: Rules
) -> tuple[list[int], int]:
    """The order with a block between two cells of a row, where it lays best so; and its cost."""
    best: tuple[list[_Set], list[int]] | None = None
    for at in order:
        parts = _parts_beside(proof[at], _home(block, proof)) if least else ()
        if parts and proof[at][0].ticket == proof[block[0]][0].ticket:
            tried = [*proof, *parts]
            amid = [len(proof), *block, len(proof) + 1]
            rest = [one for one in order if one not in block]
            way = [part for one in rest for part in (amid if one == at else [one])]
            cost = _cost(copy, tried, way, rules)
            if cost < least:
                best, least = (tried, way), cost
    if best is None:
        return order, least
    proof[:], order = best
    return order, least


def _parts_beside(row: _Set, home: Box) -> tuple[_Set, ...]:
    """The parts of a row before and after what is set sideways in one of its cells, or none."""
    line, reading = row
    box = line.box
    near = box.bottom >= home.y - home.height and box.y <= home.bottom
    if line.home is not None or not near or box.x >= home.x or box.right <= home.right:
        return ()
    if not any(left <= home.x and home.right <= right for left, right in wide_whites(row)):
        return ()
    before = [one for one in reading.letters if one.box.x < home.x]
    parts = part_of(line, before), part_of(line, reading.letters[len(before) :])
    return tuple(part for part in parts if part is not None)


def _side_by_side(blocks: Sequence[list[int]], proof: Sequence[_Set]) -> list[list[list[int]]]:
    """Blocks that stand as the heads of columns do, row by row: level, and near one another."""
    return _runs_of(sorted(blocks, key=lambda one: _home(one, proof).x), proof, _is_next)


def _in_columns(
    blocks: Sequence[list[int]], proof: Sequence[_Set], rows: Sequence[_Set]
) -> list[list[list[int]]]:
    """Blocks one under the other that stand in cells of a table, column by column, from the head.

    At the edge of a sheet what is set upwards goes on over what comes before it.
    """
    amid = (one for one in blocks if any(_parts_beside(row, _home(one, proof)) for row in rows))
    return _runs_of(sorted(amid, key=lambda one: _home(one, proof).y), proof, _shares_column)


def _runs_of(
    blocks: Sequence[list[int]], proof: Sequence[_Set], follows: Callable[[Box, Box], bool]
) -> list[list[list[int]]]:
    """Blocks that follow one another, run by run; what stands alone is none."""
    runs: list[list[list[int]]] = []
    for block in blocks:
        home = _home(block, proof)
        run = next((run for run in runs if follows(_home(run[-1], proof), home)), None)
        if run is None:
            runs.append([block])
        else:
            run.append(block)
    return [run for run in runs if len(run) > 1]


def _shares_column(one: Box, other: Box) -> bool:
    return one.x < other.right and other.x < one.right and one.bottom <= other.y


def _home(block: Sequence[int], proof: Sequence[_Set]) -> Box:
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


def _in_turn(order: Sequence[int], run: Sequence[list[int]]) -> list[int]:
    """The order with the blocks of a row or column, where they stand in it, in their own order."""
    turn = {at: place for place, at in enumerate(order)}
    as_placed = sorted(run, key=lambda block: turn[block[0]])
    instead = {was[0]: now for was, now in zip(as_placed, run, strict=True)}
    theirs = {at for block in run for at in block}
    return [at for one in order for at in (instead.get(one, []) if one in theirs else [one])]


def _cost(copy: Copy, proof: Sequence[_Set], order: Sequence[int], rules: Rules) -> int:
    laid = laid_alone(copy, [proof[at] for at in order], rules)
    return unexplained(laid, ends=False)


def _heads_first(proof: Sequence[_Set], chosen: Sequence[int]) -> list[int]:
    """What is set sideways at the head of each ticket."""
    tickets = list(dict.fromkeys(proof[at][0].ticket for at in chosen))
    lines = {at: proof[at][0] for at in chosen}
    return sorted(chosen, key=lambda at: (tickets.index(lines[at].ticket), lines[at].home is None))


def _blocks(proof: Sequence[_Set], chosen: Sequence[int]) -> list[list[int]]:
    runs = groupby(chosen, key=lambda at: proof[at][0].home)
    return [list(run) for home, run in runs if home is not None]


def _ways(order: Sequence[int], block: Sequence[int], proof: Sequence[_Set]) -> Iterator[list[int]]:
    """The other places of its ticket in which a block may stand: never within another block."""
    rest = [at for at in order if at not in block]
    mine = [proof[at][0].ticket == proof[block[0]][0].ticket for at in rest]
    homes = [None, *(proof[at][0].home for at in rest), None]
    for at in range(len(rest) + 1):
        within = homes[at] is not None and homes[at] == homes[at + 1]
        if any(mine[max(at - 1, 0) : at + 1]) and not within:
            yield [*rest[:at], *block, *rest[at:]]
