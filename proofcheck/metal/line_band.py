"""The band of a sheet that a line lies in, made level."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.base.values import Grey

__all__ = ["line_band"]


def line_band(image: Grey, base: NDArray[np.intp], steps: NDArray[np.intp], left: int) -> Grey:
    """Rows of a picture that follow a baseline; past its head or foot its outermost row again.

    Args:
        image: the sheet.
        base: row of the baseline in each column of the band.
        steps: rows of the band under the baseline, one by one.
        left: sheet column of the band's first.

    Returns:
        As many rows as there are steps, as many columns as there are of the baseline.
    """
    band = np.empty((len(steps), len(base)), image.dtype)
    # A baseline goes on level over hundreds of columns: they are copied together.
    cuts = (np.flatnonzero(np.diff(base)) + 1).tolist()
    for first, last in itertools.pairwise([0, *cuts, len(base)]):
        top = int(base[first] + steps[0])
        columns = slice(left + first, left + last)
        if 0 <= top <= len(image) - len(steps):
            band[:, first:last] = image[top : top + len(steps), columns]
        else:
            rows = np.clip(np.arange(top, top + len(steps)), 0, len(image) - 1)
            band[:, first:last] = image[rows, columns]
    return band
