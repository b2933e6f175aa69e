"""Our own letter reader: it sees a few letters at a time and so can't guess the word.

Each line becomes a strip of one size (`sheet.strips`), the network gives for every fourth column
of it the probability of every character, and a reading is the likeliest character of each column.
The probabilities themselves are the evidence by which a reading is weighed against the copy.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.values import Letter, Reading
from proofcheck.reading import ctc
from proofcheck.reading.alphabet import CHARACTERS, INDEX, SPACE, in_classes
from proofcheck.reading.weights import OWN_WEIGHTS, open_weights
from proofcheck.sheet.ink import place_letters
from proofcheck.sheet.strips import cut_strip

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from proofcheck.base.values import Line, Sheet
    from proofcheck.sheet.strips import Strip

__all__ = ["LetterReader", "LineEvidence", "log_likelihood_ratio"]

_BATCH = 8
_SHEETS_KEPT = 4
"""What was seen on the first sheets of a proof is kept, some 10 MB each; of later ones nothing is,
so that a long proof does not fill the memory."""
_WIDTH_STEP_PX = 32
_LEAST_WIDTH_PX = 32
_INK = 128
_MOST_INK = 0.85
"""A line whose box is blacker than this holds no letters."""


@dataclass(frozen=True, slots=True, eq=False)
class LineEvidence:
    """What the network saw on one line."""

    line: int
    """Number of the line."""
    log_probs: NDArray[np.float32]
    """(columns, classes), natural logarithms; classes as in `alphabet.CHARACTERS`."""
    x_of_column: NDArray[np.float64]
    """Sheet x of the middle of each column."""


class LetterReader:
    """Reads lines letter by letter.

    Args:
        weights: the network to read with; the package's own by default.
        threads: CPU threads for one batch.

    Raises:
        WeightsError: the weights are missing or damaged.
    """

    name = "letters"
    characters = frozenset(INDEX)
    """What it tells apart."""

    def __init__(self, weights: Path = OWN_WEIGHTS, *, threads: int = 2) -> None:
        self._weights = open_weights(weights, threads=threads)
        self._kept: dict[int, tuple[Sheet, Line, LineEvidence]] = {}

    @property
    def version(self) -> str:
        """Which weights these are: the head of their SHA-256."""
        return self._weights.sha256[:12]

    def read(self, sheet: Sheet, lines: Sequence[Line]) -> tuple[Reading, ...]:
        """Read `lines` of `sheet`; boxes come back in sheet pixels."""
        return self.read_with_evidence(sheet, lines)[0]

    def read_with_evidence(
        self, sheet: Sheet, lines: Sequence[Line]
    ) -> tuple[tuple[Reading, ...], tuple[LineEvidence, ...]]:
        """Read lines and keep what the network saw: one reading, one evidence a line."""
        seen = self.evidence(sheet, lines)
        if sheet.number < _SHEETS_KEPT:
            kept = zip(lines, seen, strict=True)
            self._kept.update({line.number: (sheet, line, held) for line, held in kept})
        pairs = zip(lines, seen, strict=True)
        return tuple(_reading(sheet, line, held) for line, held in pairs), seen

    def evidence(self, sheet: Sheet, lines: Sequence[Line]) -> tuple[LineEvidence, ...]:
        """What the network sees on each line, in their order; no columns where there is no ink."""
        strips = [cut_strip(sheet, line) for line in lines]
        found: list[LineEvidence | None] = [None] * len(strips)
        with_letters = [
            at
            for at, (line, strip) in enumerate(zip(lines, strips, strict=True))
            if _may_hold_letters(sheet, line, strip)
        ]
        for chosen in _batches(strips, with_letters):
            scores = self._scores([strips[at] for at in chosen])
            for at, score in zip(chosen, scores, strict=True):
                found[at] = self._evidence(lines[at], strips[at], score)
        none = np.zeros((0, len(CHARACTERS)), np.float32)
        return tuple(
            held or LineEvidence(line.number, none, np.zeros(0))
            for held, line in zip(found, lines, strict=True)
        )

    def evidence_again(self, sheet: Sheet, lines: Sequence[Line]) -> tuple[LineEvidence, ...]:
        """The same for lines read before: as it was then, where it is kept; else looked at anew."""
        kept = {line.number: self._as_kept(sheet, line) for line in lines}
        anew = [line for line in lines if kept[line.number] is None]
        looked = {held.line: held for held in self.evidence(sheet, anew)}
        return tuple(kept[line.number] or looked[line.number] for line in lines)

    def _as_kept(self, sheet: Sheet, line: Line) -> LineEvidence | None:
        """What was seen on a line when it was read, if of this very picture and place."""
        then, its, held = self._kept.get(line.number, (None, None, None))
        same = then is not None and then.image is sheet.image
        return held if same and its is not None and its.box == line.box else None

    def _scores(self, strips: list[Strip]) -> NDArray[np.float32]:
        width = max(_LEAST_WIDTH_PX, *(strip.image.shape[1] for strip in strips))
        width = -(-width // _WIDTH_STEP_PX) * _WIDTH_STEP_PX
        batch = np.zeros((len(strips), 1, strips[0].image.shape[0], width), np.float32)
        for row, strip in enumerate(strips):
            batch[row, 0, :, : strip.image.shape[1]] = (255 - strip.image) / np.float32(255)
        scores: NDArray[np.float32] = self._weights.session.run(None, {"strips": batch})[0]
        return scores

    def _evidence(self, line: Line, strip: Strip, scores: NDArray[np.float32]) -> LineEvidence:
        stride = self._weights.stride_px
        scores = scores[: -(-strip.image.shape[1] // stride)]
        scores = scores - scores.max(axis=1, keepdims=True)
        log_probs = scores - np.log(np.exp(scores).sum(axis=1, keepdims=True))
        middles = (np.arange(len(scores)) + 0.5) * stride
        return LineEvidence(line.number, log_probs, strip.to_sheet_x(middles))


def _may_hold_letters(sheet: Sheet, line: Line, strip: Strip) -> bool:
    """Whether there is ink, and some paper about it."""
    box = line.box
    part = sheet.image[max(box.y, 0) : box.bottom, max(box.x, 0) : box.right]
    return bool((strip.image < _INK).any()) and bool((part < _INK).mean() < _MOST_INK)


def _batches(strips: Sequence[Strip], chosen: Sequence[int]) -> Iterator[list[int]]:
    """The chosen strips by width, so that little of a batch is padding."""
    by_width = sorted(chosen, key=lambda at: strips[at].image.shape[1])
    for start in range(0, len(by_width), _BATCH):
        yield by_width[start : start + _BATCH]


def _reading(sheet: Sheet, line: Line, seen: LineEvidence) -> Reading:
    decoded = ctc.greedy(seen.log_probs)
    letters = [
        (CHARACTERS[number], float(x), float(certainty))
        for number, x, certainty in zip(
            decoded.classes,
            np.interp(decoded.columns, np.arange(len(seen.x_of_column)), seen.x_of_column)
            if len(seen.x_of_column)
            else (),
            decoded.certainty,
            strict=True,
        )
    ]
    letters = _single_spaced(letters)
    text = "".join(letter for letter, _, _ in letters)
    if not text:
        return Reading(line.number, ())
    boxes = place_letters(sheet, line, text, [x for _, x, _ in letters])
    return Reading(
        line.number,
        tuple(
            Letter(letter, box, certainty)
            for (letter, _, certainty), box in zip(letters, boxes, strict=True)
        ),
    )


def _single_spaced(letters: list[tuple[str, float, float]]) -> list[tuple[str, float, float]]:
    """Without space at the ends, and never two spaces together."""
    kept: list[tuple[str, float, float]] = []
    for letter in letters:
        if letter[0] != SPACE or (kept and kept[-1][0] != SPACE):
            kept.append(letter)
    while kept and kept[-1][0] == SPACE:
        kept.pop()
    return kept


def log_likelihood_ratio(evidence: LineEvidence, as_read: str, as_copy: str) -> float:
    """How much likelier the image makes one text of a line than another, in nats.

    Both are brought to the reader's characters first (`alphabet.in_classes`). A character that no
    class stands for is scored as whatever stands there best: the image says nothing of it, and
    such places are judged otherwise (`weigh.beyond`).

    Args:
        evidence: the line.
        as_read: the line as read.
        as_copy: the line with one difference put right by the copy.

    Returns:
        Positive where the image bears out `as_read`; at most ±1000.
    """
    read, copy = _classes(as_read), _classes(as_copy)
    decoded = ctc.greedy(evidence.log_probs)
    same = len(decoded.classes) == len(read) and bool((decoded.classes == read).all())
    columns = decoded.columns if same else None
    ratio = ctc.llr(evidence.log_probs, read.tolist(), copy.tolist(), columns)
    return float(np.clip(ratio, -1000, 1000))


def _classes(text: str) -> NDArray[np.intp]:
    return np.array([INDEX.get(letter, ctc.WILDCARD) for letter in in_classes(text)], np.intp)
