"""Which foreign lines are in paler ink than the type: figures in pencil on a proof."""

import numpy as np
import pytest

from proofcheck.base.values import Box, Line, Scan, Sheet
from proofcheck.weigh.paler import paler_lines

LINES = [
    Line(n, 0, 0, Box(50, 40 * n, 300, 20), (40 * n + 18.0, 40 * n + 18.0), 12.0, 9.0)
    for n in range(1, 7)
]


def _sheet(greys):
    """Bars as dark as asked, each with a grey fringe as a scan has it."""
    image = np.full((320, 400), 255, np.uint8)
    for line, grey in zip(LINES, greys, strict=True):
        x, y, wide, high = line.box
        for at in range(x, x + wide, 20):
            image[y : y + high, at : at + 8] = 110
            image[y : y + high, at + 1 : at + 7] = grey
    scan = Scan("proof", 0, "", 400, 320)
    return Sheet(image, scan, 0, 300, "option", 0, mirrored=False, skew_deg=0.0, to_scan=np.eye(3))


@pytest.mark.parametrize(("pencil", "told"), [(60, {6}), (100, {6}), (30, set()), (5, set())])
def test_a_line_as_light_as_a_pencil_is_told(pencil, told):
    assert paler_lines([_sheet([5, 8, 2, 12, 6, pencil])], LINES, {6}) == told


def test_it_is_held_against_the_lines_that_are_not_asked_about():
    sheet = _sheet([5, 8, 2, 70, 75, 80])
    assert paler_lines([sheet], LINES, {4, 5, 6}) == {4, 5, 6}
    # All of the sheet is printed as lightly.
    assert paler_lines([_sheet([70, 72, 75, 70, 75, 80])], LINES, {6}) == set()


def test_with_too_few_others_or_none_asked_nothing_is_said():
    sheet = _sheet([5, 8, 70, 70, 75, 80])
    assert paler_lines([sheet], LINES, {3, 4, 5, 6}) == set()
    assert paler_lines([sheet], LINES, set()) == set()
