"""The room lines have: their shape as the proof shows it, and what their spaces may come to."""

from __future__ import annotations

from dataclasses import replace
from statistics import median, quantiles
from typing import TYPE_CHECKING

from proofcheck.base.bands import band_kind
from proofcheck.recast.justify import Limits, Shape, limits_of_bands, limits_of_case

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.values import Copy
    from proofcheck.recast.galley import Galley, StandingLine
    from proofcheck.recast.settings import CastSettings
    from proofcheck.recast.stretch import OldLine, Paragraph

__all__ = ["LEADERS", "limits_on", "shape_of", "with_leaders"]

LEADERS = ("....", "……", ". . .")
"""How readers write a row of leaders."""
_LEAST_LINES = 8
"""Full lines from which on the spaces of a proof say what its machine can do."""
_INDENT_EM = 0.4
"""An indention is at least so deep."""


def shape_of(
    paragraph: Paragraph, standing: Sequence[StandingLine], galley: Galley, size: int
) -> Shape:
    """Measure and indentions of a paragraph, and whether its lines are justified."""
    measure = median(galley.measures[line.column].length_pt for line in standing)
    em = galley.bodies_pt[size]
    last = paragraph.old[-1] if paragraph.old else None
    inner = [line for line in standing if last is None or line.number != last.number]
    inner = inner or list(standing)
    if sum(line.full for line in inner) * 2 < len(inner):
        return Shape(measure, 0.0, 0.0, justified=False)
    first = paragraph.old[0].number if paragraph.old and paragraph.old[0].start == 0 else None
    rest = [line.indent_pt for line in standing if line.number != first and line.full]
    hang = median(rest) if rest else 0.0
    own = next((line.indent_pt for line in standing if line.number == first), em)
    deep = _INDENT_EM * em
    return Shape(measure, own if own > deep else 0.0, hang if hang > deep else 0.0)


def limits_on(galley: Galley, size: int, settings: CastSettings) -> tuple[Limits, list[str]]:
    """What the word spaces of one size of type may come to, with a note where that is odd.

    The limits of the bands (or of the case) are widened to what the proof's own lines show.
    """
    body, margin = galley.bodies_pt[size], 2 * galley.unsure_pt[size]
    if settings.hand_set:
        limits = limits_of_case(body, margin_pt=margin)
    else:
        limits = limits_of_bands(band_kind(settings.bands), body, margin_pt=margin)
    spaces = [
        line.space_pt
        for line in galley.lines.values()
        if line.size == size and line.full and line.space_pt is not None
    ]
    slack = 0.02 * limits.greatest_pt
    low, high = limits.least_pt - slack, limits.greatest_pt + slack
    outside = [space for space in spaces if not low <= space <= high]
    if len(spaces) < _LEAST_LINES or len(outside) * 10 < len(spaces):
        return limits, []
    cuts = quantiles(spaces, n=20)
    least, greatest = min(limits.least_pt, cuts[0]), max(limits.greatest_pt, cuts[-1])
    kind = "spaces of the case" if settings.hand_set else f"{settings.bands} bands"
    note = (
        f"{len(outside)} of {len(spaces)} full lines have spaces that {kind} don't give; "
        f"planned with what the proof shows, {least:.1f} to {greatest:.1f} pt "
        "(check the kind of bands and the resolution of the scan)"
    )
    usual = min(max(limits.usual_pt, least), greatest)
    return replace(limits, least_pt=least, greatest_pt=greatest, usual_pt=usual), [note]


def with_leaders(paragraph: Paragraph, old: OldLine, copy: Copy, printed: str) -> str:
    """A line's matter, with leaders where the copy has a tab and print has leaders."""
    at = paragraph.matter.at
    start = at[old.start]
    end = at[old.next] if old.next < len(at) else paragraph.span.end
    source = copy.text[start:end]
    text = paragraph.matter.text[old.start : old.next].strip()
    if "\t" not in source or not any(sign in printed for sign in LEADERS):
        return text
    split = paragraph.matter.index(start + source.index("\t")) - old.start
    whole = paragraph.matter.text[old.start : old.next]
    return f"{whole[:split].strip()} ..... {whole[split:].strip()}"
