"""Measures against the trade's printed tables.

"book" values are printed in Stewart, *Typesetting* (1919) or *Type* (1918), Bleyer, *Newspaper
Writing and Editing* (1913), or Benton in *The Building of a Book* (1906); "reckoned" ones
follow from the definitions.
"""

import pytest

from proofcheck.base import units


def test_the_point_and_what_follows_from_it():
    assert units.pt_to_inches(1) == 0.013837  # book (Stewart)
    in_mm = units.pt_to_inches(1) * units.MM_PER_INCH
    assert in_mm == pytest.approx(0.35146, abs=5e-6)  # reckoned
    assert units.pt_to_inches(12) == pytest.approx(0.166044)  # book
    assert units.pt_to_inches(72) == pytest.approx(0.996264)  # book
    assert units.inches_to_pt(1) == pytest.approx(72.27, abs=0.001)  # reckoned
    # 996 points are 35 cm by the founders' agreement: the same point to five figures.
    assert units.inches_to_pt(350 / units.MM_PER_INCH) == pytest.approx(996, abs=0.2)


def test_measures_of_thirteen_and_twenty_picas():
    slug, of_type = units.SLUG_PICA_IN, units.PICA_IN
    assert 13 * slug == pytest.approx(2 + 1 / 6)  # book (Bleyer)
    assert 13 * of_type == pytest.approx(2.1586, abs=5e-5)  # reckoned
    assert 20 * slug == pytest.approx(3.3333, abs=5e-5)
    assert 20 * of_type == pytest.approx(3.3209, abs=5e-5)


def test_pixels_there_and_back():
    assert units.pt_to_px(72.27, 300) == pytest.approx(300, abs=0.01)
    assert units.px_to_pt(units.pt_to_px(9.5, 600), 600) == pytest.approx(9.5)


@pytest.mark.parametrize("dpi", [0, -300, float("nan")])
def test_no_resolution(dpi):
    with pytest.raises(ValueError, match="more than nothing"):
        units.pt_to_px(10, dpi)
