"""A dash that printed in pieces is one; two that are set so stay two."""

import pytest

from proofcheck.base.values import Box, Letter, Line, Reading
from proofcheck.reading.broken_dashes import with_whole_dashes

X_PX = 20.0
EM_PX, HYPHEN_PX = 44, 14


def _line(number: int) -> Line:
    y = 60 * number
    return Line(number, 0, 0, Box(0, y, 900, 30), (y + 28.0, y + 28.0), X_PX, 10.0)


def _reading(number: int, dashes: list[tuple[str, int, int]]) -> Reading:
    """A price of three figures and then dashes: what is read, where each starts, how long."""
    y = 60 * number
    figures = [Letter(char, Box(600 + 18 * at, y, 14, 28), 1.0) for at, char in enumerate("420")]
    space = Letter(" ", Box(654, y, 30, 20), 1.0)
    last = [Letter(text, Box(x, y + 18, wide, 3), 0.9) for text, x, wide in dashes]
    return Reading(number, (*figures, space, *last))


def _read(dashes: list[tuple[str, int, int]], *, fellows: int = 3) -> str:
    readings = [_reading(number, [("—", 690, EM_PX)]) for number in range(1, 1 + fellows)]
    readings.append(_reading(9, dashes))
    lines = [_line(reading.line) for reading in readings]
    return with_whole_dashes(lines, readings)[-1].text


@pytest.mark.parametrize(
    "pieces",
    [
        [("—", 690, 30), ("-", 722, 12)],
        [("-", 690, 12), ("–", 704, 30)],
        [("-", 690, 13), ("-", 705, 13), ("-", 720, 13)],
    ],
)
def test_pieces_that_are_together_as_long_as_the_other_dashes_are_one(pieces):
    assert _read(pieces) == "420 —"


def test_its_box_holds_all_pieces_and_it_is_no_surer_than_they_are():
    readings = [_reading(number, [("—", 690, EM_PX)]) for number in (1, 2, 3)]
    readings.append(_reading(9, [("—", 690, 30), ("-", 722, 12)]))
    dash = with_whole_dashes([_line(r.line) for r in readings], readings)[-1].letters[-1]
    assert (dash.box.x, dash.box.right, dash.certainty) == (690, 734, 0.9)


@pytest.mark.parametrize(
    "dashes",
    [
        [("—", 690, EM_PX), ("-", 738, HYPHEN_PX)],  # A dash and a hyphen are longer.
        [("—", 690, EM_PX), ("—", 734, EM_PX)],  # So is a dash of two ems.
        [("-", 690, HYPHEN_PX), ("-", 708, HYPHEN_PX)],  # Two hyphens are shorter.
        [("-", 690, HYPHEN_PX), ("-", 720, HYPHEN_PX)],  # As long, with the white of sorts.
    ],
)
def test_what_is_set_of_two_stays_two(dashes):
    assert len(_read(dashes).split(" ")[1]) == 2


def test_pieces_at_two_heights_are_not_one():
    readings = [_reading(number, [("—", 690, EM_PX)]) for number in (1, 2, 3)]
    broken = _reading(9, [("—", 690, 30), ("-", 722, 12)])
    *others, last = broken.letters
    sunk = Letter("-", last.box._replace(y=last.box.y + 6), 0.9)
    readings.append(Reading(9, (*others, sunk)))
    held = with_whole_dashes([_line(r.line) for r in readings], readings)
    assert held[-1].text == "420 —-"


def test_where_too_few_dashes_are_whole_nothing_is_joined():
    assert _read([("—", 690, 30), ("-", 722, 12)], fellows=2) == "420 —-"
