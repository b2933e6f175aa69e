"""Letters laid beside their fellows, as pictures that can be compared pixel by pixel."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.metal.laying import shifted
from proofcheck.metal.patches import TALL, WIDE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.metal.laying import Fellows
    from proofcheck.metal.patches import Cut

__all__ = ["CHANNELS", "beside_fellows"]

CHANNELS = 4


def beside_fellows(
    cut: Cut,
    who: NDArray[np.intp],
    shift: NDArray[np.intp],
    nearest: NDArray[np.intp],
    fellows: Fellows,
) -> NDArray[np.float32]:
    """Each letter laid true, its nearest fellows' mean, and all fellows' mean and spread.

    Args:
        cut: all letters.
        who: numbers of those wanted, n of them, all of the fellows' kind.
        shift: (n, 2), of each (`laying.Laid`).
        nearest: (n, any number): its nearest fellows, −1 for none.
        fellows: the fellows.

    Returns:
        (n, CHANNELS, TALL, WIDE): 0 to 1, in the columns and rows of the fellows' window alone.
    """
    pictures = np.zeros((len(who), CHANNELS, TALL, WIDE), np.float32)
    window = fellows.mould_window
    pictures[:, 0] = shifted(cut.ink[who], shift) * window
    pictures[:, 1] = _nearest_mean(nearest, fellows).reshape(-1, TALL, WIDE)
    pictures[:, 2] = fellows.mould
    pictures[:, 3] = 2 * fellows.ink.std(axis=0).reshape(TALL, WIDE)
    return pictures


def _nearest_mean(nearest: NDArray[np.intp], fellows: Fellows) -> NDArray[np.float32]:
    known = nearest >= 0
    at = np.searchsorted(fellows.who, np.where(known, nearest, fellows.who[0]))
    weight = np.zeros((len(nearest), len(fellows.who)), np.float32)
    np.add.at(weight, (np.arange(len(nearest))[:, None], at), known.astype(np.float32))
    weight /= np.maximum(weight.sum(axis=1, keepdims=True), 1)
    return weight @ fellows.ink
