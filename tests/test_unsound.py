"""Which letters are unsound, and which are let alone for the company they keep.

That one letter of another face is a fault and a word of it a change of type is `common practice`;
medians are held against the standard library's.
"""

from __future__ import annotations

import re
import statistics
from dataclasses import replace

import numpy as np
import pytest
from metal_cases import PROSE, findings, prose_forme, seen
from typesetter import Para, Style, broken_letter, compose, wrong_font

from proofcheck.base.kinds import Kind
from proofcheck.base.values import Reading
from proofcheck.metal import MetalSettings, neighbours
from proofcheck.metal.company import small_in_running
from proofcheck.metal.context import Matter
from proofcheck.metal.judged import judge
from proofcheck.metal.neighbours import median_beside, share_beside, share_to_a_side
from proofcheck.metal.unsound import EVEN, NEVER

OF_LETTERS = {Kind.WRONG_FONT, Kind.BROKEN_LETTER}


def _beside(group, at, reach):
    return [
        other
        for other in range(max(at - reach, 0), min(at + reach + 1, len(group)))
        if other != at and group[other] == group[at]
    ]


@pytest.mark.parametrize(("reach", "least"), [(1, 1), (3, 2), (40, 1)])
def test_medians_and_shares_are_of_letters_beside_in_the_same_group(reach, least):
    rng = np.random.default_rng(reach)
    group = np.sort(rng.integers(0, 6, 40))
    value, true = rng.normal(size=40), rng.random(40) < 0.4
    middle = median_beside(value, group, reach, least)
    share = share_beside(true, group, reach, least)
    to_a_side = share_to_a_side(true, group, reach, least)
    for at in range(40):
        others = _beside(group, at, reach)
        if len(others) < least:
            assert np.isnan(middle[at])
            assert share[at] == 0
        else:
            assert middle[at] == pytest.approx(statistics.median(value[others].tolist()))
            assert share[at] == pytest.approx(statistics.mean(map(float, true[others])))
            sides = [[n for n in others if n < at], [n for n in others if n > at]]
            means = [statistics.mean(map(float, true[n])) for n in sides if len(n) >= least]
            assert to_a_side[at] == pytest.approx(max(means, default=0))


def test_medians_of_a_long_proof_in_blocks_are_those_of_all_at_once(monkeypatch):
    rng = np.random.default_rng(5)
    group, value = np.sort(rng.integers(0, 30, 300)), rng.normal(size=300)
    whole = median_beside(value, group, 8, 2)
    monkeypatch.setattr(neighbours, "_BLOCK", 7)
    assert np.array_equal(median_beside(value, group, 8, 2), whole, equal_nan=True)


def test_no_letters_have_none_beside():
    assert len(median_beside(np.zeros(0), np.zeros(0, np.intp), 3, 1)) == 0
    assert len(share_beside(np.zeros(0, bool), np.zeros(0, np.intp), 3, 1)) == 0


@pytest.fixture(scope="module")
def forme():
    return prose_forme()


def _word_with(forme, letter):
    """A line and a long word in it with the letter; none whose ligatures another face may lack."""
    return next(
        (line, word)
        for line, slug in enumerate(forme.slugs, 1)
        for word in slug.text.split()
        if line > 1 and not re.search("f[fil]", slug.text) and word.isalpha() and len(word) > 4
        if letter in word
    )


@pytest.mark.slow
@pytest.mark.parametrize("letter", "aeghnrt")
def test_a_letter_of_italic_is_told_among_roman(forme, letter):
    line, word = _word_with(forme, letter)
    at = word.index(letter)
    faulty = wrong_font(forme, line, word, letter=at, other="schola", style="italic")
    told = [each for each in findings(faulty) if each.kind in OF_LETTERS]
    assert [(each.line, each.copy_text) for each in told] == [(line, letter)]


BREAKS = {"a": 4, "e": 5, "g": 6, "h": 4, "n": 4, "r": 1, "s": 1, "t": 6}
"""Of six breaks of each letter the one that takes the most ink, by the print alone: from 0.17 of
an a to 0.4 of a t."""


@pytest.mark.slow
@pytest.mark.parametrize("letter", BREAKS)
def test_a_letter_that_has_lost_a_good_part_is_told_and_no_other(forme, letter):
    # It is no sound letter of the proof's own; strange or broken, it may look the same.
    line, word = _word_with(forme, letter)
    faulty = broken_letter(forme, line, word, letter=word.index(letter), seed=BREAKS[letter])
    told = [each for each in findings(faulty) if each.kind in OF_LETTERS]
    assert [(each.line, each.copy_text) for each in told] == [(line, letter)]


@pytest.mark.slow
@pytest.mark.parametrize("letter", "nrt")
def test_a_stem_that_has_lost_a_part_is_told_as_broken(forme, letter):
    # Letters of plain stems, of which no other face shows less.
    line, word = _word_with(forme, letter)
    faulty = broken_letter(forme, line, word, letter=word.index(letter), seed=3)
    told = [each for each in findings(faulty) if each.kind in OF_LETTERS]
    assert [(each.line, each.kind, each.copy_text) for each in told] == [
        (line, Kind.BROKEN_LETTER, letter)
    ]


@pytest.mark.slow
@pytest.mark.parametrize("family", ["schola", "old-standard"])
def test_words_of_italic_are_a_change_of_type(family):
    slanting = re.compile("lantern|merry pieces|donkey|hymn")
    texts = [slanting.sub(r"_\g<0>_", text) for text in PROSE]
    forme = compose([Para(text) for text in texts], measure_picas=24, style=Style(family=family))
    assert not [each for each in findings(forme) if each.kind in OF_LETTERS]


def _matter(forme, box_of):
    """The proof's matter with the boxes of its letters changed: (reading, at) → box or None."""
    sheets, lines, readings, collation, copy = seen(forme)
    changed = []
    for reading in readings:
        letters = tuple(
            replace(letter, box=box_of(reading, at) or letter.box)
            for at, letter in enumerate(reading.letters)
        )
        changed.append(Reading(reading.line, letters))
    return Matter.of(sheets, lines, changed, collation, copy, MetalSettings())


def test_a_box_that_takes_in_the_next_letter_says_nothing_of_either(forme):
    def wider(reading, at):
        letters = reading.letters
        if letters[at].text != "i" or at + 1 >= len(letters) or letters[at + 1].text != "n":
            return None
        box = letters[at].box
        return box._replace(width=letters[at + 1].box.right - box.x)

    matter = _matter(forme, wider)
    text = matter.fount.text
    cut_two = [n for n in range(len(text) - 1) if text[n] == "i" and text[n + 1] == "n"]
    cut_two = [n for n in cut_two if matter.letter(n).box.right >= matter.letter(n + 1).box.right]
    assert len(cut_two) > 5
    assert (judge(matter).unsound[cut_two] == NEVER).all()
    assert not matter.cut_true[cut_two].any()


def test_sound_letters_are_called_so(forme):
    matter = _matter(forme, lambda reading, at: None)
    assert (judge(matter).unsound < EVEN).all()
    assert matter.running.sum() >= len(matter.lines) - 3
    assert small_in_running(matter).mean() > 0.8
