"""Plant faults of the type itself in the picture of a page: its own letters cut, moved and turned.

Each kind works on one letter or one word space of a line, in place; only a doubled word space
moves words, and takes what it needs from the other spaces of its line.
"""

from __future__ import annotations

import itertools
import math
import random
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box
from proofcheck.reading.turned import LOOKS_LIKE
from tests.turning import UNCHANGED

from .moving import Canvas
from .planting import Plant

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from proofcheck.base.values import Grey

    from .donors import Donor, Strange
    from .standing import Glyph, Standing

__all__ = ["TYPE_KINDS", "plant_in_type"]

_LOOK_THE_SAME_TURNED = frozenset(UNCHANGED) | frozenset("l1I|")
_OFF_LINE = 0.2
"""X-heights a letter is set off its line."""
_BAR_PX = (4, 8)
"""A thin space at type height is so wide at least and at most, in pixels of the page."""
_BAR_HEAD_X, _BAR_FOOT_X = (1.0, 1.55), (0.0, 0.45)
"""x-heights over and under the baseline that it prints: one that stands up aslant prints less than
its body."""
_GONE = 1 / 3
"""Share of a broken letter's ink that is lost."""


def plant_in_type(
    standing: Standing,
    strange: Strange,
    seed: int,
    kinds: Sequence[str] = (),
    every: int = 2,
) -> tuple[Grey, list[Plant]]:
    """One fault in every second line at most, the kinds in turn; the page and its faults.

    Args:
        standing: the page taken apart.
        strange: letters of other faces, for "wrong font" and "italic".
        seed: of all that is drawn by lot.
        kinds: of `TYPE_KINDS`, those to plant; all if none are given.
        every: one fault in so many lines at most.
    """
    rng = random.Random(seed)
    canvas, plants = Canvas(standing), []
    names = list(kinds or TYPE_KINDS)
    rng.shuffle(names)
    last_line = -every
    for line in sorted(standing.of_line):
        if line - last_line < every:
            continue
        for name in names:
            plant = TYPE_KINDS[name](canvas, line, strange, rng)
            if plant:
                plants.append(plant)
                last_line = line
                names = [*(other for other in names if other != name), name]
                break
    return canvas.image, plants


def _letters(canvas: Canvas, line: int, rng: random.Random) -> list[Glyph]:
    """The line's sure single letters, in an order drawn by lot."""
    words = [canvas.standing.words[number] for number in canvas.standing.of_line[line]]
    found = [
        glyph
        for word in words
        for glyph in word.glyphs
        if glyph.sure and len(glyph.text) == 1 and glyph.text.isalnum()
    ]
    rng.shuffle(found)
    return found


def _plant(name: str, kinds: set[Kind], glyph: Glyph, box: Box | None = None) -> Plant:
    span = (glyph.at, glyph.at + len(glyph.text))
    return Plant(name, frozenset(kinds), box or glyph.box, span, glyph.text, glyph.text)


def _turned(canvas: Canvas, line: int, strange: Strange, rng: random.Random) -> Plant | None:
    for glyph in _letters(canvas, line, rng):
        if glyph.text in _LOOK_THE_SAME_TURNED:
            continue
        canvas.wipe(glyph.pieces)
        canvas.put_turned(glyph, 0, 0)
        kinds = {Kind.TURNED_SORT} | ({Kind.WRONG_LETTER} if glyph.text in LOOKS_LIKE else set())
        return _plant("turned", kinds, glyph)
    return None


def _broken(canvas: Canvas, line: int, strange: Strange, rng: random.Random) -> Plant | None:
    """A third of the ink gone on one side of a ragged break."""
    for glyph in _letters(canvas, line, rng)[:1]:
        box = glyph.box
        own = np.isin(
            canvas.standing.labels[box.y : box.bottom, box.x : box.right],
            np.array(glyph.pieces) + 1,
        )
        rows, columns = np.nonzero(own)
        turn = rng.uniform(0, 2 * math.pi)
        ragged = np.random.default_rng(rng.randrange(1 << 30)).normal(0, 0.8, len(rows))
        along = columns * math.cos(turn) + rows * math.sin(turn) + ragged
        lost = along > np.quantile(along, 1 - _GONE)
        there = canvas.image[box.y : box.bottom, box.x : box.right]
        there[rows[lost], columns[lost]] = canvas.paper
        return _plant("broken", {Kind.BROKEN_LETTER}, glyph)
    return None


def _off_line(canvas: Canvas, line: int, strange: Strange, rng: random.Random) -> Plant | None:
    size = canvas.standing.lines[line].x_height_px
    by = math.ceil(_OFF_LINE * size) * rng.choice((-1, 1))
    for glyph in _letters(canvas, line, rng)[:1]:
        canvas.wipe(glyph.pieces)
        canvas.put(glyph.pieces, 0, by)
        box = glyph.box._replace(y=glyph.box.y + by)
        return _plant("off its row", {Kind.OFF_LINE}, glyph, box)
    return None


def _wrong_font(canvas: Canvas, line: int, strange: Strange, rng: random.Random) -> Plant | None:
    """The same letter of another book, scaled to the line's x-height."""
    return _of_another_face("wrong font", canvas, line, strange, rng)


def _italic(canvas: Canvas, line: int, strange: Strange, rng: random.Random) -> Plant | None:
    """The same letter of an italic, scaled to the line's x-height."""
    return _of_another_face("italic", canvas, line, strange, rng)


def _of_another_face(
    name: str, canvas: Canvas, line: int, strange: Strange, rng: random.Random
) -> Plant | None:
    for glyph in _letters(canvas, line, rng):
        others = strange.get(name, {}).get(glyph.text, ())
        if others and glyph.text not in "1Il":
            canvas.wipe(glyph.pieces)
            box = _print_strange(canvas, glyph, rng.choice(others))
            return _plant(name, {Kind.WRONG_FONT}, glyph, box)
    return None


def _print_strange(canvas: Canvas, glyph: Glyph, other: Donor) -> Box:
    standing = canvas.standing
    x_height_px = standing.lines[glyph.line].x_height_px
    ink = other.at_size(x_height_px)
    tall, wide = ink.shape
    middle = glyph.box.x + glyph.box.width / 2
    left = round(middle - wide / 2)
    bottom = standing.baseline(glyph.line, middle) + other.drop * x_height_px
    top = round(bottom) - tall
    part = canvas.image[top : top + tall, left : left + wide]
    part[ink[: part.shape[0], : part.shape[1]]] = _black(standing)
    return Box(left, top, wide, tall)


def _black(standing: Standing) -> int:
    return int(np.median(standing.image[standing.labels > 0]))


def _gaps(standing: Standing, line: int) -> list[tuple[Glyph, int, int]]:
    """Plain word spaces between small letters: the letter before, and left and right edge."""
    numbers = standing.of_line[line]
    found = []
    for number, after in itertools.pairwise(numbers):
        one, other = standing.words[number], standing.words[after]
        if not one.glyphs or not other.glyphs:
            continue
        if one.text[-1:].islower() and other.text[:1].islower():
            found.append((one.glyphs[-1], one.glyphs[-1].box.right, other.glyphs[0].box.x))
    return found


def _work_up(canvas: Canvas, line: int, strange: Strange, rng: random.Random) -> Plant | None:
    """A space at type height: a bar of its own width, from shoulder to foot of the body."""
    standing = canvas.standing
    size = standing.lines[line].x_height_px
    gaps = [gap for gap in _gaps(standing, line) if gap[2] - gap[1] > 0.5 * size]
    if not gaps:
        return None
    glyph, left, right = rng.choice(gaps)
    wide = max(round(min(0.55 * (right - left), 0.45 * size)), 3)
    start = round((left + right - wide) / 2)
    base = standing.baseline(line, start)
    top, bottom = round(base - 1.5 * size), round(base + 0.45 * size)
    canvas.image[top:bottom, start : start + wide] = _black(standing)
    return _plant("work-up", {Kind.WORK_UP}, glyph, Box(start, top, wide, bottom - top))


def _thin_bar(canvas: Canvas, line: int, strange: Strange, rng: random.Random) -> Plant | None:
    """A thin space at type height, with white on either side."""
    return _bar("thin bar", canvas, line, rng, touching=False)


def _touching_bar(canvas: Canvas, line: int, strange: Strange, rng: random.Random) -> Plant | None:
    """A thin space at type height, hard against the letter before it or after it."""
    return _bar("bar touching", canvas, line, rng, touching=True)


def _bar(
    name: str, canvas: Canvas, line: int, rng: random.Random, *, touching: bool
) -> Plant | None:
    standing = canvas.standing
    size = standing.lines[line].x_height_px
    wide = rng.randint(*_BAR_PX)
    gaps = [gap for gap in _gaps(standing, line) if gap[2] - gap[1] >= wide + 2]
    if not gaps:
        return None
    glyph, left, right = rng.choice(gaps)
    start = rng.randint(left + 1, right - wide - 1)
    if touching:
        start = rng.choice((left - 1, right - wide + 1))
    base = standing.baseline(line, start)
    top = round(base - rng.uniform(*_BAR_HEAD_X) * size)
    bottom = round(base + rng.uniform(*_BAR_FOOT_X) * size)
    canvas.image[top:bottom, start : start + wide] = _black(standing)
    return _plant(name, {Kind.WORK_UP}, glyph, Box(start, top, wide, bottom - top))


def _lead_up(canvas: Canvas, line: int, strange: Strange, rng: random.Random) -> Plant | None:
    """A lead that has risen at one end: a bar two points thick under some words of the line."""
    standing = canvas.standing
    lines, words = standing.lines, [standing.words[n] for n in standing.of_line[line]]
    if line + 1 >= len(lines) or len(words) < 3 or not words[0].glyphs:
        return None
    here, below = lines[line], lines[line + 1]
    size = here.x_height_px
    left = rng.randrange(here.box.x, max(here.box.right - round(6 * size), here.box.x + 1))
    right = min(left + round(rng.uniform(3, 6) * size), here.box.right)
    step = standing.baseline(line + 1, left) - standing.baseline(line, left)
    if here.column != below.column or not 2 * size < step < 3 * size or right - left < 3 * size:
        return None
    thick = max(round(0.42 * size), 2)
    top = round(standing.baseline(line, left) + (step - size - thick) / 2)
    box = Box(left, top, right - left, thick)
    part = canvas.image[top : top + thick, left:right]
    np.minimum(part, _black(standing), out=part)
    return _plant("lead up", {Kind.WORK_UP}, words[0].glyphs[-1], box)


def _doubled_space(canvas: Canvas, line: int, strange: Strange, rng: random.Random) -> Plant | None:
    """A second space beside one, as wide as the line's spaces commonly are.

    So two bands stand together that are driven up alike; the others of the line give up between
    them what the second takes.
    """
    standing = canvas.standing
    numbers, gaps = standing.of_line[line], _gaps(standing, line)
    size = standing.lines[line].x_height_px
    more = _usual_space(standing, line)
    rng.shuffle(gaps)
    for glyph, left, right in gaps:
        place = numbers.index(glyph.word)
        boxes = [standing.words[number].box for number in numbers]
        whites = [b.x - a.right for a, b in itertools.pairwise(boxes)]
        others = [at for at in range(len(whites)) if at != place]
        give = more / max(len(others), 1)
        if not more or len(others) < 3 or min(whites[at] - give for at in others) < 0.4 * size:
            continue
        shift, moves = 0.0, {}
        for at in range(len(whites)):
            shift += more if at == place else -give
            moves[numbers[at + 1]] = round(shift)
        for number in moves:
            canvas.wipe(standing.words[number].pieces)
        for number, dx in moves.items():
            canvas.put(standing.words[number].pieces, dx, 0)
        start = left + (moves[numbers[place]] if place else 0)
        tall = max(glyph.box.height, round(size))
        box = Box(start, glyph.box.y, right - left + more, tall)
        return _plant("space doubled", {Kind.UNEVEN_SPACING, Kind.SPACE_EXTRA}, glyph, box)
    return None


def _usual_space(standing: Standing, line: int) -> int:
    """The space commonly set between the line's words: their white less that within words."""
    between = [right - left for _, left, right in _gaps(standing, line)]
    within = [
        b.box.x - a.box.right
        for word in standing.words
        for a, b in itertools.pairwise(word.glyphs)
        if word.line == line
    ]
    if not between or not within:
        return 0
    return round(float(np.median(between)) - float(np.median(within)))


TYPE_KINDS: dict[str, Callable[[Canvas, int, Strange, random.Random], Plant | None]] = {
    "turned": _turned,
    "broken": _broken,
    "work-up": _work_up,
    "thin bar": _thin_bar,
    "bar touching": _touching_bar,
    "lead up": _lead_up,
    "off its row": _off_line,
    "wrong font": _wrong_font,
    "italic": _italic,
    "space doubled": _doubled_space,
}
"""What is planted, in turn."""
