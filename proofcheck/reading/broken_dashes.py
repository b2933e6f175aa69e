"""A dash that printed in two pieces, read as two dashes.

One that is set of two stands in the forme as such and is longer, or has the white of two sorts
between its parts; what together is as long as the sheet's other dashes, with a hair of white in
it, is one.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby, pairwise
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.values import Box, Letter
from proofcheck.reading.alphabet import DASHES

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from proofcheck.base.values import Line, Reading

__all__ = ["with_whole_dashes"]

_LEAST = 3
"""So many whole dashes of a sheet say how long one is."""
_AS_LONG = 0.12
"""What broke is as long as those, but for this share."""
_WHITE = 0.3
"""Most white between two pieces, in x-heights: the sides of two sorts leave more or as much, and
are longer together."""
_LEVEL = 0.2
"""How far the pieces may lie from one height, in x-heights."""


def with_whole_dashes(lines: Sequence[Line], readings: Sequence[Reading]) -> tuple[Reading, ...]:
    """The readings of a sheet, each dash that printed in pieces read as the one it is.

    Args:
        lines: of the sheet.
        readings: of these lines.
    """
    sizes = {line.number: line.x_height_px for line in lines}
    whole = [
        (letters[0].text, letters[0].box.width / sizes[reading.line])
        for reading in readings
        for is_dash, letters in _runs(reading)
        if is_dash and len(letters) == 1
    ]
    usual = {
        text: float(np.median([width for other, width in whole if other == text]))
        for text in DASHES
        if sum(other == text for other, _ in whole) >= _LEAST
    }
    return tuple(_mended(reading, sizes[reading.line], usual) for reading in readings)


def _runs(reading: Reading) -> Iterator[tuple[bool, list[Letter]]]:
    """The letters of a line, dashes that follow on one another apart from all else."""
    grouped = groupby(reading.letters, lambda letter: letter.text in DASHES)
    return ((is_dash, list(letters)) for is_dash, letters in grouped)


def _mended(reading: Reading, size: float, usual: Mapping[str, float]) -> Reading:
    """A line's reading with one letter for each dash in pieces."""
    out: list[Letter] = []
    for is_dash, letters in _runs(reading):
        text = _whole(letters, size, usual) if is_dash and len(letters) > 1 else ""
        out += [_joined(text, letters)] if text else letters
    return replace(reading, letters=tuple(out)) if len(out) < len(reading.letters) else reading


def _whole(letters: Sequence[Letter], size: float, usual: Mapping[str, float]) -> str:
    """Which dash some pieces are together; "" for none."""
    white = [after.box.x - before.box.right for before, after in pairwise(letters)]
    middles = [letter.box.y + letter.box.height / 2 for letter in letters]
    if max(white) > _WHITE * size or max(middles) - min(middles) > _LEVEL * size:
        return ""
    long = (letters[-1].box.right - letters[0].box.x) / size
    fits = [text for text in usual if abs(long / usual[text] - 1) <= _AS_LONG]
    return min(fits, key=lambda text: abs(long - usual[text]), default="")


def _joined(text: str, letters: Sequence[Letter]) -> Letter:
    box = Box.around(letter.box for letter in letters)
    return Letter(text, box, min(letter.certainty for letter in letters))
