"""The page as its own evidence: its own good e's say what an e looks like here.

For a letter in dispute, its ink is laid over letters of the same proof that reading and copy
agree on: those of the letter read, and those of the letter the copy wants.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from proofcheck.sheet.shelf import looked_at

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from proofcheck.base.found import Difference
    from proofcheck.base.values import Box, Grey, Line, Reading, Sheet
    from proofcheck.weigh.evidence import Dispute

__all__ = ["Frame", "OwnLetters", "letter_patch", "places_by_letter"]

PATCH_PX = 32
X_HEIGHT_PX = 14
"""In a patch: leaves room for ascenders and descenders about the x-height."""
BASELINE_ROW = 23
EXEMPLARS = 12
"""Good letters looked at for each side; more add time, hardly certainty."""
LEAST_EXEMPLARS = 2
SLIDE_PX = 2
"""A letter may sit this far off in its patch and still be laid true."""


class OwnLetters:
    """Compares letters in dispute with the proof's own good letters.

    Args:
        sheets, lines, readings: the proof as read.
        differences: what is in dispute, so that no letter in dispute serves as an example.
    """

    def __init__(
        self,
        sheets: Sequence[Sheet],
        lines: Sequence[Line],
        readings: Sequence[Reading],
        differences: Iterable[Difference],
    ) -> None:
        self._sheets = {sheet.number: sheet for sheet in sheets}
        self._lines = {line.number: line for line in lines}
        self._places = places_by_letter(readings, differences, EXEMPLARS)
        self._patches: dict[str, list[NDArray[np.float32]]] = {}

    def testify(self, disputes: Sequence[Dispute]) -> list[float | None]:
        """One number a dispute: 1 like the letter read, -1 like the copy's, None if unlike both."""
        return [self._likeness(dispute) for dispute in disputes]

    def _likeness(self, dispute: Dispute) -> float | None:
        difference = dispute.difference
        start, end = difference.proof
        read, wanted = difference.proof_text, difference.copy_text
        if end - start != 1 or len(wanted) != 1 or read.isspace() or wanted.isspace():
            return None
        as_read, as_wanted = self._good(read), self._good(wanted)
        if len(as_read) < LEAST_EXEMPLARS or len(as_wanted) < LEAST_EXEMPLARS:
            return None
        box = dispute.reading.letters[start].box
        patch = letter_patch(dispute.sheet.image, dispute.line, box)
        near_read = float(np.mean(sorted(_unlike(patch, good) for good in as_read)[:4]))
        near_wanted = float(np.mean(sorted(_unlike(patch, good) for good in as_wanted)[:4]))
        return (near_wanted - near_read) / max(near_wanted + near_read, 1e-6)

    def _good(self, letter: str) -> list[NDArray[np.float32]]:
        if letter not in self._patches:
            self._patches[letter] = [
                letter_patch(
                    looked_at(self._sheets[self._lines[number].sheet].image),
                    self._lines[number],
                    box,
                )
                for number, box in self._places.get(letter, ())
            ]
        return self._patches[letter]


def places_by_letter(
    readings: Sequence[Reading], differences: Iterable[Difference], most: int
) -> dict[str, list[tuple[int, Box]]]:
    """Where each character stands that is in no dispute: number of the line, and its box.

    No more than `most` of each, from all over the proof: all those of a long one would take as
    much memory as the letters themselves.
    """
    disputed: dict[int, set[int]] = defaultdict(set)
    for difference in differences:
        # One letter to either side as well: its box may have been cut wrong.
        start, end = difference.proof
        disputed[difference.line].update(range(start - 1, end + 1))
    lines: dict[str, list[int]] = defaultdict(list)
    boxes: dict[str, list[Box]] = defaultdict(list)
    for reading in readings:
        barred = disputed.get(reading.line, set())
        for at, letter in enumerate(reading.letters):
            if at not in barred and letter.box.width > 0 and not letter.text.isspace():
                lines[letter.text].append(reading.line)
                boxes[letter.text].append(letter.box)
    places = {}
    for text, held in boxes.items():
        step = max(1, len(held) // most)
        places[text] = list(zip(lines[text][::step][:most], held[::step][:most], strict=True))
    return places


@dataclass(frozen=True, slots=True)
class Frame:
    """How letters are laid out to be compared."""

    height_px: int
    width_px: int
    x_height_px: float
    baseline_row: int
    whole_column: bool
    """What stands above and below its box belongs to the letter, as far as the frame reaches."""


OWN_FRAME = Frame(PATCH_PX, PATCH_PX, X_HEIGHT_PX, BASELINE_ROW, whole_column=True)


def letter_patch(
    image: Grey, line: Line, box: Box, frame: Frame = OWN_FRAME
) -> NDArray[np.float32]:
    """One letter at a fixed scale on a fixed baseline: the frame's shape, 0 = paper, 1 = ink."""
    scale = frame.x_height_px / max(line.x_height_px, 1.0)
    middle = box.x + box.width / 2
    share = (middle - line.box.x) / max(line.box.width, 1)
    baseline = line.baseline[0] + share * (line.baseline[1] - line.baseline[0])
    left, right = max(box.x - 1, 0), min(box.right + 1, image.shape[1])
    reach = int(frame.height_px / scale)
    rows = (int(baseline) - reach, int(baseline) + reach)
    if not frame.whole_column:
        rows = (box.y - 1, box.bottom + 1)
    top, bottom = max(rows[0], 0), min(rows[1], image.shape[0])
    if right <= left or bottom <= top:
        return np.zeros((frame.height_px, frame.width_px), np.float32)
    piece = np.asarray(image[top:bottom, left:right])
    if scale < 1:
        # Blurring by what is about to be dropped keeps thin strokes from vanishing.
        piece = cv2.GaussianBlur(piece, (0, 0), 0.45 / scale).astype(np.uint8)
    across = [scale, 0, frame.width_px / 2 - scale * middle]
    down = [0, scale, frame.baseline_row - scale * baseline]
    move = np.array([across, down], np.float64)
    move[:, 2] += move[:, :2] @ np.array([left, top], np.float64)
    size = (frame.width_px, frame.height_px)
    patch = cv2.warpAffine(piece, move, size, flags=cv2.INTER_LINEAR, borderValue=255)
    return np.asarray((255 - patch) / 255, np.float32)


def _unlike(patch: NDArray[np.float32], good: NDArray[np.float32]) -> float:
    """1 less the best correlation of two patches over small slides; 0 = the same."""
    framed = np.pad(good, SLIDE_PX)
    if float(patch.std()) < 1e-3 or float(good.std()) < 1e-3:
        return 1.0
    return 1.0 - float(cv2.matchTemplate(framed, patch, cv2.TM_CCOEFF_NORMED).max())
