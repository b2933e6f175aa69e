"""Letters held against those beside them: is one of another fount than its line?

A letter of a head stands once on the sheet, or its fellows are of another face: nothing of its own
kind tells how it should look. The letters beside it do, whatever letters they are. A small network
sees a line's letters together, each by itself and at one x-height; what it learnt from is in
`weights/CARD.md`.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from proofcheck.metal.beside import KINDS, kind_numbers
from proofcheck.metal.patches import TALL, WIDE, letter_windows
from proofcheck.metal.type_network import open_type_network

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from proofcheck.metal.context import Matter

__all__ = ["NOT_ASKED", "OWN_LINE_NETWORK", "ByLine", "by_line"]

OWN_LINE_NETWORK = Path(__file__).parent / "weights" / "line_fount.onnx"
"""The weights that come with the package."""
NOT_ASKED = -30.0
"""Log odds of letters that are not looked at."""
LEAST_BESIDE = 3
"""Letters of a line, without which nothing is said of any."""
_MOST = 24
"""Letters the network sees together."""
_STEP = 12
_BATCH = 8
_OWN, _OTHER, _BROKEN = 0, 1, 2


class ByLine(NamedTuple):
    """For each letter of a fount, natural logarithms of odds; `NOT_ASKED` where none was asked."""

    other: NDArray[np.float32]
    """Of another fount than its line's, against its own and whole."""
    broken: NDArray[np.float32]
    """Broken, likewise."""


def by_line(matter: Matter, rows: Sequence[int]) -> ByLine:
    """Hold the letters and figures of lines against one another.

    Args:
        matter: the proof.
        rows: the lines; those of a few letters are left out.

    Raises:
        WeightsError: the weights are missing or damaged.
    """
    fount = matter.fount
    found = ByLine(*(np.full(len(fount.text), NOT_ASKED, np.float32) for _ in range(2)))
    told = np.array([text in KINDS for text in fount.text.tolist()], bool) & matter.cut_true
    windows = [
        window for row in rows for window in _windows(np.flatnonzero(told & (fount.line == row)))
    ]
    nearest = np.full(len(fount.text), _MOST)
    for start in range(0, len(windows), _BATCH):
        some = windows[start : start + _BATCH]
        for who, scores in zip(some, _scores(matter, some), strict=True):
            # Of a letter seen twice holds what was said where it stood farther from the end.
            at = np.arange(len(who))
            off = np.abs(2 * at - len(who) + 1)
            better = off < nearest[who]
            mine = who[better]
            nearest[mine] = off[better]
            found.other[mine] = (scores[:, _OTHER] - scores[:, _OWN])[better]
            found.broken[mine] = (scores[:, _BROKEN] - scores[:, _OWN])[better]
    return found


def _windows(who: NDArray[np.intp]) -> Iterator[NDArray[np.intp]]:
    """Letters of a line so many at a time, each but the outermost in two."""
    if len(who) <= LEAST_BESIDE:
        return
    for start in range(0, max(len(who) - _STEP, 1), _STEP):
        end = min(start + _MOST, len(who))
        yield who[max(end - _MOST, 0) : end]


def _scores(matter: Matter, windows: Sequence[NDArray[np.intp]]) -> list[NDArray[np.float32]]:
    """The network's answer, (letters, 3) for each window."""
    cut, text = matter.fount.cut, matter.fount.text
    most = max(len(who) for who in windows)
    ink = np.zeros((len(windows), most, TALL, WIDE), np.float32)
    kind = np.full((len(windows), most), len(KINDS), np.int64)
    there = np.zeros((len(windows), most), np.float32)
    for at, who in enumerate(windows):
        ink[at, : len(who)] = cut.ink[who] * letter_windows(cut.half_width[who])
        kind[at, : len(who)] = kind_numbers(text[who].tolist())
        there[at, : len(who)] = 1
    scores = open_type_network(OWN_LINE_NETWORK).run(
        None, {"ink": ink, "kind": kind, "there": there}
    )[0]
    return [each[: len(who)] for each, who in zip(scores, windows, strict=True)]
