"""A letter too many or too few in a word: told by how wide the word stands.

A word of type is as wide as its letters together: a letter that is there takes its room, however
battered it prints, and one that was never set takes none. How wide each letter is, is found from
the proof's own words in no dispute, in lines of one sheet and size, by least squares, drawn a
little towards what such letters commonly are; how far those words lie off it is the measure.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.weigh.fellows import OF_A_SIZE, Says

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from numpy.typing import NDArray

    from proofcheck.base.found import Difference
    from proofcheck.base.values import Letter, Line, Reading
    from proofcheck.weigh.evidence import Dispute

__all__ = ["WordWidths"]

LEAST_WORDS = 20
"""Fewer do not say how wide its letters are."""
OFF, WITH = 4.0, 3.0
"""A word lies off what it would be by so many usual errors of the page's words, and with it by no
more than so many …"""
PLAINLY = 2.0
"""… if it lies so many times further off the one than off the other. Of 68 letters that the reader
dropped from battered words of 5 to 6 points none was so taken for wanting, and of 17 letters set
twice or left out, in the same sheets, all but one were borne out and none was taken for a slip."""
LEAST_ERROR = 0.04
"""x-heights: no word is measured more finely."""
_NARROW = frozenset("fijlrtIJ1.,;:!'’()-")
_WIDE = frozenset("mwMW")
_SHARES = 0.6, 1.0, 1.3, 1.6
"""Of a common letter's width: narrow letters, common ones, capitals, wide ones; common practice."""
_TO_NORM = 1.4826
"""Median deviation to standard deviation, of errors that are normal."""


class WordWidths:
    """How wide the words of a proof are, and how wide they would be otherwise.

    Args:
        lines, readings: the proof as read.
        differences: what is in dispute, so that no word in dispute serves as a measure.
    """

    def __init__(
        self,
        lines: Sequence[Line],
        readings: Iterable[Reading],
        differences: Iterable[Difference],
    ) -> None:
        self._lines = {line.number: line for line in lines}
        self._readings = {reading.line: reading for reading in readings}
        self._disputed: dict[int, set[int]] = defaultdict(set)
        for difference in differences:
            start, end = difference.proof
            self._disputed[difference.line].update(range(start - 1, end + 1))
        self._sets: dict[int, _Set | None] = {}

    def says(self, dispute: Dispute) -> Says:
        """Whether a word is as wide as read or as the copy has it, where these differ in number."""
        difference = dispute.difference
        read, wanted = difference.proof_text, difference.copy_text
        start, end = difference.proof
        if len(read) == len(wanted) or not (read + wanted).isalnum() or len(read) != end - start:
            return Says.NOTHING
        letters = dispute.reading.letters
        held = next((w for w in _words(letters) if w.start <= start and end <= w.stop), None)
        found = self._set_of(dispute.line)
        if held is None or found is None:
            return Says.NOTHING
        text = dispute.as_read
        instead = text[held.start : start] + wanted + text[end : held.stop]
        wide = _wide(letters, held, dispute.line)
        off_read = abs(wide - found.wide(text[held.start : held.stop])) / found.error
        off_copy = abs(wide - found.wide(instead)) / found.error
        if off_copy >= max(OFF, PLAINLY * off_read):
            return Says.READING
        if off_copy <= WITH and off_read >= max(OFF, PLAINLY * off_copy):
            return Says.COPY
        return Says.NOTHING

    def _set_of(self, line: Line) -> _Set | None:
        """How wide letters are in lines of that sheet and about that size."""
        if line.number not in self._sets:
            words = [
                (
                    "".join(letter.text for letter in letters[word.start : word.stop]),
                    _wide(letters, word, other),
                )
                for other in self._lines.values()
                if other.sheet == line.sheet
                and other.number in self._readings
                and abs(other.x_height_px - line.x_height_px) <= OF_A_SIZE * line.x_height_px
                for letters in [self._readings[other.number].letters]
                for word in _words(letters)
                if len(word) > 1 and self._disputed[other.number].isdisjoint(word)
            ]
            self._sets[line.number] = _fitted(words) if len(words) >= LEAST_WORDS else None
        return self._sets[line.number]


@dataclass(frozen=True, slots=True)
class _Set:
    """Letters of one size."""

    scale: float
    """Width of a common letter, x-heights."""
    widths: dict[str, float]
    """Of each letter, x-heights."""
    between: float
    """What any word has more."""
    error: float
    """Usual error of a word."""

    def wide(self, word: str) -> float:
        """How wide a word would be, x-heights."""
        return self.between + sum(self.widths.get(c, _share(c) * self.scale) for c in word)


def _words(letters: Sequence[Letter]) -> Iterator[range]:
    """Places of the letters of each word."""
    runs = groupby(range(len(letters)), key=lambda at: letters[at].text.isspace())
    for is_white, run in runs:
        if not is_white:
            places = list(run)
            yield range(places[0], places[-1] + 1)


def _wide(letters: Sequence[Letter], word: range, line: Line) -> float:
    """Width of a word's ink, x-heights."""
    boxes = [letters[at].box for at in word]
    return (max(b.right for b in boxes) - min(b.x for b in boxes)) / max(line.x_height_px, 1.0)


def _share(char: str) -> float:
    narrow, common, capital, wide = _SHARES
    if char in _NARROW or char in _WIDE:
        return narrow if char in _NARROW else wide
    return capital if char.isupper() else common


def _fitted(words: Sequence[tuple[str, float]]) -> _Set | None:
    """Ridge regression of words' widths on their letters, towards the common shares."""
    characters = sorted({char for text, _ in words for char in text})
    place = {char: at for at, char in enumerate(characters)}
    counts: NDArray[np.float64] = np.zeros((len(words), len(characters) + 1))
    counts[:, -1] = 1.0
    for row, (text, _) in enumerate(words):
        for char in text:
            counts[row, place[char]] += 1
    wide = np.array([width for _, width in words])
    shares = np.array([*map(_share, characters), 0.0])
    expected = counts @ shares
    scale = float(expected @ wide / (expected @ expected))
    inverse = np.linalg.inv(counts.T @ counts + np.eye(len(shares)))
    found = inverse @ (counts.T @ wide + shares * scale)
    # Each word's error is that by the others: what its own width drew it by is taken off.
    own = np.einsum("ij,jk,ik->i", counts, inverse, counts)
    error = _TO_NORM * float(np.median(np.abs((wide - counts @ found) / (1 - own))))
    widths = dict(zip(characters, found[:-1].tolist(), strict=True))
    return _Set(scale, widths, float(found[-1]), max(error, LEAST_ERROR))
