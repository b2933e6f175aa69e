"""In what order lines stand that are level, or small type centred beside large.

Oracle: where the boxes were drawn; that a row is read from left to right is common practice.
"""

from __future__ import annotations

import numpy as np
import pytest

from proofcheck.sheet.baselines import Fit
from proofcheck.sheet.pieces import Pieces
from proofcheck.sheet.true_lines import Row, in_order


def read_in_order(*lines):
    """Lines of (left, right, baseline, x-height, block) each, as they are read: their places."""
    left, right, base, size, block = np.array(lines, float).T
    pieces = Pieces(left, base - size, right, base, (right - left) * size)
    held = [
        (
            Row(np.array([at]), int(block[at]), 0),
            Fit(base[at], 0.0, size[at], 8, right[at] - left[at], True, size[at]),
        )
        for at in range(len(lines))
    ]
    return [int(row.members[0]) for row, _ in in_order(pieces, held, 500.0)]


@pytest.mark.parametrize("small_base", [90, 96, 100, 104])
def test_small_type_centred_beside_large_is_read_in_its_row(small_base):
    large, small = (0, 300, 104, 40, 0), (340, 500, small_base, 20, 0)
    under = (0, 300, 170, 20, 0)
    assert read_in_order(small, large, under) == [1, 0, 2]


def test_what_stands_over_large_type_is_read_before_it():
    large = (0, 300, 104, 40, 0)
    assert read_in_order(large, (340, 500, 60, 20, 0)) == [1, 0]
    assert read_in_order(large, (100, 260, 90, 20, 0)) == [1, 0]


def test_blocks_come_one_after_the_other():
    large, small = (0, 300, 104, 40, 1), (340, 500, 96, 20, 0)
    assert read_in_order(large, small) == [1, 0]
