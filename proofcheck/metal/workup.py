"""Spaces, quads and leads that have risen and print, and hairlines between letters.

Both are ink that runs unbroken from the shoulder of the body to its foot: from over the small
letters to under the baseline, as no letter does. What is narrow is a hairline, from worn walls of
mats; what is wide is a space.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.metal.findings import MetalFinding
from proofcheck.values import Box, Kind, Span

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.metal.matter import Matter

__all__ = ["work_ups"]

HEAD_X, FOOT_X = 1.32, 0.33
"""X-heights over and under the baseline that the ink must reach without a break."""
BAND_X = (2.15, 0.95)
"""… and must not pass: rules do."""
UNBROKEN = 0.96
HAIRLINE_X = 0.14
"""X-heights: no wider is a hairline."""
WIDEST_X = 2.6
_LONG = frozenset("()[]{}|/jJfQ&§†‡ß¶ꞁ$£ƒ;,0123456789")
"""Characters whose own ink may run so far."""
_STANDING = frozenset("aceimnorsuvwxzhkltbd")
_NEAR = 5
MOST_IN_LINE = 2
_WORK_UP, _HAIRLINE = 0.93, 0.75
LEAST_CONTRAST = 60


def work_ups(matter: Matter) -> list[MetalFinding]:
    """Risen spaces and hairlines of all lines."""
    found = []
    for row, line in enumerate(matter.lines):
        if len(matter.readings[row].letters) < 3:
            continue
        runs = [run for run in _runs(matter, row) if not _is_letter(matter, row, *run[:2])]
        if len(runs) > MOST_IN_LINE:
            continue  # Its baseline is not to be trusted.
        for left, right, foot in runs:
            if foot - _local_base(matter, row, left) < FOOT_X * line.x_height_px:
                continue
            size = line.x_height_px
            wide = right - left
            hair = wide <= max(HAIRLINE_X * size, 1.0)
            found.append(_finding(matter, row, left, right, hair=hair))
    return found


def _runs(matter: Matter, row: int) -> list[tuple[int, int, float]]:
    """Ink that runs from shoulder to foot of the body: left and right column, and its foot's y."""
    line = matter.lines[row]
    image = matter.sheets[line.sheet].image
    size = line.x_height_px
    left, right = max(line.box.x, 0), min(line.box.right, image.shape[1])
    columns = np.arange(left, right)
    if not len(columns):
        return []
    base = np.round(matter.baseline(row, left) + _slope(matter, row) * (columns - left))
    steps = np.arange(round(-BAND_X[0] * size), round(BAND_X[1] * size) + 1)
    rows = np.clip(base[None, :].astype(np.intp) + steps[:, None], 0, image.shape[0] - 1)
    band = image[rows, columns[None, :]]
    paper, ink = np.percentile(band[::2, ::2], (85, 2))
    if paper - ink < LEAST_CONTRAST:
        return []
    dark = band < (paper + ink) / 2
    core = (steps >= -HEAD_X * size) & (steps <= FOOT_X * size)
    full = dark[core].mean(axis=0) >= UNBROKEN
    # A rule runs on through the band; a body ends in it, at the head and at the foot.
    full &= ~dark[: max(round(0.2 * size), 2)].any(axis=0)
    full &= ~dark[-max(round(0.12 * size), 2) :].any(axis=0)
    found = []
    for a, b in _stretches(full):
        if b - a <= WIDEST_X * size:
            middle = (a + b) // 2
            foot = base[middle] + steps[np.flatnonzero(dark[:, middle])[-1]] + 1
            found.append((left + a, left + b, float(foot)))
    return found


def _local_base(matter: Matter, row: int, x: float) -> float:
    """Where letters that stand on the line stand near x; the line's own baseline for too few."""
    feet = [
        (abs(letter.box.x - x), letter.box.bottom)
        for letter in matter.readings[row].letters
        if letter.text in _STANDING
    ]
    near = sorted(feet)[:_NEAR]
    if len(near) < _NEAR:
        return matter.baseline(row, x)
    return float(np.median([bottom for _, bottom in near]))


def _slope(matter: Matter, row: int) -> float:
    line = matter.lines[row]
    return (line.baseline[1] - line.baseline[0]) / max(line.box.width, 1)


def _stretches(flags: NDArray[np.bool_]) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], flags.astype(np.int8), [0]])))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _is_letter(matter: Matter, row: int, left: int, right: int) -> bool:
    """Whether the ink is a character's own, and reading and copy agree on that character."""
    size = matter.lines[row].x_height_px
    for at, letter in enumerate(matter.readings[row].letters):
        if letter.text.isspace() or letter.box.right <= left or letter.box.x >= right:
            continue
        if letter.box.height > BAND_X[0] * size:
            return True  # A dropped initial, or a brace.
        difference = matter.disputed.get((row, at))
        wanted = difference.copy_text if difference else letter.text
        if any(character in _LONG for character in wanted):
            return True
    return False


def _finding(matter: Matter, row: int, left: int, right: int, *, hair: bool) -> MetalFinding:
    line, letters = matter.lines[row], matter.readings[row].letters
    size = line.x_height_px
    base = matter.baseline(row, (left + right) / 2)
    box = Box(left, round(base - 1.5 * size), right - left, round(1.95 * size))
    held = [
        at
        for at, letter in enumerate(letters)
        if not letter.text.isspace()
        and letter.box.x < right
        and letter.box.right > left
        and letter.box.width < 1.5 * (right - left) + 0.2 * size
    ]
    if held:
        span = Span(held[0], held[-1] + 1)
    else:
        after = next((at for at, x in enumerate(letters) if x.box.x >= left), len(letters))
        span = Span(after, after)
    kind = Kind.HAIRLINE if hair else Kind.WORK_UP
    return MetalFinding(kind, line.number, line.sheet, box, span, _HAIRLINE if hair else _WORK_UP)
