"""Where the sides of frames meet: corners that stay open, and rules that run past them.

A corner is judged where both its rules join others at their far ends: a frame with two sound
corners was meant to have four. Rules that stop short of one another by design do so everywhere.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

from proofcheck.base.kinds import Kind
from proofcheck.base.units import mm_to_px
from proofcheck.base.values import Box
from proofcheck.sheet.ruling import white_at

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    from numpy.typing import NDArray

    from proofcheck.sheet.ruling import Rule

__all__ = ["corner_faults", "is_joined"]

_JOINED_MM: Final = 0.35
"""White between two rules that join, at most."""
_OPEN_MM: Final = 0.5
_PAST_MM: Final = 0.7
_FAR_MM: Final = 4.0
"""Rules farther from one another make no corner."""
_MARK_MM: Final = 0.8


class _Corner(NamedTuple):
    """The ends of a level and of an upright rule, and what is between them in pixels.

    White between the end of the one and the side of the other is above 0; what runs past it, below.
    """

    level: Rule
    at_start: bool
    upright: Rule
    at_head: bool
    short_level: float
    short_upright: float

    @property
    def apart(self) -> float:
        """How far the two ends are from meeting."""
        return max(abs(self.short_level), abs(self.short_upright))


def is_joined(rule: Rule, rules: Sequence[Rule], dpi: float) -> bool:
    """Whether a rule meets another of the other direction at both its ends."""
    near = mm_to_px(_JOINED_MM, dpi)
    return all(
        any(_meets(rule, place, other, near) for other in rules if other.upright != rule.upright)
        for place in (rule.start, rule.stop)
    )


def _meets(rule: Rule, place: float, other: Rule, near: float) -> bool:
    level = rule.across(place)
    reaches = other.start - near - rule.thick_px < level < other.stop + near + rule.thick_px
    return reaches and abs(other.across(level) - place) < near + other.thick_px


def corner_faults(
    rules: Sequence[Rule], ink: NDArray[np.uint8], dpi: float
) -> list[tuple[Kind, Box, str]]:
    """Open corners and rules run past them: kind, where, and what is wrong.

    Args:
        rules: of the sheet.
        ink: the sheet, 1 = ink.
        dpi: its pixels an inch.
    """
    corners = _corners(rules, mm_to_px(_FAR_MM, dpi))
    near = mm_to_px(_JOINED_MM, dpi)
    sound = {
        end
        for each in corners
        if each.apart < near
        for end in ((id(each.level), each.at_start), (id(each.upright), each.at_head))
    }
    found = []
    for each in corners:
        far = (id(each.level), not each.at_start), (id(each.upright), not each.at_head)
        if not all(end in sound for end in far):
            continue
        if _is_open(each, ink, dpi):
            found.append((Kind.OPEN_CORNER, _box(each, dpi), "does not join at the corner"))
        elif _runs_past(each, ink, dpi):
            found.append((Kind.CROOKED_RULE, _box(each, dpi), "runs past the corner"))
    return found


def _corners(rules: Sequence[Rule], far: float) -> list[_Corner]:
    """Ends of level and upright rules that are nearest to each other."""
    level = [(rule, end) for rule in rules if not rule.upright for end in (True, False)]
    upright = [(rule, end) for rule in rules if rule.upright for end in (True, False)]
    each = [_between(*one, *two) for one in level for two in upright]
    near = sorted((corner for corner in each if corner.apart < far), key=lambda one: one.apart)
    taken: set[tuple[int, bool]] = set()
    kept = []
    for corner in near:
        ends = {(id(corner.level), corner.at_start), (id(corner.upright), corner.at_head)}
        if not ends & taken:
            taken |= ends
            kept.append(corner)
    return kept


def _between(level: Rule, at_start: bool, upright: Rule, at_head: bool) -> _Corner:
    x, y = (level.start if at_start else level.stop), (upright.start if at_head else upright.stop)
    over, down = x - upright.across(y), y - level.across(x)
    wide, high = upright.thick_px / 2, level.thick_px / 2
    short_level = _beyond(over if at_start else -over, wide)
    short_upright = _beyond(down if at_head else -down, high)
    return _Corner(level, at_start, upright, at_head, short_level, short_upright)


def _beyond(inwards: float, half: float) -> float:
    """How far an end is short of a side (above 0) or past its far edge (below)."""
    return max(inwards - half, 0.0) + min(inwards + half, 0.0)


def _is_open(corner: _Corner, ink: NDArray[np.uint8], dpi: float) -> bool:
    """Whether there is white where the rules should join, and no corner piece in it."""
    if max(corner.short_level, corner.short_upright) < mm_to_px(_OPEN_MM, dpi):
        return False
    x = corner.level.start if corner.at_start else corner.level.stop
    y = corner.upright.start if corner.at_head else corner.upright.stop
    side, top = corner.upright.across(y), corner.level.across(x)
    wide, high = corner.upright.thick_px / 2 + 3, corner.level.thick_px / 2 + 3
    clear = True
    if corner.short_level > wide:
        ends = sorted((side + (wide if corner.at_start else -wide), x))
        clear &= white_at(ink, (ends[0], ends[1] - 3), (top - high, top + high))
    if corner.short_upright > high:
        ends = sorted((top + (high if corner.at_head else -high), y))
        clear &= white_at(ink, (side - wide, side + wide), (ends[0], ends[1] - 3))
    return clear


def _runs_past(corner: _Corner, ink: NDArray[np.uint8], dpi: float) -> bool:
    """Whether one of the rules goes on past the other, and ends there in white."""
    past = -mm_to_px(_PAST_MM, dpi)
    ends = (
        (corner.level, corner.at_start, corner.short_level),
        (corner.upright, corner.at_head, corner.short_upright),
    )
    return any(
        short < past and _ends_free(rule, ink, dpi, at_start=at_start)
        for rule, at_start, short in ends
    )


def _ends_free(rule: Rule, ink: NDArray[np.uint8], dpi: float, *, at_start: bool) -> bool:
    """Whether nothing stands at either side of a rule's end."""
    place, near = (rule.start if at_start else rule.stop), mm_to_px(_JOINED_MM, dpi)
    along = sorted((place - near, place + near))
    level, high = rule.across(place), rule.thick_px / 2 + 3
    for side in (-1, 1):
        across = sorted((level + side * high, level + side * (high + near)))
        over, down = (across, along) if rule.upright else (along, across)
        if not white_at(ink, (over[0], over[1]), (down[0], down[1])):
            return False
    return True


def _box(corner: _Corner, dpi: float) -> Box:
    x = corner.level.start if corner.at_start else corner.level.stop
    y = corner.upright.start if corner.at_head else corner.upright.stop
    over, down = sorted((x, corner.upright.across(y))), sorted((y, corner.level.across(x)))
    spare = mm_to_px(_MARK_MM, dpi)
    return Box(
        int(over[0] - spare), int(down[0] - spare),
        int(over[1] - over[0] + 2 * spare) + 1, int(down[1] - down[0] + 2 * spare) + 1,
    )  # fmt: skip
