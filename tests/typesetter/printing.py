"""Lock up a forme and take a perfect impression of it, with the exact truth of what stands where.

Every line is drawn four times as large at its exact place and reduced by area, so that no two
impressions of a letter fall alike on the grid of pixels.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tests.turning import as_printed_turned

from .drawing import OVER, Pen, draw_furniture, rect, stamp
from .faces import family
from .matter import PT_PER_IN, Expected, Forme, Furniture, Slug, Sort

__all__ = ["Proof", "SetLetter", "SetLine", "print_proof"]

ASCENT = 0.74
"""Share of the body above the baseline; common practice, as is the place of the rest."""

FloatBox = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class SetLetter:
    """One printed character: what it looks like, and left, top, width, height in pixels."""

    text: str
    box: FloatBox
    copy: int
    sort: Sort


@dataclass(frozen=True, slots=True)
class SetLine:
    """One printed line, in pixels of the proof."""

    number: int
    text: str
    """As printed, divisions with their hyphen, words parted by single spaces."""
    box: FloatBox
    """Round its ink."""
    baseline_y: float
    x_height_px: float
    body_pt: float
    letters: tuple[SetLetter, ...]
    ends_with_division: bool
    column: int
    copy: tuple[int, int] | None
    """The stretch of copy it holds, end exclusive."""
    measure_px: tuple[float, float]
    """Left and right end of the slug."""
    turned: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Proof:
    """A perfect impression: grey picture (0 ink, 255 paper) and the truth about it."""

    image: NDArray[np.uint8]
    lines: tuple[SetLine, ...]
    dpi: float
    copy: str
    faults: tuple[Expected, ...]


@dataclass(frozen=True, slots=True)
class _Place:
    """A slug with the top left corner of its body, in points from the sheet's corner."""

    item: Slug | Furniture
    x: float
    y: float


def print_proof(
    forme: Forme,
    *,
    dpi: float = 300.0,
    margin_picas: float = 4.0,
    misalign_pt: float = 0.0,
    seed: int = 0,
) -> Proof:
    """Print a forme.

    Args:
        forme: the matter.
        dpi: pixels to the inch of the picture.
        margin_picas: white on all four sides.
        misalign_pt: how far (standard deviation) a slug stands off its place, up-down and
            (half as much) along its line.
        seed: of the misalignment and of ragged damage.
    """
    px = dpi / PT_PER_IN
    margin = margin_picas * 12.0
    places, depth = _lock_up(forme, margin)
    height = math.ceil((depth + margin) * px)
    width = math.ceil((forme.measure_pt + 2 * margin) * px)
    ink = np.zeros((height, width), np.uint8)
    rng = np.random.default_rng(seed)
    lines: list[SetLine] = []
    for place in places:
        if isinstance(place.item, Furniture):
            draw_furniture(ink, place.item, place.x, place.y, px)
            continue
        off_y, off_x = rng.normal(0, 1, 2) * (misalign_pt, misalign_pt / 2)
        moved = _Place(place.item, place.x + off_x, place.y + off_y)
        lines.append(_print_slug(ink, moved, px, len(lines) + 1, rng))
    return Proof(255 - ink, tuple(lines), dpi, forme.copy, forme.expected())


# ------------------------------------------------------------------- where everything stands


def _lock_up(forme: Forme, margin: float) -> tuple[list[_Place], float]:
    places: list[_Place] = []
    top = margin
    sections = sorted({item.section for item in forme.items})
    for section in sections:
        bottoms = [top]
        for column in (-1, 0, 1):
            y = top
            for item in forme.items:
                if item.section != section or item.column != column:
                    continue
                places.append(_Place(item, margin + _left(item, forme), y))
                y += item.body_pt + getattr(item, "lead_pt", 0.0)
            bottoms.append(y)
        two = any(i.section == section and i.column >= 0 for i in forme.items)
        if two and forme.column_rule:
            rule = Furniture("column-rule", max(bottoms) - top, 0.6, 0.6, section)
            places.append(_Place(rule, margin + forme.measure_pt / 2 - 0.3, top))
        top = max(bottoms)
    order = {id(item): n for n, item in enumerate(forme.items)}
    places.sort(key=lambda p: order.get(id(p.item), len(order)))
    return places, top


def _left(item: Slug | Furniture, forme: Forme) -> float:
    column_pt = (forme.measure_pt - forme.gutter_pt) / 2
    start = column_pt + forme.gutter_pt if item.column == 1 else 0.0
    if isinstance(item, Furniture):
        own = column_pt if item.column >= 0 else forme.measure_pt
        return start + (own - item.width_pt) / 2
    return start


def _start_pt(slug: Slug) -> float:
    spare = slug.measure_pt - slug.width_pt + slug.letterspace_pt
    if slug.align == "centre":
        return spare / 2
    if slug.align == "right":
        return spare
    return slug.indent_pt + slug.shift_pt


# ------------------------------------------------------------------- one slug


def _print_slug(ink, place: _Place, px: float, number: int, rng) -> SetLine:
    slug = place.item
    pad = math.ceil(slug.body_pt * px)
    top = math.floor(place.y * px) - pad
    left = math.floor(place.x * px) - 4 * pad
    rows = math.ceil(slug.body_pt * px) + 2 * pad + 2
    columns = math.ceil(slug.measure_pt * px) + 8 * pad
    strip = np.zeros((rows * OVER, columns * OVER), np.uint8)
    base = place.y + ASCENT * slug.body_pt
    pen = Pen(strip, px, left, top, rng)
    letters: list[SetLetter] = []
    x = place.x + _start_pt(slug)
    for sort in slug.sorts:
        letters += _print_sort(pen, slug, sort, x, base, place)
        x += sort.width_pt
    if slug.turned:
        base = 2 * (place.y + slug.body_pt / 2) - base
    stamp(ink, strip, left, top)
    return _truth(slug, letters, base * px, px, number, place)


def _print_sort(pen: Pen, slug: Slug, sort: Sort, x: float, base: float, place: _Place):
    if sort.text == " ":
        return _print_space(pen, slug, sort, x, base)
    glyph = family(sort.family).glyph(sort.char, sort.style)
    drawn = [c * sort.size_pt * (1, -1) for c in glyph.contours]
    if sort.turned:
        middle = (-ASCENT * sort.size_pt + (1 - ASCENT) * sort.size_pt) / 2
        drawn = [(sort.width_pt, 2 * middle) - c for c in drawn]
    at = np.array((x, base - sort.raise_pt))
    drawn = [c + at for c in drawn]
    if slug.turned:
        centre = np.array(
            [2 * place.x + slug.measure_pt, 2 * place.y + slug.body_pt], dtype=np.float64
        )
        drawn = [centre - c for c in drawn]
    if sort.hairline:
        drawn.append(rect(x - 0.1, base - 0.72 * slug.body_pt, 0.22, 0.9 * slug.body_pt))
    if not drawn:
        return [SetLetter(sort.text, (x * pen.px, base * pen.px, 0.0, 0.0), sort.copy, sort)]
    if sort.broken:
        pen.bite(drawn, sort.broken)
    else:
        pen.fill(drawn)
    return _letters(sort, drawn, pen.px)


def _print_space(pen: Pen, slug: Slug, sort: Sort, x: float, base: float):
    px = pen.px
    box = (x * px, (base - 0.47 * slug.body_pt) * px, sort.width_pt * px, 0.47 * slug.body_pt * px)
    if sort.block:
        wide = max(min(sort.width_pt * 0.55, slug.body_pt * 0.22), 0.09 * slug.body_pt)
        left = x + (sort.width_pt - wide) / 2
        pen.fill([rect(left, base - 0.7 * slug.body_pt, wide, 0.92 * slug.body_pt)])
        tall = (base - 0.7 * slug.body_pt) * px
        box = (left * px, tall, wide * px, 0.92 * slug.body_pt * px)
    return [SetLetter(" ", box, sort.copy, sort)]


def _letters(sort: Sort, drawn, px: float) -> list[SetLetter]:
    """A ligature's box is shared among its letters by their widths when set alone."""
    points = np.concatenate(drawn) * px
    (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
    if len(sort.text) == 1:
        look = as_printed_turned(sort.text) if sort.turned else sort.text
        return [SetLetter(look, _floats(x0, y0, x1 - x0, y1 - y0), sort.copy, sort)]
    faces = family(sort.family)
    widths = [faces.glyph(c, sort.style).advance_em for c in sort.text]
    ends = np.cumsum([0.0, *widths]) / sum(widths) * (x1 - x0) + x0
    return [
        SetLetter(
            c,
            _floats(ends[i], y0, ends[i + 1] - ends[i], y1 - y0),
            sort.copy + i if sort.copy >= 0 else -1,
            sort,
        )
        for i, c in enumerate(sort.text)
    ]


def _floats(*values) -> FloatBox:
    return tuple(float(v) for v in values)


def _truth(slug: Slug, letters, baseline_y: float, px: float, number: int, place) -> SetLine:
    kept = _single_spaces(letters)
    if slug.turned:
        kept = [replace(item, text=as_printed_turned(item.text)) for item in reversed(kept)]
    inked = [item.box for item in kept if item.text != " "]
    x0, y0 = min(b[0] for b in inked), min(b[1] for b in inked)
    x1, y1 = max(b[0] + b[2] for b in inked), max(b[1] + b[3] for b in inked)
    first = next(s for s in slug.sorts if s.text != " ")
    at = [s.copy for s in slug.sorts if s.copy >= 0]
    ends = [s.copy + len(s.text) for s in slug.sorts if s.copy >= 0]
    roman = family(first.family).roman
    return SetLine(
        number,
        "".join(item.text for item in kept),
        (x0, y0, x1 - x0, y1 - y0),
        baseline_y,
        roman.height_em("x") * slug.body_pt * px,
        slug.body_pt,
        tuple(kept),
        slug.division,
        max(slug.column, 0),
        (min(at), max(ends)) if at else None,
        (place.x * px, (place.x + slug.measure_pt) * px),
        slug.turned,
    )


def _single_spaces(letters: list[SetLetter]) -> list[SetLetter]:
    kept: list[SetLetter] = []
    for item in letters:
        if item.text == " " and kept and kept[-1].text == " ":
            x, y, _, height = kept[-1].box
            right = item.box[0] + item.box[2]
            kept[-1] = replace(kept[-1], box=(x, y, right - x, height))
        else:
            kept.append(item)
    while kept and kept[-1].text == " ":
        kept.pop()
    while kept and kept[0].text == " ":
        kept.pop(0)
    return kept
