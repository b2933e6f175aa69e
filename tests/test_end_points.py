"""A full point past the end of a line as found; drawn here, so that it is known to be there."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from proofcheck.base.found import Difference
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Letter, Span
from proofcheck.weigh.end_points import is_past_end

BASE, X_HEIGHT, END = 60, 20.0, 150
FELLOWS = SimpleNamespace(stock=lambda _: SimpleNamespace(places=((1, Box(9, 56, 4, 4)),) * 3))


def _dispute(point: Box | None, wanted: str = "."):
    image = np.full((90, 220), 255, np.uint8)
    image[BASE - 30 : BASE, END - 10 : END] = 0
    if point:
        image[point.y : point.bottom, point.x : point.right] = 0
    letters = (Letter("t", Box(END - 10, BASE - 30, 10, 30), 1.0),)
    told = Difference(Kind.POINT_MISSING, 1, Span(1, 1), "", Span(1, 2), wanted)
    return SimpleNamespace(
        difference=told,
        reading=SimpleNamespace(letters=letters),
        line=SimpleNamespace(x_height_px=X_HEIGHT, baseline=(float(BASE), float(BASE))),
        sheet=SimpleNamespace(image=image),
    )


def test_a_small_point_past_the_last_letter_is_seen():
    assert is_past_end(_dispute(Box(END + 4, BASE - 3, 3, 3)), FELLOWS)


@pytest.mark.parametrize(
    "ink",
    [
        None,
        Box(END + 4, BASE - 14, 3, 3),
        Box(END + 4, BASE - 1, 1, 1),
        Box(END + 4, BASE - 9, 9, 9),
        Box(END + 40, BASE - 3, 3, 3),
    ],
    ids=["nothing", "a speck above", "a grain", "a blot", "far off"],
)
def test_other_ink_is_no_point(ink):
    assert not is_past_end(_dispute(ink), FELLOWS)


def test_a_comma_is_never_made_of_a_point():
    assert not is_past_end(_dispute(Box(END + 4, BASE - 3, 3, 3), wanted=","), FELLOWS)
