"""Spaces, quads and leads that have risen and print, and hairlines between letters.

Both are ink that runs unbroken from the shoulder of the body to its foot: from over the small
letters to under the baseline, as no letter does. What is narrow is a hairline, from worn walls of
mats; what is wide is a space. A lead that has risen prints its edge between two lines: a bar,
longer than any stroke of a letter and no thicker than leads are.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np

from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Span
from proofcheck.metal.finder import Finder
from proofcheck.metal.like_rules import LikeRules
from proofcheck.metal.line_band import line_band
from proofcheck.sheet.grey_shares import grey_percentiles
from proofcheck.sheet.shelf import looked_at

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.metal.context import Matter
    from proofcheck.metal.findings import MetalFinding
    from proofcheck.metal.judged import Judged

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
LEAST_BAR_X, BAR_THICK_X = 2.5, (0.13, 0.75)
"""X-heights a risen lead prints at least, and is thick: from a thin lead in 12-point to 3 points in
8-point. The tops of wide capitals are shorter or thinner."""
_UNDER_X, _OVER_X = 0.12, 1.08
"""X-heights: the white between lines begins under the one's baseline and ends over the next one's
small letters."""
_WHOLE_MEASURE = 0.85
"""Of the line: so long a bar may be a rule of the job."""
_USUAL_STEP = 1.15
"""Times the proof's usual step between lines; in more white than that a bar is a rule."""
_SOLID = 0.6
_OUTSIDE_X = 0.25
"""X-heights a bar between paragraphs is thick at least: strokes of drawings are thin."""
_LEAD, _LEAD_OUTSIDE = 0.9, 0.4


def work_ups(judged: Judged) -> list[MetalFinding]:
    """Risen spaces, leads and hairlines of all lines."""
    matter = judged.matter
    found = _leads(matter)
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


FINDER = Finder(20, work_ups)


def _runs(matter: Matter, row: int) -> list[tuple[int, int, float]]:
    """Ink that runs from shoulder to foot of the body: left and right column, and its foot's y."""
    line = matter.lines[row]
    image = looked_at(matter.sheets[line.sheet].image)
    size = line.x_height_px
    left, right = max(line.box.x, 0), min(line.box.right, image.shape[1])
    columns = np.arange(left, right)
    if not len(columns):
        return []
    base = np.round(matter.baseline(row, left) + _slope(matter, row) * (columns - left))
    steps = np.arange(round(-BAND_X[0] * size), round(BAND_X[1] * size) + 1)
    band = line_band(image, base.astype(np.intp), steps, left)
    paper, ink = grey_percentiles(band[::2, ::2], (85, 2))
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


def _leads(matter: Matter) -> list[MetalFinding]:
    """Bars in the white between two lines that stand at the usual step."""
    steps = {row: step for row in range(len(matter.lines)) if (step := _step_px(matter, row))}
    if not steps:
        return []
    usual = float(np.median([*steps.values()]))
    rules = LikeRules(matter.sheets)
    found = []
    for row, step in steps.items():
        if step > _USUAL_STEP * usual or not matter.readings[row].letters:
            continue
        within = _within_paragraph(matter, row)
        for box in _bars(matter, row, step):
            if _in_letter(matter, row, box) or _in_letter(matter, row + 1, box):
                continue
            if not within and box.height < _OUTSIDE_X * matter.lines[row].x_height_px:
                continue
            if not within and rules.has_like(matter.lines[row].sheet, box):
                continue
            long = box.width > _WHOLE_MEASURE * matter.lines[row].box.width
            finding = matter.finding(
                Kind.WORK_UP,
                row,
                _over(matter, row, box),
                _LEAD if within else _LEAD_OUTSIDE,
                box,
                words=f"push down the lead that prints under line {matter.lines[row].number}",
                only_query=long or not within,
            )
            found.append(finding)
    return found


def _step_px(matter: Matter, row: int) -> float | None:
    """From a line's baseline to that of the next in its column; None for its last line."""
    if row + 1 >= len(matter.lines):
        return None
    one, other = matter.lines[row], matter.lines[row + 1]
    if (one.sheet, one.column) != (other.sheet, other.column):
        return None
    middle = (max(one.box.x, other.box.x) + min(one.box.right, other.box.right)) / 2
    step = matter.baseline(row + 1, middle) - matter.baseline(row, middle)
    return step if step > 0 else None


def _within_paragraph(matter: Matter, row: int) -> bool:
    """Whether a paragraph of the copy goes on from a line to the next: no rule stands there."""
    held, after = matter.placed[row], matter.placed[row + 1]
    if held is None or after is None:
        return False
    return matter.in_one_paragraph(held.start, after.end)


def _bars(matter: Matter, row: int, step: float) -> list[Box]:
    """What is left of the white under a line when all strokes shorter than a bar are taken out."""
    line, following = matter.lines[row], matter.lines[row + 1]
    image = looked_at(matter.sheets[line.sheet].image)
    left = max(min(line.box.x, following.box.x), 0)
    right = min(max(line.box.right, following.box.right), image.shape[1])
    over = _OVER_X * max(line.x_height_px, following.x_height_px)
    down = np.arange(round(_UNDER_X * line.x_height_px), round(step - over))
    long = round(LEAST_BAR_X * line.x_height_px)
    if len(down) < 2 or right - left <= long:
        return []
    columns = np.arange(left, right)
    base = np.round(matter.baseline(row, left) + _slope(matter, row) * (columns - left))
    held = image[line.box.y : line.box.bottom, left:right]
    paper, ink = grey_percentiles(held[::2, ::2], (85, 2))
    band = line_band(image, base.astype(np.intp), down, left)
    dark = (band < (paper + ink) / 2).astype(np.uint8)
    if paper - ink < LEAST_CONTRAST or dark.sum() < long:
        return []
    kept = cv2.morphologyEx(dark, cv2.MORPH_OPEN, np.ones((1, long), np.uint8))
    count, _, stats, _ = cv2.connectedComponentsWithStats(kept, connectivity=8)
    found = []
    for x, y, wide, tall, area in stats[1:count].tolist():
        thick = BAR_THICK_X[0] <= tall / line.x_height_px <= BAR_THICK_X[1]
        # What fills the white from line to line is a panel.
        if thick and tall < len(down) and area > _SOLID * wide * tall:
            top = round(base[min(x + wide // 2, len(base) - 1)]) + int(down[0]) + y
            found.append(Box(left + x, top, wide, tall))
    return found


def _in_letter(matter: Matter, row: int, bar: Box) -> bool:
    """Whether a bar lies in one letter of a line: the top of a wide capital.

    A small letter has no such top; its box is as wide as the bar because the bar touches it.
    """
    middle = bar.y + bar.height / 2
    return any(
        x.box.y - bar.height <= middle <= x.box.bottom
        and min(x.box.right, bar.right) - max(x.box.x, bar.x) > bar.width / 2
        for x in matter.readings[row].letters
        if x.text.isupper()
    )


def _over(matter: Matter, row: int, box: Box) -> Span:
    """The letters of a line that stand over a bar; empty at its end for none."""
    letters = matter.readings[row].letters
    held = [at for at, x in enumerate(letters) if x.box.x < box.right and x.box.right > box.x]
    return Span(held[0], held[-1] + 1) if held else Span(len(letters), len(letters))


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
    return matter.finding(kind, row, span, _HAIRLINE if hair else _WORK_UP, box)
