"""Italic for roman and roman for italic, where the copy says which is wanted.

The slope of a letter is read from its ink (how far its head leans over its foot) and counted from
the upright letters of its kind, so that an "f" or a "y" is not italic for its shape. A word's slope
is the mean of its letters'. Plain copy says nothing of posture, and then nothing is judged.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.metal.findings import MetalFinding
from proofcheck.metal.matter import carried_span
from proofcheck.metal.patches import TALL, WIDE
from proofcheck.values import Kind, Span

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.metal.matter import Matter

__all__ = ["slopes", "wrong_postures"]

ITALIC, ROMAN = 0.075, 0.035
"""Slope of a word that is plainly italic, and at most of one that is plainly roman: set proofs and
old books give 0.08 to 0.22, and at most 0.06 for all but a few roman words of four letters."""
LEAST_LETTERS, LEAST_PLAIN = 4, 4
_CERTAINTY = 0.75


def slopes(matter: Matter) -> NDArray[np.float64]:
    """How far each letter's ink leans to the right from foot to head, as a share of its rise."""
    cut = matter.fount.cut
    away = np.abs(np.arange(WIDE) + 0.5 - WIDE / 2)
    ink = cut.ink * (away[None, None, :] < cut.half_width[:, None, None] + 0.5)
    total = np.maximum(ink.sum(axis=(1, 2)), 1e-3)
    x, y = np.arange(WIDE, dtype=np.float32), np.arange(TALL, dtype=np.float32)
    middle_x = (ink.sum(axis=1) @ x) / total
    middle_y = (ink.sum(axis=2) @ y) / total
    cross = np.einsum("nyx,y,x->n", ink, y, x, optimize=True) / total - middle_x * middle_y
    tall = (ink.sum(axis=2) @ (y * y)) / total - middle_y**2
    lean = -cross / np.maximum(tall, 1.0)
    return np.asarray(lean, np.float64)


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


def wrong_postures(matter: Matter) -> list[MetalFinding]:
    """Words set roman that the copy wants italic, and italic where it wants none."""
    wanted = [each.span for each in matter.copy.emphasis if each.style == "italic"]
    if not matter.copy.emphasis:
        return []
    words = _words(matter)
    plain = np.zeros(len(matter.fount.text), bool)
    for mine, _, _, there in words:
        plain[mine] = not any(s.start < there.end and there.start < s.end for s in wanted)
    lean = _from_plain(matter, slopes(matter), plain)
    found = []
    for held, row, letters, there in words:
        mine = held[np.isfinite(lean[held])]
        if len(mine) < LEAST_LETTERS:
            continue
        slope, text = float(lean[mine].mean()), matter.readings[row].text
        asked = any(span.start <= there.start and there.end <= span.end for span in wanted)
        if asked and slope < ROMAN:
            sign, told = "italic", f"set “{text[letters.start : letters.end]}” in italic"
        elif plain[mine].all() and slope > ITALIC:
            sign, told = "roman", f"set “{text[letters.start : letters.end]}” in roman"
        else:
            continue
        found.append(
            MetalFinding(
                Kind.WRONG_FONT,
                matter.lines[row].number,
                matter.lines[row].sheet,
                matter.box_of(row, letters),
                letters,
                _CERTAINTY,
                words=told,
                sign=sign,
                proof_text=text[letters.start : letters.end],
                copy_text=text[letters.start : letters.end],
            )
        )
    return found
