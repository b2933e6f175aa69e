"""Letters laid beside their fellows, as pictures that can be compared pixel by pixel."""

from __future__ import annotations

import string
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.metal.overlaying import shifted
from proofcheck.metal.patches import TALL, WIDE, letter_windows

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from numpy.typing import NDArray

    from proofcheck.metal.overlaying import Fellows
    from proofcheck.metal.patches import Cut

__all__ = [
    "CHANNELS",
    "KINDS",
    "beside_fellows",
    "beside_in_turn",
    "by_themselves",
    "kind_numbers",
    "others_of",
]

CHANNELS = 4
KINDS = string.ascii_letters + string.digits
"""Letters and figures that are told apart; any other counts as one kind more."""


_FEW = 128
"""Letters shown in one go: 4 MB."""


def beside_in_turn(
    cut: Cut,
    who: NDArray[np.intp],
    shift: NDArray[np.intp],
    nearest: NDArray[np.intp],
    fellows: Fellows,
) -> Iterator[tuple[NDArray[np.intp], NDArray[np.float32]]]:
    """The same as `beside_fellows` of many letters, a few at a time: their numbers and pictures."""
    # Means of all, as a product of matrices may come out otherwise for few.
    means = _nearest_mean(nearest, fellows)
    for start in range(0, len(who), _FEW):
        some = slice(start, start + _FEW)
        yield who[some], _beside(cut, who[some], shift[some], means[some], fellows)


def beside_fellows(
    cut: Cut,
    who: NDArray[np.intp],
    shift: NDArray[np.intp],
    nearest: NDArray[np.intp],
    fellows: Fellows,
) -> NDArray[np.float32]:
    """Each letter laid true, its nearest fellows' mean, and the other fellows' mean and spread.

    Args:
        cut: all letters.
        who: numbers of those wanted, n of them, all of the fellows' kind.
        shift: (n, 2), of each (`overlaying.Laid`).
        nearest: (n, any number): its nearest fellows, −1 for none.
        fellows: the fellows; a letter that is one of them is left out of its own.

    Returns:
        (n, CHANNELS, TALL, WIDE): 0 to 1, in the columns and rows of the fellows' window alone.
    """
    return _beside(cut, who, shift, _nearest_mean(nearest, fellows), fellows)


def _beside(
    cut: Cut,
    who: NDArray[np.intp],
    shift: NDArray[np.intp],
    means: NDArray[np.float32],
    fellows: Fellows,
) -> NDArray[np.float32]:
    pictures = np.zeros((len(who), CHANNELS, TALL, WIDE), np.float32)
    pictures[:, 0] = shifted(cut.ink[who], shift) * fellows.mould_window
    pictures[:, 1] = means.reshape(-1, TALL, WIDE)
    mean, spread = _others(who, fellows)
    pictures[:, 2] = mean.reshape(-1, TALL, WIDE)
    pictures[:, 3] = 2 * spread.reshape(-1, TALL, WIDE)
    return pictures


def by_themselves(cut: Cut, who: NDArray[np.intp]) -> NDArray[np.float32]:
    """Letters that have no fellows, as `beside_fellows` shows those that have."""
    pictures = np.zeros((len(who), CHANNELS, TALL, WIDE), np.float32)
    pictures[:, 0] = cut.ink[who] * letter_windows(cut.half_width[who])
    return pictures


def others_of(who: NDArray[np.intp], fellows: Fellows) -> NDArray[np.float32]:
    """How many fellows each letter has that are not itself."""
    at = np.searchsorted(fellows.who, who).clip(max=len(fellows.who) - 1)
    return np.asarray(len(fellows.who) - (fellows.who[at] == who), np.float32)


def kind_numbers(text: Iterable[str]) -> NDArray[np.int64]:
    """The place of each letter in `KINDS`, and after the last for all others."""
    return np.array(
        [at if (at := KINDS.find(each)) >= 0 else len(KINDS) for each in text], np.int64
    )


def _others(
    who: NDArray[np.intp], fellows: Fellows
) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """(n, TALL * WIDE) each: mean and spread of a letter's fellows but itself."""
    ink = fellows.ink
    total, squares = ink.sum(axis=0), (ink * ink).sum(axis=0)
    at = np.searchsorted(fellows.who, who).clip(max=len(fellows.who) - 1)
    own = np.where((fellows.who[at] == who)[:, None], ink[at], 0)
    count = np.maximum(others_of(who, fellows), 1)[:, None]
    mean = (total - own) / count
    spread = np.sqrt(np.maximum((squares - own * own) / count - mean * mean, 0))
    return mean.astype(np.float32), spread.astype(np.float32)


def _nearest_mean(nearest: NDArray[np.intp], fellows: Fellows) -> NDArray[np.float32]:
    known = nearest >= 0
    at = np.searchsorted(fellows.who, np.where(known, nearest, fellows.who[0]))
    weight = np.zeros((len(nearest), len(fellows.who)), np.float32)
    np.add.at(weight, (np.arange(len(nearest))[:, None], at), known.astype(np.float32))
    weight /= np.maximum(weight.sum(axis=1, keepdims=True), 1)
    return weight @ fellows.ink
