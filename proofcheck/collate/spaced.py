"""Lines set with spaces between their letters, and words that stand off from a large initial."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.collate.place import Loose, loose
from proofcheck.collate.same import Compared

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.base.values import Reading

__all__ = ["with_initials", "without_letterspace"]

_LEAST_WORDS = 4
_SINGLE = 0.6
"""Share of a line's words that are single letters or figures, a point after them or not, from which
on it is letterspaced, where it has `_OFTEN` as many words as the copy there; ditto marks side by
side are not."""
_OFTEN = 2

_INITIAL = 1.6
"""An initial is so many times as tall as the tallest letter of the word after it, or more;
common practice: two lines deep at least."""
_ROUND = 40
"""Characters of copy before and after a line's place that are searched for its first word."""


def with_initials(
    lines: Sequence[Compared],
    readings: Sequence[Reading],
    copy: Compared,
    places: Mapping[int, tuple[int, int]],
) -> dict[int, Compared]:
    """The lines again whose large initial stands off from a word the copy has in one.

    Args:
        lines: all printed lines.
        readings: what they were made from.
        copy: the copy's compared form.
        places: about where in it lines stand, by their place in the proof.
    """
    out = {}
    for k, (start, end) in places.items():
        words = lines[k].text.split(" ", 2)
        if len(words) < 2 or len(words[0]) != 1 or not words[0].isupper():
            continue
        if not words[1][:1].isalpha():
            # A point off from an initial of a name is no word of a large one.
            continue
        near = copy.text[max(0, start - _ROUND) : end + _ROUND].casefold().split(" ")
        if "".join(words[:2]).casefold() in near and _is_large(readings[k], len(words[1])):
            keep = np.arange(len(lines[k].text)) != 1
            text = words[0] + lines[k].text[2:]
            line = lines[k]
            out[k] = Compared(text, line.start[keep], line.end[keep], line.altered[keep])
    return out


def _is_large(reading: Reading, size: int) -> bool:
    """Whether a line's first letter is an initial to the word of `size` letters after it."""
    heights = [letter.box.height for letter in reading.letters]
    return heights[0] >= _INITIAL * max(heights[2 : 2 + size], default=heights[0])


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
        wanted = copy.text[start:end]
        if _is_letterspaced(lines[k].text.split(" "), wanted.split()):
            out[k] = _closed_up(lines[k], wanted)
    return out


def _is_letterspaced(words: Sequence[str], wanted: Sequence[str]) -> bool:
    """Whether a line's words are but letters set off from one another, of fewer words of copy."""
    single = sum(word[:1].isalnum() and not any(map(str.isalnum, word[1:])) for word in words)
    often = len(words) >= max(_LEAST_WORDS, _OFTEN * len(wanted))
    return often and single >= _SINGLE * len(words)


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
