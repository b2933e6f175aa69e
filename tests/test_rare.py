"""Letters that stand once on a proof: told as broken, and otherwise let alone.

That a letter with a fifth to half of its face gone is broken, however few of its kind there are, is
`common practice`. Means and spreads are held against numpy's over a list with the letter left out.
"""

from dataclasses import replace

import numpy as np
import pytest
from metal_cases import prose_forme, seen
from typesetter import Para, compose

from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box
from proofcheck.metal import MetalSettings
from proofcheck.metal.beside import KINDS, beside_fellows, by_themselves, kind_numbers, others_of
from proofcheck.metal.broken import broken_letters
from proofcheck.metal.context import Matter
from proofcheck.metal.judged import judge
from proofcheck.metal.overlaying import Fellows, lay_on
from proofcheck.metal.patch_store import Patches
from proofcheck.metal.patches import TALL, WIDE
from proofcheck.metal.rare import READ_SURELY, broken_alone, overhanging, rare_letters
from proofcheck.metal.unsound import EVEN

ONCE = ("Eleven", "Visitors", "Should")


@pytest.fixture(scope="module")
def forme():
    return prose_forme()


@pytest.fixture(scope="module")
def proof(forme):
    # Of a letter with part of it gone a reader is not quite sure.
    return seen(forme, certainty=0.99)


@pytest.fixture(scope="module")
def matter(proof):
    return Matter.of(*proof, MetalSettings())


@pytest.mark.parametrize("word", ONCE)
def test_a_capital_that_stands_once_is_told_as_broken(forme, matter, word):
    strange = pytest.importorskip("tests.lab.strange", reason="needs fontTools")
    fount, letter = matter.fount, word[0]
    assert letter not in fount.fellows
    line = next(n for n, slug in enumerate(forme.slugs, 1) if word in slug.text.split())
    number = int(np.flatnonzero((fount.text == letter) & (fount.line == line - 1))[0])
    told = []
    for seed in range(8):
        ink = fount.cut.ink[:].copy()
        half = float(fount.cut.half_width[number])
        ink[number] = strange.broken(ink[number], half, np.random.default_rng(seed))
        cut = replace(fount.cut, ink=Patches.of(ink))
        found = broken_letters(judge(replace(matter, fount=replace(fount, cut=cut))))
        assert {(each.kind, each.line, each.copy_text) for each in found} <= {
            (Kind.BROKEN_LETTER, line, letter)
        }
        told.append(bool(found))
    assert sum(told) >= 7


def test_a_letter_that_reaches_over_its_neighbour_is_not_judged_by_itself(forme):
    """Kerned, as display type is: the letter after a capital set a little under it."""
    sheets, lines, readings, *rest = seen(forme, certainty=0.5)
    whole = Matter.of(sheets, lines, readings, *rest, MetalSettings())
    number = rare_letters(whole)[0][0]
    row, at = int(whole.fount.line[number]), int(whole.fount.at[number])
    letters = list(readings[row].letters)
    box, after = letters[at].box, letters[at + 1]
    kerned = Box(box.right - round(0.2 * box.width), after.box.y, after.box.width, after.box.height)
    letters[at + 1] = replace(after, box=kerned)
    under = [*readings[:row], replace(readings[row], letters=tuple(letters)), *readings[row + 1 :]]
    matter = Matter.of(sheets, lines, under, *rest, MetalSettings())
    assert overhanging(matter)[[number, number + 1]].all()
    assert number not in [each for each, _, _ in rare_letters(matter)]
    assert set(rare_letters(matter)) <= set(rare_letters(whole))


def test_rare_letters_are_the_capitals_and_all_are_sound(matter):
    rare = rare_letters(matter)
    assert {letter for _, letter, _ in rare} >= {word[0] for word in ONCE}
    assert all(str(matter.fount.text[number]) == letter for number, letter, _ in rare)
    assert all(odds < EVEN for _, _, odds in rare)


def test_a_letter_read_for_certain_is_whole(forme):
    assert rare_letters(Matter.of(*seen(forme, certainty=READ_SURELY), MetalSettings())) == []


def test_the_readers_doubt_of_a_ring_says_nothing_of_its_metal():
    forme = compose([Para("Of 40 ounces Olive kept 3 and Kitty 2.")], measure_picas=16)
    rare = rare_letters(Matter.of(*seen(forme, certainty=0.5), MetalSettings()))
    kinds = {letter for _, letter, _ in rare}
    assert {"K", "3", "2"} <= kinds
    assert not kinds & {"0", "O"}


def test_of_no_letters_there_are_no_odds(matter):
    assert broken_alone(matter, [], []) == []


def test_a_letter_is_no_fellow_of_its_own(matter):
    fount = matter.fount
    who = np.flatnonzero(fount.text == "w")
    fellows = Fellows.of(fount.cut, who[1:])
    laid = lay_on(fount.cut, who, fellows)
    shown = beside_fellows(fount.cut, who, laid.shift, laid.nearest, fellows)
    assert others_of(who, fellows).tolist() == [len(who) - 1, *[len(who) - 2] * (len(who) - 1)]
    for at, picture in enumerate(shown):
        others = np.stack(
            [ink for n, ink in zip(fellows.who, fellows.ink, strict=True) if n != who[at]]
        ).astype(np.float64)
        assert np.allclose(picture[2].ravel(), others.mean(axis=0), atol=1e-5)
        assert np.allclose(picture[3].ravel(), 2 * others.std(axis=0), atol=2e-3)


def test_letters_by_themselves_have_no_fellows_ink(matter):
    shown = by_themselves(matter.fount.cut, np.arange(3))
    assert shown.shape[2:] == (TALL, WIDE)
    assert shown[:, 0].any()
    assert not shown[:, 1:].any()


def test_letters_and_figures_are_numbered_and_all_else_is_one_kind():
    assert kind_numbers("aZ9").tolist() == [0, 51, 61]
    assert kind_numbers("&¾é").tolist() == [len(KINDS)] * 3
