"""What a difference of letters, points and spaces is called."""

import ast
from dataclasses import replace

import pytest

from proofcheck.base import kinds
from proofcheck.base.found import Difference
from proofcheck.base.kinds import KINDS, Group, Kind, of_group, thresholds_of
from proofcheck.base.values import Span
from proofcheck.collate.naming import kind_of_letters, kind_of_words_missing
from proofcheck.marks import AMERICAN, margin_drawing, mark_for
from proofcheck.marks.by_group import with_own
from proofcheck.marks.practice import INSTRUCTIONS
from proofcheck.metal.finder import finders_in
from tests.lab.schema_kinds import SCHEMA, with_kinds


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


def test_the_reports_schema_knows_the_kinds_of_the_table():
    held = SCHEMA.read_text("utf-8")
    assert held == with_kinds(held), "run python -m tests.lab.schema_kinds"
    assert f'"{Kind.SHORT_MEASURE}"' in held
    assert with_kinds(held.replace('"wrong-font",', "")) == held


def test_a_set_of_marks_without_one_for_every_kind_is_refused():
    makers = {kind: make for kind, make in AMERICAN.makers.items() if kind is not Kind.WORK_UP}
    with pytest.raises(ValueError, match="none for: work-up"):
        replace(AMERICAN, makers=makers)


USUAL = {
    Group.LETTERS: [("u", "n", "replace", "n/"), ("", "l", "insert", "l/"), ("e", "", "dele", "₰")],
    Group.WORDS: [("form", "from", "replace-word", "from/"), (" very", "", "dele", "₰")],
    Group.POINTS: [(".", ",", "comma", ",/"), ("", ".", "period", "⊙"), ("-", "", "dele", "₰")],
    Group.SPACES: [("", " ", "space", "#"), (" ", "", "close-up", "⁐")],
    Group.LINE_ENDS: [("", "", "query", "(?)")],
    Group.LINES: [("", "", "query", "(?)")],
    Group.TYPE: [("m", "m", "broken", "x"), ("", "", "broken", "x")],
    Group.RULES: [("", "", "mend-rule", "rule")],
}
"""For each group: printed, wanted, and the mark where a kind has none of its own. The same marks,
of the same sources, as in `test_marks_assign`."""


@pytest.mark.parametrize("kind", Kind)
def test_a_kind_without_a_mark_of_its_own_is_marked_as_its_group_is(kind):
    bare = replace(AMERICAN, name="bare", makers=with_own({}))
    for printed, wanted, sign, margin in USUAL[KINDS[kind].group]:
        found = Difference(
            kind, 3, Span(0, len(printed)), printed, Span(0, len(wanted)), wanted, None, ()
        )
        mark = mark_for(found, bare)
        assert (mark.sign, mark.margin) == (sign, margin)
        if sign in ("query", "broken", "mend-rule"):
            assert kind.value.replace("-", " ") in mark.words
        assert margin_drawing(mark)


def test_a_mark_of_its_own_comes_before_the_groups():
    assert mark_for(
        Difference(Kind.WORK_UP, 3, Span(0, 0), "", Span(0, 0), "", None, ())
    ).sign == "push-down"  # fmt: skip
    assert set(with_own({})) == set(Kind)


def test_a_finder_of_the_type_is_one_because_its_module_says_so(tmp_path, monkeypatch):
    """What a new module has to hold, and that two can't stand alike."""
    text = "from proofcheck.metal.finder import Finder\nFINDER = Finder({}, {})\n"
    package = tmp_path / "trial_room"
    package.mkdir()
    (package / "__init__.py").write_text("")
    (package / "helps.py").write_text("FINDER = None\n")
    (package / "first.py").write_text(text.format(7, "list"))
    (package / "later.py").write_text(text.format(30, "sorted"))
    monkeypatch.syspath_prepend(tmp_path)
    found = finders_in("trial_room", [str(package)])
    assert [(each.standing, each.find) for each in found] == [(7, list), (30, sorted)]
    (package / "alike.py").write_text(text.format(30, "list"))
    with pytest.raises(ValueError, match=r"alike and trial_room\.later find with the same"):
        finders_in("trial_room", [str(package)])


def test_every_kind_of_type_and_rules_is_named_by_a_module_that_finds():
    room = SCHEMA.parent.parent / "metal"
    text = "".join(path.read_text("utf-8") for path in room.glob("*.py"))
    wanted = of_group(Group.TYPE, Group.RULES) | {Kind.TURNED_SORT}
    assert not [kind.value for kind in wanted if f"Kind.{kind.name}" not in text]


def test_a_kind_may_have_thresholds_of_its_own(monkeypatch):
    assert thresholds_of(Kind.CASE, 0.5, 0.02) == (0.5, 0.02)
    own = replace(KINDS[Kind.CASE], fault_certainty=0.8, query_certainty=0.0)
    monkeypatch.setattr(kinds, "KINDS", {**KINDS, Kind.CASE: own})
    assert thresholds_of(Kind.CASE, 0.5, 0.02) == (0.8, 0.0)
    assert thresholds_of(Kind.WORK_UP, 0.5, 0.02) == (0.5, 0.02)


def test_a_set_of_marks_without_what_the_type_asks_for_is_refused():
    signs = {name: sign for name, sign in AMERICAN.signs.items() if name != "align"}
    with pytest.raises(ValueError, match="no sign for: align"):
        replace(AMERICAN, signs=signs)


def test_a_sign_that_nothing_is_drawn_for_is_refused():
    with pytest.raises(ValueError, match="nothing is drawn for: thunder"):
        replace(AMERICAN, signs={**AMERICAN.signs, "thunder": AMERICAN.signs["stet"]})


def test_the_type_asks_for_no_sign_by_name_but_those_every_set_has():
    asked = {
        node.value
        for path in (SCHEMA.parent.parent / "metal").glob("*.py")
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Constant) and node.value in AMERICAN.signs
    }
    assert asked == INSTRUCTIONS
