"""A second look at each place in dispute: enlarged, and too little of it to make a word of.

Telling the engine to leave its word lists aside changes nothing in what it reads (measured), so
the lists are put out of its reach: it is shown the disputed letters with two neighbours to either
side, cut out of their word. All places of a proof are stacked and read in one start of it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from rapidfuzz.distance import Levenshtein

from proofcheck.reading.engine import Engine, find_engine
from proofcheck.reading.ocr import read_strips
from proofcheck.sheet.strips import cut_strip

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.values import Grey
    from proofcheck.sheet.strips import Strip
    from proofcheck.weigh.evidence import Dispute

__all__ = ["SecondLook"]

NEIGHBOURS = 2
"""Letters shown to either side of the place."""
HEIGHT_PX, X_HEIGHT_PX, BASELINE_ROW = 110, 34, 74
MOST_PLACES = 400
"""A proof with more disputes than this is past a second look; the rest go without."""


class SecondLook:
    """The OCR engine as a witness to each place alone.

    Raises EngineError on construction where the engine or its language is missing.
    """

    def __init__(self, language: str = "eng") -> None:
        self.engine: Engine = find_engine()
        self.engine.require(language)
        self.language = language

    def testify(self, disputes: Sequence[Dispute]) -> list[float | None]:
        """One number a dispute: 1 the place reads as the reader saw it, -1 as the copy has it."""
        looked = disputes[:MOST_PLACES]
        if not looked:
            return [None] * len(disputes)
        seen = read_strips(self.engine, _windows(looked), self.language)
        votes = [
            _vote(" ".join(word.text for word in words), dispute)
            for words, dispute in zip(seen, looked, strict=True)
        ]
        return votes + [None] * (len(disputes) - len(looked))


def _reach(text: str, start: int, end: int) -> tuple[int, int]:
    return max(start - NEIGHBOURS, 0), min(end + NEIGHBOURS, len(text))


def _windows(disputes: Sequence[Dispute]) -> list[Grey]:
    """The places, in their order; a line is enlarged once for all that are on it."""
    by_line: dict[tuple[int, int], list[int]] = {}
    for at, dispute in enumerate(disputes):
        by_line.setdefault((id(dispute.sheet), id(dispute.line)), []).append(at)
    found: dict[int, Grey] = {}
    for places in by_line.values():
        first = disputes[places[0]]
        strip = cut_strip(
            first.sheet,
            first.line,
            height=HEIGHT_PX,
            x_height=X_HEIGHT_PX,
            baseline_row=BASELINE_ROW,
        )
        found |= {at: _window(disputes[at], strip) for at in places}
    return [found[at] for at in range(len(disputes))]


def _window(dispute: Dispute, strip: Strip) -> Grey:
    """The place with its neighbours, cut from the enlarged strip of its line."""
    letters = dispute.reading.letters
    first, last = _reach(dispute.as_read, *dispute.difference.proof)
    boxes = [letter.box for letter in letters[first:last] if letter.text != " "]
    if not boxes:
        boxes = [dispute.line.box]
    ends = np.array([min(b.x for b in boxes), max(b.right for b in boxes)], np.float64)
    left, right = strip.to_strip_x(ends)
    left = max(int(left) - 3, 0)
    right = min(int(right) + 4, strip.image.shape[1])
    window = strip.image[:, left : max(right, left + 1)]
    return np.pad(window, ((0, 0), (20, 20)), constant_values=255)


def _vote(seen: str, dispute: Dispute) -> float | None:
    """Which of the two readings the engine's word on the window is nearer to."""
    if not seen:
        return None
    first, last = _reach(dispute.as_read, *dispute.difference.proof)
    as_read = dispute.as_read[first:last].strip()
    first, last = _reach(dispute.as_copy, *dispute.in_copy)
    as_copy = dispute.as_copy[first:last].strip()
    from_read = Levenshtein.distance(seen, as_read)
    from_copy = Levenshtein.distance(seen, as_copy)
    if from_read == from_copy:
        return 0.0
    nearer = min(from_read, from_copy)
    sign = 1.0 if from_read < from_copy else -1.0
    return sign / (1 + nearer)
