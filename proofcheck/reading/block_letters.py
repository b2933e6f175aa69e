"""The letters of block initials: told where they were not read for certain.

What is left of such a letter, freed of its block, may read as another: then neither that it is
right nor that it is wrong can be said.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from proofcheck.base.found import Unread
from proofcheck.sheet.lifted import in_box
from proofcheck.sheet.whereabouts import place_words, size_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.values import Line, Reading, Sheet

__all__ = ["unread_initials"]

_SURE: Final = 0.9
"""Certainty from which the letter is what was read."""


def unread_initials(
    sheet: Sheet, lines: Sequence[Line], readings: Sequence[Reading]
) -> tuple[Unread, ...]:
    """Block initials of a sheet in whose place no letter, or none for certain, was read."""
    letters = [letter for reading in readings for letter in reading.letters]
    found = []
    for part in sheet.lifted:
        if part.look != "initial":
            continue
        held = [c for c in letters if not c.text.isspace() and in_box(c.box, part.box)]
        if len(held) == 1 and held[0].text.isalpha() and held[0].certainty >= _SURE:
            continue
        words = f"a block initial, {size_words(sheet, part.box)}"
        words = f"{words} {place_words(sheet, part.box, lines)}"
        found.append(Unread(sheet.number, part.box, words))
    return tuple(found)
