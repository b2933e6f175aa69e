"""The proof's own letters, all brought to one size: what an "e" of this job looks like.

Every letter is cut out with what stands beside it, laid true on the fellows of its kind, and told
how unlike the nearest of them it is. Fellows are taken from the proof itself, because only they
share its face, wear, ink and paper.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.metal.overlaying import FAR, NEAREST, Fellows, lay_on
from proofcheck.metal.patch_store import blocks
from proofcheck.metal.patches import cut_letters

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from proofcheck.base.found import Collation
    from proofcheck.base.values import Line, Reading, Sheet
    from proofcheck.metal.overlaying import Laid
    from proofcheck.metal.patches import Cut

__all__ = ["LEAST_FELLOWS", "Fount", "fount_of"]

MOST_FELLOWS = 40
LEAST_FELLOWS = 4
_SURE = 0.9
_ODD = 0.15


@dataclass(frozen=True, slots=True, eq=False)
class Fount:
    """All letters of a proof, as arrays of equal length n; spaces are left out."""

    text: NDArray[np.str_]
    """What was read, a character each."""
    line: NDArray[np.intp]
    """Place of its line in the sequence of lines."""
    at: NDArray[np.intp]
    """Place in its line's reading."""
    cut: Cut
    unlike: NDArray[np.float32]
    """How unlike its nearest fellows, 0 = the same; NaN where it has too few."""
    moved: NDArray[np.float32]
    """(n, 2): how far right of and below its fellows' place it stands, in patch pixels."""
    shift: NDArray[np.intp]
    """(n, 2): the same of the patch as cut, whole pixels (`overlaying.Laid`)."""
    lost: NDArray[np.float32]
    added: NDArray[np.float32]
    """Shares of ink wanting and over, by its nearest fellows (`overlaying.Laid`)."""
    nearest: NDArray[np.intp]
    """(n, NEAREST): its nearest fellows; −1 where it has too few."""
    closest: NDArray[np.float32]
    """How unlike the very nearest of them; NaN where it has too few."""
    agreed: NDArray[np.bool_]
    """Reading and copy agree on it."""
    fellows: Mapping[str, Fellows]
    """By character: those letters that stand for their kind."""


def fount_of(
    sheets: Sequence[Sheet],
    lines: Sequence[Line],
    readings: Sequence[Reading],
    collation: Collation,
) -> Fount:
    """Cut out and compare all letters of a proof.

    Args:
        sheets: the sheets of the proof.
        lines: its lines.
        readings: one a line, in the same order.
        collation: what is in dispute, so that no letter in dispute stands for its kind.
    """
    line, at, text = _places(readings)
    cut = cut_letters(sheets, lines, readings, line, at)
    agreed = _agreed(lines, collation, line, at)
    certainty = np.array(
        [readings[row].letters[place].certainty for row, place in zip(line, at, strict=True)]
    )
    laid = _Laid.of(len(text))
    fellows: dict[str, Fellows] = {}
    for character in dict.fromkeys(text.tolist()):
        mine = np.flatnonzero(text == character)
        good = mine[agreed[mine] & (certainty[mine] >= _SURE)]
        if len(good) < LEAST_FELLOWS:
            continue
        step = max(1, -(-len(good) // MOST_FELLOWS))
        fellows[character] = Fellows.of(cut, good[::step])
        for part in blocks(mine):
            laid.take(part, lay_on(cut, part, fellows[character]))
        # A letter that touches another may have been cut in the wrong place.
        odd = mine[laid.unlike[mine] > _ODD]
        for part in blocks(odd):
            laid.take(part, lay_on(cut, part, fellows[character], reach=FAR), if_better=True)
    return Fount(
        text, line, at, cut, laid.unlike, laid.moved, laid.shift, laid.lost, laid.added,
        laid.nearest, laid.closest, agreed, fellows,
    )  # fmt: skip


@dataclass(slots=True, eq=False)
class _Laid:
    """`overlaying.Laid` of all letters, filled kind by kind."""

    unlike: NDArray[np.float32]
    moved: NDArray[np.float32]
    shift: NDArray[np.intp]
    lost: NDArray[np.float32]
    added: NDArray[np.float32]
    nearest: NDArray[np.intp]
    closest: NDArray[np.float32]

    @staticmethod
    def of(count: int) -> _Laid:
        lost, added = np.zeros(count, np.float32), np.zeros(count, np.float32)
        unlike, moved = np.full(count, np.nan, np.float32), np.zeros((count, 2), np.float32)
        shift, nearest = np.zeros((count, 2), np.intp), np.full((count, NEAREST), -1)
        return _Laid(unlike, moved, shift, lost, added, nearest, unlike.copy())

    def take(self, who: NDArray[np.intp], laid: Laid, *, if_better: bool = False) -> None:
        """Take over what came of laying some; on a second try only where it is better."""
        better = laid.unlike < self.unlike[who] if if_better else np.ones(len(who), bool)
        who = who[better]
        for name in ("unlike", "moved", "shift", "lost", "added", "nearest", "closest"):
            getattr(self, name)[who] = getattr(laid, name)[better]


def _places(
    readings: Sequence[Reading],
) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.str_]]:
    held = [
        [
            place
            for place, letter in enumerate(reading.letters)
            if not letter.text.isspace() and letter.box.width > 0 and letter.box.height > 0
        ]
        for reading in readings
    ]
    line = np.repeat(np.arange(len(held)), np.array([len(places) for places in held], np.intp))
    at = np.array([place for places in held for place in places], np.intp)
    pairs = zip(readings, held, strict=True)
    text = [reading.letters[place].text for reading, places in pairs for place in places]
    return line, at, np.array(text, "U1")


def _agreed(
    lines: Sequence[Line], collation: Collation, line: NDArray[np.intp], at: NDArray[np.intp]
) -> NDArray[np.bool_]:
    """Which letters no difference touches and whose line has a place in the copy."""
    row_of = {each.number: row for row, each in enumerate(lines)}
    placed = np.zeros(len(lines), bool)
    for placing in collation.placings:
        if placing.line in row_of:
            placed[row_of[placing.line]] = placing.copy is not None
    agreed = placed[line] if len(line) else np.zeros(0, bool)
    for difference in collation.differences:
        row = row_of.get(difference.line)
        start, end = difference.proof
        if row is not None:
            agreed &= ~((line == row) & (at >= start) & (at < end))
    return agreed
