"""Letters that touch or cross a rule: what of the ink is the rule's, and what is theirs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.sheet.pieces import find_pieces, without

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.sheet.rules import Ruled

__all__ = ["part_rules"]

_BURR: Final = 0.35
"""Bits left of a worn rule are smaller, in common letter heights."""
_BEND: Final = 3.0
"""A rounded or mitred corner that joins two sides is smaller, in common letter heights."""


def part_rules(
    ink: NDArray[np.uint8], ruled: Ruled, size: float
) -> tuple[NDArray[np.uint8], NDArray[np.uint8]]:
    """Ink that is rules', and ink that stays: letters that touch or cross a rule stay whole.

    Args:
        ink: the sheet, 1 = ink.
        ruled: its rules.
        size: common height of its letters, pixels.
    """
    rules = ruled.upright | ruled.level
    rest = without(ink, rules)
    pieces, labels = find_pieces(rest)
    near = cv2.dilate(rules, np.ones((3, 3), np.uint8))
    touching = np.bincount(labels[near > 0], minlength=len(pieces) + 1)[1:] > 0
    most = np.maximum(pieces.width, pieces.height)
    waste = touching & ((most < _BURR * size) | ((most < _BEND * size) & _bends(ruled, labels)))
    table = np.concatenate([[False], waste]).astype(np.uint8)
    rest[table[labels] > 0] = 0
    for mask, across in ((ruled.upright, True), (ruled.level, False)):
        rest |= _crossing(mask & ink, rest, across=across)
    return without(ink, rest), rest


def _bends(ruled: Ruled, labels: NDArray[np.int32]) -> NDArray[np.bool_]:
    """Which bits join the end of an upright rule to the end of a level one."""
    count = int(labels.max(initial=0))
    ends = [np.zeros(count + 1, bool), np.zeros(count + 1, bool)]
    table = np.stack([getattr(ruled.pieces, s) for s in ("x", "y", "right", "bottom")], axis=1)
    for index, (x, y, right, bottom) in enumerate(table.astype(int).tolist()):
        level = index >= ruled.count_upright
        corners = (
            ((x, y, x, bottom), (right, y, right, bottom)) if level
            else ((x, y, right, y), (x, bottom, right, bottom))
        )  # fmt: skip
        for left, top, far, foot in corners:
            spare = 4
            window = (
                slice(max(top - spare, 0), foot + spare), slice(max(left - spare, 0), far + spare)
            )  # fmt: skip
            ends[level][np.unique(labels[window])] = True
    return np.asarray((ends[0] & ends[1])[1:])


def _crossing(
    rule: NDArray[np.uint8], rest: NDArray[np.uint8], *, across: bool
) -> NDArray[np.uint8]:
    """Ink of rules that a letter runs through: it goes on at both sides there."""
    pieces, labels = find_pieces(np.asarray(rule, np.uint8))
    found = np.zeros_like(rule)
    for index in range(len(pieces)):
        x, y, right, bottom = (
            int(getattr(pieces, side)[index]) for side in ("x", "y", "right", "bottom")
        )
        spare = 3
        window = (
            slice(max(y - spare, 0), bottom + spare), slice(max(x - spare, 0), right + spare)
        )  # fmt: skip
        own = np.asarray(labels[window] == index + 1, np.uint8)
        beside = rest[window]
        if not beside.any():
            continue
        axis = 1 if across else 0
        first = np.maximum.accumulate(beside, axis=axis)
        flip = beside[:, ::-1] if across else beside[::-1]
        last = np.maximum.accumulate(flip, axis=axis)
        last = last[:, ::-1] if across else last[::-1]
        reach = _near(own, beside, axis)
        found[window] |= own & first & last & reach
    return found


def _near(own: NDArray[np.uint8], beside: NDArray[np.uint8], axis: int) -> NDArray[np.uint8]:
    """Rows (or columns) of a rule that touch ink on both sides."""
    size = (1, 5) if axis else (5, 1)
    close = cv2.bitwise_and(cv2.dilate(own, np.ones(size, np.uint8)), beside)
    flag = (close.any(axis=axis)).astype(np.uint8)
    return np.asarray(np.repeat(np.expand_dims(flag, axis), own.shape[axis], axis=axis), np.uint8)
