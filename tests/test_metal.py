"""Faults of the type itself, planted in set matter whose letters are all known."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from metal_cases import PROSE, copy_of, findings, metal_faults, prose_forme, seen
from typesetter import (
    Para,
    Style,
    broken_letter,
    compose,
    hairline,
    misset,
    off_line,
    shift_line,
    turned_sort,
    uneven_spacing,
    work_up,
    wrong_font,
)
from typesetter.faults import put, slug_at

from proofcheck.base.found import Cause, Difference, Found, Status
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Emphasis, Reading, Span
from proofcheck.collate import collate
from proofcheck.faults import make_faults, merge_metal
from proofcheck.metal import MetalSettings, look_at_type

FAULT = 0.5


FACES = ("schola", "old-standard", "goudy")


@pytest.fixture(scope="module")
def forme():
    return prose_forme()


@pytest.fixture(scope="module")
def planted(forme):
    """One fault of each kind a line: the findings of the whole, by line."""
    text = {n: slug.text.split() for n, slug in enumerate(forme.slugs, 1)}
    longest = {n: max(words, key=lambda w: len(w) * w.isalpha()) for n, words in text.items()}
    faulty = turned_sort(forme, 2, longest[2], letter=_first(longest[2], "aethr"))
    faulty = work_up(faulty, 3, 2)
    faulty = off_line(faulty, 4, longest[4], by_em=0.11)
    faulty = off_line(faulty, 6, longest[6], by_em=-0.11)
    faulty = wrong_font(
        faulty, 7, longest[7], letter=_first(longest[7], "aehnr"), other="schola", style="italic"
    )
    faulty = uneven_spacing(faulty, 9, (0.2, 0.6))
    faulty = put(faulty, _doubled(slug_at(faulty, 10)))
    faulty = shift_line(faulty, 11, -9.0)
    faulty = broken_letter(faulty, 12, longest[12], letter=_first(longest[12], "aehn"), seed=BREAK)
    held = seen(faulty)
    found = metal_faults(*held)
    return {n: [each for each in found if each.line == n] for n in text}, longest


BREAK = 3
"""A seed whose break takes more than a fifth of the letter."""


def _first(word, letters):
    return next(at for at, letter in enumerate(word) if letter in letters)


def _doubled(slug):
    """The second space of a line twice as wide, the others giving what it takes."""
    spaces = [at for at, sort in enumerate(slug.sorts) if sort.text == " "]
    wide = slug.sorts[spaces[1]].width_pt
    give = wide / (len(spaces) - 1)
    change = {at: wide if at == spaces[1] else -give for at in spaces}
    sorts = tuple(
        replace(sort, width_pt=sort.width_pt + change[at], band=False) if at in change else sort
        for at, sort in enumerate(slug.sorts)
    )
    return replace(slug, sorts=sorts)


def called(found):
    return [each for each in found if each.certainty >= FAULT and not each.only_query]


@pytest.mark.parametrize(("family", "seed"), list(zip(FACES, (1, 2, 3), strict=True)))
def test_sound_type_is_let_alone(family, seed):
    assert called(findings(prose_forme(family=family), seed=seed)) == []


@pytest.mark.parametrize(
    ("line", "kind"),
    [
        (2, Kind.TURNED_SORT),
        (3, Kind.WORK_UP),
        (4, Kind.OFF_LINE),
        (6, Kind.OFF_LINE),
        (7, Kind.WRONG_FONT),
        (9, Kind.UNEVEN_SPACING),
        (10, Kind.UNEVEN_SPACING),
        (11, Kind.CROOKED_LINE),
        (12, Kind.BROKEN_LETTER),
    ],
)
def test_each_kind_is_told_once_in_its_place(planted, line, kind):
    by_line, _ = planted
    assert {each.kind for each in called(by_line[line])} == {kind}
    assert len(called(by_line[line])) == 1


def test_lines_without_a_fault_have_none(planted):
    by_line, _ = planted
    for line in (1, 5, 8):
        assert called(by_line[line]) == []


def test_it_is_told_how_it_is_wrong(planted):
    by_line, longest = planted
    (turned,) = called(by_line[2])
    assert turned.copy_text in longest[2]
    assert turned.cause is Cause.TURNED_SORT
    assert "high" in called(by_line[4])[0].words
    assert "low" in called(by_line[6])[0].words
    assert "even" in called(by_line[9])[0].words
    (doubled,) = called(by_line[10])
    assert doubled.letters.end - doubled.letters.start == 1


@pytest.mark.parametrize(("find", "letter"), [("band", 2), ("upper", 1)])
def test_a_turned_sort_that_reads_as_another_is_told_by_its_ink(forme, find, letter):
    # n prints as u, p as d: among MacKellar's list of turned letters hard to see.
    line = next(n for n, slug in enumerate(forme.slugs, 1) if find in slug.text)
    found = called(findings(turned_sort(forme, line, find, letter=letter)))
    assert [(each.line, each.kind) for each in found] == [(line, Kind.TURNED_SORT)]
    assert found[0].copy_text == find[letter]


def test_another_letter_is_no_turned_one(forme):
    line = next(n for n, slug in enumerate(forme.slugs, 1) if "band" in slug.text)
    swapped = misset(forme, line, "band", "baud", "wrong-letter")
    assert Kind.TURNED_SORT not in {each.kind for each in findings(swapped)}


def test_a_hairline_is_told_apart_from_a_work_up(forme):
    word = forme.slugs[5].text.split()[3]
    found = called(findings(hairline(forme, 6, word, letter=1), worn=False))
    assert [(each.line, each.kind) for each in found] == [(6, Kind.HAIRLINE)]


def test_one_place_has_one_fault(forme):
    sheets, lines, readings, collation, copy = seen(work_up(forme, 3, 1))
    # A reader that takes the bar for a bracket: the text has an extra point there.
    reading = readings[2]
    gap = next(at for at, letter in enumerate(reading.letters) if letter.text == " ")
    box = reading.letters[gap].box
    bar = Box(box.x + box.width // 3, box.y - 8, max(box.width // 3, 2), 40)
    letters = list(reading.letters)
    letters[gap : gap + 1] = [letters[gap], replace(letters[gap], text="[", box=bar)]
    misread = [*readings[:2], Reading(3, tuple(letters)), *readings[3:]]
    extra = Difference(Kind.POINT_EXTRA, 3, Span(gap + 1, gap + 2), "[", Span(0, 0), "")
    collation = replace(collation, differences=(extra,))
    found = metal_faults(sheets, lines, misread, collation, copy)
    text = Found(extra, 0, bar, 0.9, Status.FAULT)
    merged = make_faults(merge_metal([text], found, misread, collation, copy))
    assert [(fault.id, fault.kind) for fault in merged if fault.line == 3] == [("F1", Kind.WORK_UP)]
    assert merged[0].mark.sign == "push-down"


def test_a_wrong_letter_is_not_also_off_its_line_and_settings_bear(forme):
    sheets, lines, readings, collation, copy = seen(off_line(forme, 8, "the", by_em=0.11))
    found = metal_faults(sheets, lines, readings, collation, copy)
    (finding,) = called(each for each in found if each.line == 8)
    letter = Difference(Kind.WRONG_LETTER, 8, finding.letters, "y", Span(0, 1), "x")
    wrong = Found(letter, 0, finding.box, 0.9, Status.FAULT)
    merged = make_faults(merge_metal([wrong], found, readings, collation, copy))
    assert [fault.kind for fault in merged if fault.line == 8] == [Kind.WRONG_LETTER]
    lax = metal_faults(
        sheets, lines, readings, collation, copy, settings=MetalSettings(off_line_x=0.5)
    )
    assert Kind.OFF_LINE not in {each.kind for each in lax}


def test_nothing_is_said_of_no_lines_or_of_another_job(forme):
    sheets, lines, readings, collation, copy = seen(forme)
    assert metal_faults([], [], [], collation, copy) == ()
    other = replace(collation, mismatch=True)
    assert metal_faults(sheets, lines, readings, other, copy_of("")) == ()


def test_the_map_shows_where_the_form_prints_light(forme):
    sheets, lines, readings, collation, copy = seen(forme)
    even = look_at_type(sheets, lines, readings, collation, copy)
    assert np.nanmax(np.abs(even.impression[0].share - 1)) < 0.1
    assert not even.notes
    # The foot of the form a fifth lighter: every grey there so much nearer to the paper.
    image = sheets[0].image.astype(np.float32)
    foot = image.shape[0] * 2 // 3
    thin = cv2.dilate(image, np.ones((2, 2)))
    image[foot:] = thin[foot:]
    light = replace(sheets[0], image=image.astype(np.uint8))
    shown = look_at_type([light], lines, readings, collation, copy)
    rows = [row[np.isfinite(row)] for row in shown.impression[0].share]
    told = [row.mean() for row in rows if len(row)]
    assert told[-1] < told[0] - 0.1
    assert any("light" in note for note in shown.notes)


def test_a_stub_of_a_paragraph_is_noted():
    style = Style(family="schola")
    paragraphs = [Para(text) for text in (*PROSE, "It rained.")]
    forme = compose(paragraphs, measure_picas=24, style=style)
    sheets, lines, readings, collation, copy = seen(forme)
    last = readings[-1]
    stub = replace(last, letters=last.letters[:2])
    text = copy.text[: copy.text.rindex("It rained.")]
    assert not look_at_type(sheets, lines, readings, collation, copy).notes
    joined = text.rstrip("\n") + " It"
    copy = copy_of(joined)
    readings = (*readings[:-1], stub)
    collation = collate(copy, readings, lines=lines)
    notes = look_at_type(sheets, lines, readings, collation, copy).notes
    assert any("ends a paragraph with 2 letters" in note for note in notes)


@pytest.mark.parametrize("asked", ["as printed", "roman wanted", "italic wanted"])
def test_posture_is_held_to_the_copy(asked):
    text = PROSE[0].replace("mill stood still", "_mill stood still_")
    forme = compose([Para(text), *(Para(more) for more in PROSE[1:])], measure_picas=24)
    sheets, lines, readings, collation, copy = seen(forme)
    start = copy.text.index("mill stood still")
    spans = {
        "as printed": [Span(start, start + 16)],
        "roman wanted": [Span(0, 3)],
        "italic wanted": [
            Span(start, start + 16),
            Span(copy.text.index("whole way"), copy.text.index("whole way") + 9),
        ],
    }[asked]
    emphasis = tuple(Emphasis(span, "italic") for span in spans)
    found = metal_faults(sheets, lines, readings, collation, replace(copy, emphasis=emphasis))
    told = [(each.sign, each.proof_text) for each in called(found) if each.sign in SIGNS_OF_POSTURE]
    assert (
        told
        == {
            "as printed": [],
            "roman wanted": [("roman", "mill"), ("roman", "stood"), ("roman", "still")],
            "italic wanted": [("italic", "whole")],
        }[asked]
    )


SIGNS_OF_POSTURE = {"italic", "roman"}


def test_a_damaged_mat_is_told_once_with_all_its_places(forme):
    # A damaged mat leaves one scar on every letter cast from it (common practice of machine shops).
    scarred, lines = forme, (2, 5, 8, 11)
    for line in lines:
        word = next(w for w in forme.slugs[line - 1].text.split() if "e" in w and w.isalpha())
        scarred = broken_letter(scarred, line, word, letter=word.index("e"), seed=BREAK)
    found = [each for each in called(findings(scarred)) if each.kind is Kind.BROKEN_LETTER]
    # One of the four may hide its scar in the wear of this pull.
    assert len(found) == 1
    assert {found[0].line, *found[0].other_lines} <= set(lines)
    assert len(found[0].other_lines) >= 2
    assert "damaged mat" in found[0].words


@pytest.mark.parametrize(
    ("points", "told"),
    [(". . . .", True), (".......", False), (". . .", True)],
    ids=["four points", "leaders", "three points"],
)
def test_a_doubled_space_is_told_beside_points_of_matter_left_out(points, told):
    """Three points or four say that matter is left out; leaders are more: `common practice`."""
    text = PROSE[0].replace("a fine sense", f"a {points} fine sense")
    forme = compose([Para(text)], measure_picas=24, style=Style())
    line = next(n for n, slug in enumerate(forme.slugs, 1) if points in slug.text)
    faulty = put(forme, _doubled(slug_at(forme, line)))
    spacing = [each for each in findings(faulty) if each.kind is Kind.UNEVEN_SPACING]
    assert [each.line for each in spacing if each.certainty > 0.5] == [line] * told


def test_a_doubled_space_is_told_in_an_entry_of_capitals_and_dates():
    """An entry with a name in capitals is no head: its spaces are even: `common practice`."""
    text = PROSE[0].replace("a fine sense", "wed ANNE ABBOTT 1790 a fine sense")
    forme = compose([Para(text)], measure_picas=16, style=Style())
    line = next(n for n, slug in enumerate(forme.slugs, 1) if "ANNE ABB" in slug.text)
    held = slug_at(forme, line).text
    assert 0.3 < sum(map(str.islower, held)) / sum(map(str.isalnum, held)) <= 0.5
    faulty = put(forme, _doubled(slug_at(forme, line)))
    spacing = [each for each in findings(faulty) if each.kind is Kind.UNEVEN_SPACING]
    assert [each.line for each in spacing if each.certainty > 0.5] == [line]
