"""One line as it stood in two proofs, one above the other, to look into what was told wrongly."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from proofcheck.base.values import Grey
    from proofcheck.results.report import Report

__all__ = ["both_lines"]

_ROUND_PX = 40


def both_lines(one: Report, two: Report, number: int, shift: int = 0) -> Grey:
    """The line of that number in each, with what stands above and below it.

    `shift`: lines of the first above those that the second shows.
    """
    parts = [_around(one, number), _around(two, max(number - shift, 1))]
    width = max(part.shape[1] for part in parts)
    wide = [
        np.pad(part, ((0, 8), (0, width - part.shape[1])), constant_values=255) for part in parts
    ]
    return np.vstack(wide)


def _around(report: Report, number: int) -> Grey:
    number = min(number, len(report.lines))
    line = report.line(number)
    image = report.sheets[line.sheet].image
    box = line.box
    top, left = max(box.y - _ROUND_PX, 0), max(box.x - _ROUND_PX, 0)
    return image[top : box.bottom + _ROUND_PX, left : box.right + _ROUND_PX]
