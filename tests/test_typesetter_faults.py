"""Planted faults: the line prints the fault, and the truth tells it."""

from __future__ import annotations

import numpy as np
import pytest
from typesetter import (
    KINDS,
    Para,
    compose,
    double_line,
    drop_lines,
    misset,
    plant,
    print_proof,
    run_down_line,
    swap_lines,
    turned_sort,
    work_up,
)

from proofcheck.base.kinds import Kind

PROSE = (
    "The band was first gathered in the winter when the mill stood still, and the office of "
    "bandmaster fell to the blacksmith, who could not read a note but had a fine sense of pitch; "
    "the effect, on a difficult affair of fifty flutes, was efficient and soft. Those who "
    "remember say that the first practice lasted until the candles failed, and that nobody "
    "went home before the evening grew cold and the children fell asleep."
)
ON_LETTERS = {
    "wrong-letter", "letter-missing", "letter-extra", "letters-transposed", "word-missing",
    "word-doubled", "words-transposed", "space-missing", "space-extra", "point-wrong",
    "point-missing", "case",
}  # fmt: skip
ON_TYPE = {"turned-sort", "wrong-font", "broken-letter", "hairline", "off-line", "work-up"}


@pytest.fixture(scope="module")
def forme():
    return compose([Para(PROSE), Para(PROSE)], measure_picas=20)


def test_every_kind_has_the_reports_name():
    assert set(KINDS) <= set(Kind)


@pytest.mark.parametrize("kind", sorted(ON_LETTERS))
@pytest.mark.parametrize("seed", [1, 2])
def test_a_fault_of_the_text_is_all_that_differs(forme, kind, seed):
    faulty = plant(forme, kind, seed)
    (fault,) = faulty.expected()
    assert fault.kind == kind
    was = forme.slugs[fault.line - 1].text
    printed = faulty.slugs[fault.line - 1].text
    assert was != printed
    # Putting right what the truth tells gives the line back.
    places = [at for at in range(len(printed) + 1) if printed.startswith(fault.printed, at)]
    mended = {f"{printed[:at]}{fault.copy}{printed[at + len(fault.printed) :]}" for at in places}
    assert was.replace(" ", "") in {m.replace(" ", "") for m in mended}
    others = [s for n, s in enumerate(forme.slugs, 1) if n != fault.line]
    assert [s for n, s in enumerate(faulty.slugs, 1) if n != fault.line] == others


@pytest.mark.parametrize("kind", sorted(ON_TYPE))
def test_a_fault_of_the_type_changes_the_picture_of_its_line_alone(forme, kind):
    faulty = plant(forme, kind, seed=3)
    (fault,) = faulty.expected()
    good, bad = print_proof(forme), print_proof(faulty)
    changed = np.nonzero((good.image != bad.image).any(axis=1))[0]
    _, y, _, height = good.lines[fault.line - 1].box
    assert changed.size
    assert changed.min() > y - 12
    assert changed.max() < y + height + 12


def test_a_turned_n_is_a_u_and_a_turned_e_is_a_letter_of_its_own(forme):
    line = next(n for n, s in enumerate(forme.slugs, 1) if "winter" in s.text)
    turned_n = turned_sort(forme, line, "winter", letter=2)
    assert print_proof(turned_n).lines[line - 1].text.count("wiuter") == 1
    assert turned_n.expected()[0].kind == "wrong-letter"
    turned_e = turned_sort(forme, line, "winter", letter=4)
    assert "wintǝr" in print_proof(turned_e).lines[line - 1].text
    assert turned_e.expected()[0].kind == "turned-sort"
    with pytest.raises(ValueError, match="turned 's'"):
        turned_sort(forme, 1, "first", letter=3)


def test_lines_dropped_doubled_swapped_and_foreign_are_told_by_their_last_numbers(forme):
    texts = [slug.text for slug in forme.slugs]
    faulty = drop_lines(forme, 2)
    faulty = double_line(faulty, 3)
    faulty = swap_lines(faulty, 6, 7)
    faulty = run_down_line(faulty, 8)
    kinds = [(f.kind, f.line, f.other_lines) for f in faulty.expected()]
    assert kinds == [
        ("line-missing", 1, ()),
        ("line-doubled", 4, (3,)),
        ("lines-transposed", 6, (7,)),
        ("line-foreign", 9, ()),
    ]
    printed = [slug.text for slug in faulty.slugs]
    assert printed[:4] == [texts[0], texts[2], texts[3], texts[3]]
    assert printed[8] == "etaoin shrdlu"


def test_an_out_of_several_lines_names_the_copy_it_leaves_out(forme):
    (fault,) = drop_lines(forme, 2, 4).expected()
    assert fault.kind == "matter-missing"
    assert fault.copy in " ".join(forme.copy.split())


def test_a_line_that_no_wedge_could_justify_is_refused(forme):
    line = next(n for n, s in enumerate(forme.slugs, 1) if "winter" in s.text)
    with pytest.raises(ValueError, match="can't be justified"):
        misset(forme, line, "winter", "winter of discontent and long nights", "wrong-word")
    with pytest.raises(ValueError, match="has no"):
        misset(forme, line, "summer", "winter", "wrong-word")


def test_a_work_up_prints_where_white_should_be(forme):
    line = 3
    space = next(x for x in print_proof(forme).lines[line - 1].letters if x.text == " ")
    x, y, width, height = (round(v) for v in space.box)
    bad = print_proof(work_up(forme, line, 1)).image[y : y + height, x : x + width]
    assert (bad < 60).any(axis=1).all()
