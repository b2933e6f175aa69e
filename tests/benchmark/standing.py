"""Where each letter of a page stands, so that its own letters can be moved about.

The lines are found, the OCR engine reads the page, and its reading is laid on the true text.
A word is *sure* where the engine agrees with the text letter for letter and in the letters
round it, and its ink falls into as many parts, side by side, as the word has letters: then each
part is a letter. Words whose letters touch or are broken are never sure and stay as they are.
"""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from rapidfuzz.distance import Levenshtein

from proofcheck.reading.engine import find_engine, words_in
from proofcheck.sheet.lines import find_lines
from proofcheck.sheet.pieces import Pieces, find_pieces, ink_mask
from proofcheck.values import Box, Scan, Sheet

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.values import Grey, Line

__all__ = ["Glyph", "Standing", "Word", "as_sheet", "study"]

_ALIKE = str.maketrans(
    {"‘": "'", "’": "'", "“": '"', "”": '"', "\n": " ", "\t": " ", "–": "-", "\xad": "-"}
)
_UNITS = re.compile("ffi|ffl|fi|fl|ff|.")
_LEAST_CONFIDENCE = 20.0
_SHARED = 0.5  # of the narrower one's width: parts one above the other belong to one letter


@dataclass(frozen=True, slots=True)
class Glyph:
    """One printed letter that is sure."""

    text: str
    """A character, or the letters of a ligature."""
    box: Box
    """Its ink, pixels of the scan."""
    pieces: tuple[int, ...]
    at: int
    """Offset of it in the true text."""
    word: int
    line: int
    drop: float
    """How far its foot stands below the baseline, in x-heights."""


@dataclass(frozen=True, slots=True)
class Word:
    """One word as the engine saw it."""

    text: str
    line: int
    box: Box
    pieces: tuple[int, ...]
    """Every piece of ink of it."""
    glyphs: tuple[Glyph, ...]
    """Its letters in order; empty where they are not sure."""
    at: int | None
    """Offset of its first letter in the true text; None where they don't agree."""


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """A page taken apart."""

    image: Grey
    text: str
    labels: NDArray[np.int32]
    pieces: Pieces
    lines: tuple[Line, ...]
    words: tuple[Word, ...]
    """In the order of the lines, left to right."""
    of_line: dict[int, list[int]]
    """Line (from 0) → numbers of its words, left to right."""
    line_pieces: dict[int, list[int]]
    """Line (from 0) → all its pieces of ink."""

    def baseline(self, line: int, x: float) -> float:
        """Height of a line's baseline at x."""
        return baseline_at(self.lines[line], x)

    def span(self, line: int) -> tuple[int, int] | None:
        """Where in the text a line begins and ends; None where too little of it agrees."""
        words = [self.words[number] for number in self.of_line.get(line, ())]
        known = [word for word in words if word.at is not None]
        if not words or len(known) * 2 < len(words) or words[0].at is None or words[-1].at is None:
            return None
        end = words[-1].at + len(words[-1].text.rstrip("-"))
        length = sum(len(word.text) + 1 for word in words)
        return (words[0].at, end) if abs(end - words[0].at - length) < 0.3 * length else None


def as_sheet(image: Grey, dpi: float = 300.0) -> Sheet:
    """A sheet of a page that is clean already, in its own pixels."""
    height, width = image.shape
    scan = Scan("page", 0, "", width, height)
    return Sheet(image, scan, 0, dpi, "option", 0, mirrored=False, skew_deg=0.0, to_scan=np.eye(3))


def baseline_at(line: Line, x: float) -> float:
    """Height of the baseline at x."""
    left, right = line.baseline
    return left + (right - left) * (x - line.box.x) / max(line.box.width, 1)


def study(image: Grey, text: str) -> Standing:
    """Take a page apart; its words' places come from the OCR engine, run once."""
    pieces, labels = find_pieces(ink_mask(image))
    lines = find_lines(as_sheet(image))
    line_of = _line_of_pieces(pieces, lines)
    seen = _seen_words(image, lines)
    offsets = _lay_on(seen, text)
    words: list[Word] = []
    line_pieces = _by_line(line_of)
    for line, group in sorted(_grouped(seen).items()):
        held = _share_pieces(line_pieces.get(line, []), [box for _, box in group], pieces)
        for (word, box), mine, places in zip(group, held, offsets[line], strict=True):
            glyphs = _glyphs(word, mine, places, pieces, lines[line], line, len(words))
            at = places[0] if places and places[0] is not None else None
            words.append(Word(word, line, box, tuple(mine), glyphs, at))
    of_line = defaultdict(list)
    for number, word in enumerate(words):
        of_line[word.line].append(number)
    standing = Standing(
        image, text, labels, pieces, lines, tuple(words), dict(of_line), line_pieces
    )
    return _typical_only(standing)


def _line_of_pieces(pieces: Pieces, lines: tuple[Line, ...]) -> NDArray[np.intp]:
    """For each piece the line (from 0) whose middle it is nearest to; -1 for none."""
    best = np.full(len(pieces), 1.25)
    owner = np.full(len(pieces), -1)
    middle = (pieces.y + pieces.bottom) / 2
    for number, line in enumerate(lines):
        left, right = line.baseline
        slope = (right - left) / max(line.box.width, 1)
        base = left + slope * (pieces.middle - line.box.x)
        far = np.abs(middle - (base - line.x_height_px / 2)) / line.x_height_px
        beside = (pieces.right < line.box.x - 2) | (pieces.x > line.box.right + 2)
        far[beside] = np.inf
        closer = far < best
        best[closer], owner[closer] = far[closer], number
    return owner


def _by_line(owner: NDArray[np.intp]) -> dict[int, list[int]]:
    held: dict[int, list[int]] = {}
    for piece in np.flatnonzero(owner >= 0):
        held.setdefault(int(owner[piece]), []).append(int(piece))
    return held


def _seen_words(image: Grey, lines: tuple[Line, ...]) -> list[tuple[str, Box, int]]:
    found = words_in(find_engine(), image, "eng", layout=3)
    seen = []
    columns = ("text", "conf", "left", "top", "width", "height")
    for text, confidence, *sides in zip(*(found[name] for name in columns), strict=True):
        box = Box(*map(int, sides))
        line = _line_at(box, lines)
        if str(text).strip() and float(confidence) >= _LEAST_CONFIDENCE and line is not None:
            seen.append((str(text).strip(), box, line))
    return sorted(seen, key=lambda word: (word[2], word[1].x))


def _line_at(box: Box, lines: tuple[Line, ...]) -> int | None:
    middle, centre = box.x + box.width / 2, box.y + box.height / 2
    near = [
        (abs(centre - baseline_at(line, middle) + line.x_height_px * 0.5), number)
        for number, line in enumerate(lines)
        if line.box.x - 5 <= middle <= line.box.right + 5
    ]
    if not near:
        return None
    far, number = min(near)
    return number if far < lines[number].x_height_px else None


def _grouped(seen: list[tuple[str, Box, int]]) -> dict[int, list[tuple[str, Box]]]:
    grouped: dict[int, list[tuple[str, Box]]] = {}
    for text, box, line in seen:
        grouped.setdefault(line, []).append((text, box))
    return grouped


def _lay_on(seen: list[tuple[str, Box, int]], text: str) -> dict[int, list[list[int | None]]]:
    """For each line and word, where in the text each of its letters stands (None: nowhere)."""
    read = " ".join(word for word, _, _ in seen).translate(_ALIKE)
    true = text.translate(_ALIKE)
    place: list[int | None] = [None] * len(read)
    for code in Levenshtein.opcodes(read, true):
        # A run of three at least: single letters agree by chance in matter that does not.
        if code.tag == "equal" and code.src_end - code.src_start >= 3:
            for step in range(code.src_end - code.src_start):
                place[code.src_start + step] = code.dest_start + step
    offsets: dict[int, list[list[int | None]]] = {}
    start = 0
    for word, _, line in seen:
        offsets.setdefault(line, []).append(place[start : start + len(word)])
        start += len(word) + 1
    return offsets


def _share_pieces(held: list[int], boxes: list[Box], pieces: Pieces) -> list[list[int]]:
    """A line's pieces to its words: each to the word it lies in or is nearest to."""
    shares: list[list[int]] = [[] for _ in boxes]
    for piece in sorted(held, key=lambda number: pieces.x[number]):
        middle = pieces.middle[piece]
        far = [max(box.x - middle, middle - box.right, 0) for box in boxes]
        shares[int(np.argmin(far))].append(piece)
    return shares


def _glyphs(
    word: str,
    mine: list[int],
    places: list[int | None],
    pieces: Pieces,
    line: Line,
    number: int,
    of_word: int,
) -> tuple[Glyph, ...]:
    """The letters of a word, one for each part of its ink; empty where they are not sure."""
    whole = [place for place in places if place is not None]
    if len(whole) != len(word) or whole != list(range(whole[0], whole[0] + len(word))):
        return ()
    parts = _parts(mine, pieces)
    for units in ([*word], _UNITS.findall(word)):
        if len(parts) == sum(_strokes(unit) for unit in units):
            return _named(units, parts, whole[0], pieces, line, number, of_word)
    return ()


def _strokes(unit: str) -> int:
    """Parts side by side that a character prints as."""
    return 2 if unit in {'"', "“", "”"} else 1


def _parts(mine: list[int], pieces: Pieces) -> list[list[int]]:
    """Pieces that stand one above another, together, left to right."""
    parts: list[list[int]] = []
    for piece in mine:
        if parts:
            x = min(pieces.x[p] for p in parts[-1])
            right = max(pieces.right[p] for p in parts[-1])
            shared = min(right, pieces.right[piece]) - max(x, pieces.x[piece])
            if shared > _SHARED * min(right - x, pieces.right[piece] - pieces.x[piece]):
                parts[-1].append(piece)
                continue
        parts.append([piece])
    return parts


def _named(
    units: list[str],
    parts: list[list[int]],
    at: int,
    pieces: Pieces,
    line: Line,
    number: int,
    of_word: int,
) -> tuple[Glyph, ...]:
    glyphs, left = [], list(parts)
    for unit in units:
        held = [piece for part in left[: _strokes(unit)] for piece in part]
        del left[: _strokes(unit)]
        box = Box.around(_box_of(piece, pieces) for piece in held)
        foot = box.bottom - baseline_at(line, box.x + box.width / 2)
        glyphs.append(Glyph(unit, box, tuple(held), at, of_word, number, foot / line.x_height_px))
        at += len(unit)
    return tuple(glyphs)


def _box_of(piece: int, pieces: Pieces) -> Box:
    x, y = int(pieces.x[piece]), int(pieces.y[piece])
    return Box(x, y, int(pieces.right[piece]) - x, int(pieces.bottom[piece]) - y)


def _typical_only(standing: Standing) -> Standing:
    """Take back the sureness of words with a letter unlike the page's others of its kind."""
    shapes: dict[str, list[tuple[float, float, float]]] = defaultdict(list)
    for word in standing.words:
        for glyph in word.glyphs:
            shapes[glyph.text].append(_shape(standing, glyph))
    usual = {text: np.median(seen, axis=0) for text, seen in shapes.items() if len(seen) >= 3}

    def typical(glyph: Glyph) -> bool:
        if glyph.text not in usual:
            return False
        return bool(np.all(np.abs(_shape(standing, glyph) - usual[glyph.text]) < (0.22, 0.3, 0.2)))

    words = tuple(
        word
        if all(map(typical, word.glyphs))
        else Word(word.text, word.line, word.box, word.pieces, (), word.at)
        for word in standing.words
    )
    return Standing(
        standing.image,
        standing.text,
        standing.labels,
        standing.pieces,
        standing.lines,
        words,
        standing.of_line,
        standing.line_pieces,
    )


def _shape(standing: Standing, glyph: Glyph) -> NDArray[np.float64]:
    """Height, width and foot of a letter, in x-heights."""
    size = standing.lines[glyph.line].x_height_px
    return np.array([glyph.box.height / size, glyph.box.width / size, glyph.drop])
