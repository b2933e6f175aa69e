"""Make-up: what a reader says of lines together. All of it is for a person to judge.

A paragraph should not end in a line of two or three letters (Stewart, 1919), nor its short last
line stand at the head of a column; wide spaces should not stand under each other line after line.
Divisions running are told with the text.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from proofcheck.metal.context import Matter
    from proofcheck.metal.judged import Judged
    from proofcheck.metal.spaces import Spaces

__all__ = ["make_up_notes"]

MOST_LETTERS = 3
"""A last line of so few letters is a stub."""
RIVER_LINES = 5
RIVER_EM = 0.6
"""Spaces this wide, one under another in so many lines running, are a river."""
_WIDOW = 0.75
"""A widow is shorter than this share of the lines that follow."""


def make_up_notes(judged: Judged) -> tuple[str, ...]:
    """Plain sentences on stubs, widows and rivers, in order of the proof."""
    matter = judged.matter
    found = [*_stubs(matter), *_widows(matter), *_rivers(matter, judged.spaces)]
    return tuple(text for _, text in sorted(found))


def _ends_paragraph(matter: Matter, row: int) -> bool:
    """Whether a paragraph of some lines ends with this one."""
    held = matter.placed[row]
    if held is None:
        return False
    return any(p.start < held.start and abs(p.end - held.end) <= 1 for p in matter.copy.paragraphs)


def _stubs(matter: Matter) -> list[tuple[int, str]]:
    found = []
    for row, reading in enumerate(matter.readings):
        letters = sum(character.isalnum() for character in reading.text)
        if 0 < letters <= MOST_LETTERS and _ends_paragraph(matter, row):
            number = matter.lines[row].number
            found.append((number, f"line {number} ends a paragraph with {letters} letters alone"))
    return found


def _widows(matter: Matter) -> list[tuple[int, str]]:
    found = []
    for row in range(1, len(matter.lines) - 1):
        line, before, after = matter.lines[row], matter.lines[row - 1], matter.lines[row + 1]
        new = (line.sheet, line.column) != (before.sheet, before.column)
        same = (line.sheet, line.column) == (after.sheet, after.column)
        short = line.box.width < _WIDOW * after.box.width
        if new and same and short and matter.is_words(row) and _ends_paragraph(matter, row):
            text = f"line {line.number}, a paragraph's last, stands at the head of its column"
            found.append((line.number, text))
    return found


def _rivers(matter: Matter, spaces: Spaces) -> list[tuple[int, str]]:
    wide: dict[int, list[tuple[float, float]]] = {}
    for row, left, px, em in zip(
        spaces.row.tolist(), spaces.left.tolist(), spaces.wide_px.tolist(), spaces.wide_em.tolist(),
        strict=True,
    ):  # fmt: skip
        if em >= RIVER_EM:
            wide.setdefault(row, []).append((left, left + px))
    found: list[tuple[int, str]] = []
    runs: dict[tuple[float, float], int] = {}
    for row in range(len(matter.lines)):
        now = {}
        for gap in wide.get(row, ()):
            above = [
                length
                for other, length in runs.items()
                if other[0] < gap[1] and other[1] > gap[0] and _together(matter, row)
            ]
            now[gap] = max(above, default=0) + 1
            if now[gap] == RIVER_LINES:
                first, last = (matter.lines[r].number for r in (row - RIVER_LINES + 1, row))
                text = f"lines {first} to {last}: wide spaces stand under each other, a river"
                found.append((first, text))
        runs = now
    return found


def _together(matter: Matter, row: int) -> bool:
    """Whether a line and the one before it are of one paragraph: white in a list is meant."""
    one, other = matter.lines[row - 1], matter.lines[row]
    if (one.sheet, one.column) != (other.sheet, other.column):
        return False
    first, second = matter.placed[row - 1], matter.placed[row]
    if first is None or second is None:
        return False
    return any(p.start <= first.start and second.start < p.end for p in matter.copy.paragraphs)
