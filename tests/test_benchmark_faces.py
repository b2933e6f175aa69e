"""The bench for strange faces: its matter, and that each fault it plants can be seen."""

from types import SimpleNamespace

import pytest

from proofcheck.base.values import Span
from tests.benchmark.facematter import prose, shuffled
from tests.benchmark.faceplants import KINDS, Plan, _alike, forme_of, planted
from tests.benchmark.faces import _meets
from tests.typesetter.faces import FACES, register_family
from tests.typesetter.matter import Expected, Sort

FILES = {"roman": FACES / "texgyreschola-regular.otf"}


@pytest.fixture(scope="module")
def forme(tmp_path_factory):
    plan = Plan(260, 1, 1, ways=("plain",), out=tmp_path_factory.mktemp("out"))
    return forme_of("bench-face", FILES, 0, plan, mix=False)


def test_one_fault_of_each_kind_in_lines_of_their_own(forme):
    faults = planted(forme, 3).expected()
    assert sorted(fault.kind for fault in faults) == sorted(KINDS)
    assert len({fault.line for fault in faults}) == len(KINDS)


def test_letters_that_print_alike_are_told_from_those_that_do_not():
    def sort(char):
        return Sort(char, 5.0, family="bench-face")

    register_family("bench-face", FILES["roman"])
    # The ohm sign is canonically omega (Unicode, UnicodeData); capital alpha is drawn as A.
    for one, other in ("\u2126\u03a9", "\u0391A", "--"):
        assert _alike(sort(one), sort(other))
    for one, other in ("ce", "il", ",.", "xX", "oc", ";:"):
        assert not _alike(sort(one), sort(other))


def test_a_family_of_files_has_its_ligatures_and_keeps_its_name():
    made = register_family("bench-face", FILES["roman"])
    assert made.roman.has("\ufb01")
    with pytest.raises(ValueError, match="already"):
        register_family("bench-face", FACES / "GoudyBookletter1911.otf")
    goudy = register_family("bench-goudy", FACES / "GoudyBookletter1911.otf")
    assert goudy.roman.has("\ufb01")


def test_matter_is_of_the_seed_and_of_what_the_face_has():
    can_set = "".join(map(chr, range(32, 0x2100)))
    assert prose(4, 100, can_set, italic=True) == prose(4, 100, can_set, italic=True)
    assert "£" not in "".join(prose(4, 400, can_set.replace("£", ""), italic=False))
    with pytest.raises(ValueError, match="can't set"):
        prose(4, 100, "abc", italic=False)


def test_shuffled_words_keep_their_letters():
    text = "Why should barley cost 3s. 6d. in Upwey?"
    mixed = shuffled(text, 2)
    assert mixed != text
    assert sorted(mixed) == sorted(text)
    assert [w for w in mixed.split() if w[0].isupper()] == ["Why", "Upwey?"]


def test_a_plant_is_found_only_where_it_stands():
    plant = Expected("word-doubled", 3, "the", "", copy_at=100)
    met = [_meets(SimpleNamespace(copy=Span(at, at)), plant) for at in (80, 94, 95, 105, 106)]
    assert met == [False, False, True, True, False]
