"""Copy told as missing where a line could not be read: which of it that line may hold."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

from proofcheck.base.kinds import Kind

if TYPE_CHECKING:
    from collections.abc import Container, Iterator, Mapping, Sequence

    from proofcheck.base.found import Found
    from proofcheck.base.values import Line, Reading, Span

__all__ = ["WHOLE_LINES", "closed", "pairs_of", "words_beside"]

_SET_WIDTH_X: Final = (0.5, 2.5)
"""X-heights of a line to a character of the copy that it may hold, spaces left out: from script
whose capitals are taken for the x-height (0.56 to 0.6 of two faces) to wide capitals."""
WHOLE_LINES: Final = frozenset({Kind.LINE_MISSING, Kind.MATTER_MISSING})
"""Missing beside a line that is not read, and not taken for it, they may be one more."""


def pairs_of(
    found: Sequence[Found],
    lines: Sequence[Line],
    astray: Container[int],
    placed: Mapping[int, Span | None],
    held: Mapping[int, str],
) -> dict[int, int]:
    """For lines of no place in the copy the finding of copy missing just there, as wide set.

    Copy of several lines is missing as one: then as many of them stand for it as are as wide.
    """
    pairs: dict[int, int] = {}
    by_number = {line.number: line for line in lines}
    order = [number for number in placed if number in by_number]
    place = {number: at for at, number in enumerate(order)}
    usual = _usual_width(by_number, held)
    whole = [(at, each) for at, each in enumerate(found) if each.difference.kind in WHOLE_LINES]
    words = [(at, e) for at, e in enumerate(found) if e.difference.kind is Kind.WORD_MISSING]
    for at, each in (*whole, *words):
        wanted = max(len(closed(each.difference.copy_text)), 1)
        fits: list[tuple[float, list[int]]] = []
        for way in _ways(each, order, place.get(each.difference.line, -1)):
            run, wide = [], 0.0
            for number in way:
                if number not in astray or number in pairs:
                    break
                run.append(number)
                wide += _wide(by_number[number]) / wanted
                if wide > _SET_WIDTH_X[1]:
                    break
                if wide >= _SET_WIDTH_X[0]:
                    fits.append((abs(math.log(wide / usual)), [*run]))
        if fits:
            pairs |= dict.fromkeys(min(fits)[1], at)
    return pairs


def _ways(each: Found, order: Sequence[int], place: int) -> Iterator[Sequence[int]]:
    """The lines from where something is missing on: those after, those up to there, and before.

    A word alone in its line is told as missing before the first of the next.
    """
    yield order[place + 1 :]
    if place >= 0:
        yield order[place::-1]
    if place > 0 and each.difference.proof.start == 0:
        yield order[place - 1 :: -1]


def words_beside(
    found: Sequence[Found],
    lost: Sequence[Line],
    order: Sequence[int],
    readings: Sequence[Reading],
    held: Mapping[int, str],
) -> dict[int, tuple[int, str]]:
    """Words missing at the end of the line before one that is not read, or where the next begins.

    Where a line ends is known by what the next was read as: they may be its own. By the line, which
    finding it is, and what the line may hold with it.
    """
    told: dict[int, tuple[int, str]] = {}
    place = {number: at for at, number in enumerate(order)}
    ends = {reading.line: len(reading.letters) for reading in readings}
    by_number = {line.number: line for line in lost}
    for at, each in enumerate(found):
        difference, here = each.difference, place.get(each.difference.line)
        if difference.kind is not Kind.WORD_MISSING or here is None:
            continue
        words = difference.copy_text.strip()
        after, before = order[here + 1 : here + 2], order[max(here - 1, 0) : here]
        if difference.proof.start == ends.get(difference.line) and set(after) & by_number.keys():
            number, whole = after[0], f"{words} {held[after[0]]}"
        elif difference.proof.end == 0 and set(before) & by_number.keys():
            number, whole = before[0], f"{held[before[0]]} {words}"
        else:
            continue
        if _wide(by_number[number]) >= _SET_WIDTH_X[0] * len(closed(whole)):
            told[number] = at, whole
    return told


def _wide(line: Line) -> float:
    """Width of a line, x-heights."""
    return line.box.width / max(line.x_height_px, 1.0)


def _usual_width(lines: Mapping[int, Line], held: Mapping[int, str]) -> float:
    """X-heights of a line to a character of what it holds, spaces left out, on the whole proof."""
    shares = [
        _wide(lines[number]) / len(closed(words))
        for number, words in held.items()
        if number in lines and closed(words)
    ]
    return float(np.median(shares)) if shares else 1.0


def closed(text: str) -> str:
    """Without spaces, and case: in large display the two are hardly told apart."""
    return "".join(text.split()).casefold()
