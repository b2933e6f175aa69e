"""What was read as the copy has it, though the page's own letters say otherwise.

A reader that is used to an O among letters takes a nought there for one. Where characters are
easily taken for one another, each is laid on the page's own; a space before a point that is as
wide as those between words is one, read or not; any letter may lie plainly with those of another
character (`page_letters`); a quote may stand the wrong way round (`quotes_amiss`). Only ever
queries: the reader saw no fault.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.agreed import agreed_places
from proofcheck.base.found import Difference
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Span
from proofcheck.collate.naming import kind_of_letters
from proofcheck.weigh.dash_lengths import DashLengths
from proofcheck.weigh.quote_ways import QUOTES
from proofcheck.weigh.quotes_amiss import quotes_amiss
from proofcheck.weigh.ring_shapes import ring_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from proofcheck.base.found import Collation
    from proofcheck.base.values import Copy, Letter, Line, Reading
    from proofcheck.weigh.fellows import Fellows
    from proofcheck.weigh.page_letters import PageLetters
    from proofcheck.weigh.page_says import PageSays

__all__ = ["overlooked", "with_overlooked"]

_TAKEN_FOR = {"I": "l1", "1": "lI", "0": "Oo", "O": "0", "—": "–-", "–": "-—", "-": "–—"}
"""What may stand where one of these was read: few enough on a page to look at each."""
_NEARLY_ONE = {"o": "0"}
"""What may stand where this was read in a face that has one ring for both. Not the reverse: of many
o's some three lie nearer a nought than the few other noughts do."""
_RINGS = {"o": "0", "O": "0"}
_DOUBTED = 0.8
"""Certainty under which a ring among letters may be a nought, if it is not as like the page's own
as they usually are: of two noughts set for o's and read as such one had 0.65 and one 0.73."""
_POINTS = ".,"
_A_SPACE = 0.8
"""A gap before a point from this share of the line's usual word space on is a space …"""
_USUALLY = 3.0
"""… where it is also so many times what the page has before its points."""
_WHOLE_X = 0.6
"""x-heights that the letter before it must be high to be whole."""
_LEAST_OF_X = 0.3
"""… and this share of the x-height."""


def with_overlooked(
    collation: Collation,
    lines: Sequence[Line],
    readings: Sequence[Reading],
    copy: Copy,
    page: PageSays | None,
    letters: PageLetters | None = None,
) -> Collation:
    """The collation with what was overlooked among its differences."""
    if page is None or collation.mismatch:
        return collation
    amiss, instead_of = quotes_amiss(collation, readings, copy, page.fellows)
    found = (*overlooked(collation, lines, readings, copy, page.fellows, letters), *amiss)
    order = {reading.line: at for at, reading in enumerate(readings)}
    differences = sorted(
        (*(each for each in collation.differences if each not in instead_of), *found),
        key=lambda difference: (order.get(difference.line, -1), difference.proof.start),
    )
    return replace(collation, differences=tuple(differences)) if found else collation


def overlooked(
    collation: Collation,
    lines: Sequence[Line],
    readings: Sequence[Reading],
    copy: Copy,
    fellows: Fellows,
    letters: PageLetters | None = None,
) -> tuple[Difference, ...]:
    """Differences at places where reading and copy agree."""
    held = {placing.line: placing.copy for placing in collation.placings}
    disputed: dict[int, set[int]] = defaultdict(set)
    for difference in collation.differences:
        disputed[difference.line].update(
            range(difference.proof.start - 1, difference.proof.end + 1)
        )
    usual = _usual_before_points(readings)
    at_line = {line.number: line for line in lines}
    lengths = DashLengths(at_line, readings)
    found: list[Difference] = []
    strangers: dict[int, dict[int, str]] = defaultdict(dict)
    for one in letters.strangers() if letters else ():
        strangers[one.line][one.at] = one.is_rather
    for reading in readings:
        span = held.get(reading.line)
        if span is None or reading.line not in at_line:
            continue
        agreed = agreed_places(reading.text, copy.text, span, QUOTES)
        free = {at: c for at, c in agreed.items() if at not in disputed[reading.line]}
        others = {at: other for at, other in strangers[reading.line].items() if at in free}
        found += [_instead(reading, at, free[at], other) for at, other in others.items()]
        rest = {at: where for at, where in free.items() if at not in others}
        found += _strangers(reading, rest, fellows, lengths)
        found += _spaces(reading, free, at_line[reading.line].x_height_px, usual)
    return tuple(found)


def _strangers(
    reading: Reading, free: dict[int, int], fellows: Fellows, lengths: DashLengths
) -> Iterator[Difference]:
    """Letters that are another character's by the look of the page's own."""
    for at, letter in enumerate(reading.letters):
        if at not in free:
            continue
        other = _other(reading, at, fellows) or lengths.other(reading.line, letter)
        if other:
            yield _instead(reading, at, free[at], other)


def _other(reading: Reading, at: int, fellows: Fellows) -> str:
    """What a letter may be instead of what was read; "" if it is that."""
    line, letter = reading.line, reading.letters[at]
    read = letter.text
    for other in _TAKEN_FOR.get(read, ""):
        if fellows.is_rather(line, letter.box, read, other):
            return other
    doubted = read in _RINGS and letter.certainty < _DOUBTED
    doubted = doubted and ring_of(reading.letters, at) != read
    if doubted and not fellows.is_usual(line, letter.box, read):
        return _RINGS[read]
    near = _NEARLY_ONE.get(read, "")
    return near if near and fellows.is_nearer(line, letter.box, read, near) else ""


def _instead(reading: Reading, at: int, in_copy: int, other: str) -> Difference:
    """Another letter where one was read as the copy has it."""
    own = reading.letters[at].text
    return Difference(
        kind=kind_of_letters(other, own),
        line=reading.line,
        proof=Span(at, at + 1),
        proof_text=other,
        copy=Span(in_copy, in_copy + 1),
        copy_text=own,
        only_query=True,
    )


def _gaps(letters: Sequence[Letter]) -> Iterator[tuple[int, int]]:
    """Places of points that stand close after a letter, and the gap before each, pixels."""
    for at in range(1, len(letters)):
        before, point = letters[at - 1], letters[at]
        if point.text in _POINTS and before.text.isalnum():
            yield at, point.box.x - before.box.right


def _usual_before_points(readings: Sequence[Reading]) -> float:
    gaps = [gap for reading in readings for _, gap in _gaps(reading.letters)]
    return max(float(np.median(gaps)), 1.0) if gaps else 1.0


def _spaces(
    reading: Reading, free: dict[int, int], x_height_px: float, usual: float
) -> Iterator[Difference]:
    """Gaps before points that are as wide as those between words."""
    letters = reading.letters
    words = [
        after.box.x - before.box.right
        for before, space, after in zip(letters, letters[1:], letters[2:], strict=False)
        if space.text == " "
    ]
    if not words:
        return
    least = max(_A_SPACE * float(np.median(words)), _USUALLY * usual, _LEAST_OF_X * x_height_px)
    for at, gap in _gaps(letters):
        # A letter whose ink was given to its neighbour leaves white that is none.
        whole = letters[at - 1].box.height >= _WHOLE_X * x_height_px
        if whole and gap >= least and at in free and at - 1 in free:
            yield Difference(
                kind=Kind.SPACE_EXTRA,
                line=reading.line,
                proof=Span(at, at),
                proof_text=" ",
                copy=Span(free[at], free[at]),
                copy_text="",
                only_query=True,
            )
