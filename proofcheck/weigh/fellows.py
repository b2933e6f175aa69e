"""The page's own letters, laid on a letter in dispute.

Its fellows are letters of the proof that reading and copy agree on: of the character read and of
the character the copy has. How unlike they are among themselves is the measure of how unlike the
letter in dispute may be.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.reading.turned import is_turned
from proofcheck.sheet.shelf import looked_at
from proofcheck.weigh.own_letters import Frame, letter_patch, places_by_letter
from proofcheck.weigh.unlikeness import nearest

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from proofcheck.base.found import Difference
    from proofcheck.base.values import Box, Line, Reading, Sheet

    Patch = NDArray[np.float32]

__all__ = ["Fellows", "Says", "Stock", "about_a_size"]

FRAME = Frame(height_px=56, width_px=64, x_height_px=20.0, baseline_row=38, whole_column=False)
"""Letters are laid on one another at this size."""
MOST_FELLOWS = 24
"""More add time, hardly certainty."""
LEAST_FELLOWS = 3
"""Fewer say nothing of how unlike such letters are among themselves."""
AS_USUAL = 1.5
"""So many times as unlike as its fellows are among themselves, a letter is still one of them."""
FAR_APART = 2.5
"""So many times as far apart as among themselves, two characters can't be taken for each other."""
NEARLY_ONE = 0.06
"""Characters further apart than this have two shapes, however unlike their fellows are: rings of an
old-style nought and of an o were 0.02 to 0.04 apart, other noughts 0.1 and more (own setting)."""
_STEMS = frozenset("Il1")
OF_A_SIZE = 0.12
"""Lines whose x-heights differ by less than this share are of one size of type."""
ABOUT_A_SIZE, SOME = 0.3, 2
"""By so much, as a share of the larger, lines differ that may be of one fount, and so many letters
must stand in such: a head in fat type, black letter or script has no fellows in the text."""
PLAINLY_NEARER = 0.6
"""A letter that is nearer by this share to the fellows of one character is not the other."""


def about_a_size(one: float, other: float) -> bool:
    """Whether lines of these x-heights may be of one fount."""
    return abs(one - other) <= ABOUT_A_SIZE * max(one, other)


class Says(Enum):
    """What the page's own letters say of a place."""

    COPY = "copy"
    """What stands there is what the copy has."""
    SEEN = "seen"
    """What is said to be wanting is there, as the copy has it; what is said to be too much is none
    of the matter."""
    READING = "reading"
    """It is what was read."""
    RATHER = "rather"
    """It is rather what was read, as far as letters of other sizes alone can tell."""
    ALIKE = "alike"
    """The two characters look the same in this face."""
    NOTHING = "nothing"
    """They can't tell, or there are too few of them."""


@dataclass(frozen=True, eq=False)
class Stock:
    """The fellows of one character; how they are among themselves is found where it is asked."""

    patches: tuple[Patch, ...]
    places: tuple[tuple[int, Box], ...]
    """Where each stands: number of the line, and its box."""

    @cached_property
    def apart(self) -> tuple[float, ...]:
        """How unlike each is to the nearest of the others; none where they are too few to tell."""
        patches = self.patches if len(self.patches) >= LEAST_FELLOWS else ()
        return tuple(
            nearest(patch, [*patches[:at], *patches[at + 1 :]]) for at, patch in enumerate(patches)
        )

    @cached_property
    def usual(self) -> float | None:
        """How unlike such letters usually are to the nearest of their fellows, 0 to 1."""
        return float(np.percentile(self.apart, 75)) if self.apart else None

    @cached_property
    def middling(self) -> float | None:
        """How unlike half of them are at most."""
        return float(np.median(self.apart)) if self.apart else None

    def holds(self, apart: float) -> bool:
        """Whether a letter so far from the nearest of them may be one of them."""
        return self.usual is not None and apart <= AS_USUAL * self.usual


class Fellows:
    """Asks the page's own letters.

    Args:
        sheets, lines, readings: the proof as read.
        differences: what is in dispute, so that no letter in dispute serves as an example.
    """

    def __init__(
        self,
        sheets: Sequence[Sheet],
        lines: Sequence[Line],
        readings: Sequence[Reading],
        differences: Iterable[Difference],
    ) -> None:
        self._sheets = {sheet.number: sheet for sheet in sheets}
        self._lines = {line.number: line for line in lines}
        self._places = places_by_letter(readings, differences, MOST_FELLOWS)
        self._stocks: dict[str, Stock] = {}
        self._pairs: dict[tuple[str, str], bool] = {}
        self._near: dict[tuple[str, str], bool] = {}

    def says(self, line: int, box: Box, read: str, wanted: str) -> Says:
        """Which of two characters stands at a place, or whether they look the same here."""
        as_read, as_wanted = self.stock(read), self.stock(wanted)
        if not as_wanted.patches:
            return Says.NOTHING
        patch = self.patch(line, box)
        from_wanted = nearest(patch, as_wanted.patches)
        if not as_read.patches:
            return Says.COPY if _alone(as_wanted, from_wanted, read) else Says.NOTHING
        from_read = nearest(patch, as_read.patches)
        if from_wanted < PLAINLY_NEARER * from_read and as_wanted.holds(from_wanted):
            return Says.COPY
        nearer = from_read < PLAINLY_NEARER * from_wanted and as_read.holds(from_read)
        if nearer and self._has_fellows(line, read, wanted):
            return Says.READING
        return Says.ALIKE if self._alike(read, wanted) else Says.NOTHING

    def _has_fellows(self, line: int, read: str, wanted: str) -> bool:
        """Whether letters of the copy's character stand in type of a line's size.

        What the copy has is not ruled out by those of other founts. And a stem is nearest to stems
        of its own size, whatever they are, if those of the other kind stand in heads alone.
        """
        size = self._lines[line].x_height_px
        sizes = [self._lines[number].x_height_px for number, _ in self.stock(wanted).places]
        if {read, wanted} <= _STEMS:
            return sum(abs(one - size) <= OF_A_SIZE * size for one in sizes) >= LEAST_FELLOWS
        return sum(about_a_size(one, size) for one in sizes) >= SOME

    def _alike(self, one: str, other: str) -> bool:
        """Whether two characters look the same here; worked out once."""
        if (one, other) not in self._pairs:
            self._pairs[one, other] = _alike(self.stock(one), self.stock(other))
        return self._pairs[one, other]

    def is_rather(self, line: int, box: Box, read: str, other: str) -> bool:
        """Whether an undisputed letter is plainly another character by the page's own letters."""
        others = self.stock(other)
        if len(others.patches) < LEAST_FELLOWS:
            return False
        from_own = self._from_own(line, box, read)
        if from_own is None:
            return False
        from_other = nearest(self.patch(line, box), others.patches)
        if from_other >= PLAINLY_NEARER * from_own or not others.holds(from_other):
            return False
        # Stems: old-style 1 and small capital I are one shape, and heads have others than the text.
        return not {read, other} <= _STEMS or _apart(self.stock(read), others)

    def is_nearer(self, line: int, box: Box, read: str, other: str) -> bool:
        """Whether an undisputed letter is nearer to another character nearly one with its own.

        There no letter is plainly the other, and the least doubt is a question.
        """
        if not self._nearly_one(read, other):
            return False
        from_own = self._from_own(line, box, read)
        if from_own is None:
            return False
        return nearest(self.patch(line, box), self.stock(other).patches) < from_own

    def is_usual(self, line: int, box: Box, read: str) -> bool:
        """Whether an undisputed letter is as like its own fellows as three in four of them are."""
        usual, from_own = self.stock(read).usual, self._from_own(line, box, read)
        return usual is not None and (1.0 if from_own is None else from_own) <= usual

    def _from_own(self, line: int, box: Box, read: str) -> float | None:
        """How unlike a letter is to the nearest of its fellows, itself left out; None without any.

        Of the fellows themselves that was found when they were gathered.
        """
        own = self.stock(read)
        if own.places.count((line, box)) == 1 and own.apart:
            return own.apart[own.places.index((line, box))]
        rest = [p for p, where in zip(own.patches, own.places, strict=True) if where != (line, box)]
        return nearest(self.patch(line, box), rest) if rest else None

    def _nearly_one(self, read: str, other: str) -> bool:
        pair = min(read, other), max(read, other)
        if pair not in self._near:
            self._near[pair] = self.look_alike(*pair)
        return self._near[pair]

    def look_alike(self, one: str, other: str) -> bool:
        """Whether two characters are not far apart here; no where there are too few to tell."""
        first, second = self.stock(one), self.stock(other)
        if first.usual is None or second.usual is None or _apart(first, second):
            return False
        across = [nearest(patch, first.patches) for patch in second.patches]
        return float(np.median(across)) <= NEARLY_ONE

    def patch(self, number: int, box: Box) -> Patch:
        """The ink in a box of a line, laid out for comparing."""
        line = self._lines[number]
        return letter_patch(looked_at(self._sheets[line.sheet].image), line, box, FRAME)

    def boxes(self, characters: Iterable[str]) -> list[Box]:
        """Round all undisputed letters of some characters."""
        return [box for each in characters for _, box in self._places.get(each, [])]

    def stock(self, character: str) -> Stock:
        """The undisputed letters of one character."""
        if character not in self._stocks:
            places = self._places.get(character, [])
            patches = [self.patch(*place) for place in places]
            self._stocks[character] = Stock(tuple(patches), tuple(places))
        return self._stocks[character]


def _apart(one: Stock, other: Stock) -> bool:
    """Whether letters of two characters are far further apart than each among themselves."""
    if one.usual is None or other.usual is None:
        return False
    across = float(np.percentile([nearest(patch, other.patches) for patch in one.patches], 25))
    return across > FAR_APART * max(one.usual, other.usual)


def _alone(wanted: Stock, apart: float, read: str) -> bool:
    """Whether a letter is one the copy has, where there is nothing of what was read to set by it.

    It must be as like its fellows as half of them are; where it was read as a sort upside down,
    of which no page holds any, as like as they usually are.
    """
    if is_turned(read):
        return wanted.holds(apart)
    return wanted.middling is not None and apart <= wanted.middling


def _alike(one: Stock, other: Stock) -> bool:
    """Whether letters of two characters are no further apart than each among themselves."""
    if one.usual is None or other.usual is None:
        return False
    across = np.median([nearest(patch, other.patches) for patch in one.patches])
    return float(across) <= max(one.usual, other.usual)
