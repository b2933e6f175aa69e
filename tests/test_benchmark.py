"""The benchmark's own tools, tried on a typeset proof of which every letter's place is known."""

from itertools import pairwise

import cv2
import numpy as np
import pytest
from benchmark.alarms import TrueDifference, context_of, load_true_differences
from benchmark.alikeplants import ALIKE_KINDS, FAMILIES
from benchmark.catalogues import is_listed
from benchmark.copyplants import plant_in_copy
from benchmark.likeness import misnamed
from benchmark.linemoves import LINE_KINDS, plant_line
from benchmark.moving import Canvas
from benchmark.pages import pages_in, sampled
from benchmark.parts import units_by_count, units_by_width
from benchmark.planting import IMAGE_KINDS, plant_in_image
from benchmark.score import found_anyway, outcomes
from benchmark.standing import study
from benchmark.wearing import Wear

from proofcheck.base.found import Collation, Fault, Mark, Status, Verdict
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Copy, Span
from proofcheck.results.report import Provenance, Report
from proofcheck.sheet.lines import find_lines


@pytest.fixture(scope="module")
def standing(notice_proof):
    return study(notice_proof.image, notice_proof.copy)


def glyphs(standing):
    return [glyph for word in standing.words for glyph in word.glyphs]


def test_letters_stand_where_they_were_set(standing, notice_proof):
    set_at = {
        letter.copy: letter.box
        for line in notice_proof.lines
        for letter in line.letters
        if letter.text.isalpha()
    }
    sure = [glyph for glyph in glyphs(standing) if glyph.sure and len(glyph.text) == 1]
    assert len(sure) > 0.6 * len(set_at)
    for glyph in sure:
        assert notice_proof.copy[glyph.at] == glyph.text or glyph.text in "'\""
        if glyph.at in set_at:
            x, _, width, _ = set_at[glyph.at]
            assert abs(glyph.box.x - x) < 2
            assert abs(glyph.box.right - x - width) < 2


def test_look_alikes_are_of_one_family_and_of_the_pages_own_type(standing):
    seen = set()
    for seed in range(4):
        image, plants = plant_in_image(standing, seed, ALIKE_KINDS, 3)
        assert plants
        for plant in plants:
            seen.add(plant.name)
            assert standing.text[slice(*plant.span)] == plant.wanted
            assert plant.printed != plant.wanted
            if plant.name == "rn m":
                assert {plant.printed, plant.wanted} == {"rn", "m"}
            else:
                assert set(plant.printed + plant.wanted) <= set(FAMILIES[plant.name])
        lines = sorted(
            next(g.line for g in glyphs(standing) if g.at == plant.span[0]) for plant in plants
        )
        assert all(after - before >= 3 for before, after in pairwise(lines))
        assert (image != standing.image).any()
    assert {"c e o", "n u", "h b"} <= seen


def test_image_plants_are_of_every_kind_and_touch_nothing_else(standing):
    seen = set()
    for seed in range(4):
        image, plants = plant_in_image(standing, seed)
        seen |= {plant.name for plant in plants}
        changed = np.argwhere(image != standing.image)
        for plant in plants:
            assert standing.text[slice(*plant.span)] == plant.wanted
            assert plant.printed != plant.wanted
        # Each changed pixel lies in the height of a line with a plant, and not left of it.
        for y, x in changed:
            assert any(
                plant.box.y - 45 <= y <= plant.box.bottom + 45 and x >= plant.box.x - 60
                for plant in plants
            )
        # Two plants never stand in neighbouring lines.
        tops = sorted(plant.box.y for plant in plants)
        assert all(b - a > 50 for a, b in pairwise(tops))
    assert seen == set(IMAGE_KINDS)


def test_the_same_seed_plants_the_same(standing):
    one, other = plant_in_image(standing, 7), plant_in_image(standing, 7)
    assert np.array_equal(one[0], other[0])
    assert one[1] == other[1]


def test_a_turned_n_stands_on_the_line_as_a_u_does(standing):
    turning = next(g for g in glyphs(standing) if g.text == "n" and g.sure)
    alike = next(g for g in glyphs(standing) if g.text == "u" and g.sure)
    canvas = Canvas(standing)
    canvas.wipe(turning.pieces)
    canvas.put_turned(turning, 0, 0)
    box = turning.box
    ink = canvas.image[box.y - 8 : box.bottom + 8, box.x : box.right] < 128
    foot = int(np.flatnonzero(ink.any(axis=1)).max()) + box.y - 8 + 1
    base = standing.baseline(turning.line, box.x)
    size = standing.lines[turning.line].x_height_px
    assert (foot - base) / size == pytest.approx(alike.drop, abs=0.12)
    as_it_was = standing.image[box.y : box.bottom, box.x : box.right][::-1, ::-1]
    assert np.count_nonzero(canvas.image != standing.image) > 20
    assert int((as_it_was < 128).sum()) == pytest.approx(int(ink.sum()), rel=0.05)


@pytest.mark.parametrize("name", LINE_KINDS)
def test_lines_move_as_slugs_do(standing, name):
    image, plant = plant_line(standing, name, 3)
    before = len(standing.lines)
    sheet = study(image, standing.text)
    now = {"line dropped": before - 1, "line doubled": before + 1, "lines swapped": before}[name]
    assert len(sheet.lines) == now
    old, new = (int((page < 128).sum()) for page in (standing.image, image))
    if name == "lines swapped":
        assert new == pytest.approx(old, rel=0.002)
    assert plant.span[1] > plant.span[0]


def test_copy_plants_give_back_the_copy_when_undone(standing):
    copy, plants = plant_in_copy(standing, 5)
    restored = copy
    for plant in sorted(plants, key=lambda each: -each.span[0]):
        start, end = plant.span
        assert copy[start:end] == plant.wanted
        restored = restored[:start] + plant.printed + restored[end:]
    assert len(plants) >= 3
    assert restored == standing.text


def test_parts_and_letters():
    assert units_by_count("fine", 4) == [("f", 1), ("i", 1), ("n", 1), ("e", 1)]
    assert units_by_count("fine", 3) == [("fi", 1), ("n", 1), ("e", 1)]
    assert units_by_count("“a”", 5) == [("“", 2), ("a", 1), ("”", 2)]
    assert units_by_count("fine", 6) is None
    usual = {"m": 1.6, "a": 0.9, "n": 1.1}
    broken = [(0.0, 0.7), (0.8, 1.6), (1.8, 2.7), (2.9, 4.0)]
    assert units_by_width("man", broken, usual) == [("m", 2), ("a", 1), ("n", 1)]
    touching = [(0.0, 2.5), (2.7, 3.8)]
    assert units_by_width("man", touching, usual) == [("ma", 1), ("n", 1)]
    assert units_by_width("man", [(0.0, 0.7), (0.8, 1.1)], usual) is None


def test_a_letter_with_another_letters_name_is_found_out(standing):
    sure = [glyph for glyph in glyphs(standing) if glyph.sure and glyph.text in "eot"]

    def place(glyph, name):
        middle = glyph.box.x + glyph.box.width / 2
        size = standing.lines[glyph.line].x_height_px
        return name, middle, standing.baseline(glyph.line, middle), size

    right = [place(glyph, glyph.text) for glyph in sure]
    assert not misnamed(standing.image, right).any()
    wrong = [place(sure[0], "t" if sure[0].text != "t" else "o"), *right[1:]]
    assert misnamed(standing.image, wrong).tolist() == [True] + [False] * (len(sure) - 1)


def reported(standing, faults):
    lines = find_lines(study_sheet := sheet_of(standing))
    return Report(
        verdict=Verdict.FAULTS,
        sheets=(study_sheet,),
        copy=Copy(standing.text, "copy", "", "utf-8", ()),
        lines=lines,
        readings=(),
        collation=Collation((), ()),
        faults=tuple(faults),
        provenance=Provenance("none"),
    )


def sheet_of(standing):
    from benchmark.standing import as_sheet

    return as_sheet(standing.image)


def fault(box, span, kind=Kind.WRONG_LETTER, status=Status.FAULT):
    mark = Mark("stroke", "", "", "", "")
    return Fault("F1", kind, 1, 0, box, Span(*span), "", "", mark, 0.9, status)


def test_scoring_needs_the_place_and_names_the_kind(standing):
    _, plants = plant_in_image(standing, 0)
    plant = next(each for each in plants if each.name == "letter wrong")
    far = Box(plant.box.x + 300, plant.box.y, 10, 10)
    off = (plant.span[0] + 50, plant.span[1] + 50)
    cases = [
        ([], "missed", False),
        ([fault(far, off)], "missed", False),
        ([fault(plant.box, off)], "fault", True),
        ([fault(far, plant.span)], "fault", True),
        ([fault(plant.box, plant.span, Kind.CASE, Status.QUERY)], "query", False),
    ]
    for faults, found, named in cases:
        report = reported(standing, faults)
        outcome = outcomes(report, [plant], "image", "book", "page")[0]
        assert (outcome.found, outcome.named_rightly) == (found, named)
    assert found_anyway(reported(standing, [fault(plant.box, off)]), [plant], 1.0) == [True]


def test_a_wrong_letter_in_it_does_not_find_a_moved_line(standing):
    _, plant = plant_line(standing, "lines swapped", 3)
    inside = fault(Box(plant.box.x + 50, plant.box.y + 5, 10, 10), plant.span)
    report = reported(standing, [inside])
    assert outcomes(report, [plant], "lines", "book", "page")[0].found == "missed"


def test_true_differences_are_found_by_their_words():
    text = "the thc end\nof the end"
    true = TrueDifference("p", "the ⟦thc⟧ end of", "the", "the e-text's slip")
    assert true.span_in(text) == (4, 7)
    assert TrueDifference("p", " ⟦end⟧", "", "").span_in(text) is None  # not just once
    assert context_of(text, 4, 7) == "the ⟦thc⟧ end of the end"


def test_a_listed_gap_of_a_catalogue_excuses_that_gap_alone():
    listed = [Span(0, 0), Span(20, 22)]
    assert is_listed(Span(0, 0), listed)
    assert not is_listed(Span(0, 1), listed)
    assert is_listed(Span(21, 25), listed)
    assert not is_listed(Span(22, 23), listed)


def test_the_list_of_true_differences_is_well_formed():
    for page, listed in load_true_differences().items():
        for true in listed:
            assert true.page == page
            assert true.why
            assert true.context.count("⟦") == true.context.count("⟧") == 1


def test_pages_are_sampled_by_book_and_seed(tmp_path):
    for name in ("a1", "a2", "a3", "bee_1"):
        cv2.imwrite(str(tmp_path / f"{name}.png"), np.full((20, 20), 255, np.uint8))
        (tmp_path / f"{name}.txt").write_text("words")
    cv2.imwrite(str(tmp_path / "c1.png"), np.full((20, 20), 255, np.uint8))
    pages = pages_in(tmp_path)
    assert [page.book for page in pages] == ["a", "a", "a", "bee"]
    assert len(sampled(pages, 2, 1, set())) == 3
    assert sampled(pages, 2, 1, set()) == sampled(pages, 2, 1, set())
    assert [page.name for page in sampled(pages, None, 1, {"bee"})] == ["bee_1"]


def test_a_poorer_scanner(standing):
    worn = Wear(200, noise=True).worn(standing.image, 1)
    assert worn.shape[0] == round(standing.image.shape[0] * 2 / 3)
    assert np.median(worn) == pytest.approx(228, abs=3)
    assert np.std(worn[:40, :40]) == pytest.approx(12, abs=2)
    assert Wear().worn(standing.image, 1) is standing.image
