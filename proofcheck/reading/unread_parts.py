"""What was lifted off a sheet and is matter all the same: told where it was not read for certain.

What is left of a block initial, freed of its block, may read as another letter: then neither that
it is right nor that it is wrong can be said. Type set sideways that reads has an inset.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from proofcheck.base.found import Unread
from proofcheck.sheet.lifted import in_box
from proofcheck.sheet.whereabouts import place_words, size_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.values import Lifted, Line, Reading, Sheet

__all__ = ["unread_parts"]

_SURE: Final = 0.9
"""Certainty from which the letter is what was read."""


def unread_parts(
    sheet: Sheet, lines: Sequence[Line], readings: Sequence[Reading]
) -> tuple[Unread, ...]:
    """Block initials in whose place no letter, or none for certain, was read; type set sideways."""
    read = {inset.home for inset in sheet.insets}
    found = []
    for part in sheet.lifted:
        if part.look == "initial" and not _is_read(part, readings):
            what = "a block initial"
        elif part.look == "sideways" and part.box not in read:
            what = "type set sideways"
        else:
            continue
        words = f"{what}, {size_words(sheet, part.box)} {place_words(sheet, part.box, lines)}"
        found.append(Unread(sheet.number, part.box, words))
    return tuple(found)


def _is_read(part: Lifted, readings: Sequence[Reading]) -> bool:
    held = [
        letter
        for reading in readings
        for letter in reading.letters
        if not letter.text.isspace() and in_box(letter.box, part.box)
    ]
    return len(held) == 1 and held[0].text.isalpha() and held[0].certainty >= _SURE
