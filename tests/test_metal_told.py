"""Which letters and lines are told as faults, of measures that are given, not taken.

Scars, letters lost in another's ink, turned sorts, other founts, letters off their line, leaning
ones, postures and lines: each stands right at its bound (`test_metal_judging` says how). How two
faces are told apart is held against Fisher's discriminant written out (R. A. Fisher 1936, Annals of
Eugenics 7:179).
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from evenly_laid import WIDE as INK_PX
from test_metal_judging import LINES, every, judged, laid, proof, with_boxes

from proofcheck.base.found import Cause, Difference
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Emphasis, Span
from proofcheck.metal import (
    broken,
    by_face,
    leaning,
    miscast,
    offline,
    posture,
    swallowed,
    turned_sorts,
    twins,
    unsound,
    wrongfont,
)
from proofcheck.metal.certain import grown
from proofcheck.metal.face import LEVELS, Face, Lettering, Taught
from proofcheck.metal.findings import MetalFinding
from proofcheck.metal.patches import TALL, WIDE, X_HEIGHT
from proofcheck.reading.turned import FEET_UP

# --- broken letters -------------------------------------------------------------------------------


def finding(line, at, certainty=0.8, letter="a"):
    return MetalFinding(Kind.BROKEN_LETTER, line, 0, Box(0, 0, 1, 1), Span(at, at + 1), certainty,
                        proof_text=letter, copy_text=letter)  # fmt: skip


def scar(x, y=20, wide=4, high=3):
    mark = np.zeros((TALL, WIDE), bool)
    mark[y : y + high, x : x + wide] = True
    return mark


def test_three_letters_with_one_scar_are_one_damaged_mat():
    found = [finding(n, 5, 0.5 + n / 100) for n in (3, 1, 2)]
    marks = [("a", scar(20))] * 3
    (one,) = broken.same_scar(found, marks)
    assert (one.line, one.other_lines, one.certainty) == (3, (1, 2), 0.53)
    assert one.words == "damaged mat: a has the same scar 3 times"
    # Two may be chance; so may those of two letters, or scars that lie apart.
    assert [each.line for each in broken.same_scar(found[:2], marks[:2])] == [1, 3]
    assert len(broken.same_scar(found, [("a", scar(20)), ("b", scar(20)), ("a", scar(20))])) == 3
    assert len(broken.same_scar(found, [("a", scar(20)), ("a", scar(27)), ("a", scar(34))])) == 3
    # Two in five of either must lie on the other, a pixel's play allowed.
    assert len(broken.same_scar(found, [("a", scar(20 + 2 * k)) for k in (0, 1, 0)])) == 1
    assert len(broken.same_scar(found, [("a", scar(20 + 4 * k)) for k in (0, 1, 0)])) == 3
    # All of one line: it is a line in a face of its own, and nothing is told.
    same = [finding(2, at) for at in (1, 2, 3)]
    assert broken.same_scar(same, marks) == []
    assert [each.letters.start for each in broken.same_scar(same[:2][::-1], marks[:2])] == [1, 2]


def with_difference(matter, *told):
    collation = replace(matter.collation, differences=tuple(told))
    return replace(matter, collation=collation)


def other(at, printed, wanted, kind=Kind.WRONG_LETTER, line=1):
    return Difference(kind, line, Span(at, at + len(printed)), printed, Span(at, at + 1), wanted)


def test_what_is_likelier_broken_than_not_is_told_as_broken():
    matter = proof()
    for odds, told in ((unsound.EVEN, True), (unsound.EVEN - 0.01, False)):
        found = broken.broken_letters(judged(matter, unsound={2: odds}, broken={2: True}))
        assert [(each.line, each.letters.start) for each in found] == ([(1, 3)] if told else [])
    (one,) = broken.broken_letters(judged(matter, unsound={2: 3.0}, broken={2: True}))
    assert one.certainty == pytest.approx(grown(3.0, unsound.EVEN, unsound.STEP))
    assert (one.proof_text, one.copy_text, one.gives_way) == ("s", "s", False)
    # What is rather of another face is not.
    assert broken.broken_letters(judged(matter, unsound={2: 3.0})) == []


def test_a_letter_in_dispute_may_be_the_right_one_broken(monkeypatch):
    asked = []

    def as_(_, wanted, __, number):
        asked.append(("fellows", wanted, number))
        return 2.0

    def alone(_, who, letters):
        asked.append(("alone", letters[0], who[0]))
        return [2.0]

    monkeypatch.setattr(broken, "broken_as", as_)
    monkeypatch.setattr(broken, "broken_alone", alone)
    matter = proof()

    def told(difference, **more):
        asked.clear()
        held = with_difference(proof(**more.pop("measures", {})), difference)
        return broken.broken_letters(judged(held, **more)), list(asked)

    (one,), how = told(other(3, "s", "e"))
    assert how == [("fellows", "e", 2)]
    assert (one.proof_text, one.copy_text, one.letters) == ("s", "e", Span(3, 4))
    assert one.certainty == pytest.approx(grown(2.0, unsound.EVEN, unsound.STEP))
    # What is plainly the letter that was read gives way to a fault of the text.
    for unlike, gives_way in ((0.149, True), (0.151, False)):
        ((found,), _) = told(other(3, "s", "e"), measures={"unlike": {2: unlike}})
        assert found.gives_way is gives_way
    # One without fellows, or among odd ones, is looked at by itself.
    assert told(other(3, "s", "z"))[1] == [("alone", "z", 2)]
    assert told(other(3, "s", "e"), among_odd={2: True})[1] == [("alone", "e", 2)]
    # Not where more than a letter is in dispute, nor a point, nor on a line that is none.
    for difference in (
        other(3, "s", "ee"), other(3, "sa", "e"), other(3, "s", "."), other(3, "s", ""),
        other(2, " ", "e"), other(3, "s", "e", line=9),
        # A ring that is no other ring broken.
        other(3, "o", "0"), other(3, "0", "O"),
    ):  # fmt: skip
        assert told(difference) == ([], [])
    assert matter.fount.text[2] == "s"


def test_a_small_letter_among_capitals_may_be_the_style_s(monkeypatch):
    monkeypatch.setattr(broken, "broken_as", lambda *_: 2.0)
    monkeypatch.setattr(broken, "broken_alone", lambda *_: [2.0])
    for text, told in (("we SAW men row over", False), ("we SaW men row over", False),
                       ("we Saw men row over", True), ("we sav men row over", True)):  # fmt: skip
        matter = with_difference(proof((text, *LINES)), other(4, text[4], "e"))
        assert bool(broken.broken_letters(judged(matter))) is told, text
    matter = with_difference(proof(("we SAW men row over", *LINES)), other(4, "A", "E"))
    assert broken.broken_letters(judged(matter))


def test_in_dispute_less_certainty_is_enough(monkeypatch):
    for odds, read, told in ((0.2, "s", True), (0.1, "s", False)):
        monkeypatch.setattr(broken, "broken_as", lambda *_, odds=odds: odds)
        matter = with_difference(proof(), other(3, read, "e"))
        certainty = grown(odds, unsound.EVEN, unsound.STEP)
        assert (certainty >= 0.35) is told
        assert bool(broken.broken_letters(judged(matter))) is told


# --- letters lost in another's ink ----------------------------------------------------------------


def lost(monkeypatch, wanted="s", *, at=3, wide=INK_PX, odds=2.0, before=False, **more):
    """What is told of a letter missing before the third letter, whose box is so wide."""
    texts = ("we aw men row over sea", *LINES)
    matter = proof(texts)
    number = 1 if before else 2
    box = matter.letter(number).box
    changed = box._replace(x=box.right - wide, width=wide) if not before else box._replace(
        width=wide
    )  # fmt: skip
    matter = with_boxes(matter, {number: changed})
    told = Difference(Kind.LETTER_MISSING, 1, Span(at, at), "", Span(at, at + 1), wanted)
    monkeypatch.setattr(swallowed, "broken_as", lambda *_: odds)
    found = swallowed.swallowed_letters(judged(with_difference(matter, told), **more))
    return [(each.letters.start, each.copy_text, each.box.x, each.box.width) for each in found]


def test_a_letter_missing_may_stand_broken_in_the_ink_of_its_neighbour(monkeypatch):
    # The a of “aw” takes in 12 px more to its left: three quarters of an s.
    assert lost(monkeypatch, wide=INK_PX + 12) == [(3, "s", 136, 12)]
    # Two fifths of the letter's usual width, 6.4 px, must be left over.
    assert lost(monkeypatch, wide=INK_PX + 7) != []
    assert lost(monkeypatch, wide=INK_PX + 6) == []
    assert lost(monkeypatch) == []
    # Or to the right of the letter before.
    assert lost(monkeypatch, at=2, before=True, wide=INK_PX + 12)[0][0] == 2
    # Not where the ink is none of it, nor for a point, nor a letter without fellows.
    wide = INK_PX + 12
    assert lost(monkeypatch, wide=wide, odds=0.1) == []
    assert lost(monkeypatch, wide=wide, odds=0.2) != []
    assert lost(monkeypatch, ".", wide=wide) == []
    assert lost(monkeypatch, "z", wide=wide) == []
    assert lost(monkeypatch, "se", wide=wide) == []
    # Nor beside letters that look odd.
    assert lost(monkeypatch, wide=wide, among_odd={2: True}) == []
    assert lost(monkeypatch, wide=wide, among_odd={1: True}) != []


# --- turned sorts ---------------------------------------------------------------------------------


def turned_told(monkeypatch, printed, wanted, *, turned=0.1, upright=0.5):
    """How sure it is that the third letter is turned, laid so unlike either way round."""

    def lay(_, who, fellows, **how):
        return SimpleNamespace(unlike=np.array([turned if how.get("turned") else upright]))

    monkeypatch.setattr(turned_sorts, "lay_on", lay)
    matter = proof((f"we {printed}aw men row over sea", *LINES))
    held = with_difference(matter, other(3, printed, wanted))
    found = turned_sorts.turned_sorts(judged(held))
    return [(each.certainty, each.words, each.cause) for each in found]


def test_a_turned_sort_lies_far_better_turned_than_upright(monkeypatch):
    by_ink = (0.9, "", Cause.TURNED_SORT)
    assert turned_told(monkeypatch, "u", "n") == [by_ink]
    # Four fifths as unlike as upright, and no more than 0.3.
    assert turned_told(monkeypatch, "u", "n", turned=0.3, upright=0.375) == [by_ink]
    assert turned_told(monkeypatch, "u", "n", turned=0.31, upright=0.9) == []
    assert turned_told(monkeypatch, "u", "n", turned=0.1, upright=0.12) == []
    # Letters that do not look like one another turned are none; nor are two for one.
    assert turned_told(monkeypatch, "a", "n") == []
    assert turned_told(monkeypatch, "u", "nn") == []
    assert turned_told(monkeypatch, "u", "") == []
    # Of a letter the proof has none of nothing is known.
    assert turned_told(monkeypatch, "d", "p") == []


def test_what_the_reader_sees_turned_is_surer_and_a_sort_feet_up_is_a_letter_wanting(monkeypatch):
    assert turned_told(monkeypatch, "ǝ", "e") == [(0.97, "", Cause.TURNED_SORT)]
    assert turned_told(monkeypatch, "ǝ", "e", turned=0.5) == []
    wanting = (0.97, "letter wanting: put in e", Cause.TURNED_SORT)
    assert turned_told(monkeypatch, FEET_UP, "e", turned=0.9) == [wanting]


def test_every_difference_is_looked_at_though_those_before_it_are_none(monkeypatch):
    laid_so = SimpleNamespace(unlike=np.array([0.1]))
    upright = SimpleNamespace(unlike=np.array([0.5]))
    monkeypatch.setattr(
        turned_sorts, "lay_on", lambda *_, **how: laid_so if how.get("turned") else upright
    )
    matter = proof(("we uaw men row over sea", *LINES))
    last = other(3, "u", "n")
    for first in (other(4, "aw", "e"), other(4, "a", "e", line=9), other(4, "a", "n"),
                  other(4, "a", "")):  # fmt: skip
        found = turned_sorts.turned_sorts(judged(with_difference(matter, first, last)))
        assert [each.letters.start for each in found] == [3]


# --- wrong fonts ----------------------------------------------------------------------------------


def fonts(matter, **more):
    return [
        (each.line, each.letters.start, each.only_query, each.words)
        for each in wrongfont.wrong_fonts(judged(matter, **more))
    ]


def test_an_unsound_letter_that_is_not_broken_is_of_another_font():
    matter = proof()
    assert fonts(matter, unsound={2: unsound.EVEN}) == [(1, 3, False, "")]
    assert fonts(matter, unsound={2: unsound.EVEN - 0.01}) == []
    assert fonts(matter, unsound={2: 5.0}, broken={2: True}) == []
    (one,) = wrongfont.wrong_fonts(judged(matter, unsound={2: 3.0}))
    assert (one.kind, one.proof_text) == (Kind.WRONG_FONT, "s")
    assert one.certainty == pytest.approx(grown(3.0, unsound.EVEN, unsound.STEP))


def test_of_a_capital_or_in_a_head_it_is_a_query_unless_its_line_says_so_plainly():
    matter = proof(("We saw men row over sea", *LINES[1:], "SAW"))
    head = int(np.flatnonzero(matter.fount.line == 3)[0])
    for at in (0, head):
        assert [each[2] for each in fonts(matter, unsound={at: 3.0})] == [True]
        plain = wrongfont.PLAIN_IN_LINE
        assert [each[2] for each in fonts(matter, unsound={at: plain}, by_line={at: True})] == [
            False
        ]
        assert fonts(matter, unsound={at: plain - 0.1}, by_line={at: True})[0][2]
        assert fonts(matter, unsound={at: plain})[0][2]


def face(number=1, x_height=1.5, name="Old Style", text="", ink=None):
    count = len(text)
    made = np.zeros((count, TALL, WIDE), np.uint8) if ink is None else ink
    letters = Lettering(
        np.array(list(text), "U1"), made, np.full(count, 6.0, np.float32), x_height, 10.0, 0.0
    )
    taught = (Taught("1", 1, "0" * 64, "2001-01-01", count),)
    return Face(number, name, letters, np.zeros(count, np.intp), taught)


def test_what_the_book_of_faces_says_is_added_to_what_the_fellows_say():
    matter = proof(("We saw men row over sea", *LINES[1:]))
    count = len(matter.fount.text)

    def told(at, strange, own=-1.0, nearer=-99.0):
        said, beside = np.full(count, by_face.NEVER), np.zeros(count)
        said[at], beside[at] = strange, nearer
        seen = by_face.ByFace(said, np.ones(count, np.intp), beside, (face(1), face(2)))
        return fonts(matter, face=seen, own_odds={at: own})

    # Half of it with the fellows' word, from 3.5 together on.
    assert told(3, 9.1) == [(1, 4, False, "wrong font: a, more like face 2 (Old Style)")]
    assert told(3, 9.0) == []
    assert told(3, 5.0, own=1.1) == [(1, 4, False, "")]
    assert told(3, 99.0, own=-1.4) == [(1, 4, False, "wrong font: a, more like face 2 (Old Style)")]
    assert told(3, 99.0, own=-1.6) == []
    # By itself from 8 on, with what the comparer says of the two faces' letters.
    more = "wrong font: a, more like face 2 (Old Style)"
    assert told(3, 6.1, own=-5.0, nearer=2.0) == [(1, 4, False, more)]
    assert told(3, 6.0, own=-5.0, nearer=2.0) == []
    # Of what the discriminant hardly doubts it is not asked.
    assert told(3, 3.0, own=-5.0, nearer=20.0) == []
    # Where there are no fellows, by itself from 8 on.
    assert told(0, 8.1) == [(1, 0, True, "wrong font: W, more like face 2 (Old Style)")]
    assert told(0, 8.0) == []


def test_a_letter_among_others_that_lean_is_of_none(monkeypatch):
    matter = proof()
    count = len(matter.fount.text)
    said = np.full(count, by_face.NEVER)
    said[3] = 10.0
    seen = by_face.ByFace(said, np.zeros(count, np.intp), np.zeros(count), (face(1),))
    for leans, told in ((True, 0), (False, 1)):
        monkeypatch.setattr(wrongfont, "among_leaning", lambda *_, leans=leans: leans)
        assert len(fonts(matter, face=seen, own_odds={3: 0.0})) == told


# --- faces of the book told apart -----------------------------------------------------------------


def test_two_faces_are_told_apart_by_fisher_s_discriminant():
    rng = np.random.default_rng(3)
    own, strange = rng.normal(0, 1, (30, 6)), rng.normal(0.7, 1, (20, 6))
    rule = by_face._Rule.of(own, strange)
    way = strange.mean(axis=0) - own.mean(axis=0)
    within = (30 - 1) * np.cov(own.T) + (20 - 1) * np.cov(strange.T)
    within = within / 48
    # The ridge: the scatter of all directions, spread over forty.
    ridge = np.trace(within) / 40 + 1e-6
    weights = np.linalg.solve(within + ridge * np.eye(6), way)
    assert rule.weights == pytest.approx(weights, rel=1e-6)
    middle = (own.mean(axis=0) + strange.mean(axis=0)) / 2
    assert rule.odds(middle[None])[0] == pytest.approx(0.0, abs=1e-9)
    assert rule.odds(strange.mean(axis=0)[None])[0] == pytest.approx(rule.apart / 2)
    assert rule.odds(own.mean(axis=0)[None])[0] == pytest.approx(-rule.apart / 2)
    assert rule.apart == pytest.approx(float(weights @ way))


def test_a_rule_made_of_one_half_must_tell_the_other_half_apart():
    rng = np.random.default_rng(5)
    own = rng.normal(0, 1, (60, 4))
    far = rng.normal(0, 1, (60, 4)) + np.array([6, 0, 0, 0])
    assert by_face._told_apart(own, far) == pytest.approx(6.0, rel=0.25)
    assert by_face._told_apart(own, rng.normal(0, 1, (60, 4))) < 1.0
    # One half as it is, the other the reverse: then no rule holds.
    mixed = far.copy()
    mixed[1::2] = own[1::2] - np.array([6, 0, 0, 0])
    assert by_face._told_apart(own, mixed) < 0


def test_on_this_proof_a_kind_lies_where_the_book_has_it():
    odds, agreed = np.array([1.0, 2.0, 3.0, 9.0]), np.array([True, True, True, False])
    # Three letters, in the middle 2: against half of 6 under even they are off by 5, and count
    # three in seven.
    moved = by_face._at_home(odds, agreed, 6.0)
    assert moved == pytest.approx(odds - 5.0 * 3 / 7)
    assert by_face._at_home(odds, np.zeros(4, bool), 6.0) is odds


def test_letters_of_another_size_are_seen_at_their_own_and_at_the_proof_s():
    own = face(1, 1.5)
    for larger, scales in ((1.0, 1), (1.039, 1), (1.041, 2), (1.29, 2), (1.31, 1), (0.95, 2),
                           (0.69, 1)):  # fmt: skip
        found = by_face._scales(own, face(2, 1.5 * larger))
        assert len(found) == scales
        assert found[0] == 1.0
        assert found[-1] == pytest.approx(larger if scales == 2 else 1.0)
    ink = np.zeros((1, TALL, WIDE), np.float32)
    ink[0, 10:20, 20:30] = 1.0
    assert by_face._scaled(ink, 1.0) is ink
    assert by_face._scaled(ink, 1.2).sum() == pytest.approx(1.44 * ink.sum(), rel=0.05)
    assert by_face._scaled(ink, 1.2).shape == ink.shape


def test_of_the_other_faces_those_nearest_in_size_are_held_against():
    faces = [face(n, 1.5 + 0.1 * n) for n in range(12)]
    rows = np.array([True, False])
    own = SimpleNamespace(face=faces[0], rows=rows)
    found = by_face._others_of(own, [own], faces)
    assert [each.number for each in found] == [1, 2, 3, 4, 5, 6, 7, 8]
    # None that the very lines may be of too.
    also = SimpleNamespace(face=faces[2], rows=rows)
    elsewhere = SimpleNamespace(face=faces[3], rows=~rows)
    found = by_face._others_of(own, [own, also, elsewhere], faces)
    assert [each.number for each in found] == [1, 3, 4, 5, 6, 7, 8, 9]


def test_without_a_book_nothing_is_said():
    matter = proof()
    found = by_face.by_face(matter, (), every(matter, 0) > 0)
    assert (found.strange == by_face.NEVER).all()
    assert (found.others, found.known) == ((), ())
    assert len(found.strange) == len(found.like) == len(matter.fount.text)


def by_the_book(monkeypatch, places, *, sure=True, odd=(), scale=1.0, count=8):
    """What the book says of the e's of a proof, those at some places drawn as another face has it.

    The proof's own e is a block; in the other face its middle is white.
    """
    texts = ("see men even here", "we see more trees", "there are seven")
    matter = laid.__wrapped__(texts)
    es = np.flatnonzero(matter.fount.text == "e")
    strange = matter.fount.cut.ink[es[:1]][0].copy()
    inked = np.flatnonzero(strange.max(axis=0) > 0.5)
    strange[:, inked[0] + 3 : inked[-1] - 2] = 0.0
    kept = np.repeat((strange * LEVELS).round().astype(np.uint8)[None], count, axis=0)
    for at in places:
        matter.fount.cut.ink.put(int(es[at]), strange)
    own, other_face = face(1, 1.5), face(2, 1.5 * scale, text="e" * count, ink=kept)
    known = SimpleNamespace(
        face=own, fellows=matter.fount.fellows, rows=np.array([True, True, False]), sure=sure
    )
    monkeypatch.setattr(by_face, "known_faces", lambda *_: [known])
    company_ = np.zeros(len(matter.fount.text), bool)
    company_[es[list(odd)]] = True
    found = by_face.by_face(matter, [own, other_face], company_)
    others = np.delete(np.arange(len(matter.fount.text)), es)
    assert (found.strange[others] == by_face.NEVER).all()
    return found, es, matter


def test_a_letter_that_lies_with_another_face_s_is_of_that(monkeypatch):
    found, es, matter = by_the_book(monkeypatch, [3])
    assert [each.number for each in found.known] == [1]
    assert found.strange[es[3]] > by_face.EVEN
    assert found.like[es[3]] == 1
    # The comparer finds it nearer the other's e than the proof's own; of the rest none is asked.
    assert found.nearer[es[3]] > 1
    assert np.flatnonzero(found.nearer).tolist() == [es[3]]
    rows = matter.fount.line[es]
    # Its fellows lie with their own; of lines that are of no face of the book nothing is said.
    assert (found.strange[es[(rows < 2) & (np.arange(len(es)) != 3)]] < 0).all()
    assert (found.strange[es[rows == 2]] == by_face.NEVER).all()
    # Two of one word are a word of another face.
    word = matter.word[es]
    twins_ = [int(k) for k in np.flatnonzero(word == word[0])]
    assert len(twins_) == 2
    found, es, _ = by_the_book(monkeypatch, twins_)
    assert (found.strange[es[twins_]] == by_face.NEVER).all()
    # Nor is one among odd ones told, nor anything of a proof that may be in the face only.
    found, es, _ = by_the_book(monkeypatch, [3], odd=[3])
    assert found.strange[es[3]] == by_face.NEVER
    found, es, _ = by_the_book(monkeypatch, [3], sure=False)
    assert (found.strange == by_face.NEVER).all()
    assert found.others == ()
    # Six letters of a kind the book must have.
    assert by_the_book(monkeypatch, [3], count=6)[0].strange[es[3]] > 0
    assert by_the_book(monkeypatch, [3], count=5)[0].strange[es[3]] == by_face.NEVER


# --- letters off their line -----------------------------------------------------------------------

TEXT = ("we saw seven men row over", "and some were near a cove", "so we ran on over sea now",
        "no man saw seven seas", "we were over new ones")  # fmt: skip


def off_line(texts, moves, *, laid_low=None, odd=()):
    """Letters told as off their line, whose boxes are moved by (head, foot), by line and place."""
    number_at = laid(texts).number_at
    matter = proof(texts, unlike={number_at(*at): 0.05 for at in laid_low or {}})
    boxes = {}
    for (row, at), (head, foot) in moves.items():
        number = matter.number_at(row, at)
        box = matter.letter(number).box
        boxes[number] = box._replace(y=box.y + head, height=box.height - head + foot)
    moved = matter.fount.moved.copy()
    for (row, at), low in (laid_low or {}).items():
        moved[matter.number_at(row, at), 1] = low * X_HEIGHT
    matter = with_boxes(replace(matter, fount=replace(matter.fount, moved=moved)), boxes)
    among = {matter.number_at(*at): True for at in odd}
    found = offline.off_line_letters(judged(matter, among_odd=among))
    return [(each.line, each.letters.start, each.words, each.only_query) for each in found]


def test_a_letter_whose_head_and_foot_stand_high_is_off_its_line():
    assert off_line(TEXT, {}) == []
    high = (1, 3, "off its line: s stands high", False)
    assert off_line(TEXT, {(0, 3): (-5, -5)}) == [high]
    assert off_line(TEXT, {(0, 3): (5, 5)}) == [(1, 3, "off its line: s stands low", False)]
    # 0.14 of the x-height of 20 px.
    assert off_line(TEXT, {(0, 3): (-2, -2)}) == []
    # A letter of another size is none: its head and foot are not out alike.
    assert off_line(TEXT, {(0, 3): (-5, 0)}) == []
    assert off_line(TEXT, {(0, 3): (0, -5)}) == []
    # Nor are two together, which are the word or the scan; two apart are.
    assert off_line(TEXT, {(0, 3): (-5, -5), (0, 4): (-5, -5)}) == []
    assert len(off_line(TEXT, {(0, 3): (-5, -5), (0, 9): (-5, -5)})) == 2
    assert len(off_line(TEXT, {(0, 3): (-5, -5), (0, 4): (5, 5)})) == 2
    both = {(0, 3): (-5, -5), (0, 4): (-5, -5), (2, 10): (-5, -5)}
    assert [each[:2] for each in off_line(TEXT, both)] == [(3, 10)]


def test_laying_says_how_high_a_letter_stands_where_its_own_ink_bears_it_out():
    assert off_line(TEXT, {(0, 3): (-5, -5)}, laid_low={(0, 3): -0.25}) != []
    assert off_line(TEXT, {}, laid_low={(0, 3): -0.25}) == []
    # Four tenths of it must show at its head or foot.
    assert off_line(TEXT, {(0, 3): (-1, -3)}, laid_low={(0, 3): -0.3}) != []
    assert off_line(TEXT, {(0, 3): (-1, -2)}, laid_low={(0, 3): -0.3}) == []
    # One of another size has its head out, and its foot on the line.
    assert off_line(TEXT, {(0, 3): (-5, 0)}, laid_low={(0, 3): -0.25}) == []
    assert off_line(TEXT, {(0, 3): (-5, -2)}, laid_low={(0, 3): -0.25}) != []


def test_a_letter_without_fellows_stands_where_those_beside_it_do():
    """Laid on fellows of another style it may lie high, and stand on its line all the same."""
    few = (*TEXT[:4], "we lie over new ones", "we like one kind more")
    for text in "li":
        at = 3 if text == "l" else 4
        assert off_line(few, {}, laid_low={(4, at): -0.25}) == [], text
        assert off_line(few, {(4, at): (-3, -1)}, laid_low={(4, at): -0.25}) == [], text
        moved = off_line(few, {(4, at): (-5, -5)}, laid_low={(4, at): -0.25})
        assert moved == [(5, at, f"off its line: {text} stands high", False)]


def test_a_letter_that_hangs_under_the_line_among_others_of_its_style_is_not_low():
    often = tuple(f"of {text} of" for text in TEXT)
    spot = (0, often[0].index("f"))

    def found(head, foot, *odd):
        return off_line(often, {spot: (head, foot)}, laid_low={spot: 0.3}, odd=odd)

    assert found(0, 14, spot) == []
    assert found(6, 6, spot) != []
    assert found(3, 14, spot) != []
    # Alone in a line it is of another fount at least.
    assert found(0, 14) != []
    # Where half of them hang none is the measure of another, but for one that hangs no lower.
    half = {(row, at): (0, 14) for row, text in enumerate(often) for at in (1, len(text) - 1)}
    half = dict(list(half.items())[1:6])
    assert off_line(often, {**half, spot: (0, 14)}, laid_low={spot: 0.3}) == []
    assert off_line(often, {**half, spot: (4, 4)}, laid_low={spot: 0.3}) != []


def test_capitals_of_a_head_are_held_to_one_another():
    head = (*TEXT, "SAW OVER MEN")
    assert off_line(head, {(5, 1): (-5, -5)}) == [(6, 1, "off its line: A stands high", False)]
    assert off_line(head, {(5, 1): (-5, 0)}) == []
    # Four there must be.
    assert off_line((*TEXT, "SAW"), {(5, 1): (-5, -5)}) == []
    assert off_line((*TEXT, "SAWN"), {(5, 1): (-5, -5)}) != []
    # Small capitals among large ones stand on one line all the same.
    low = {(5, 1): (5, 5), (5, 2): (6, 0)}
    assert off_line(head, low) == []


def test_a_capital_of_the_text_must_be_out_by_more_and_a_figure_is_asked_about():
    capitals = ("We saw Seven Men Row Over", *TEXT[1:], "No man Saw Even Now")
    for by, told in ((-3, False), (-5, True)):
        assert bool(off_line(capitals, {(0, 7): (by, by)})) is told
    figures = (*TEXT, "so we ran 12 over sea now")
    assert off_line(figures, {}, laid_low={(5, 10): -0.3}) == [
        (6, 10, "off its line: 1 stands high", True),
    ]  # fmt: skip


# --- leaning letters ------------------------------------------------------------------------------


def lean(monkeypatch, by_number, *, texts=None, **more):
    """What is told where letters lean beyond what upright ones of their kind do, by number."""
    matter = proof(texts or (*LINES, "SAW OVER"), closest={"all": 0.9})
    usual = leaning.upright_slopes()

    def slopes(_, who):
        text = matter.fount.text[who].tolist()
        return np.array([usual[t][0] + by_number.get(int(n), 0.0)
                         for t, n in zip(text, who, strict=True)])  # fmt: skip

    monkeypatch.setattr(leaning, "slopes_of", slopes)
    head = int(np.flatnonzero(matter.fount.line == 3)[0])
    found = leaning.leaning_letters(judged(matter, **more))
    assert all(leaning.LEAST_CERTAINTY <= each.certainty < 1 for each in found)
    return [(each.line, each.letters.start, each.words, each.only_query) for each in found], head


def test_a_capital_that_leans_among_upright_ones_is_asked_about(monkeypatch):
    found, head = lean(monkeypatch, {})
    assert found == []
    found, _ = lean(monkeypatch, {head: 0.25})
    assert found == [(4, 0, "wrong font: S leans", True)]
    # A little is the face's or the scan's.
    assert lean(monkeypatch, {head: 0.08})[0] == []
    # The other way no letter of italic leans.
    assert lean(monkeypatch, {head: -0.25})[0] == []
    # Where those beside it lean too, it is a change of type.
    assert lean(monkeypatch, dict.fromkeys(range(head, head + 7), 0.25))[0] == []
    assert lean(monkeypatch, dict.fromkeys(range(head, head + 3), 0.25))[0] == []
    assert lean(monkeypatch, {head: 0.25}, among_odd={head: True})[0] == []
    # A small letter of running text has fellows to tell it by.
    assert lean(monkeypatch, {2: 0.25})[0] == []


def test_from_so_much_on_that_two_in_five_agree_it_is_asked(monkeypatch):
    # The odds of leaning by that much more: two bell curves, upright and italic.
    mean, spread = leaning.upright_slopes()["S"]
    assert abs(mean) < 0.2
    wide = np.hypot(spread, leaning.PRINTED_SPREAD), np.hypot(spread, leaning.ITALIC_SPREAD)

    def odds(more):
        one, two = more / wide[0], (more - leaning.ITALIC) / wide[1]
        return (one**2 - two**2) / 2 + np.log(wide[0] / wide[1])

    found = {}
    for wanted in (5.5, 6.0, 6.4, 7.5):
        low, high = 0.0, 0.5
        for _ in range(60):
            middle = (low + high) / 2
            low, high = (middle, high) if odds(middle) < wanted else (low, middle)
        head = len("".join(LINES).replace(" ", ""))
        found[wanted] = bool(lean(monkeypatch, {head: low})[0])
    # 0.4 certain is 0.81 under even: 6.19.
    assert found == {5.5: False, 6.0: False, 6.4: True, 7.5: True}


def test_a_letter_by_itself_may_lean(monkeypatch):
    texts = (*LINES, "S OVER")
    head = len("".join(LINES).replace(" ", ""))
    assert lean(monkeypatch, {head: 0.25}, texts=texts)[0] == []
    assert lean(monkeypatch, {head + 1: 0.25}, texts=texts)[0] != []


# --- italic, bold and the reverse -----------------------------------------------------------------

ITALIC_LINES = ("we saw seven men", "row over nine seas", "and some were seen", "near seven coves")


def postures(monkeypatch, slanting, emphasis, *, slope=0.15, style="italic", heavy=None):
    """What is told where the letters of some words slant (or are heavy), the copy asking so."""
    copy = " ".join(ITALIC_LINES)
    matter = proof(ITALIC_LINES * 2, f"{copy} {copy}")
    spans = [Span(copy.index(word), copy.index(word) + len(word)) for word in emphasis]
    text = replace(matter.copy, emphasis=tuple(Emphasis(span, style) for span in spans))
    matter = replace(matter, copy=text)
    measured = np.zeros(len(matter.fount.text))
    for word, row in slanting:
        at = ITALIC_LINES[row].index(word)
        for k in range(len(word)):
            measured[matter.number_at(row, at + k)] = slope
    monkeypatch.setattr(posture, "slopes_of", lambda *_: measured)
    found = posture.wrong_postures(judged(matter))
    return [(each.line, each.proof_text, each.words, each.sign) for each in found]


def test_words_are_set_in_the_posture_that_the_copy_asks_for(monkeypatch):
    assert postures(monkeypatch, [("seven", 0)], ["seven"]) == []
    assert postures(monkeypatch, [], ["seven"]) == [
        (1, "seven", "set “seven” in italic", "italic"),
    ]  # fmt: skip
    assert postures(monkeypatch, [("seven", 0), ("seen", 2)], ["seven"]) == [
        (3, "seen", "set “seen” in roman", "roman"),
    ]  # fmt: skip
    # Plain copy says nothing of either.
    assert postures(monkeypatch, [("seen", 2)], []) == []


def test_a_word_of_four_letters_is_judged_and_only_where_it_is_plain(monkeypatch):
    assert postures(monkeypatch, [("seen", 2)], ["seven"], slope=0.076)[-1][1] == "seen"
    assert [each[1] for each in postures(monkeypatch, [("seen", 2)], ["seven"], slope=0.074)] == [
        "seven"
    ]
    assert [each[1] for each in postures(monkeypatch, [("men", 0)], ["seven"])] == ["seven"]
    # Between the two nothing is said of a word that should be italic.
    for slope, told in ((0.034, True), (0.036, False)):
        assert bool(postures(monkeypatch, [("seven", 0)], ["seven"], slope=slope)) is told


def test_ink_over_the_usual_of_its_letters_and_its_line_is_weight():
    matter = proof(ITALIC_LINES * 2)
    plain = np.ones(len(matter.fount.text), bool)
    found = posture.weights(matter, plain)
    known = np.isfinite(found)
    # Blocks all alike: of the usual weight, where there are four of a kind.
    assert found[known] == pytest.approx(1.0, abs=0.02)
    counts = {c: matter.fount.text.tolist().count(c) for c in set(matter.fount.text.tolist())}
    for at, char in enumerate(matter.fount.text.tolist()):
        assert known[at] == (counts[char] >= 4)
    few = plain.copy()
    few[np.flatnonzero(matter.fount.text == "e")[3:]] = False
    assert not np.isfinite(posture.weights(matter, few)[matter.fount.text == "e"]).any()


def test_bold_is_told_by_its_ink(monkeypatch):
    copy = " ".join(ITALIC_LINES)
    matter = proof(ITALIC_LINES * 2, f"{copy} {copy}")
    at = copy.index("seven")
    text = replace(matter.copy, emphasis=(Emphasis(Span(at, at + 5), "bold"),))
    matter = replace(matter, copy=text)
    for ink, told in (
        ({"seven": 1.5}, []), ({"seven": 1.25}, []), ({"seven": 1.19}, ["bold"]),
        ({"seven": 1.5, "over": 1.37}, ["light face"]), ({"seven": 1.5, "over": 1.35}, []),
    ):  # fmt: skip
        weights = np.ones(len(matter.fount.text))
        for word, much in ink.items():
            row = next(k for k, line in enumerate(ITALIC_LINES) if word in line)
            start = ITALIC_LINES[row].index(word)
            for k in range(len(word)):
                weights[matter.number_at(row, start + k)] = much
        style = replace(posture._BOLD, look=lambda *_, weights=weights: weights)
        monkeypatch.setattr(posture, "_BOLD", style)
        found = posture.wrong_postures(judged(matter))
        assert [each.words.rpartition(" in ")[2] for each in found] == told


# --- lines in another face ------------------------------------------------------------------------


def faces_of_lines(odd, *, slope=0.0, monkeypatch=None):
    """What is told of eight lines of one paragraph that stand out from their kinds so far."""
    texts = tuple(LINES[k % 3] for k in range(8))
    matter = proof(texts)
    oddness = np.zeros(len(matter.fount.text), np.float32)
    for row, much in odd.items():
        oddness[matter.fount.line == row] = much
    matter.__dict__["oddness"] = oddness
    monkeypatch.setattr(miscast, "slopes_of", lambda _, who: np.full(len(who), slope))
    found = miscast.miscast_lines(judged(matter))
    return [(each.line, each.words) for each in found]


def test_a_line_that_stands_out_from_its_kinds_is_of_another_face(monkeypatch):
    told = [(4, "the line is of another face than its fellows")]
    assert faces_of_lines({3: 2.6}, monkeypatch=monkeypatch) == told
    assert faces_of_lines({3: 1.9}, monkeypatch=monkeypatch) == []
    # Not where it leans, which plain copy says nothing of.
    assert faces_of_lines({3: 2.6}, slope=0.08, monkeypatch=monkeypatch) == []
    assert faces_of_lines({3: 2.6}, slope=0.07, monkeypatch=monkeypatch) == told
    # Nor where another line near it stands out too; one six lines off is near, one farther not.
    assert faces_of_lines({3: 2.6, 5: 1.1}, monkeypatch=monkeypatch) == []
    assert faces_of_lines({3: 2.6, 5: 0.9}, monkeypatch=monkeypatch) == told
    assert faces_of_lines({0: 2.6, 6: 1.1}, monkeypatch=monkeypatch) == []
    assert len(faces_of_lines({0: 2.6, 7: 1.1}, monkeypatch=monkeypatch)) == 1


# --- twins ----------------------------------------------------------------------------------------


def test_twins_are_lines_of_other_tickets_that_hold_the_same_copy_but_for_figures():
    texts = ["Admit one", "No. 12", "Admit one", "No. 13", "Admit one", "Other"]
    tickets = [1, 1, 2, 2, 0, 3]
    copy, placed, at = "", [], 0
    for text in texts:
        placed.append(Span(at, at + len(text)))
        copy += text + "\n"
        at += len(text) + 1
    lines = [SimpleNamespace(ticket=ticket, sheet=0) for ticket in tickets]
    matter = SimpleNamespace(lines=lines, placed=placed, copy=SimpleNamespace(text=copy))
    assert twins.twins_of(matter) == {0: (2,), 2: (0,), 1: (3,), 3: (1,)}
    # Twice on one ticket, none can say which is whose; on two sheets tickets are others.
    lines[5].ticket = 1
    matter.placed[5] = placed[0]
    assert twins.twins_of(matter) == {1: (3,), 3: (1,)}
    lines[5].sheet, lines[5].ticket = 1, 1
    assert twins.twins_of(matter)[0] == (2, 5)
    matter.placed[2] = None
    assert twins.twins_of(matter)[0] == (5,)
