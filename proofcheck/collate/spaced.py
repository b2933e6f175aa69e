"""Lines set with spaces between their letters, as display lines often are."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.collate.place import Loose, loose
from proofcheck.same import Compared

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

__all__ = ["without_letterspace"]

_LEAST_WORDS = 4
_SINGLE = 0.7
"""Share of a line's words that are single letters, from which on it is letterspaced."""


def without_letterspace(
    lines: Sequence[Compared], copy: Compared, places: Mapping[int, tuple[int, int]]
) -> dict[int, Compared]:
    """The letterspaced lines again, with spaces only where the copy has them.

    Args:
        lines: all printed lines.
        copy: the copy's compared form.
        places: about where in it lines stand, by their place in the proof.
    """
    out = {}
    for k, (start, end) in places.items():
        words = lines[k].text.split(" ")
        single = sum(len(word) == 1 for word in words)
        if len(words) >= _LEAST_WORDS and single >= _SINGLE * len(words):
            out[k] = _closed_up(lines[k], copy.text[start:end])
    return out


def _closed_up(line: Compared, copy: str) -> Compared:
    """A line without the spaces that the copy hasn't between the same letters."""
    ours, theirs = loose(copy), loose(line.text)
    spaced = _spaced_after(copy, ours)
    keep = np.ones(len(line.text), dtype=bool)
    last = -1
    for at, char in enumerate(line.text):
        if char == " ":
            keep[at] = last in spaced or last < 0
        elif last + 1 < len(theirs.at) and theirs.at[last + 1] == at:
            last += 1
    text = "".join(char for char, kept in zip(line.text, keep, strict=True) if kept)
    return Compared(text, line.start[keep], line.end[keep], line.altered[keep])


def _spaced_after(text: str, letters: Loose) -> set[int]:
    """Which letters (by number) have a space between them and the next."""
    ends = letters.at.tolist()
    return {k for k in range(len(ends) - 1) if " " in text[ends[k] : ends[k + 1]]}
