"""Bands and grey levels taken faster than NumPy takes them: the same to the last bit."""

from __future__ import annotations

import numpy as np
import pytest

from proofcheck.metal.line_band import line_band
from proofcheck.metal.standing_ink import _longest
from proofcheck.sheet.grey_shares import grey_percentiles


@pytest.mark.parametrize("seed", range(40))
def test_grey_percentiles_are_those_of_numpy(seed: int) -> None:
    rng = np.random.default_rng(seed)
    levels = rng.choice(rng.integers(0, 256, 1 + seed), 1 + seed**2).astype(np.uint8)
    shares = (0, 2, 85, 100, *rng.uniform(0, 100, 4))
    assert np.array_equal(grey_percentiles(levels, shares), np.percentile(levels, shares))


@pytest.mark.parametrize("seed", range(40))
def test_a_band_is_every_column_s_own_rows_the_outermost_again_past_the_edge(seed: int) -> None:
    rng = np.random.default_rng(seed)
    image = rng.integers(0, 256, (30, 50)).astype(np.uint8)
    left, wide = 7, 40
    base = np.round(rng.uniform(-8, 38) + rng.uniform(-0.3, 0.3) * np.arange(wide)).astype(np.intp)
    steps = np.arange(-12, rng.integers(-11, 9))
    band = line_band(image, base, steps, left)
    for row, step in enumerate(steps):
        for column in range(wide):
            there = min(max(base[column] + step, 0), 29)
            assert band[row, column] == image[there, left + column]


def test_the_longest_run_of_ink_is_the_first_of_several_as_long() -> None:
    columns = ["......", "######", ".##.##", "#.###.", ".....#"]
    dark = np.array([[char == "#" for char in column] for column in columns]).T
    head, foot = _longest(dark)
    assert head.tolist() == [0, 0, 1, 2, 5]
    assert foot.tolist() == [0, 6, 3, 5, 6]
