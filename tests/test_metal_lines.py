"""Lines of a proof that are wrong as a whole, and what stands between them.

Sources are named beside the checks; what is marked common practice has no single one.
"""

from __future__ import annotations

from dataclasses import replace

import cv2
import pytest
from metal_cases import PROSE, findings, metal_faults, prose_forme, seen
from typesetter import Para, Style, compose, off_line
from typesetter.faults import put, slug_at

from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Emphasis, Letter, Span
from proofcheck.metal import MetalSettings
from proofcheck.metal.context import Matter
from proofcheck.metal.spaces import word_spaces


def of_kind(found, *kinds):
    return [each for each in found if each.kind in kinds and each.certainty >= 0.5]


@pytest.fixture(scope="module")
def forme():
    return prose_forme()


def test_a_letter_of_a_short_last_line_is_held_to_it(forme):
    # A reader marks letters out of line wherever they stand (S1 and S4, tables of marks).
    last = len(forme.slugs)
    word = slug_at(forme, last).text.split()[0]
    told = of_kind(findings(off_line(forme, last, word, by_em=0.1)), Kind.OFF_LINE)
    assert [(each.line, each.words[-4:]) for each in told] == [(last, "high")]


def test_a_capital_of_a_head_is_held_to_it():
    # The same, in a line of capitals: too few of each to lay on each other.
    head = Para("OVERTURE FOR THE OPENING OF THE LOCK", align="centre")
    forme = compose([head, *(Para(text) for text in PROSE)], measure_picas=24)
    assert not of_kind(findings(forme), Kind.OFF_LINE)
    told = of_kind(findings(off_line(forme, 1, "LOCK", by_em=-0.11)), Kind.OFF_LINE)
    assert [(each.line, each.proof_text, each.words[-3:]) for each in told] == [(1, "L", "low")]


def leaded(forme, box, **how):
    """The findings on a proof with a black bar: row, ems from its left and under its baseline."""
    sheets, lines, readings, collation, copy = seen(forme, **how)
    row, x, down, long, thick = box
    line = lines[row]
    em = line.body_pt * 300 / 72.27
    left, top = round(line.box.x + x * em), round(line.baseline[0] + down * em)
    image = sheets[0].image.copy()
    cv2.rectangle(
        image, (left, top), (left + round(long * em), top + round(thick * em) - 1), 0, cv2.FILLED
    )
    sheets = [replace(sheets[0], image=image)]
    return metal_faults(sheets, lines, readings, collation, copy)


@pytest.mark.parametrize("long", [2.0, 6.0])
def test_a_lead_that_prints_is_tied_to_the_line_above(forme, long):
    # Stewart, Typesetting (1919): spaces and leads that stand up and print are pushed down; leads
    # are of two points.
    told = of_kind(leaded(forme, (4, 5.0, 0.25, long, 0.2)), Kind.WORK_UP)
    assert [(each.line, each.only_query) for each in told] == [(5, False)]
    assert "under line 5" in told[0].words


def test_a_rule_across_the_measure_is_a_query_at_most(forme):
    # Common practice: a rule may be the job's own, and the copy can't show it.
    told = of_kind(leaded(forme, (4, 0.0, 0.25, 27.0, 0.1)), Kind.WORK_UP)
    assert all(each.only_query for each in told)


def test_a_rule_in_more_white_than_between_lines_is_let_alone():
    blocks = [Para(PROSE[0]), Para(PROSE[1], style=Style(lead_pt=2.0)), Para(PROSE[2])]
    forme = compose(blocks, measure_picas=24)
    row = next(n for n, slug in enumerate(forme.slugs) if not slug.full)
    wide = put(forme, replace(slug_at(forme, row + 1), lead_pt=12.0))
    assert not of_kind(leaded(wide, (row, 5.0, 0.8, 5.0, 0.1)), Kind.WORK_UP)


def cast(forme, number, **sort):
    slug = slug_at(forme, number)
    return put(forme, replace(slug, sorts=tuple(replace(s, **sort) for s in slug.sorts)))


@pytest.mark.parametrize("how", [{"size_pt": 9.0}, {"size_pt": 11.0}, {"family": "old-standard"}])
def test_a_line_of_another_body_or_face_is_told(forme, how):
    # Common practice: a correction slug of another body or face is a usual accident of putting in.
    told = of_kind(findings(cast(forme, 6, **how)), Kind.WRONG_FONT)
    whole = [each for each in told if each.letters.end - each.letters.start > 20]
    assert [each.line for each in whole] == [6]
    assert ("body" in whole[0].words) == ("size_pt" in how)


def test_sound_lines_are_of_one_body_and_face(forme):
    assert not of_kind(findings(forme), Kind.WRONG_FONT, Kind.CROOKED_LINE)


@pytest.mark.parametrize("asked", ["as printed", "light wanted", "bold wanted"])
def test_weight_is_held_to_the_copy(asked):
    # S1 and S4, tables of marks: b.f., a wavy line under what is to be in bold face.
    text = PROSE[0].replace("mill stood still", "*mill stood still*")
    forme = compose([Para(text), *(Para(more) for more in PROSE[1:])], measure_picas=24)
    sheets, lines, readings, collation, copy = seen(forme)
    start, way = copy.text.index("mill stood still"), copy.text.index("whole way")
    bold = Span(start, start + 16)
    spans = {
        "as printed": [bold],
        "light wanted": [Span(0, 3)],
        "bold wanted": [bold, Span(way, way + 9)],
    }[asked]
    emphasis = tuple(Emphasis(span, "bold") for span in spans)
    found = metal_faults(sheets, lines, readings, collation, replace(copy, emphasis=emphasis))
    told = [each.words for each in of_kind(found, Kind.WRONG_FONT) if each.words]
    assert (
        told
        == {
            "as printed": [],
            "light wanted": [f"set “{word}” in light face" for word in ("mill", "stood", "still")],
            "bold wanted": ["set “whole” in bold"],
        }[asked]
    )


def test_an_indent_unlike_the_others_is_told():
    # Stewart, Typesetting (1919): one em in narrow measures, all paragraphs of a job alike.
    texts = [" ".join((PROSE[n % 3].split() * 2)[n : n + 26]) for n in range(7)]
    even = compose([Para(text) for text in texts], measure_picas=24)
    assert not of_kind(findings(even), Kind.CROOKED_LINE)
    odd = [Para(text, indent_pt=22.0 if n == 4 else None) for n, text in enumerate(texts)]
    told = of_kind(findings(compose(odd, measure_picas=24)), Kind.CROOKED_LINE)
    assert [each.sign for each in told] == ["move-left"]
    assert told[0].words.startswith("indent the line 1.0 em, not 2.")


def test_spaces_read_within_letterspaced_words_are_none_of_the_line():
    # To space the letters of a line out is a way to set it: `common practice`.
    forme = compose([Para("Notices of the ferry and of the market are to be had here")],
                    measure_picas=30, style=Style(family="schola"))  # fmt: skip
    sheets, lines, readings, collation, copy = seen(forme)
    (reading,) = readings

    def with_spaces_at(*places):
        letters = list(reading.letters)
        for at in sorted(places, reverse=True):
            before, after = letters[at - 1].box, letters[at].box
            gap = Box(before.right, after.y, max(after.x - before.right, 1), after.height)
            letters.insert(at, Letter(" ", gap, 1.0))
        return [replace(reading, letters=tuple(letters))]

    spaced = with_spaces_at(1, 3, 5, 16)
    found = metal_faults(sheets, lines, spaced, collation, copy)
    assert [one for one in found if one.kind is Kind.UNEVEN_SPACING] == []
    matters = [
        Matter.of(sheets, lines, each, collation, copy, MetalSettings())
        for each in (spaced, with_spaces_at(3))
    ]
    words = len(copy.text.split())
    assert [len(word_spaces(each).at) for each in matters] == [0, words], "one more may be a fault"
