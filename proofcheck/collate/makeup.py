"""The order of make-up: lines, columns and pages that stand elsewhere than the copy has them.

Type is read down its columns, these from left to right, and sheet after sheet. Lines whose place
in that order is not the copy's are out of place. Only two things are let pass: the copy of a table
or list set across goes row by row where the columns are read downwards; and columns whose numbers
run otherwise than they stand.
"""

from __future__ import annotations

import re
from dataclasses import replace
from enum import IntEnum
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from proofcheck.base.found import Cause, Difference
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Span
from proofcheck.collate.order import steady_of, stray_blocks

if TYPE_CHECKING:
    from collections import Counter
    from collections.abc import Mapping, Sequence

    from proofcheck.collate.setting import Setting

__all__ = ["disorder"]

_BLOCK = 3
"""So many lines out of order together are told as one."""
_WHOLE = 0.8
"""Share of the lines of a column or page from which on it is the whole of it: a head across the
columns is counted to one of them."""
_BESIDE = 8
"""Lines looked at before and after a block, to see whether the copy goes across."""
_ACROSS = 2
"""Steps from one column to the next in the same row that say so, and no fewer; of all steps there
a sixth, since a cell may have a few lines."""
_FAR = 80
"""Characters of copy looked over for the next cell; leaders may stand between."""
_FILL = re.compile(r"\s*(?:_{2,}|…+|\.{5,})\s*$")
_CELLS = 0.5
"""Share of lines that begin or end where a line or column of such copy does."""


class _Step(IntEnum):
    """How two lines stand that follow one another in the copy, the better the less."""

    ON = 0
    """The second after the first: below it, in a column to the right, on a later sheet."""
    ACROSS = 1
    """The second below the first, but in a column to the left: right only in copy that goes
    across, or where the sheet is parted into zones."""
    BACK = 2
    """The second before the first however it is read."""


class _Laid(NamedTuple):
    """The placed lines, as the copy orders them."""

    sequence: Sequence[int]
    """Places in the proof, in order of the copy."""
    setting: Setting
    spans: Mapping[int, Span]
    """Each line's stretch of copy."""
    copy: str

    rank: Mapping[int, int]
    """Where in the sequence each line stands."""

    def before(self, block: Sequence[int]) -> int | None:
        """The line before a block in the copy, None at the head."""
        at = self.rank[block[0]]
        return self.sequence[at - 1] if at else None


def disorder(
    sequence: Sequence[int],
    setting: Setting,
    spans: Mapping[int, Span],
    copy: str,
    waived: Counter[str] | None = None,
) -> list[Difference]:
    """One difference for two lines that have changed places, for a line astray, for a run of them.

    Of two that have changed places, the partner is in `other_lines`; of a run, the rest of it; a
    line astray by itself has none.

    Args:
        sequence: places in the proof, in order of the copy.
        setting: the printed lines.
        spans: each line's stretch of copy.
        copy: the copy's text.
        waived: counts by rule, added to; None where the order of reading is enforced.
    """
    laid = _Laid(sequence, setting, spans, copy, {at: k for k, at in enumerate(sequence)})
    steady = steady_of(sequence)
    out: list[Difference] = []
    told: set[int] = set()
    let_be: set[int] = set()
    for block in stray_blocks(sequence):
        step = _step_of(block, laid, steady)
        in_order = step is _Step.ON or _goes_across(block, step, laid)
        # Two blocks may each stand well to the lines in good order, and not to one another.
        before = laid.before(block)
        back = before in let_be and _step(before, block[0], setting) is _Step.BACK
        if waived is not None and in_order and not back:
            let_be.update(block)
            waived["reading-order"] += 1
        elif block[0] not in told:
            found, concerned = (_told_behind if in_order and back else _told)(block, laid)
            told.update(concerned)
            unsure = step is _Step.ACROSS and len(block) >= _BLOCK
            out += [replace(one, only_query=unsure) for one in found]
    return out


def _step_of(block: Sequence[int], laid: _Laid, steady: frozenset[int]) -> _Step:
    """How a block stands to the lines in good order before and after it in the copy."""
    sequence, at = laid.sequence, laid.rank[block[0]]
    before = next((sequence[k] for k in range(at - 1, -1, -1) if sequence[k] in steady), None)
    later = range(at + len(block), len(sequence))
    after = next((sequence[k] for k in later if sequence[k] in steady), None)
    steps = [_Step.ON]
    if before is not None:
        steps.append(_step(before, block[0], laid.setting))
    if after is not None:
        steps.append(_step(block[-1], after, laid.setting))
    return max(steps)


def _step(one: int, other: int, setting: Setting) -> _Step:
    """How two lines stand of which the copy has the second after the first."""
    first, second = setting.line(one), setting.line(other)
    if first is None or second is None:
        return _Step.ON if one < other else _Step.BACK
    if first.sheet != second.sheet:
        return _Step.ON if first.sheet < second.sheet else _Step.BACK
    if first.column == second.column:
        return _Step.ON if one < other else _Step.BACK
    below = second.box.y >= first.box.y + first.box.height // 2
    if min(first.box.right, second.box.right) - max(first.box.x, second.box.x) > 0:
        return _Step.ON if below else _Step.BACK
    if first.box.x < second.box.x:
        return _Step.ON
    return _Step.ACROSS if below else _Step.BACK


def _goes_across(block: Sequence[int], step: _Step, laid: _Laid) -> bool:
    """Whether the copy is a table or list that it takes row by row."""
    if step is not _Step.ACROSS:
        return False
    at = laid.rank[block[0]]
    near = laid.sequence[max(0, at - _BESIDE) : at + len(block) + _BESIDE]
    across = sum(laid.setting.next_in_row(a, b) for a, b in pairwise(near))
    cells = sum(_is_cell(laid.spans[k], laid.copy) for k in near)
    enough = across >= _ACROSS and 6 * across >= len(near) - 1
    return enough and cells >= _CELLS * len(near)


def _is_cell(span: Span, copy: str) -> bool:
    """Whether a line begins or ends where a line of the copy, or a column in it, does."""
    before = copy[max(0, span.start - _FAR) : span.start].rstrip(" .…")[-1:]
    after = copy[span.end : span.end + _FAR].lstrip(" .…")[:1]
    return before in ("", "\n", "\t") or after in ("", "\n", "\t")


def _told_behind(block: Sequence[int], laid: _Laid) -> tuple[list[Difference], set[int]]:
    """What is told, as of `_told`, of a block that but stands before the line it should follow."""
    before = laid.before(block)
    if before is not None and list(block) == [before - 1]:
        return [_swapped(block[0], before, laid)], {block[0], before}
    return [_astray(block, before, laid)], set(block)


def _told(block: Sequence[int], laid: _Laid) -> tuple[list[Difference], set[int]]:
    """What is told of a block, and the lines that are settled by it."""
    partner = _partner(block, laid)
    if partner is not None:
        pair = sorted((block[0], partner))
        return [_swapped(pair[0], pair[1], laid)], {block[0], partner}
    whole = _whole(block, laid)
    if len(block) >= _BLOCK or whole:
        told = _astray(block, laid.before(block), laid)
        if whole:
            told = replace(told, cause=whole[0], make_up=whole[1])
        return [told], set(block)
    befores = [laid.before([at]) for at in block]
    return [_astray([a], b, laid) for a, b in zip(block, befores, strict=True)], set(block)


def _whole(block: Sequence[int], laid: _Laid) -> tuple[Cause, str] | None:
    """Cause and words for a block that is a whole page or column; None for lines."""
    parts = {laid.setting.column(k) for k in block}
    found = _out_of_turn(block, laid)
    other = laid.setting.column(found[0]) if found else None
    if found is None or other is None or None in parts:
        return None
    where = found[1]
    own = sorted(part for part in parts if part)
    sheets = sorted({sheet for sheet, _ in own})
    held = [part for k in laid.sequence if (part := laid.setting.column(k))]
    if other[0] not in sheets and _is_most(block, [part for part in held if part[0] in sheets]):
        pages = _named("page", sheets)
        return Cause.PAGE_MISPLACED, f"{pages} should {where} page {other[0] + 1}"
    if other in parts or len(sheets) > 1 or len(block) < _BLOCK:
        return None
    if not _is_most(block, [part for part in held if part in parts]):
        return None
    columns = _named("column", [column for _, column in own])
    beyond = f"column {other[1] + 1}"
    if other[0] != sheets[0]:
        columns, beyond = f"{columns} of page {sheets[0] + 1}", f"{beyond} of page {other[0] + 1}"
    return Cause.COLUMN_MISPLACED, f"{columns} should {where} {beyond}"


def _out_of_turn(block: Sequence[int], laid: _Laid) -> tuple[int, str] | None:
    """The line beside a block in the copy that stands on the wrong side of it, and on which not."""
    at = laid.rank[block[0]]
    after = laid.sequence[at + len(block)] if at + len(block) < len(laid.sequence) else None
    if after is not None and after < block[-1]:
        return after, "stand before"
    before = laid.before(block)
    return (before, "follow") if before is not None and before > block[0] else None


def _is_most(block: Sequence[int], held: Sequence[object]) -> bool:
    """Whether a block is all that a column or page holds, but for a head across the columns."""
    return len(block) >= _WHOLE * len(held)


def _named(what: str, numbers: Sequence[int]) -> str:
    """Numbers from 0 as in "page 2", "pages 2 and 3"."""
    if len(numbers) == 1:
        return f"{what} {numbers[0] + 1}"
    return f"{what}s {', '.join(str(n + 1) for n in numbers[:-1])} and {numbers[-1] + 1}"


def _partner(block: Sequence[int], laid: _Laid) -> int | None:
    """The line that stands where the block belongs, if it belongs where that stands."""
    if len(block) > 1:
        return None
    line = block[0]
    wanted = sorted(laid.sequence)
    # Who stands where this line should, and where should that one stand?
    other = wanted[laid.rank[line]]
    return other if other != line and wanted[laid.rank[other]] == line else None


def _swapped(first: int, second: int, laid: _Laid) -> Difference:
    """Two lines that have changed places, told at the first of them."""
    both = (laid.spans[first], laid.spans[second])
    span = Span(min(s.start for s in both), max(s.end for s in both))
    return _out_of_place(first, (second,), span, laid)


def _astray(block: Sequence[int], before: int | None, laid: _Laid) -> Difference:
    """A line, or a run of them, that stands elsewhere than the copy has it.

    `before` is the place in the proof of the line the copy has before it, None at the head.
    """
    span = Span(laid.spans[block[0]].start, laid.spans[block[-1]].end)
    told = _out_of_place(block[0], block[1:], span, laid)
    return replace(told, follows=0 if before is None else laid.setting.readings[before].line)


def _out_of_place(at: int, others: Sequence[int], span: Span, laid: _Laid) -> Difference:
    """The difference for whole lines in the wrong place."""
    reading = laid.setting.readings[at]
    # Rules to write on and leaders at the end point at nothing.
    words = laid.copy[span.start : span.end]
    span = Span(span.start, span.start + len(_FILL.sub("", words)))
    return Difference(
        kind=Kind.LINES_TRANSPOSED,
        line=reading.line,
        proof=Span(0, len(reading.text)),
        proof_text=reading.text,
        copy=span,
        copy_text=" ".join(laid.copy[span.start : span.end].split()),
        cause=Cause.SLUG_MISPLACED,
        other_lines=tuple(laid.setting.readings[k].line for k in others),
    )
