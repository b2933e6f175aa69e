"""The proof's lines as set matter: widths by size of type, and where every line begins and ends."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from itertools import pairwise
from statistics import median
from typing import TYPE_CHECKING

from proofcheck.base.units import px_to_pt
from proofcheck.recast.keyed import units_of
from proofcheck.recast.widths import SeenLine, SetWidths, fit_widths

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from proofcheck.base.values import Line, Reading
    from proofcheck.recast.faces import Face

__all__ = ["Galley", "Measure", "StandingLine", "galley_of"]

_SAME_SIZE = 1.12
"""x-heights within this ratio are of one size of type (they are measured to a pixel or so)."""
_EM_OF_X_HEIGHT = 2.2
_EDGE_EM = 0.5
"""A line ends at the measure when it comes so near to it."""
_LEADERS = "...."


@dataclass(frozen=True, slots=True)
class Measure:
    """The edges of one column, in points from the left of its sheet, and its lines' distance."""

    left_pt: float
    right_pt: float
    pitch_pt: float
    """From one baseline to the next, 0 where there is but one line."""

    @property
    def length_pt(self) -> float:
        """The measure."""
        return self.right_pt - self.left_pt


@dataclass(frozen=True, slots=True)
class StandingLine:
    """One printed line as it stands in its column."""

    number: int
    column: tuple[int, int]
    """Sheet and column."""
    size: int
    """Which size of type, a key of `Galley.widths`."""
    left_pt: float
    """Where its matter begins, set width and all."""
    right_pt: float
    full: bool
    """Whether it reaches the end of the measure."""
    indent_pt: float
    """From the beginning of the measure."""
    space_pt: float | None
    """Its word spaces; None without any."""


@dataclass(frozen=True, slots=True, eq=False)
class Galley:
    """The set matter of a proof."""

    lines: Mapping[int, StandingLine]
    measures: Mapping[tuple[int, int], Measure]
    """By sheet and column."""
    widths: Mapping[int, SetWidths]
    bodies_pt: Mapping[int, float]
    """Body of each size of type, as estimated."""
    unsure_pt: Mapping[int, float]
    """Standard error of a full line's length, by size."""


def galley_of(
    lines: Sequence[Line],
    readings: Sequence[Reading],
    dpi: Mapping[int, float],
    face: Face,
    styles: Callable[[Reading], Sequence[str] | None],
) -> Galley:
    """Measure the lines.

    Args:
        lines: the printed lines.
        readings: what was read on them.
        dpi: resolution of each sheet, by its number.
        face: fallen back on for letters not seen.
        styles: the style of every letter of a reading ("" roman, "italic" …); None where it
            can't be told, which leaves the line out of the fit.
    """
    read = {reading.line: reading for reading in readings if reading.letters}
    held = [line for line in lines if line.number in read]
    sizes = _sizes(held)
    seen = {line.number: _seen(line, read[line.number], dpi[line.sheet], styles) for line in held}
    widths = {
        size: _widths([line for line in held if sizes[line.number] == size], seen, dpi, face)
        for size in set(sizes.values())
    }
    pens = {
        line.number: _pen(read[line.number], widths[sizes[line.number]], dpi[line.sheet])
        for line in held
    }
    measures = _measures(held, pens, sizes, dpi)
    standing = {
        line.number: _standing(
            line, sizes[line.number], pens[line.number], widths[sizes[line.number]],
            measures[line.sheet, line.column],
        )
        for line in held
    }  # fmt: skip
    return Galley(
        standing,
        measures,
        widths,
        {s: median(ln.body_pt for ln in held if sizes[ln.number] == s) for s in widths},
        {s: _unsure(widths[s], [read[n] for n, st in standing.items() if st.size == s and st.full])
         for s in widths},
    )  # fmt: skip


def _widths(
    own: Sequence[Line],
    seen: Mapping[int, SeenLine | None],
    dpi: Mapping[int, float],
    face: Face,
) -> SetWidths:
    """The widths of one size, from the lines of it."""
    px_pt = px_to_pt(1.0, dpi[own[0].sheet])
    em = _EM_OF_X_HEIGHT * median(line.x_height_px for line in own) * px_pt
    good = [one for line in own if (one := seen[line.number]) is not None]
    return fit_widths(good, face, em_pt=em, px_pt=px_pt)


def _standing(
    line: Line, size: int, pen: tuple[float, float], widths: SetWidths, measure: Measure
) -> StandingLine:
    left, right = pen
    return StandingLine(
        line.number,
        (line.sheet, line.column),
        size,
        left,
        right,
        abs(right - measure.right_pt) < _EDGE_EM * widths.em_pt,
        left - measure.left_pt,
        widths.spaces_pt.get(line.number),
    )


def _sizes(lines: Sequence[Line]) -> dict[int, int]:
    """Which size of type each line is of, by its x-height."""
    out: dict[int, int] = {}
    size, start = -1, 0.0
    for line in sorted(lines, key=lambda line: line.x_height_px):
        if size < 0 or line.x_height_px > start * _SAME_SIZE:
            size, start = size + 1, line.x_height_px
        out[line.number] = size
    return out


def _seen(
    line: Line, reading: Reading, dpi: float, styles: Callable[[Reading], Sequence[str] | None]
) -> SeenLine | None:
    """The line for the fit; None where its letters' distances mean nothing."""
    text = reading.text
    style = styles(reading)
    if style is None or _LEADERS in text or "  " in text:
        return None
    units, lefts, at = [], [], 0
    for unit in units_of(text):
        units.append(f"{style[at]} {unit}" if style[at] and unit != " " else unit)
        lefts.append(px_to_pt(float(reading.letters[at].box.x), dpi))
        at += len(unit)
    return SeenLine(line.number, tuple(units), tuple(lefts))


def _pen(reading: Reading, widths: SetWidths, dpi: float) -> tuple[float, float]:
    """Where a line's matter begins and ends, in points."""
    first, last = reading.letters[0], reading.letters[-1]
    unit = units_of(reading.text)[-1]
    start = reading.letters[len(reading.letters) - len(unit)]
    left = px_to_pt(float(first.box.x), dpi) - widths.bearing_pt(first.text)
    by_width = (
        px_to_pt(float(start.box.x), dpi) - widths.bearing_pt(unit) + widths.of(unit).width_pt
    )
    # A last letter read wrongly must not put the line's end far from its ink.
    ink = px_to_pt(float(last.box.right), dpi)
    return left, min(max(by_width, ink), ink + 0.15 * widths.em_pt)


def _measures(
    lines: Sequence[Line],
    pens: Mapping[int, tuple[float, float]],
    sizes: Mapping[int, int],
    dpi: Mapping[int, float],
) -> dict[tuple[int, int], Measure]:
    held: dict[tuple[int, int], list[Line]] = defaultdict(list)
    for line in lines:
        held[line.sheet, line.column].append(line)
    out = {}
    for key, own in held.items():
        near = 4.0
        left = _edge([pens[line.number][0] for line in own], near, 0.25)
        right = _edge([pens[line.number][1] for line in own], near, 0.8)
        usual = Counter(sizes[line.number] for line in own).most_common(1)[0][0]
        feet = [ln.baseline[0] for ln in own if sizes[ln.number] == usual]
        steps = [px_to_pt(b - a, dpi[key[0]]) for a, b in pairwise(feet)]
        good = [step for step in steps if step > 0]
        out[key] = Measure(left, right, median(good) if good else 0.0)
    return out


def _edge(places: Sequence[float], near_pt: float, share: float) -> float:
    """The edge that lines keep to: the middle of those near the given quantile."""
    ordered = sorted(places)
    at = ordered[min(int(share * len(ordered)), len(ordered) - 1)]
    return median([place for place in ordered if abs(place - at) <= near_pt])


def _unsure(widths: SetWidths, readings: Sequence[Reading]) -> float:
    errors = []
    for reading in readings[:40]:
        counts = Counter(unit for unit in units_of(reading.text) if unit != " ")
        errors.append(widths.error_pt(counts))
    return median(errors) if errors else 0.0
