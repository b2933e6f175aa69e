"""Letters by those beside them on their line, or in their word: medians and shares, all at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["median_beside", "share_beside", "share_to_a_side"]

_BLOCK = 4096
"""Letters whose medians are taken in one go: all those beside each of a long proof's are more than
its pictures."""


def share_beside(
    true: NDArray[np.bool_], group: NDArray[np.intp], reach: int, least: int, *, nearest: int = 1
) -> NDArray[np.float64]:
    """For each letter the share of others near it that are true.

    Args:
        true: of each letter, in order of the proof.
        group: number of its line, or of its word; only letters of one group count.
        reach: letters to either side.
        least: 0 where there are fewer others than that.
        nearest: letters nearer than so many are left out.
    """
    before = _before(true, group, reach, nearest)
    after = _before(true[::-1], group[::-1], reach, nearest)[:, ::-1]
    return _share(before + after, least)


def share_to_a_side(
    true: NDArray[np.bool_], group: NDArray[np.intp], reach: int, least: int
) -> NDArray[np.float64]:
    """The same of others before it alone, or after it alone: the larger of the two."""
    before = _before(true, group, reach)
    after = _before(true[::-1], group[::-1], reach)[:, ::-1]
    return np.maximum(_share(before, least), _share(after, least))


def _before(
    true: NDArray[np.bool_], group: NDArray[np.intp], reach: int, nearest: int = 1
) -> NDArray[np.float64]:
    """(2, n): for each letter how many of its group stand before it, and how many are true."""
    found = np.zeros((2, len(true)))
    for away in range(nearest, min(reach, len(true) - 1) + 1):
        same = group[away:] == group[:-away]
        found[0, away:] += same
        found[1, away:] += same & true[:-away]
    return found


def _share(counted: NDArray[np.float64], least: int) -> NDArray[np.float64]:
    count, held = counted
    return np.where(count >= least, held / np.maximum(count, 1), 0.0)


def median_beside(
    value: NDArray[np.floating], group: NDArray[np.intp], reach: int, least: int
) -> NDArray[np.float64]:
    """For each letter the median of others near it; NaN where there are too few.

    Args:
        value: of each letter, in order of the proof.
        group: number of its line, or of its word; only letters of one group count.
        reach: letters to either side.
        least: others that there must be.
    """
    found = np.zeros(len(value))
    for start in range(0, len(value), _BLOCK):
        first, end = max(start - reach, 0), start + _BLOCK
        near = slice(first, end + reach)
        medians = _medians(value[near], group[near], reach, least)
        found[start:end] = medians[start - first : end - first]
    return found


def _medians(
    value: NDArray[np.floating], group: NDArray[np.intp], reach: int, least: int
) -> NDArray[np.float64]:
    count = len(value)
    beside = np.full((count, 2 * reach), np.inf)
    for away in range(1, min(reach, count - 1) + 1):
        same = group[away:] == group[:-away]
        beside[away:, away - 1] = np.where(same, value[:-away], np.inf)
        beside[:-away, reach + away - 1] = np.where(same, value[away:], np.inf)
    beside.sort(axis=1)
    held = np.isfinite(beside).sum(axis=1)
    rows, last = np.arange(count), np.maximum(held - 1, 0)
    middle = (beside[rows, last // 2] + beside[rows, (last + 1) // 2]) / 2
    return np.where(held >= max(least, 1), middle, np.nan)
