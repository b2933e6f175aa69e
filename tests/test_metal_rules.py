"""Places of lines, spaces and cells put to the rules of setting, each at its edge.

Word spaces: De Vinne, *Correct Composition*, and Stewart, *Typesetting* (1919): hand-set matter is
held between a 5-to-em and two 3-to-ems; a doubled space is twice the others. Paragraph ends:
Stewart. Edges, leads, widows, rivers and tables: common practice. Distances are laid out by number
(`evenly_laid`), so that what is measured is known beforehand.
"""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
from evenly_laid import EM_PX, PITCH_PX, SPACE_PX, WHITE, WIDE, judged, line_of, matter_laid
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Letter, Reading, Span
from proofcheck.metal import MetalSettings
from proofcheck.metal.cell_places import cells_astray
from proofcheck.metal.certain import grown
from proofcheck.metal.impression_map import (
    COLUMNS,
    ROWS,
    ImpressionMap,
    impression_maps,
    impression_notes,
)
from proofcheck.metal.into_copy import carried_span, same_in_copy
from proofcheck.metal.line_places import line_edges
from proofcheck.metal.make_up_notes import make_up_notes
from proofcheck.metal.neighbours import median_beside, share_beside, share_to_a_side
from proofcheck.metal.patches import TALL, baseline_at
from proofcheck.metal.patches import WIDE as PATCH_WIDE
from proofcheck.metal.slope import slopes
from proofcheck.metal.spaces import word_spaces
from proofcheck.metal.spacing import word_spacing

# --- measures ------------------------------------------------------------------------------------


@pytest.mark.parametrize(("steps", "certainty"), [(0, 0.5), (1, 0.731), (3, 0.953), (-1, 0.269)])
def test_certainty_grows_as_the_logistic_curve(steps, certainty):
    assert grown(2.0 + steps * 0.3, 2.0, 0.3) == pytest.approx(certainty, abs=5e-4)


def test_no_measure_makes_quite_sure():
    assert 0 < grown(-1e9, 0.0, 1.0) < 1e-9
    assert 1 - 1e-9 < grown(1e9, 0.0, 1.0) <= 1


ROW = st.integers(1, 30)
GROUPED = ROW.flatmap(
    lambda n: st.tuples(
        hnp.arrays(np.float64, n, elements=st.floats(-5, 5).map(lambda v: round(v, 2))),
        st.lists(st.integers(0, 3), min_size=n, max_size=n).map(sorted),
        st.integers(1, 6),
        st.integers(0, 4),
    )
)


@settings(max_examples=150, derandomize=True)
@given(GROUPED)
def test_medians_beside_are_those_of_the_others_of_the_group(case):
    value, group, reach, least = case
    group = np.array(group)
    found = median_beside(value, group, reach, least)
    for k in range(len(value)):
        near = [
            value[n]
            for n in range(max(k - reach, 0), min(k + reach + 1, len(value)))
            if n != k and group[n] == group[k]
        ]
        if len(near) < max(least, 1):
            assert math.isnan(found[k])
        else:
            assert found[k] == pytest.approx(np.median(near))


@settings(max_examples=150, derandomize=True)
@given(GROUPED, st.integers(1, 3))
def test_shares_beside_are_those_of_the_others_of_the_group(case, nearest):
    value, group, reach, least = case
    true, group = value > 0, np.array(group)
    both = share_beside(true, group, reach, least, nearest=nearest)
    side = share_to_a_side(true, group, reach, least)

    def share(places):
        held = [bool(true[n]) for n in places if 0 <= n < len(true) and group[n] == group[k]]
        return sum(held) / max(len(held), 1) if len(held) >= least else 0.0

    for k in range(len(true)):
        away = range(nearest, reach + 1)
        assert both[k] == pytest.approx(share([*(k - a for a in away), *(k + a for a in away)]))
        before = share([k - a for a in range(1, reach + 1)])
        after = share([k + a for a in range(1, reach + 1)])
        assert side[k] == pytest.approx(max(before, after))


@pytest.mark.parametrize("lean", [-0.2, 0.0, 0.1, 0.25])
def test_a_stem_s_slope_is_how_far_it_leans_over_its_rise(lean):
    ink = np.zeros((2, TALL, PATCH_WIDE), np.float32)
    for y in range(10, TALL - 10):
        x = PATCH_WIDE / 2 + lean * (TALL / 2 - y)
        low = math.floor(x)
        ink[0, y, low], ink[0, y, low + 1] = 1 - (x - low), x - low
    ink[1] = ink[0]
    ink[1, :, 0] = 1.0  # A neighbour's ink beyond the letter's own width does not count.
    found = slopes(ink, np.array([PATCH_WIDE / 2 - 1, PATCH_WIDE / 2 - 2], np.float32))
    assert found == pytest.approx([lean, lean], abs=0.02)


def test_a_baseline_runs_straight_from_end_to_end():
    line, _ = line_of("abcdef", 1, left=100, tilt=12.0)
    foot = line.baseline[0]
    ends = [baseline_at(line, x) - foot for x in (100, 100 + line.box.width / 4, line.box.right)]
    assert ends == pytest.approx([0.0, 3.0, 12.0])


def test_places_are_carried_into_the_copy_over_what_is_missing_or_too_many():
    copy = SimpleNamespace(text="xx the brown\nfox")
    held = Span(3, 16)
    assert carried_span("the brown fox", held, copy, Span(4, 9)) == Span(7, 12)
    assert carried_span("the bown fox", held, copy, Span(9, 12)) == Span(13, 16)
    assert carried_span("the brrown fox", held, copy, Span(11, 14)) == Span(13, 16)
    assert carried_span("the brown", held, copy, Span(9, 9)) == Span(16, 16)
    assert carried_span("the brown fox", None, copy, Span(4, 9)) == Span(0, 0)
    same = same_in_copy("the bxown fox", held, copy)
    assert same.tolist() == [True] * 5 + [False] + [True] * 7
    assert not same_in_copy("abc", None, copy).any()


# --- word spaces ---------------------------------------------------------------------------------

WORDS = "we saw men row over sea and see now none"
"""Nine spaces, all after letters."""
PAGE = [
    WORDS,
    "noon or seven was never near",
    "some men saw rows over sea once",
    "sons were never seen",
]


def page(first, spaces=(), *, hand_set=False, others=PAGE[1:]):
    """A page whose first line is given, and the spaces of that line in turn."""
    rows = [line_of(first, 1, spaces=spaces)]
    rows += [line_of(text, number) for number, text in enumerate(others, 2)]
    matter = matter_laid(
        rows, "\n".join([first, *others]), settings=MetalSettings(hand_set=hand_set)
    )
    return judged(matter)


def told(held):
    return [
        (each.line, each.letters.start, each.words.partition(":")[0], each.only_query)
        for each in word_spacing(held)
    ]


def test_a_word_space_is_the_white_less_what_its_letters_bring_along():
    wide = [14, 20, 30, 14, 14, 25, 14, 14, 40]
    spaces = page(WORDS, wide).spaces
    mine = spaces.row == 0
    assert spaces.wide_px[mine] == pytest.approx([each - WHITE for each in wide], abs=0.2)
    assert spaces.wide_em == pytest.approx(spaces.wide_px / EM_PX)
    assert [WORDS[at] for at in spaces.at[mine]] == [" "] * 9
    assert spaces.left[0] == 100 + 2 * WIDE + WHITE


@pytest.mark.parametrize(
    ("text", "after"),
    [
        ("we saw men row", [0, 0, 0]),
        ("we, saw; men. row", [1, 2, 2]),
        ("we! saw? men: row", [2, 2, 2]),
        # A point before a closing quote or bracket is still what the space follows.
        ("we.” saw,” men) row", [2, 1, 3]),
        ("we “saw men” row", [3, 0, 3]),
        ("we — saw men row", [3, 3, 0, 0]),
    ],
)
def test_what_a_space_follows(text, after):
    spaces = page(text, others=["seven were near to me", *PAGE[1:]]).spaces
    assert spaces.after[spaces.row == 0].tolist() == after


def test_spaces_beside_figures_are_known():
    spaces = page("we saw 12 men row so").spaces
    assert spaces.figures[spaces.row == 0].tolist() == [False, True, True, False, False]


def test_white_that_a_rule_stands_in_is_no_space():
    def spaces(*lifted):
        rows = [line_of(text, number) for number, text in enumerate(PAGE, 1)]
        matter = matter_laid(rows, "\n".join(PAGE), lifted=lifted)
        return int((word_spaces(matter).row == 0).sum())

    middle = 100 + 2 * WIDE + WHITE + SPACE_PX // 2 - 1
    rule = SimpleNamespace(box=Box(middle, 80, 2, 90), image=None)
    assert spaces() == 9
    assert spaces(rule) == 8
    # A short stroke, one above the line, and one elsewhere part nothing.
    for box in (Box(middle, 110, 2, 20), Box(middle, 20, 2, 60), Box(102, 80, 2, 90)):
        assert spaces(SimpleNamespace(box=box, image=None)) == 9


def test_white_where_the_copy_has_a_tab_is_no_space():
    def spaces(copy):
        rows = [line_of(text, number) for number, text in enumerate(PAGE, 1)]
        matter = matter_laid(rows, "\n".join([copy, *PAGE[1:]]))
        held = word_spaces(matter)
        return held.at[held.row == 0].tolist()

    every = spaces(WORDS)
    assert spaces(WORDS.replace("saw men", "saw\tmen")) == [at for at in every if at != 6]
    assert spaces(WORDS.replace("we saw", "we\tsow").replace(" none", "\tnone")) == every[1:-1]


def test_letters_that_hang_over_those_beside_them_in_their_line_reach_into_the_space():
    """An f of italics, say: its arm and tail take nothing of the space that was set."""
    lead = "so if for an elf fed us"
    others = ["for if of elf in", "a fir of fen", "if few often fan"]

    def spaces(*hanging, by=6):
        (line, reading), *rest = [
            line_of(text, number) for number, text in enumerate([lead, *others, *PAGE], 1)
        ]
        boxes = {
            at: Box(x.box.x - by, x.box.y, WIDE + by, x.box.height)
            for at, x in enumerate(reading.letters)
            if at in hanging
        }
        letters = tuple(
            Letter(x.text, boxes.get(at, x.box), 1.0) for at, x in enumerate(reading.letters)
        )
        rows = [(line, Reading(1, letters)), *rest]
        held = word_spaces(matter_laid(rows, "\n".join([lead, *others, *PAGE])))
        return held.wide_px[held.row == 0]

    every = [at for at, char in enumerate(lead) if char == "f"]
    assert spaces(*every) == pytest.approx(spaces(), abs=1.5)
    # One that alone stands close to the word before it has a thin space.
    before = lead.index("for")
    assert spaces(before)[1] == pytest.approx(spaces()[1] - 6, abs=0.5)


@pytest.mark.parametrize(("times", "faults"), [(1.4, 0), (2.15, 1), (3.0, 1), (4.2, 1), (5.0, 0)])
def test_a_space_twice_the_others_is_doubled_and_far_more_is_white_meant(times, faults):
    gaps = [SPACE_PX] * 9
    gaps[4] = WHITE + round(times * (SPACE_PX - WHITE))
    found = told(page(WORDS, gaps))
    assert [each[:3] for each in found] == [(1, 19, "reduce the space")] * faults


def test_a_doubled_space_is_no_fault_where_columns_or_sentences_begin():
    gaps = [SPACE_PX] * 9
    gaps[4] = WHITE + 3 * (SPACE_PX - WHITE)
    assert len(told(page(WORDS, gaps))) == 1
    # After a stop a house may put what it likes; after a comma before a capital the stop was ill
    # read; beside a figure entries are set apart; leaders draw their line's white out.
    for text in (
        "we saw men row over. sea and see now none", "we saw men row over, Sea and see now none",
        "we saw men row 1234 sea and see now none", "we saw men row over sea and see . . . . 4",
    ):  # fmt: skip
        assert told(page(text, gaps)) == [], text
    assert len(told(page("we saw men row over, sea and see now none", gaps))) == 1


def test_white_that_ends_where_the_next_line_s_ends_makes_columns():
    gaps = [SPACE_PX] * 9
    gaps[4] = WHITE + 3 * (SPACE_PX - WHITE)
    for shift, faults in ((0, 0), (8, 0), (40, 2)):
        second = [*gaps]
        rows = [line_of(WORDS, 1, spaces=gaps), line_of(WORDS, 2, spaces=second, left=100 + shift)]
        rows += [line_of(text, number) for number, text in enumerate(PAGE[1:], 3)]
        found = told(judged(matter_laid(rows, "\n".join([WORDS, *PAGE]))))
        assert len(found) == faults, shift


def test_several_wide_spaces_make_a_line_uneven_and_are_told_once():
    gaps = [14, 14, 14, 14, 14, 44, 44, 44, 14]
    ((line, at, words, query),) = told(page(WORDS, gaps))
    assert (line, words, query) == (1, "make the spaces even", False)
    assert at == WORDS.index(" ")
    # Less than a 3-to-em and two of them is what hand setting comes to.
    assert told(page(WORDS, [14, 14, 14, 14, 24, 24, 24, 14, 14])) == []


ENTRIES = ["we saw men 19 25 40", "some row 18 50 20", "near a sea 17 75 10", "now see 16 05 30"]


def rows_of_prices(wide, *, count=4, shift=0):
    """Entries whose three columns of figures stand so far apart, in pixels; the first one moved."""
    rows = []
    for number, text in enumerate(ENTRIES[:count], 1):
        words = text.count(" ") - 3
        to_column = 400 - len(text.rsplit(" ", 3)[0]) * (WIDE + WHITE)
        gaps = [SPACE_PX] * words + [to_column, wide, wide]
        rows.append(line_of(text, number, spaces=gaps, left=100 + shift * (number == 1)))
    rows += [line_of(text, number) for number, text in enumerate(PAGE, count + 1)]
    return told(judged(matter_laid(rows, "\n".join([*ENTRIES[:count], *PAGE]))))


def test_columns_of_a_table_typed_without_tabs_are_no_uneven_spaces():
    wide = round(1.1 * EM_PX)
    assert rows_of_prices(wide) == []
    # Alone in its wide spaces a line is uneven, and so is one whose white stands under no other.
    assert [each[0] for each in rows_of_prices(wide, count=1)] == [1]
    assert [each[0] for each in rows_of_prices(wide, shift=28)] == [1]


@pytest.mark.parametrize(
    ("em", "hand_set", "words"),
    [
        (0.09, False, "spaced too thin"), (0.14, False, None), (0.33, False, None),
        (0.60, True, None), (0.75, True, "spaced too wide"), (0.75, False, None),
        (1.2, False, "spaced too wide"),
    ],
)  # fmt: skip
def test_a_line_s_spaces_are_between_a_thin_one_and_two_of_the_case(em, hand_set, words):
    gaps = [round(em * EM_PX) + WHITE] * 9
    # The last line of the page: no word could have come up from the next.
    rows = [line_of(text, number) for number, text in enumerate(PAGE[1:], 1)]
    rows.append(line_of(WORDS, 4, spaces=gaps))
    held = judged(
        matter_laid(rows, "\n".join([*PAGE[1:], WORDS]), settings=MetalSettings(hand_set=hand_set))
    )
    found = told(held)
    assert [each[2] for each in found] == ([words] if words else [])
    assert all(query for *_, query in found)


def test_wide_spaces_are_no_fault_where_the_next_word_would_not_come_up():
    gaps = [round(1.2 * EM_PX) + WHITE] * 4
    for long, faults in (("as", 1), ("n" * 20, 0)):
        others = [f"{long} seen over there", *PAGE[1:]]
        found = told(page("we saw men row now", gaps, others=others))
        assert len(found) == faults, long


# --- edges and leads -----------------------------------------------------------------------------

LINE = "we saw men row over sea and see now none"


def prose(count=10, *, lefts=None, tops=None, tilts=None, texts=None, ends_at=None):
    """One paragraph of full lines, each place given by its number from 1."""
    lefts, tops, tilts, texts = lefts or {}, tops or {}, tilts or {}, texts or {}
    rows, held = [], []
    for number in range(1, count + 1):
        text = texts.get(number, LINE)
        held.append(text)
        rows.append(
            line_of(
                text, number, left=lefts.get(number, 100),
                top=100 + (number - 1) * PITCH_PX + tops.get(number, 0),
                tilt=tilts.get(number, 0.0),
            )
        )  # fmt: skip
    copy = (
        " ".join(held)
        if ends_at is None
        else "\n".join([" ".join(held[:ends_at]), " ".join(held[ends_at:])])
    )
    return judged(matter_laid(rows, copy))


def edges(held):
    return [(each.line, each.kind, each.words.partition(" by ")[0]) for each in line_edges(held)]


def test_even_lines_have_no_fault():
    assert edges(prose()) == []
    # Nor where all of them fall alike, as on a scan laid on askew.
    assert edges(prose(tilts=dict.fromkeys(range(1, 11), 9.0))) == []


@pytest.mark.parametrize(("off", "words"), [(0.3, None), (-0.8, "out"), (-0.3, None)])
def test_a_line_out_of_the_edge_is_told_which_way(off, words):
    found = edges(prose(lefts={5: 100 + round(off * EM_PX)}))
    mine = [each for each in found if each[2].startswith("the line stands")]
    assert mine == ([(5, Kind.CROOKED_LINE, f"the line stands {words}")] if words else [])


@pytest.mark.parametrize(("cut", "told_short"), [(0, False), (1, True)])
def test_a_line_short_of_its_measure_is_told_but_not_the_last(cut, told_short):
    short = LINE.removesuffix(" none") if cut else LINE
    found = edges(prose(texts={5: short}))
    assert [each[:2] for each in found] == ([(5, Kind.SHORT_MEASURE)] if told_short else [])
    assert edges(prose(texts={10: short})) == []
    # Nor where the copy ends its paragraph there.
    assert edges(prose(texts={5: short}, ends_at=5)) == []


def test_a_line_past_its_measure_is_told_so():
    found = [each for each in edges(prose(texts={5: f"{LINE} so"})) if each[0] == 5]
    assert found == [(5, Kind.SHORT_MEASURE, "the line runs past its measure")]


@pytest.mark.parametrize(("tilt", "words"), [(5.0, None), (14.0, "low at the right"),
                                             (-14.0, "low at the left")])  # fmt: skip
def test_a_line_that_falls_or_rises_against_its_fellows_is_crooked(tilt, words):
    found = edges(prose(tilts={5: tilt}))
    # It alone: that the white under it is uneven is of the same cause.
    assert [each[0] for each in found] == ([5] if words else [])
    assert all("crooked" in each[2] and words in each[2] for each in found)


@pytest.mark.parametrize(("points", "words"), [(0.8, None), (2.5, "much"), (-2.5, "little")])
def test_more_or_less_white_between_two_lines_than_between_the_others_is_told(points, words):
    # Line 5 and all below it moved: only the one step is off.
    px = round(points * 300 / 72.27)
    held = prose(tops=dict.fromkeys(range(5, 11), px))
    mine = [each for each in line_edges(held) if each.kind is Kind.UNEVEN_SPACING]
    assert [each.line for each in mine] == ([5] if words else [])
    assert all(f"too {words} white over line 5" in each.words for each in mine)
    assert all(each.sign == ("lead-out" if points > 0 else "lead") for each in mine)


def test_white_of_a_line_or_more_within_a_paragraph_is_meant():
    # A cut stands in it, or a stanza begins (common practice).
    held = prose(tops=dict.fromkeys(range(5, 11), PITCH_PX + 4))
    assert edges(held) == []


def test_white_where_the_copy_begins_a_line_of_its_own_is_that_of_verse():
    rows = [line_of(LINE, n, top=100 + (n - 1) * PITCH_PX + 30 * (n >= 5)) for n in range(1, 11)]
    copy = "\n".join([LINE] * 10)
    matter = matter_laid(rows, copy, paragraphs=(Span(0, len(copy)),))
    assert edges(judged(matter)) == []
    assert edges(prose(tops=dict.fromkeys(range(5, 11), 30))) != []


@pytest.mark.parametrize(("beside", "is_told"), [(3, False), (0, True)])
def test_the_first_line_under_a_large_initial_stands_where_that_ends(beside, is_told):
    # An initial is seldom just so many lines deep: the white under it is its own.
    em = round(3 * EM_PX)
    lefts = dict.fromkeys(range(1, beside + 1), 100 + em)
    held = prose(lefts=lefts, tops=dict.fromkeys(range(4, 11), 25))
    found = [each for each in line_edges(held) if each.kind is Kind.UNEVEN_SPACING]
    assert [each.line for each in found] == ([4] if is_told else [])


def test_a_finding_on_a_line_s_edge_is_tied_to_no_letter_and_on_the_whole_line_to_all():
    (short,) = line_edges(prose(texts={5: LINE.removesuffix(" none")}))
    end = len(LINE) - len(" none")
    assert (short.letters, short.box.right) == (Span(end, end), line_of(LINE, 5)[0].box.right)
    left = 100 - round(0.8 * EM_PX)
    (out,) = line_edges(prose(lefts={5: left}))
    assert (out.letters, out.sign, out.box.x) == (Span(0, 0), "move-right", left)
    (crooked,) = line_edges(prose(tilts={5: 14.0}))
    assert (crooked.letters, crooked.sign) == (Span(0, len(LINE)), "")
    assert crooked.box == line_of(LINE, 5, tilt=14.0)[0].box


def _indents(deep):
    """Paragraphs of three lines, their first lines indented by so many ems."""
    rows, copy = [], []
    for k, em in enumerate(deep):
        for j in range(3):
            left = 100 + (round(em * EM_PX) if j == 0 else 0)
            rows.append(line_of(LINE, 3 * k + j + 1, left=left))
        copy.append(" ".join([LINE] * 3))
    return edges(judged(matter_laid(rows, "\n".join(copy))))


@pytest.mark.parametrize(("em", "is_told"), [(1.0, False), (1.3, False), (1.8, True), (0.4, True)])
def test_an_indention_unlike_the_others_of_its_column_is_told(em, is_told):
    found = [each for each in _indents([1, 1, 1, em, 1, 1]) if each[2].startswith("indent")]
    assert [each[0] for each in found] == ([10] if is_told else [])


def test_few_indentions_say_nothing_of_one():
    assert not any(each[2].startswith("indent") for each in _indents([1, 1, 1.8, 1]))


# --- make-up -------------------------------------------------------------------------------------


@pytest.mark.parametrize(("last", "noted"), [("so", True), ("now", True), ("none", False)])
def test_a_paragraph_s_last_line_of_three_letters_or_fewer_is_a_stub(last, noted):
    # Stewart (1919).
    rows = [line_of(LINE, 1), line_of(LINE, 2), line_of(last, 3), line_of(LINE, 4)]
    notes = make_up_notes(judged(matter_laid(rows, f"{LINE} {LINE} {last}\n{LINE}")))
    assert [("line 3 ends a paragraph" in note) for note in notes] == ([True] if noted else [])


def test_a_short_line_that_is_a_paragraph_s_all_is_no_stub():
    rows = [line_of(LINE, 1), line_of("so", 2), line_of(LINE, 3)]
    assert make_up_notes(judged(matter_laid(rows, f"{LINE}\nso\n{LINE}"))) == ()


@pytest.mark.parametrize(("share", "noted"), [(0.4, True), (1.0, False)])
def test_a_paragraph_s_short_last_line_at_the_head_of_a_column_is_a_widow(share, noted):
    end = LINE[: round(share * len(LINE))].strip() if share < 1 else LINE
    end = end if end.count(" ") >= 3 else "we saw men row"
    rows = [line_of(LINE, 1), line_of(LINE, 2)]
    rows += [line_of(end, 3, left=1200, top=100, column=1)]
    rows += [line_of(LINE, 4, left=1200, top=152, column=1)]
    rows += [line_of(LINE, 5, left=1200, top=204, column=1)]
    notes = make_up_notes(judged(matter_laid(rows, f"{LINE} {LINE} {end}\n{LINE} {LINE}")))
    assert [("line 3, a paragraph's last" in note) for note in notes] == ([True] if noted else [])


@pytest.mark.parametrize(
    ("lines", "em", "noted"), [(5, 0.8, True), (4, 0.8, False), (5, 0.5, False)]
)
def test_wide_spaces_one_under_another_in_five_lines_are_a_river(lines, em, noted):
    gaps = [SPACE_PX] * 9
    gaps[4] = WHITE + round(em * EM_PX)
    rows = [line_of(LINE, 1)]
    rows += [line_of(LINE, number, spaces=gaps) for number in range(2, 2 + lines)]
    rows += [line_of(LINE, 2 + lines)]
    notes = make_up_notes(judged(matter_laid(rows, " ".join([LINE] * len(rows)))))
    assert len(notes) == noted
    assert all(f"lines 2 to {1 + lines}" in note for note in notes)


def test_wide_spaces_one_under_another_in_a_list_are_no_river():
    """Each row is an entry of its own, its price or a leader's points set off."""
    gaps = [SPACE_PX] * 9
    gaps[4] = WHITE + round(2 * EM_PX)
    rows = [line_of(LINE, number, spaces=gaps) for number in range(1, 9)]
    assert make_up_notes(judged(matter_laid(rows, "\n".join([LINE] * 8)))) == ()


def test_wide_spaces_that_do_not_touch_are_no_river():
    rows = []
    for number in range(1, 8):
        gaps = [SPACE_PX] * 9
        gaps[1 if number % 2 else 7] = WHITE + round(0.8 * EM_PX)
        rows.append(line_of(LINE, number, spaces=gaps))
    assert make_up_notes(judged(matter_laid(rows, " ".join([LINE] * 7)))) == ()


# --- impression ----------------------------------------------------------------------------------


def test_a_part_that_prints_lighter_or_darker_by_a_seventh_or_more_is_named():
    share = np.ones((ROWS, COLUMNS))
    share[0, 0], share[3, 3], share[5, 1], share[2, 2] = 0.7, 1.3, 0.84, np.nan
    light, dark = impression_notes((ImpressionMap(1, share),))
    assert light.startswith("sheet 2 prints light at ")
    assert "the head, left" in light
    assert "the foot, middle" in light
    assert "down to 70 %" in light
    assert "the lower half, right" in dark
    assert "up to 130 %" in dark
    share[:] = 1.0
    share[0, 0], share[1, 1] = 0.88, 1.15
    assert impression_notes((ImpressionMap(0, share),)) == ()


def test_a_sheet_evenly_inked_is_of_one_weight_wherever_it_has_letters():
    rows = [line_of(LINE, number) for number in range(1, 16)]
    (found,) = impression_maps(matter_laid(rows, " ".join([LINE] * 15), ink=()))
    assert found.sheet == 0
    known = found.share[np.isfinite(found.share)]
    assert len(known) >= 8
    assert known == pytest.approx(1.0, abs=0.05)
    assert impression_notes((found,)) == ()
    # Fields of a few letters say nothing.
    few = matter_laid([line_of("we saw", 1)], "we saw", ink=())
    assert not any(np.isfinite(each.share).any() for each in impression_maps(few))


# --- tables --------------------------------------------------------------------------------------

ITEMS = [("tea", "12", "30"), ("coffee", "14", "35"), ("cocoa", "16", "40"), ("milk", "18", "45")]


def table(places, items=ITEMS):
    """Rows of three cells, each at the left given by column; some in others' by (row, column)."""
    lefts = (100, 500, 800)
    rows, copy = [], []
    for number, cells in enumerate(items, 1):
        at = [places.get((number, column), lefts[column]) for column in range(len(cells))]
        used = [(x, text) for x, text in sorted(zip(at, cells, strict=True)) if text]
        gaps, end = [], None
        for x, text in used:
            if end is not None:
                gaps.append(x - end + WHITE)
            end = x + len(text) * (WIDE + WHITE)
        rows.append(line_of(" ".join(t for _, t in used), number, left=used[0][0], spaces=gaps))
        copy.append("\t".join(cells))
    return [
        (e.line, e.sign, e.words) for e in cells_astray(judged(matter_laid(rows, "\n".join(copy))))
    ]


def test_a_cell_in_another_column_than_the_copy_s_is_asked_about():
    assert table({}) == []
    items = [*ITEMS[:2], ("cocoa", "16", ""), ITEMS[3]]
    ((line, sign, words),) = table({(3, 1): 800}, items)
    assert (line, sign) == (3, "move-left")
    assert words == "“16” stands in column 3: the copy has it in column 2"
    items = [*ITEMS[:2], ("cocoa", "", "40"), ITEMS[3]]
    ((line, sign, _),) = table({(3, 2): 500}, items)
    assert (line, sign) == (3, "move-right")


def test_a_table_of_two_rows_says_nothing_of_its_columns():
    items = [ITEMS[0], ("cocoa", "16", "")]
    assert table({(2, 1): 800}, items) == []


def test_a_cell_that_still_lies_partly_in_its_own_column_is_let_be():
    items = [*ITEMS[:2], ("cocoa", "16", ""), ITEMS[3]]
    assert table({(3, 1): 520}, items) == []
    # Nor is one that stands in no column at all told to be in another.
    assert table({(3, 1): 640}, items) == []
