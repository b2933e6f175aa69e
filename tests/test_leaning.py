"""Letters that lean, and letters lost in a neighbour's ink.

The slope of a sheared shape is its shear, and that of a shape alike on both sides is none: plain
geometry. Which letters are alike on both sides is so in every upright face (`common practice`).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from metal_cases import findings, prose_forme, seen
from typesetter import broken_letter, wrong_font

from proofcheck.base.kinds import Kind
from proofcheck.base.values import Reading
from proofcheck.collate import collate
from proofcheck.metal import MetalSettings
from proofcheck.metal.context import Matter
from proofcheck.metal.judged import judge
from proofcheck.metal.leaning import leaning_letters, upright_slopes
from proofcheck.metal.patches import TALL, WIDE
from proofcheck.metal.slope import slopes
from proofcheck.metal.swallowed import swallowed_letters


@pytest.fixture(scope="module")
def forme():
    return prose_forme()


@pytest.mark.parametrize("shear", [-0.2, 0.0, 0.1, 0.25])
def test_the_slope_of_a_stem_is_its_shear(shear):
    rows, columns = np.mgrid[0:TALL, 0:WIDE]
    middle = WIDE / 2 - shear * (rows - TALL / 2)
    stem = np.clip(3.5 - np.abs(columns + 0.5 - middle), 0, 1) * ((rows > 8) & (rows < 40))
    lean = slopes(stem[None].astype(np.float32), np.array([14.0], np.float32))
    assert lean[0] == pytest.approx(shear, abs=0.01)


def test_letters_alike_on_both_sides_stand_upright():
    table = upright_slopes()
    assert len(table) == 62
    for letter in "HIOTUilo08":
        slope, spread = table[letter]
        assert abs(slope) < 0.05
        assert spread < 0.05
    for left_heavy, right_heavy in ("bd", "qp", "LJ"):
        assert table[left_heavy][0] < -0.1 < 0.1 < table[right_heavy][0]


@pytest.mark.parametrize("word", ["This", "Eleven", "Should"])
def test_a_capital_of_italic_is_a_query(forme, word):
    line = next(n for n, slug in enumerate(forme.slugs, 1) if word in slug.text)
    faulty = wrong_font(forme, line, word, letter=0, other="schola", style="italic")
    told = [each for each in findings(faulty) if each.kind is Kind.WRONG_FONT]
    assert [(each.line, each.copy_text, each.only_query) for each in told] == [
        (line, word[0], True)
    ]


def test_upright_capitals_don_t_lean(forme):
    assert leaning_letters(judge(Matter.of(*seen(forme), MetalSettings()))) == []


def _lost(forme, line, word, letter):
    """The matter with a letter not read, its box taken up by the next one's."""
    sheets, lines, readings, _, copy = seen(forme)
    reading = readings[line - 1]
    at = reading.text.index(word) + letter
    lost, after = reading.letters[at], reading.letters[at + 1]
    wide = after.box._replace(x=lost.box.x, width=after.box.right - lost.box.x)
    left = (*reading.letters[:at], replace(after, box=wide), *reading.letters[at + 2 :])
    readings = [*readings[: line - 1], Reading(line, left), *readings[line:]]
    collation = collate(copy, readings, lines=lines)
    return Matter.of(sheets, lines, readings, collation, copy, MetalSettings())


def _place(forme, two):
    return next(
        (line, word, word.index(two))
        for line, slug in enumerate(forme.slugs, 1)
        for word in slug.text.split()
        if line > 1 and two in word and word.isalpha() and "f" not in word
    )


@pytest.mark.slow
@pytest.mark.parametrize("two", ["in", "ri", "it", "la"])
def test_a_broken_letter_lost_in_the_next_is_found(forme, two):
    line, word, letter = _place(forme, two)
    faulty = broken_letter(forme, line, word, letter=letter, seed=3)
    (told,) = swallowed_letters(judge(_lost(faulty, line, word, letter)))
    assert (told.line, told.copy_text) == (line, two[0])
    assert told.gives_way


def test_a_letter_that_is_not_there_is_no_broken_one(forme):
    line, word, letter = _place(forme, "in")
    matter = _lost(forme, line, word, letter)
    reading, image = matter.readings[line - 1], matter.sheets[0].image
    box = reading.letters[reading.text.index(word[:letter] + word[letter + 1 :]) + letter].box
    image[box.y : box.bottom, box.x : box.x + box.width // 3] = image.max()
    blank = Matter.of(
        [*matter.sheets.values()], matter.lines, matter.readings, matter.collation, matter.copy,
        MetalSettings(),
    )  # fmt: skip
    assert swallowed_letters(judge(blank)) == []
