"""Classes and turned sorts.

Look-alikes when turned: n u p d b q, 6 9, and o s x z nearly unchanged (old handbooks of
composition); the names of the turned letters are the Unicode Standard's own.
"""

import string
import unicodedata

import pytest

from proofcheck.collate.lacking import lacking
from proofcheck.reading.alphabet import CHARACTERS, INDEX, in_classes
from proofcheck.reading.charset import characters_in
from proofcheck.reading.engine import find_engine
from proofcheck.reading.turned import FEET_UP, LOOKS_LIKE, TURNED, is_turned, set_right
from tests.turning import UNCHANGED, as_printed_turned


def test_every_character_is_one_code_point_and_once():
    assert len(set(CHARACTERS)) == len(CHARACTERS)
    assert all(len(c) == 1 for c in CHARACTERS[1:])
    assert all(in_classes(c) == c for c in CHARACTERS[2:])


def test_turned_letters_are_unicode_s_own_where_there_is_one():
    named = [t for t in TURNED.values() if not 0xE000 <= ord(t) <= 0xF8FF]
    kinds = ("TURNED", "REVERSED", "OPEN O", "DOTLESS J WITH STROKE", "RAISED", "MIRRORED")
    assert all(any(k in unicodedata.name(t) for k in kinds) for t in named)
    assert unicodedata.name(FEET_UP) == "GETA MARK"


@pytest.mark.parametrize("pair", ["nu", "un", "pd", "bq", "69"])
def test_look_alikes(pair):
    assert as_printed_turned(pair[0]) == pair[1]
    assert as_printed_turned(as_printed_turned(pair[0])) == pair[0]
    assert not is_turned(pair[1])


@pytest.mark.parametrize("letter", "osxz")
def test_nearly_unchanged(letter):
    assert as_printed_turned(letter) == letter


def test_turning_twice_sets_right():
    assert all(set_right(as_printed_turned(c)) == c and is_turned(TURNED[c]) for c in TURNED)
    assert not set(TURNED) & set(LOOKS_LIKE)
    assert not UNCHANGED & (set(TURNED) | set(LOOKS_LIKE))


@pytest.mark.parametrize(
    ("given", "wanted"),
    [
        ("“Oh,”  said ‘he’…", "\"Oh,\" said 'he'..."),
        ("ﬁne ﬂoor eﬃcient", "fine floor efficient"),
        ("re\u00adform\u2009it\n", "re-form it"),
        ("cafe\u0301 10² ½", "café 102 ½"),
    ],
)
def test_text_in_the_reader_s_characters(given, wanted):
    assert in_classes(given) == wanted


def test_what_no_class_stands_for_is_kept_and_named():
    assert in_classes("aЖb") == "aЖb"
    found = lacking("aЖb漢 Ж", INDEX)
    assert found.characters == {"Ж", "漢"}
    (note,) = found.notes
    assert note.startswith("the reader can't read Ж and 漢: 3 places of the copy are judged by")


@pytest.mark.parametrize(
    "text", ["".join(INDEX), "ﬁne “quotes” … ½ ¹⁄₁₆ — x\u00adx", "", "e\u0301"]
)
def test_what_is_read_in_another_form_is_not_beyond_it(text: str) -> None:
    assert lacking(text, INDEX).characters == set()


def test_many_strange_characters_are_counted_and_not_all_named() -> None:
    (note,) = lacking("".join(map(chr, range(0x410, 0x430))), INDEX).notes
    assert "20 more" in note
    assert lacking("Ж", None).notes == ()


def test_the_engines_own_list_of_characters_is_read() -> None:
    """Its English has all of ASCII's letters and figures and no ř; without a file none is known."""
    engine = find_engine()
    english = characters_in(engine, "eng")
    assert english is not None
    assert set(string.ascii_letters + string.digits) <= english
    assert "ř" not in english
    assert characters_in(engine, "xyz") is None
