"""Word spaces in ems of the body: what stands between the ink less what the letters bring along.

Every type has a little white of its own on either side. How much each letter has is fitted on the
proof itself, from letters that stand together within words; the rest of the white between two
words is the space that was set.
"""

from __future__ import annotations

from array import array
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.agreed import agreed_places

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from proofcheck.metal.context import Matter

__all__ = ["STOPS", "Spaces", "own_whites", "word_spaces"]

_WIDEST_WITHIN_X = 0.6
"""X-heights: letters of one word farther apart are spaced, or are two words."""
_READ_WITHIN = 1
"""So many spaces more than the copy has may be faults; of a spaced line there are more."""
_PRIOR = 3.0
"""Pairs' worth of trust that a letter has the white of all letters."""
_ROUNDS = 6
_HUNG = (2, 0.15)
"""Pairs of a letter in a line, and x-heights by which they stand closer in the middle than on the
proof, from which it hangs over there."""
_POINTS = frozenset(".,:;!")
_INITIAL_X = 2.4
"""X-heights from which on a line's first letter is an initial, which stands off from its word."""
_POINT_X = 0.08
"""X-heights a point has more at its right than letters have: 0.06 to 0.12 in three faces measured;
points seldom stand within words, where it could be seen."""
PLAIN, COMMA, STOP, OTHER = 0, 1, 2, 3
STOPS = (PLAIN, COMMA, STOP, OTHER)
"""What a space follows: a letter, a comma, a stop, or else."""
_JOINED = frozenset("fil")
"""With an f before them these are mostly cast as one."""
_QUOTES = frozenset("\"'“”‘’()[]—–-*")


@dataclass(frozen=True, slots=True, eq=False)
class Spaces:
    """All word spaces of a proof, k of them, in order."""

    row: NDArray[np.intp]
    at: NDArray[np.intp]
    """The space's place in its line's reading."""
    left: NDArray[np.intp]
    """Sheet column where the ink before it ends."""
    wide_px: NDArray[np.float64]
    """As set: white between the ink less the letters' own."""
    wide_em: NDArray[np.float64]
    after: NDArray[np.intp]
    """What it follows: one of `STOPS`."""
    figures: NDArray[np.bool_]
    """A figure stands beside it: numbered entries are set apart."""


def own_whites(matter: Matter) -> tuple[dict[str, float], dict[str, float]]:
    """White that letters bring along at their right and their left, by character, in x-heights.

    Only the sum of the two between a pair of letters means anything. A character hardly seen has
    the white of all.
    """
    firsts, seconds, gaps = _pairs_within(matter)
    if not gaps:
        return {}, {}
    names = sorted({*firsts, *seconds})
    number = {name: place for place, name in enumerate(names)}
    first = np.array([number[one] for one in firsts])
    second = np.array([number[other] for other in seconds])
    white = np.array(gaps)
    mean = np.full(len(names), float(np.median(white)) / 2)
    before = mean + _POINT_X * np.array([name in _POINTS for name in names])
    right, left = before, mean
    for _ in range(_ROUNDS):
        right = _fitted(first, white - left[second], before)
        left = _fitted(second, white - right[first], mean)
    rights, lefts = dict(zip(names, right, strict=True)), dict(zip(names, left, strict=True))
    return {n: float(v) for n, v in rights.items()}, {n: float(v) for n, v in lefts.items()}


def _fitted(
    who: NDArray[np.intp], seen: NDArray[np.float64], prior: NDArray[np.float64]
) -> NDArray[np.float64]:
    total = np.bincount(who, seen, minlength=len(prior)) + _PRIOR * prior
    return np.asarray(total / (np.bincount(who, minlength=len(prior)) + _PRIOR))


def _pairs_within(matter: Matter) -> tuple[list[str], list[str], array[float]]:
    """Neighbours within words of the text's size: both characters and the white, in x-heights."""
    before, after, white = [], [], array("d")
    for row in filter(matter.is_text, range(len(matter.lines))):
        for one, other, gap in _pairs_in(matter, row):
            before.append(one)
            after.append(other)
            white.append(gap)
    return before, after, white


def _pairs_in(matter: Matter, row: int) -> Iterator[tuple[str, str, float]]:
    """Neighbours within words of one line: both characters and the white, in x-heights."""
    size = matter.lines[row].x_height_px
    letters = matter.readings[row].letters
    for one, other in pairwise(letters):
        if one.text.isspace() or other.text.isspace():
            continue
        if one.text == "f" and other.text in _JOINED:
            continue
        gap = (other.box.x - one.box.right) / size
        if -0.4 < gap < _WIDEST_WITHIN_X:
            yield one.text, other.text, gap


def _whites_in(
    matter: Matter, row: int, whites: tuple[dict[str, float], dict[str, float]], usual: float
) -> tuple[dict[str, float], dict[str, float]]:
    """Own whites in one line: less for letters that hang over those beside them there.

    In italics an f does so on both sides, and its arm and tail reach into the space.
    """
    right, left = whites
    seen: tuple[dict[str, list[float]], ...] = ({}, {})
    for one, other, gap in _pairs_in(matter, row):
        own = right.get(one, usual), left.get(other, usual)
        for held, name, white in zip(seen, (one, other), (gap - own[1], gap - own[0]), strict=True):
            held.setdefault(name, []).append(white)
    hung = [
        {
            name: float(np.median(white))
            for name, white in held.items()
            if len(white) >= _HUNG[0] and np.median(white) < known.get(name, usual) - _HUNG[1]
        }
        for held, known in zip(seen, whites, strict=True)
    ]
    return right | hung[0], left | hung[1]


def word_spaces(matter: Matter) -> Spaces:
    """Every word space of lines of words; heads have spaces of their own."""
    whites = own_whites(matter)
    usual = float(np.median([*whites[1].values()])) if whites[1] else 0.06
    found = []
    for row, reading in enumerate(matter.readings):
        if not matter.is_words(row) or _is_letterspaced(matter, row):
            continue
        size, em = matter.lines[row].x_height_px, max(matter.em_px(row), 1.0)
        letters = reading.letters
        tabs = _tabs(matter, row)
        right, left = _whites_in(matter, row, whites, usual)
        for at in range(1, len(letters) - 1):
            if not letters[at].text.isspace() or at in tabs:
                continue
            one, other = letters[at - 1], letters[at + 1]
            initial = at == 1 and one.box.height > _INITIAL_X * size
            if initial or _parted(matter, row, one.box.right, other.box.x):
                continue
            point = usual + _POINT_X * (one.text in _POINTS)
            own = (right.get(one.text, point) + left.get(other.text, usual)) * size
            # Of letters cast as one (fl) the first may have no more than a sliver of their ink.
            following = [x.box.x for x in letters[at + 1 : at + 3] if not x.text.isspace()]
            wide = min(following) - one.box.right - own
            after = _after(letters[at - 2].text if at > 1 else "", one.text, other.text)
            figure = one.text.isdecimal() or other.text.isdecimal()
            found.append((row, at, one.box.right, wide, wide / em, after, figure))
    columns = list(zip(*found, strict=True)) if found else [()] * 7
    row_, at_, left_, after_ = (np.array(columns[n], np.intp) for n in (0, 1, 2, 5))
    wide_px, wide_em = np.array(columns[3], np.float64), np.array(columns[4], np.float64)
    return Spaces(row_, at_, left_, wide_px, wide_em, after_, np.array(columns[6], bool))


def _is_letterspaced(matter: Matter, row: int) -> bool:
    """Whether spaces are read within the copy's words, as where their letters stand apart."""
    span = matter.placed[row]
    if span is None:
        return False
    words = len(matter.copy.text[span.start : span.end].split())
    return len(matter.readings[row].text.split()) > words + _READ_WITHIN


def _tabs(matter: Matter, row: int) -> set[int]:
    """Places of a line where the copy has a tab: its white parts columns, and is no space."""
    text, held = matter.copy.text, matter.placed[row]
    if held is None or "\t" not in text[held.start : held.end]:
        return set()
    places = agreed_places(matter.readings[row].text, text, held)
    return {at for at, where in places.items() if text[where] == "\t"}


def _parted(matter: Matter, row: int, left: int, right: int) -> bool:
    """Whether an upright rule stands in the white: then it is that of a table, and no space."""
    line = matter.lines[row]
    return any(
        left < part.box.x + part.box.width / 2 < right
        and part.box.height > line.box.height
        and part.box.y < line.box.bottom
        and part.box.bottom > line.box.y
        for part in matter.sheets[line.sheet].lifted
    )


def _after(before: str, one: str, other: str) -> int:
    """What a space follows; points may stand before a closing quote."""
    last = before if one in _QUOTES and before in ".!?,;:" else one
    if last in ".!?:;":
        return STOP
    if last == ",":
        return COMMA
    return OTHER if one in _QUOTES or other in _QUOTES or not one.isalnum() else PLAIN
