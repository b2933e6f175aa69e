"""One sheet's lines put in the copy's order piece by piece, as far as they may be read so.

A form, a note in the margin, what a brace holds: what stands there between white can be read in
many orders, and the copy has one of them. Only this is never done: a piece is read neither before
one that stands over it nor before one to its left in its row, nor before one wholly over the block
it is of, unless the layout reads it so. So what has changed places in a row or in a column stays
where it was printed.
"""

from __future__ import annotations

import heapq
from bisect import bisect_right
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.collate.gutters import Lists
from proofcheck.collate.how_they_stand import Standing, standing_of
from proofcheck.collate.laying import BORNE_OUT, Laying, laid_alone
from proofcheck.collate.parted_lines import LEVEL, foot_of, part_of, wide_whites
from proofcheck.collate.wanting import places_in_row, places_wanting

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Copy, Line, Reading
    from proofcheck.collate.same import Rules

__all__ = ["piecemeal"]

_ROUNDS = 20
"""So often it is tried to keep solid columns whole, each time by all that was broken before."""
_MOST = 500
"""Pieces of one sheet that are put in order: a form has a hundred."""

_Set = tuple["Line", "Reading"]
_Both = tuple[tuple[int, int], tuple[int, int]]


@dataclass(frozen=True, slots=True, eq=False)
class _Piece:
    """What stands between wide white: some letters of one line."""

    line: int
    """Its line's place."""
    first: int
    end: int
    """Its letters within the reading."""
    held: _Set


def piecemeal(copy: Copy, held: Sequence[_Set], rules: Rules) -> list[Lists]:
    """Stretches of one sheet's lines read in the copy's order, as far as they may be.

    Args:
        copy: the approved copy.
        held: the sheet's lines in an order that leaves something unexplained.
        rules: the allowances made.
    """
    pieces = [piece for at in range(len(held)) for piece in _pieces(held[at], at)]
    if not 1 < len(pieces) <= _MOST:
        return []
    laid = laid_alone(copy, [piece.held for piece in pieces], rules)
    standing = standing_of([piece.held[0] for piece in pieces], [piece.line for piece in pieces])
    keys = _keys(laid, standing)
    cells = _read_across(standing, keys)
    order = _in_copys_order(standing, keys, cells)
    ways = []
    for first, end, stretch in _stretches(pieces, order):
        lines = _joined(held, [pieces[k] for k in stretch])
        of_cell = cells[np.ix_(stretch, stretch)].any()
        before = held[max(first - 1, 0) : first]
        if not of_cell and _are_exchanged(before, held[first:end], lines):
            continue
        ways.append(Lists(first, end, lines, _read_down(lines), between=True))
    return ways


def _pieces(one: _Set, at: int) -> Iterator[_Piece]:
    """The pieces of one line, from left to right."""
    line, reading = one
    letters = reading.letters
    cuts = [(left + right) / 2 for left, right in wide_whites(one)]
    columns = [bisect_right(cuts, letter.box.x + letter.box.width / 2) for letter in letters]
    edges = [k for k in range(1, len(letters)) if columns[k] != columns[k - 1]]
    if columns != sorted(columns):
        edges = []
    for first, end in pairwise([0, *edges, len(letters)]):
        part = part_of(line, letters[first:end]) if edges else one
        if part is not None:
            yield _Piece(at, first, end, part)


def _keys(laid: Laying, standing: Standing) -> list[float]:
    """About where in the copy each piece stands.

    What stands nowhere follows the piece before it in its row, or the one over it.
    """
    order, count = laid.alignment.stream.order, len(standing.level)
    spans: dict[int, tuple[int, int]] = {}
    for row, (k, share) in enumerate(zip(order, laid.alignment.borne_out(), strict=True)):
        mine = laid.alignment.held_in(row)
        if share >= BORNE_OUT and len(mine):
            spans[k] = int(mine.min()), int(mine.max()) + 1
    texts = [line.text for line in laid.lines]
    spans |= places_wanting(laid, {k: texts[k] for k in range(count) if k not in spans}, spans)
    left, above = standing.left_of(), standing.right_over()
    spans |= places_in_row(laid.copy.text, texts, spans, left)
    out: list[float] = []
    for k in range(count):
        held = next((spans[n] for n in (k, left.get(k), above.get(k)) if n in spans), None)
        out.append(sum(held) / 2 if held else out[-1] if out else 0.0)
    return out


def _read_across(standing: Standing, keys: Sequence[float]) -> NDArray[np.bool_]:
    """For each two pieces whether the second, in a higher cell, is read before the first.

    What else is in its row, beyond the first, comes after that in the copy, too: of an entry under
    a name that stands in the middle all comes before the name or nothing.
    """
    across = standing.beside_a_cell()
    for one, other in np.argwhere(across).tolist():
        row = np.flatnonzero(standing.level[other])
        across[one, other] = all(keys[k] > keys[one] for k in row.tolist())
    return across


def _in_copys_order(
    standing: Standing, keys: Sequence[float], across: NDArray[np.bool_]
) -> list[int]:
    """The pieces by their keys as far as they may be read so; as they are if that can't be said."""
    before = standing.level | standing.under | (standing.wholly_over() & ~across)
    for _ in range(_ROUNDS):
        order = _ordered(before, keys)
        broken = standing.broken_by(order) if len(order) == len(keys) else []
        if not broken:
            break
        for lower, other in broken:
            before[lower, other] = True
    else:
        order = []
    return order if len(order) == len(keys) else list(range(len(keys)))


def _ordered(before: NDArray[np.bool_], keys: Sequence[float]) -> list[int]:
    """The pieces by their keys, each after all that come before it in any case.

    Of pieces that each come before the other none is there.
    """
    waits = before.sum(axis=0)
    ready = [(keys[k], k) for k in np.flatnonzero(waits == 0).tolist()]
    heapq.heapify(ready)
    out: list[int] = []
    while ready:
        _, k = heapq.heappop(ready)
        out.append(k)
        for after in np.flatnonzero(before[k]).tolist():
            waits[after] -= 1
            if not waits[after]:
                heapq.heappush(ready, (keys[after], after))
    return out


def _stretches(
    pieces: Sequence[_Piece], order: Sequence[int]
) -> Iterator[tuple[int, int, list[int]]]:
    """The least stretches of whole lines whose pieces are in another order: lines and pieces."""
    ends = {piece.line: k + 1 for k, piece in enumerate(pieces)}
    edges, highest = [0], -1
    for at, k in enumerate(order, start=1):
        highest = max(highest, k)
        if highest + 1 == at and ends[pieces[highest].line] == at:
            edges.append(at)
    for first, end in pairwise(edges):
        stretch = list(order[first:end])
        if stretch != sorted(stretch):
            yield pieces[first].line, pieces[end - 1].line + 1, stretch


def _are_exchanged(before: Sequence[_Set], was: Sequence[_Set], now: Sequence[_Set]) -> bool:
    """Whether but two whole lines change places, and the first then goes on no row.

    So the last line of a column and the head of the next would have changed places in make-up.
    """
    if len(was) != 2 or len(now) != 2 or now[0][1] != was[1][1]:
        return False
    one, other = (line.box for line, _ in was)
    apart = one.bottom <= other.y or other.bottom <= one.y
    head = now[0][0]
    goes_on = [abs(foot_of(line) - foot_of(head)) < LEVEL * head.x_height_px for line, _ in before]
    return apart and not any(goes_on)


def _read_down(lines: Sequence[_Set]) -> tuple[_Both, ...]:
    """Where two rows of two pieces are read one column after the other, as `Lists.level` has it.

    Three rows and more are of lists.
    """
    standing = standing_of([line for line, _ in lines], range(len(lines)))
    under = standing.under
    rows = [(left, right) for right, left in standing.left_of().items()]
    out: list[_Both] = []
    for left, right in rows:
        lower = [(a, b) for a, b in rows if under[left, a] and under[right, b]]
        upper = [(a, b) for a, b in rows if under[a, left] and under[b, right]]
        if lower == [(left + 1, left + 3)] and not upper and right == left + 2:
            out.append(((left, left + 1), (right, right + 1)))
    return tuple(out)


def _joined(held: Sequence[_Set], stretch: Sequence[_Piece]) -> list[_Set]:
    """Pieces in a new order; those of one line that still follow one another are one."""
    runs: list[list[_Piece]] = []
    for piece in stretch:
        last = runs[-1][-1] if runs else None
        if last is not None and (last.line, last.end) == (piece.line, piece.first):
            runs[-1].append(piece)
        else:
            runs.append([piece])
    out = []
    for run in runs:
        line, reading = held[run[0].line]
        letters = reading.letters[run[0].first : run[-1].end]
        whole = len(letters) == len(reading.letters)
        part = (line, reading) if whole else part_of(line, letters)
        if part is not None:
            out.append(part)
    return out
