"""How likely letters are no sound ones, rule by rule: the measures are given, not taken.

Letters stand by number (`evenly_laid`); how unlike its fellows one is, how far it leans, what a
network says of it is put in, so that each can stand right at a bound.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from types import SimpleNamespace

import numpy as np
import pytest
from evenly_laid import line_of, matter_laid

from proofcheck.metal import (
    by_face,
    by_line,
    company,
    in_line,
    rare,
    unsound,
)
from proofcheck.metal.comparing import Odds

LINES = ("we saw men row over sea", "and some were near a cove", "so we ran on over sea now")


@cache
def laid(texts=LINES, copy=""):
    """Matter of lines of blocks."""
    rows = [line_of(text, n) for n, text in enumerate(texts, 1)]
    return matter_laid(rows, copy or " ".join(texts), ink=())


def proof(texts=LINES, copy="", **measures):
    """The same with measures of letters put in by number; `all` for those not named."""
    matter = laid(texts, copy)
    usual = {"unlike": 0.05, "lost": 0.0, "added": 0.0, "closest": 0.05, "oddness": 0.0}
    few = ~np.isfinite(matter.fount.unlike)
    own, more = {}, {}
    for name, value in usual.items():
        held = dict(measures.get(name, {}))
        array = np.full(len(few), held.pop("all", value), np.float32)
        if name in ("unlike", "closest"):
            array[few] = np.nan
        for at, each in held.items():
            array[at] = each
        (more if name == "oddness" else own)[name] = array
    made = replace(matter, fount=replace(matter.fount, **own))
    made.__dict__.update(more)
    return made


def every(matter, value, **at):
    """An array of one value for each letter, but for those given by number."""
    out = np.full(len(matter.fount.text), float(value), np.float32)
    for name, each in at.items():
        out[int(name[1:])] = each
    return out


def silent(matter, **at):
    """The comparer says of every letter that it is sound, but for those given."""
    return Odds(every(matter, -20.0, **at), every(matter, -20.0))


# --- how likely a letter is no sound one ----------------------------------------------------------


def test_three_measures_are_weighed_each_within_its_bounds():
    one, two, three = unsound.WEIGHTS

    def odds(strange=-3.0, odd=0.5, unlike=0.08):
        matter = proof(oddness={0: odd}, unlike={0: unlike})
        return float(unsound.odds_unsound(matter, silent(matter, _0=strange))[0])

    first = odds()
    wanted = -3.0 * one + 0.5 * two + np.log(0.1) * three + unsound.CONSTANT
    assert first == pytest.approx(wanted, abs=1e-3)
    assert odds(strange=-2.0) - first == pytest.approx(one, abs=1e-3)
    assert odds(odd=1.5) - first == pytest.approx(two, abs=1e-3)
    assert odds(unlike=0.18) - first == pytest.approx(three * np.log(2), abs=1e-3)
    # Past its bounds a measure counts for no more.
    assert odds(strange=25.0) == odds(strange=20.0) > odds(strange=19.0)
    assert odds(strange=-12.0) == pytest.approx(odds(strange=-10.0), abs=1e-4)
    assert odds(strange=-10.0) < odds(strange=-9.0) - 0.4
    assert odds(odd=7.0) == odds(odd=6.0) > odds(odd=5.9)
    assert odds(odd=-3.0) == odds(odd=-2.0) < odds(odd=-1.9)
    # One that has no fellows counts as no whit unlike.
    assert odds(unlike=np.nan) == pytest.approx(odds(unlike=0.0))
    # Strange or broken, either makes it unsound.
    matter = proof()
    both = Odds(every(matter, 0.0), every(matter, 0.0))
    assert unsound.measures(matter, both)[0, 0] == pytest.approx(np.log(2), abs=1e-6)


def test_capitals_figures_and_letters_of_heads_must_show_more():
    texts = (*LINES, "WE SAW MEN")
    alike = dict.fromkeys(range(len("".join(texts).replace(" ", ""))), 0.05)
    matter = proof(texts, unlike=alike)
    found = unsound.odds_unsound(matter, silent(matter))
    small = np.array([t.islower() for t in matter.fount.text.tolist()])
    assert found[small] == pytest.approx(found[0])
    assert found[~small] == pytest.approx(found[0] - unsound.RARE)


def test_only_what_the_comparer_can_make_unsound_is_compared():
    # Without the comparer 0.971 a spread, 1.777 a doubling: from so much on it is asked.
    matter = proof(oddness={0: 0.0, 1: 3.0}, unlike={0: 0.05, 1: 0.05, 2: 0.4})
    asked = unsound.worth_comparing(matter)
    by_hand = unsound._log_odds(
        np.stack([np.zeros(3), [0.0, 3.0, 0.0], np.log([0.07, 0.07, 0.42])], axis=1)
    )
    assert asked[:3].tolist() == (by_hand > -2.0).tolist() == [False, True, True]


def judged_unsound(**measures):
    """What is found of the third letter, all others sound."""
    matter = proof(**measures)
    odds = silent(matter, _2=15.0)
    return float(unsound.unsound(matter, odds, company.among_odd(matter, odds))[2])


def test_a_letter_is_unsound_only_where_it_can_be_judged_and_an_eye_sees_it():
    # “s” of “saw”, the third letter: plainly strange, and unlike its fellows.
    seen = {"oddness": {2: 2.0}, "unlike": {2: 0.2}}
    found = judged_unsound(**seen)
    assert found > unsound.EVEN
    # In a worn face nobody sees what is no more unlike than 0.13; on a clean sheet sooner.
    assert judged_unsound(oddness={2: 2.0}, unlike={2: 0.14}) > unsound.EVEN
    worn = {"all": 0.12}
    assert judged_unsound(oddness={2: 2.0}, unlike={**worn, 2: 0.13}) == unsound.NEVER
    assert judged_unsound(oddness={2: 2.0}, unlike={**worn, 2: 0.131}) > unsound.NEVER
    clean = {"all": 0.03}
    assert judged_unsound(oddness={2: 2.0}, unlike={**clean, 2: 0.095}) > unsound.NEVER
    assert judged_unsound(oddness={2: 2.0}, unlike={**clean, 2: 0.085}) == unsound.NEVER
    # What is no whit unlike says nothing of what is usual.
    assert laid().fount.text[[2, 15]].tolist() == ["s", "s"]
    alike = {"all": 0.0, 2: 0.1, 15: 0.12}
    assert judged_unsound(oddness={2: 2.0}, unlike=alike) == unsound.NEVER
    # Of a sound letter nothing is said.
    assert judged_unsound() == unsound.NEVER


def test_what_wants_ink_is_broken_and_what_has_too_much_of_another_face():
    matter = proof(
        lost={0: 0.03, 1: 0.029, 2: 0.03, 3: 0.1, 4: 0.019, 5: 0.05, 6: 0.05},
        added={2: 0.004, 3: 0.009, 5: 0.02, 6: 0.02},
    )
    odds = Odds(every(matter, 0.0, _1=5.0, _2=5.0, _3=5.0, _6=-2.0), every(matter, 0.0))
    rather = unsound.rather_broken(matter.fount, odds)
    # 0.03 wanting is enough whatever the comparer says, where ten times what is over is less.
    assert rather[:4].tolist() == [True, False, False, True]
    # Less than 0.02 is none, and otherwise the comparer's odds, 44 a share lost, -39 one over.
    assert not rather[4]
    assert bool(rather[5]) is (44 * 0.05 - 39 * 0.02 > 0)
    assert bool(rather[6]) is (2 + 44 * 0.05 - 39 * 0.02 > 0)
    loss = dict.fromkeys(range(3), 0.025)
    matter = proof(lost=loss)
    for least, is_broken in ((-1.0, True), (-1.2, False)):
        odds = Odds(every(matter, 0.0), every(matter, least))
        assert bool(unsound.rather_broken(matter.fount, odds)[0]) is is_broken


def test_what_a_letter_should_be_it_may_be_broken_only_where_ink_is_wanting(monkeypatch):
    asked = []

    def odds(lost, added, *, strange=-3.0, broken_=1.0, unlike=0.18):
        laid_so = SimpleNamespace(
            lost=np.array([lost]), added=np.array([added]), unlike=np.array([unlike], np.float32)
        )

        def lay(_, who, fellows):
            asked.append((who.tolist(), fellows))
            return laid_so

        monkeypatch.setattr(unsound, "lay_on", lay)
        monkeypatch.setattr(unsound, "compare_as", lambda *_: (strange, broken_))
        matter = proof()
        return unsound.broken_as(matter, "e", matter.fount.cut, 2), matter

    found, matter = odds(0.12, 0.0)
    compared = np.logaddexp(-3.0, 1.0)
    odd = float(matter.odd_as("e", np.array([0.18], np.float32))[0])
    one, two, three = unsound.WEIGHTS
    odd = min(max(odd, -2.0), 6.0)
    wanted = one * compared + two * odd + three * np.log(0.2) + unsound.CONSTANT
    assert found == pytest.approx(wanted, abs=1e-3)
    assert asked[0] == ([2], matter.fount.fellows["e"])
    # Plainly lost, or by the comparer and the ink together; never with ink of another's.
    assert odds(0.0, 0.0, strange=0.0, broken_=-5.0)[0] == unsound.NEVER
    assert odds(0.12, 0.0, strange=5.0, broken_=-5.0)[0] > unsound.NEVER
    assert odds(0.02, 0.0, strange=5.0, broken_=-5.0)[0] == unsound.NEVER
    assert odds(0.02, 0.0, strange=-3.0, broken_=1.0)[0] > unsound.NEVER
    assert odds(0.2, 0.05)[0] > unsound.NEVER
    assert odds(0.2, 0.051)[0] == unsound.NEVER


def test_an_i_without_its_dot_is_broken_of_whatever_face():
    texts = ("nine mini men in it", "i see nine pins", "it is in india")
    matter = laid.__wrapped__(texts)
    eyes = np.flatnonzero(matter.fount.text == "i")
    count = len(matter.fount.text)
    fellows = matter.fount.fellows["i"]
    stem = matter.fount.cut.ink[eyes[:1]][0].copy()
    inked = np.flatnonzero(stem.max(axis=1) > 0.5)
    dotted = stem.copy()
    dotted[inked[0] - 8 : inked[0] - 4] = stem[inked[0] + 2]
    for number in eyes[1:].tolist():
        matter.fount.cut.ink.put(number, dotted)
    mould = fellows.mould.copy()
    mould[inked[0] - 8 : inked[0] - 4] = mould[inked[0] + 2]
    fount = replace(
        matter.fount, fellows={**matter.fount.fellows, "i": replace(fellows, mould=mould)},
        lost=np.full(count, 0.02, np.float32), added=np.full(count, 0.5, np.float32),
        shift=np.zeros((count, 2), np.intp),
    )  # fmt: skip
    sound = Odds(np.full(count, 9.0), np.full(count, -9.0))
    assert np.flatnonzero(unsound.rather_broken(fount, sound)).tolist() == [eyes[0]]
    less = replace(fount, lost=np.full(count, 0.019, np.float32))
    assert not unsound.rather_broken(less, sound).any()


# --- by its line ----------------------------------------------------------------------------------


def said(matter, own=-5.0, *, other=None, broken_=None, many=True):
    """What comes of the fellows' word and the line's: letter 2 alone is said anything of."""
    quiet = every(matter, -9.0)
    line = by_line.ByLine(
        every(matter, -9.0, _2=-9.0 if other is None else other),
        every(matter, -9.0, _2=-9.0 if broken_ is None else broken_),
    )
    if many:
        matter = replace(matter, fount=replace(matter.fount, unlike=matter.fount.unlike.copy()))
        matter.fount.unlike[20:40] = 0.3
        matter.__dict__["oddness"] = quiet
    return in_line.in_line(matter, every(matter, own), line)


def test_what_fellows_and_line_say_is_weighed_where_there_are_several_faces():
    matter = proof()
    w_own, w_line, first = in_line.OTHER
    found = said(matter, 2.0, other=4.0)
    wanted = w_own * 2.0 + w_line * 4.0 + first
    assert found.unsound[2] == pytest.approx(unsound.EVEN + wanted, abs=1e-4)
    assert found.asked.all()
    assert not found.broken[2]
    w_own, w_line, first = in_line.BROKEN
    found = said(matter, 2.0, broken_=4.0)
    assert found.unsound[2] == pytest.approx(
        unsound.EVEN + w_own * 2.0 + w_line * 4.0 + first, abs=1e-4
    )
    assert found.broken[2]
    # Neither counts for more than its bound.
    assert said(matter, 99.0, other=99.0).unsound[2] == said(matter, 8.0, other=9.0).unsound[2]
    assert said(matter, 8.0, other=9.0).unsound[2] > said(matter, 7.9, other=9.0).unsound[2]
    assert said(matter, 8.0, other=9.0).unsound[2] > said(matter, 8.0, other=8.9).unsound[2]


def test_a_letter_without_fellows_has_the_line_s_word_alone():
    matter = proof(unlike={2: np.nan})
    found = said(matter, 7.0, other=4.0)
    assert found.unsound[2] == pytest.approx(unsound.EVEN + 4.0 - in_line.OTHER_ALONE, abs=1e-4)
    found = said(matter, 7.0, broken_=4.0)
    assert found.unsound[2] == pytest.approx(unsound.EVEN + 4.0 - in_line.BROKEN_ALONE, abs=1e-4)


def test_in_a_proof_of_one_face_small_letters_of_the_text_are_their_fellows_business():
    matter = proof((*LINES, "SAW NO 12 MEN"))
    first = np.flatnonzero(np.diff(matter.word, prepend=-1)).tolist()
    line = by_line.ByLine(every(matter, -9.0, **{f"_{n}": 6.0 for n in first}), every(matter, -9.0))
    found = in_line.in_line(matter, every(matter, 2.0), line)
    text = matter.fount.text.tolist()
    small = np.array([t.islower() for t in text])
    assert not found.asked[small].any()
    assert found.asked[~small].all()
    w_own, w_line, constant = in_line.OTHER
    plain = unsound.EVEN + w_own * 2.0 + w_line * 6.0 + constant
    fellows = np.isfinite(matter.fount.unlike)
    for at, char in enumerate(text):
        if char.islower():
            assert found.unsound[at] == in_line.NEVER
        elif at in first:
            base = plain if fellows[at] else unsound.EVEN + 6.0 - in_line.OTHER_ALONE
            less = in_line.IN_ONE_FACE + in_line.OF_A_FIGURE * char.isdigit()
            assert found.unsound[at] == pytest.approx(base - less, abs=1e-4), char


def test_a_capital_among_small_letters_must_show_more_and_one_alone_is_any_face():
    matter = proof(("We saw men row over sea", *LINES[1:], "a I we saw men row"))
    first = np.flatnonzero(np.diff(matter.word, prepend=-1)).tolist()
    line = by_line.ByLine(every(matter, -9.0, **{f"_{n}": 6.0 for n in first}), every(matter, -9.0))
    many = replace(matter, fount=replace(matter.fount, unlike=matter.fount.unlike.copy()))
    many.fount.unlike[20:40] = 0.3
    found = in_line.in_line(many, every(matter, 2.0), line)
    text = matter.fount.text.tolist()
    capital, lone = text.index("W"), text.index("I")
    plain = unsound.EVEN + 6.0 - in_line.OTHER_ALONE
    assert not np.isfinite(matter.fount.unlike[capital])
    assert found.unsound[capital] == pytest.approx(plain - in_line.CAPITAL_AMONG_SMALL, abs=1e-4)
    assert found.unsound[lone] == in_line.NEVER
    assert found.unsound[lone - 1] == in_line.NEVER


def test_a_word_of_which_most_letters_are_of_another_fount_is_in_another_face():
    """The figures of a table's last column are often blacker: common practice."""
    matter = proof((*LINES, "so we ran 12 over"))
    first = matter.fount.text.tolist().index("1")

    def told(one, two):
        line = by_line.ByLine(
            every(matter, -9.0, **{f"_{first}": one, f"_{first + 1}": two}), every(matter, -9.0)
        )
        many = replace(matter, fount=replace(matter.fount, unlike=matter.fount.unlike.copy()))
        many.fount.unlike[20:40] = 0.3
        found = in_line.in_line(many, every(matter, -5.0), line).unsound
        return [n - first for n in np.flatnonzero(found > unsound.EVEN).tolist()]

    assert told(8.0, -2.0) == [0]
    assert told(-2.0, 8.0) == [1]
    assert told(8.0, 0.5) == told(8.0, 8.0) == []
    # One of three others may be as odd.
    matter = proof((*LINES, "so we ran 1234 over"))
    assert told(8.0, 8.0) == [0, 1]


def test_of_a_long_proof_heads_are_asked_and_no_letter_is_broken():
    long = tuple(LINES[k % 3] for k in range(48))
    matter = proof((*long, "SAW OVER MEN"))
    assert len(matter.fount.text) > in_line.FEW_LETTERS
    assert in_line.rows_asked(matter) == [48]
    line = by_line.ByLine(every(matter, -9.0), every(matter, 9.0))
    found = in_line.in_line(matter, every(matter, 5.0), line)
    assert not found.broken.any()
    short = proof()
    assert in_line.rows_asked(short) == [0, 1, 2]


def test_a_line_is_seen_in_windows_and_the_word_holds_of_the_one_it_is_midmost_in(monkeypatch):
    shown = []

    def run(_, given):
        count = given["there"].sum(axis=1).astype(int)
        shown.extend(count.tolist())
        places = np.arange(given["ink"].shape[1], dtype=np.float32)
        scores = np.zeros((*given["there"].shape, 3), np.float32)
        scores[:, :, 1], scores[:, :, 2] = places, -places
        scores[:, :, 0] = 1.0
        assert (given["kind"][given["there"] == 0] == len(by_line.KINDS)).all()
        assert not given["ink"][given["there"] == 0].any()
        return [scores]

    monkeypatch.setattr(by_line, "open_type_network", lambda _: SimpleNamespace(run=run))
    long = "we saw men row over sea and some were near a cove so we ran"
    matter = proof((long, "now we see", "sea"))
    found = by_line.by_line(matter, [0, 1, 2])
    count = int((matter.fount.line == 0).sum())
    windows = [(k, min(k + 24, count)) for k in range(0, count - 12, 12)]
    windows[-1] = (max(windows[-1][1] - 24, 0), windows[-1][1])
    # Three letters of a line say nothing of one another, four do.
    assert shown == [end - start for start, end in windows] + [8]
    for at in range(count):
        of = [(abs(2 * (at - a) - (b - a) + 1), k) for k, (a, b) in enumerate(windows)
              if a <= at < b]  # fmt: skip
        start = windows[min(of)[1]][0]
        assert found.other[at] == at - start - 1.0, at
        assert found.broken[at] == start - at - 1.0, at
    assert found.other[-3:].tolist() == [by_line.NOT_ASKED] * 3
    assert by_line.by_line(matter, [2]).other.tolist() == [by_line.NOT_ASKED] * len(found.other)


# --- letters by themselves ------------------------------------------------------------------------


def with_boxes(matter, boxes):
    """The matter with the boxes of some letters changed, by number."""
    readings = list(matter.readings)
    for number, box in boxes.items():
        row, at = int(matter.fount.line[number]), int(matter.fount.at[number])
        letters = list(readings[row].letters)
        letters[at] = replace(letters[at], box=box)
        readings[row] = replace(readings[row], letters=tuple(letters))
    return replace(matter, readings=tuple(readings))


def test_a_letter_over_the_next_by_a_tenth_of_its_width_overhangs_and_so_does_that():
    matter = proof()
    box = matter.letter(2).box
    # The next letter begins 18 px on.
    for wide, over in ((20, False), (21, True)):
        held = with_boxes(matter, {2: box._replace(width=wide)})
        assert np.flatnonzero(rare.overhanging(held)).tolist() == ([2, 3] if over else [])
    # Over the first letter of the next word, never.
    last = matter.letter(4).box
    assert not rare.overhanging(with_boxes(matter, {4: last._replace(width=60)})).any()


def rare_told(monkeypatch, odds, *, sure=0.9, text="Saw"):
    """Letters of a line in capitals that may be broken, each with the odds the comparer gives."""
    asked = []

    def alone(_, who, letters, __):
        asked.extend(zip(who.tolist(), letters, strict=True))
        return Odds(np.zeros(len(who)), np.full(len(who), odds))

    monkeypatch.setattr(rare, "compare_alone", alone)
    matter = proof((*LINES, f"{text} we saw men row"), closest={60: np.nan})
    readings = list(matter.readings)
    readings[3] = replace(
        readings[3], letters=tuple(replace(one, certainty=sure) for one in readings[3].letters)
    )
    matter = replace(matter, readings=tuple(readings))
    first = int(np.flatnonzero(matter.fount.line == 3)[0])
    told = rare.rare_letters(matter)
    return [(number - first, letter, odds) for number, letter, odds in told], asked


def test_a_letter_without_its_like_is_looked_at_by_itself(monkeypatch):
    told, asked = rare_told(monkeypatch, 4.0)
    assert [each[1] for each in asked] == ["S"]
    # On the scale of the others: what is as likely as not by itself is so there.
    assert told == [(0, "S", pytest.approx(4.0 - rare.EVEN_ALONE + unsound.EVEN))]
    assert rare_told(monkeypatch, rare.EVEN_ALONE)[0][0][2] == unsound.NEVER
    # Not what was read for certain, nor a ring, nor a point.
    assert rare_told(monkeypatch, 4.0, sure=0.999)[0] == []
    assert len(rare_told(monkeypatch, 4.0, sure=0.998)[0]) == 1
    for text in ("0we", "Owe", "-we"):
        assert rare_told(monkeypatch, 4.0, text=text)[0] == []


def judged(matter, **more):
    """A proof as judged: every letter sound unless said."""
    held = {
        "unsound": np.full(len(matter.fount.text), unsound.NEVER),
        "broken": np.zeros(len(matter.fount.text), bool),
        "own_odds": np.full(len(matter.fount.text), -5.0),
        "among_odd": np.zeros(len(matter.fount.text), bool),
        "by_line": np.zeros(len(matter.fount.text), bool),
        "face": by_face.ByFace.silent(len(matter.fount.text)),
    }
    for name, value in more.items():
        if isinstance(value, dict):
            for at, each in value.items():
                held[name][at] = each
        else:
            held[name] = value
    return SimpleNamespace(matter=matter, **held)
