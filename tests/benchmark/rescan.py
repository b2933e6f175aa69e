"""A page pulled and scanned a second time, and its lines moved as slugs are, in the picture.

A second pull of a real page can't be had: its ink is softened, its edge drawn anew further in or
out with a shiver (lighter or heavier inking), turned, scaled, and given a scanner's grain.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.base.values import Grey, Line

__all__ = [
    "Bands",
    "bands_of",
    "cast_again",
    "drop_word",
    "letters_in",
    "places_in",
    "put_letter",
    "scan_again",
    "swap_words",
    "widths_in",
    "words_in",
]

_INK = 128
_WORD_SPACE = 0.28
"""White between words, at least, in x-heights."""


@dataclass(frozen=True, slots=True, eq=False)
class Bands:
    """A page cut into bands across it, one a line, and what is above and below them all."""

    head: Grey
    lines: list[Grey]
    foot: Grey
    boxes: list[tuple[int, int, int, int]]
    """Box of each line's ink in its band: x, y, right, bottom."""

    def page(self, lines: Sequence[Grey]) -> Grey:
        """The page with other lines."""
        return np.vstack([self.head, *lines, self.foot])


def bands_of(image: Grey, lines: Sequence[Line]) -> Bands | None:
    """Cut a page of one column at the whitest row between lines; None where ink would be cut."""
    ink = (image < _INK).sum(axis=1)
    cuts = []
    for upper, lower in itertools.pairwise(lines):
        top, bottom = round(sum(upper.baseline) / 2), round(sum(lower.baseline) / 2)
        if upper.column != lower.column or bottom - top < 8:
            return None
        row = top + int(
            np.argmin(
                ink[top:bottom] + 0.001 * np.abs(np.arange(bottom - top) - 0.45 * (bottom - top))
            )
        )
        if ink[row] > 0:
            return None
        cuts.append(row)
    first = max(lines[0].box.y - 8, 0)
    last = min(lines[-1].box.bottom + 8, image.shape[0])
    edges = [first, *cuts, last]
    boxes = [
        (line.box.x, line.box.y - top, line.box.right, line.box.bottom - top)
        for line, top in zip(lines, edges, strict=False)
    ]
    parts = [image[a:b] for a, b in itertools.pairwise(edges)]
    return Bands(image[:first], parts, image[last:], boxes)


def scan_again(image: Grey, rng: np.random.Generator, heavier: float | None = None) -> Grey:
    """Another pull and scan: turned to 1°, scaled to 1 %, inked lighter or heavier.

    `heavier`: how much, of what parts ink from paper; by chance from −0.16 to 0.16 if not given.
    """
    height, width = image.shape
    ink = 1.0 - cv2.GaussianBlur(image, (0, 0), 1.0).astype(np.float32) / 255.0
    shiver = cv2.GaussianBlur(rng.normal(0, 1, image.shape).astype(np.float32), (0, 0), 1.2)
    shiver *= 0.10 / max(float(shiver.std()), 1e-6)
    inked = float(rng.uniform(-0.16, 0.16)) if heavier is None else heavier
    edge = ink + shiver * np.clip(ink * 6, 0, 1) + inked * (ink > 0.08)
    ink = np.clip((edge - 0.5) / 0.25 + 0.5, 0, 1)
    level, paper = float(rng.uniform(30, 70)), float(rng.uniform(215, 245))
    sheet = paper + (level - paper) * ink
    turn = cv2.getRotationMatrix2D(
        (width / 2, height / 2), float(rng.uniform(-1, 1)), float(rng.uniform(0.99, 1.01))
    )
    sheet = cv2.warpAffine(sheet, turn, (width, height), flags=cv2.INTER_CUBIC, borderValue=paper)
    sheet = cv2.GaussianBlur(sheet, (0, 0), 0.6) + rng.normal(0, 3, sheet.shape)
    return np.clip(np.round(sheet), 0, 255).astype(np.uint8)


def _cells(band: Grey, white: int) -> list[tuple[int, int]]:
    """Stretches of ink along a band, parted by `white` columns or more."""
    inked = np.concatenate([[False], (band < _INK).any(axis=0), [False]])
    edges = np.flatnonzero(np.diff(inked.astype(np.int8)))
    cells: list[tuple[int, int]] = []
    for start, stop in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        if cells and start - cells[-1][1] < white:
            cells[-1] = (cells[-1][0], stop)
        else:
            cells.append((start, stop))
    return cells


def cast_again(
    band: Grey,
    x_height_px: float,
    rng: np.random.Generator,
    play: tuple[float, float] = (0.15, 0.06),
) -> Grey:
    """The line with its words and letters seated a hair otherwise.

    `play`: standard deviation in points of a word space (the line keeps its length) and of a
    letter, for 10-point type with an x-height of 4.6 points.
    """
    px_per_pt = x_height_px / 4.6
    words = _cells(band, round(_WORD_SPACE * x_height_px))
    spaces = rng.normal(0, play[0] * px_per_pt, max(len(words) - 1, 1))
    drift = np.concatenate([[0.0], np.cumsum(spaces - spaces.mean())])
    out = np.full_like(band, 255)
    for at, (start, stop) in enumerate(words):
        for a, b in _cells(band[:, start:stop], 1):
            dx = drift[at] + rng.normal(0, play[1] * px_per_pt)
            dy = rng.normal(0, play[1] / 2 * px_per_pt)
            _put(out, band, (start + a, start + b), dx, dy)
    return out


def _put(out: Grey, band: Grey, cell: tuple[int, int], dx: float, dy: float) -> None:
    left, right = max(cell[0] - 3, 0), min(cell[1] + 3, band.shape[1])
    piece = np.full((band.shape[0], right - left), 255, np.uint8)
    piece[:, cell[0] - left : cell[1] - left] = band[:, cell[0] : cell[1]]
    whole = int(np.floor(dx))
    move = np.array([[1, 0, dx - whole], [0, 1, dy]])
    moved = cv2.warpAffine(piece, move, piece.shape[::-1], flags=cv2.INTER_LINEAR, borderValue=255)
    x = left + whole
    low, high = max(x, 0), min(x + piece.shape[1], out.shape[1])
    np.minimum(out[:, low:high], moved[:, low - x : high - x], out=out[:, low:high])


def swap_words(
    band: Grey, text: str, x_height_px: float, rng: np.random.Generator
) -> tuple[Grey, str] | None:
    """Two neighbouring words in each other's places; None where words and white disagree."""
    words = text.split(" ")
    cells = _cells(band, round(_WORD_SPACE * x_height_px))
    if len(words) != len(cells) or len(words) < 4:
        return None
    at = int(rng.integers(0, len(words) - 1))
    if words[at] == words[at + 1]:
        return None
    (a, b), (c, d) = cells[at], cells[at + 1]
    out = band.copy()
    out[:, a:d] = 255
    out[:, a : a + d - c] = band[:, c:d]
    out[:, d - (b - a) : d] = band[:, a:b]
    words[at], words[at + 1] = words[at + 1], words[at]
    return out, " ".join(words)


def drop_word(
    band: Grey, text: str, x_height_px: float, rng: np.random.Generator
) -> tuple[Grey, str] | None:
    """A word left out, its room shared among the spaces left."""
    words = text.split(" ")
    cells = _cells(band, round(_WORD_SPACE * x_height_px))
    if len(words) != len(cells) or len(words) < 5:
        return None
    at = int(rng.integers(1, len(words) - 1))
    if words[at] in {words[at - 1], words[at + 1]}:
        return None
    room = cells[at + 1][0] - cells[at][0]
    kept = [*cells[:at], *cells[at + 1 :]]
    out = np.full_like(band, 255)
    for number, (start, stop) in enumerate(kept):
        # The last word ends where it did: the line is spread to its measure.
        moved = room * number / (len(kept) - 1) - (room if number >= at else 0)
        _put(out, band, (start, stop), moved, 0.0)
    return out, " ".join([*words[:at], *words[at + 1 :]])


def put_letter(
    band: Grey, text: str, x_height_px: float, rng: np.random.Generator
) -> tuple[Grey, str] | None:
    """Another letter of the line in the place of one as wide; None where letters touch."""
    letters = letters_in(band, text, x_height_px)
    order = rng.permutation(len(letters)).tolist()
    for one in order:
        at, (start, stop) = letters[one]
        for other in order:
            donor, (left, right) = letters[other]
            if text[donor] != text[at] and abs((right - left) - (stop - start)) <= 2:
                out = band.copy()
                out[:, start - 1 : stop + 1] = 255
                middle = (start + stop - right + left) // 2
                out[:, middle : middle + right - left] = band[:, left:right]
                return out, text[:at] + text[donor] + text[at + 1 :]
    return None


def words_in(band: Grey, text: str, x_height_px: float) -> list[tuple[int, int]]:
    """The words of a line, start and end columns; none where words and white disagree."""
    cells = _cells(band, round(_WORD_SPACE * x_height_px))
    return cells if len(text.split(" ")) == len(cells) else []


def letters_in(band: Grey, text: str, x_height_px: float) -> list[tuple[int, tuple[int, int]]]:
    """Small letters that stand free, by their place in the text: start and end columns."""
    words = text.split(" ")
    cells = words_in(band, text, x_height_px)
    if not cells:
        return []
    out, at = [], 0
    for word, (start, stop) in zip(words, cells, strict=True):
        own = _cells(band[:, start:stop], 1)
        if len(own) == len(word):
            out += [
                (at + n, (start + a, start + b))
                for n, (letter, (a, b)) in enumerate(zip(word, own, strict=True))
                if letter.islower() and letter.isascii()
            ]
        at += len(word) + 1
    return out


def widths_in(bands: Sequence[tuple[Grey, str]], x_height_px: float) -> dict[str, float]:
    """How wide each character of these lines is where its word's letters stand free, pixels."""
    held: dict[str, list[int]] = {}
    for band, text in bands:
        cells = words_in(band, text, x_height_px)
        for word, (start, stop) in zip(text.split(" "), cells, strict=False):
            own = _cells(band[:, start:stop], 1)
            for letter, (a, b) in zip(word, own if len(own) == len(word) else (), strict=False):
                held.setdefault(letter, []).append(b - a)
    return {letter: float(np.median(seen)) for letter, seen in held.items()}


def places_in(
    band: Grey, text: str, x_height_px: float, widths: Mapping[str, float]
) -> list[tuple[float, float]] | None:
    """Where each character begins and ends, as shares of the line's ink; None where not known.

    As the reader's boxes lie: on a letter's own ink, where letters stand free (nine in ten of its
    boxes on two pages were the ink to the pixel). A word whose letters touch is shared out by the
    letters' usual widths.
    """
    cells = words_in(band, text, x_height_px)
    if not cells:
        return None
    first, length = cells[0][0], max(cells[-1][1] - cells[0][0], 1)
    out: list[tuple[float, float]] = []
    for word, (start, stop) in zip(text.split(" "), cells, strict=True):
        if out:
            out.append((out[-1][1], (start - first) / length))
        own = [(start + a, start + b) for a, b in _cells(band[:, start:stop], 1)]
        if len(own) != len(word):
            wide = np.array([widths.get(letter, x_height_px) + 1 for letter in word])
            ends = start + (stop - start) * np.concatenate([[0], np.cumsum(wide)]) / wide.sum()
            own = [(a, b - 1) for a, b in itertools.pairwise(ends.tolist())]
        out += [((a - first) / length, (b - first) / length) for a, b in own]
    return out
