"""The rules of a sheet as straight lines with their own ink: where each is whole, and where not.

Lengths of one rule that lie in one line, a break between them, are one rule here. What is no rule
(stems and serifs of large letters, the strokes of an engraving) is known by what stands at its
sides.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.base.units import mm_to_px
from proofcheck.sheet.pieces import MOST_PIECES, count_pieces, ink_mask
from proofcheck.sheet.rules import stroke_candidates

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Grey
    from proofcheck.sheet.rules import Strokes

__all__ = ["Rule", "rules_on", "white_at"]

_LEAST_MM: Final = 12.0
"""Shorter rules are not judged."""
_WIDEST_BREAK_MM: Final = 12.0
_FREE: Final = 0.85
"""Share of a rule's length at whose sides nothing stands."""
_BESIDE_MM: Final = 0.1
"""Near enough to be part of it; of a double rule the other is farther off."""
_ALIKE: Final = 2.0
"""Lengths of one rule are not so many times as thick as one another."""
_OFF_MM: Final = 0.25
"""How far off one line two lengths of one rule may lie."""
_HATCH: Final = (4, 2.5)
"""So many strokes side by side within so many millimetres are an engraving's."""
_AT_GAP_MM: Final = 0.6
"""So near a white a side of a frame stands at it."""
_AT_DOUBLE_MM: Final = 0.1
"""… and so near a narrower one both rules of a double rule, with nothing but that between them."""
_EVEN: Final = 1.5
_INKED: Final = 0.35
"""How dark, as a share from paper to ink, the darkest of a rule's thickness is where it prints."""


@dataclass(frozen=True, slots=True, eq=False)
class Rule:
    """One rule. Places along it are x for a level one, y for an upright one, sheet pixels."""

    upright: bool
    start: float
    stop: float
    middle: float
    """Where its middle lies across its direction (y of a level one), at its middle place."""
    slope: float
    """Pixels across for each along."""
    thick_px: float
    inked: NDArray[np.bool_]
    """For each pixel of its length whether it prints."""
    heights: NDArray[np.int_]
    """For each the pixels that are dark across it, to thrice its thickness."""

    @property
    def length(self) -> float:
        """In pixels."""
        return self.stop - self.start

    def across(self, along: float) -> float:
        """Where it lies at a place along it."""
        return self.middle + self.slope * (along - (self.start + self.stop) / 2)

    def even_at(self, gap: tuple[float, float], reach: float) -> bool:
        """Whether it is as thick on both sides of a gap as all over, so far along: no ornament."""
        first, last = (round(place - self.start) for place in gap)
        sides = (
            self.heights[max(first - round(reach), 0) : first],
            self.heights[last:][: round(reach)],
        )
        usual = float(np.median(self.heights[self.inked])) if self.inked.any() else 0.0
        thick = [float(np.median(side[side > 0])) for side in sides if (side > 0).any()]
        return len(thick) == 2 and all(1 / _EVEN <= each / usual <= _EVEN for each in thick)

    def gaps(self) -> list[tuple[float, float]]:
        """First and last place of each stretch in it that does not print."""
        edges = np.flatnonzero(np.diff(np.concatenate([[True], self.inked, [True]]).astype(int)))
        held = zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)
        return [(self.start + a, self.start + b) for a, b in held]


def rules_on(image: Grey, dpi: float) -> list[Rule]:
    """All rules of a picture that are long enough to be judged.

    Args:
        image: the sheet as printed.
        dpi: its pixels an inch.
    """
    ink = ink_mask(image)
    counted = False
    found: list[Rule] = []
    for upright in (False, True):
        strokes = stroke_candidates(ink, dpi, upright=upright)
        if not len(strokes.pieces):
            continue
        if not counted and count_pieces(ink) > MOST_PIECES:
            return []
        counted = True
        shown, mask = (image.T, ink.T) if upright else (image, ink)
        lengths = [
            each
            for each in _lengths(ink, strokes, dpi)
            if each is not None and _stands_free(mask, each, dpi)
        ]
        for chain in _chains(lengths, dpi):
            rule = _as_rule(np.ascontiguousarray(shown), chain, upright=upright)
            if rule.length >= mm_to_px(_LEAST_MM, dpi):
                found.append(rule)
    kept = [rule for rule in found if not _is_hatching(rule, found, dpi)]
    return [part for rule in kept for part in _parted(rule, kept, dpi)]


@dataclass(frozen=True, slots=True)
class _Length:
    """One stroke: its ends along, and the line through it."""

    start: float
    stop: float
    middle: float
    slope: float
    thick: float

    def at(self, along: float) -> float:
        """Where it lies across its direction."""
        return self.middle + self.slope * (along - (self.start + self.stop) / 2)


def _lengths(ink: NDArray[np.uint8], strokes: Strokes, dpi: float) -> list[_Length | None]:
    return [_length(ink, strokes, index, dpi) for index in range(len(strokes.pieces))]


def _length(ink: NDArray[np.uint8], strokes: Strokes, index: int, dpi: float) -> _Length | None:
    box = [int(getattr(strokes.pieces, side)[index]) for side in ("x", "y", "right", "bottom")]
    window = (slice(box[1], box[3]), slice(box[0], box[2]))
    own = (strokes.labels[window] == index + 1) & (ink[window] > 0)
    down, over = np.nonzero(own)
    along, across = (down, over) if strokes.upright else (over, down)
    if len(along) < mm_to_px(2, dpi):
        return None
    first = box[1] if strokes.upright else box[0]
    base = box[0] if strokes.upright else box[1]
    span = int(along.max()) + 1
    slope, level = np.polyfit(along, across, 1) if span > 2 else (0.0, float(across.mean()))
    ends = float(first + along.min()), float(first + span)
    middle = base + level + slope * ((along.min() + span) / 2)
    return _Length(*ends, float(middle), float(slope), len(along) / max(span - along.min(), 1))


def _chains(lengths: Sequence[_Length], dpi: float) -> list[list[_Length]]:
    """Strokes that lie in one line, end to end, as the lengths of one rule."""
    chains: list[list[_Length]] = []
    for each in sorted(lengths, key=lambda one: one.start):
        for chain in chains:
            if _goes_on(chain[-1], each, dpi):
                chain.append(each)
                break
        else:
            chains.append([each])
    return chains


def _goes_on(one: _Length, other: _Length, dpi: float) -> bool:
    white = other.start - one.stop
    if not -2 <= white < mm_to_px(_WIDEST_BREAK_MM, dpi):
        return False
    between = (one.stop + other.start) / 2
    thick = sorted((one.thick, other.thick))
    off = mm_to_px(_OFF_MM, dpi) + thick[0] / 2
    return thick[1] < _ALIKE * thick[0] + 2 and abs(one.at(between) - other.at(between)) < off


def _as_rule(image: Grey, chain: Sequence[_Length], *, upright: bool) -> Rule:
    """The rule that some lengths make; the picture is turned so that it lies level."""
    start, stop = chain[0].start, max(each.stop for each in chain)
    weights = np.array([each.stop - each.start for each in chain])
    thick = float(np.average([each.thick for each in chain], weights=weights))
    ends = np.array(
        [(place, each.at(place)) for each in chain for place in (each.start, each.stop)]
    )
    slope, level = np.polyfit(ends[:, 0], ends[:, 1], 1)
    middle = float(slope * (start + stop) / 2 + level)
    printed = _printed(image, (start, stop), thick, chain)
    return Rule(upright, start, stop, middle, float(slope), thick, *printed)


def _printed(
    image: Grey, ends: tuple[float, float], thick: float, chain: Sequence[_Length]
) -> tuple[NDArray[np.bool_], NDArray[np.int_]]:
    """For each place along a level rule whether it prints, and how much across it is dark."""
    places = np.arange(int(ends[0]), max(int(ends[1]), int(ends[0]) + 1))
    nodes = [(place, each.at(place)) for each in chain for place in (each.start, each.stop)]
    along, across = np.array(sorted(nodes)).T
    half = max(1.5 * thick, thick / 2 + 3.0)
    offsets = np.arange(-half, half + 0.5)
    x = np.broadcast_to(places[None, :], (len(offsets), len(places))).astype(np.float32)
    y = (np.interp(places, along, across)[None, :] + offsets[:, None]).astype(np.float32)
    band = cv2.remap(image, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    inner = np.abs(offsets) <= max(thick / 2, 1.0) + 1.5
    darkest = np.asarray(band[inner], np.float64).min(axis=0)
    ink, paper = float(np.percentile(darkest, 30)), float(np.percentile(image[::8, ::8], 80))
    level = paper - _INKED * max(paper - ink, 1.0)
    return np.asarray(darkest < level), np.asarray(np.count_nonzero(band < level, axis=0))


def _stands_free(ink: NDArray[np.uint8], rule: _Length, dpi: float) -> bool:
    """Whether nothing stands at a level stroke's sides over most of its length."""
    places = np.arange(int(rule.start), int(rule.stop))
    away = rule.thick / 2 + 2 + mm_to_px(_BESIDE_MM, dpi)
    across = np.array([rule.at(float(place)) for place in places])
    free = np.ones(len(places), bool)
    for side in (-1, 1):
        y = np.clip(np.rint(across + side * away).astype(int), 0, ink.shape[0] - 1)
        free &= ink[y, np.clip(places, 0, ink.shape[1] - 1)] == 0
    return bool(free.mean() > _FREE)


def _parted(rule: Rule, rules: Sequence[Rule], dpi: float) -> list[Rule]:
    """A rule, or the two and more it is where a frame ends and the next one begins in its line.

    So do rules of a table that end at the one side of a double rule and go on at its other side.
    """
    across = [other for other in rules if other.upright != rule.upright]
    cuts = [gap for gap in rule.gaps() if _is_between(gap, rule, across, dpi)]
    starts = [rule.start, *(gap[1] for gap in cuts)]
    stops = [*(gap[0] for gap in cuts), rule.stop]
    return [_part(rule, *ends) for ends in zip(starts, stops, strict=True)] if cuts else [rule]


def _is_between(gap: tuple[float, float], rule: Rule, across: Sequence[Rule], dpi: float) -> bool:
    """Whether at each end of a white a rule of the other direction stands, on its own side of it.

    A break beside a crossing has a rule at the one end alone.
    """
    wide = gap[1] - gap[0] >= mm_to_px(_AT_GAP_MM, dpi)
    near = mm_to_px(_AT_GAP_MM if wide else _AT_DOUBLE_MM, dpi)
    middle = sum(gap) / 2
    level = rule.across(middle)
    return all(
        any(
            _stands_at(other, rule, place, near)
            for other in across
            if (other.across(level) < middle) is first
        )
        for place, first in zip(gap, (True, False), strict=True)
    )


def _stands_at(other: Rule, rule: Rule, place: float, near: float) -> bool:
    """Whether a rule of the other direction meets this one at a place."""
    level = rule.across(place)
    reaches = other.start - near < level < other.stop + near
    return reaches and abs(other.across(level) - place) < near + other.thick_px


def _part(rule: Rule, start: float, stop: float) -> Rule:
    held = slice(round(start - rule.start), round(stop - rule.start))
    middle = rule.across((start + stop) / 2)
    printed = rule.inked[held], rule.heights[held]
    return Rule(rule.upright, start, stop, middle, rule.slope, rule.thick_px, *printed)


def _is_hatching(rule: Rule, rules: Sequence[Rule], dpi: float) -> bool:
    """Whether a rule has so many beside it that it is of an engraving."""
    near = [
        other
        for other in rules
        if other.upright == rule.upright
        and abs(other.middle - rule.middle) < mm_to_px(_HATCH[1], dpi)
        and min(other.stop, rule.stop) - max(other.start, rule.start) > 0.5 * rule.length
    ]
    return len(near) >= _HATCH[0]


def white_at(ink: NDArray[np.uint8], x: tuple[float, float], y: tuple[float, float]) -> bool:
    """Whether no ink to speak of stands in a window of a mask, given by its ends."""
    window = ink[max(int(y[0]), 0) : int(y[1]) + 1, max(int(x[0]), 0) : int(x[1]) + 1]
    return bool(window.size and window.mean() < 0.02)
