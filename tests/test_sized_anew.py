"""A line whose size was measured wrong is read at that of the lines beside it, if that reads."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from test_sideways import sheet_of
from typesetter import block_of

from proofcheck.base.options import Options
from proofcheck.base.values import Box, Letter, Line, Reading
from proofcheck.reading.readers import open_reader
from proofcheck.reading.sized_anew import read_at_other_sizes
from proofcheck.sheet.lines import find_lines

WORDS = ("The bearer may stand upon the quay", "Canal Bridge, Thorle,", "from noon until the last")


def line(number, size, column=0):
    at = 40.0 * number
    return Line(number, 0, column, Box(0, int(at) - 12, 300, 16), (at, at), size, size)


def pad(block):
    return np.pad(block, 80, constant_values=255)


def shrunk(one):
    return replace(one, x_height_px=0.58 * one.x_height_px, body_pt=0.58 * one.body_pt)


def reader_sure_at(sizes, words="words", *, unsure=0.6):
    """Reads each line for certain at one size alone."""

    def read(_sheet, lines):
        out = []
        for one in lines:
            sure = 0.99 if abs(one.x_height_px - sizes[one.number]) < 0.1 else unsure
            letters = tuple(Letter(char, Box(0, 0, 5, 9), sure) for char in words)
            out.append(Reading(one.number, letters))
        return out

    return read


def sizes_after(lines, sizes):
    read = reader_sure_at(sizes)
    found, readings = read_at_other_sizes(None, lines, read(None, lines), read)
    assert [reading.line for reading in readings] == [one.number for one in lines]
    return [(one.x_height_px, round(one.body_pt, 3)) for one in found]


def test_a_doubtful_line_takes_the_size_at_which_it_reads():
    lines = [line(1, 14.0), line(2, 8.0), line(3, 14.0)]
    assert sizes_after(lines, {1: 14, 2: 14, 3: 14}) == [(14.0, 14.0)] * 3


@pytest.mark.parametrize(
    ("words", "unsure", "size"),
    [("only", 0.93, 14.0), ("only", 0.96, 8.0), ("only once", 0.93, 8.0), ("only once", 0.8, 14.0)],
)
def test_of_few_letters_less_doubt_is_enough(words, unsure, size):
    """They hardly tell whether they are small letters or capitals."""
    lines = [line(1, 14.0), line(2, 8.0)]
    read = reader_sure_at({1: 14, 2: 14}, words, unsure=unsure)
    found, _ = read_at_other_sizes(None, lines, read(None, lines), read)
    assert [one.x_height_px for one in found] == [14.0, size]


@pytest.mark.parametrize(
    ("lines", "sizes"),
    [
        ([line(1, 14.0), line(2, 8.0)], {1: 14, 2: 8}),
        ([line(1, 14.0), line(2, 8.0)], {1: 14, 2: 11}),
        ([line(1, 30.0), line(2, 8.0)], {1: 30, 2: 30}),
        ([line(1, 14.0), line(2, 8.0, column=1)], {1: 14, 2: 14}),
    ],
    ids=["sure as it is", "sure at neither", "far larger", "another column"],
)
def test_any_other_keeps_its_own(lines, sizes):
    assert [size for size, _ in sizes_after(lines, sizes)] == [one.x_height_px for one in lines]


def test_on_a_sheet_it_reads_what_is_printed_and_not_what_is_likely():
    for words in (WORDS, (WORDS[0], "Canal Brjdge, Thorle,", WORDS[2])):
        sheet = sheet_of(pad(block_of(*words, body_pt=11)))
        lines = find_lines(sheet)
        lines = [lines[0], shrunk(lines[1]), lines[2]]
        read = open_reader(Options()).read
        _, readings = read_at_other_sizes(sheet, lines, read(sheet, lines), read)
        assert readings[1].text == words[1]
