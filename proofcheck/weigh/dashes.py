"""Ink shaped and placed as a dash, where the reader saw none or took it for something else."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.reading.alphabet import DASHES
from proofcheck.sheet.ink import line_ink

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.base.values import Letter
    from proofcheck.sheet.ink import LineInk
    from proofcheck.sheet.pieces import Pieces
    from proofcheck.weigh.evidence import Dispute

__all__ = ["is_seen"]

_LONG = 0.3
"""A dash is so long at least; this and what follows in x-heights."""
_LOW, _HIGH = 0.15, 0.75
"""Of one that stands free the foot is no lower over the baseline, the middle no higher."""
_THIN = 0.35
"""A hyphen that touches its neighbours is no thicker than this,"""
_COLUMN = (0.1, 0.8)
"""each column of it lies between these heights,"""
_MIDDLE = (0.2, 0.65)
"""its middle between these (the bar of H, f or t lies higher),"""
_NO_LONGER = 0.85
"""and it is shorter than this: an en dash is no hyphen."""
_STEEPEST = 1.2
"""It rises no more than this for its length, as the arms of v and y do."""
_PAST = 1.2
"""So far past the last letter a division is looked for."""


def is_seen(dispute: Dispute) -> bool:
    """Whether the ink of the copy's dash is there after all.

    Asked where nothing was read for a dash, or one point, that is no dash, for a hyphen.
    """
    read, wanted = dispute.difference.proof_text, dispute.difference.copy_text
    if wanted not in DASHES:
        return False
    if read.strip():
        mistaken = len(read) == 1 and not read.isalnum() and read not in DASHES
        return mistaken and wanted == "-" and _is_hyphen(dispute)
    return _stands_free(dispute) or (wanted == "-" and _is_hyphen(dispute))


def _beside(dispute: Dispute) -> tuple[Letter | None, Letter | None]:
    """The letters before and after the place, if there are any."""
    letters, (start, end) = dispute.reading.letters, dispute.difference.proof
    before = letters[start - 1] if start else None
    return before, letters[end] if end < len(letters) else None


def _stands_free(dispute: Dispute) -> bool:
    """Whether a piece by itself is shaped and placed as a dash."""
    line, found = dispute.line, line_ink(dispute.sheet, dispute.line).pieces
    size = line.x_height_px
    share = (found.middle - line.box.x) / max(line.box.width, 1)
    above = line.baseline[0] + share * (line.baseline[1] - line.baseline[0]) - found.bottom
    placed = (above > _LOW * size) & (above + found.height / 2 < _HIGH * size)
    shaped = (found.width > found.height) & (found.width > _LONG * size)
    return bool((placed & shaped & _between(found, *_beside(dispute))).any())


def _between(found: Pieces, before: Letter | None, after: Letter | None) -> NDArray[np.bool_]:
    """Which pieces lie between two letters, or past the last; a letter's box may hold them."""
    left = before.box.x + before.box.width / 3 if before else -np.inf
    right = after.box.right - after.box.width / 3 if after else np.inf
    return np.asarray((found.middle > left) & (found.middle < right))


def _is_hyphen(dispute: Dispute) -> bool:
    """Whether a thin stroke at a hyphen's height follows a letter, and no other ink is there."""
    before, after = _beside(dispute)
    if before is None:
        return False
    ink, line = line_ink(dispute.sheet, dispute.line), dispute.line
    size = line.x_height_px
    left = round(before.box.x + before.box.width / 2) - ink.x
    if after is None:
        right = round(before.box.right + _PAST * size) - ink.x
    else:
        right = round(after.box.x + after.box.width / 2) - ink.x
    middle = (left + right) / 2 + ink.x
    share = (middle - line.box.x) / max(line.box.width, 1)
    foot = line.baseline[0] + share * (line.baseline[1] - line.baseline[0]) - ink.y
    return _has_stroke(ink, max(left, 0), max(right, 0), foot, size)


def _has_stroke(ink: LineInk, left: int, right: int, foot: float, size: float) -> bool:
    """Whether some columns running hold nothing but a thin stroke at a hyphen's height."""
    columns = ink.mask[:, left:right] > 0
    if not columns.size:
        return False
    inked = columns.any(axis=0)
    top = foot - columns.argmax(axis=0)
    low = foot - (len(columns) - columns[::-1].argmax(axis=0))
    thin = inked & (top - low < _THIN * size)
    thin &= ((top + low) / 2 > _COLUMN[0] * size) & ((top + low) / 2 < _COLUMN[1] * size)
    steps = np.diff(np.concatenate([[0], thin.astype(np.int8), [0]]))
    for start, end in zip(np.flatnonzero(steps > 0), np.flatnonzero(steps < 0), strict=True):
        heights = (top[start:end] + low[start:end]) / 2
        long = _LONG * size <= end - start <= _NO_LONGER * size
        lying = abs(heights[-1] - heights[0]) <= _STEEPEST * (end - start)
        if long and lying and _MIDDLE[0] * size < heights.mean() < _MIDDLE[1] * size:
            return True
    return False
