"""What of a new slug is to be italic or bold, as the copy has it."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, TypeAlias

from rapidfuzz.distance import Levenshtein

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.base.values import Copy, Span
    from proofcheck.recast.change import Change

__all__ = ["Runs", "styled_slugs"]

Runs: TypeAlias = tuple[tuple[str, str], ...]
"""Stretches of a slug's matter, each with its style: "" for roman, "italic", "bold" …"""


def styled_slugs(
    change: Change, copy: Copy | None, placed: Mapping[int, Span | None]
) -> tuple[Runs, ...]:
    """The matter of each new slug of a change in stretches of one style.

    Args:
        change: the change.
        copy: the approved copy; None for none at hand, and all is roman.
        placed: which stretch of it each printed line holds.
    """
    start, end = _stretch(change, copy, placed)
    styles = [""] * (end - start)
    for each in copy.emphasis if copy else ():
        for at in range(max(each.span.start, start), min(each.span.end, end)):
            styles[at - start] = each.style
    if copy is None or not any(styles):
        return tuple(((slug.text, ""),) for slug in change.slugs)
    return _laid_on(change, copy.text[start:end].replace("\n", " "), styles)


def _stretch(
    change: Change, copy: Copy | None, placed: Mapping[int, Span | None]
) -> tuple[int, int]:
    """The copy between the lines before and after those that are replaced."""
    first = change.lines[0] if change.lines else change.after + 1
    last = change.lines[-1] if change.lines else change.after
    before = [span.end for line, span in placed.items() if span and line < first]
    after = [span.start for line, span in placed.items() if span and line > last]
    start, length = max(before, default=0), len(copy.text) if copy else 0
    end = min((at for at in after if at >= start), default=length)
    return start, max(start, end)


def _laid_on(change: Change, wanted: str, styles: Sequence[str]) -> tuple[Runs, ...]:
    """The slugs' matter laid on the copy letter by letter: each takes the style it meets there."""
    joined, place = "", []
    for slug in change.slugs:
        place.append(len(joined))
        joined += slug.text[:-1] if slug.divided else f"{slug.text} "
    found = [""] * (len(joined) + 1)
    for step in Levenshtein.opcodes(joined, wanted):
        if step.tag == "equal":
            found[step.src_start : step.src_end] = styles[step.dest_start : step.dest_end]
    out = []
    for slug, at in zip(change.slugs, place, strict=True):
        own = [found[at + k] for k in range(len(slug.text))]
        if slug.divided and len(own) > 1:
            own[-1] = own[-2]
        pairs = groupby(zip(slug.text, own, strict=True), key=lambda pair: pair[1])
        out.append(tuple(("".join(char for char, _ in held), style) for style, held in pairs))
    return tuple(out)
