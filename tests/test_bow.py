"""Where a line is bowed, and where only some of its letters print without their feet."""

import numpy as np
import pytest

from proofcheck.sheet.bow import find_bow
from proofcheck.sheet.pieces import find_pieces

X, BASE, WIDTH = 18, 52, 940
LEFT = range(20, 210, 15)
FIGURES = (815, 832, 850)
"""An entry of eleven letters or so at the left, a price of three figures far to the right."""


def _fall(letters, *, broken=()):
    """How far the line falls, of letters as bars at (place, foot below the baseline)."""
    ink = np.zeros((84, WIDTH), np.uint8)
    for x, off in letters:
        foot = BASE + off
        ink[foot - X - 6 : foot, x : x + 10] = 1
        if x in broken:
            ink[foot - 8 : foot - 6, x : x + 10] = 0
    pieces, _ = find_pieces(ink)
    return find_bow(pieces, np.ones(len(pieces), bool), BASE, X, WIDTH)


def test_letters_whose_feet_print_apart_from_them_bow_no_line():
    """Two of three figures far from the rest did, and the reader saw the line half cut away."""
    straight = [(x, 0) for x in (*LEFT, *FIGURES)]
    assert _fall(straight, broken=FIGURES[:2]) is None
    # Where the whole letters stand so high, the line is bowed.
    raised = [(x, 0) for x in LEFT] + [(x, -8) for x in FIGURES]
    assert _fall(raised) is not None


def test_a_bow_is_found_where_letters_bear_it_out_all_along():
    middle = WIDTH / 2
    letters = [(x, round(6 * ((x + 5) / middle - 1) ** 2)) for x in range(10, 920, 15)]
    fall = _fall(letters)
    places = np.array([15, 470, 900])
    assert fall[places] == pytest.approx(6 * (places / middle - 1) ** 2, abs=0.6)


def test_past_the_letters_that_bear_it_out_it_stays_as_it_is_there():
    letters = [(x, round(8 * (x / 500) ** 2)) for x in range(10, 500, 15)]
    fall = _fall([*letters, (900, -12)])
    assert fall[-1] == pytest.approx(fall[495], abs=0.5)
