"""Where each letter of a page stands, so that its own letters can be moved about.

The lines are found, the OCR engine reads the page, and its reading is laid on the true text. A
word's letters are known where the engine agrees with the text letter for letter and every part
of the word's ink is accounted for (`parts`). A letter is *sure* where it looks like the page's
others of its kind; the rest move with their words, but are not taken or changed themselves.
"""

from __future__ import annotations

import dataclasses
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.values import Box, Scan, Sheet
from proofcheck.sheet.lines import find_lines
from proofcheck.sheet.pieces import Pieces, find_pieces, ink_mask

from .likeness import misnamed
from .parts import parts_of, units_by_count, units_by_width
from .seen import Seen, baseline_at, see

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Grey, Line

__all__ = ["Glyph", "Standing", "Word", "as_sheet", "study"]

_FAR = (0.22, 0.3, 0.2)
"""Height, width and foot by which a letter may differ from its usual shape, in x-heights."""


@dataclass(frozen=True, slots=True)
class Glyph:
    """One printed letter whose place is known, or a few that touch."""

    text: str
    box: Box
    """Its ink, pixels of the scan."""
    pieces: tuple[int, ...]
    at: int
    """Offset of it in the true text."""
    word: int
    line: int
    drop: float
    """How far its foot stands below the baseline, in x-heights."""
    sure: bool = False


@dataclass(frozen=True, slots=True)
class Word:
    """One word as the engine saw it."""

    text: str
    line: int
    box: Box
    pieces: tuple[int, ...]
    """Every piece of ink of it."""
    glyphs: tuple[Glyph, ...]
    """Its letters in order; empty where they are not known."""
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


def study(image: Grey, text: str) -> Standing:
    """Take a page apart; where its words are comes from the OCR engine, run once."""
    pieces, labels = find_pieces(ink_mask(image))
    lines = find_lines(as_sheet(image))
    line_pieces = _line_pieces(pieces, lines)
    seen = see(image, lines, text)
    held = _held_by_words(seen, line_pieces, pieces)
    words = [
        _word(number, word, mine, pieces, lines)
        for number, (word, mine) in enumerate(zip(seen, held, strict=True))
    ]
    usual = _usual_shapes(words, lines)
    words = [
        _checked(
            word if word.glyphs else _by_width(number, word, its, usual, pieces, lines),
            usual,
            lines,
        )
        for number, (word, its) in enumerate(zip(words, seen, strict=True))
    ]
    words = _named_rightly(image, words, lines)
    of_line = defaultdict(list)
    for number, word in enumerate(words):
        of_line[word.line].append(number)
    return Standing(image, text, labels, pieces, lines, tuple(words), dict(of_line), line_pieces)


def _line_pieces(pieces: Pieces, lines: Sequence[Line]) -> dict[int, list[int]]:
    """Each piece to the line (from 0) whose middle it is nearest to, if it is near at all."""
    best = np.full(len(pieces), 1.25)
    owner = np.full(len(pieces), -1)
    middle = (pieces.y + pieces.bottom) / 2
    for number, line in enumerate(lines):
        left, right = line.baseline
        slope = (right - left) / max(line.box.width, 1)
        base = left + slope * (pieces.middle - line.box.x)
        far = np.abs(middle - (base - line.x_height_px / 2)) / line.x_height_px
        far[(pieces.right < line.box.x - 2) | (pieces.x > line.box.right + 2)] = np.inf
        closer = far < best
        best[closer], owner[closer] = far[closer], number
    held: dict[int, list[int]] = {}
    for piece in np.flatnonzero(owner >= 0):
        held.setdefault(int(owner[piece]), []).append(int(piece))
    return held


def _held_by_words(
    seen: Sequence[Seen], line_pieces: dict[int, list[int]], pieces: Pieces
) -> list[list[int]]:
    """A line's pieces to its words: each to the word it lies in or is nearest to."""
    of_line: dict[int, list[int]] = defaultdict(list)
    for number, word in enumerate(seen):
        of_line[word.line].append(number)
    held: list[list[int]] = [[] for _ in seen]
    for line, numbers in of_line.items():
        for piece in sorted(line_pieces.get(line, []), key=lambda each: pieces.x[each]):
            middle = pieces.middle[piece]
            boxes = [seen[number].box for number in numbers]
            far = [max(box.x - middle, middle - box.right, 0) for box in boxes]
            held[numbers[int(np.argmin(far))]].append(piece)
    return held


def _word(number: int, seen: Seen, mine: list[int], pieces: Pieces, lines: Sequence[Line]) -> Word:
    """A word with its letters, where the count of its parts alone says which they are."""
    parts = parts_of(mine, pieces)
    units = units_by_count(seen.text, len(parts)) if seen.agrees else None
    glyphs = _glyphs(number, seen, units, parts, pieces, lines[seen.line]) if units else ()
    return Word(seen.text, seen.line, seen.box, tuple(mine), glyphs, seen.at)


def _by_width(
    number: int,
    word: Word,
    seen: Seen,
    usual: dict[str, NDArray[np.float64]],
    pieces: Pieces,
    lines: Sequence[Line],
) -> Word:
    """A word with broken or touching letters, with its letters where the widths tell them."""
    if not seen.agrees:
        return word
    parts = parts_of(word.pieces, pieces)
    size = lines[word.line].x_height_px
    boxes = [_box_of(part, pieces) for part in parts]
    edges = [(box.x / size, box.right / size) for box in boxes]
    single = {text: float(shape[1]) for text, shape in usual.items() if len(text) == 1}
    units = units_by_width(word.text, edges, single)
    if units is None:
        return word
    glyphs = _glyphs(number, seen, units, parts, pieces, lines[word.line])
    return dataclasses.replace(word, glyphs=glyphs)


def _glyphs(
    number: int,
    seen: Seen,
    units: Sequence[tuple[str, int]],
    parts: Sequence[list[int]],
    pieces: Pieces,
    line: Line,
) -> tuple[Glyph, ...]:
    glyphs, at, taken = [], seen.at or 0, 0
    for text, strokes in units:
        held = [piece for part in parts[taken : taken + strokes] for piece in part]
        taken += strokes
        box = _box_of(held, pieces)
        foot = (box.bottom - baseline_at(line, box.x + box.width / 2)) / line.x_height_px
        glyphs.append(Glyph(text, box, tuple(held), at, number, seen.line, foot))
        at += len(text)
    return tuple(glyphs)


def _box_of(held: Sequence[int], pieces: Pieces) -> Box:
    x, y = int(min(pieces.x[p] for p in held)), int(min(pieces.y[p] for p in held))
    right, bottom = max(pieces.right[p] for p in held), max(pieces.bottom[p] for p in held)
    return Box(x, y, int(right) - x, int(bottom) - y)


def _usual_shapes(words: Sequence[Word], lines: Sequence[Line]) -> dict[str, NDArray[np.float64]]:
    """Height, width and foot of each letter seen three times at least, in x-heights."""
    shapes: dict[str, list[NDArray[np.float64]]] = defaultdict(list)
    for word in words:
        for glyph in word.glyphs:
            shapes[glyph.text].append(_shape(glyph, lines))
    return {text: np.median(seen, axis=0) for text, seen in shapes.items() if len(seen) >= 3}


def _checked(word: Word, usual: dict[str, NDArray[np.float64]], lines: Sequence[Line]) -> Word:
    """The word, its letters sure that are like the page's others of their kind."""

    def typical(glyph: Glyph) -> bool:
        if glyph.text not in usual:
            return False
        return bool(np.all(np.abs(_shape(glyph, lines) - usual[glyph.text]) < _FAR))

    glyphs = tuple(dataclasses.replace(glyph, sure=typical(glyph)) for glyph in word.glyphs)
    return dataclasses.replace(word, glyphs=glyphs)


def _named_rightly(image: Grey, words: Sequence[Word], lines: Sequence[Line]) -> list[Word]:
    """The words, letters no longer sure that look like another than their name says."""
    sure = [glyph for word in words for glyph in word.glyphs if glyph.sure]
    places = []
    for glyph in sure:
        middle = glyph.box.x + glyph.box.width / 2
        line = lines[glyph.line]
        places.append((glyph.text, middle, baseline_at(line, middle), line.x_height_px))
    wrong = {
        (glyph.word, glyph.at)
        for glyph, bad in zip(sure, misnamed(image, places), strict=True)
        if bad
    }
    return [
        dataclasses.replace(
            word,
            glyphs=tuple(
                dataclasses.replace(glyph, sure=glyph.sure and (glyph.word, glyph.at) not in wrong)
                for glyph in word.glyphs
            ),
        )
        for word in words
    ]


def _shape(glyph: Glyph, lines: Sequence[Line]) -> NDArray[np.float64]:
    size = lines[glyph.line].x_height_px
    return np.array([glyph.box.height / size, glyph.box.width / size, glyph.drop])
