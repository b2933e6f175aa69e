"""The whole plan on proofs of the test typesetter, whose widths, bands and measure are known."""

from __future__ import annotations

import re
from dataclasses import replace

import pypdfium2
import pytest
from typesetter import (
    GivenLine,
    Head,
    Para,
    Style,
    compose,
    double_line,
    drop_lines,
    lines_of,
    print_proof,
    readings_of,
    run_down_line,
    set_as_given,
    swap_lines,
)
from typesetter import copy_of as text_of
from typesetter.faces import LIGATURES, family
from typesetter.jobs import CONCERT, PRICES, PRICES_STYLE
from typesetter.matter import BANDS_IN, PT_PER_IN

from proofcheck.base.found import Cause, Fault, Mark, Status
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Copy, Span
from proofcheck.collate import collate
from proofcheck.recast.change import Change, NewSlug
from proofcheck.recast.faces import usual_face
from proofcheck.recast.galley import galley_of
from proofcheck.recast.plan import RecastPlan, plan_recast
from proofcheck.recast.settings import CastSettings
from proofcheck.results.castlists import SAFETY, machine_entries, short_list, stone_entries
from proofcheck.results.castlists.list_pages import lists_pdf

ABOUT = [block.text for block in CONCERT if isinstance(block, Para)][:3]
STYLES = {
    "schola": Style(family="schola", body_pt=10, bands="thick"),
    "old-standard": Style(family="old-standard", body_pt=9, bands="extra-thin"),
    "goudy": Style(family="goudy", body_pt=12, bands="wide-range"),
}
MARK = Mark("insert", "", "", "caret", "")


def copy_of(text: str) -> Copy:
    spans = tuple(Span(*found.span()) for found in re.finditer(r"[^\n]+", text))
    return Copy(text, "copy.txt", "0" * 64, "utf-8", spans)


def planned(forme, copy, *, status=Status.FAULT, bands="thick", hand_set=False, **more):
    """The plan for a forme's proof, every difference taken for a fault; lines and readings."""
    proof = print_proof(forme)
    lines, readings = lines_of(proof), readings_of(proof)
    collation = collate(copy, readings, lines=lines, language="eng", hand_set=hand_set)
    faults = [
        Fault(f"F{n}", d.kind, d.line, 0, Box(0, 0, 1, 1), d.copy, d.copy_text, d.proof_text, MARK,
              1.0, status, d.cause, d.other_lines)
        for n, d in enumerate(collation.differences, 1)
    ]  # fmt: skip
    settings = CastSettings(bands=bands, hand_set=hand_set, **more)
    dpi = {0: proof.dpi}
    plan = plan_recast(lines, readings, copy, collation, faults, dpi=dpi, settings=settings)
    return plan, lines, readings, faults


def put_in(plan, readings):
    """The proof's lines after the plan is carried out."""
    gone = {taken.line for taken in plan.taken_out}
    texts: list[tuple[float, str]] = [(r.line, r.text) for r in readings if r.line not in gone]
    for move in plan.moved:
        moved = next(pair for pair in texts if pair[0] == move.line)
        texts.remove(moved)
        numbers = [number for number, _ in texts]
        texts.insert(numbers.index(move.after) + 1 if move.after else 0, moved)
    if plan.moved:
        texts = [(float(place), text) for place, (_, text) in enumerate(texts, 1)]
    for change in plan.changes:
        texts = [(n, t) for n, t in texts if n not in change.lines]
        texts += [
            (change.after + 0.001 * (k + 1), slug.text) for k, slug in enumerate(change.slugs)
        ]
    return [text for _, text in sorted(texts, key=lambda pair: pair[0])]


def joined(lines, copy_text):
    """Lines run together, divisions taken back where the copy has the word whole."""
    out = ""
    for line in lines:
        if out.endswith("-") and out[:-1].rpartition(" ")[2] + line.split(" ")[0] in copy_text:
            out = out[:-1] + line
        else:
            out = f"{out} {line}" if out else line
    return out


def errors():
    """One slip of each sort in the first paragraph, by its name."""
    return {
        "letter missing": ("wheelwright", "wheelwrght"),
        "letter too many": ("lantern", "lanntern"),
        "letter wrong": ("milestone", "milestane"),
        "word missing": ("for the new bass drum", "for the bass drum"),
        "word doubled": ("their parts by", "their parts parts by"),
    }


@pytest.mark.parametrize("face", STYLES)
@pytest.mark.parametrize("slip", [*errors()])
def test_the_planned_lines_fit_and_nothing_else_moves(face, slip):
    style = STYLES[face]
    right, wrong = errors()[slip]
    faulty = [text.replace(right, wrong, 1) for text in ABOUT]
    assert faulty != ABOUT
    forme = compose([Para(text) for text in faulty], measure_picas=20, style=style)
    copy = copy_of("\n\n".join(ABOUT))
    plan, _, readings, faults = planned(forme, copy, bands=style.bands)
    assert faults
    assert plan.changes, plan.notes
    assert not plan.notes
    assert {fault for change in plan.changes for fault in change.faults} == {f.id for f in faults}
    assert joined(put_in(plan, readings), copy.text) == copy.text.replace("\n\n", " ")
    assert len(plan.slugs) <= plan.run_on_slugs
    # Other wording is only ever asked for where a line is too long, and of the customer.
    assert bool(plan.queries) == (slip == "word missing" and len(plan.slugs) > 2)
    assert all("query to the customer" in query for query in plan.queries)
    # Set again by the typesetter, with its own widths, every line is within its bands.
    low, high = (inches * PT_PER_IN for inches in BANDS_IN[style.bands])
    for slug in plan.slugs:
        indent = slug.indent_pt if slug.indent_pt > 1 else 0.0
        given = [GivenLine(slug.text, style.body_pt if indent else 0.0, slug.spread)]
        line = set_as_given(given, copy.text, measure_picas=20, style=style).slugs[0]
        fixed = sum(sort.width_pt for sort in line.sorts if not sort.band)
        bands = [sort for sort in line.sorts if sort.band]
        room = line.measure_pt - line.indent_pt
        assert fixed + low * len(bands) <= room
        if slug.spread and not slug.thin:
            assert fixed + high * len(bands) >= room
            assert (room - fixed) / len(bands) == pytest.approx(slug.space_pt, abs=0.25)


def test_widths_come_back_within_two_per_cent():
    for name, style in STYLES.items():
        forme = compose([Para(text) for text in ABOUT], measure_picas=20, style=style)
        proof = print_proof(forme)
        galley = galley_of(
            lines_of(proof), readings_of(proof), {0: 300.0}, usual_face(),
            lambda reading: [""] * len(reading.letters),
        )  # fmt: skip
        (widths,) = galley.widths.values()
        measured = {unit: width for unit, width in widths.widths.items() if width.measured}
        assert len(measured) > 15
        for unit, width in measured.items():
            glyph = family(name).roman.glyph(LIGATURES.get(unit, unit))
            true = glyph.advance_em * style.body_pt
            assert width.width_pt == pytest.approx(true, rel=0.02), (name, unit)
        (measure,) = galley.measures.values()
        assert measure.length_pt == pytest.approx(20 / 6 * PT_PER_IN, rel=0.002)
        assert measure.pitch_pt == pytest.approx(style.body_pt + style.lead_pt, rel=0.01)


def concert(faulty=None):
    texts = ABOUT if faulty is None else faulty
    return compose([Para(text) for text in texts], measure_picas=20, style=STYLES["schola"])


def test_a_line_too_many_is_taken_out_and_none_is_cast():
    copy = copy_of("\n\n".join(ABOUT))
    doubled = double_line(concert(), 4)
    plan, *_ = planned(doubled, copy)
    assert not plan.changes
    assert len(plan.taken_out) == 1
    plan, *_ = planned(run_down_line(concert(), 4), copy)
    assert not plan.changes
    assert len(plan.taken_out) == 1


def test_lines_out_of_place_are_moved_and_not_cast():
    copy = copy_of("\n\n".join(ABOUT))
    plan, _, readings, _ = planned(swap_lines(concert(), 4, 6), copy)
    assert not plan.changes
    assert plan.moved
    assert joined(put_in(plan, readings), copy.text) == copy.text.replace("\n\n", " ")


def _two_pages(first, second, copy):
    """The plan for two formes pulled one after the other; the readings."""
    proofs = [print_proof(forme) for forme in (first, second)]
    lines, readings = list(lines_of(proofs[0])), list(readings_of(proofs[0]))
    more = len(lines)
    lines += [replace(one, number=one.number + more, sheet=1) for one in lines_of(proofs[1])]
    readings += [replace(one, line=one.line + more) for one in readings_of(proofs[1])]
    collation = collate(copy, readings, lines=lines, language="eng")
    faults = [
        Fault(f"F{n}", d.kind, d.line, 0, Box(0, 0, 1, 1), d.copy, d.copy_text, d.proof_text, MARK,
              1.0, Status.FAULT, d.cause, d.other_lines)
        for n, d in enumerate(collation.differences, 1)
    ]  # fmt: skip
    dpi = {number: proof.dpi for number, proof in enumerate(proofs)}
    return plan_recast(lines, readings, copy, collation, faults, dpi=dpi), readings, more


def test_a_head_come_again_wrong_is_cast_again_where_it_stands():
    head, wrong = Head("TOLLS OF 1874", 12), Head("TOLLS OF 1847", 12)
    copy = copy_of(text_of([head, *(Para(text) for text in ABOUT[:2])]))
    first = compose([head, Para(ABOUT[0])], measure_picas=22)
    second = compose([wrong, Para(ABOUT[1])], measure_picas=22)
    plan, _, before = _two_pages(first, second, copy)
    (change,) = plan.changes
    assert change.lines == (before + 1,)
    assert [slug.text for slug in change.slugs] == ["TOLLS OF 1874"]
    assert not plan.moved


def test_a_head_come_again_has_no_part_in_what_is_moved():
    head = Head("TOLLS OF 1874", 12)
    copy = copy_of(text_of([head, *(Para(text) for text in ABOUT[:2])]))
    first = swap_lines(compose([head, Para(ABOUT[0])], measure_picas=22), 2, 4)
    second = compose([head, Para(ABOUT[1])], measure_picas=22)
    plan, readings, before = _two_pages(first, second, copy)
    assert not plan.changes
    # Lines 2 and 4 have changed places: two of the three are moved.
    assert {move.line for move in plan.moved} < {2, 3, 4}
    assert len(plan.moved) == 2
    del readings[before]
    assert joined(put_in(plan, readings), copy.text) == copy.text.replace("\n\n", " ")


def test_a_line_left_out_is_cast_by_itself():
    copy = copy_of("\n\n".join(ABOUT))
    forme = drop_lines(concert(), 4)
    plan, _, readings, faults = planned(forme, copy)
    assert faults
    assert [len(change.slugs) for change in plan.changes] == [1], plan
    assert plan.changes[0].lines == ()
    assert plan.changes[0].gained == 1
    assert plan.changes[0].depth_pt == pytest.approx(12, rel=0.01)
    assert joined(put_in(plan, readings), copy.text) == copy.text.replace("\n\n", " ")


def test_queries_ask_for_no_slug():
    faulty = [text.replace("lantern", "lanntern") for text in ABOUT]
    plan, *_ = planned(concert(faulty), copy_of("\n\n".join(ABOUT)), status=Status.QUERY)
    assert plan.empty


def test_a_head_is_cast_alone():
    blocks = [Head("A CONCRET IS GIVEN", 14, letterspace_pt=1.0), *(Para(t) for t in ABOUT)]
    copy = copy_of("\n\n".join(["A CONCERT IS GIVEN", *ABOUT]))
    plan, *_ = planned(compose(blocks, measure_picas=20), copy)
    assert [(c.lines, [s.text for s in c.slugs]) for c in plan.changes] == [
        ((1,), ["A CONCERT IS GIVEN"])
    ]


def test_only_lines_with_a_fault_are_cast_where_one_is_enough():
    # A line that ends at a dash, with no hyphen and no space, stands as it is.
    texts = [ABOUT[0].replace("milestone, and", "milestone;—and"), *ABOUT[1:]]
    faulty = [text.replace("donkey", "donkoy") for text in texts]
    plan, _, _, faults = planned(concert(faulty), copy_of("\n\n".join(texts)))
    assert faults
    assert all(change.faults for change in plan.changes)
    assert {line for change in plan.changes for line in change.lines} == {f.line for f in faults}


@pytest.mark.parametrize("indent_pt", [0.0, 10.0, 22.0])
def test_the_first_slug_of_a_paragraph_is_indented_as_the_proof_has_it(indent_pt):
    word, printed = ABOUT[1].split()[1], ABOUT[1].split()[1] + "n"
    faulty = [ABOUT[0], ABOUT[1].replace(word, printed, 1), *ABOUT[2:]]
    forme = compose(
        [Para(text, indent_pt=indent_pt) for text in faulty],
        measure_picas=20, style=STYLES["schola"],
    )  # fmt: skip
    plan, _, readings, _ = planned(forme, copy_of("\n\n".join(ABOUT)))
    (first,) = (reading.line for reading in readings if printed in reading.text)
    (change,) = plan.changes
    assert change.lines[0] == first
    # To a side bearing: what is measured is ink.
    assert change.slugs[0].indent_pt == pytest.approx(indent_pt, abs=0.8)
    assert all(slug.indent_pt == 0 for slug in change.slugs[1:])


def test_hostile_copy_plans_without_harm():
    # Control characters, nothing to divide, letters no face has, a word past the measure.
    bad = ["x" * 400, "\u202e\u0007 Ωμέγα 中文 " * 6, "a-b—" * 60, "ffi" * 40]
    for text in bad:
        copy = copy_of("\n\n".join([text, *ABOUT]))
        plan, *_ = planned(concert(), copy)
        assert all(slug.text for slug in plan.slugs)
        assert lists_pdf(plan, "a \u202e job").startswith(b"%PDF")
        told = "".join(map("".join, [*machine_entries(plan), *stone_entries(plan)]))
        assert "\u202e" not in told + short_list(plan)


def words_of(pdf):
    """What a PDF says, its lines joined."""
    pages = pypdfium2.PdfDocument(pdf)
    return " ".join(" ".join(page.get_textpage().get_text_range() for page in pages).split())


def test_the_lists_name_every_slug_and_every_line():
    faulty = [text.replace("their parts by", "their parts parts by") for text in ABOUT]
    forme = run_down_line(concert(faulty), 12)
    plan, *_ = planned(forme, copy_of("\n\n".join(ABOUT)))
    machine = [(each.label, each.matter) for each in machine_entries(plan)]
    assert machine == [(str(slug.number), slug.text) for slug in plan.slugs]
    stone = "".join(entry.words for entry in stone_entries(plan))
    for change in plan.changes:
        assert change.first_words in stone
    assert f"Take out line {plan.taken_out[0].line}" in stone
    assert not re.search(r"\b(open|adjust|clear)\b", SAFETY)
    words = words_of(lists_pdf(plan, "Concert"))
    assert SAFETY in words
    assert all(slug.text.split(" ")[0] in words for slug in plan.slugs)
    assert "Slugs to cast" in words
    assert "At the stone" in words
    by_hand, *_ = planned(forme, copy_of("\n\n".join(ABOUT)), hand_set=True)
    assert SAFETY not in words_of(lists_pdf(by_hand, "Concert"))


def test_a_row_left_out_of_a_price_list_is_cast_with_its_leaders():
    forme = compose(PRICES, measure_picas=33, style=PRICES_STYLE)
    copy = copy_of(text_of(PRICES))
    gone = forme.slugs[8].text.split(",")[0]
    plan, *_ = planned(drop_lines(forme, 9), copy, bands="extra-thin")
    (slug,) = plan.slugs
    assert slug.text.startswith(gone)
    assert " ..... " in slug.text
    assert plan.changes[0].after == 8
    assert plan.changes[0].depth_pt == pytest.approx(11, rel=0.02)


def test_of_type_from_the_case_a_turned_letter_costs_no_line():
    copy = copy_of("\n\n".join(ABOUT))
    faulty = [
        text.replace("milestone", "milestoue").replace("lantern", "lnatern") for text in ABOUT
    ]
    forme = concert(faulty)
    plan, _, _, faults = planned(forme, copy, hand_set=True)
    told = {fault.copy_text: fault for fault in faults}
    assert (told["n"].cause, told["an"].kind) == (Cause.TURNED_SORT, Kind.LETTERS_TRANSPOSED)
    assert plan.changes == ()
    words = [entry.words for entry in stone_entries(plan)]
    assert any(w.startswith(f"Turn the n in line {told['n'].line}.") for w in words)
    assert any("Change the places of “na”" in w for w in words)
    assert f"turn the n in line {told['n'].line}" in short_list(plan)
    # Cast on slugs, the same letters cost a slug each.
    by_slug, *_ = planned(forme, copy)
    assert len(by_slug.slugs) >= 2


def test_a_turned_letter_in_a_line_set_again_anyway_goes_with_it():
    copy = copy_of("\n\n".join(ABOUT))
    faulty = [text.replace("second milestone", "secnd milestoue") for text in ABOUT]
    plan, _, _, faults = planned(concert(faulty), copy, hand_set=True)
    (change,) = plan.changes
    assert {fault.id for fault in faults if fault.line in change.lines} == set(change.faults)
    assert plan.at_stone == ()


def test_each_slug_of_a_stretch_says_its_own_line():
    slugs = tuple(NewSlug(f"line {n}", 240.0, 0.0, 3.2, 10.0, n) for n in (1, 2, 3))
    plan = RecastPlan((Change((7, 8), 6, slugs, ("F1",), "a", "b"),
                       Change((12,), 11, slugs[:1], ("F2",), "a", "b"),
                       Change((), 20, slugs[:1], ("F3",), "", "")))  # fmt: skip
    told = [entry.words.partition(";")[0] for entry in machine_entries(plan)]
    assert told == [
        "for line 7 (lines 7 to 8 go together)",
        "for line 8 (lines 7 to 8 go together)",
        "after line 8 (lines 7 to 8 go together)",
        "for line 12",
        "new, after line 20",
    ]


def test_lines_set_by_hand_say_how_far_they_must_be_overrun():
    slugs = tuple(NewSlug(f"line {n}", 240.0, 0.0, 3.2, 10.0, n) for n in (1, 2, 3))
    over = Change((4, 5, 6), 3, slugs, ("F1",), "a", "b")
    one = Change((9,), 8, slugs[:1], ("F2",), "a", "b")
    words = [entry.words for entry in stone_entries(RecastPlan((over, one), hand_set=True))]
    assert words[0].startswith("Line 4 must be overrun to line 6: line 4 out, new line 1 in")
    assert not any("overrun" in w for w in words[1:])
    assert "overrun" not in stone_entries(RecastPlan((over,)))[0].words
