"""Letters high or low on their line, from worn mats or bad locking.

How high a letter stands is taken from laying it on its fellows, and counted from the letters
beside it, so that a crooked scan or a line's own slope is no fault.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from proofcheck.metal.certain import grown
from proofcheck.metal.findings import MetalFinding
from proofcheck.metal.patches import X_HEIGHT
from proofcheck.values import Kind, Span

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.metal.matter import Matter

__all__ = ["off_line_letters"]

BESIDE = 6
"""Letters to either side whose height is taken for the line's."""
LIKE_AT_MOST = 0.2
"""A letter more unlike its fellows than this is no measure of height."""
SPREADS = 7.0
"""Times the proof's own spread of heights that plainly stands out."""
_STEP = 0.012
_CAPITALS_MORE = 0.05
"""X-heights more for capitals: they are few, and some stand lower in one style than another."""
_SHORT = list("acemnorsuvwxz")
_ALIKE_X = 0.1
LEAST_CERTAINTY = 0.3


def off_line_letters(matter: Matter) -> list[MetalFinding]:
    """Single letters off their line; a whole word or more moves its neighbours' height too."""
    fount = matter.fount
    good = np.isfinite(fount.unlike) & (fount.unlike < LIKE_AT_MOST) & fount.agreed
    good &= matter.borne_out & np.isin(fount.line, _running(matter))
    good &= np.array([text.isalnum() for text in fount.text.tolist()], bool)
    height = fount.moved[:, 1] / X_HEIGHT
    by_box, told = _by_box(matter)
    told &= matter.borne_out & ~good & np.isin(fount.line, _running(matter))
    height[told] = by_box[told]
    good |= told
    rise = _from_beside(fount.line, height, good)
    if not good.any():
        return []
    spread = 1.4826 * float(np.median(np.abs(rise[good])))
    even = max(matter.settings.off_line_x, SPREADS * spread)
    found = []
    for number in np.flatnonzero(good & (np.abs(rise) > even - 3 * _STEP)):
        more = _CAPITALS_MORE * str(fount.text[number]).isupper()
        certainty = grown(abs(float(rise[number])), even + more, _STEP)
        if certainty < LEAST_CERTAINTY or _with_neighbour(matter, rise, int(number)):
            continue
        row, at = int(fount.line[number]), int(fount.at[number])
        letters = Span(at, at + 1)
        where = "low" if rise[number] > 0 else "high"
        text = str(fount.text[number])
        found.append(
            MetalFinding(
                Kind.OFF_LINE,
                matter.lines[row].number,
                matter.lines[row].sheet,
                matter.box_of(row, letters),
                letters,
                certainty,
                words=f"off its line: {text} stands {where}",
                proof_text=text,
                copy_text=text,
                # Figures of two styles are mixed in old work.
                only_query=text.isdecimal(),
            )
        )
    return found


def _running(matter: Matter) -> list[int]:
    """Rows of running words; heads and captions in capitals have too few fellows."""
    return [row for row in range(len(matter.lines)) if matter.is_words(row)]


def _with_neighbour(matter: Matter, rise: NDArray[np.float64], number: int) -> bool:
    """Whether a letter beside it stands as far off: then it is the word, or the scan."""
    beside = [n for n in (number - 1, number + 1) if 0 <= n < len(rise)]
    return any(
        matter.word[n] == matter.word[number] and rise[n] * rise[number] > 0.5 * rise[number] ** 2
        for n in beside
    )


def _by_box(matter: Matter) -> tuple[NDArray[np.float32], NDArray[np.bool_]]:
    """Height of small letters that have too few fellows, by head and foot of their ink.

    Both must be out alike: a letter of another size is no letter off its line.
    """
    count = len(matter.fount.text)
    height, told = np.zeros(count, np.float32), np.zeros(count, bool)
    for number in np.flatnonzero(np.isin(matter.fount.text, _SHORT)):
        row = int(matter.fount.line[number])
        box, size = matter.letter(int(number)).box, matter.lines[row].x_height_px
        base = matter.baseline(row, box.x + box.width / 2)
        foot, head = (box.bottom - base) / size, (box.y - base) / size + 1
        height[number] = (foot + head) / 2
        told[number] = abs(foot - head) < _ALIKE_X
    return height, told


def _from_beside(
    line: NDArray[np.intp], height: NDArray[np.floating[Any]], good: NDArray[np.bool_]
) -> NDArray[np.float64]:
    """Each letter's height less the median of the good letters beside it on its line."""
    rise = np.zeros(len(height))
    for row in np.unique(line):
        mine = np.flatnonzero((line == row) & good)
        for place, number in enumerate(mine):
            beside = mine[max(place - BESIDE, 0) : place + BESIDE + 1]
            beside = beside[beside != number]
            if len(beside) >= 3:
                rise[number] = height[number] - np.median(height[beside])
    return rise
