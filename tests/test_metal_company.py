"""Which letters can be judged as single ones: each reason against it by itself.

A word in another face is a change of type, which the copy may want, one letter never is; halves of
joined letters, folios and what stands under a capital's arm have no true fellows: common practice.
The measures are given, so that each comes about alone.
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from proofcheck.base.values import Box, Letter
from proofcheck.metal.company import (
    alone_of_its_face,
    among_odd,
    has_its_like,
    judgeable,
    small_in_running,
    without_its_like,
)
from proofcheck.metal.face import LEVELS, MOST_OF_A_KIND, MOST_PROOFS, Face, Lettering, Taught
from proofcheck.metal.set_apart import set_apart

WORDS = ("nave", "rood", "sane", "dove", "veer")


def proof(words=WORDS, *, lines=None, **told):
    """Letters of some words, 16 px wide and 18 apart, and what is measured of them by place."""
    text = list("".join(words))
    count = len(text)
    word = np.repeat(np.arange(len(words)), [len(each) for each in words])
    line = np.zeros(count, int) if lines is None else np.array([lines[w] for w in word])
    held = {
        "unlike": 0.05, "lost": 0.0, "added": 0.0, "closest": 0.05, "oddness": 0.0,
        "oddness_beside": 0.0, "borne_out": True, "cut_true": True,
    }  # fmt: skip
    arrays = {}
    for name, usual in held.items():
        arrays[name] = np.full(count, usual)
        for at, value in told.get(name, {}).items():
            arrays[name][at] = value
    boxes = [Box(18 * k, 0, 16, 20) for k in range(count)]
    for at, box in told.get("boxes", {}).items():
        boxes[at] = box
    kinds = np.array(text, "U1")
    fellows = {
        char: SimpleNamespace(who=np.flatnonzero(kinds == char)) for char in sorted(set(text))
    }
    rows = int(line.max()) + 1
    place = np.concatenate([np.arange(int((line == row).sum())) for row in range(rows)])
    fount = SimpleNamespace(
        text=kinds, line=line, at=place, fellows=fellows,
        **{name: arrays[name] for name in ("unlike", "lost", "added", "closest")},
    )  # fmt: skip
    letters = [
        SimpleNamespace(
            letters=[Letter(text[k], boxes[k], 1.0) for k in np.flatnonzero(line == row)]
        )
        for row in range(rows)
    ]
    return SimpleNamespace(
        fount=fount, word=word, readings=letters, running=np.ones(rows, bool),
        lines=[SimpleNamespace(x_height_px=20.0)] * rows,
        boxes=boxes,
        **{name: arrays[name] for name in ("oddness", "oddness_beside", "borne_out", "cut_true")},
    )  # fmt: skip


def none_odd(matter):
    return np.zeros(len(matter.fount.text), bool)


def left_out(matter, odd=None):
    """Places of the letters that can't be held against a book of faces."""
    found = alone_of_its_face(matter, none_odd(matter) if odd is None else odd)
    return np.flatnonzero(~found).tolist()


def test_a_sound_page_has_none_left_out():
    assert left_out(proof()) == []


@pytest.mark.parametrize("reason", ["borne_out", "cut_true"])
def test_what_is_in_dispute_or_cut_wrong_is_not_judged(reason):
    assert left_out(proof(**{reason: {3: False}})) == [3]


def test_one_among_odd_ones_is_not_judged():
    matter = proof()
    odd = none_odd(matter)
    odd[5] = True
    assert left_out(matter, odd) == [5]


@pytest.mark.parametrize(("word", "out"), [("nav", True), ("nave", False)])
def test_a_line_of_fewer_than_four_letters_is_a_folio(word, out):
    matter = proof((*WORDS, word), lines=[0] * 5 + [1])
    assert bool(left_out(matter)) is out


@pytest.mark.parametrize(
    ("word", "halves"),
    [("fin", [0, 1]), ("offal", [1, 2]), ("flow", [0, 1]), ("fort", []), ("sift", [])],
)
def test_halves_of_joined_letters_are_not_judged(word, halves):
    assert left_out(proof((word, *WORDS))) == halves


def test_letters_of_two_words_are_not_joined():
    assert left_out(proof(("of", "in", *WORDS))) == []


def test_what_a_capital_s_arm_or_a_hook_reaches_over_is_not_judged():
    over = {1: Box(12, 0, 16, 20)}
    for first, out in (("V", [1]), ("T", [1]), ("n", [])):
        assert left_out(proof((f"{first}ane", *WORDS), boxes=over)) == out
    assert left_out(proof(("Vane", *WORDS))) == []


def test_a_letter_whose_kind_overhangs_is_not_judged_where_nothing_stands_under_it():
    # Most r's have the next letter under them; one has none.
    words = ("ra", "ra", "ra", "ra")
    under = {2 * k + 1: Box(36 * k + 12, 0, 16, 20) for k in range(3)}
    assert left_out(proof(words, boxes=under)) == [6]


# --- among others as odd -------------------------------------------------------------------------


def odd_ones(matter, strange=()):
    count = len(matter.fount.text)
    odds = SimpleNamespace(strange=np.full(count, -5.0), broken=np.full(count, -5.0))
    odds.strange[list(strange)] = 1.0
    return np.flatnonzero(among_odd(matter, odds)).tolist()


def test_one_odd_letter_is_not_among_odd_ones_but_several_are():
    assert odd_ones(proof()) == []
    assert odd_ones(proof(), [9]) == []
    # Half of the letters about them look odd.
    assert set(odd_ones(proof(), [8, 9, 10, 11, 12, 13])) >= {8, 9, 10, 11, 12, 13}
    assert odd_ones(proof(oddness=dict.fromkeys(range(8, 14), 1.6))) != []
    assert odd_ones(proof(oddness=dict.fromkeys(range(8, 14), 1.4))) == []


def test_a_letter_beside_one_that_stands_far_out_is_left_alone():
    assert odd_ones(proof(oddness={9: 3.0})) == [11]
    assert odd_ones(proof(oddness={9: 3.6})) == [8, 10, 11]
    assert odd_ones(proof(oddness={9: 2.7})) == []


def test_the_others_of_a_word_of_four_letters_may_not_be_odd_in_the_middle():
    assert odd_ones(proof(oddness_beside={9: 1.3})) == [9]
    assert odd_ones(proof(oddness_beside={9: 1.1})) == []
    assert odd_ones(proof(("nav", *WORDS), oddness_beside={1: 1.3})) == []


# --- with and without its like -------------------------------------------------------------------


def test_a_capital_has_its_like_if_another_is_no_more_than_thrice_as_unlike():
    matter = proof(("Nave", "Note", "Nora", "Neve", "Nest", *WORDS), closest={0: 0.16, 4: 0.14})
    assert not has_its_like(matter)[0]
    assert has_its_like(matter)[4]
    assert has_its_like(matter)[8]
    assert np.flatnonzero(without_its_like(matter)).tolist() == [0]
    # What is usual is of its own kind: all R's may be far less like one another than N's.
    apart = proof(("Nave", "Nora", "Rave", "Rood"), closest={8: 0.3, 12: 0.3})
    assert has_its_like(apart).all()
    # Small letters of running text have fellows enough.
    small = proof(("nave", "nine", "none", *WORDS), closest={0: 0.5})
    assert not without_its_like(small).any()
    assert small_in_running(small).all()
    small.running[:] = False
    assert not small_in_running(small).any()
    assert without_its_like(small)[0]


def test_small_letters_are_judged_and_capitals_where_they_have_no_like():
    matter = proof(("Nave", "Nate", "Nora", "Neve", *WORDS), closest={0: 0.2})
    found = judgeable(matter, none_odd(matter))
    assert found[1:4].all()
    assert [bool(found[at]) for at in (0, 4, 8, 12)] == [True, False, False, False]


def test_a_letter_plainly_broken_is_judged_among_odd_ones_but_not_among_worn_ones():
    odd = np.ones(20, bool)
    broken = proof(lost={9: 0.15})
    assert np.flatnonzero(judgeable(broken, odd)).tolist() == [9]
    assert not judgeable(proof(lost={9: 0.15}, added={9: 0.05}), odd).any()
    assert not judgeable(proof(lost={9: 0.08}), odd).any()
    assert not judgeable(proof(lost={9: 0.15} | dict.fromkeys(range(2, 9), 0.06)), odd)[9]


def capital(running=True, *, sizes=None, **measures):
    """Whether the N of “Nave” is judged, of five words with an N; without its like unless said."""
    words = ("Nave", "Note", "Nora", "Neve", "Nest")
    told = {"closest": {0: 0.5}, **measures}
    matter = proof(words, lines=[0, 1, 1, 1, 1], **told)
    matter.running[:] = running
    for row, size in (sizes or {}).items():
        matter.lines[row] = SimpleNamespace(x_height_px=size)
    return bool(judgeable(matter, none_odd(matter))[0])


def test_a_capital_is_judged_by_capitals_of_running_text_of_its_own_size():
    assert capital()
    assert not capital(closest={0: 0.05})
    assert not capital(running=False)
    # x-heights within a tenth are of one size.
    for size, of_it in ((21.9, True), (22.1, False), (18.1, True), (17.9, False)):
        assert capital(sizes={1: size}) is of_it, size


def test_in_a_head_a_capital_is_judged_where_part_of_it_is_plainly_gone():
    gone = {"lost": {0: 0.12}, "added": {0: 0.02}}
    assert capital(running=False, **gone)
    assert not capital(running=False, lost={0: 0.119}, added={0: 0.02})
    assert not capital(running=False, lost={0: 0.12}, added={0: 0.021})
    # Beside fellows of several faces a light letter looks worn.
    apart = dict.fromkeys((4, 8, 12, 16), 0.21)
    assert not capital(running=False, unlike=apart, **gone)
    assert capital(running=False, unlike=dict.fromkeys((4, 8, 12, 16), 0.19), **gone)
    # Nor where another of its kind is as like as usual.
    assert not capital(running=False, closest={0: 0.05}, **gone)


def test_points_and_letters_without_fellows_are_not_judged():
    matter = proof(("na-e", *WORDS), unlike={1: np.nan})
    found = judgeable(matter, none_odd(matter))
    assert np.flatnonzero(~found).tolist() == [1, 2]
    assert left_out(matter) == [2]


def test_of_those_near_it_as_many_may_look_odd_as_is_less_than_a_third():
    words = ("navesrood", "doveveers")
    # Eight letters to either side: of the sixteen near the tenth letter five are fewer than 0.34.
    for strange, among in ((5, False), (6, True)):
        places = [0, 2, 4, 14, 16, 12][:strange]
        assert (9 in odd_ones(proof(words), places)) is among
    # To one side alone two in five are enough, of four letters at least.
    assert 4 in odd_ones(proof(("naves", "rood")), [0, 1])
    assert 4 not in odd_ones(proof(("naves", "rood")), [0])
    # What is unlike by 0.13 and thrice the usual looks odd too; in a worn proof less is as usual.
    near = dict.fromkeys((0, 1), 0.16)
    assert 4 in odd_ones(proof(("naves", "rood"), unlike=near))
    assert odd_ones(proof(("naves", "rood"), unlike=dict.fromkeys((0, 1), 0.14))) == []
    assert odd_ones(proof(("naves", "rood"), unlike=near | dict.fromkeys(range(2, 9), 0.06))) == []


# --- a face as it is kept ------------------------------------------------------------------------


def lettering(text, *, shade=0, x_mm=2.0):
    count = len(text)
    ink = np.full((count, 2, 2), shade, np.uint8)
    return Lettering(
        np.array(list(text), "U1"), ink, np.full(count, 4.0, np.float32), x_mm, 10.0, 0.0
    )


def taught(job):
    return Taught(job, 1, "0" * 64, "2026-11-30", 9)


def face():
    return Face(3, "Old Style", lettering(""), np.zeros(0, int), ())


def test_a_face_keeps_letters_of_each_proof_and_none_of_a_job_s_earlier_pull():
    one = face().with_proof(lettering("aab", x_mm=2.0), taught("1"))
    two = one.with_proof(lettering("abc", x_mm=3.0), taught("2"))
    assert "".join(two.letters.text) == "aababc"
    assert two.proof.tolist() == [0, 0, 0, 1, 1, 1]
    # Sizes are the mean of the proofs'.
    assert (one.letters.x_height_mm, two.letters.x_height_mm) == (2.0, 2.5)
    again = two.with_proof(lettering("zz"), taught("1"))
    assert [each.job for each in again.proofs] == ["2", "1"]
    assert "".join(again.letters.text) == "abczz"
    assert again.proof.tolist() == [0, 0, 0, 1, 1]
    assert "".join(two.without("2").letters.text) == "aab"
    assert (two.called, Face(4, "", two.letters, two.proof, two.proofs).called) == (
        "face 3 (Old Style)", "face 4",
    )  # fmt: skip


def test_of_a_kind_so_many_letters_stay_from_all_proofs_as_evenly_as_they_go():
    held = face()
    for job in range(3):
        held = held.with_proof(lettering("a" * 50 + "b"), taught(str(job)))
    counts = np.bincount(held.proof[held.letters.text == "a"])
    assert counts.sum() == MOST_OF_A_KIND
    assert counts.max() - counts.min() <= 1
    assert (held.letters.text == "b").sum() == 3


def test_the_oldest_proofs_go_first():
    held = face()
    for job in range(MOST_PROOFS + 2):
        held = held.with_proof(lettering("a"), taught(str(job)))
    assert len(held.proofs) == MOST_PROOFS
    assert [held.proofs[0].job, held.proofs[-1].job] == ["2", str(MOST_PROOFS + 1)]


def test_pictures_are_kept_in_fifteen_greys_and_given_back():
    held = face().with_proof(lettering("a", shade=LEVELS), taught("1"))
    assert LEVELS == 15
    cut = held.cut()
    assert float(np.max(cut.ink[np.array([0])])) == 1.0
    assert cut.half_width.tolist() == [4.0]


def row_of(text, gaps=()):
    """Letters 16 px wide and 2 apart, a space as wide; before some places more white."""
    letters, x = [], 0
    for at, char in enumerate(text):
        x += dict(gaps).get(at, 0)
        letters.append(Letter(char, Box(x, 0, 16, 20), 1.0))
        x += 18
    return letters


@pytest.mark.parametrize(
    ("text", "gaps", "at", "apart"),
    [
        # A reference in brackets; not one of two letters, nor one with a bracket on one side.
        ("(a) if", (), 1, True), ("[b] if", (), 1, True), ("(ab) if", (), 1, False),
        ("a) if", (), 0, False), ("(a", (), 1, False),
        # The head of a column, with its point or without; a word's white is not so wide.
        ("s. d.", ((3, 40),), 0, True), ("s. d.", ((3, 40),), 3, True),
        ("s d", ((2, 40),), 0, True), ("6 a 8", ((2, 40), (4, 40)), 2, True),
        ("s. d.", (), 0, False), ("see a man", (), 4, False), ("6 a 8", ((2, 40),), 2, False),
        # A capital or a figure is judged by itself elsewhere; a line of one letter is no cell.
        ("(A) if", (), 1, False), ("s.", (), 0, False),
    ],
)  # fmt: skip
def test_a_reference_in_brackets_or_the_head_of_a_column_is_set_apart(text, gaps, at, apart):
    letters = row_of(text, gaps)
    fount = SimpleNamespace(
        text=np.array(list(text)), line=np.zeros(len(text), int), at=np.arange(len(text))
    )
    matter = SimpleNamespace(
        fount=fount,
        readings=[SimpleNamespace(letters=letters)],
        lines=[SimpleNamespace(x_height_px=20.0)],
    )
    assert bool(set_apart(matter)[at]) is apart


def test_a_letter_set_apart_is_not_judged():
    assert judgeable(proof(), np.zeros(20, bool)).all()
    far = {k: Box(18 * k + 60 * (k > 0) + 60 * (k > 1), 0, 16, 20) for k in range(20)}
    assert not judgeable(proof(boxes=far), np.zeros(20, bool))[1]
