"""A dash read as the copy has it, but of another length and doubted by the reader, is asked about.

Oracle: lengths set by hand. An en dash is an en long, a hyphen about a third of an em: common
practice, and less in narrow faces.
"""

from __future__ import annotations

import pytest

from proofcheck.base.values import Box, Letter, Line, Reading
from proofcheck.weigh.dash_lengths import DashLengths

X_HEIGHT_PX = 20.0


def line(number: int, x_height_px: float = X_HEIGHT_PX) -> Line:
    box = Box(0, 40 * number, 900, 40)
    foot = float(box.bottom)
    return Line(number, 0, 0, box, (foot, foot), x_height_px, 10.0)


def dash(width_px: int, certainty: float, text: str = "-") -> Letter:
    return Letter(text, Box(100, 0, width_px, 6), certainty)


def asked(last: Letter, *others: Letter, x_height_px: float = X_HEIGHT_PX) -> str:
    """What the last may be, in a line of its own beside lines of the others."""
    readings = [Reading(at, (one,)) for at, one in enumerate((*others, last), start=1)]
    lines = {one.line: line(one.line) for one in readings}
    lines[len(readings)] = line(len(readings), x_height_px)
    return DashLengths(lines, readings).other(len(readings), last)


@pytest.mark.parametrize(
    ("text", "width_px", "other"),
    [("-", 16, "–"), ("-", 12, ""), ("-", 11, ""), ("–", 8, "-"), ("–", 12, ""), ("–", 30, "—"),
     ("—", 8, "–"), ("—", 12, ""), ("o", 30, "")],
)  # fmt: skip
def test_one_of_another_length_is_asked_about(text: str, width_px: int, other: str) -> None:
    fellows = [dash(width, 1.0, text) for width in (11, 12, 12)]
    assert asked(dash(width_px, 0.5, text), *fellows) == other


def test_one_read_for_certain_is_not() -> None:
    assert asked(dash(16, 0.99), dash(11, 1.0), dash(12, 1.0)) == ""


@pytest.mark.parametrize("count", [0, 1])
def test_nothing_is_said_without_fellows(count: int) -> None:
    assert asked(dash(30, 0.3), *[dash(11, 1.0)] * count) == ""


def test_a_dash_of_a_larger_line_is_no_longer_one() -> None:
    last = dash(24, 0.5)
    assert asked(last, dash(11, 1.0), dash(12, 1.0)) == "–"
    assert asked(last, dash(11, 1.0), dash(12, 1.0), x_height_px=2 * X_HEIGHT_PX) == ""


@pytest.mark.parametrize(
    ("text", "width_px", "other"), [("—", 20, "–"), ("—", 40, ""), ("–", 20, ""), ("-", 20, "")]
)
def test_one_as_long_as_the_next_shorter_is_asked_about_however_it_is_read(
    text: str, width_px: int, other: str
) -> None:
    assert asked(dash(width_px, 1.0, text), dash(20, 1.0, "–")) == other
