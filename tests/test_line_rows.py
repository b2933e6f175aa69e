"""Rows by sheet and paragraphs by place: found at once, and as looking through all finds them."""

from __future__ import annotations

import numpy as np
from evenly_laid import line_of, matter_laid

from proofcheck.base.values import Span


def test_the_paragraph_at_a_place_is_that_which_looking_through_all_finds() -> None:
    rng = np.random.default_rng(3)
    ends = np.sort(rng.choice(200, 24, replace=False)).tolist()
    paragraphs = tuple(Span(*pair) for pair in zip(ends[::2], ends[1::2], strict=True))
    matter = matter_laid([line_of("a line", 1)], "a line", paragraphs=paragraphs)
    assert matter.copy.paragraphs == paragraphs
    for start in range(200):
        before = [p for p in paragraphs if p.start <= start]
        assert matter.paragraph_at(start) == (before[-1] if before else None)
        for end in range(start, 200, 7):
            held = any(p.start <= start and end <= p.end for p in paragraphs)
            assert matter.in_one_paragraph(start, end) == held


def test_rows_are_told_by_their_sheet() -> None:
    rows = [line_of("one", 1), line_of("two", 2), line_of("three", 3, sheet=0)]
    assert matter_laid(rows, "one two three").on_sheet == {0: [0, 1, 2]}
