"""A row of fine dots within a line: a dotted rule to write on or to lead the eye, no points.

Points set side by side stand as far apart as they are cast wide: in 162 faces, condensed ones too,
never nearer than 0.42 of the x-height (own table, from their outlines). A dotted rule has its dots
closer, and is no matter that the copy would list.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.kinds import Kind
from proofcheck.sheet.ink import line_ink

if TYPE_CHECKING:
    from proofcheck.weigh.evidence import Dispute

__all__ = ["is_dotted_rule"]

_LEAST = 8
"""Dots of such a rule at least."""
_PITCH = 0.38
"""From one to the next at most, in x-heights."""
_HIGH, _OFF = 0.3, 0.35
"""How high a dot is at most, and how far off the baseline its middle."""


def is_dotted_rule(dispute: Dispute) -> bool:
    """Whether the points that the copy has not are closer than points can be set."""
    told, line = dispute.difference, dispute.line
    read, size = told.proof_text.strip(), line.x_height_px
    if told.kind is not Kind.POINT_EXTRA or told.copy_text.strip() or set(read) != {"."}:
        return False
    boxes = [
        letter.box
        for letter in dispute.reading.letters[told.proof.start : told.proof.end]
        if letter.text == "."
    ]
    found = line_ink(dispute.sheet, line).pieces
    base = np.interp(found.middle, (line.box.x, line.box.right), line.baseline)
    dots = (found.middle >= boxes[0].x) & (found.middle <= boxes[-1].right)
    dots &= np.abs((found.y + found.bottom) / 2 - base) <= _OFF * size
    dots &= found.height <= _HIGH * size
    middles = np.sort(found.middle[dots])
    return len(middles) >= _LEAST and float(np.median(np.diff(middles))) <= _PITCH * size
