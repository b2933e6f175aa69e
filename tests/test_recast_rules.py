"""The rules a plan is made by, one by one, each at its edge.

What a machine or a case can do is reckoned by hand from the handbook's figures; lines filled one
after another are held against `textwrap` of the standard library; what stands on a proof against
the slugs it was printed from.
"""

from __future__ import annotations

import textwrap

import pytest
from test_recast_plan import ABOUT, STYLES, concert, copy_of, planned, put_in
from typesetter import Para, compose, drop_lines, lines_of, print_proof, readings_of
from typesetter.faces import FACES, LIGATURES, family

from proofcheck.base.bands import BANDS, Band
from proofcheck.base.errors import SettingError
from proofcheck.base.found import Collation, Placing
from proofcheck.base.options import Options
from proofcheck.base.values import Copy, Span
from proofcheck.recast.breaks import lay_out_breaks, matter_of
from proofcheck.recast.cost import Rates
from proofcheck.recast.faces import Face, load_face, usual_face
from proofcheck.recast.from_options import cast_settings, cast_settings_as_read
from proofcheck.recast.galley import Galley, Measure, StandingLine, galley_of
from proofcheck.recast.handset import load_bill
from proofcheck.recast.justify import (
    Fitted,
    Limits,
    Shape,
    fit_line,
    limits_of_bands,
    limits_of_case,
)
from proofcheck.recast.keyed import keyed
from proofcheck.recast.room import limits_on, shape_of, with_leaders
from proofcheck.recast.runon import run_on
from proofcheck.recast.search import Kept, fewest_slugs, line_steps, runs_on
from proofcheck.recast.settings import CastSettings
from proofcheck.recast.stretch import Damage, OldLine, Paragraph, touched_paragraphs
from proofcheck.recast.widths import SeenLine, SetWidth, SetWidths, fit_widths

BAND = Band("round", 3 / 72, 9 / 72)
"""Of some 3 and 9 points, so that sums come out whole."""


def _whole(least_pt, greatest_pt):
    """Limits in whole points, so that a line can stand right at them; all of it good."""
    good = (least_pt, greatest_pt)
    return Limits(least_pt, greatest_pt, least_pt, good, good)


# --- one line ------------------------------------------------------------------------------------


def test_a_line_fits_from_the_bands_least_to_their_greatest_both_counted():
    limits = _whole(3.0, 9.0)
    for letters, space in ((76.0, 3.0), (28.0, 9.0), (60.0, 5.0)):
        assert fit_line(100.0, letters, 8, limits, spread=True).space_pt == space
    for letters in (76.5, 27.5):
        assert fit_line(100.0, letters, 8, limits, spread=True) is None


def test_a_line_of_one_word_fills_the_measure_or_is_no_line():
    limits = limits_of_bands(BAND, 10)
    assert fit_line(100, 100, 0, limits, spread=True).space_pt == 0
    assert fit_line(100, 97, 0, limits, spread=True) is None
    # At a paragraph's end it need not, and has no spaces to be judged.
    alone = fit_line(100, 40, 0, limits, spread=False)
    assert (alone.space_pt, alone.steps, alone.thin) == (0.0, 0, False)
    assert fit_line(100, 101, 0, limits, spread=False) is None


def test_the_last_line_has_the_usual_space_or_what_there_is():
    # The 3-to-em space is normal for lower case (Stewart, *Typesetting*, 1919).
    limits = limits_of_case(12)
    assert limits.usual_pt == pytest.approx(4)
    assert limits_of_bands(BANDS["thick"], 12).usual_pt == pytest.approx(4)
    assert fit_line(100, 40, 5, limits, spread=False).space_pt == pytest.approx(4)
    assert fit_line(100, 85, 5, limits, spread=False).space_pt == pytest.approx(3)


@pytest.mark.parametrize(
    ("em", "steps"), [(0.19, 1), (0.21, 0), (0.49, 0), (0.55, 1), (0.66, 1), (0.68, 2), (0.16, 2)]
)
def test_spacing_by_hand_is_judged_in_ems(em, steps):
    # .20 to .50 em is good and .67 the end (De Vinne, *Correct Composition*; Stewart 1919).
    assert limits_of_case(10).steps(10 * em) == steps


@pytest.mark.parametrize(("em", "steps"), [(0.19, 1), (0.21, 0), (0.5, 0), (0.6, 1), (0.7, 2)])
def test_slugs_run_wider(em, steps):
    # Measured on set matter: a tenth of the lines of slugs are wider than .51 to .64 em.
    assert limits_of_bands(BAND, 10).steps(10 * em) == steps


@pytest.mark.parametrize("steps", [0, 1, 2])
def test_a_thin_space_beside_the_band_is_worse_than_any_line_without(steps):
    # The widest thin space of a machine: .0385 inch (Stewart 1919).
    limits = limits_of_bands(BAND, 10)
    space = limits.greatest_pt + 0.0385 * 72
    assert fit_line(100, 100 - 4 * (space - 0.1), 4, limits, spread=True) is None
    thin = limits.with_thin()
    fitted = fit_line(100, 100 - 4 * (space - 0.1), 4, thin, spread=True)
    assert fitted.thin
    assert fitted.steps > steps
    assert fit_line(100, 100 - 4 * (space + 0.1), 4, thin, spread=True) is None
    assert not fit_line(100, 100 - 4 * 5.0, 4, thin, spread=True).thin


def test_a_line_whose_length_is_unsure_must_clear_the_limits_by_as_much():
    sure = limits_of_bands(BAND, 10)
    unsure = limits_of_bands(BAND, 10, margin_pt=2.0)
    tight, open_ = 100 - 4 * (sure.least_pt + 0.4), 100 - 4 * (sure.greatest_pt - 0.4)
    for letters in (tight, open_):
        assert fit_line(100, letters, 4, sure, spread=True)
        assert fit_line(100, letters, 4, unsure, spread=True) is None
    # One that clears both by 2 pt in all is as good as before.
    middle = 100 - 4 * (sure.least_pt + 0.6)
    as_sure = fit_line(100, middle, 4, sure, spread=True)
    assert fit_line(100, middle, 4, unsure, spread=True) == as_sure


def test_the_first_line_has_less_room_by_its_indention_and_a_hung_one_by_its_own():
    shape = Shape(240, 12, 20)
    assert (shape.room_pt(first=True), shape.room_pt(first=False)) == (228, 220)


# --- lines one after another ---------------------------------------------------------------------


def test_no_third_division_runs_on_unless_it_stands_already():
    # Two divisions running are the most (Hamilton 1918); what is printed is no fault of the plan's.
    def after(*lines):
        run = 0
        for divided, cast in lines:
            run = runs_on(run, divided=divided, cast=cast)
            if run is None:
                return False
        return True

    new, stays, whole = (True, True), (True, False), (False, True)
    assert after(new, new)
    assert not after(new, new, new)
    assert after(new, new, whole, new, new)
    assert not after(new, new, whole, new, new, new)
    assert after(whole, new, new)
    assert after(stays, stays, stays, stays)
    assert not after(stays, stays, new)
    assert not after(stays, stays, stays, new)
    assert not after(new, stays, stays)


TEXT = " ".join(ABOUT).replace("—", ", ").replace("-", "")


def _even(text, **also):
    """Matter in which every letter and every space at its least is 5 points wide."""
    breaks = lay_out_breaks(text, "eng", divide=False, **also)
    return matter_of(text, breaks, lambda unit: 5.0 * len(unit))


FIVES = _whole(5.0, 50.0)


@pytest.mark.parametrize("wide", [24, 31, 40, 57])
def test_running_on_fills_each_line_as_full_as_it_goes(wide):
    # `textwrap` fills greedily too, every character one wide.
    wrapped = textwrap.wrap(TEXT, wide, break_on_hyphens=False, break_long_words=False)
    matter = _even(TEXT)
    shape = Shape(5.0 * wide, justified=False)
    lines = run_on(matter, shape, FIVES, [])
    assert [matter.line(line.upper, line.lower) for line in lines] == wrapped
    # With an indention the first line takes that much less.
    indented = textwrap.wrap(
        TEXT, wide, initial_indent="   ", break_on_hyphens=False, break_long_words=False
    )
    lines = run_on(matter, Shape(5.0 * wide, 15.0, justified=False), FIVES, [])
    assert [matter.line(line.upper, line.lower) for line in lines] == [
        line.strip() for line in indented
    ]


@pytest.mark.parametrize("wide", [24, 40])
def test_a_paragraph_all_new_has_no_fewer_slugs_than_filling_gives(wide):
    wrapped = textwrap.wrap(TEXT, wide, break_on_hyphens=False, break_long_words=False)
    matter = _even(TEXT)
    found = fewest_slugs(matter, Shape(5.0 * wide, justified=False), FIVES, [], [])
    assert found.cost.slugs == len(wrapped)


def test_running_on_comes_to_rest_where_an_old_line_ends():
    words = ["aaaa"] * 12
    matter = _even(" ".join(words))
    shape = Shape(5.0 * 14, justified=False)
    # Three words a line. The first two lines are wrong; from the third on what stands may stay.
    kept = [Kept(6, 9, 3), Kept(9, 12, 4)]
    lines = run_on(matter, shape, FIVES, kept)
    assert [(line.upper, line.lower, line.kept) for line in lines] == [
        (0, 3, None), (3, 6, None), (6, 9, kept[0]), (9, 12, kept[1]),
    ]  # fmt: skip


def test_a_word_longer_than_the_measure_takes_a_line_by_itself():
    matter = _even("of incomprehensibilities of")
    lines = run_on(matter, Shape(5.0 * 8, justified=False), FIVES, [])
    assert [matter.line(line.upper, line.lower) for line in lines] == [
        "of", "incomprehensibilities", "of",
    ]  # fmt: skip
    assert [line.fitted is None for line in lines] == [False, True, False]


def test_a_word_is_divided_only_where_the_line_would_stand_open():
    text = "the evening afterwards the evening"  # No joined letters: each is 5 pt wide.
    breaks = lay_out_breaks(text, "eng")
    matter = matter_of(text, breaks, lambda _: 5.0)
    limits = limits_of_bands(Band("x", 5 / 72, 20 / 72), 10)
    room = 5.0 * 17
    tight = run_on(matter, Shape(room), limits, [])
    # “the evening” leaves 30 pt for one space: too open, so “after-” or less of it comes up.
    first = matter.line(tight[0].upper, tight[0].lower)
    assert first.startswith("the evening a")
    assert first.endswith("-")
    ragged = run_on(matter, Shape(room, justified=False), limits, [])
    assert matter.line(ragged[0].upper, ragged[0].lower) == "the evening"


@pytest.mark.parametrize(
    # A last line of fewer than four letters is no line (Stewart 1919); points are no letters.
    ("end", "steps"),
    [("out", 2), ("then", 0), ("so.)", 2), ("1874", 0)],
)
def test_a_last_line_of_three_letters_is_two_steps_from_good(end, steps):
    matter = _even(f"the band was {end}")
    last = len(matter.breaks) - 1
    assert matter.line(last - 1, last) == end
    assert line_steps(matter, (last - 1, last), Fitted(5.0, 0)) == steps
    # A paragraph of that one line has no other to end in.
    whole = _even(end)
    assert line_steps(whole, (0, len(whole.breaks) - 1), Fitted(5.0, 0)) == 0


def test_two_letters_left_behind_and_a_division_before_the_end_are_a_step_each():
    # US Government *Manual of Style* (1922); the last full line is not to be divided (Hamilton).
    text = "the efficient band"
    breaks = lay_out_breaks(text, "eng")
    matter = matter_of(text, breaks, lambda unit: 5.0 * len(unit))
    ends = {text[: place.end]: k for k, place in enumerate(breaks) if place.hyphen}
    ef, effi = ends["the ef"], ends["the effi"]
    last = len(breaks) - 1
    good = Fitted(5.0, 0)
    assert [line_steps(matter, (0, at), good) for at in (ef, effi)] == [1, 0]
    assert line_steps(matter, (effi, last), good) == 1
    assert line_steps(matter, (0, effi), Fitted(5.0, 2)) == 2


def test_running_on_sets_a_word_whole_where_two_lines_above_are_divided():
    # Lines of one word and the head of another, all of which would stand open undivided.
    words = " ".join(["of efficient"] * 8)
    breaks = lay_out_breaks(words, "eng")
    matter = matter_of(words, breaks, lambda unit: 5.0 * len(unit))
    limits = _whole(5.0, 6.0)
    most = 0
    for wide in range(8, 20):
        lines = run_on(matter, Shape(5.0 * wide), limits, [])
        divided = [matter.breaks[line.lower].hyphen for line in lines]
        runs = [len(run) for run in "".join("x" if each else " " for each in divided).split()]
        most = max([most, *runs])
    # Two divisions running are the most (Hamilton 1918), and there are such.
    assert most == 2


# --- what stands on the proof --------------------------------------------------------------------


@pytest.mark.parametrize("name", STYLES)
def test_every_line_is_measured_as_it_was_set(name):
    style = STYLES[name]
    forme = compose([Para(text) for text in ABOUT], measure_picas=20, style=style)
    proof = print_proof(forme)
    galley = galley_of(
        lines_of(proof), readings_of(proof), {0: 300.0}, usual_face(),
        lambda reading: [""] * len(reading.letters),
    )  # fmt: skip
    assert len(galley.lines) == len(forme.slugs)
    left = min(line.left_pt for line in galley.lines.values())
    for number, slug in enumerate(forme.slugs, 1):
        line = galley.lines[number]
        spaces = [sort.width_pt for sort in slug.sorts if sort.text == " "]
        assert line.space_pt == pytest.approx(spaces[0], abs=0.25)
        assert line.full or not slug.full
        if slug.width_pt + slug.indent_pt < slug.measure_pt - style.body_pt:
            assert not line.full
        assert line.indent_pt == pytest.approx(slug.indent_pt, abs=0.9)
        assert line.left_pt - left == pytest.approx(slug.indent_pt, abs=0.9)
        assert line.right_pt - line.left_pt == pytest.approx(slug.width_pt, abs=1.6)
        assert (line.number, line.column, line.size) == (number, (0, 0), 0)
    (unsure,) = galley.unsure_pt.values()
    assert 0 < unsure < 0.5


def test_each_size_of_type_is_measured_by_its_own_lines():
    from typesetter import Gap, Head

    blocks = [Head("A CONCERT IS GIVEN", 18), Gap(6), *(Para(text) for text in ABOUT)]
    forme = compose(blocks, measure_picas=20, style=STYLES["schola"])
    proof = print_proof(forme)
    galley = galley_of(
        lines_of(proof), readings_of(proof), {0: 300.0}, usual_face(),
        lambda reading: [""] * len(reading.letters),
    )  # fmt: skip
    assert [line.size for line in galley.lines.values()] == [1] + [0] * (len(forme.slugs) - 1)
    # A head fills no measure: nothing is known of how far a full line of its size is off.
    assert galley.unsure_pt[1] == 0.0
    assert galley.unsure_pt[0] > 0.0
    assert galley.widths[1].em_pt > 1.5 * galley.widths[0].em_pt
    # The distance of lines is that of most of them, and the edges theirs.
    (measure,) = galley.measures.values()
    style = STYLES["schola"]
    assert measure.pitch_pt == pytest.approx(style.body_pt + style.lead_pt, rel=0.01)
    assert measure.length_pt == pytest.approx(forme.slugs[1].measure_pt, rel=0.005)


def _seen(texts, true, lefts, *, space_pt):
    """Lines as they would be seen of a face, to no pixel."""
    out = []
    for number, text in enumerate(texts, 1):
        at, places = 20.0, []
        for char in text:
            places.append(at + lefts.get(char, 0.0))
            at += space_pt + number * 0.1 if char == " " else true[char]
        out.append(SeenLine(number, tuple(text), tuple(places)))
    return out


def test_widths_of_lines_without_noise_come_back_to_the_hundredth():
    schola = family("schola").roman
    text = " ".join(ABOUT)
    true = {c: 10 * schola.glyph(LIGATURES.get(c, c)).advance_em for c in set(text) if c != " "}
    lines = [*textwrap.wrap(text, 45), "incomprehensibilities"]
    found = fit_widths(_seen(lines, true, {}, space_pt=3.0), usual_face(), em_pt=10.0, px_pt=0.24)
    for char, width in found.widths.items():
        if width.seen >= 20:
            assert width.measured
            assert width.width_pt == pytest.approx(true[char], abs=0.06), char
        assert abs(width.width_pt - true[char]) < 6 * width.sure_pt, char
    # A line of one word has no space to be measured.
    spaces = {number: 3.0 + number * 0.1 for number in range(1, len(lines))}
    # One length goes from every r to every l and from the spaces to neither (module's own text).
    assert dict(found.spaces_pt) == pytest.approx(spaces, abs=0.1)


def test_a_letter_not_seen_has_the_width_of_the_face_fallen_back_on():
    face = Face("x", {"a": 0.5, "b": 0.6}, {"a": 0.04})
    widths = SetWidths(10.0, face, {"b": SetWidth(7.0, 0.1, 40)}, {"b": 0.3})
    assert (widths.of("a").width_pt, widths.of("a").seen) == (5.0, 0)
    assert not widths.of("a").measured
    assert widths.of("b").width_pt == 7.0
    assert (widths.bearing_pt("a"), widths.bearing_pt("b")) == (pytest.approx(0.4), 0.3)
    # Errors of what was never measured add as squares: 3² + 4² = 5².
    guess = widths.of("a").sure_pt
    assert SetWidths(10.0, face).error_pt({"a": 2}) == pytest.approx(2 * guess)
    both = SetWidths(10.0, Face("x", {"a": 0.3, "b": 0.4})).error_pt({"a": 1, "b": 1})
    assert both == pytest.approx(SetWidths(10.0, Face("x", {"a": 0.5})).error_pt({"a": 1}))
    # A width seen ten times is measured, nine times not.
    assert [SetWidth(1.0, 0.1, seen).measured for seen in (9, 10)] == [False, True]


def test_a_face_knows_joined_letters_accents_and_small_capitals_by_what_they_are_of():
    face = Face("x", {"f": 0.3, "i": 0.25, "e": 0.4, "E": 0.6, "fl": 0.5})
    assert face.width_em("fi") == pytest.approx(0.55)
    assert face.width_em("fl") == 0.5
    assert face.width_em("é") == 0.4
    assert face.width_em("☞") == 0.5  # An en.
    assert face.width_em("italic e") == 0.4
    assert face.width_em("small-caps e") == pytest.approx(0.8 * 0.6)
    assert face.width_em("small-caps E") == 0.6


def test_a_face_file_gives_every_sign_of_latin_that_it_has():
    # Held against the advances that fontTools reads of the same file.
    from fontTools.ttLib import TTFont

    path = FACES / "texgyreschola-regular.otf"
    font = TTFont(path)
    per_em, cmap, advances = font["head"].unitsPerEm, font.getBestCmap(), font["hmtx"]
    face = load_face(path)
    printing = [c for c in [*range(0x21, 0x7F), *range(0xA1, 0x180)] if c in cmap and c != 0xAD]
    assert len(printing) > 250
    for code in printing:
        true = advances[cmap[code]][0] / per_em
        assert face.widths[chr(code)] == pytest.approx(true, abs=0.001), chr(code)


# --- the room lines have -------------------------------------------------------------------------


def _galley(rows, *, measure_pt=240.0, unsure_pt=0.0, body_pt=10.0):
    """Lines of one column from (indention, full, space)."""
    lines = {
        number: StandingLine(number, (0, 0), 0, 20 + indent, 20 + measure_pt, full, indent, space)
        for number, (indent, full, space) in enumerate(rows, 1)
    }
    measures = {(0, 0): Measure(20, 20 + measure_pt, 12.0)}
    widths = {0: SetWidths(body_pt, usual_face())}
    return Galley(lines, measures, widths, {0: body_pt}, {0: unsure_pt})


def _paragraph(count, *, from_start=True):
    text = "x" * (10 * count)
    old = tuple(
        OldLine(n + 1, 10 * n + (0 if from_start else 1), 10 * n + 10, stands=True)
        for n in range(count)
    )
    return Paragraph(0, Span(0, len(text)), keyed(text, 0, len(text)), old, frozenset())


@pytest.mark.parametrize(
    ("rows", "shape"),
    [
        # Indented by an em, the last line short.
        ([(10, True), (0, True), (0, True), (0, False)], Shape(240, 10, 0)),
        # Hung: all but the first stand in.
        ([(0, True), (15, True), (15, True), (15, False)], Shape(240, 0, 15)),
        # Both, and less than two fifths of an em is no indention but the paper.
        ([(3.9, True), (1, True), (0, True), (0, False)], Shape(240, 0, 0)),
        ([(4.1, True), (0, True), (0, True), (0, False)], Shape(240, 4.1, 0)),
        # Verse, and anything centred, is never spread.
        ([(20, False), (40, False), (10, False), (0, True)], Shape(240, justified=False)),
        # Of two lines the last is short in every paragraph: the first says how it is set.
        ([(10, True), (0, False)], Shape(240, 10, 0)),
        ([(10, False), (0, False)], Shape(240, justified=False)),
    ],
)
def test_a_paragraph_is_set_again_in_the_shape_it_stands_in(rows, shape):
    galley = _galley([(indent, full, 3.0) for indent, full in rows])
    standing = list(galley.lines.values())
    assert shape_of(_paragraph(len(rows)), standing, galley, 0) == shape


def test_a_paragraph_whose_first_line_is_not_printed_is_indented_by_an_em():
    # Common practice: an em of its own body.
    galley = _galley([(0, True, 3.0), (0, True, 3.0), (0, False, 3.0)])
    shape = shape_of(_paragraph(3, from_start=False), list(galley.lines.values()), galley, 0)
    assert shape == Shape(240, 10, 0)


def test_spaces_that_the_bands_do_not_give_widen_the_limits_and_are_told():
    band = BANDS["thick"]
    inside, outside = (band.least_pt + band.greatest_pt) / 2, band.greatest_pt + 3
    settings = CastSettings()
    usual = limits_of_bands(band, 10)
    # One of twenty may be a slip of measuring; seven lines say nothing of a machine.
    for rows in ([inside] * 19 + [outside], [outside] * 7):
        galley = _galley([(0, True, space) for space in rows])
        assert limits_on(galley, 0, settings) == (usual, [])
    galley = _galley([(0, True, space) for space in [inside] * 10 + [outside] * 10])
    limits, (note,) = limits_on(galley, 0, settings)
    assert limits.greatest_pt == pytest.approx(outside)
    assert limits.least_pt == usual.least_pt
    assert note == (
        f"10 of 20 full lines have spaces that thick bands don't give; planned with what the proof "
        f"shows, {usual.least_pt:.1f} to {outside:.1f} pt (check the kind of bands and the "
        "resolution of the scan)"
    )
    # Lines that are not spread, and those of another size, say nothing either.
    galley = _galley([(0, False, outside)] * 20)
    assert limits_on(galley, 0, settings) == (usual, [])
    # Twice the standard error of a line's length is kept clear.
    assert limits_on(_galley([], unsure_pt=0.4), 0, settings)[0].margin_pt == pytest.approx(0.8)
    by_hand = limits_on(_galley([]), 0, CastSettings(hand_set=True))[0]
    assert by_hand == limits_of_case(10)


def test_narrow_spaces_widen_the_limits_the_other_way_and_the_usual_one_stays_between():
    band = BANDS["thick"]
    narrow = 1.0
    galley = _galley([(0, True, narrow)] * 20)
    limits, (note,) = limits_on(galley, 0, CastSettings())
    assert limits.least_pt == pytest.approx(narrow)
    assert limits.greatest_pt == pytest.approx(band.greatest_pt)
    assert limits.least_pt <= limits.usual_pt <= limits.greatest_pt
    assert "thick bands" in note


def test_leaders_stand_where_the_copy_has_a_tab_and_print_has_leaders():
    text = "Tea, black\t3d."
    copy = Copy(text, "c.txt", "0" * 64, "utf-8", (Span(0, len(text)),))
    matter = keyed(text, 0, len(text))
    old = OldLine(1, 0, len(matter.text), stands=False)
    paragraph = Paragraph(0, copy.paragraphs[0], matter, (old,), frozenset())
    assert with_leaders(paragraph, old, copy, "Ten, black .... 3d.") == "Tea, black ..... 3d."
    assert with_leaders(paragraph, old, copy, "Ten, black  3d.") == "Tea, black 3d."
    plain = OldLine(1, 0, 4, stands=False)
    assert with_leaders(paragraph, plain, copy, "Ten, ....") == "Tea,"


# --- which paragraphs are touched, and by what ---------------------------------------------------

WORDS = "one two three four five six seven eight nine ten eleven twelve"
ENDS = [
    ("one two three", 1), ("four five six", 2), ("seven eight nine", 3), ("ten eleven twelve", 4),
]  # fmt: skip


def _placed(lines):
    return tuple(
        Placing(number, Span(WORDS.index(text), WORDS.index(text) + len(text)))
        for text, number in lines
    )


def _touched(lines, **damage):
    copy = Copy(WORDS, "c.txt", "0" * 64, "utf-8", (Span(0, len(WORDS)),))
    held = Damage(**damage)
    return touched_paragraphs(copy, Collation(_placed(lines), ()), held)


def _old(paragraph):
    return [
        (line.number, paragraph.matter.text[line.start : line.next].strip(), line.stands)
        for line in paragraph.old
    ]


def test_what_was_not_read_is_let_stand_and_what_is_not_printed_is_not():
    at = WORDS.index("seven")
    lines = [ENDS[0], ENDS[1], ENDS[3]]
    (unread,) = _touched(lines, recast={1: ["F1"]})
    assert _old(unread) == [
        (1, "one two three", False), (2, "four five six", True),
        (0, "seven eight nine", True), (4, "ten eleven twelve", True),
    ]  # fmt: skip
    gone = Span(at, at + len("seven eight nine "))
    (wanting,) = _touched(lines, wanting=[(gone, "F1")])
    assert _old(wanting) == [
        (1, "one two three", True), (2, "four five six", True), (4, "ten eleven twelve", True),
    ]  # fmt: skip


def test_a_gap_at_one_place_says_nothing_of_another_place():
    # Line 2 was not read, line 4 is wanting: the one is let stand, the other is to be set.
    last = Span(WORDS.index("ten"), len(WORDS))
    (paragraph,) = _touched([ENDS[0], ENDS[2]], wanting=[(last, "F1")])
    assert _old(paragraph) == [
        (1, "one two three", True), (0, "four five six", True), (3, "seven eight nine", True),
    ]  # fmt: skip
    first = Span(0, len("one two three "))
    (paragraph,) = _touched([ENDS[1], ENDS[2]], wanting=[(first, "F1")])
    assert _old(paragraph) == [
        (2, "four five six", True), (3, "seven eight nine", True), (0, "ten eleven twelve", True),
    ]  # fmt: skip


def test_points_that_end_a_paragraph_are_of_its_last_line_and_lines_within_another_of_none():
    text = "one two three four."
    copy = Copy(text, "c.txt", "0" * 64, "utf-8", (Span(0, len(text)),))

    def old(*spans):
        placings = tuple(Placing(n, Span(*span)) for n, span in enumerate(spans, 1))
        (paragraph,) = touched_paragraphs(copy, Collation(placings, ()), Damage(recast={1: ["F1"]}))
        return [(line.number, line.start, line.next, line.stands) for line in paragraph.old]

    assert old((0, 7), (8, 18)) == [(1, 0, 8, False), (2, 8, 19, True)]
    # Letters beyond what was placed are of a line that was not read.
    assert old((0, 7), (8, 13)) == [(1, 0, 8, False), (2, 8, 14, True), (0, 14, 19, True)]
    # Lines meet where they overlap by a letter; one that lies within another is none.
    assert old((0, 9), (7, 19)) == [(1, 0, 9, False), (2, 9, 19, True)]
    assert old((0, 19), (4, 7)) == [(1, 0, 19, False)]
    # What no line holds between two is let stand where nothing is said to be missing.
    assert old((0, 3), (8, 19)) == [(1, 0, 4, False), (0, 4, 8, True), (2, 8, 19, True)]


@pytest.mark.parametrize(
    ("text", "why"),
    [("[sorts]\n", "holds no [sorts]"), ("", "holds no [sorts]"), ("[sorts]\na = -1", "holds no"),
     ("[sorts]\na = 'x'", "can't be used"), ("[sorts", "can't be used")],
)  # fmt: skip
def test_a_bill_without_counts_is_one_clear_line(tmp_path, text, why):
    path = tmp_path / "bill.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(SettingError) as refused:
        load_bill(path)
    assert why in str(refused.value)
    assert "bill.toml" in str(refused.value)
    path.write_text("[sorts]\na = 0\nfi = 12", encoding="utf-8")
    assert load_bill(path) == {"a": 0, "fi": 12}


def test_a_bad_division_may_not_end_a_line_again():
    at = WORDS.index("seven")
    (paragraph,) = _touched(ENDS, recast={2: ["F1"]}, ends={at})
    assert paragraph.never == {at}
    assert [stands for *_, stands in _old(paragraph)] == [True, False, False, True]


def test_a_paragraph_without_faults_is_let_alone():
    text = "alpha beta\n\ngamma delta\n\nepsilon zeta"
    spans = (Span(0, 10), Span(12, 23), Span(25, 37))
    copy = Copy(text, "c.txt", "0" * 64, "utf-8", spans)
    placings = tuple(Placing(n, span) for n, span in enumerate(spans, 1))
    for line in (1, 2, 3):
        held = touched_paragraphs(copy, Collation(placings, ()), Damage(recast={line: ["F"]}))
        assert [each.number for each in held] == [line - 1]
        span = spans[line - 1]
        held = touched_paragraphs(copy, Collation(placings, ()), Damage(wanting=[(span, "F")]))
        assert [each.number for each in held] == [line - 1]


# --- the plan ------------------------------------------------------------------------------------


def test_matter_wanting_at_the_head_of_a_paragraph_goes_in_before_its_first_line():
    forme = concert()
    starts = [k for k, slug in enumerate(forme.slugs, 1) if slug.indent_pt > 0]
    first = starts[1]
    gone = forme.slugs[first - 1].text
    plan, _, readings, _ = planned(drop_lines(forme, first), copy_of("\n\n".join(ABOUT)))
    assert plan.changes
    assert plan.changes[0].after == first - 1
    text = "\n".join(put_in(plan, readings))
    assert gone[:20] in text
    assert text.index(gone[:20]) > text.index(readings[first - 2].text)
    assert plan.slugs[0].indent_pt == pytest.approx(forme.slugs[first - 1].indent_pt, abs=0.9)


def test_a_paragraph_not_printed_is_set_in_the_size_most_lines_have():
    from typesetter import Gap, Head

    copy = copy_of("\n\n".join(["A CONCERT IS GIVEN", *ABOUT]))
    forme = compose(
        [Head("A CONCERT IS GIVEN", 18), Gap(6), *(Para(t) for t in ABOUT[:2])],
        measure_picas=20, style=STYLES["schola"],
    )  # fmt: skip
    plan, _, _, _ = planned(forme, copy)
    slugs = [slug for change in plan.changes for slug in change.slugs]
    assert slugs, plan.notes
    assert all(slug.body_pt < 14 for slug in slugs)
    words = [word for slug in slugs for word in slug.text.split()]
    assert words[0] == ABOUT[2].split()[0]
    assert len(slugs) > 3


def test_slugs_say_what_they_are():
    faulty = [text.replace("for the new bass drum", "for the bass drum") for text in ABOUT]
    plan, _, _, _ = planned(concert(faulty), copy_of("\n\n".join(ABOUT)))
    (change,) = plan.changes
    assert change.after == change.lines[0] - 1
    assert change.gained == len(change.slugs) - len(change.lines)
    assert [slug.number for slug in plan.slugs] == [*range(1, len(plan.slugs) + 1)]
    for slug in plan.slugs:
        # Words of this copy with a hyphen of their own are not at line ends here.
        assert slug.divided == slug.text.endswith("-")
        assert slug.measure_pt == pytest.approx(240 * 0.99626, rel=0.01)
        assert slug.body_pt == pytest.approx(10, rel=0.25)
        assert slug.spread == ((slug.space_pt > 0 and slug is not plan.slugs[-1]) or slug.spread)


def test_a_display_line_is_cast_as_it_stands_neither_spread_nor_divided():
    from typesetter import Head

    blocks = [Head("A CONCRET IS GIVEN", 14), *(Para(text) for text in ABOUT)]
    copy = copy_of("\n\n".join(["A CONCERT IS GIVEN", *ABOUT]))
    plan, _, _, _ = planned(compose(blocks, measure_picas=20), copy)
    (slug,) = plan.slugs
    assert (slug.spread, slug.divided, slug.thin, slug.space_pt) == (False, False, False, 0.0)
    assert slug.indent_pt > 20


def test_a_report_without_rates_reckons_no_time():
    settings = cast_settings_as_read({"minutes_a_slug": None})
    assert settings.rates == Rates(0.0, 0.0)
    assert (settings.bands, settings.hand_set, settings.language) == ("thick", False, "eng")
    asked = Options(bands="extra-thin", hand_set=True, minutes_a_slug=4, minutes_a_change=2.5)
    settings = cast_settings(asked)
    assert (settings.bands, settings.hand_set, settings.rates) == (
        "extra-thin",
        True,
        Rates(4, 2.5),
    )
    assert (settings.face, settings.bill, settings.language) == (usual_face(), None, asked.language)
    told = cast_settings_as_read(
        {"bands": "extra-thin", "hand_set": True, "minutes_a_slug": 4, "minutes_a_change": 2.5}
    )
    assert (told.bands, told.hand_set, told.rates) == ("extra-thin", True, Rates(4.0, 2.5))
