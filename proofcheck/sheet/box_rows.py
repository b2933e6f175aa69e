"""Boxes by where they stand: of one size, side by side, and row by row."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.values import Box

__all__ = ["are_beside", "in_rows", "of_a_size"]

_OF_A_SIZE: Final = 0.08
"""By so much tickets of one sheet may differ in width and height."""


def of_a_size(boxes: Sequence[Box]) -> bool:
    """Whether boxes are as wide and as high as one another."""
    sides = np.array([(box.width, box.height) for box in boxes], float)
    return bool((np.ptp(sides, axis=0) <= _OF_A_SIZE * sides.max(axis=0)).all())


def are_beside(one: Box, other: Box) -> bool:
    """Whether two boxes stand side by side."""
    shared = min(one.bottom, other.bottom) - max(one.y, other.y)
    return shared > 0.5 * min(one.height, other.height) and one.right <= other.x


def in_rows(boxes: Sequence[Box]) -> list[list[int]]:
    """Boxes, by their places in the sequence, row by row and each row from left to right."""
    rows: list[list[int]] = []
    for at in sorted(range(len(boxes)), key=lambda at: boxes[at].y):
        box = boxes[at]
        for row in rows:
            shared = min(box.bottom, boxes[row[0]].bottom) - max(box.y, boxes[row[0]].y)
            if shared > 0.5 * min(box.height, boxes[row[0]].height):
                row.append(at)
                break
        else:
            rows.append([at])
    return [sorted(row, key=lambda at: boxes[at].x) for row in rows]
