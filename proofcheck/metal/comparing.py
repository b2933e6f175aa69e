"""The comparer: how likely a letter is of a strange face, or broken, beside its fellows.

A small network sees a letter, its nearest fellows' mean, and the mean and spread of all of them,
and nothing else: neither what the letter is nor the letters beside it. What it learnt from is in
`weights/CARD.md`.
"""

from __future__ import annotations

from collections import defaultdict
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from proofcheck.metal.beside import CHANNELS, beside_fellows
from proofcheck.metal.patches import TALL, WIDE
from proofcheck.reading.weights import open_network

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from onnxruntime import InferenceSession

    from proofcheck.metal.fount import Fount
    from proofcheck.metal.laying import Fellows, Laid
    from proofcheck.metal.patches import Cut

__all__ = ["OWN_COMPARER", "Odds", "compare", "compare_as"]

OWN_COMPARER = Path(__file__).parent / "weights" / "comparer.onnx"
"""The weights that come with the package."""
NEVER = -30.0
"""Log odds of letters that are not looked at."""
_BATCH = 256
_SOUND, _STRANGE, _BROKEN = 0, 1, 2
_TROUBLE = (
    "the weights for looking at the type {}; install proofcheck again "
    "(pip install --force-reinstall proofcheck), or leave the type out (--text-only)"
)


class Odds(NamedTuple):
    """For each letter of a fount, natural logarithms of odds."""

    strange: NDArray[np.float32]
    """Of another face against sound."""
    broken: NDArray[np.float32]
    """Broken against sound."""


def compare(fount: Fount, look: NDArray[np.bool_], weights: Path = OWN_COMPARER) -> Odds:
    """Look at letters of a fount beside their fellows.

    Args:
        fount: the letters.
        look: which of them to look at; those without fellows are left out.
        weights: of the comparer.

    Raises:
        WeightsError: they are missing or damaged.
    """
    session = _open(weights)
    odds = Odds(*(np.full(len(fount.text), NEVER, np.float32) for _ in range(2)))
    of_kind: dict[str, list[int]] = defaultdict(list)
    for number in np.flatnonzero(look & np.isfinite(fount.unlike)).tolist():
        of_kind[str(fount.text[number])].append(number)
    who = np.array([number for held in of_kind.values() for number in held], np.intp)
    pictures = [
        beside_fellows(
            fount.cut, np.array(held), fount.shift[held], fount.nearest[held], fount.fellows[kind]
        )
        for kind, held in of_kind.items()
    ]
    shown = np.concatenate(pictures) if pictures else np.zeros((0, CHANNELS, TALL, WIDE))
    for start in range(0, len(who), _BATCH):
        part, seen = who[start : start + _BATCH], shown[start : start + _BATCH]
        scores = session.run(None, {"letters": seen})[0]
        odds.strange[part] = scores[:, _STRANGE] - scores[:, _SOUND]
        odds.broken[part] = scores[:, _BROKEN] - scores[:, _SOUND]
    return odds


def compare_as(
    cut: Cut, number: int, laid: Laid, fellows: Fellows, weights: Path = OWN_COMPARER
) -> tuple[float, float]:
    """Log odds of strange and of broken against sound, of a letter taken for another.

    Args:
        cut: letters.
        number: of the letter in it.
        laid: what came of laying it alone on the other's fellows.
        fellows: of what it may be.
        weights: of the comparer.

    Raises:
        WeightsError: they are missing or damaged.
    """
    pictures = beside_fellows(cut, np.array([number]), laid.shift, laid.nearest, fellows)
    scores = _open(weights).run(None, {"letters": pictures})[0][0]
    return float(scores[_STRANGE] - scores[_SOUND]), float(scores[_BROKEN] - scores[_SOUND])


@lru_cache(maxsize=4)
def _open(weights: Path) -> InferenceSession:
    return open_network(weights, _TROUBLE)[0]
