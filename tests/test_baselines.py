"""Where a few letters stand and how large they are, put to the rule by number.

Oracle: letters drawn as boxes, their heads and feet told beside them.
"""

from __future__ import annotations

import numpy as np
import pytest

from proofcheck.sheet.baselines import Fit, fit_row, share_sizes
from proofcheck.sheet.pieces import Pieces


def row_of(*letters):
    """Pieces of (top, bottom) side by side."""
    top, bottom = np.array(letters, float).T
    x = 16.0 * np.arange(len(letters))
    return Pieces(x, top, x + 12, bottom, 12 * (bottom - top)), np.arange(len(letters))


def test_a_few_letters_one_of_which_hangs_stand_where_the_others_do():
    # l a p i è c e, dots and accents apart.
    pieces, members = row_of((0, 22), (9, 22), (9, 31), (10, 22), (9, 22), (10, 22), (9, 22))
    fit = fit_row(pieces, members)
    assert (fit.level, fit.x_height) == (pytest.approx(22), pytest.approx(13, abs=0.5))


def test_quotes_beside_a_letter_are_not_what_stands_on_the_line():
    pieces, members = row_of((0, 9), (0, 9), (0, 30), (0, 9), (0, 9))
    assert fit_row(pieces, members).level == pytest.approx(30)


@pytest.mark.parametrize("tall", [12, 13, 14])
def test_large_quotes_after_a_few_letters_are_not_what_stands_on_the_line(tall):
    # y o u, the upper part of a query, two quotes.
    pieces, members = row_of((11, 39), (10, 31), (11, 31), (0, 24), (0, tall), (0, tall))
    assert fit_row(pieces, members).level == pytest.approx(31, abs=1)


def test_a_few_letters_most_of_which_rise_have_the_x_height_of_the_others():
    # J o b Mill i c h p: more rise than not, and two hang.
    pieces, members = row_of(
        (0, 41), (12, 30), (2, 30), (0, 31), (8, 30), (12, 31), (1, 31), (7, 41)
    )
    assert fit_row(pieces, members).x_height == pytest.approx(18.5, abs=1)


@pytest.mark.parametrize(("near", "wanted"), [(22.0, 22.0), (15.5, 15.0)])
def test_a_short_line_of_one_size_or_of_capitals_of_another_is_as_its_neighbour(near, wanted):
    """ "K 5" under a foot-note, or "me." at the end of a paragraph."""

    def of(level, size):
        return Fit(level, 0.0, size, 30, 800.0, sure=True, height=size)

    other = 15.0 if near == 22.0 else 22.0
    lines = [of(100.0, other), of(140.0, other), of(400.0, near if near == 22.0 else 15.0)]
    short = Fit(450.0, 0.0, 15.0, 2, 43.0, sure=False, height=22.0)
    found = share_sizes([*lines, short], [True, True, True, False])
    assert found[-1].x_height == pytest.approx(wanted)
