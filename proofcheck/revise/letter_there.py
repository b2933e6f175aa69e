"""Whether a letter that was to be changed is another now, by the later proof's own letters.

Two accounts are held against each other: the same metal prints there again, or the letter that
the copy wants does. What the first would look like the letters round it show, which are the same
metal on both proofs; what the second would look like the later proof's letters of that name show,
which are inked and scanned as the place itself is.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from proofcheck.revise.rough import REACH_DOWN, seek
from proofcheck.revise.slugs import MARGIN

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Box, Line
    from proofcheck.revise.slugs import Print

__all__ = ["PAD", "Accounts", "Place", "accounts_of", "ink_left", "place_of"]

PAD = 0.05
"""Of what stands beside a letter, in x-heights: beside others of its name stands something else."""
_LEAST_FELLOWS = 3
_REACH = 0.25
"""How far from where it should lie a letter is sought along the line, in x-heights: further off its
neighbours begin, and a b is like a d and the stem of an i."""
_INKED = 0.25
_UP, _SLIDE = 3, 0.12
"""How much finer than pixels letters are laid on each other, and how far slid, in x-heights."""
_ONE_SHAPE = 0.99
"""From here on two prints are the same letter: one that stood off its line, and was put on it."""
_OFF_LINE = 0.1
"""Least height by which that shows, in x-heights."""
_IN_DOUBT = 1.5
"""Odds up to which it is not plain: of 539 sorts turned, broken or changed that were left, two
were taken for put right, by 0.5 and 1.1."""
_FLOOR = 0.012
"""Least spread reckoned with: a few likenesses may happen to lie close."""
_WEIGHT, _MOST, _LEAST_APART = 4.5, 0.7, 0.03
"""Weight of either finer measure, how far it counts, and the least that two letters are held to
differ by. Chosen on 444 letters of two books kept for it and 110 of formes set in the computer,
turned, broken or changed, half of them put right, the revise turned, heavier or at another scale:
none of them was told wrongly, and 23 by likeness to the rest of the line alone."""


@dataclass(frozen=True, slots=True, eq=False)
class Place:
    """One letter in the print of its line: the columns of its ink."""

    held: Print
    start: int
    end: int

    @property
    def middle(self) -> float:
        """Of its ink, a column."""
        return (self.start + self.end) / 2


def place_of(held: Print, line: Line, box: Box, stretch: float = 1.0) -> Place:
    """Where a letter's box on the sheet lies in its line's print.

    Args:
        held: the print.
        line: the line.
        box: of the letter, sheet pixels.
        stretch: scale of the sheet to the print's.
    """
    first = (box.x - line.box.x) / stretch + MARGIN * held.x_height_px
    return Place(held, round(first), max(round(first + box.width / stretch), round(first) + 3))


@dataclass(frozen=True, slots=True)
class Accounts:
    """A place as either account would have it, and as it is."""

    there: float
    """How alike it is to what stood there."""
    same: tuple[float, float]
    """How alike the same metal is from pull to pull: median and spread."""
    other: tuple[float, float]
    """How alike the letter wanted, as the later proof prints it, is to what stood there."""
    share: float
    """Of what sets off what stood there from the letter wanted, how much is there still: 1 all."""
    fits: tuple[float, float, float]
    """Likeness to what stood there as the later proof would print it, to the letter wanted, and
    of these two to each other: each as well as it can be laid."""
    drops: tuple[float, float]
    """How much lower than what stood there the place lies against its line, and the letters
    wanted lie against theirs, in x-heights."""

    @property
    def reseated(self) -> bool:
        """Whether the letter stands as high as its fellows do, where what stood there did not."""
        now, wanted = self.drops
        return abs(wanted) >= _OFF_LINE and abs(now - wanted) < abs(now)

    @property
    def odds(self) -> float:
        """Above 0 where the same metal is the better account; logarithm of odds, or near it.

        Likeness tells quite another letter from the same badly inked; the share, and which of
        two ideal prints fits the better, tell apart letters that differ in a serif alone.
        """
        (same, a), (other, b) = self.same, self.other
        alike = _far((self.there - other) / b) - _far((same - self.there) / a)
        as_was, as_wanted, apart = self.fits
        nearer = (as_was - as_wanted) / (2 * max(1 - apart, _LEAST_APART))
        both = np.clip([self.share - 0.5, nearer], -_MOST, _MOST)
        return alike + _WEIGHT * float(both.sum())

    @property
    def changed(self) -> bool:
        """Whether the letter wanted is plainly the better account.

        In doubt it is not: what was left would be called made, and go to press. Where the two are
        one and the same in shape nothing of that can be seen.
        """
        return self.odds < -_IN_DOUBT if self.fits[2] < _ONE_SHAPE else self.reseated


def _far(spreads: float) -> float:
    """How unlikely so far off is, by a law with long tails (Student's, of three degrees)."""
    return 2 * float(np.log1p(max(spreads, 0.0) ** 2 / 3))


def accounts_of(
    place: Place,
    now: Place,
    fellows: Sequence[Place],
    before: Sequence[Place],
    same: Sequence[float],
    line_drop: float,
) -> Accounts | None:
    """Both accounts of one place; None where too few letters speak for either.

    Args:
        place: of the letter on the earlier proof.
        now: the same place of the same slug on the later one, roughly.
        fellows: letters of the later proof that are as the copy wants this one.
        before: the same of the earlier proof.
        same: likenesses, from the one proof to the other, of letters that stood.
        line_drop: how much lower the whole line lies in its print on the later one, pixels.
    """
    if len(fellows) < _LEAST_FELLOWS or len(same) < _LEAST_FELLOWS:
        return None
    mine = _fine(_ink(place, place, 0, 0, 0.0))
    there, ink = _found(place, mine, now)
    likenesses, prints = zip(*(_found(place, mine, one) for one in fellows), strict=True)
    wanted = np.median(prints, axis=0)
    stood = mine
    if len(before) >= _LEAST_FELLOWS:
        # As it would be on the later proof: inked as that is.
        earlier = [_found(place, mine, one)[1] for one in before]
        stood = mine + wanted - np.median(earlier, axis=0)
    apart = stood - wanted
    share = float(((ink - wanted) * apart).sum()) / max(float((apart**2).sum()), 1e-6)
    room = round(_SLIDE * place.held.x_height_px) * _UP
    fits = (_fit(stood, ink, room), _fit(wanted, ink, room), _fit(stood, wanted, room))
    lower = float(np.median([_drop(place, one) for one in fellows]))
    drops = (_drop(place, now) - line_drop, lower)
    size = place.held.x_height_px
    return Accounts(
        there, _spread(same), _spread(likenesses), share, fits, (drops[0] / size, drops[1] / size)
    )


def _drop(place: Place, other: Place) -> float:
    """How much lower a place's ink is found in another print, pixels, however far off its line."""
    stood = place.held.ink[:, place.start : place.end]
    rows = np.flatnonzero(stood.max(axis=1) > _INKED)
    if not len(rows):
        return 0.0
    top, bottom = int(rows[0]), int(rows[-1]) + 1
    room = round(_REACH * place.held.x_height_px)
    left = max(round(other.middle - place.middle) + place.start - room, 0)
    field = other.held.ink[:, left : left + place.end - place.start + 2 * room]
    piece = np.ascontiguousarray(stood[top:bottom])
    if field.shape[0] < piece.shape[0] or field.shape[1] < piece.shape[1]:
        return 0.0
    scores = cv2.matchTemplate(np.ascontiguousarray(field), piece, cv2.TM_CCOEFF_NORMED)
    return float(cv2.minMaxLoc(scores)[3][1] - top)


def ink_left(place: Place, now: Place) -> float:
    """How much of the ink that stood at a place stands there still: 1 all of it, 0 none.

    Args:
        place: on the earlier proof: a space that printed, or other ink that was to go.
        now: the same place of the same slug on the later one, roughly.
    """
    stood = _fine(_ink(place, place, 0, 0, 0.0))
    lag = round(now.middle - place.middle)
    field = _fine(_ink(place, now, lag, 0, _SLIDE))
    there = cv2.matchTemplate(field, stood, cv2.TM_CCORR)
    return float(there.max()) / max(float((stood**2).sum()), 1e-6)


def _fit(one: NDArray[np.float32], other: NDArray[np.float32], room: int) -> float:
    """Likeness of two inks as well as they can be laid, one slid by up to the room."""
    field = np.pad(other, room).astype(np.float32)
    return float(cv2.matchTemplate(field, one.astype(np.float32), cv2.TM_CCOEFF_NORMED).max())


def _found(
    place: Place, mine: NDArray[np.float32], other: Place
) -> tuple[float, NDArray[np.float32]]:
    """How alike a place of one print is to one of another, and the ink there, laid upon it."""
    lag = other.middle - place.middle
    cell = (place.start, place.end)
    along, down, alike = seek(place.held, other.held, cell, lag, pad=PAD, along=_REACH)
    field = _fine(_ink(place, other, round(lag + along), round(down), _SLIDE))
    scores = cv2.matchTemplate(field, mine, cv2.TM_CCOEFF_NORMED)
    x, y = cv2.minMaxLoc(scores)[3]
    return alike, field[y : y + mine.shape[0], x : x + mine.shape[1]]


def _fine(ink: NDArray[np.float32]) -> NDArray[np.float32]:
    """The ink in steps finer than its pixels."""
    fine = cv2.resize(ink, None, fx=_UP, fy=_UP, interpolation=cv2.INTER_CUBIC)
    return np.asarray(fine, np.float32)


def _ink(place: Place, other: Place, along: int, down: int, room: float) -> NDArray[np.float32]:
    """The ink of another's print as far as the place reaches and a little beyond.

    Args:
        place: whose extent is cut.
        other: of whose print.
        along: where it lies there, columns to the right.
        down: rows further down.
        room: taken in on every side, in x-heights.
    """
    size = place.held.x_height_px
    pad, more = round(PAD * size), round(room * size)
    top = round(REACH_DOWN * size) + down - more
    left = place.start - pad + along - more
    high = place.held.ink.shape[0] - 2 * round(REACH_DOWN * size) + 2 * more
    wide = place.end - place.start + 2 * pad + 2 * more
    out = np.zeros((high, wide), np.float32)
    rows = slice(max(top, 0), max(min(top + high, other.held.ink.shape[0]), 0))
    columns = slice(max(left, 0), max(min(left + wide, other.held.ink.shape[1]), 0))
    cut = other.held.ink[rows, columns]
    y, x = rows.start - top, columns.start - left
    out[y : y + cut.shape[0], x : x + cut.shape[1]] = cut
    return out


def _spread(values: Sequence[float]) -> tuple[float, float]:
    middle = float(np.median(values))
    spread = 1.4826 * float(np.median(np.abs(np.asarray(values) - middle)))
    return middle, max(spread, _FLOOR)
