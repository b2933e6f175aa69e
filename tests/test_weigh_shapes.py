"""A letter laid on the page's own: drawn shapes whose likeness is known, and words set sideways.

A block of ink stands for one character, two bars for another: what lies between them is known by
how it is drawn.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from metal_cases import sheet_of
from test_weigh_rules import X, difference, dispute, row

from proofcheck.base.found import Found, Status, Unread
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Copy, Span
from proofcheck.weigh import crowns
from proofcheck.weigh.beyond import AS_THE_FIRST, SECOND_READER, Beyond
from proofcheck.weigh.end_points import is_past_end
from proofcheck.weigh.evidence import Evidence
from proofcheck.weigh.fellows import Fellows, Says
from proofcheck.weigh.own_letters import OwnLetters
from proofcheck.weigh.page_says import PageSays
from proofcheck.weigh.same_shapes import same_shapes
from proofcheck.weigh.sideways_words import MAY_BE_SIDEWAYS, claimed_by_sideways

FULL, TWO_BARS, HALF, LEFT = "full", "two bars", "half", "left"


def draw(image, box, shape, grain):
    """One letter's ink; `grain` rows of it are worn away, so that fellows are not all the same."""
    x, y, right, foot = box.x, box.y, box.right, box.bottom
    image[y:foot, x:right] = 0
    if shape == TWO_BARS:
        image[y:foot, x + 4 : right - 4] = 255
    elif shape == HALF:
        image[y:foot, x + 6 : right - 6] = 255
    elif shape == LEFT:
        image[y:foot, x + 8 : right] = 255
    image[y + 2 + grain : y + 4 + grain, x:right] = 255


def page(*letters, x=X, told=()):
    """A line of (character, shape) and what is asked of it."""
    text = "".join(char for char, _ in letters)
    line, reading = row(text, x=x)
    sheet = sheet_of(np.full((300, 3000), 255, np.uint8))
    for at, (letter, (_, shape)) in enumerate(zip(reading.letters, letters, strict=True)):
        draw(sheet.image, letter.box, shape, 3 * (at % 4))
    return Fellows([sheet], [line], [reading], told), reading


def says(shape, *, read="a", wanted="b", a=FULL, b=TWO_BARS, count=8, wanted_count=None):
    """What is said of a letter so shaped, read as one character where the copy has another."""
    wanted_count = count if wanted_count is None else wanted_count
    letters = [(read, a)] * count + [(wanted, b)] * wanted_count + [(read, shape)]
    at = len(letters) - 1
    told = difference(Kind.WRONG_LETTER, (at, at + 1), read, wanted)
    fellows, reading = page(*letters, told=[told])
    return fellows.says(1, reading.letters[-1].box, read, wanted)


@pytest.mark.parametrize(
    ("shape", "answer"), [(FULL, Says.READING), (TWO_BARS, Says.COPY), (LEFT, Says.NOTHING)]
)
def test_a_letter_is_the_one_it_is_far_nearer_to(shape, answer):
    assert says(shape) is answer


def test_characters_of_one_shape_can_not_be_told_apart():
    assert says(FULL, b=FULL) is Says.ALIKE
    assert says(TWO_BARS, a=TWO_BARS, b=TWO_BARS) is Says.ALIKE


def test_without_letters_of_the_copy_s_nothing_is_said():
    assert says(FULL, wanted_count=0) is Says.NOTHING


def test_read_as_a_sort_upside_down_it_need_only_be_as_like_as_they_usually_are():
    # No page holds any such to set by it.
    for shape, answer in ((TWO_BARS, Says.COPY), (FULL, Says.NOTHING)):
        assert says(shape, read="ɐ", wanted="b", count=0, wanted_count=8) is answer
    # The last but one of the copy's stands beside it, and is none of its fellows.
    assert says(TWO_BARS, read="ɐ", wanted="b", count=0, wanted_count=3) is Says.NOTHING


def test_without_letters_as_read_only_one_just_like_the_copy_s_is_the_copy_s():
    assert says(TWO_BARS, count=0, wanted_count=8) is Says.COPY
    assert says(FULL, count=0, wanted_count=8) is Says.NOTHING


@pytest.mark.parametrize(("count", "answer"), [(3, Says.READING), (2, Says.NOTHING)])
def test_fewer_than_three_fellows_are_no_measure(count, answer):
    assert says(FULL, count=count) is answer


def test_a_stem_is_not_said_to_be_the_one_read_where_few_of_the_other_are_of_its_size():
    # The last of them stands next to what is in dispute, and is no example.
    assert says(FULL, read="l", wanted="I", wanted_count=4) is Says.READING
    assert says(FULL, read="l", wanted="I", wanted_count=3) is not Says.READING
    # No other pair is so.
    assert says(FULL, read="a", wanted="b", wanted_count=3) is Says.READING


def test_what_is_in_dispute_is_no_example():
    letters = [("a", FULL)] * 5
    told = difference(Kind.WRONG_LETTER, (1, 2), "a", "b")
    assert len(page(*letters)[0].stock("a").patches) == 5
    # Nor what stands next to it.
    assert len(page(*letters, told=[told])[0].stock("a").patches) == 2
    # Of very many no more than some are looked at.
    assert len(page(*[("a", FULL)] * 100)[0].stock("a").patches) == 24


def undisputed(shape, read="a", other="b"):
    letters = [(read, FULL)] * 8 + [(other, TWO_BARS)] * 8 + [(read, shape)]
    fellows, reading = page(*letters)
    return fellows, reading.letters[-1].box


def test_a_letter_that_reader_and_copy_agree_on_may_be_rather_another():
    for shape, rather in ((TWO_BARS, True), (FULL, False), (LEFT, False)):
        fellows, box = undisputed(shape)
        assert fellows.is_rather(1, box, "a", "b") is rather, shape
    fellows, box = undisputed(FULL)
    assert fellows.is_usual(1, box, "a")
    fellows, box = undisputed(LEFT)
    assert not fellows.is_usual(1, box, "a")
    assert not fellows.is_rather(1, box, "a", "c")


def test_a_letter_with_one_fellow_is_held_against_that_and_one_with_none_against_nothing():
    for own, rather in ((FULL, True), (TWO_BARS, False), (None, False)):
        fellow = [("a", own)] if own else [("c", FULL)]
        # Five letters on the wear is the same again: of two alike none is plainly nearer.
        others = [("b", TWO_BARS)] * 7
        fellows, reading = page(*fellow, *others, ("a", TWO_BARS))
        assert fellows.is_rather(1, reading.letters[-1].box, "a", "b") is rather, own
        # One fellow is no measure of what is usual.
        assert not fellows.is_usual(1, reading.letters[-1].box, "a")


def test_where_a_face_has_nearly_one_shape_for_two_the_nearer_is_asked_about():
    # A column of ink less is 0.03 unlike: nearly one shape, not quite.
    alike = [("o", FULL)] * 8 + [("0", FULL)] * 8
    fellows, reading = page(*alike, ("o", FULL))
    assert fellows.look_alike("o", "0")
    assert fellows.look_alike("0", "o")
    box = reading.letters[-1].box
    assert fellows.is_nearer(1, box, "o", "0") is False
    apart, reading = page(*[("o", FULL)] * 8, *[("0", TWO_BARS)] * 8, ("o", TWO_BARS))
    assert not apart.look_alike("o", "0")
    # Plainly the other, but not one of two that are nearly one.
    assert not apart.is_nearer(1, reading.letters[-1].box, "o", "0")
    few, _ = page(*[("o", FULL)] * 8, *[("0", FULL)] * 2)
    assert not few.look_alike("o", "0")
    assert not few.look_alike("0", "o")


def test_stems_are_rather_one_another_only_where_the_face_tells_them_apart():
    for one, rather in ((FULL, True), (TWO_BARS, False)):
        letters = [("l", one)] * 8 + [("I", TWO_BARS)] * 8 + [("l", TWO_BARS)]
        fellows, reading = page(*letters)
        assert fellows.is_rather(1, reading.letters[-1].box, "l", "I") is rather


def grown(shapes, shape, *, read="a", wanted="b", proof=1, told_read=None):
    """How like the letter read a place is, the proof's own letters being (character, shape)."""
    text = "".join(char for char, _ in shapes) + " " + read
    line, reading = row(text, gaps={len(shapes): 30})
    sheet = sheet_of(np.full((300, 3000), 255, np.uint8))
    for letter, (_, drawn) in zip(
        reading.letters, [*shapes, (" ", ""), (read, shape)], strict=True
    ):
        if drawn:
            draw(sheet.image, letter.box, drawn, 0)
    at = len(text) - 1
    told = difference(
        Kind.WRONG_LETTER, (at, at + proof), read if told_read is None else told_read, wanted
    )
    asked = dispute((line, reading), told, sheet=sheet)
    return OwnLetters([sheet], [line], [reading], [told]).testify([asked])[0]


def test_a_letter_is_like_the_four_own_letters_that_are_nearest_to_it():
    four = [("a", FULL)] * 4 + [("a", TWO_BARS)] * 5
    copy = [("b", LEFT)] * 4
    assert grown(four + copy, FULL) == pytest.approx(1.0, abs=1e-4)
    assert grown(four + copy, LEFT) == pytest.approx(-1.0, abs=1e-4)
    assert 0.05 < grown(four[1:] + copy, FULL) < 0.95
    # The same of the copy's letters: three like it and one unlike are not all like it.
    other = [("b", TWO_BARS)] * 4
    assert grown([*other, *[("a", FULL)] * 4], TWO_BARS) == pytest.approx(-1.0, abs=1e-4)
    assert -0.95 < grown([*other[1:], ("b", FULL), *[("a", FULL)] * 4], TWO_BARS) < -0.05


def test_what_is_no_one_letter_for_another_the_own_letters_say_nothing_of():
    both = [("a", FULL)] * 3 + [("b", TWO_BARS)] * 3
    assert grown(both, FULL) is not None
    assert grown(both, FULL, wanted="bb") is None
    assert grown(both, FULL, wanted="") is None
    assert grown(both, FULL, wanted=" ") is None
    assert grown(both, FULL, proof=0, told_read="") is None
    # Two of each are enough, one is not; what stands beside the place in dispute is none.
    assert grown([("a", FULL)] * 2 + [("b", TWO_BARS)] * 2, FULL) is not None
    assert grown([("a", FULL)] + [("b", TWO_BARS)] * 2, FULL) is None
    assert grown([("a", FULL)] * 2 + [("b", TWO_BARS)], FULL) is None
    # Two alike in every way: it is as like the one as the other.
    assert grown([("a", FULL)] * 2 + [("b", FULL)] * 2, FULL) == pytest.approx(0.0, abs=1e-4)


def test_figures_and_letters_of_one_shape_are_named_once():
    alike = page(*[("o", FULL)] * 8, *[("0", FULL)] * 8)[0]
    assert [note.partition(" can")[0] for note in same_shapes(alike, ())] == ["o and 0"]
    assert same_shapes(alike, ("0 and o",)) == ()
    assert same_shapes(alike, ("o and 0",)) == ()
    unlike = page(*[("o", FULL)] * 8, *[("0", TWO_BARS)] * 8)[0]
    assert same_shapes(unlike, ()) == ()
    for count, named in ((2, 0), (3, 1)):
        few = page(*[("o", FULL)] * 8, *[("0", FULL)] * count)[0]
        assert len(same_shapes(few, ())) == named


def word_says(*shapes, read="aa", wanted="bb"):
    """What the page says of a word read for another, its letters so shaped."""
    letters = [("a", FULL)] * 8 + [("b", TWO_BARS)] * 8
    letters += list(zip(read, shapes, strict=True))
    at = len(letters) - len(read)
    told = difference(Kind.WRONG_WORD, (at, at + len(read)), read, wanted)
    fellows, reading = page(*letters, told=[told])
    line, sheet = fellows._lines[1], fellows._sheets[0]
    says = PageSays([sheet], [line], [reading], [told])
    return says.of(dispute((line, reading), told, sheet=sheet))


def test_a_word_is_the_copy_s_where_every_letter_is_and_the_reading_s_where_one_is():
    assert word_says(TWO_BARS, TWO_BARS) is Says.COPY
    assert word_says(FULL, FULL) is Says.READING
    assert word_says(TWO_BARS, FULL) is Says.READING
    assert word_says(FULL, TWO_BARS) is Says.READING
    assert word_says(TWO_BARS, LEFT) is Says.NOTHING
    # Letters that are as the copy has them are not asked.
    assert word_says(LEFT, TWO_BARS, wanted="ab") is Says.COPY
    assert word_says(TWO_BARS, LEFT, wanted="ba") is Says.COPY
    assert word_says(LEFT, FULL, TWO_BARS, read="aaa", wanted="aab") is Says.COPY


# --- points --------------------------------------------------------------------------------------


def point(shape, *, read=".", own=".", count=8, kind=Kind.POINT_EXTRA, wanted=""):
    """What the page says of a point read where the copy has none, beside points of its own."""
    letters = [(own, FULL), ("a", FULL)] * count + [(read, shape)]
    text = "".join(char for char, _ in letters)
    line, reading = row(text)
    sheet = sheet_of(np.full((300, 3000), 255, np.uint8))
    for at, (letter, (_, drawn)) in enumerate(zip(reading.letters, letters, strict=True)):
        draw(sheet.image, letter.box, drawn, 3 * (at // 2 % 4))
    at = len(text) - 1
    told = difference(kind, (at, at + 1), read, wanted)
    asked = dispute((line, reading), told, sheet=sheet)
    return PageSays([sheet], [line], [reading], [told]).of(asked)


def test_a_speck_unlike_the_page_s_points_or_of_far_less_ink_is_none():
    assert point(FULL) is Says.NOTHING
    # Half the ink is less than three fifths of it.
    assert point(LEFT) is Says.COPY
    assert point(TWO_BARS) is Says.COPY
    # One that the page has none of is held to its full points; of two of these nothing is known.
    assert point(LEFT, read=",") is Says.COPY
    assert point(FULL, read=",") is Says.NOTHING
    assert point(LEFT, read=",", own="a") is Says.NOTHING
    assert point(LEFT, count=2) is Says.NOTHING
    # Only where the copy has nothing, and of one point.
    assert point(LEFT, wanted=",") is not Says.COPY
    assert point(LEFT, kind=Kind.LETTER_EXTRA) is Says.NOTHING


@pytest.mark.parametrize(
    ("size", "said"), [(20.0, Says.READING), (26.0, Says.READING), (32.0, Says.NOTHING)]
)
def test_fellows_of_another_size_do_not_rule_out_what_the_copy_has(size, said):
    """A head in fat type has no fellows in the text."""
    line, reading = row("a" * 8 + "b" * 8)
    head, below = row("a")
    box = Box(100, 128 - round(size), round(0.8 * size), round(size))
    head = replace(head, number=2, x_height_px=size, box=box)
    below = replace(below, line=2, letters=(replace(below.letters[0], box=box),))
    sheets = [sheet_of(np.full((300, 3000), 255, np.uint8)) for _ in range(2)]
    for at, letter in enumerate(reading.letters):
        draw(sheets[0].image, letter.box, FULL if letter.text == "a" else TWO_BARS, 3 * (at % 4))
    draw(sheets[1].image, below.letters[0].box, FULL, 0)
    sheets[1] = replace(sheets[1], number=1)
    head = replace(head, sheet=1)
    told = replace(difference(Kind.WRONG_LETTER, (0, 1), "a", "b"), line=2)
    fellows = Fellows(sheets, [line, head], [reading, below], [told])
    assert fellows.says(2, below.letters[0].box, "a", "b") is said


def past_end(*, x=4, up=0, wide=6, high=6, usual=6, count=8, more=(), kind=Kind.POINT_MISSING,
             wanted=".", at=None, left=100):  # fmt: skip
    """Whether ink so far past the last letter is the point that is missing there."""
    letters = ".a" * count + "a"
    small = dict.fromkeys(range(0, 2 * count, 2), usual)
    line, reading = row(letters, tall=small, wide=small, left=left)
    sheet = sheet_of(np.full((300, 3000), 255, np.uint8))
    end = reading.letters[-1].box.right
    for box in (Box(end + x, 128 - up - high, wide, high), *more):
        sheet.image[box.y : box.bottom, box.x : box.right] = 0
    at = len(letters) if at is None else at
    told = difference(kind, (at, at), "", wanted)
    fellows = Fellows([sheet], [line], [reading], [told])
    return is_past_end(dispute((line, reading), told, sheet=sheet), fellows), end


def test_ink_as_large_as_a_point_just_past_the_end_of_its_line_is_one():
    assert past_end()[0]
    # Its middle no more than 0.7 of the x-height of 20 px past the last letter.
    assert past_end(x=10)[0]
    assert not past_end(x=13)[0]
    # Its foot on the baseline, to 0.15 of it and a pixel.
    assert past_end(up=4)[0]
    assert not past_end(up=5)[0]
    assert past_end(up=-3)[0]
    assert not past_end(up=-5)[0]
    # Where a line runs to the sheet's edge there is nothing to look at.
    assert past_end(left=2776)[0] is False
    # Between 0.55 and 1.6 of the page's own points, either way.
    for size, is_it in ((4, True), (3, False), (9, True), (10, False)):
        assert past_end(wide=size)[0] is is_it, size
        assert past_end(high=size)[0] is is_it, size


def test_nothing_but_the_point_may_stand_there_and_nothing_else_be_missing():
    _, end = past_end()
    assert not past_end(more=[Box(end + 3, 112, 4, 4)])[0]
    assert past_end(more=[Box(end + 20, 122, 6, 6)])[0]
    assert not past_end(count=0)[0]
    assert not past_end(kind=Kind.POINT_WRONG)[0]
    assert not past_end(wanted=",")[0]
    assert not past_end(at=3)[0]


# --- capitals under their accents ----------------------------------------------------------------


def crowned(monkeypatch, ratios, *, read="EA", wanted="ÉA", probs=4):
    """Whether the copy's capital is borne out, each other text being so much likelier than it."""
    asked = []

    def ratio(_, other, copy):
        asked.append((other, copy))
        return ratios(other)

    monkeypatch.setattr(crowns, "log_likelihood_ratio", ratio)
    sizes = []

    def evidence(_, lines):
        sizes.extend(line.x_height_px for line in lines)
        return [SimpleNamespace(log_probs=np.zeros(probs))] * len(lines)

    held = row(read)
    told = difference(Kind.WRONG_LETTER, (0, len(read)), read, wanted)
    looks = crowns.Crowns(SimpleNamespace(evidence=evidence))
    found = looks.bears_out(dispute(held, told))
    assert sizes == [smaller * X for smaller in crowns.SMALLER]
    return found, asked


def test_an_accented_capital_must_be_plainly_likelier_than_any_other_of_its_letter(monkeypatch):
    found, asked = crowned(monkeypatch, lambda _: -1.1)
    assert found
    others = {other for other, _ in asked}
    assert {copy for _, copy in asked} == {"ÉA"}
    # Against what was read, and the letter under every other accent; not against other letters.
    assert {"EA", "ÈA", "ÊA"} <= others
    assert not others & {"ÉA", "ÀA", "OA", "éA"}
    assert not crowned(monkeypatch, lambda _: -0.9)[0]
    assert not crowned(monkeypatch, lambda other: -0.9 if other == "ÊA" else -9.0)[0]
    assert not crowned(monkeypatch, lambda other: -0.9 if other == "EA" else -9.0)[0]
    # Where nothing can be seen nothing is borne out.
    assert not crowned(monkeypatch, lambda _: -9.0, probs=0)[0]


# --- words set sideways --------------------------------------------------------------------------

TEXT = "THE VILLAGE BAND\nAdmit one\nfor the whole day"


def sideways(told, *, high=180, look="sideways", blocks=1):
    """What is kept as found, and what is said of the blocks, of so many words missing."""
    box = [Box(10 + 60 * k, 10, 20, high) for k in range(blocks)]
    part = [SimpleNamespace(look=look, box=each) for each in box]
    sheet = SimpleNamespace(number=0, lifted=tuple(part))
    unread = [Unread(0, each, "type set sideways") for each in box]
    copy = Copy(TEXT, "c", "0" * 64, "utf-8", (Span(0, len(TEXT)),))
    found = [Found(one, 0, Box(0, 0, 1, 1), 0.9, Status.FAULT) for one in told]
    held = claimed_by_sideways(found, unread, [sheet], copy)
    assert all(each.reason == MAY_BE_SIDEWAYS for each in held.let_go)
    assert len(held.found) + len(held.let_go) == len(told)
    return len(held.found), [each.words for each in held.unread]


def missing(words, kind=Kind.LINE_MISSING):
    at = TEXT.index(words)
    return replace(difference(kind, (0, 0), "", words), copy=Span(at, at + len(words)))


@pytest.mark.parametrize(
    ("high", "is_it"), [(180, True), (75, True), (70, False), (195, True), (200, False)]
)
def test_a_missing_line_about_as_long_as_a_block_is_high_may_stand_in_it(high, is_it):
    # “Admit one”, nine characters: 0.4 to 1.1 of the block's 20 px each, 72 to 198.
    kept, (words,) = sideways([missing("Admit one")], high=high)
    assert kept == (0 if is_it else 1)
    assert ("“Admit one” of the copy may be it" in words) is is_it


def test_a_block_takes_one_stretch_of_whole_lines_of_the_copy():
    two = [missing("Admit one"), missing("for the whole day")]
    assert sideways(two, high=150)[0] == 1
    assert sideways(two, high=150, blocks=2)[0] == 0
    assert sideways([missing("Admit")], high=80)[0] == 1
    assert sideways([missing("Admit one", Kind.WRONG_WORD)])[0] == 1
    assert sideways([missing("Admit one")], look="rule")[0] == 1


# --- letters the reader has not ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("read", "wanted", "concerned"),
    [
        # A capital read without the accent that stands over it, which may be cut off above.
        ("E", "É", True), ("O", "Ö", True), ("EA", "ÉÀ", True), ("EA", "ÉA", True),
        # Not one that hangs below, nor small letters, nor another letter.
        ("C", "Ç", False), ("e", "é", False), ("A", "É", False), ("E", "F", False),
        ("E", "ÉE", False), ("E", "E", False),
        # Any letter the reader has no character for.
        ("r", "ř", True), ("xy", "xř", True), ("", "ř", True),
    ],
)  # fmt: skip
def test_what_the_reader_can_not_have_seen_is_judged_apart(read, wanted, concerned):
    told = difference(Kind.WRONG_LETTER, (0, len(read)), read, wanted)
    assert Beyond({"ř"}).concerns(told) is concerned


def test_without_the_page_s_letters_nothing_is_known_of_such_a_letter():
    told = difference(Kind.WRONG_LETTER, (1, 2), "r", "ř")
    held = row("are")
    assert Beyond({"ř"}).judge(dispute(held, told), Evidence()) == (0.1, "")
    # A second reader that knows the letter may bear out the copy.
    certainty, reason = Beyond({"ř"}).judge(dispute(held, told), Evidence(second_look=-1.0))
    assert (certainty, bool(reason)) == (0.1, True)
    # Of another length than the copy's it is but asked about.
    longer = difference(Kind.WRONG_LETTER, (1, 2), "r", "řř")
    assert Beyond({"ř"}).judge(dispute(held, longer), Evidence(second_look=-1.0)) == (0.1, "")


# --- letters the reader has not, on a page that has their plain ones ------------------------------


def unknown(*shapes, read="r", wanted="ř", own=FULL, second=None, worn=False):
    """What is said of places where the copy has a letter the reader has not, one after another."""
    count = 8
    text = "r" * count + "".join(f"x{read}" for _ in shapes)
    line, reading = row(text)
    sheet = sheet_of(np.full((300, 3000), 255, np.uint8))
    for at, letter in enumerate(reading.letters):
        drawn = own if at < count else FULL if letter.text == "x" else shapes[(at - count) // 2]
        draw(sheet.image, letter.box, drawn, 3 * (at % 4) if worn else 0)
    told = [
        difference(Kind.WRONG_LETTER, (at, at + 1), read, wanted)
        for at in range(count + 1, len(text), 2)
    ]
    fellows = Fellows([sheet], [line], [reading], told)
    beyond = Beyond({"ř", "ł"}, fellows)
    return [
        beyond.judge(dispute((line, reading), each, sheet=sheet), Evidence(second_look=second))
        for each in told
    ]


def test_a_letter_that_looks_just_as_the_page_s_plain_one_is_that():
    assert unknown(FULL) == [(0.9, "")]
    # The second reader's word lets no such letter go.
    assert unknown(FULL, second=-1.0) == [(0.9, "")]
    assert unknown(TWO_BARS) == [(0.1, "")]
    assert unknown(TWO_BARS, second=-1.0) == [(0.1, SECOND_READER)]
    assert unknown(TWO_BARS, second=1.0) == [(0.1, "")]
    # Of letters that are too unlike among themselves nothing is known.
    assert unknown(FULL, worn=True) == [(0.1, "")]
    # Nor of one that the page has none of.
    assert unknown(FULL, read="q") == [(0.1, "")]


def test_letters_that_look_the_same_are_one_question():
    assert unknown(TWO_BARS, TWO_BARS, LEFT) == [(0.1, ""), (0.1, AS_THE_FIRST), (0.1, "")]
    # Of another letter than the one that was read each is asked about.
    assert unknown(TWO_BARS, TWO_BARS, wanted="ł") == [(0.1, ""), (0.1, "")]


def crowned_page(ink, *, read="E", wanted="É"):
    """What is said of a capital read without the accent that the copy has, ink standing over it."""
    line, reading = row(read * 8 + "x" + read)
    sheet = sheet_of(np.full((300, 3000), 255, np.uint8))
    for letter in reading.letters:
        draw(sheet.image, letter.box, FULL, 0)
    box = reading.letters[-1].box
    if ink:
        over, wide, high = ink
        sheet.image[box.y - over - high : box.y - over, box.x + 4 : box.x + 4 + wide] = 0
    told = difference(Kind.WRONG_LETTER, (9, 10), read, wanted)
    fellows = Fellows([sheet], [line], [reading], [told])
    return Beyond((), fellows).judge(dispute((line, reading), told, sheet=sheet), Evidence())


def test_ink_over_a_capital_may_be_its_accent_and_none_says_it_has_none():
    assert crowned_page(None) == (0.9, "")
    assert crowned_page((3, 6, 4)) == (0.1, "")
    # Two hundredths of the x-height squared, 8 px, and within 0.7 of it above.
    assert crowned_page((3, 4, 2)) == (0.1, "")
    assert crowned_page((11, 6, 3)) == (0.1, "")
    assert crowned_page((14, 6, 4))[0] == 0.9
