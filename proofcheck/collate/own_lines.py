"""Lines the shop adds that no copy has, an imprint: named once in its settings.

One is let go at the head or foot of its sheet alone, and only where it reads to the letter as it
was named; otherwise it is told as any line that the copy has not.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.collate.same import USUAL, compared

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from proofcheck.base.values import Line, Reading

__all__ = ["OWN_LINE", "own_lines_on"]

OWN_LINE = "own-line"
"""The name by which they are counted among what was let pass."""


def own_lines_on(
    lines: Sequence[Line], readings: Sequence[Reading], named: Iterable[str], copy: str
) -> frozenset[int]:
    """Numbers of the lines that are the shop's own.

    Args:
        lines: of the proof.
        readings: of each.
        named: what they say. What the copy has itself is the copy's.
        copy: the copy's text.
    """
    given = compared(copy, USUAL).text
    own = {text for one in named if (text := compared(one, USUAL).text) and text not in given}
    texts = {reading.line: compared(reading.text, USUAL).text for reading in readings}
    return frozenset(
        line.number
        for line in lines
        if texts.get(line.number) in own and _is_outermost(line, lines)
    )


def _is_outermost(line: Line, lines: Sequence[Line]) -> bool:
    """Whether nothing but matter as high or low stands above it on its sheet, or below it."""
    middles = [one.box.y + one.box.height / 2 for one in lines if one.sheet == line.sheet]
    above = sum(middle < line.box.y for middle in middles)
    below = sum(middle > line.box.bottom for middle in middles)
    return not above or not below
