"""Faults of whole lines: foreign, run-down, doubled, out of order."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from proofcheck.collate.order import stray_blocks
from proofcheck.values import Cause, Difference, Kind, Line, Span

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.values import Reading

__all__ = ["Setting", "disorder", "doubled_lines", "foreign_lines", "is_folio", "is_run_down"]

_RUN_DOWN = ("etaoin", "shrdlu")
_FOLIO = re.compile(r"[\W_]*(?:\d{1,4}|[ivxlc]{1,8}|[IVXLC]{1,8})[\W_]*")
_SIGNATURE = re.compile(r"[A-Z]{1,2}(?: ?[\d*]{1,2})?|\d{1,2}\*?")
_MATTER = 10
"""Words from which on foreign lines together are matter, not scraps."""
_BLOCK = 3
"""So many lines out of order together, of another column, are the order of reading."""


class Setting(NamedTuple):
    """The printed lines as they stand: readings in order, and their geometry if known."""

    readings: Sequence[Reading]
    lines: Mapping[int, Line]
    """By number; empty where the geometry isn't known."""

    def column(self, at: int) -> tuple[int, int] | None:
        """Sheet and column of the line at a place in the proof, None if not known."""
        line = self.lines.get(self.readings[at].line)
        return (line.sheet, line.column) if line else None

    def in_one_row(self, one: int, other: int) -> bool:
        """Whether two lines of one sheet stand side by side."""
        first = self.lines.get(self.readings[one].line)
        second = self.lines.get(self.readings[other].line)
        if first is None or second is None or first.sheet != second.sheet:
            return False
        shared = min(first.box.bottom, second.box.bottom) - max(first.box.y, second.box.y)
        return 2 * shared > min(first.box.height, second.box.height)

    def holds_folio(self, difference: Difference) -> bool:
        """Whether words too many are a page number before or after a running head."""
        at = next(k for k, r in enumerate(self.readings) if r.line == difference.line)
        size = len(self.readings[at].letters)
        outer = difference.proof.start == 0 or difference.proof.end == size
        return outer and is_folio(at, difference.proof_text.strip(), self)

    def at_edge(self, at: int, *, foot_only: bool = False) -> bool:
        """Whether a line is the first or last of its sheet (of the proof, if that isn't known)."""
        line = self.lines.get(self.readings[at].line)
        if line is None:
            return at == len(self.readings) - 1 or (at == 0 and not foot_only)
        tops = [other.box.y for other in self.lines.values() if other.sheet == line.sheet]
        foot = line.box.y >= max(tops) - line.box.height
        return foot or (line.box.y <= min(tops) + line.box.height and not foot_only)

    def repeats_head(self, at: int) -> bool:
        """Whether a line at the head of its sheet is the head of an earlier sheet over again."""
        here = self.lines.get(self.readings[at].line)
        if here is None or not here.sheet:
            return False
        tops: dict[int, int] = {}
        for each in self.lines.values():
            tops[each.sheet] = min(each.box.y, tops.get(each.sheet, each.box.y))
        heads = [
            reading
            for reading in self.readings
            if (line := self.lines.get(reading.line))
            and line.sheet <= here.sheet
            and line.box.y <= tops[line.sheet] + line.box.height // 2
        ]
        if self.readings[at] not in heads:
            return False
        words = _letters_of(self.readings[at].text)
        earlier = (r for r in heads if self.lines[r.line].sheet < here.sheet)
        return bool(words) and any(_letters_of(r.text) == words for r in earlier)


def _letters_of(text: str) -> str:
    """Letters alone: a running head less its page number."""
    return "".join(char for char in text.casefold() if char.isalpha())


def is_run_down(text: str) -> bool:
    """Whether a line holds the run of keys that fills out a slug to be thrown away.

    The two first columns of the keyboard, as the trade's own histories tell.
    """
    close = "".join(text.split()).casefold()
    return any(run in close for run in _RUN_DOWN)


def is_folio(at: int, text: str, setting: Setting) -> bool:
    """Whether a line is a page number at head or foot, or a signature at the foot."""
    if _FOLIO.fullmatch(text):
        return setting.at_edge(at)
    return bool(_SIGNATURE.fullmatch(text)) and setting.at_edge(at, foot_only=True)


def foreign_lines(
    foreign: Sequence[int], run_down: frozenset[int], setting: Setting, gaps: Mapping[int, int]
) -> list[Difference]:
    """One difference a run of lines that are not in the copy; a run-down line is always its own.

    Args:
        foreign: places in the proof, rising.
        run_down: which of them are run-down lines.
        setting: the printed lines.
        gaps: for each, the copy position it stands at.
    """
    runs: list[list[int]] = []
    for at in foreign:
        together = runs and at == runs[-1][-1] + 1
        if together and at not in run_down and runs[-1][-1] not in run_down:
            runs[-1].append(at)
        else:
            runs.append([at])
    out = []
    for run in runs:
        words = sum(len(setting.readings[at].text.split()) for at in run)
        other_job = Cause.OTHER_JOB if len(run) > 1 and words >= _MATTER else None
        cause = Cause.RUN_DOWN_LINE if run[0] in run_down else other_job
        rest = tuple(setting.readings[at].line for at in run[1:])
        out.append(_whole(Kind.LINE_FOREIGN, run[0], setting, gaps[run[0]], cause, rest))
    return out


def doubled_lines(
    doubled: Mapping[int, int], setting: Setting, gaps: Mapping[int, int]
) -> list[Difference]:
    """One difference for each line that stands twice, at the second."""
    return [
        _whole(
            Kind.LINE_DOUBLED,
            at,
            setting,
            gaps[at],
            Cause.SLUG_LEFT_IN,
            (setting.readings[first].line,),
        )
        for at, first in sorted(doubled.items())
    ]


def _whole(
    kind: Kind,
    at: int,
    setting: Setting,
    gap: int,
    cause: Cause | None,
    others: tuple[int, ...],
) -> Difference:
    """A difference that is a whole printed line too many."""
    reading = setting.readings[at]
    text = reading.text
    return Difference(
        kind=kind,
        line=reading.line,
        proof=Span(0, len(text)),
        proof_text=text,
        copy=Span(gap, gap),
        copy_text="",
        cause=cause,
        other_lines=others,
    )


def disorder(
    sequence: Sequence[int], setting: Setting, spans: Mapping[int, Span], copy: str
) -> list[Difference]:
    """One difference for two lines that have changed places, for a line astray, for a run of them.

    Of two that have changed places, the partner is in `other_lines`; of a run, the rest of it; a
    line astray by itself has none.

    Args:
        sequence: places in the proof, in order of the copy.
        setting: the printed lines.
        spans: each line's stretch of copy.
        copy: the copy's text.
    """
    before = {at: sequence[k - 1] if k else None for k, at in enumerate(sequence)}
    blocks = [b for b in stray_blocks(sequence) if not _other_order(b, before[b[0]], setting)]
    out: list[Difference] = []
    told: set[int] = set()
    for block in blocks:
        if block[0] in told:
            continue
        told.update(block)
        partner = _partner(block, sequence)
        told.update(partner)
        if partner:
            out.append(
                _swapped(min(block[0], *partner), max(block[0], *partner), setting, spans, copy)
            )
        elif len(block) < _BLOCK:
            out += [_astray([at], before[at], setting, spans, copy) for at in block]
        else:
            out.append(_astray(block, before[block[0]], setting, spans, copy))
    return out


def _other_order(block: Sequence[int], before: int | None, setting: Setting) -> bool:
    """Whether a run is out of order only because columns are read in another order."""
    mine = setting.column(block[0])
    if mine is None:
        return False
    if before is not None and setting.column(before) != mine:
        # Columns that the copy takes row by row, or matter set into another column's.
        return len(block) >= _BLOCK or setting.in_one_row(before, block[0])
    # A whole column read before or after its turn.
    first, last = block[0], block[-1]
    edges = (first - 1, last + 1)
    inside = [k for k in edges if 0 <= k < len(setting.readings) and setting.column(k) == mine]
    return len(block) >= _BLOCK and not inside


def _partner(block: Sequence[int], sequence: Sequence[int]) -> tuple[int, ...]:
    """The lines that stand where the block belongs, if they belong where it stands."""
    if len(block) > 1:
        return ()
    line = block[0]
    rank = {at: k for k, at in enumerate(sequence)}
    wanted = sorted(sequence)
    # Who stands where this line should, and where should that one stand?
    other = wanted[rank[line]]
    if other != line and wanted[rank[other]] == line:
        return (other,)
    return ()


def _swapped(
    first: int, second: int, setting: Setting, spans: Mapping[int, Span], copy: str
) -> Difference:
    """Two lines that have changed places, told at the first of them."""
    both = (spans[first], spans[second])
    span = Span(min(s.start for s in both), max(s.end for s in both))
    return _out_of_place(first, (second,), span, setting, copy)


def _astray(
    block: Sequence[int],
    before: int | None,
    setting: Setting,
    spans: Mapping[int, Span],
    copy: str,
) -> Difference:
    """A line, or a run of them, that stands elsewhere than the copy has it.

    `before` is the place in the proof of the line the copy has before it, None at the head.
    """
    span = Span(spans[block[0]].start, spans[block[-1]].end)
    told = _out_of_place(block[0], block[1:], span, setting, copy)
    return replace(told, follows=0 if before is None else setting.readings[before].line)


def _out_of_place(
    at: int, others: Sequence[int], span: Span, setting: Setting, copy: str
) -> Difference:
    """The difference for whole lines in the wrong place."""
    reading = setting.readings[at]
    return Difference(
        kind=Kind.LINES_TRANSPOSED,
        line=reading.line,
        proof=Span(0, len(reading.text)),
        proof_text=reading.text,
        copy=span,
        copy_text=" ".join(copy[span.start : span.end].split()),
        cause=Cause.SLUG_MISPLACED,
        other_lines=tuple(setting.readings[k].line for k in others),
    )
