"""Paragraphs begun or run on against the copy, where the lines' geometry shows it plainly.

A paragraph is taken for begun where a line is indented, the lines beside it are not, and the line
before it stops short; it is taken for run on where the copy's paragraph begins within a line.
Anything less plain (verse, heads, tables, block paragraphs) is left alone. Common practice.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from proofcheck.base.found import Difference
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Span

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Copy, Line
    from proofcheck.collate.aligning import Alignment
    from proofcheck.collate.same import Compared
    from proofcheck.collate.setting import Setting

__all__ = ["paragraph_faults"]

_LEAST_LINES = 6
"""Lines a column must have for its edges to be known."""
_EM_OF_X_HEIGHT = 2.2
"""An em in x-heights, for text faces of the time; common practice."""
_INDENT_EM = (0.7, 4.0)
_FLUSH_EM = 0.35
_SHORT_EM = 1.5
_RUN_OVERS, _MOST_OF_THEM = 3, 0.8
"""Indented run-over lines, and their share of all, that make a list of entries."""
_LONG_PARAGRAPH = 60
"""Characters from which on a paragraph is prose, not a head or a line of a table."""


class _Column(NamedTuple):
    """Edges of one column of one sheet, in pixels."""

    left: float
    right: float
    em: float
    first: int
    last: int
    """Numbers of its first and last line."""


def paragraph_faults(
    alignment: Alignment,
    copy: Compared,
    setting: Setting,
    source: Copy,
    spans: Mapping[int, Span],
) -> list[Difference]:
    """Faults of paragraphs; none where the geometry isn't known.

    Args:
        alignment: the lines laid on the copy.
        copy: the copy's compared form.
        setting: the printed lines.
        source: the copy.
        spans: each line's stretch of the copy, by its place in the proof.
    """
    columns = _columns(setting)
    if not columns:
        return []
    starts = np.array([span.start for span in source.paragraphs], dtype=np.int64)
    printed = _printed(alignment, copy)
    second = _second_lines(printed, setting, columns, starts)
    hanging = {key for key, runs in second.items() if _hang(runs)}
    out = []
    for row, k in enumerate(alignment.stream.order):
        column = columns.get(setting.column(k) or (-1, -1))
        if column is None or k not in spans:
            continue
        begun = k - 1 in printed and k in printed and _begun(k, setting, column)
        begun = begun and setting.column(k) not in hanging
        begun = begun and _runs_on(k, printed, source, starts)
        runs = second.get(setting.column(k) or (-1, -1), [])
        if begun and not (all(runs) and _is_between_entries(k, printed, starts)):
            out.append(_not_wanted(setting.readings[k].line, spans[k].start))
        line = setting.readings[k].line, spans[k]
        out += _wanted(alignment, copy, row, source, line)
    return out


def _columns(setting: Setting) -> dict[tuple[int, int], _Column]:
    """Edges of every column with enough lines."""
    held: dict[tuple[int, int], list[Line]] = {}
    for line in setting.lines.values():
        held.setdefault((line.sheet, line.column), []).append(line)
    out = {}
    for key, lines in held.items():
        if len(lines) < _LEAST_LINES:
            continue
        numbers = [line.number for line in lines]
        out[key] = _Column(
            left=float(np.median([line.box.x for line in lines])),
            right=float(np.quantile([line.box.right for line in lines], 0.8)),
            em=_EM_OF_X_HEIGHT * float(np.median([line.x_height_px for line in lines])),
            first=min(numbers),
            last=max(numbers),
        )
    return out


def _printed(alignment: Alignment, copy: Compared) -> dict[int, Span]:
    """Each line's stretch of the copy from its first to its last letter that agrees.

    What is missing at either end is left out: where it stood, and whether a paragraph began with
    it, can't be seen.
    """
    out = {}
    for row, k in enumerate(alignment.stream.order):
        held = alignment.held_in(row)
        if len(held):
            out[k] = Span(int(copy.start[held.min()]), int(copy.end[held.max()]))
    return out


def _second_lines(
    printed: Mapping[int, Span],
    setting: Setting,
    columns: Mapping[tuple[int, int], _Column],
    starts: NDArray[np.int64],
) -> dict[tuple[int, int], list[bool]]:
    """For each column whether the second lines of its entries are indented, one after the other."""
    second: dict[tuple[int, int], list[bool]] = {}
    begins = set(starts.tolist())
    for k, span in printed.items():
        before, line, key = printed.get(k - 1), setting.line(k), setting.column(k)
        column = columns.get(key) if key else None
        if before is None or line is None or key is None or column is None:
            continue
        on = before.start in begins and not ((starts > before.start) & (starts <= span.start)).any()
        if on and setting.column(k - 1) == key:
            indent = (line.box.x - column.left) / column.em
            second.setdefault(key, []).append(indent >= _INDENT_EM[0])
    return second


def _hang(runs: Sequence[bool]) -> bool:
    """Whether a column is of entries whose run-over lines are indented: there that begins nothing.

    Of entries that run over, so many have an indent in their second line, and nearly all of them.
    """
    return sum(runs) >= _RUN_OVERS and sum(runs) >= _MOST_OF_THEM * len(runs)


def _begun(at: int, setting: Setting, column: _Column) -> bool:
    """Whether a line plainly begins a paragraph."""
    number = setting.readings[at].line
    before, here, after = (setting.lines.get(number + step) for step in (-1, 0, 1))
    if before is None or here is None or after is None:
        return False
    if not column.first < number < column.last or _beside_initial(before, here):
        return False
    indent = (here.box.x - column.left) / column.em
    flush = all(abs(line.box.x - column.left) < _FLUSH_EM * column.em for line in (before, after))
    short = column.right - before.box.right > _SHORT_EM * column.em
    return _INDENT_EM[0] <= indent <= _INDENT_EM[1] and flush and short


def _is_between_entries(at: int, printed: Mapping[int, Span], starts: NDArray[np.int64]) -> bool:
    """Whether the lines before and after one each begin a paragraph of the copy.

    Then it is one that runs over, if no other of its column does so flush.
    """
    return all(k in printed and printed[k].start in starts for k in (at - 1, at + 1))


def _beside_initial(before: Line, here: Line) -> bool:
    """Whether the line before begins with an initial that this one is indented for."""
    return before.box.x < here.box.x and before.box.bottom > here.box.bottom - here.x_height_px


def _runs_on(at: int, spans: Mapping[int, Span], source: Copy, starts: NDArray[np.int64]) -> bool:
    """Whether the copy goes from the line before into this one without any break."""
    end, start = spans[at - 1].end, spans[at].start
    between = source.text[end:start]
    if start < end or any(map(str.isalnum, between)) or "\n" in between:
        return False
    return not bool(((starts >= end) & (starts <= start)).any())


def _not_wanted(line: int, at: int) -> Difference:
    """A paragraph begun where the copy runs on."""
    return Difference(
        kind=Kind.PARAGRAPH,
        line=line,
        proof=Span(0, 0),
        proof_text="¶",
        copy=Span(at, at),
        copy_text="",
    )


def _begins(paragraph: Span) -> int:
    """Where a paragraph begins."""
    return paragraph.start


def _wanted(
    alignment: Alignment, copy: Compared, row: int, source: Copy, line: tuple[int, Span]
) -> list[Difference]:
    """Paragraphs of the copy that begin within a printed line, after and before plain prose.

    `line` is the printed line's number and its stretch of copy.
    """
    number, span = line
    out = []
    stream = alignment.stream
    start, end = (int(at) for at in stream.line_start[row : row + 2])
    low = bisect_right(source.paragraphs, span.start, key=_begins)
    high = bisect_left(source.paragraphs, span.end, key=_begins)
    for before, here in pairwise(source.paragraphs[max(0, low - 1) : high]):
        prose = min(before.end - before.start, here.end - here.start) >= _LONG_PARAGRAPH
        if not prose or source.text[before.end - 1].isalnum():
            continue
        wanted = int(np.searchsorted(copy.start, here.start))
        found = np.flatnonzero(alignment.copy_at[start:end] == wanted)
        if len(found):
            at = stream.parts[row].span(int(found[0]), int(found[0]))
            out.append(
                Difference(Kind.PARAGRAPH, number, at, "", Span(here.start, here.start), "¶")
            )
    return out
