"""A letter too many or too few, told by how wide its word stands.

Every letter is laid out with the width of a face made up here, so that how wide any word is, is
known; the rule itself (a word is as wide as its letters) is that of type metal.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from test_weigh_rules import blank, difference, dispute, row

from proofcheck.base.kinds import Kind
from proofcheck.base.values import Reading
from proofcheck.weigh.evidence import Evidence
from proofcheck.weigh.fellows import Says
from proofcheck.weigh.judging import OVERLOOKED, QUERY_LINE, WIDTH_BEARS_OUT, Judge
from proofcheck.weigh.places import Places
from proofcheck.weigh.word_widths import LEAST_WORDS, WordWidths

WIDTHS = {"i": 7, "l": 7, "t": 9, "r": 11, "m": 26, "w": 24}
USUAL = 15
MATTER = (
    "the baker carried a barrel of flour to the mill and the miller told him that the water",
    "had been low all the summer while the lock was mended after which they walked together",
    "along the river bank till the light was gone and the lantern was lit for them",
)
RNG = np.random.default_rng(3)
SHIVER = RNG.integers(-1, 2, 2000)
"""No letter is cut to the pixel."""


def set_line(text, number, room=None, x=20.0):
    """A line with every letter as wide as it is; `room` puts white after a letter, by place."""
    wide = {
        at: WIDTHS.get(char, USUAL) + int(SHIVER[97 * number + at]) for at, char in enumerate(text)
    }
    return row(text, number=number, wide=wide, gaps=room, foot=128 + 60 * number, x=x)


def said_of(line, reading, told, matter=MATTER, **of_matter):
    """What the widths say of a difference in a line, others of the page in no dispute."""
    held = [(line, reading), *(set_line(text, n, **of_matter) for n, text in enumerate(matter, 2))]
    lines, readings = zip(*held, strict=True)
    return WordWidths(lines, readings, [told]).says(dispute((line, reading), told))


def at(text, start, read, wanted, kind, *, room=None, matter=MATTER):
    """The same of one place in a line set as it is read."""
    told = difference(kind, (start, start + len(read)), read, wanted)
    return said_of(*set_line(text, 1, room), told, matter)


def test_a_letter_set_twice_takes_its_room():
    assert at("the bakerr sat", 9, "r", "", Kind.LETTER_EXTRA) is Says.READING
    assert at("the bakeer sat", 8, "e", "", Kind.LETTER_EXTRA) is Says.READING


def test_a_letter_never_set_takes_none():
    assert at("the bker sat", 5, "", "a", Kind.LETTER_MISSING) is Says.READING


def test_a_letter_that_the_reader_dropped_left_its_room():
    room = {5: WIDTHS["r"] + 4}
    assert at("the baer sat", 5, "", "r", Kind.LETTER_MISSING, room=room) is Says.COPY
    assert at("the baer sat", 5, "", "r", Kind.LETTER_MISSING) is Says.READING


def test_one_letter_read_as_two_is_no_wider():
    # An m of 26 pixels, read as m and n within it.
    line, reading = set_line("the sumnmer sat", 1)
    letters = list(reading.letters)
    left = letters[6].box.x
    past = letters[7].box.right - left - WIDTHS["m"]
    moved = {
        6: letters[6].box._replace(width=14),
        7: letters[7].box._replace(x=left + 14, width=12),
    }
    for k in range(6, len(letters)):
        box = letters[k].box
        letters[k] = replace(letters[k], box=moved.get(k, box._replace(x=box.x - past)))
    told = difference(Kind.LETTER_EXTRA, (7, 8), "n", "")
    assert said_of(line, Reading(1, tuple(letters)), told) is Says.COPY


@pytest.mark.parametrize(
    ("read", "wanted", "kind"),
    [
        ("e", "c", Kind.WRONG_LETTER),
        ("", ",", Kind.POINT_MISSING),
        ("", " ", Kind.SPACE_MISSING),
    ],
)
def test_it_speaks_of_letters_and_figures_in_other_number_alone(read, wanted, kind):
    assert at("the baker sat", 7 if read else 9, read, wanted, kind) is Says.NOTHING


def test_few_words_say_nothing():
    few = " ".join(MATTER[0].split()[: LEAST_WORDS - 8])
    assert at("the bakerr sat", 9, "r", "", Kind.LETTER_EXTRA, matter=(few,)) is Says.NOTHING


def test_letters_of_another_size_are_no_measure():
    told = difference(Kind.LETTER_EXTRA, (9, 10), "r", "")
    assert said_of(*set_line("the bakerr sat", 1), told, x=40.0) is Says.NOTHING


# --- what is made of it ---------------------------------------------------------------------------


def judged(says, certainty, read="r", wanted="", kind=Kind.LETTER_EXTRA):
    line, reading = row("the bakerr sat")
    told = difference(kind, (9, 9 + len(read)), read, wanted)
    judge = Judge(
        SimpleNamespace(certainty=lambda _: certainty), Places([line], [reading]), None,
        SimpleNamespace(concerns=lambda _: False, unknown=frozenset()),
        widths=SimpleNamespace(says=lambda _: says),
    )  # fmt: skip
    return judge.of(0, told, dispute((line, reading), told, sheet=blank()), Evidence())


def test_what_takes_its_room_is_never_let_go():
    found = judged(Says.READING, 0.0002)
    assert (found.certainty, found.reason) == (OVERLOOKED, "")
    assert judged(Says.READING, 0.97).certainty == pytest.approx(0.97)


def test_where_the_room_is_the_copys_it_is_asked_about_at_most():
    assert judged(Says.COPY, 0.9).certainty == pytest.approx(OVERLOOKED)
    assert judged(Says.COPY, 0.1).certainty == pytest.approx(0.1)
    assert judged(Says.COPY, 0.1).reason == ""


def test_what_is_borne_out_besides_is_let_go_but_for_figures():
    found = judged(Says.COPY, 0.001, "", "l", Kind.LETTER_MISSING)
    assert found.reason == WIDTH_BEARS_OUT
    figure = judged(Says.COPY, 0.001, "", "1", Kind.LETTER_MISSING)
    assert (figure.certainty, figure.reason) == (QUERY_LINE, "")
