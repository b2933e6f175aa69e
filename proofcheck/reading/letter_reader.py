"""Our own letter reader: it sees a few letters at a time and so can't guess the word.

Each line becomes a strip of one size (`sheet.strips`), the network gives for every fourth column
of it the probability of every character, and a reading is the likeliest character of each column.
The probabilities themselves are the evidence by which a reading is weighed against the copy.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.threads import network_threads
from proofcheck.base.values import Letter, Reading
from proofcheck.reading import ctc
from proofcheck.reading.alphabet import CHARACTERS, INDEX, NO_LETTER, SPACE, in_classes
from proofcheck.reading.weights import FEATURES, OWN_WEIGHTS, open_weights
from proofcheck.sheet.ink import place_letters
from proofcheck.sheet.shelf import on_disk
from proofcheck.sheet.strips import cut_strip

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from proofcheck.base.values import Box, Line, Sheet
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


@dataclass(frozen=True, slots=True)
class _Seen:
    """One letter as read."""

    text: str
    column: float
    certainty: float


@dataclass(frozen=True, slots=True, eq=False)
class LineEvidence:
    """What the network saw on one line."""

    line: int
    """Number of the line."""
    log_probs: NDArray[np.float32]
    """(columns, classes), natural logarithms; classes as in `alphabet.CHARACTERS`."""
    x_of_column: NDArray[np.float64]
    """Sheet x of the middle of each column."""
    letters: NDArray[np.float16] = field(default_factory=lambda: np.zeros((0, 0), np.float16))
    """(letters, features): what the network made of each letter as read, before it was named; no
    rows where the weights don't give it."""
    read: tuple[_Seen, ...] = ()
    """The letters as read."""


class LetterReader:
    """Reads lines letter by letter.

    Args:
        weights: the network to read with; the package's own by default.
        threads: batches looked at side by side; `network_threads` if not given.

    Raises:
        WeightsError: the weights are missing or damaged.
    """

    name = "letters"
    characters = frozenset(INDEX) - {NO_LETTER}
    """What it tells apart."""

    def __init__(self, weights: Path = OWN_WEIGHTS, *, threads: int | None = None) -> None:
        self._weights = open_weights(weights)
        self._threads = threads or network_threads()
        self._kept: dict[int, tuple[Sheet, Line, LineEvidence]] = {}
        self._letters: dict[tuple[int, Box], tuple[NDArray[np.float64], NDArray[np.float16]]] = {}

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
        self._keep_letters(sheet, lines, seen)
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

        def look(chosen: list[int]) -> None:
            scores, made = self._scores([strips[at] for at in chosen])
            for row, at in enumerate(chosen):
                of = made[row] if made is not None else None
                found[at] = self._evidence(lines[at], strips[at], scores[row], of)

        _side_by_side(look, list(_batches(strips, with_letters)), self._threads)
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

    def letters_seen(self, sheet: Sheet, lines: Sequence[Line]) -> tuple[NDArray[np.float16], ...]:
        """For each line read before, what was made of its letters: (letters, features).

        No rows for a line that was not read on this sheet, or where the weights don't give it.
        """
        none = np.zeros((0, 0), np.float16)
        found = []
        for line in lines:
            laid, held = self._letters.get((sheet.number, line.box), (None, none))
            found.append(held if laid is sheet.to_scan else none)
        return tuple(found)

    def _keep_letters(
        self, sheet: Sheet, lines: Sequence[Line], seen: Sequence[LineEvidence]
    ) -> None:
        """Keep what was made of the letters: 1 MB a page, of later sheets on disk."""
        rows = [held.letters for held in seen if held.letters.size]
        if not rows:
            return
        joined = np.concatenate(rows)
        whole = on_disk(joined) if sheet.number >= _SHEETS_KEPT else joined
        at = 0
        for line, held in zip(lines, seen, strict=True):
            count = len(held.letters)
            self._letters[sheet.number, line.box] = sheet.to_scan, whole[at : at + count]
            at += count

    def _as_kept(self, sheet: Sheet, line: Line) -> LineEvidence | None:
        """What was seen on a line when it was read, if of this very picture and place."""
        then, its, held = self._kept.get(line.number, (None, None, None))
        same = then is not None and then.image is sheet.image
        return held if same and its is not None and its.box == line.box else None

    def _scores(
        self, strips: list[Strip]
    ) -> tuple[NDArray[np.float32], NDArray[np.float32] | None]:
        """(lines, columns, classes), and (lines, columns, features) where the weights give them."""
        width = max(_LEAST_WIDTH_PX, *(strip.image.shape[1] for strip in strips))
        width = -(-width // _WIDTH_STEP_PX) * _WIDTH_STEP_PX
        batch = np.zeros((len(strips), 1, strips[0].image.shape[0], width), np.float32)
        for row, strip in enumerate(strips):
            batch[row, 0, :, : strip.image.shape[1]] = (255 - strip.image) / np.float32(255)
        asked = ["scores", FEATURES] if self._weights.gives_features else ["scores"]
        scores, *made = self._weights.session.run(asked, {"strips": batch})
        return scores, made[0][:, :, 0].transpose(0, 2, 1) if made else None

    def _evidence(
        self,
        line: Line,
        strip: Strip,
        scores: NDArray[np.float32],
        made: NDArray[np.float32] | None,
    ) -> LineEvidence:
        stride = self._weights.stride_px
        scores = scores[: -(-strip.image.shape[1] // stride)]
        scores = scores - scores.max(axis=1, keepdims=True)
        log_probs = scores - np.log(np.exp(scores).sum(axis=1, keepdims=True))
        middles = (np.arange(len(scores)) + 0.5) * stride
        read = tuple(_decoded(log_probs))
        seen = LineEvidence(line.number, log_probs, strip.to_sheet_x(middles), read=read)
        if made is None:
            return seen
        columns = [round(letter.column) for letter in read]
        return replace(seen, letters=made[columns].astype(np.float16))


def _may_hold_letters(sheet: Sheet, line: Line, strip: Strip) -> bool:
    """Whether there is ink, and some paper about it."""
    box = line.box
    part = sheet.image[max(box.y, 0) : box.bottom, max(box.x, 0) : box.right]
    return bool((strip.image < _INK).any()) and bool((part < _INK).mean() < _MOST_INK)


def _side_by_side(
    look: Callable[[list[int]], None], batches: Sequence[list[int]], threads: int
) -> None:
    """Look at batches, so many at once; the widest first, so that none is waited for at the end.

    A thread a batch: several within one wait for each other at full load, layer by layer.
    """
    if threads == 1 or len(batches) < 2:
        for batch in batches:
            look(batch)
        return
    with ThreadPoolExecutor(threads) as crew:
        list(crew.map(look, reversed(batches)))


def _batches(strips: Sequence[Strip], chosen: Sequence[int]) -> Iterator[list[int]]:
    """The chosen strips by width, so that little of a batch is padding."""
    by_width = sorted(chosen, key=lambda at: strips[at].image.shape[1])
    for start in range(0, len(by_width), _BATCH):
        yield by_width[start : start + _BATCH]


def _reading(sheet: Sheet, line: Line, seen: LineEvidence) -> Reading:
    letters = seen.read
    if not letters:
        return Reading(line.number, ())
    columns = np.arange(len(seen.x_of_column))
    places = np.interp([letter.column for letter in letters], columns, seen.x_of_column).tolist()
    boxes = place_letters(sheet, line, "".join(letter.text for letter in letters), places)
    return Reading(
        line.number,
        tuple(
            Letter(letter.text, box, letter.certainty)
            for letter, box in zip(letters, boxes, strict=True)
        ),
    )


def _decoded(log_probs: NDArray[np.float32]) -> list[_Seen]:
    """The letters of a line, without space at the ends, and never two spaces together."""
    decoded = ctc.greedy(log_probs)
    kept: list[_Seen] = []
    for number, column, certainty in zip(
        decoded.classes, decoded.columns, decoded.certainty, strict=True
    ):
        letter = _Seen(CHARACTERS[number], float(column), float(certainty))
        if letter.text != SPACE or (kept and kept[-1].text != SPACE):
            kept.append(letter)
    while kept and kept[-1].text == SPACE:
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
