"""Plant faults in the picture of a page by moving its own letters about.

Every kind (`changes`) sets one word anew from letters of the same page (`moving.reset_word`) and
keeps the spaces its letters had, so that the line stays as wide as it was.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import TYPE_CHECKING

from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box

from .changes import IMAGE_KINDS, Change, Setting
from .moving import Canvas, Put, reset_word, spread

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from proofcheck.base.values import Grey

    from .standing import Glyph, Standing, Word

    Plants = Callable[[Standing, Word, dict[str, list[Glyph]], random.Random], Change | None]

__all__ = ["IMAGE_KINDS", "Plant", "plant_in_image"]


@dataclass(frozen=True, slots=True)
class Plant:
    """One known fault: where it is and what may rightly be said of it."""

    name: str
    """What was done ("letter wrong", "line dropped" …)."""
    kinds: frozenset[Kind]
    """Kinds that name it rightly."""
    box: Box
    """Where it shows, in pixels of the picture."""
    span: tuple[int, int]
    """Where in the copy it belongs, in the copy as given with the picture."""
    printed: str
    wanted: str


def plant_in_image(
    standing: Standing,
    seed: int,
    kinds: Mapping[str, Plants] = IMAGE_KINDS,
    apart: int = 2,
) -> tuple[Grey, list[Plant]]:
    """One fault in every so many lines at most, the kinds in turn; the page and its faults."""
    rng = random.Random(seed)
    canvas, plants = Canvas(standing), []
    names = list(kinds)
    rng.shuffle(names)
    donors = _donors(standing)
    last_line = -apart
    for line in sorted(standing.of_line):
        if line - last_line < apart:
            continue
        for name in names:
            plant = _try(canvas, line, name, kinds[name], donors, rng)
            if plant:
                plants.append(plant)
                last_line = line
                names = [*(other for other in names if other != name), name]
                break
    return canvas.image, plants


def _donors(standing: Standing) -> dict[str, list[Glyph]]:
    donors: dict[str, list[Glyph]] = {}
    for word in standing.words:
        for glyph in filter(lambda each: each.sure, word.glyphs):
            donors.setdefault(glyph.text, []).append(glyph)
    return donors


def _try(
    canvas: Canvas,
    line: int,
    name: str,
    change_of: Plants,
    donors: dict[str, list[Glyph]],
    rng: random.Random,
) -> Plant | None:
    """Plant one kind in one line, in the first word, drawn by lot, that takes it."""
    standing = canvas.standing
    numbers = [number for number in standing.of_line[line] if standing.words[number].glyphs]
    rng.shuffle(numbers)
    for number in numbers:
        word = standing.words[number]
        change = change_of(standing, word, donors, rng)
        if change is None:
            continue
        delta = _width(change.glyphs, change.gaps) - _old_width(word)
        shifts = spread(standing, number, delta)
        if shifts is None:
            continue
        return _carry_out(canvas, number, name, change, shifts)
    return None


def _carry_out(
    canvas: Canvas, number: int, name: str, change: Change, shifts: dict[int, int]
) -> Plant:
    word = canvas.standing.words[number]
    x, puts = float(word.glyphs[0].box.x), []
    for (glyph, turned), gap in zip(change.glyphs, change.gaps, strict=True):
        x += gap
        puts.append(Put(glyph, x, number, turned=turned))
        x += glyph.box.width
    whole = reset_word(canvas, number, puts, shifts)
    first, last = change.touched
    left = puts[first].x if first < len(puts) else x
    right = puts[last - 1].x + puts[last - 1].glyph.box.width if last > first else left
    old = word.glyphs[change.old[0] : change.old[1]]
    start = old[0].at if old else word.glyphs[0].at + change.old[0]
    end = old[-1].at + len(old[-1].text) if old else start
    return Plant(
        name=name,
        kinds=change.kinds,
        box=Box(round(left), whole.y, round(right - left), whole.height),
        span=(start, end),
        printed="".join(
            glyph.text + ("↻" if turned else "") for glyph, turned in change.glyphs[first:last]
        ),
        wanted="".join(glyph.text for glyph in old),
    )


def _old_width(word: Word) -> float:
    return word.glyphs[-1].box.right - word.glyphs[0].box.x


def _width(glyphs: Setting, gaps: Sequence[float]) -> float:
    return sum(glyph.box.width for glyph, _ in glyphs) + sum(gaps)
