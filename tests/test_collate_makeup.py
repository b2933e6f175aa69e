"""The order of make-up: pages, columns and paragraphs in another order than the copy's."""

from itertools import permutations
from random import Random

import pytest
from collating import copy_of, pages_of, set_in_lines
from hypothesis import given, settings
from hypothesis import strategies as st

from proofcheck.base.found import Cause
from proofcheck.base.kinds import Kind
from proofcheck.collate import collate
from proofcheck.collate.same import Rules
from proofcheck.marks.assign import mark_for

PARAGRAPHS = [
    "The ferry was built in the year of the great flood, and first to cross was a goose.",
    "Old men in the village hold that the rope was made of flax grown upon the far bank.",
    "A toll of one farthing was asked of all but the miller, who paid for his house in flour.",
    "When the bridge was opened nobody took down the rope, lest the bridge should fail one day.",
    "The ferryman kept his lamp burning until he died, and his daughter sold the boat for fuel.",
    "There is a stone on the near bank with the names of those who never paid, hard to be read.",
]
COPY = "\n\n".join(PARAGRAPHS)
BLOCKS = [set_in_lines(text, 34, Random(3), divide=False) for text in PARAGRAPHS]
SHAPES = {
    "one column": [[6]],
    "two pages": [[3], [3]],
    "three pages": [[2], [2], [2]],
    "two columns": [[3, 3]],
    "three columns": [[2, 2, 2]],
    "pages of two columns": [[1, 2], [2, 1]],
}


def _made_up(order, shape):
    """Sheets of columns of so many paragraphs each, taken in an order."""
    left = iter(order)
    return [
        [[line for _ in range(count) for line in BLOCKS[next(left)]] for count in columns]
        for columns in shape
    ]


def _collated(sheets, copy=COPY, **options):
    readings, lines = pages_of(sheets)
    return collate(copy_of(copy), readings, lines=lines, **options)


@pytest.mark.parametrize("shape", SHAPES.values(), ids=SHAPES)
def test_paragraphs_in_their_order_are_clean(shape):
    collation = _collated(_made_up(range(6), shape))
    assert collation.differences == ()
    assert "reading-order" not in collation.waived


@pytest.mark.parametrize("shape", SHAPES.values(), ids=SHAPES)
def test_no_other_order_of_paragraphs_is_passed(shape):
    others = list(permutations(range(6)))[1:]
    for order in Random(8).sample(others, 12):
        found = _collated(_made_up(order, shape)).differences
        assert Kind.LINES_TRANSPOSED in {d.kind for d in found}, order


def _one(order, shape):
    (found,) = _collated(_made_up(order, SHAPES[shape])).differences
    assert found.kind is Kind.LINES_TRANSPOSED
    return found


def test_two_pages_exchanged_are_one_fault_with_the_pages_named():
    found = _one((3, 4, 5, 0, 1, 2), "two pages")
    assert found.make_up in ("page 1 should follow page 2", "page 2 should stand before page 1")
    assert mark_for(found).words.startswith(f"{found.make_up}: lines ")
    assert found.cause is Cause.PAGE_MISPLACED


def test_three_pages_as_first_third_second():
    found = _one((0, 1, 4, 5, 2, 3), "three pages")
    assert found.make_up in ("page 2 should follow page 3", "page 3 should stand before page 2")


def test_two_columns_exchanged_are_one_fault_with_the_columns_named():
    found = _one((3, 4, 5, 0, 1, 2), "two columns")
    assert found.make_up in (
        "column 1 should follow column 2",
        "column 2 should stand before column 1",
    )
    assert found.cause is Cause.COLUMN_MISPLACED


def test_a_column_belongs_on_another_page():
    (found,) = _collated(_made_up((0, 3, 4, 1, 2, 5), [[1, 2], [2, 1]])).differences
    # The second column of page 1 stands after the first of page 2: either may be named.
    assert found.make_up == "column 1 of page 2 should stand before column 2 of page 1"


def test_paragraphs_exchanged_across_pages_are_named_by_their_lines():
    found = _one((0, 1, 3, 2, 4, 5), "two pages")
    assert found.make_up == ""
    # Of the two the one is named, its first line as the fault's own.
    first = sum(len(BLOCKS[n]) for n in (0, 1, 3)) + 1
    assert (found.line, *found.other_lines) == tuple(range(first, first + len(BLOCKS[2])))


def test_a_head_that_stays_in_its_place_is_no_part_of_a_page():
    sheets = _made_up((3, 4, 5, 0, 1, 2), SHAPES["two pages"])
    sheets = [[["THE FERRY", *page[0]]] for page in sheets]
    found = _collated(sheets, f"THE FERRY\n\n{COPY}").differences
    (moved,) = (d for d in found if d.kind is Kind.LINES_TRANSPOSED)
    assert moved.make_up in ("page 1 should follow page 2", "page 2 should stand before page 1")


def test_prose_set_across_its_columns_is_told():
    lines = [line for block in BLOCKS for line in block]
    lines = lines[: len(lines) // 2 * 2]
    collation = _collated([[lines[0::2], lines[1::2]]], " ".join(lines))
    assert Kind.LINES_TRANSPOSED in {d.kind for d in collation.differences}


def test_paragraphs_set_across_are_a_query_where_they_could_be_zones():
    # Four paragraphs, the second beside the first, the third below it.
    sheets = [[BLOCKS[0] + BLOCKS[2], BLOCKS[1] + BLOCKS[3]]]
    (found,) = _collated(sheets, "\n\n".join(PARAGRAPHS[:4])).differences
    assert found.only_query


def test_a_line_of_prose_that_has_changed_columns_is_told_though_it_keeps_its_row():
    first, second = BLOCKS[0] + BLOCKS[1], BLOCKS[2] + BLOCKS[3]
    row = 2
    first[row], second[row] = second[row], first[row]
    found = _collated([[first, second]], "\n\n".join(PARAGRAPHS[:4])).differences
    assert [(d.kind, d.line) for d in found] == [(Kind.LINES_TRANSPOSED, row + 1)]


ROWS = [
    ("Broad beans", "6d."),
    ("Spring onions", "4d."),
    ("Globe beetroot", "3d."),
    ("Parsnips, long", "2d."),
    ("Early carrots", "1s."),
    ("Radishes, red", "9d."),
]


@settings(max_examples=30, derandomize=True)
@given(st.integers(0, 5), st.integers(0, 5), st.integers(0, 1))
def test_cells_of_a_table_exchanged_in_their_column_are_told(one, other, column):
    names, prices = (list(cells) for cells in zip(*ROWS, strict=True))
    cells = (names, prices)[column]
    cells[one], cells[other] = cells[other], cells[one]
    copy = "\n".join(f"{name}\t{price}" for name, price in ROWS)
    collation = _collated([[names, prices]], copy)
    assert bool(collation.differences) == (one != other)
    assert collation.waived["reading-order"]


def test_the_order_of_reading_can_be_enforced():
    names, prices = (list(cells) for cells in zip(*ROWS, strict=True))
    copy = "\n".join(f"{name}\t{price}" for name, price in ROWS)
    strict = Rules().without("reading-order")
    found = _collated([[names, prices]], copy, rules=strict).differences
    assert {d.kind for d in found} == {Kind.LINES_TRANSPOSED}


@pytest.mark.parametrize("part", [False, True])
def test_pages_exchanged_are_told_though_the_proof_is_a_part(part):
    sheets = _made_up((4, 5, 2, 3), [[2], [2]])
    found = _collated(sheets, part=part).differences
    assert Kind.LINES_TRANSPOSED in {d.kind for d in found}


@pytest.mark.parametrize("at", [0, -1])
@pytest.mark.parametrize("sheet", [0, 1, 2])
def test_a_word_or_a_line_lost_at_the_edge_of_a_sheet_is_told(sheet, at):
    sheets = _made_up(range(6), SHAPES["three pages"])
    rows = sheets[sheet][0]
    words = rows[at].split()
    whole = rows[at]
    rows[at] = " ".join(words[1:] if at == 0 else words[:-1])
    assert [d.kind for d in _collated(sheets).differences] == [Kind.WORD_MISSING]
    rows[at] = whole
    del rows[at]
    (found,) = _collated(sheets).differences
    assert found.kind in (Kind.LINE_MISSING, Kind.MATTER_MISSING)


@pytest.mark.parametrize("sheet", [0, 1])
def test_a_line_or_a_paragraph_set_again_on_the_next_sheet_is_told(sheet):
    sheets = _made_up(range(6), SHAPES["three pages"])
    sheets[sheet + 1][0].insert(0, sheets[sheet][0][-1])
    assert [d.kind for d in _collated(sheets).differences] == [Kind.LINE_DOUBLED]
    sheets = _made_up(range(6), SHAPES["three pages"])
    sheets[sheet + 1][0][:0] = BLOCKS[2 * sheet]
    told = [d.kind for d in _collated(sheets).differences]
    assert told == [Kind.LINE_DOUBLED] * len(BLOCKS[2 * sheet])
