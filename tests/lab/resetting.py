"""Real print with no language in it: the letters of a real line set again in random order.

A line is cut at its white gaps into cells, each the picture of one letter or of a few that touch.
Cells are then set in any order, some stood on their heads.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.reading.alphabet import SPACE
from proofcheck.reading.turned import LOOKS_LIKE, TURNED
from tests.lab.setting import STRIP_PX
from tests.turning import UNCHANGED, as_printed_turned

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Cells", "cells_of", "reset"]

_INK = 150
_MOST_LETTERS = 3
_SMALL = frozenset(".,;:'\"-–—*·")
_BODY_MIDDLE_ROW = 25.6
_TURNABLE = frozenset(TURNED) | frozenset(LOOKS_LIKE) | UNCHANGED


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """A real line in pieces."""

    pictures: list[NDArray[np.uint8]]
    texts: list[str]
    gaps: list[int]
    """White between letters of a word, px."""
    spaces: list[int]
    """White between words, px."""


def cells_of(strip: NDArray[np.uint8], text: str, centres: NDArray[np.float32]) -> Cells:
    """Cut a line at its white gaps; cells that can't be told apart for certain are left out."""
    inked = np.concatenate([[False], (strip[2:46] < _INK).any(axis=0), [False]])
    edges = np.flatnonzero(np.diff(inked.astype(np.int8)))
    starts, stops = edges[::2], edges[1::2]
    held: list[list[int]] = [[] for _ in starts]
    for at, letter in enumerate(text):
        if letter != SPACE and len(starts):
            away = np.maximum(starts - centres[at], centres[at] - stops)
            held[int(np.argmin(away))].append(at)
    kept = [n for n, run in enumerate(held) if 0 < len(run) <= _MOST_LETTERS]
    good = [
        n
        for n in kept
        if _stands_alone(n, starts, stops, held) and _likely(stops[n] - starts[n], held[n], text)
    ]
    gaps, spaces = [], []
    for one, other in itertools.pairwise(kept):
        white = int(starts[other] - stops[one])
        apart = held[other][0] - held[one][-1]
        if apart == 1 and other == one + 1:
            if text[held[other][0]] not in _SMALL and text[held[one][-1]] not in _SMALL:
                gaps.append(white)
        elif apart == 2:  # one character between them, a space
            spaces.append(white)
    middle = float(np.median(gaps)) if gaps else 2.0
    gaps = [white for white in gaps if white <= middle + 2] or [2]
    spaces = [white for white in spaces if white >= max(6.0, middle + 4)] or [12]
    return Cells(
        [strip[:, starts[n] : stops[n]] for n in good],
        ["".join(text[at] for at in held[n]) for n in good],
        gaps,
        spaces,
    )


def _stands_alone(
    n: int, starts: NDArray[np.intp], stops: NDArray[np.intp], held: list[list[int]]
) -> bool:
    """Whether no unexplained piece of ink lies close by, which might be part of the letter."""
    if n > 0 and not held[n - 1] and starts[n] - stops[n - 1] < 5:
        return False
    return not (n + 1 < len(starts) and not held[n + 1] and starts[n + 1] - stops[n] < 5)


def _likely(width: int, run: list[int], text: str) -> bool:
    """Whether a cell is about as wide as its letters: else the text was laid wrong here."""
    letters = [text[at] for at in run]
    if "'" in letters or '"' in letters:
        return False  # a double quote is two pieces, and texts don't agree on which it is
    if letters[0] in ".,;:":
        return len(letters) == 1 and width <= 9
    return 3 * len(letters) <= width <= 40 * len(letters)


def reset(cells: Cells, rng: np.random.Generator) -> tuple[NDArray[np.uint8], str]:
    """Set cells at random into a strip of `STRIP_PX`; returns it with its text."""
    strip = np.full((48, STRIP_PX), 255, np.uint8)
    turn = float(rng.choice([0.0, 0.1, 0.4], p=[0.6, 0.32, 0.08]))
    x = int(rng.integers(4, 16))
    end = STRIP_PX - 4 if rng.random() < 0.7 else int(rng.integers(120, STRIP_PX))
    text, word = "", int(rng.integers(1, 9))
    while True:
        n = int(rng.integers(len(cells.pictures)))
        picture, letters = cells.pictures[n], cells.texts[n]
        white = 0
        if text:
            word -= 1
            choices = cells.spaces if word < 0 else cells.gaps
            white = int(choices[int(rng.integers(len(choices)))])
        if x + white + picture.shape[1] > end:
            return strip, text
        if len(letters) == 1 and rng.random() < turn and letters in _TURNABLE:
            picture, letters = _turned(picture, rng, letters), as_printed_turned(letters)
        if word < 0:
            text, word = text + SPACE, int(rng.integers(0, 9))
        x += white
        strip[:, x : x + picture.shape[1]] = picture
        x += picture.shape[1]
        text += letters


def _turned(picture: NDArray[np.uint8], rng: np.random.Generator, letter: str) -> NDArray[np.uint8]:
    """Half a turn, about the middle of the body or of the letter's own ink."""
    rows = np.flatnonzero((picture < _INK).any(axis=1))
    if not len(rows):
        return picture
    middle = _BODY_MIDDLE_ROW + float(rng.uniform(-1.5, 1.5))
    if letter not in _SMALL and rng.random() < 0.5:
        middle = (rows[0] + rows[-1] + 1) / 2
    turned = np.full_like(picture, 255)
    top, bottom = int(rows[0]), int(rows[-1]) + 1
    start = round(2 * middle - bottom)
    stop = start + bottom - top
    first, last = max(start, 0), min(stop, 48)
    turned[first:last] = picture[top:bottom][::-1, ::-1][first - start : last - start]
    return turned
