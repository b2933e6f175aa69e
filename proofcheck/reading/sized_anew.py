"""Lines that read badly, read once more at the size of a line beside them.

Of a short line from broken letters the x-height may be measured wrong, and then nothing in it
reads. The lines over and under it are mostly of its size: read so it is sure, if it is so.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from proofcheck.base.values import Line, Reading, Sheet

__all__ = ["read_at_other_sizes"]

_DOUBTFUL, _FEW, _OF_FEW = 0.85, 8, 0.95
"""Mean certainty of the letters of a line up to which its size is doubted; and of a line of so few,
whose tall letters and small ones are hardly to be told apart."""
_SURE: Final = 0.9
_SURER: Final = 0.1
"""At its own size a line is so sure, and surer by so much, or by half of what it wants."""
_LEAST: Final = 4
"""Letters of a line; of fewer the reader may be sure by chance."""
_OTHER: Final = (1.06, 2.0)
"""Sizes are others that are so many times as large or small, and no more."""
_BESIDE: Final = 2
"""So many lines over and under it are asked for their size."""


def read_at_other_sizes(
    sheet: Sheet,
    lines: Sequence[Line],
    readings: Sequence[Reading],
    read: Callable[[Sheet, Sequence[Line]], Sequence[Reading]],
) -> tuple[tuple[Line, ...], tuple[Reading, ...]]:
    """The lines, and what is read on them, each of the size at which it reads for certain.

    Args:
        sheet: the sheet.
        lines: its lines, in order.
        readings: one for each.
        read: reads lines.
    """
    tried = [
        (at, _of_size(line, size))
        for at, (line, reading) in enumerate(zip(lines, readings, strict=True))
        if len(reading.letters) >= _LEAST and _is_doubtful(reading)
        for size in _sizes_beside(lines, at)
    ]
    out, said = list(lines), list(readings)
    others = read(sheet, [line for _, line in tried]) if tried else ()
    for (at, line), reading in zip(tried, others, strict=True):
        before = _certainty(said[at])
        if _certainty(reading) > max(_SURE, before + min(_SURER, (1 - before) / 2)):
            out[at], said[at] = line, reading
    return tuple(out), tuple(said)


def _sizes_beside(lines: Sequence[Line], at: int) -> Iterator[float]:
    """x-heights of the lines beside one in its column that are not its own."""
    line = lines[at]
    beside = [*lines[max(at - _BESIDE, 0) : at], *lines[at + 1 : at + 1 + _BESIDE]]
    found: list[float] = [line.x_height_px]
    for other in beside:
        size = other.x_height_px
        ratio = max(size / line.x_height_px, line.x_height_px / size)
        apart = all(max(size / one, one / size) > _OTHER[0] for one in found)
        if other.column == line.column and apart and ratio < _OTHER[1]:
            found.append(size)
            yield size


def _of_size(line: Line, x_height_px: float) -> Line:
    body_pt = line.body_pt * x_height_px / line.x_height_px
    return replace(line, x_height_px=x_height_px, body_pt=body_pt)


def _is_doubtful(reading: Reading) -> bool:
    return _certainty(reading) < (_OF_FEW if len(reading.letters) <= _FEW else _DOUBTFUL)


def _certainty(reading: Reading) -> float:
    """Mean of its letters; 0 where nothing was read."""
    seen = [letter.certainty for letter in reading.letters if letter.text != " "]
    return float(np.mean(seen)) if seen else 0.0
