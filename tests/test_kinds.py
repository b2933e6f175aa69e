"""What a difference of letters, points and spaces is called."""

import pytest

from proofcheck.base.kinds import Kind
from proofcheck.collate.naming import kind_of_letters, kind_of_words_missing


@pytest.mark.parametrize(
    ("printed", "wanted", "kind"),
    [
        ("u", "n", Kind.WRONG_LETTER),
        ("rn", "m", Kind.WRONG_LETTER),
        ("3", "8", Kind.WRONG_LETTER),
        ("¼", "½", Kind.WRONG_LETTER),
        ("e", "é", Kind.WRONG_LETTER),
        (".", "i", Kind.WRONG_LETTER),
        ("N", "n", Kind.CASE),
        ("", "e", Kind.LETTER_MISSING),
        (" ", "e", Kind.LETTER_MISSING),
        ("e", "", Kind.LETTER_EXTRA),
        ("e", " ", Kind.LETTER_EXTRA),
        (",", ".", Kind.POINT_WRONG),
        ("-", "—", Kind.POINT_WRONG),
        ("l", "!", Kind.POINT_WRONG),
        ("", "'", Kind.POINT_MISSING),
        (" ", "-", Kind.POINT_MISSING),
        ('"', "", Kind.POINT_EXTRA),
        ("-", " ", Kind.POINT_EXTRA),
        ("", " ", Kind.SPACE_MISSING),
        (" ", "", Kind.SPACE_EXTRA),
        ("ǝ", "e", Kind.TURNED_SORT),
        ("ɐ", "e", Kind.WRONG_LETTER),
    ],
)
def test_kinds_of_letters(printed, wanted, kind):
    assert kind_of_letters(printed, wanted) is kind


@pytest.mark.parametrize(
    ("wanted", "kind"),
    [
        ("the", Kind.WORD_MISSING),
        ("of the four words", Kind.WORD_MISSING),
        ("an out of five words", Kind.MATTER_MISSING),
        ("—", Kind.POINT_MISSING),
    ],
)
def test_kinds_of_words_missing(wanted, kind):
    assert kind_of_words_missing(wanted) is kind
