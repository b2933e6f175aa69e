"""Wrong font: a letter of another face, size or posture among its fellows.

The letter is right and whole, and yet unlike all others of its kind on the proof, where the
letters beside it in the word are as usual. Or the shop's book of faces says of which other it is.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.kinds import Kind
from proofcheck.metal import by_face
from proofcheck.metal.certain import grown
from proofcheck.metal.company import among_leaning, small_in_running
from proofcheck.metal.finder import Finder
from proofcheck.metal.unsound import EVEN, NEVER, STEP

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.metal.context import Matter
    from proofcheck.metal.findings import MetalFinding
    from proofcheck.metal.judged import Judged

__all__ = ["wrong_fonts"]

LEAST_CERTAINTY = 0.5
"""What is likelier sound is not worth a query: of the like a person agrees with one in four."""
PLAIN_IN_LINE = EVEN + 2 * STEP
"""Odds from which a letter of a head is told as a fault, where those beside it say so: of 23,000
sound letters of bills 2 had as much."""
MANY_INITIALS = 3
"""So many lines that begin with a capital of another face are set so; common practice."""
NAMED = 6.0
"""Log odds from which it is said which face of the book a letter is more like."""


def wrong_fonts(judged: Judged) -> list[MetalFinding]:
    """Single letters of another face in words of the proof's own."""
    matter = judged.matter
    fount, running, face = matter.fount, matter.running, judged.face
    by_book = _by_book(judged)
    found: dict[int, MetalFinding] = {}
    for number in np.flatnonzero(((judged.unsound > NEVER) & ~judged.broken) | (by_book > NEVER)):
        own = float(judged.unsound[number]) if not judged.broken[number] else NEVER
        # What the proof's own letters tell stays told, whatever the book says of it.
        certainty = max(
            grown(own, EVEN, STEP),
            grown(float(by_book[number]), by_face.EVEN, by_face.STEP),
        )
        if certainty < LEAST_CERTAINTY:
            continue
        # Heads and notes are often of a face of their own, old figures of two styles.
        doubtful = not (str(fount.text[number]).islower() and running[fount.line[number]])
        doubtful &= not (judged.by_line[number] and own >= PLAIN_IN_LINE)
        words = ""
        if by_book[number] > NEVER and face.strange[number] > NAMED:
            other = face.others[face.like[number]]
            words = f"wrong font: {fount.text[number]}, more like {other.called}"
        found[int(number)] = matter.finding_on(
            Kind.WRONG_FONT, int(number), certainty, words=words, only_query=doubtful
        )
    return _initials_once(found, matter)


def _initials_once(found: dict[int, MetalFinding], matter: Matter) -> list[MetalFinding]:
    """The findings; capitals of another face that begin many lines are asked about together.

    So an index is set, with a larger or blacker letter where each letter of it begins.
    """
    letters = matter.fount
    first = [
        number
        for number in found
        if letters.at[number] == 0 and str(letters.text[number]).isupper()
    ]
    if len(first) < MANY_INITIALS:
        return list(found.values())
    lines = tuple(found[number].line for number in first)
    words = f"wrong font: so begin {len(lines)} lines"
    asked = replace(found[first[0]], words=words, other_lines=lines[1:], only_query=True)
    return [
        asked if number == first[0] else one
        for number, one in found.items()
        if number == first[0] or number not in first
    ]


def _by_book(judged: Judged) -> NDArray[np.float64]:
    """Log odds by the book of faces, on the scale of `by_face.EVEN`; `NEVER` for what it lets be.

    What it says is added to what the proof's own letters say, which is little where they are few;
    or stands by itself, where the comparer says so too.
    """
    matter, said = judged.matter, judged.face.strange
    many = small_in_running(matter) & np.isfinite(matter.fount.unlike)
    both = judged.own_odds + by_face.COUNTS_FOR * np.clip(said, -by_face.MOST, by_face.MOST)
    alone = by_face.EVEN + said - by_face.EVEN_ALONE
    by_itself = by_face.EVEN + said + judged.face.nearer - by_face.EVEN_NEARER
    by_itself[said <= by_face.ASKED] = NEVER
    odds = np.maximum(np.where(many, both, alone), by_itself)
    told = (said > by_face.NEVER) & (odds > by_face.EVEN)
    for number in np.flatnonzero(told).tolist():
        told[number] = not among_leaning(matter, number)
    return np.where(told, odds, NEVER)


FINDER = Finder(60, wrong_fonts)
