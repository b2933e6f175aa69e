"""Measures against the trade's printed tables.

"book" values are printed in Stewart, *Typesetting* (1919) or *Type* (1918), Bleyer, *Newspaper
Writing and Editing* (1913), or Benton in *The Building of a Book* (1906); "reckoned" ones
follow from the definitions.
"""

import pytest

from proofcheck import units


def test_the_point_and_what_follows_from_it():
    assert units.pt_to_inches(1) == 0.013837  # book (Stewart)
    assert units.pt_to_mm(1) == pytest.approx(0.35146, abs=5e-6)  # reckoned
    assert units.pt_to_inches(12) == pytest.approx(0.166044)  # book
    assert units.pt_to_inches(72) == pytest.approx(0.996264)  # book
    assert units.inches_to_pt(1) == pytest.approx(72.27, abs=0.001)  # reckoned
    # 996 points are 35 cm by the founders' agreement: the same point to five figures.
    assert units.mm_to_pt(350) == pytest.approx(996, abs=0.2)


def test_measures_of_thirteen_and_twenty_picas():
    slug, of_type = units.Pica.SLUG, units.Pica.TYPE
    assert units.picas_to_px(13, 1, slug) == pytest.approx(2 + 1 / 6)  # book (Bleyer)
    assert units.picas_to_px(13, 1, of_type) == pytest.approx(2.1586, abs=5e-5)  # reckoned
    assert units.picas_to_px(20, 1, slug) == pytest.approx(3.3333, abs=5e-5)
    assert units.picas_to_px(20, 1, of_type) == pytest.approx(3.3209, abs=5e-5)


@pytest.mark.parametrize(
    ("body_pt", "lines"),
    # 6, 8 and 9 as printed by Benton; the others reckoned at 72 points to the inch.
    [(5.5, 13.09), (6, 12), (7, 10.29), (8, 9), (9, 8), (10, 7.2), (11, 6.55), (12, 6)],
)
def test_lines_to_the_column_inch(body_pt, lines):
    assert units.lines_per_column_inch(body_pt) == pytest.approx(lines, abs=0.005)


def test_lines_to_the_inch_by_the_exact_point_and_by_agate():
    exact = units.lines_per_column_inch(10, point_in=units.POINT_IN)
    assert exact == pytest.approx(7.227, abs=5e-4)  # reckoned
    assert units.AGATE_LINES_PER_INCH == 14  # book (Stewart 1918), a convention
    assert units.lines_per_column_inch(5.5) < 14


def test_names_of_bodies():
    # book (Stewart 1918)
    assert [units.body_name(pt) for pt in (5.5, 6, 8, 10, 11, 12, 48)] == [
        "agate",
        "nonpareil",
        "brevier",
        "long primer",
        "small pica",
        "pica",
        "canon",
    ]
    assert units.body_name(10.2) == "long primer"
    assert units.body_name(13) == ""


def test_the_continental_measures():
    assert pytest.approx(0.178, abs=0.0005) == units.CICERO_IN  # quoted in printers' tables
    assert units.inches_to_pt(units.CICERO_IN) == pytest.approx(12.84, abs=0.005)  # reckoned


def test_pixels_there_and_back():
    assert units.pt_to_px(72.27, 300) == pytest.approx(300, abs=0.01)
    assert units.px_to_pt(units.pt_to_px(9.5, 600), 600) == pytest.approx(9.5)
    assert units.ems_to_pt(1.5, 10) == 15


@pytest.mark.parametrize("dpi", [0, -300, float("nan")])
def test_no_resolution(dpi):
    with pytest.raises(ValueError, match="more than nothing"):
        units.pt_to_px(10, dpi)
