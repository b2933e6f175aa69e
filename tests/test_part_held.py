"""A proof that plainly holds only part of its copy: how to read it as one is said, no more."""

import re
from random import Random

import pytest
from collating import copy_of, pages_of, set_in_lines
from test_makeup_sheets import FOUR, ONE, THREE, TWO, _read

from proofcheck.base.found import Verdict
from proofcheck.collate import collate
from proofcheck.collate.part_held import part_notes

PARAGRAPHS = [
    "The ferry was built in the year of the great flood, and first to cross was a goose.",
    "Old men in the village hold that the rope was made of flax grown upon the far bank.",
    "A toll of one farthing was asked of all but the miller, who paid for his house in flour.",
    "When the bridge was opened nobody took down the rope, lest the bridge should fail one day.",
]


def _notes(held, copy=PARAGRAPHS):
    lines = [line for text in held for line in set_in_lines(text, 34, Random(3), divide=False)]
    readings, placed = pages_of([[lines]])
    whole = copy_of("\n\n".join(copy))
    return part_notes(whole, collate(whole, readings, lines=placed))


@pytest.mark.parametrize(("first", "last"), [(0, 2), (2, 4), (1, 3)])
def test_an_end_of_the_copy_that_no_line_holds_is_told_with_what_to_do(first, last):
    (note,) = _notes(PARAGRAPHS[first:last])
    told = {which: int(share) for which, share in re.findall("the (first|last) ([0-9]+)%", note)}
    ends = {"first": PARAGRAPHS[:first], "last": PARAGRAPHS[last:]}
    letters = {name: sum(map(str.isalnum, "".join(end))) for name, end in ends.items()}
    whole = sum(map(str.isalnum, "".join(PARAGRAPHS)))
    assert told == {name: round(100 * n / whole) for name, n in letters.items() if n}
    assert note.endswith("--part reads it as one")


@pytest.mark.parametrize(
    "held",
    [
        PARAGRAPHS,
        [PARAGRAPHS[0], PARAGRAPHS[3]],
        PARAGRAPHS[::-1],
        [*PARAGRAPHS[:3], PARAGRAPHS[3][:60]],
        [PARAGRAPHS[0], "Onions of the best sort are sold at fourpence an ounce at the mill."],
        ["Onions of the best sort are sold at fourpence an ounce at the mill."],
    ],
    ids=["whole", "middle out", "out of order", "last words out", "half of another", "another"],
)
def test_no_part_is_offered_where_it_is_none_plainly(held):
    assert _notes(held) == ()


def test_what_is_missing_stays_a_fault_and_is_offered_as_a_part(tmp_path):
    copy = [ONE, TWO, THREE, FOUR]
    report = _read(tmp_path, [[ONE], [TWO]], copy)
    assert report.verdict is Verdict.FAULTS
    assert sum("--part" in note for note in report.warnings) == 1
    assert not any(
        "--part" in note for note in _read(tmp_path, [[ONE, TWO, THREE, FOUR]], copy).warnings
    )
