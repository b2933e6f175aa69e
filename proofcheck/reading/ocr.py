"""The OCR engine as a reader: all lines of a sheet in one engine start.

The engine's own idea of a page is not asked for. Our lines, already found and straightened, are
stacked in one tall clean column, so that each word that comes back belongs to a known line, and
columns, rules and cuts are out of its sight. Its character boxes are unsafe (5 % don't touch
their letter), so only word boxes are taken and each letter's own ink is found in them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from proofcheck.base.values import Box, Letter, Reading
from proofcheck.reading.charset import characters_in
from proofcheck.reading.engine import Engine, find_engine, words_in
from proofcheck.sheet.ink import place_letters
from proofcheck.sheet.strips import Strip, cut_strip

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from proofcheck.base.values import Grey, Line, Sheet

__all__ = ["OcrReader", "SeenWord", "read_strips"]

STRIP_HEIGHT_PX = 80
"""Strips are cut larger than for the letter reader: the engine does best near 30 px of capitals."""
STRIP_X_HEIGHT_PX = 24
STRIP_BASELINE_ROW = 54
GAP_PX = 14
MOST_PX = 30_000
"""Longest side of a column of strips: the engine takes no picture of more than 32,767 pixels."""
MARGIN_PX = 30


@dataclass(frozen=True, slots=True)
class SeenWord:
    """A word the engine saw on a strip."""

    text: str
    left: float
    """Strip pixels."""
    right: float
    certainty: float
    """The engine's own, 0 to 1."""


class OcrReader:
    """Reads with the OCR engine.

    Raises EngineError on construction where the engine or its language is missing.
    """

    name = "tesseract"

    def __init__(self, language: str = "eng") -> None:
        self.engine: Engine = find_engine()
        self.engine.require(language)
        self.language = language
        self.version = self.engine.version
        self.characters = characters_in(self.engine, language)

    def read(self, sheet: Sheet, lines: Sequence[Line]) -> tuple[Reading, ...]:
        """Read `lines` of `sheet` in one engine start."""
        if not lines:
            return ()
        strips = [_engine_strip(sheet, line) for line in lines]
        seen = read_strips(self.engine, [strip.image for strip in strips], self.language)
        return tuple(
            _reading(sheet, line, strip, words)
            for line, strip, words in zip(lines, strips, seen, strict=True)
        )


def _engine_strip(sheet: Sheet, line: Line) -> Strip:
    return cut_strip(
        sheet,
        line,
        height=STRIP_HEIGHT_PX,
        x_height=STRIP_X_HEIGHT_PX,
        baseline_row=STRIP_BASELINE_ROW,
    )


def read_strips(engine: Engine, strips: Sequence[Grey], language: str) -> list[list[SeenWord]]:
    """Words the engine sees on each strip, left to right; as few starts of it as it allows.

    A strip wider than the engine takes has none.
    """
    words: list[list[SeenWord]] = [[] for _ in strips]
    for batch in _batches(strips):
        column, tops = _stack([strips[index] for index in batch])
        for row in _rows(words_in(engine, column, language, layout=6)):
            text = str(row["text"]).strip()
            if not text or float(row["conf"]) < 0:
                continue
            middle = row["top"] + row["height"] / 2
            at = int(np.searchsorted(tops, middle, side="right")) - 1
            if at < 0:
                continue
            left = row["left"] - MARGIN_PX
            certainty = min(max(float(row["conf"]) / 100, 0.0), 1.0)
            words[batch[at]].append(SeenWord(text, left, left + row["width"], certainty))
    for line in words:
        line.sort(key=lambda word: word.left)
    return words


def _batches(strips: Sequence[Grey]) -> Iterator[list[int]]:
    """Which strips go in one column, so that none is larger than the engine takes."""
    batch: list[int] = []
    room = MOST_PX - 2 * MARGIN_PX
    for index, strip in enumerate(strips):
        height, width = strip.shape
        if width > MOST_PX - 2 * MARGIN_PX or height + GAP_PX > MOST_PX - 2 * MARGIN_PX:
            continue
        if height + GAP_PX > room:
            yield batch
            batch, room = [], MOST_PX - 2 * MARGIN_PX
        batch.append(index)
        room -= height + GAP_PX
    if batch:
        yield batch


def _stack(strips: Sequence[Grey]) -> tuple[Grey, list[int]]:
    """One white column of all strips, and the row where each one's share of it begins."""
    width = max(strip.shape[1] for strip in strips) + 2 * MARGIN_PX
    height = sum(strip.shape[0] + GAP_PX for strip in strips) + 2 * MARGIN_PX
    column = np.full((height, width), 255, np.uint8)
    tops, y = [], MARGIN_PX
    for strip in strips:
        tops.append(y - GAP_PX // 2)
        column[y : y + strip.shape[0], MARGIN_PX : MARGIN_PX + strip.shape[1]] = strip
        y += strip.shape[0] + GAP_PX
    return column, tops


def _rows(found: dict[str, list[Any]]) -> Iterator[dict[str, Any]]:
    names = list(found)
    for values in zip(*found.values(), strict=True):
        yield dict(zip(names, values, strict=True))


def _reading(sheet: Sheet, line: Line, strip: Strip, words: Sequence[SeenWord]) -> Reading:
    """Turn seen words into letters with their own ink."""
    if not words:
        return Reading(line.number, ())
    text, centres, certainties = "", [], []
    last_right = 0.0
    for word in words:
        if text:
            text += " "
            centres.append((last_right + word.left) / 2)
            certainties.append(word.certainty)
        text += word.text
        centres.extend(_letter_centres(word))
        certainties.extend([word.certainty] * len(word.text))
        last_right = word.right
    on_sheet = strip.to_sheet_x(np.asarray(centres, np.float64))
    boxes = place_letters(sheet, line, text, on_sheet)
    letters = (
        Letter(character, Box(*box), certainty)
        for character, box, certainty in zip(text, boxes, certainties, strict=True)
    )
    return Reading(line.number, tuple(letters))


_NARROW = frozenset("ijlftrI.,;:'’‘|!()[]-")
_WIDE = frozenset("mwMWæœ—Æ½¼¾%&")


def _letter_centres(word: SeenWord) -> list[float]:
    """Where the word's letters should stand by their usual widths; the ink settles the rest."""
    widths = [0.55 if c in _NARROW else 1.6 if c in _WIDE else 1.0 for c in word.text]
    ends = np.cumsum(widths)
    unit = (word.right - word.left) / ends[-1]
    return [word.left + unit * (end - width / 2) for end, width in zip(ends, widths, strict=True)]
