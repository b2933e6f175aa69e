"""A revise laid on the proof before it: what was corrected, and what else moved."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import pytest
from revise_cases import FOREIGN, TEXTS, moves, notice, pulled, recast, rng_of, second_scan
from typesetter import double_line, drop_lines, foreign_line, misset, swap_lines, turn_line

from proofcheck.base.found import Fault, LetGo, Mark, Status
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Span
from proofcheck.docket.alterations import alterations_of
from proofcheck.revise import Made, Standing, compare_proofs
from proofcheck.revise.overlay import lay_over
from proofcheck.revise.revise_errors import ReviseError
from proofcheck.revise.slugs import print_of


@lru_cache(maxsize=1)
def faulty():
    """The forme with a wrong letter in line 4 and a wrong word in line 8."""
    forme = misset(notice(), 4, "blacksmith", "blackamith", "wrong-letter")
    return misset(forme, 8, "failed", "fell", "wrong-word")


@lru_cache(maxsize=1)
def first():
    return pulled(faulty(), 1)


def revise(forme, seed=2, **how):
    how = how or second_scan(rng_of(seed))
    return compare_proofs(first(), pulled(forme, seed, **how))


def corrected(*lines):
    """The faulty forme with the lines named cast again without their faults."""
    right, wrong = notice(), faulty()
    slugs = dict(zip([s.uid for s in wrong.slugs], right.slugs, strict=True))
    wanted = {wrong.slugs[line - 1].uid for line in lines}
    items = [slugs[i.uid] if getattr(i, "uid", None) in wanted else i for i in wrong.items]
    planted = tuple(p for p in wrong.planted if p.uid not in wanted)
    return recast(replace(wrong, items=tuple(items), planted=planted), rng_of(5), lines)


@pytest.mark.parametrize("seed", [11, 12, 13])
def test_the_same_metal_pulled_again_is_the_same(seed):
    told = revise(faulty(), seed)
    assert {slug.standing for slug in told.slugs} == {Standing.STOOD}
    assert [c.made for c in told.corrections] == [Made.MISSED, Made.MISSED]
    assert told.findings == ()
    assert told.read_again == ()


def test_corrections_made_are_told_from_those_missed():
    told = revise(corrected(4))
    assert [(c.line, c.made) for c in told.corrections] == [(4, Made.MADE), (8, Made.MISSED)]
    assert told.findings == ()
    assert told.slug(4).standing is Standing.RECAST
    # Slug matter: the whole line is read again, and the lines above and below it.
    assert told.read_again == (3, 4, 5)
    both = revise(corrected(4, 8), 3)
    assert [c.made for c in both.corrections] == [Made.MADE, Made.MADE]
    assert both.clean


def test_a_correction_set_wrong_is_a_new_fault():
    forme = misset(corrected(4, 8), 4, "blacksmith", "blocksmith", "wrong-letter")
    told = revise(recast(forme, rng_of(7), [4]))
    # The fault that was to be cured is gone, and another stands in its line.
    assert told.corrections[0].made is Made.MADE
    assert [(each.kind, each.line) for each in told.findings] == [("new-fault", 4)]
    assert not told.clean


def test_a_new_fault_in_the_recast_line_is_found():
    forme = misset(corrected(4, 8), 4, "note", "mote", "wrong-letter")
    told = revise(forme)
    assert ("new-fault", 4) in moves(told)


def test_a_slug_cast_again_unasked_is_found_though_it_reads_alike():
    told = revise(recast(corrected(4, 8), rng_of(3), [6]))
    assert moves(told) == [("slug-recast", 6)]


def test_slugs_swapped_are_found():
    told = revise(swap_lines(corrected(4, 8), 5, 6))
    assert moves(told) == [("slugs-swapped", 5)]
    far = revise(swap_lines(corrected(4, 8), 3, 10), 4)
    assert moves(far) == [("slugs-swapped", 3)]


@pytest.mark.parametrize("pair", [(5, 6), (4, 8)])
def test_a_swap_put_right_is_one_correction_and_no_finding(pair):
    swapped = swap_lines(notice(), *pair)
    before = pulled(swapped, 111, copy=notice().copy)
    told = compare_proofs(before, pulled(notice(), 112))
    assert [c.made for c in told.corrections] == [Made.MADE]
    assert told.findings == ()
    left = compare_proofs(before, pulled(swapped, 113, copy=notice().copy))
    assert [c.made for c in left.corrections] == [Made.MISSED]
    others = compare_proofs(before, pulled(swap_lines(notice(), 2, 3), 114, copy=notice().copy))
    assert [c.made for c in others.corrections] == [Made.MADE]
    assert [move for move, _ in moves(others)] == ["slugs-swapped"]


def test_a_slug_dropped_is_found():
    assert moves(revise(drop_lines(corrected(4, 8), 6))) == [("slug-dropped", 5)]


def test_a_short_slug_dropped_is_found_though_the_copy_is_laid_over_its_gap():
    formes = [notice(measure, (TEXTS[0], TEXTS[1] + tail, TEXTS[0])) for measure in (18, 20, 22)
              for tail in (" So be it.", " Nobody need bring a chair.")]  # fmt: skip
    short, forme = next(
        (n, forme)
        for forme in formes
        for n, slug in enumerate(forme.slugs, 1)
        if len(slug.text) < 14
    )
    report = pulled(forme, 3)
    told = compare_proofs(report, pulled(drop_lines(forme, short), 4, copy=forme.copy), [])
    assert moves(told) == [("slug-dropped", short - 1)]


def test_a_slug_twice_on_the_copy_is_doubled_where_it_stands_a_third_time():
    line = "Nails, cut, per pound weight, fourpence three farthings."
    forme = notice(24, texts=(line, TEXTS[1], line))
    assert len({s.text for s in forme.slugs}) < len(forme.slugs)
    told = compare_proofs(pulled(forme, 5), pulled(double_line(forme, 2), 6, copy=forme.copy), [])
    assert [kind for kind, _ in moves(told)] == ["slug-doubled"]


def test_dirt_beyond_a_line_does_not_make_it_another():
    report, box = first(), first().lines[6].box
    image = report.sheets[0].image.copy()
    image[box.y + 8 : box.y + 16, box.right + 90 : box.right + 104] = 30
    lines = [
        replace(line, box=line.box._replace(width=line.box.width + 104))
        if line.number == 7
        else line
        for line in report.lines
    ]
    sheets = (replace(report.sheets[0], image=image),)
    dirty = replace(report, sheets=sheets, lines=tuple(lines))
    told = compare_proofs(dirty, pulled(faulty(), 14))
    assert told.slug(7).standing is Standing.STOOD


def test_a_letter_changed_in_a_line_that_stood_is_a_new_fault():
    """In type set by hand one letter may be changed for one as wide, and nothing else stirs."""
    forme = misset(corrected(4, 8), 6, "affair", "affeir", "wrong-letter")
    told = revise(forme)
    (found,) = told.findings
    assert (found.kind, found.line, bool(found.fault)) == ("new-fault", 6, True)


def test_a_slug_recast_with_its_old_fault_is_missed_and_one_of_two_is_half_made():
    two = misset(faulty(), 4, "note", "mote", "wrong-letter")
    before = pulled(two, 41)
    half = recast(misset(corrected(4, 8), 4, "note", "mote", "wrong-letter"), rng_of(1), [4])
    told = compare_proofs(before, pulled(half, 42, copy=half.copy, **second_scan(rng_of(2))))
    by_words = {c.words: c.made for c in told.corrections if c.line == 4}
    assert sorted(by_words.values()) == [Made.MADE, Made.MISSED]
    again = compare_proofs(first(), pulled(recast(faulty(), rng_of(3), [4]), 43))
    assert {c.made for c in again.corrections} == {Made.MISSED}
    assert again.read_again == (3, 4, 5)


def test_a_slug_standing_twice_is_found():
    told = revise(double_line(corrected(4, 8), 6))
    assert [kind for kind, _ in moves(told)] == ["slug-doubled"]
    assert moves(told)[0][1] in (6, 7)


def test_the_old_slug_left_in_beside_the_new_is_found():
    """The doublet: the corrected slug put in and the wrong one not lifted out."""
    forme = foreign_line(corrected(4, 8), 4, faulty().slugs[3].text, full=True)
    told = revise(forme)
    assert any(kind in ("slug-doubled", "slug-recast", "slug-foreign") for kind, _ in moves(told))
    assert {line for _, line in moves(told)} <= {4, 5}


def test_a_slug_end_for_end_is_found():
    told = revise(turn_line(corrected(4, 8), 6))
    assert ("slug-turned", 6) in moves(told)


def test_a_slug_of_another_job_is_found():
    told = revise(foreign_line(corrected(4, 8), 6, FOREIGN))
    assert ("slug-foreign", 7) in moves(told)


def test_matter_run_over_is_no_finding_to_the_end_of_its_paragraph():
    """A word put in, its paragraph set anew from there; the next paragraph is the old metal."""
    texts = (TEXTS[0].replace("a fine sense", "a very fine and sure sense"), TEXTS[1])
    again = notice(texts=texts)
    lines = range(5, len(again.slugs) + 1)
    second = sum(TEXTS[1].startswith(s.text[:8]) for s in again.slugs)
    assert second == 1
    start = next(n for n, s in enumerate(again.slugs, 1) if TEXTS[1].startswith(s.text[:8]))
    again = recast(again, rng_of(9), [n for n in lines if n < start])
    clean = pulled(notice(), 21)
    changes = [
        {"old": change.old, "new": change.new}
        for change in alterations_of(clean.copy.text, again.copy)
    ]
    told = compare_proofs(clean, pulled(again, 22), [], changes)
    assert told.findings == ()
    stood = [slug.standing for slug in told.slugs]
    assert set(stood[start - 1 :]) == {Standing.STOOD}
    assert Standing.RECAST in stood


def test_a_revise_of_another_job_is_refused():
    other = notice(
        texts=("Nails, cut, per pound weight, fourpence three farthings the pound. " * 6,)
    )
    strange = pulled(other, 5)
    with pytest.raises(ReviseError, match="another job"):
        compare_proofs(first(), strange)
    with pytest.raises(ReviseError, match="very scan"):
        compare_proofs(first(), first())


def test_pages_in_another_order_are_refused():
    one, two = first(), pulled(notice(texts=(FOREIGN + ". " + TEXTS[1],)), 6)
    with pytest.raises(ReviseError, match="sheet 1 of the revise is sheet 2"):
        compare_proofs(_together(one, two), _together(two, one), [])


def test_a_sheet_left_out_is_asked_for():
    one, two = first(), pulled(notice(texts=(FOREIGN + ". " + TEXTS[1],)), 6)
    later = pulled(faulty(), 7)
    with pytest.raises(ReviseError, match="no slug of sheet 2"):
        compare_proofs(_together(one, two), later, [])
    assert compare_proofs(_together(one, two), _together(later, two), []).findings == ()


def _together(*reports):
    """Several proofs of one sheet as one of several."""
    lines, readings, placings, sheets = [], [], [], []
    for number, report in enumerate(reports):
        start = len(lines)
        sheets.append(replace(report.sheets[0], number=number))
        lines += [replace(x, number=x.number + start, sheet=number) for x in report.lines]
        readings += [replace(x, line=x.line + start) for x in report.readings]
        placings += [replace(x, line=x.line + start) for x in report.collation.placings]
    whole = replace(reports[0].collation, placings=tuple(placings), differences=())
    return replace(
        reports[0], sheets=tuple(sheets), lines=tuple(lines), readings=tuple(readings),
        collation=whole, faults=(),
    )  # fmt: skip


def test_an_even_shift_and_stretch_is_no_other_slug():
    report = first()
    line = report.lines[4]
    a = print_of(report.sheets[0], line, x_height_px=line.x_height_px)
    b = print_of(report.sheets[0], line, x_height_px=line.x_height_px, stretch=1.004)
    told = lay_over(a, b)
    assert told.same()
    assert told.pieces > 10


# ------------------------------------------------------------------ made only where it is seen


def read_without(report, *ids):
    """The report as a reader would give it that took these places for right this time."""
    return replace(report, faults=tuple(f for f in report.faults if f.id not in ids))


@pytest.mark.parametrize("seed", [51, 52, 53])
def test_the_same_metal_is_not_made_right_by_being_read_otherwise(seed):
    again = pulled(faulty(), seed, **second_scan(rng_of(seed)))
    told = compare_proofs(first(), read_without(again, "F1", "F2"))
    assert [c.made for c in told.corrections] == [Made.MISSED, Made.MISSED]
    assert "the same metal stands there" in told.corrections[0].why


@pytest.mark.parametrize("wear", ["clean", "good", "worn"])
@pytest.mark.parametrize(
    ("right", "wrong"), [("note", "uote"), ("affair", "affaiv"), ("who", "wha")]
)
def test_a_letter_changed_by_hand_in_a_line_that_stood_is_made(right, wrong, wear):
    """In type from the case one letter goes for another as wide, and nothing else stirs."""
    forme = notice()
    line = next(n for n, slug in enumerate(forme.slugs, 1) if n > 1 and right in slug.text)
    before = pulled(misset(forme, line, right, wrong, "wrong-letter"), 61)
    told = compare_proofs(before, pulled(forme, 62, wear=wear, copy=before.copy.text))
    assert [c.made for c in told.corrections] == [Made.MADE]


def let_go_at(fault):
    return LetGo(
        fault.kind, fault.line, fault.sheet, fault.box, fault.copy, fault.copy_text, "x", 0.01,
        "an unlikely reading",
    )  # fmt: skip


def test_a_place_that_is_queried_or_was_let_go_does_not_read_as_the_copy():
    right = pulled(corrected(4, 8), 71)
    there = first().faults[0]
    queried = replace(right, faults=(replace(there, status=Status.QUERY, proof_text="x"),))
    assert compare_proofs(first(), queried).corrections[0].made is Made.PARTLY
    let_go = replace(right, let_go=(let_go_at(there),))
    told = compare_proofs(first(), let_go).corrections[0]
    assert told.made is Made.PARTLY
    assert "read as “x”" in told.why
    assert compare_proofs(first(), right).corrections[0].made is Made.MADE


@pytest.mark.slow
def test_slugs_left_as_they_were_are_not_put_in_order_by_being_read_so():
    for muddle, kind in (
        (swap_lines(notice(), 5, 6), "lines-transposed"),
        (double_line(notice(), 7), "line-doubled"),
        (drop_lines(notice(), 6), "missing"),
    ):
        before = pulled(muddle, 81, copy=notice().copy)
        asked = [f.id for f in before.faults if kind in f.kind.value]
        assert asked, kind
        again = pulled(muddle, 82, copy=notice().copy)
        told = compare_proofs(before, read_without(again, *(f.id for f in again.faults)), asked)
        assert {c.made for c in told.corrections} == {Made.MISSED}, kind
        cured = compare_proofs(before, pulled(notice(), 83), asked)
        assert {c.made for c in cured.corrections} == {Made.MADE}, kind


def with_bar(report, *, told):
    """The report with a space that prints between the first two words of line 6."""
    (sheet,), line, reading = report.sheets, report.line(6), report.reading(6)
    at = reading.text.index(" ")
    gap = reading.letters[at].box
    bar = Box(
        gap.x + 2, line.box.y + 2, max(gap.width - 4, 3), round(line.baseline[0]) - line.box.y
    )
    image = sheet.image.copy()
    image[bar.y : bar.bottom, bar.x : bar.right] = 25
    mark = Mark("work-up", "", "⊥", "ring", "a space prints")
    here = report.placed(6).start + at
    fault = Fault("F1", Kind.WORK_UP, 6, 0, bar, Span(here, here + 1), "", "", mark, 0.97,
                  Status.FAULT)  # fmt: skip
    faults = (fault,) if told else ()
    return replace(report, sheets=(replace(sheet, image=image),), faults=faults)


def test_a_space_pushed_down_is_made_on_the_same_slug_and_one_that_prints_still_is_missed():
    """What the stone cures asks for no new slug (common practice)."""
    before = with_bar(pulled(notice(), 101), told=True)
    again = pulled(notice(), 102, copy=before.copy.text)
    cured = compare_proofs(before, again).corrections[0]
    assert (cured.made, "at the stone" in cured.why) == (Made.MADE, True)
    for told in (True, False):
        still = compare_proofs(before, with_bar(again, told=told))
        assert still.corrections[0].made is Made.MISSED


def test_a_query_granted_is_a_correction_and_no_finding():
    """The slug was cast again for it, though no fault asked for that."""
    first_report = first()
    asked = replace(first_report.faults[0], status=Status.QUERY)
    before = replace(first_report, faults=(asked, *first_report.faults[1:]))
    told = compare_proofs(before, pulled(corrected(4, 8), 103))
    assert [c.made for c in told.corrections] == [Made.MADE, Made.MADE]
    assert not [f for f in told.findings if f.line == 4]
    left = compare_proofs(before, pulled(corrected(8), 104))
    assert [c.fault for c in left.corrections] == [first_report.faults[1].id]


def test_a_query_on_a_slug_cast_again_is_told_as_new():
    right = pulled(corrected(4, 8), 91)
    query = replace(first().faults[0], id="F1", status=Status.QUERY)
    elsewhere = replace(query, copy=Span(query.copy.start + 20, query.copy.start + 21))
    told = compare_proofs(first(), replace(right, faults=(elsewhere,)))
    assert ("new-fault", 4) in moves(told)
