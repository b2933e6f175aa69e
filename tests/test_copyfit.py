"""Casting off against worked examples."""

import pytest

from proofcheck.copyfit import cast_off, characters_per_pica, ems_in_line, words_in_page


def test_a_whole_copyfit():
    # Reckoned by the rule of 342 that compositors quote.
    per_pica = characters_per_pica(120)
    assert per_pica == 2.85
    fit = cast_off(1560, per_pica, measure_picas=20, body_pt=10, lead_pt=2)
    assert fit.characters_per_line == 57
    assert (fit.lines, fit.depth_pt) == (28, 336)
    assert fit.depth_pt / 12 == 28
    assert characters_per_pica(130, capitals=True) == 2.5


def test_a_published_worked_example():
    # preservearticles.com, "copyfitting": 262 characters at 38 a line make 7 lines of 10 point,
    # about an inch.
    fit = cast_off(262, per_pica=38, measure_picas=1, body_pt=10)
    assert fit.lines == 7
    assert fit.depth_pt / 72 == pytest.approx(1, abs=0.05)


def test_a_line_filled_to_the_last_character_is_one_line():
    assert cast_off(570, 2.85, 20, 10).lines == 10


@pytest.mark.parametrize(
    ("body_pt", "lead_pt", "words"), [(10, 0, 259), (8, 0, 405), (10, 2, 216), (8, 2, 324)]
)
def test_three_ems_to_the_word(body_pt, lead_pt, words):
    # A page of 3 by 5 inches, printed in a handbook on preparing manuscripts (about 1920).
    assert words_in_page(216, 360, body_pt, lead_pt) == words


def test_ems_of_a_news_column():
    # Thirteen picas of 8 point: reckoned as the trade reckons, in ems of the type's own body.
    assert ems_in_line(13 * 12, 8) == 19.5
    assert ems_in_line(13 * 12, 8) * 9 == 175.5


def test_nothing_to_measure_by():
    with pytest.raises(ValueError, match="no length"):
        characters_per_pica(0)
    with pytest.raises(ValueError, match="holds nothing"):
        cast_off(100, 2.5, 0, 10)
