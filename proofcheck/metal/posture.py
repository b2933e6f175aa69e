"""Italic for roman, bold for light and the reverse, where the copy says which is wanted.

The slope of a letter is read from its ink (how far its head leans over its foot) and counted from
the upright letters of its kind, so that an "f" or a "y" is not italic for its shape. A word's slope
is the mean of its letters'. Its weight is its ink, against that of the same letters where the copy
asks for no weight. Plain copy says nothing of either, and then nothing is judged.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.kinds import Kind
from proofcheck.base.values import Span
from proofcheck.metal.finder import Finder
from proofcheck.metal.into_copy import carried_span
from proofcheck.metal.slope import slopes_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from proofcheck.metal.context import Matter
    from proofcheck.metal.findings import MetalFinding
    from proofcheck.metal.judged import Judged

__all__ = ["weights", "wrong_postures"]

ITALIC, ROMAN = 0.075, 0.035
"""Slope of a word that is plainly italic, and at most of one that is plainly roman: set proofs and
old books give 0.08 to 0.22, and at most 0.06 for all but a few roman words of four letters."""
HEAVY, LIGHT = 1.36, 1.2
"""Ink of a word over the usual that is plainly bold, and at most of one that is plainly not: three
faces give 1.41 to 2.06 bold, light words of old books 1.30 at most (99 in 100: 1.19)."""
LEAST_LETTERS, LEAST_PLAIN, LEAST_BESIDE = 4, 4, 20
_CERTAINTY = 0.75


def _words(matter: Matter) -> list[tuple[NDArray[np.intp], int, Span, Span]]:
    """Each word's letters in the fount, its row, its letters in the reading and in the copy."""
    found = []
    sure = matter.borne_out & np.array([t.isalnum() for t in matter.fount.text.tolist()], bool)
    for word in np.unique(matter.word):
        mine = np.flatnonzero((matter.word == word) & sure)
        if len(mine):
            row = int(matter.fount.line[mine[0]])
            letters = Span(int(matter.fount.at[mine[0]]), int(matter.fount.at[mine[-1]]) + 1)
            text = matter.readings[row].text
            there = carried_span(text, matter.placed[row], matter.copy, letters)
            found.append((mine, row, letters, there))
    return found


def _from_plain(
    matter: Matter, lean: NDArray[np.float64], plain: NDArray[np.bool_]
) -> NDArray[np.float64]:
    """Slopes over those of the same letter where the copy asks for none; NaN for too few."""
    found = np.full(len(lean), np.nan)
    for character in matter.fount.fellows:
        mine = matter.fount.text == character
        if (mine & plain).sum() >= LEAST_PLAIN:
            found[mine] = lean[mine] - np.median(lean[mine & plain])
    return found


def weights(matter: Matter, plain: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Each letter's ink over the usual of its kind where the copy asks for none; NaN for too few.

    A word's impression is the sheet's there, so a letter is weighed against those of its own line
    and the two beside it, where they have plain ones enough.
    """
    ink = np.log(np.maximum(matter.fount.cut.ink_within(1), 1e-3))
    found = np.full(len(ink), np.nan)
    for character in matter.fount.fellows:
        mine = matter.fount.text == character
        if (mine & plain).sum() >= LEAST_PLAIN:
            found[mine] = ink[mine] - np.median(ink[mine & plain])
    usable = plain & np.isfinite(found)
    for row in np.unique(matter.fount.line):
        beside = usable & (np.abs(matter.fount.line - row) <= 1)
        if beside.sum() >= LEAST_BESIDE:
            found[matter.fount.line == row] -= float(np.median(found[beside]))
    return np.asarray(np.exp(found), np.float64)


def wrong_postures(judged: Judged) -> list[MetalFinding]:
    """Words set roman that the copy wants italic, light that it wants bold; and the reverse."""
    matter = judged.matter
    if not matter.copy.emphasis:
        return []
    words = _words(matter)
    found = []
    for style in (_ITALIC, _BOLD):
        spans = [each.span for each in matter.copy.emphasis if each.style == style.name]
        plain = np.zeros(len(matter.fount.text), bool)
        for mine, _, _, there in words:
            plain[mine] = not any(s.start < there.end and there.start < s.end for s in spans)
        look = style.look(matter, plain)
        for word in words:
            finding = _judged(matter, word, look, plain, spans, style)
            if finding:
                found.append(finding)
    return found


FINDER = Finder(110, wrong_postures)


@dataclass(frozen=True, slots=True)
class _Style:
    """What the copy may ask for, and how it shows in a word's letters."""

    name: str
    """In the copy, and of the sign that asks for it."""
    contrary: str
    sign: str
    """That asks for the contrary; "" for that of a wrong font."""
    least: float
    """A word's mean from which it plainly is so …"""
    most: float
    """… and under which it plainly is not."""
    look: Callable[[Matter, NDArray[np.bool_]], NDArray[np.float64]]


def _leans(matter: Matter, plain: NDArray[np.bool_]) -> NDArray[np.float64]:
    return _from_plain(matter, slopes_of(matter.fount.cut), plain)


_ITALIC = _Style("italic", "roman", "roman", ITALIC, ROMAN, _leans)
_BOLD = _Style("bold", "light face", "", HEAVY, LIGHT, weights)


def _judged(
    matter: Matter,
    word: tuple[NDArray[np.intp], int, Span, Span],
    look: NDArray[np.float64],
    plain: NDArray[np.bool_],
    spans: list[Span],
    style: _Style,
) -> MetalFinding | None:
    held, row, letters, there = word
    mine = held[np.isfinite(look[held])]
    if len(mine) < LEAST_LETTERS:
        return None
    mean = float(look[mine].mean())
    text = matter.readings[row].text[letters.start : letters.end]
    if mean < style.most and any(s.start <= there.start and there.end <= s.end for s in spans):
        wanted, sign = style.name, style.name
    elif mean > style.least and plain[mine].all():
        wanted, sign = style.contrary, style.sign
    else:
        return None
    return matter.finding(
        Kind.WRONG_FONT,
        row,
        letters,
        _CERTAINTY,
        words=f"set “{text}” in {wanted}",
        sign=sign,
        proof_text=text,
        copy_text=text,
    )
