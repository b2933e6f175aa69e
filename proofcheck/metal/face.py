"""A face of the shop's as it prints here: some of its letters, from proofs that were passed.

One proof shows six of a rare letter and has to make do with them; a shop prints hundreds. What is
kept is pictures, as they were cut from their proofs, and of each which proof it is from.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from proofcheck.metal.patch_store import Patches
from proofcheck.metal.patches import TALL, WIDE, Cut, letter_windows

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

__all__ = ["LEVELS", "MOST_OF_A_KIND", "MOST_PROOFS", "Face", "Lettering", "Taught"]

LEVELS = 15
"""Greys that a picture is kept in, 0 being paper: a letter takes some 300 bytes then."""
MOST_OF_A_KIND = 64
"""Letters kept of each kind."""
MOST_PROOFS = 40
"""Proofs a face is kept from; the oldest go first."""
_BESIDE = 6.0
"""Columns beside a letter's own box that are kept, so that it can still be laid true."""


class Taught(NamedTuple):
    """A proof that a face was learnt from."""

    job: str
    proof: int
    record: str
    """SHA-256 of its record."""
    day: str
    """When it was learnt (ISO 8601)."""
    letters: int
    """How many of it were sound and plain enough to be learnt."""


@dataclass(frozen=True, slots=True, eq=False)
class Lettering:
    """Letters of one face and size, n of them."""

    text: NDArray[np.str_]
    """What each is, a character."""
    ink: NDArray[np.uint8]
    """(n, TALL, WIDE): 0 = paper, `LEVELS` = ink."""
    half: NDArray[np.float32]
    """Half the width of each, patch pixels."""
    x_height_mm: float
    body_pt: float
    slope: float
    """How far its small letters lean beyond what upright ones do, in the middle."""

    @staticmethod
    def of(
        cut: Cut, who: NDArray[np.intp], text: NDArray[np.str_], sizes: tuple[float, float, float]
    ) -> Lettering:
        """Letters as cut, by their numbers.

        Args:
            cut: all letters of a proof.
            who: numbers of those wanted.
            text: what each of those is.
            sizes: x-height in mm, body in points, and slope.
        """
        half = cut.half_width[who].astype(np.float32)
        held = cut.ink[who] * letter_windows(half + np.float32(_BESIDE))
        ink = np.round(held.clip(0, 1) * LEVELS).astype(np.uint8).reshape(-1, TALL, WIDE)
        return Lettering(text, ink, half, *sizes)


@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """One face and body as it prints in this shop."""

    number: int
    """By which people name it; never given twice in one book."""
    name: str
    """What the jobs' tickets call it; "" where none said."""
    letters: Lettering
    proof: NDArray[np.intp]
    """For each letter the place of its proof in `proofs`."""
    proofs: tuple[Taught, ...]

    @property
    def called(self) -> str:
        """Number, and name where it has one."""
        return f"face {self.number}" + (f" ({self.name})" if self.name else "")

    def cut(self) -> Cut:
        """Its letters as those of a proof."""
        ink = Patches.of(self.letters.ink.astype(np.float32) / np.float32(LEVELS))
        return Cut(ink, self.letters.half, np.zeros((len(self.letters.half), 2), np.float32))

    def without(self, job: str) -> Face:
        """The same less what was learnt from a job."""
        keep = [at for at, taught in enumerate(self.proofs) if taught.job != job]
        return self._kept(keep)

    def _kept(self, proofs: Sequence[int]) -> Face:
        """The same with these proofs alone, by their places, in order."""
        place = np.full(max(len(self.proofs), 1), -1)
        place[list(proofs)] = np.arange(len(proofs))
        held = place[self.proof] >= 0 if len(self.proof) else np.zeros(0, bool)
        return replace(
            self,
            letters=_some(self.letters, np.flatnonzero(held)),
            proof=place[self.proof[held]],
            proofs=tuple(self.proofs[at] for at in proofs),
        )

    def with_proof(self, letters: Lettering, taught: Taught) -> Face:
        """The same with letters of one more proof; of each kind as many stay as are kept.

        Earlier letters of the same job go: a revise shows the same slugs or sorts again.
        """
        before = self.without(taught.job)
        if len(before.proofs) >= MOST_PROOFS:
            before = before._kept(range(len(before.proofs) - MOST_PROOFS + 1, len(before.proofs)))
        count = len(before.proofs)
        text = np.concatenate([before.letters.text, letters.text])
        proof = np.concatenate([before.proof, np.full(len(letters.text), count)])
        keep = _spread(text, proof)
        both = Lettering(
            text[keep],
            np.concatenate([before.letters.ink, letters.ink])[keep],
            np.concatenate([before.letters.half, letters.half])[keep],
            *(
                (getattr(before.letters, size) * count + getattr(letters, size)) / (count + 1)
                for size in ("x_height_mm", "body_pt", "slope")
            ),
        )
        return replace(before, letters=both, proof=proof[keep], proofs=(*before.proofs, taught))


def _some(letters: Lettering, who: NDArray[np.intp]) -> Lettering:
    return replace(letters, text=letters.text[who], ink=letters.ink[who], half=letters.half[who])


def _spread(text: NDArray[np.str_], proof: NDArray[np.intp]) -> NDArray[np.intp]:
    """Which letters stay: of each kind `MOST_OF_A_KIND`, from all proofs as evenly as they go."""
    kept: list[int] = []
    for kind in np.unique(text):
        mine = np.flatnonzero(text == kind)
        turn = np.zeros(len(mine), np.intp)
        for each in np.unique(proof[mine]):
            own = np.flatnonzero(proof[mine] == each)
            # From all over the proof: the ninth of its letters, if nine stay, is one of its end.
            order = np.argsort((np.arange(len(own)) * 0.6180339887) % 1.0, kind="stable")
            turn[own[order]] = np.arange(len(own))
        kept += mine[np.lexsort((-proof[mine], turn))][:MOST_OF_A_KIND].tolist()
    return np.array(sorted(kept), np.intp)
