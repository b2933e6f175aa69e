"""In what order one sheet's lines are read, where its columns or gutters leave more ways than one.

The layout reads down its columns and straight across lines with wide white in them. Where another
order lays far better on the copy, that is the one meant.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from rapidfuzz.distance import LCSseq

from proofcheck.collate.cells_beside import cells_in, feet_in
from proofcheck.collate.gutters import Lists, lists_in, lists_within, other_orders
from proofcheck.collate.laying import (
    BORNE_OUT,
    Laying,
    laid_alone,
    missing_letters,
    unexplained,
)
from proofcheck.collate.one_cell import is_one_cell
from proofcheck.collate.piecemeal import piecemeal
from proofcheck.collate.place import loose

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.values import Copy, Line, Reading
    from proofcheck.collate.same import Rules

__all__ = ["sheet_in_order"]

_WORTH = 12
"""Letters, some two words, that another order must explain which this one does not."""
_WORD = 3
"""… or a short word or price that stands between two rows, as beside a brace or in a ring, and so
comes in neither."""
_BETTER = 0.6
"""It leaves less than this share of what this one leaves unexplained."""

_MOST_TRIED = 4
"""Ways to read a stretch that are laid on the copy: a page of a long table would have hundreds."""

_Set = tuple["Line", "Reading"]


def sheet_in_order(copy: Copy, held: Sequence[_Set], rules: Rules) -> list[_Set]:
    """One sheet's lines in the order that lays best on the copy: as they are, but for good reason.

    Args:
        copy: the approved copy.
        held: the sheet's lines and what was read in them, in the order of the layout.
        rules: the allowances made.
    """
    ways = other_orders(held)
    laid = laid_alone(copy, held, rules) if ways or lists_in(held) or cells_in(held) else None
    if laid is None or unexplained(laid, ends=False) < _WORD:
        return list(held)
    whole = _as_a_whole(copy, list(held), laid, ways, rules)
    return _piece_by_piece(
        copy, *_cell_by_cell(copy, *_down_the_lists(copy, *whole, rules), rules), rules
    )


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


def _down_the_lists(
    copy: Copy, held: list[_Set], laid: Laying, rules: Rules
) -> tuple[list[_Set], Laying]:
    """Each stretch of lists side by side read list by list, where that lays far better."""
    settled: set[tuple[int, int]] = set()
    found = lists_in(held)
    while ways := next((one for one in found if one[0][:2] not in settled), None):
        settled.add(ways[0][:2])
        if _open_in(laid, *ways[0][:2]) < _WORTH:
            continue
        # Columns that were exchanged have no more letters in order when they are read down.
        ways = _likeliest(copy, held, ways, least=0.0)
        orders = [_in_place(held, way) for way in ways]
        tried = [laid_alone(copy, order, rules) for order in orders]
        best = min(range(len(ways)), key=lambda at: unexplained(tried[at], ends=False))
        if _is_better_there(tried[best], laid, ways[best]):
            # What is left of the stretch may be lists as well: it ends elsewhere now.
            held, laid, found = orders[best], tried[best], lists_in(orders[best])
    return held, laid


def _cell_by_cell(
    copy: Copy, held: list[_Set], laid: Laying, rules: Rules
) -> tuple[list[_Set], Laying]:
    """Cells side by side each read by itself, and feet after all, where that lays far better."""
    while True:
        ways = [
            way
            for way in (*lists_within(held), *feet_in(held), *cells_in(held))
            if _open_in(laid, way.first, way.end) >= _worth(way)
        ]
        better: list[tuple[int, list[_Set], Laying]] = []
        for way in _likeliest(copy, held, ways):
            order = _in_place(held, way)
            tried = laid_alone(copy, order, rules)
            if _is_better_there(tried, laid, way) and _runs_on(copy, tried, way):
                better.append((unexplained(tried, ends=False), order, tried))
        if not better:
            return held, laid
        _, held, laid = min(better, key=lambda each: each[0])


def _piece_by_piece(copy: Copy, held: list[_Set], laid: Laying, rules: Rules) -> list[_Set]:
    """What stands between white put in the copy's order, where it may be and lays far better."""
    if unexplained(laid, ends=False) < _WORD:
        return held
    # From the foot up, so that what lies over a stretch keeps its place.
    for way in reversed(piecemeal(copy, held, rules)):
        order = _in_place(held, way)
        tried = laid_alone(copy, order, rules)
        if _is_better_there(tried, laid, way) and _runs_on(copy, tried, way):
            held, laid = order, tried
    return held


def _in_place(held: Sequence[_Set], way: Lists) -> list[_Set]:
    """All lines of the sheet, a stretch of them read in this way."""
    return [*held[: way.first], *way.lines, *held[way.end :]]


def _likeliest(
    copy: Copy, held: Sequence[_Set], ways: Sequence[Lists], least: float = 0.5
) -> list[Lists]:
    """Few ways, those with most letters in the copy's order first.

    Each has more so than now, by this share of what it must explain; for 0 that is not asked.

    Laying a sheet takes long where it is a table of like figures; to count letters does not.
    """
    codes = loose(copy.text).codes.tolist()
    now = _in_common(codes, held)
    counted = [(_in_common(codes, _in_place(held, way)) - now, way) for way in ways]
    gain = [each for each in counted if not least or each[0] >= least * _worth(each[1])]
    return [way for _, way in sorted(gain, key=lambda each: -each[0])[:_MOST_TRIED]]


def _in_common(codes: Sequence[int], held: Sequence[_Set]) -> int:
    """How many letters and figures of some lines come in the copy in their order."""
    mine = loose("".join(reading.text for _, reading in held)).codes.tolist()
    return int(LCSseq.similarity(codes, mine))


def _runs_on(copy: Copy, laid: Laying, way: Lists) -> bool:
    """Whether, of cells with two rows level, one runs on in the copy from row to row."""
    return all(
        any(is_one_cell(copy, laid, way.first + upper, way.first + lower) for upper, lower in both)
        for both in way.level
    )


def _is_better_there(other: Laying, laid: Laying, way: Lists) -> bool:
    """Whether far less is left open in the stretch itself, and as much less on the whole sheet."""
    gain = unexplained(laid, ends=False) - unexplained(other, ends=False)
    if gain < _worth(way):
        return False
    now, then = (other, way.first, way.first + len(way.lines)), (laid, way.first, way.end)
    # What no order helps says nothing for either, nor what is missing in both.
    neither = (_beyond_help(*now) & _beyond_help(*then)).total()
    gone = missing_letters(laid) & missing_letters(other)
    after, before = (_open_in(*one, besides=gone) - neither for one in (now, then))
    return _is_far_better(after, before, _worth(way))


def _worth(way: Lists) -> int:
    return _WORD if way.between else _WORTH


def _open_in(laid: Laying, first: int, end: int, *, besides: frozenset[int] = frozenset()) -> int:
    return unexplained(laid, ends=False, among=range(first, end), besides=besides)


def _beyond_help(laid: Laying, first: int, end: int) -> Counter[str]:
    """Letters left open in lines of a stretch that are mostly so, as of a script hardly read."""
    held = {k: _open_in(laid, k, k + 1) for k in range(first, end)}
    texts = {k: laid.lines[k].text for k in held}
    return Counter({texts[k]: n for k, n in held.items() if n > (1 - BORNE_OUT) * len(texts[k])})


def _is_far_better(after: int, before: int, worth: int = _WORTH) -> bool:
    """Whether so much less is left unexplained that another order is the true one."""
    return after <= before - worth and after < _BETTER * before
