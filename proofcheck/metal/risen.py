"""Spaces that stand up in a word space and print, whatever their height and width.

A space, a quad or a piece of lead is a plain block: it prints a bar with straight sides and no
foot or head of a letter's, higher than the small letters or nearly so. The reader may pass it over
as no letter, take it for one, or for part of the letter that it touches; so the ink of every word
space is looked at, whatever was read there.
"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, NamedTuple

from proofcheck.base.agreed import agreed_places
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Span
from proofcheck.metal.finder import Finder
from proofcheck.metal.standing_ink import StandingInk, standing_ink

if TYPE_CHECKING:
    from proofcheck.metal.context import Matter
    from proofcheck.metal.findings import MetalFinding
    from proofcheck.metal.judged import Judged

__all__ = ["risen_spaces"]

LEAST_HIGH_X = 0.85
"""x-heights a bar is high at least; specks are lower."""
MOST_HIGH_X = 2.8
"""… and at most: no body is higher, a rule between two cells or the side of a box is."""
FOOT_OFF_X, HEAD_X = 0.35, 0.8
"""x-heights over the baseline that its foot may end, and that its head must reach."""
LEAST_WIDE_PX, LEAST_WIDE_X = 3, 0.15
"""Its width at least, pixels and x-heights; of two the less counts."""
EDGE_X = 0.14
"""x-heights by which its columns may end higher or lower than each other."""
FREE = 0.12
"""Share of its height that may be inked just beside it, on a side where it touches nothing."""
LEVEL_X, LEVEL_PX, LEVEL = 0.3, 4, 0.5
"""x-heights that the sides of a box go on at its corners, at least; pixels of their thickness that
are looked at, and the share of them that is inked."""
_BESIDE_PX = 2
"""Pixels to its side that are grey of its own edge."""
PARTED = 0.85
"""Share of its usual width under which a letter was parted from its other half."""
WHOLE_PX, WHOLE = 1.6, 0.08
"""Pixels, or the share of its usual width, that the letter it touches may be off it without the
bar: else the bar is a stem of its own, or of a neighbour that its box takes in."""
STEM_X = 0.1
"""x-heights within which a bar that touches a letter ends as a small letter's stem does."""
LETTER = 0.12
"""Height and width within this share of a letter's usual ones: it is that letter."""
MOST_IN_LINE = 3
"""More in a line are no spaces: strokes of an ornament, or a face of plain strokes ill read."""
_CERTAINTY = 0.93


class _Place(NamedTuple):
    """One word space of the copy as it stands on a line."""

    left: int
    """Sheet column where the letter before it should end …"""
    right: int
    """… and where the one after it should begin."""
    letters: Span
    """What was read in it, with the letters on either side."""


def risen_spaces(judged: Judged) -> list[MetalFinding]:
    """Bars in the word spaces of all lines."""
    matter = judged.matter
    found: list[MetalFinding] = []
    for row in range(len(matter.lines)):
        places = _places(matter, row)
        ink = standing_ink(matter, row) if places else None
        if ink is None:
            continue
        bars = [
            (place, bar)
            for place in places
            for bar in _bars(ink, place, matter.lines[row].x_height_px)
            if not _is_the_letter(matter, row, place, bar)
            and not _is_a_stem(matter, row, place, bar)
        ]
        if len(bars) <= MOST_IN_LINE:
            found += [_finding(matter, row, place, bar) for place, bar in bars]
    return found


FINDER = Finder(10, risen_spaces)


def _places(matter: Matter, row: int) -> list[_Place]:
    """The word spaces of a row between letters that are read as the copy has them."""
    letters, held = matter.readings[row].letters, matter.placed[row]
    if held is None:
        return []
    known = agreed_places(matter.readings[row].text, matter.copy.text, held)
    sure = [at for at in sorted(known) if not letters[at].text.isspace()]
    found = []
    for one, other in itertools.pairwise(sure):
        between = matter.copy.text[known[one] + 1 : known[other]]
        if not between or between.strip():
            continue
        left = min(letters[one].box.right, _usual_end(matter, row, one))
        right = max(letters[other].box.x, _usual_start(matter, row, other))
        if right > left:
            found.append(_Place(left, right, Span(one, other + 1)))
    return found


def _usual_end(matter: Matter, row: int, at: int) -> int:
    box = matter.readings[row].letters[at].box
    return box.x + _usual_width(matter, row, at)


def _usual_start(matter: Matter, row: int, at: int) -> int:
    box = matter.readings[row].letters[at].box
    return box.right - _usual_width(matter, row, at)


def _usual_width(matter: Matter, row: int, at: int) -> int:
    """Of a letter's kind on this proof, in pixels of its row; its own where it has few fellows."""
    letter = matter.readings[row].letters[at]
    usual = matter.usual_size.get(letter.text)
    own = letter.box.width
    if usual is None:
        return own
    return min(own, max(round(usual[0] * matter.lines[row].x_height_px), 1))


def _bars(ink: StandingInk, place: _Place, size: float) -> list[Box]:
    """The bars that stand in a word space, or in the letter's box beside it."""
    if not ink.any_in(place.left, place.right):
        return []
    least = min(LEAST_WIDE_PX, LEAST_WIDE_X * size)
    found, x = [], place.left
    while x < place.right:
        end = x
        while end < place.right and ink.goes_on(x, end, EDGE_X * size):
            end += 1
        if end - x >= least and _is_bar(ink, x, end, size):
            found.append(ink.box(x, end))
        x = max(end, x + 1)
    return found


def _is_bar(ink: StandingInk, left: int, right: int, size: float) -> bool:
    """Whether columns of even ink are a bar: high enough, and with nothing of a letter about it."""
    head, foot = ink.reach(left, right)
    if not LEAST_HIGH_X * size <= foot - head <= MOST_HIGH_X * size:
        return False
    base = ink.baseline((left + right) // 2)
    if head > base - HEAD_X * size or foot < base - FOOT_OFF_X * size:
        return False
    sides = [
        ink.beside(left - _BESIDE_PX, left, head, foot),
        ink.beside(right, right + _BESIDE_PX, head, foot),
    ]
    return min(sides) <= FREE and not _is_of_a_box(ink, (left, right), (head, foot), size)


def _is_of_a_box(
    ink: StandingInk, across: tuple[int, int], down: tuple[int, int], size: float
) -> bool:
    """Whether level strokes go off to one side at a bar's head and foot: a box round a word."""
    far = max(round(LEVEL_X * size), 1)
    sides = (across[0] - _BESIDE_PX - far, across[0]), (across[1], across[1] + _BESIDE_PX + far)
    ends = (down[0], down[0] + LEVEL_PX), (down[1] - LEVEL_PX, down[1])
    return any(all(ink.beside(*side, *end) > LEVEL for end in ends) for side in sides)


def _is_a_stem(matter: Matter, row: int, place: _Place, bar: Box) -> bool:
    """Whether it is of the letter beside it, no whole one without it, or going on past it."""
    letters, size = matter.readings[row].letters, matter.lines[row].x_height_px
    before, after = letters[place.letters.start], letters[place.letters.end - 1]
    for letter, touches, rest, beyond in (
        (before, before.box.right > bar.x, bar.x - before.box.x, before.box.right - bar.right),
        (after, after.box.x < bar.right, after.box.right - bar.right, bar.x - after.box.x),
    ):
        usual = matter.usual_size.get(letter.text)
        if usual is None:
            if touches:
                return True
            continue
        whole = usual[0] * size
        off = max(WHOLE_PX, WHOLE * whole)
        if touches and (
            beyond > 1 or abs(rest - whole) > off or _as_high_as_small(matter, row, bar)
        ):
            return True
        if letter.box.width < PARTED * whole and rest < PARTED * whole:
            return True
    return False


def _as_high_as_small(matter: Matter, row: int, bar: Box) -> bool:
    """Whether a bar begins and ends where small letters do."""
    size, base = matter.lines[row].x_height_px, matter.baseline(row, bar.x)
    head, foot = (base - bar.y) / size - 1, (bar.bottom - base) / size
    return max(abs(head), abs(foot)) <= STEM_X


def _is_the_letter(matter: Matter, row: int, place: _Place, bar: Box) -> bool:
    """Whether it is a letter after all: read as one, and of that letter's height and width."""
    size = matter.lines[row].x_height_px
    for letter in matter.readings[row].letters[place.letters.start + 1 : place.letters.end - 1]:
        usual = matter.usual_size.get(letter.text)
        if usual is None or letter.box.right <= bar.x or letter.box.x >= bar.right:
            continue
        shape = (bar.width / size / usual[0], bar.height / size / usual[1])
        if all(abs(share - 1) <= LETTER for share in shape):
            return True
    return False


def _finding(matter: Matter, row: int, place: _Place, bar: Box) -> MetalFinding:
    letters = matter.readings[row].letters
    held = [
        at
        for at in range(*place.letters)
        if not letters[at].text.isspace()
        and letters[at].box.x < bar.right
        and letters[at].box.right > bar.x
    ]
    after = next(
        (at for at in range(*place.letters) if letters[at].box.x >= bar.x), place.letters.end - 1
    )
    span = Span(held[0], held[-1] + 1) if held else Span(after, after)
    return matter.finding(Kind.WORK_UP, row, span, _CERTAINTY, bar)
