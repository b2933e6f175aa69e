"""Words in capitals or small capitals: what a reader takes for small letters in them, and runs.

A small capital o is as tall as a small o and of one shape with it; so are c s u v w x z. A reader
that sees a letter and its neighbours can't tell which it is. The word can: among its capitals a
letter as tall as they are is one of them, a letter plainly shorter is not.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.kinds import Kind
from proofcheck.collate.edits import Edit, How

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.found import Difference
    from proofcheck.base.values import Reading
    from proofcheck.collate.same import Compared

__all__ = ["LIKE_CAPITALS", "asked_once", "only_capitals", "with_capitals", "with_stretched_case"]

LIKE_CAPITALS = frozenset("cosuvwxz")
"""Small letters shaped like their capitals; common practice."""

_AS_TALL = 0.85
"""A letter from this share of its neighbours' height on is a capital as they are. Small letters
are 0.62 to 0.75 of a capital's height in text faces, round ones with what they overshoot."""

_STYLE = 3
"""Words in capitals so often for the copy's small letters are the style of the job: asked once."""
_WORD = re.compile("[^ ]+")


def only_capitals(text: str) -> bool:
    """Whether a stretch has no small letter but those shaped like capitals."""
    return not any(char.islower() and char not in LIKE_CAPITALS for char in text)


def with_capitals(line: Compared, reading: Reading) -> Compared:
    """A line with the letters set right that the height of their word's capitals shows to be such.

    Args:
        line: its compared form.
        reading: what it was made from.
    """
    heights = [letter.box.height for letter in reading.letters for _ in letter.text]
    found = [
        at
        for word in _WORD.finditer(line.text)
        for at in _capitals_in(line, word.start(), word.group(), heights)
    ]
    if not found:
        return line
    chars, altered = list(line.text), line.altered.copy()
    for at in found:
        chars[at] = chars[at].upper()
        altered[at] = True
    return type(line)("".join(chars), line.start, line.end, altered)


def _capitals_in(line: Compared, start: int, word: str, heights: list[int]) -> list[int]:
    """Where in a line the letters of one word stand that are capitals though read small."""
    small = [k for k, char in enumerate(word) if char in LIKE_CAPITALS]
    if not small or not only_capitals(word):
        return []
    # The first letter of a word in small capitals may be a large one.
    first = next(k for k, char in enumerate(word) if char.isalpha())
    capitals = [heights[line.start[start + k]] for k in range(first + 1, len(word))
                if word[k].isupper()]  # fmt: skip
    if not capitals:
        return []
    least = _AS_TALL * float(np.median(capitals))
    return [start + k for k in small if heights[line.start[start + k]] >= least]


def with_stretched_case(edits: list[Edit], proof: str, copy: str) -> list[Edit]:
    """Stretches of capitals that follow one another on a line made one.

    Args:
        edits: in order of the proof; those of case are `How.CASE`.
        proof: the text of the printed lines.
        copy: the copy's compared form.
    """
    out: list[Edit] = []
    for edit in edits:
        last = out[-1] if out else None
        if last and last.how is edit.how is How.CASE and _one_stretch(last, edit, proof, copy):
            out[-1] = Edit(last.c0, edit.c1, last.p0, edit.p1, How.CASE)
        else:
            out.append(edit)
    return out


def _one_stretch(first: Edit, second: Edit, proof: str, copy: str) -> bool:
    """Whether the words of two stretches, and what lies between them, are all in capitals."""
    if max(first.p1 - first.p0, second.p1 - second.p0) < 2:
        return False
    between = proof[first.p1 : second.p0]
    if between != copy[first.c1 : second.c0] or "\n" in between:
        return False
    start = max(proof.rfind(char, 0, first.p0) for char in " \n") + 1
    ends = [at for char in " \n" if (at := proof.find(char, second.p1)) >= 0]
    return only_capitals(proof[start : min(ends, default=len(proof))])


def asked_once(differences: Sequence[Difference]) -> list[Difference]:
    """The differences; words set in capitals on many lines are asked about together.

    Heads, names and parts are set so by the shop's own rule, whatever the customer wrote.
    """
    found = [one for one in differences if _is_style(one)]
    if len({one.line for one in found}) < _STYLE:
        return list(differences)
    first, *rest = found
    others = sorted({one.line for one in rest} - {first.line})
    asked = replace(first, other_lines=tuple(others))
    left_out = {id(one) for one in rest}
    return [asked if one is first else one for one in differences if id(one) not in left_out]


def _is_style(difference: Difference) -> bool:
    printed, wanted = difference.proof_text, difference.copy_text
    whole = difference.kind is Kind.CASE and difference.only_query
    return whole and printed.upper() == printed and wanted.upper() != wanted
