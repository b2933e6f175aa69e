"""What the OCR engine saw on a page, laid on the page's true text."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from rapidfuzz.distance import Levenshtein

from proofcheck.base.values import Box
from proofcheck.reading.engine import find_engine, words_in

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.values import Grey, Line

__all__ = ["Seen", "baseline_at", "see"]

_ALIKE = str.maketrans(
    {"‘": "'", "’": "'", "“": '"', "”": '"', "\n": " ", "\t": " ", "–": "-", "\xad": "-"}
)
_LEAST_CONFIDENCE = 20.0
_LEAST_RUN = 3
"""Single letters agree by chance in matter that does not."""


@dataclass(frozen=True, slots=True)
class Seen:
    """One word as the engine saw it."""

    text: str
    box: Box
    line: int
    places: tuple[int | None, ...]
    """For each letter its offset in the true text, None where the two don't agree."""

    @property
    def at(self) -> int | None:
        """Offset of its first letter."""
        return self.places[0] if self.places else None

    @property
    def agrees(self) -> bool:
        """Whether the text has just this word there."""
        first = self.places[0]
        return first is not None and self.places == tuple(range(first, first + len(self.text)))


def baseline_at(line: Line, x: float) -> float:
    """Height of a line's baseline at x."""
    left, right = line.baseline
    return left + (right - left) * (x - line.box.x) / max(line.box.width, 1)


def see(image: Grey, lines: Sequence[Line], text: str) -> list[Seen]:
    """The words of a page, by line and from left to right; the engine is run once."""
    found = words_in(find_engine(), image, "eng", layout=3)
    words = []
    columns = ("text", "conf", "left", "top", "width", "height")
    for word, confidence, *sides in zip(*(found[name] for name in columns), strict=True):
        box = Box(*map(int, sides))
        line = _line_at(box, lines)
        if str(word).strip() and float(confidence) >= _LEAST_CONFIDENCE and line is not None:
            words.append((str(word).strip(), box, line))
    words.sort(key=lambda word: (word[2], word[1].x))
    places = _laid_on([word for word, _, _ in words], text)
    return [
        Seen(word, box, line, its) for (word, box, line), its in zip(words, places, strict=True)
    ]


def _line_at(box: Box, lines: Sequence[Line]) -> int | None:
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


def _laid_on(words: Sequence[str], text: str) -> list[tuple[int | None, ...]]:
    read, true = " ".join(words).translate(_ALIKE), text.translate(_ALIKE)
    place: list[int | None] = [None] * len(read)
    for code in Levenshtein.opcodes(read, true):
        if code.tag == "equal" and code.src_end - code.src_start >= _LEAST_RUN:
            for step in range(code.src_end - code.src_start):
                place[code.src_start + step] = code.dest_start + step
    places, start = [], 0
    for word in words:
        places.append(tuple(place[start : start + len(word)]))
        start += len(word) + 1
    return places
