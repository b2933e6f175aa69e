"""Columns and reading order.

A gutter is a clear upright band with at least three lines on each side. Figures set far to the
right, with leaders or without, are not a column of their own: their rows stand on the baselines
of the rows before them, and they are narrow or leaders run up to them.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.sheet.clear_zones import are_level, clear_zones, middle_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.sheet.pieces import Pieces
    from proofcheck.sheet.rows import Segment

__all__ = ["Block", "blocks_in_order"]

_LEAST_ROWS = 3
"""Lines each side of a gutter must have."""
_BY_CHANCE = 0.3
"""Share of the rows beside a rule that are level with one across it, where they are no table's."""
_LEAST_NOTES, _NOTES, _ON_LINE = 2, 0.87, 0.15
"""Side notes have so many lines; their letters are no taller than this beside those of the text
(eight points beside ten or more; common practice); they stand on a baseline of it when they are
within so much of one, in common letter heights."""
_BESIDE = 0.67
"""… and they are no wider than so much of the text."""
_NARROW = 5.5
"""Widest figure column, in common letter heights: "£12 10s. 6d." has about five."""


@dataclass(frozen=True, slots=True)
class Block:
    """Matter of one column, or matter that runs across them all."""

    segments: tuple[Segment, ...]
    column: int


@dataclass(frozen=True, slots=True)
class _Setting:
    """What the sheet has besides segments that tells columns from rows."""

    size: float
    rules: Pieces
    led: frozenset[int]
    """`id` of each segment that leaders run up to."""


@dataclass(frozen=True, slots=True)
class _Split:
    """A gutter at x and the zones of height in which it is clear."""

    x: float
    zones: tuple[tuple[float, float], ...]
    parted: tuple[int, int]
    """Letters that stand in the zones, and their rows at both sides: how much it parts."""


def _led(segments: Sequence[Segment], dots: Pieces, size: float) -> frozenset[int]:
    """Segments with three or more points on their baseline just before them."""
    found = set()
    for segment in segments:
        before = (dots.right <= segment.x) & (dots.x > segment.x - 6 * size)
        on = before & (np.abs(dots.bottom - segment.bottom) < 0.35 * size)
        if np.count_nonzero(on & (dots.height < 0.45 * size)) >= 3:
            found.add(id(segment))
    return frozenset(found)


def _row_count(segments: Sequence[Segment], size: float) -> int:
    heights = np.sort([s.bottom for s in segments])
    return int(1 + np.count_nonzero(np.diff(heights) > 0.6 * size)) if len(heights) else 0


def _partnered(left: Sequence[Segment], right: Sequence[Segment], size: float) -> float:
    """Share of the right-hand segments with one on the left on the same baseline."""
    return float(np.mean([any(are_level(s, other, size) for other in left) for s in right]))


def _rule_in(rules: Pieces, low: float, high: float, top: float, bottom: float) -> float | None:
    """Where upright rules in the gutter stand that cover half of its height; None if none do."""
    shared = np.minimum(rules.bottom, bottom) - np.maximum(rules.y, top)
    inside = (rules.right >= low) & (rules.x <= high) & (shared > 0)
    if not inside.any() or shared[inside].sum() <= 0.5 * (bottom - top):
        return None
    return float(rules.middle[inside].max())


def _runs_through(
    rules: Pieces, left: Sequence[Segment], right: Sequence[Segment], size: float
) -> bool:
    """Whether one upright rule goes along all of two sides, few rows of which are level."""
    edge, start = max(s.right for s in left), min(s.x for s in right)
    inside = (rules.x >= edge - size) & (rules.right <= start + size)
    top = min(s.top for s in (*left, *right)) + size
    bottom = max(s.bottom for s in (*left, *right)) - size
    if not (inside & (rules.y <= top) & (rules.bottom >= bottom)).any():
        return False
    return min(_partnered(left, right, size), _partnered(right, left, size)) < _BY_CHANCE


def _is_gutter(
    left: Sequence[Segment], right: Sequence[Segment], x: float, setting: _Setting
) -> bool:
    """Whether two sides of a clear band are columns, not the two ends of rows."""
    size, all_left = setting.size, left
    left, right = ([s for s in side if len(s.members) >= 3] for side in (left, right))
    first = _row_starts(right, size)
    if not left or not first:
        return False
    top = max(min(s.top for s in left), min(s.top for s in right))
    bottom = min(max(s.bottom for s in left), max(s.bottom for s in right))
    near = [[s for s in side if top <= middle_of(s) <= bottom] for side in (left, first)]
    edge = max(s.right for s in left)
    rule = _rule_in(setting.rules, edge - size, x + size, top, bottom)
    ruled = rule is not None
    if rule is not None and any(s.x > rule and top <= middle_of(s) <= bottom for s in all_left):
        return False  # The numbers of a list's entries are on its own side of the rule.
    through = _runs_through(setting.rules, left, right, size)
    through |= _are_side_notes(right, left, size) or _are_side_notes(left, right, size)
    rows = min(_row_count(side, size) for side in near)
    if through or rows < (2 if ruled else _LEAST_ROWS):
        return through
    widths = [float(np.median([s.right - s.x for s in side])) for side in near]
    if _partnered(near[0], near[1], size) < 0.6:
        # Of a list with names and run-over lines few rows have a number before them.
        numbers = _is_index(near[0], widths[0], size)
        return not (numbers and _partnered(near[1], near[0], size) > 0.8)
    led = float(np.mean([id(s) in setting.led for s in near[1]]))
    if led >= 0.4 or widths[1] < _NARROW * size or _is_index(near[0], widths[0], size):
        return False
    return ruled or (rows > _LEAST_ROWS and _is_even(near[0], near[1], x, size))


def _are_side_notes(notes: Sequence[Segment], text: Sequence[Segment], size: float) -> bool:
    """Whether one side is of notes to the text on the other: smaller, narrow, few on its lines.

    Prices in smaller type beside a list stand on its baselines, and most rows of text go across
    most of its measure, as those of heads over entries with prices don't.
    """
    if _row_count(notes, size) < _LEAST_NOTES or _row_count(text, size) < _LEAST_ROWS:
        return False
    heights = [float(np.median([s.bottom - s.top for s in side])) for side in (notes, text)]
    if heights[0] > _NOTES * heights[1]:
        return False
    widths = [max(s.right for s in side) - min(s.x for s in side) for side in (notes, text)]
    starts = min(s.x for s in notes)
    flush = float(np.mean([s.x < starts + 0.5 * size for s in _row_starts(notes, size)]))
    level = [any(abs(s.bottom - t.bottom) < _ON_LINE * size for t in text) for s in notes]
    if widths[0] < _NARROW * size or _row_width(text, size) < 0.6 * widths[1]:
        return False
    return widths[0] < _BESIDE * widths[1] and flush >= 0.8 and float(np.mean(level)) <= 0.5


def _row_width(segments: Sequence[Segment], size: float) -> float:
    """How wide most rows are, from their first letter to their last."""
    ends = _row_starts(segments, size)
    rows = [[s for s in segments if are_level(s, end, size)] for end in ends]
    return float(np.median([max(s.right for s in row) - min(s.x for s in row) for row in rows]))


def _row_starts(segments: Sequence[Segment], size: float) -> list[Segment]:
    """The leftmost segment of each row."""
    starts: list[Segment] = []
    for segment in sorted(segments, key=lambda s: s.bottom):
        if starts and segment.bottom - starts[-1].bottom < 0.4 * size:
            starts[-1] = min(starts[-1], segment, key=lambda s: s.x)
        else:
            starts.append(segment)
    return starts


def _is_even(left: Sequence[Segment], right: Sequence[Segment], x: float, size: float) -> bool:
    """Whether two sides make columns rather than a chance alignment of word spaces.

    The right-hand rows start together (but for indents), the left-hand ones reach the gutter, both
    sides are much of a width, and the gutter is wider than the word spaces. Two ragged lists side
    by side, level with each other, are taken for the rows of a table.
    """
    edge = max(s.right for s in left)
    starts = float(np.mean([s.x < x + 0.5 * size for s in right]))
    flush = float(np.mean([_reaches(s, left, edge - 2.5 * size, size) for s in left]))
    width = max(edge - min(s.x for s in left), 1.0)
    alike = 0.55 < (max(s.right for s in right) - x) / width < 1.8
    even = starts >= 0.65 and flush >= 0.4 and alike
    return even and _is_wider([*left, *right], right, size)


def _reaches(segment: Segment, side: Sequence[Segment], x: float, size: float) -> bool:
    """Whether the row of a segment reaches x on its side of the gutter."""
    return any(s.right > x and are_level(s, segment, size) for s in side)


def _is_wider(segments: Sequence[Segment], right: Sequence[Segment], size: float) -> bool:
    """Whether the gutter is wider than the widest other gap in most rows.

    Where word spaces happen to stand one under another they are no wider than the row's others.
    """
    wider = []
    for start in right:
        row = sorted((s for s in segments if are_level(s, start, size)), key=lambda s: s.x)
        place = next(index for index, s in enumerate(row) if s is start)
        if place == 0:
            continue
        gaps = [after.x - before.right for before, after in pairwise(row)]
        gutter = gaps.pop(place - 1)
        wider.append(gutter > 1.3 * max([*gaps, *(s.gap for s in row)]))
    return float(np.mean(wider)) > 0.6 if wider else True


def _is_index(segments: Sequence[Segment], width: float, size: float) -> bool:
    """True for numbers or hours set before their rows."""
    extent = max(s.right for s in segments) - min(s.x for s in segments)
    return width < 0.7 * _NARROW * size and extent < _NARROW * size


def _best_split(segments: Sequence[Segment], setting: _Setting) -> _Split | None:
    size = setting.size
    starts = np.sort([s.x for s in segments])
    reach = np.searchsorted(starts, starts + 0.8 * size, side="right")
    crowd = reach - np.arange(len(starts))
    middles = [(middle_of(s), s) for s in segments]
    best: _Split | None = None
    tried: list[float] = []
    for index in np.argsort(-crowd, kind="stable")[:40]:
        x = float(starts[index])
        if crowd[index] < 2 or x <= starts[0] + size or any(abs(x - t) < size / 2 for t in tried):
            continue
        tried.append(x)
        found, letters, rows = [], 0, 0
        for low, high in clear_zones(segments, x, size):
            held = [s for middle, s in middles if low < middle < high]
            left, right = [s for s in held if s.x < x - 1], [s for s in held if s.x >= x - 1]
            if _is_gutter(left, right, x, setting):
                found.append((low, high))
                letters += sum(len(s.members) for s in held)
                rows += _row_count(left, size) + _row_count(right, size)
        if found and (best is None or (letters, rows) > best.parted):
            best = _Split(x, tuple(found), (letters, rows))
    return best


def _split(
    segments: Sequence[Segment], setting: _Setting, column: int, depth: int
) -> tuple[list[Block], int]:
    """Blocks in reading order, and how many columns they make."""
    best = _best_split(segments, setting) if depth and len(segments) >= 5 else None
    if best is None:
        return [Block(tuple(segments), column)], 1
    blocks: list[Block] = []
    columns, at = 1, -np.inf
    for low, high in [*best.zones, (np.inf, np.inf)]:
        across = [s for s in segments if at <= middle_of(s) <= low]
        if across:
            blocks += _split(across, setting, column, depth - 1)[0]
        held = [s for s in segments if low < middle_of(s) < high]
        if held:
            sides = ([s for s in held if s.x < best.x - 1], [s for s in held if s.x >= best.x - 1])
            before, left = _split(sides[0], setting, column, depth - 1)
            after, right = _split(sides[1], setting, column + left, depth - 1)
            blocks += before + after
            columns = max(columns, left + right)
        at = high
    return blocks, columns


def blocks_in_order(
    segments: Sequence[Segment], dots: Pieces, rules: Pieces, size: float
) -> list[Block]:
    """Segments sorted into columns, in reading order.

    Args:
        segments: runs of letters.
        dots: small pieces (leaders among them).
        rules: upright rules.
        size: common letter height of the sheet, pixels.
    """
    setting = _Setting(size, rules, _led(segments, dots, size))
    return [b for b in _split(list(segments), setting, 0, 6)[0] if b.segments]
