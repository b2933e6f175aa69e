"""Numbers of the printed lines at the edges of the marked proof."""

from proofcheck.base.values import Box, Line
from proofcheck.results.marked.labels import number_labels


def line(number, x, foot):
    return Line(number, 0, 0, Box(x, foot - 20, 200, 26), (float(foot),) * 2, 14.0, 10.0)


def test_of_two_lines_in_one_row_the_second_has_its_number_before_it():
    held = [line(1, 0, 100), line(2, 300, 101), line(3, 0, 150)]
    marks = number_labels(held, 1, 20.0).marks
    assert [side for side, *_ in marks] == ["left", "gutter", "left"]
    # The lines under one another keep theirs at the edge, however close.
    assert [side for side, *_ in number_labels([held[0], line(2, 0, 113)], 1, 20.0).marks] == [
        "left"
    ] * 2
