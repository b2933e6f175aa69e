"""Lengths measured on proofs, against those the handbooks print.

Spaces: A. A. Stewart, Typesetting (1919): the table of sixtieths of an em, and the spaces of
10-point in the old system (5-, 4-, 3-to-em and en) and in that of point widths. The proofs are set
to them at 300 dpi, where half a point is two pixels.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from metal_cases import copy_of, prose_forme, sheet_of
from typesetter import Style, compose, lines_of, print_proof, pull, readings_of
from typesetter.faults import put, slug_at

from proofcheck.collate import collate
from proofcheck.metal import MetalSettings
from proofcheck.metal.context import Matter
from proofcheck.metal.spaces import word_spaces
from proofcheck.sheet.lines import find_lines

SIXTIETHS = (12, 15, 20, 24, 27, 30, 32, 35, 36, 39, 40, 42, 44, 45, 47, 48, 50, 51, 52, 54, 55, 56,
             57, 59, 60)  # fmt: skip
"""From a 5-to-em space to an em quad, by one space or several together."""
TEN_POINT = (2.0, 2.5, 10 / 3, 3.0, 4.0, 5.0)
"""5-, 4- and 3-to-em by the old system and by point widths, the patent space, and the en quad."""
HALF_A_POINT = 0.5


def spaced(forme, number, widths_pt):
    """A line whose word spaces are of the given widths in turn, not brought to the measure."""
    slug = slug_at(forme, number)
    given = iter(np.resize(widths_pt, len(slug.sorts)).tolist())
    sorts = tuple(
        replace(sort, width_pt=next(given), band=False) if sort.text == " " else sort
        for sort in slug.sorts
    )
    return put(forme, replace(slug, sorts=sorts))


def measured(forme, *, worn):
    """The spaces of a proof: line, and width in points, in order."""
    proof = print_proof(forme, dpi=300)
    image = pull(proof, "good", seed=2) if worn else proof.image
    lines, readings, copy = lines_of(proof), readings_of(proof), copy_of(proof.copy)
    collation = collate(copy, readings, lines=lines)
    matter = Matter.of([sheet_of(image)], lines, readings, collation, copy, MetalSettings())
    spaces = word_spaces(matter)
    return spaces.row + 1, spaces.wide_px * 72.27 / 300, spaces.wide_em


def _roomy(forme):
    """Lines with seven word spaces at least, but the third."""
    return [n for n, slug in enumerate(forme.slugs, 1) if n != 3 and slug.text.count(" ") >= 7]


@pytest.fixture(scope="module")
def ten_point():
    """The spaces of 10-point, and all the sixtieths of a 10-point em, in lines of their own."""
    forme = prose_forme()
    forme = spaced(forme, 3, TEN_POINT)
    for number, first in zip(_roomy(forme), range(0, len(SIXTIETHS), 7), strict=False):
        forme = spaced(forme, number, tuple(n / 6 for n in SIXTIETHS[first : first + 7]))
    return measured(forme, worn=True)


def test_the_spaces_of_ten_point_come_back(ten_point):
    line, wide_pt, _ = ten_point
    found = wide_pt[line == 3]
    assert len(found) >= len(TEN_POINT)
    wanted = np.resize(TEN_POINT, len(found))
    assert np.abs(found - wanted).max() < HALF_A_POINT


def test_the_sixtieths_of_an_em_come_back(ten_point):
    line, wide_pt, wide_em = ten_point
    seen = 0
    for number, first in zip(_roomy(prose_forme()), range(0, len(SIXTIETHS), 7), strict=False):
        found = wide_pt[line == number]
        run = [n / 6 for n in SIXTIETHS[first : first + 7]]
        wanted = np.resize(run, len(found))
        assert np.abs(found - wanted).max() < HALF_A_POINT
        assert wide_em[line == number] == pytest.approx(found / 10)
        seen += min(len(found), len(run))
    assert seen == len(SIXTIETHS)


@pytest.mark.parametrize("family", ["schola", "old-standard"])
@pytest.mark.parametrize("body_pt", [6, 8, 10, 12, 18, 24, 36])
def test_bodies_set_solid_come_back(family, body_pt):
    # The sizes by points of the handbooks; leaded matter hides its body, so none is claimed for it.
    from typesetter import Para

    words = "The band was first gathered in the winter, when the mill stood still for good."
    forme = compose(
        [Para(words)],
        measure_picas=1.4 * body_pt,
        style=Style(family=family, body_pt=body_pt, lead_pt=0),
    )
    lines = find_lines(sheet_of(print_proof(forme).image))
    assert [line.body_pt for line in lines] == pytest.approx([body_pt] * len(lines), abs=0.25)
