"""Set lines exactly as they are given, whatever stands in them: for a published specimen."""

from __future__ import annotations

from dataclasses import dataclass

from .matter import BANDS_IN, PT_PER_IN, Forme, Slug, Sort, Style, sorts_of

__all__ = ["GivenLine", "set_as_given"]


@dataclass(frozen=True, slots=True)
class GivenLine:
    """One line's text; `full` where it is spread to the measure."""

    text: str
    indent_pt: float = 0.0
    full: bool = True


def set_as_given(lines, copy: str, *, measure_picas: float, style: Style) -> Forme:
    """Set each given line as one slug; `copy` is the right text, for the truth."""
    measure = measure_picas / 6 * PT_PER_IN
    slugs = tuple(_slug(n, line, measure, style) for n, line in enumerate(lines, start=1))
    return Forme(slugs, measure, copy)


def _slug(number: int, line: GivenLine, measure: float, style: Style) -> Slug:
    low, high = (inches * PT_PER_IN for inches in BANDS_IN[style.bands])
    sorts: list[Sort] = []
    for word in line.text.split(" "):
        if sorts:
            width = style.body_pt / 3
            space = Sort(" ", width, -1, "roman", style.family, style.body_pt, band=True)
            sorts.append(space)
        chars = [(char, "roman", -1) for char in word]
        sorts += sorts_of(chars, style.family, style.body_pt)
    slug = Slug(
        number,
        tuple(sorts),
        style.body_pt,
        style.lead_pt,
        measure,
        (low, high),
        indent_pt=line.indent_pt,
        full=line.full,
    )
    return slug.respread()
