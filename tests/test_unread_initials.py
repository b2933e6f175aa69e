"""A letter missing beside a large initial that is not read; every reason against it by itself.

That an initial of several lines stands at the head of a paragraph, and its letter is typed with
the word in the copy, is common practice.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from collating import lines_of, readings_of
from metal_cases import prose_forme, seen

from proofcheck.base.found import Difference, Found, Status, Unread
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Span
from proofcheck.faults import leave_initials
from proofcheck.faults.unread_initials import INITIAL_NOT_READ
from proofcheck.metal import MetalSettings
from proofcheck.metal.context import Matter
from proofcheck.metal.spaces import word_spaces

TEXTS = ["HEN the carrier had set down", "the boxes he would not stay", "but turned the cart"]
(FIRST, SECOND, _) = LINES = lines_of(readings_of(TEXTS), [0, 0, 0])
SIZE = FIRST.x_height_px
BESIDE = Box(
    round(FIRST.box.x - 5 * SIZE), FIRST.box.y, round(4 * SIZE),
    LINES[2].box.bottom - FIRST.box.y,
)  # fmt: skip


def missing(letter="W", *, line=1, at=0, kind=Kind.LETTER_MISSING):
    difference = Difference(kind, line, Span(at, at), "", Span(9, 9 + len(letter)), letter)
    return Found(difference, FIRST.sheet, Box(FIRST.box.x, FIRST.box.y, 0, 30), 1.0, Status.FAULT)


def place(box=BESIDE, **more):
    return Unread(FIRST.sheet, box, "25% × 15% of the sheet", whole_sheet=False, **more)


def test_the_letter_that_an_unread_initial_may_be_is_named_there_and_not_alleged():
    done = leave_initials([missing()], [place()], LINES)
    assert done.found == ()
    assert [each.reason for each in done.let_go] == [INITIAL_NOT_READ]
    (told,) = done.unread
    assert told.words == "25% × 15% of the sheet; “W” of the copy may be it"


@pytest.mark.parametrize(
    ("found", "where"),
    [
        # Of a word within the line, of two letters, a point, or a wrong letter.
        (missing(at=4), place()), (missing("Wh"), place()), (missing("“"), place()),
        (missing(kind=Kind.WORD_MISSING), place()),
        # Far off, at the right, no higher than the line, above it, in a shadow, on another sheet.
        (missing(), place(BESIDE._replace(x=BESIDE.x - round(4 * SIZE)))),
        (missing(), place(BESIDE._replace(x=FIRST.box.right + 9))),
        (missing(), place(BESIDE._replace(height=FIRST.box.height))),
        (missing(), place(BESIDE._replace(y=BESIDE.y - BESIDE.height))),
        (missing(), place(in_shadow=True)),
        (missing(), replace(place(), sheet=7)),
    ],
)  # fmt: skip
def test_no_other_letter_is_let_go(found, where):
    done = leave_initials([found], [where], LINES)
    assert done.found == (found,)
    assert (done.let_go, done.unread) == ((), (where,))


def test_one_initial_is_one_letter():
    first, second = missing(), missing("t", line=2)
    done = leave_initials([first, second], [place()], LINES)
    assert done.found == (second,)


def test_the_white_beside_an_initial_is_no_word_space():
    sheets, lines, readings, collation, copy = seen(prose_forme())
    row = 2
    letters = list(readings[row].letters)
    space = next(k for k, each in enumerate(letters) if each.text == " ")
    readings = [*readings]
    readings[row] = replace(readings[row], letters=tuple(letters[space - 1 :]))

    def spaces(high_x):
        held = readings[row].letters
        box = held[0].box._replace(height=round(high_x * lines[row].x_height_px))
        begun = replace(readings[row], letters=(replace(held[0], box=box), *held[1:]))
        given = [*readings[:row], begun, *readings[row + 1 :]]
        matter = Matter.of(sheets, lines, given, collation, copy, MetalSettings())
        return int(np.count_nonzero(word_spaces(matter).row == row))

    assert spaces(3.0) == spaces(1.5) - 1
