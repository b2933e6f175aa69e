"""A full point at the end of a line that was taken for a speck, and so not read.

A worn point after the last letter is little ink: where the line was found to end before it, the
reader is not shown it. So ink shaped as the page's own points is looked for just past the end.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.kinds import Kind
from proofcheck.sheet.pieces import find_pieces, ink_mask

if TYPE_CHECKING:
    from proofcheck.weigh.evidence import Dispute
    from proofcheck.weigh.fellows import Fellows

__all__ = ["is_past_end"]

_PAST = 0.7
"""How far past the last letter its middle may stand; this and what follows in x-heights."""
_ABOVE, _UNDER = 1.0, 0.3
"""What is looked at, over and under the baseline: nothing but the point may stand there."""
_OFF = 0.15
"""How far off the baseline its foot may be."""
_SIZE = (0.55, 1.6)
"""Height and width of it between these shares of the page's own points."""


def is_past_end(dispute: Dispute, fellows: Fellows) -> bool:
    """Whether a point that is said to be missing at the end of a line stands past what was read."""
    told, letters = dispute.difference, dispute.reading.letters
    if told.kind is not Kind.POINT_MISSING or told.copy_text != "." or not letters:
        return False
    if told.proof.start != len(letters):
        return False
    boxes = [box for _, box in fellows.stock(".").places]
    if not boxes:
        return False
    line, size = dispute.line, dispute.line.x_height_px
    base = round(line.baseline[1])
    left, top = letters[-1].box.right, max(base - round(_ABOVE * size), 0)
    image = dispute.sheet.image[
        top : base + round(_UNDER * size), left : left + round(2 * _PAST * size)
    ]
    if not image.size:
        return False
    found, _ = find_pieces(ink_mask(image))
    near = np.flatnonzero(found.middle <= _PAST * size)
    if len(near) != 1:
        return False
    at = int(near[0])
    usual = (np.median([box.width for box in boxes]), np.median([box.height for box in boxes]))
    shares = (found.width[at] / usual[0], found.height[at] / usual[1])
    stands = abs(int(found.bottom[at]) + top - base) <= _OFF * size + 1
    return stands and all(_SIZE[0] <= share <= _SIZE[1] for share in shares)
