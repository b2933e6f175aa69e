"""Every mark in its place: nothing overlaps, all is on the page, the order is the line's."""

from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from markup_cases import HEADING, INDENT, MEASURE, fault, sheet

from proofcheck.base.found import Unread
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box
from proofcheck.marks.paths import extent
from proofcheck.results.marked import lay_out
from proofcheck.results.marked.hatching import hatched
from proofcheck.results.marked.margins import least_moved
from proofcheck.results.marked.parts import Rect

MATTER = ["n", "the", ".", ",", "’", "—", "evening hymn", "½", "a b c d e", ""]
KINDS = sorted(set(Kind) - {Kind.LINES_TRANSPOSED, Kind.LINE_DOUBLED})


@st.composite
def proofs(draw):
    """A sheet of some lines in one or two columns, with any faults anywhere on it."""
    columns = draw(st.integers(1, 2))
    page, lines = sheet(draw(st.integers(1, 14)), columns)
    count = draw(st.integers(0, 40))
    faults = []
    for number in range(1, count + 1):
        line = draw(st.sampled_from(lines))
        faults.append(
            fault(
                line,
                number=number,
                kind=draw(st.sampled_from(KINDS)),
                proof=draw(st.sampled_from(MATTER)),
                copy=draw(st.sampled_from(MATTER)),
                at=draw(st.floats(0, 1)),
                width=draw(st.sampled_from([0, 14, 120])),
                query=draw(st.booleans()),
            )
        )
    return page, lines, faults


def _overlap(one, other):
    """Whether two rectangles share more than an edge."""
    return (
        one.left < other.right
        and other.left < one.right
        and one.top < other.bottom
        and other.top < one.bottom
    )


def _check_nothing_overlaps_and_all_is_on_the_page(page, lines, faults):
    assert {s.fault for s in page.signs} == {f.id for f in faults}
    assert len(page.signs) == len(page.text_marks) == len(faults)
    for one, other in combinations(page.signs, 2):
        assert not _overlap(one.rect, other.rect), (one.fault, other.fault)
    whole = Rect(0, 0, page.width_px, page.height_px)
    for inked in page.inked():
        held = extent(inked.drawing)
        assert whole.left <= held.left
        assert held.right <= whole.right
        assert whole.top <= held.low
        assert held.high <= whole.bottom
    for sign in page.signs:
        held = extent(sign.inked.drawing)
        assert sign.rect.left <= held.left <= held.right <= sign.rect.right
        assert sign.rect.top <= held.low <= held.high <= sign.rect.bottom


def _check_signs_keep_clear_of_the_type_and_of_the_numbers(page, lines, faults):
    left, right = page.at[0] + INDENT, page.at[0] + max(line.box.right for line in lines)
    labels = [Rect(*extent(inked.drawing)) for inked in page.labels]
    for sign in page.signs:
        assert sign.rect.right < left if sign.side == "left" else sign.rect.left > right
        assert not any(_overlap(sign.rect, label) for label in labels)


def _check_signs_of_a_line_stand_in_its_order_and_lines_in_theirs(page, lines, faults):
    # To a millionth of a pixel: two marks over one place come to it by different sums.
    middle = {m.fault.id: round((m.rect.left + m.rect.right) / 2, 6) for m in page.text_marks}
    groups = {}
    for sign in page.signs:
        groups.setdefault((sign.side, sign.line), []).append(sign)
    for signs in groups.values():
        as_read = sorted(signs, key=lambda s: (s.row, s.rect.left))
        places = [middle[s.fault] for s in as_read]
        assert places == sorted(places)
    for side in ("left", "right"):
        found = sorted((line, signs) for (at, line), signs in groups.items() if at == side)
        by_height = [line for line in lines if any(line.number == n for n, _ in found)]
        by_height.sort(key=lambda line: (line.baseline[0], line.number))
        edges = [
            (
                min(s.rect.top for s in groups[side, line.number]),
                max(s.rect.bottom for s in groups[side, line.number]),
            )
            for line in by_height
        ]
        for (_, bottom), (top, _) in pairwise(edges):
            assert bottom <= top + 1e-6


def _check_lead_lines_do_not_cross(page, lines, faults):
    assert len({(lead.side, lead.line) for lead in page.leads}) == len(page.leads)
    for one, other in combinations(page.leads, 2):
        if _same_height(lines, one.line, other.line):
            continue  # the other column's line at the same height
        for p, q in _pieces(one):
            for r, s in _pieces(other):
                assert not _cross(p, q, r, s), (one.line, other.line)


@settings(max_examples=60)
@given(proofs())
def test_any_proof_is_laid_out_as_promised(proof):
    page_sheet, lines, faults = proof
    (page,) = lay_out([page_sheet], lines, faults, HEADING).pages
    _check_nothing_overlaps_and_all_is_on_the_page(page, lines, faults)
    _check_signs_keep_clear_of_the_type_and_of_the_numbers(page, lines, faults)
    _check_signs_of_a_line_stand_in_its_order_and_lines_in_theirs(page, lines, faults)
    _check_lead_lines_do_not_cross(page, lines, faults)


def _same_height(lines, one, other):
    heights = {line.number: line.baseline[0] for line in lines}
    return heights[one] == heights[other]


def _pieces(lead):
    (stroke,) = lead.inked.drawing
    return list(zip(stroke.points, stroke.points[1:], strict=False))


def _cross(a, b, c, d):
    def side(p, q, r):
        value = (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])
        return 0 if abs(value) < 1e-6 else np.sign(value)

    return side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0


def test_marks_stand_in_the_nearer_margin():
    page_sheet, lines = sheet()
    found = [fault(lines[2], number=1, at=0.2), fault(lines[2], number=2, at=0.8)]
    (page,) = lay_out([page_sheet], lines, found, HEADING).pages
    assert [(s.fault, s.side) for s in page.signs] == [("F1", "left"), ("F2", "right")]


def test_each_column_has_its_own_side():
    page_sheet, lines = sheet(columns=2)
    first, second = lines[1], lines[13]
    found = [fault(first, number=1, at=0.9), fault(second, number=2, at=0.1)]
    (page,) = lay_out([page_sheet], lines, found, HEADING).pages
    assert [(s.fault, s.side) for s in page.signs] == [("F1", "left"), ("F2", "right")]


def test_a_lone_sign_stands_at_the_height_of_its_line():
    page_sheet, lines = sheet()
    (page,) = lay_out([page_sheet], lines, [fault(lines[4], at=0.1)], HEADING).pages
    (sign,) = page.signs
    base = lines[4].baseline[0] + page.at[1]
    assert sign.rect.top < base - 9 < sign.rect.bottom
    assert page.leads == ()


def test_a_mark_falls_exactly_on_its_letter():
    page_sheet, lines = sheet()
    found = fault(lines[3], at=0.25, width=14)
    (page,) = lay_out([page_sheet], lines, [found], HEADING).pages
    (mark,) = page.text_marks
    held = extent(mark.inked.drawing)
    assert (held.left + held.right) / 2 == pytest.approx(page.at[0] + found.box.x + 7, abs=0.5)
    base = page.at[1] + lines[3].baseline[0]
    assert held.low < base - 18
    assert held.high > base


def test_a_slanting_line_carries_its_marks_with_it():
    page_sheet, lines = sheet()
    tilted = [
        type(line)(
            line.number,
            line.sheet,
            line.column,
            line.box,
            (line.baseline[0], line.baseline[0] + 9),
            line.x_height_px,
            line.body_pt,
        )
        for line in lines
    ]
    words = fault(tilted[0], kind=Kind.WRONG_WORD, proof="form", copy="from", at=0.1, width=600)
    (page,) = lay_out([page_sheet], tilted, [words], HEADING).pages
    (stroke,) = page.text_marks[0].inked.drawing
    rise = (stroke.points[-1] - stroke.points[0]) @ (0, 1)
    assert rise == pytest.approx(9 * 600 / MEASURE, abs=2)


def test_a_crowded_line_and_a_query_get_a_lead():
    page_sheet, lines = sheet()
    crowd = [fault(lines[5], number=k, at=0.05 * k) for k in range(1, 6)]
    asked = fault(lines[8], number=9, at=0.9, query=True)
    (page,) = lay_out([page_sheet], lines, [*crowd, asked], HEADING).pages
    leads = {(lead.side, lead.line): lead.inked.dash_px for lead in page.leads}
    assert leads.keys() == {("left", 6), ("right", 9)}
    assert leads["left", 6] == 0
    assert leads["right", 9] > 0


def test_margins_grow_only_as_far_as_they_must():
    page_sheet, lines = sheet()
    (clean,) = lay_out([page_sheet], lines, [], HEADING).pages
    crowd = [
        fault(
            lines[5],
            number=k,
            kind=Kind.WORD_MISSING,
            proof="",
            copy="evening hymn",
            at=0.05 * k,
            width=0,
        )
        for k in range(1, 5)
    ]
    (full,) = lay_out([page_sheet], lines, crowd, HEADING).pages
    assert clean.width_px < full.width_px
    assert clean.at[0] < full.at[0]
    assert clean.width_px - clean.at[0] == full.width_px - full.at[0]


def test_a_bad_proof_stays_legible():
    # Three faults on every line of a long page, each a word to be written in.
    page_sheet, lines = sheet(60)
    found = [
        fault(
            line,
            number=3 * line.number + k,
            kind=Kind.WRONG_WORD,
            proof="form",
            copy="concert",
            at=0.1 + 0.35 * k,
            width=60,
        )
        for line in lines
        for k in range(3)
    ]
    (page,) = lay_out([page_sheet], lines, found, HEADING).pages
    assert len(page.signs) == 180
    heights = [s.rect.bottom - s.rect.top for s in page.signs]
    assert min(heights) > 25  # 2 mm at 300 dpi
    for sign in page.signs:
        base = page.at[1] + lines[sign.line - 1].baseline[0]
        assert abs((sign.rect.top + sign.rect.bottom) / 2 - base) < 120


def test_matter_before_the_first_line_and_a_sheet_without_lines():
    page_sheet, lines = sheet()
    out = fault(lines[0], kind=Kind.LINE_MISSING, proof="", copy="a b c d e f", width=0)
    out = type(out)(
        out.id,
        out.kind,
        0,
        out.sheet,
        out.box,
        out.copy,
        out.copy_text,
        out.proof_text,
        out.mark,
        out.certainty,
        out.status,
    )
    (page,) = lay_out([page_sheet], lines, [out], HEADING).pages
    assert len(page.signs) == 1
    (bare,) = lay_out([page_sheet], [], [], HEADING).pages
    assert bare.signs == ()
    assert bare.labels


def test_a_fault_on_no_line_is_refused():
    page_sheet, lines = sheet()
    found = fault(lines[3])
    with pytest.raises(ValueError, match="F1 stands on line 4"):
        lay_out([page_sheet], lines[:2], [found], HEADING)


def test_a_resolution_taken_wrongly_does_not_make_the_marks_vanish():
    for dpi in (72.0, 300.0, 1200.0):
        page_sheet, lines = sheet(dpi=dpi)
        (page,) = lay_out([page_sheet], lines, [fault(lines[0])], HEADING).pages
        held = page.signs[0].rect
        assert 12 < held.bottom - held.top < 0.2 * page.height_px


@given(
    st.lists(st.tuples(st.floats(-50, 50), st.floats(0.5, 9)), min_size=1, max_size=8),
    st.randoms(use_true_random=False),
)
def test_rows_are_moved_as_little_as_can_be(blocks, random):
    # Isotonic regression (Ayer and others 1955): no other places in order, none overlapping,
    # have a smaller sum of squared shifts.
    wanted, heights = (list(values) for values in zip(*blocks, strict=True))
    tops = least_moved(wanted, heights)
    for top, below, height in zip(tops, tops[1:], heights, strict=False):
        assert below >= top + height - 1e-9
    best = sum((t - w) ** 2 for t, w in zip(tops, wanted, strict=True))
    for _ in range(30):
        other = [top + random.uniform(-2, 2) for top in tops]
        for k in range(1, len(other)):
            other[k] = max(other[k], other[k - 1] + heights[k - 1])
        assert sum((t - w) ** 2 for t, w in zip(other, wanted, strict=True)) >= best - 1e-6


def test_no_paragraph_is_joined_from_the_end_of_the_line_before():
    # As on the corrected proof of 1913: out to the right of the one line, back under it, and in
    # to the first letter of the next.
    page_sheet, lines = sheet()
    found = fault(lines[5], kind=Kind.PARAGRAPH, proof="\n", copy=" ", at=0.0, width=0)
    assert found.mark.sign == "no-paragraph"
    (page,) = lay_out([page_sheet], lines, [found], HEADING).pages
    (stroke,) = page.text_marks[0].inked.drawing
    start, stop = stroke.points[0] - page.at, stroke.points[-1] - page.at
    assert start[0] == pytest.approx(lines[4].box.right, abs=10)
    assert lines[4].box.y < start[1] < lines[4].box.bottom
    assert stop[0] == pytest.approx(lines[5].box.x, abs=10)
    assert lines[4].baseline[0] < stop[1] < lines[5].baseline[0]


def test_lines_that_change_places_are_bracketed_together():
    page_sheet, lines = sheet()
    found = fault(
        lines[2],
        kind=Kind.LINES_TRANSPOSED,
        proof="one line",
        copy="the other line and one line",
        other=(4,),
    )
    (page,) = lay_out([page_sheet], lines, [found], HEADING).pages
    held = page.text_marks[0].rect.moved(-page.at[0], -page.at[1])
    assert held.top == pytest.approx(lines[2].box.y, abs=6)
    assert held.bottom == pytest.approx(lines[3].box.bottom, abs=6)
    assert held.right < lines[2].box.x + 2


def _inner_edge(page):
    return max(s.rect.right for s in page.signs if s.side == "left") - page.at[0]


def test_signs_keep_clear_of_what_is_printed_beside_the_lines():
    page_sheet, lines = sheet()
    found = fault(lines[3], at=0.1)
    (page,) = lay_out([page_sheet], lines, [found], HEADING).pages
    assert _inner_edge(page) == pytest.approx(INDENT - 38, abs=15)
    image = page_sheet.image.copy()
    image[150:600, 70:74] = 0  # an upright rule left of the type
    (page,) = lay_out([replace(page_sheet, image=image)], lines, [found], HEADING).pages
    assert _inner_edge(page) < 70


def test_the_dark_round_a_photographed_sheet_is_not_taken_for_print():
    page_sheet, lines = sheet()
    image = page_sheet.image.copy()
    image[:, :14] = 30
    photo = replace(page_sheet, image=image)
    (page,) = lay_out([photo], lines, [fault(lines[3], at=0.1)], HEADING).pages
    assert INDENT - 60 < _inner_edge(page) < INDENT
    # What would not fit between the type and the dark stands beyond it.
    long = fault(lines[3], kind=Kind.WORD_MISSING, proof="", copy="evening hymn", at=0.1, width=0)
    (page,) = lay_out([photo], lines, [long], HEADING).pages
    assert _inner_edge(page) < 0


def test_not_read_is_written_once_over_places_close_under_one_another():
    places = [Unread(0, Box(40, y, 60, 30), "in the shadow") for y in (200, 240, 280, 500)]
    found = hatched(places, 1000, 20.0, 2.0)
    # A word reaches over the frame round its place.
    named = [one.rect.top < place.box.y - 20 for one, place in zip(found, places, strict=True)]
    assert named == [True, False, False, True]
    # Beside one another each has its own.
    places = [Unread(0, Box(x, 200, 60, 30), "in the shadow") for x in (40, 240)]
    assert all(one.rect.top < 180 for one in hatched(places, 1000, 20.0, 2.0))
