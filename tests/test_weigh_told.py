"""What must not pass in silence, and what the page's own letters say of it."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np
import pytest
from typesetter import Para, Style, compose, lines_of, print_proof, pull, readings_of

from proofcheck.base.found import Collation, Difference, Fault, LetGo, Placing, Status
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Copy, Letter, Line, Reading, Scan, Sheet, Span
from proofcheck.faults import make_faults
from proofcheck.weigh import Witnesses, weigh
from proofcheck.weigh.beyond import AS_THE_FIRST, Beyond, base_of
from proofcheck.weigh.calibration import FEATURES, Calibration
from proofcheck.weigh.evidence import disputes_of
from proofcheck.weigh.fellows import Says
from proofcheck.weigh.judging import PAGE_BEARS_OUT
from proofcheck.weigh.overlooked import overlooked
from proofcheck.weigh.page_says import PageSays
from proofcheck.weigh.telling import never_silent

MATTER = (
    "Four looms stood in the cold room over the cooper, and no more work was got from one of "
    "them than from an old door. “Mr. Monk,” said Otto, “has 30 of 300 bobbins; O for 10 or 20 "
    "more! Our own Oona and her son would do the whole of it—so she holds—by 10 o’clock.”"
)
SELDOM = Calibration(-9.0, (0.0,) * len(FEATURES), "set in a test: all are slips")


@pytest.fixture(scope="module")
def proof():
    forme = compose([Para(MATTER)], measure_picas=21, style=Style("old-standard", 11, 2))
    printed = print_proof(forme, dpi=300, seed=5)
    image = pull(printed, "good", seed=5)
    scan = Scan("made.png", 0, "0" * 64, image.shape[1], image.shape[0])
    sheet = Sheet(image, scan, 0, 300.0, "option", 0, mirrored=False, skew_deg=0.0,
                  to_scan=np.eye(3))  # fmt: skip
    return sheet, tuple(lines_of(printed)), tuple(readings_of(printed))


def relabelled(readings, changes: dict[tuple[int, int], str]):
    """The readings with letters, by place of the line and in it, read as others."""
    out = []
    for row, reading in enumerate(readings):
        letters = [
            replace(letter, text=changes.get((row, at), letter.text))
            for at, letter in enumerate(reading.letters)
        ]
        out.append(Reading(reading.line, tuple(letters)))
    return tuple(out)


def places_of(readings, letter: str) -> list[tuple[int, int]]:
    return [
        (row, at)
        for row, reading in enumerate(readings)
        for at, held in enumerate(reading.letters)
        if held.text == letter
    ]


def dispute(readings, row: int, at: int, read: str, wanted: str, kind=Kind.WRONG_LETTER):
    return Difference(kind, readings[row].line, Span(at, at + len(read)), read, Span(0, 1), wanted)


def said(proof, readings, difference: Difference) -> Says:
    sheet, lines, _ = proof
    page = PageSays([sheet], lines, readings, [difference])
    (asked,) = disputes_of([difference], [sheet], lines, readings).values()
    return page.of(asked)


class Told(NamedTuple):
    """What is left after weighing, its faults made."""

    faults: tuple[Fault, ...]
    let_go: tuple[LetGo, ...]
    notes: tuple[str, ...]


def weighed(proof, readings, differences, unknown=()):
    sheet, lines, _ = proof
    page = PageSays([sheet], lines, readings, differences)
    witnesses = Witnesses(page=page, beyond=Beyond(unknown, page.fellows))
    left = weigh(Collation((), tuple(differences)), [sheet], lines, readings, witnesses, SELDOM)
    return Told(make_faults(left.found), left.let_go, left.notes)


@pytest.mark.parametrize(
    ("as_read", "at", "read", "wanted", "kind", "told"),
    [
        ("in 19O8", 5, "O", "0", Kind.WRONG_LETTER, True),
        ("one–a", 3, "–", "—", Kind.POINT_WRONG, True),
        ("all was", 1, "I", "l", Kind.WRONG_LETTER, True),
        ("the Vale", 4, "V", "v", Kind.CASE, True),
        ("A. B .", 4, " ", "", Kind.SPACE_EXTRA, True),
        ("end it,", 6, ",", "", Kind.POINT_EXTRA, True),
        ("page 1oo", 5, "1oo", "100", Kind.WRONG_WORD, True),
        ("one eat", 4, "e", "c", Kind.WRONG_LETTER, False),
        ("on e cat", 2, " ", "", Kind.SPACE_EXTRA, False),
        ("tha, so", 0, "tha,", "the,", Kind.WRONG_WORD, False),
    ],
)
def test_what_makes_sense_either_way_must_be_told(proof, as_read, at, read, wanted, kind, told):
    sheet, lines, readings = proof
    letters = tuple(replace(readings[0].letters[0], text=c) for c in as_read)
    given = (Reading(readings[0].line, letters), *readings[1:])
    difference = dispute(given, 0, at, read, wanted, kind)
    assert never_silent(disputes_of([difference], [sheet], lines, given)[0]) is told


@pytest.mark.parametrize(("certainty", "told"), [(0.93, True), (0.65, True), (0.4, False)])
@pytest.mark.parametrize(("read", "wanted"), [("ó", "ô"), ("e", "é"), ("ç", "c")])
def test_an_accent_likelier_read_otherwise_must_be_told(proof, read, wanted, certainty, told):
    sheet, lines, readings = proof
    first = readings[0].letters[0]
    letters = tuple(replace(first, text=c, certainty=certainty) for c in f"the h{read}tel")
    given = (Reading(readings[0].line, letters), *readings[1:])
    difference = dispute(given, 0, 5, read, wanted, Kind.WRONG_LETTER)
    assert never_silent(disputes_of([difference], [sheet], lines, given)[0]) is told


def test_a_letter_misread_is_settled_by_its_fellows(proof) -> None:
    """A sound 0 read as an O: it is as the other noughts are, and as no O is."""
    readings = proof[2]
    row, at = places_of(readings, "0")[2]
    misread = relabelled(readings, {(row, at): "O"})
    slip = dispute(misread, row, at, "O", "0")
    assert said(proof, misread, slip) is Says.COPY
    found = weighed(proof, misread, [slip])
    assert found.faults == ()
    assert [gone.reason for gone in found.let_go] == [PAGE_BEARS_OUT]


def test_a_wrong_letter_is_a_fault_by_its_fellows(proof) -> None:
    """An o stands where the copy has 0, however seldom the calibration thinks it is in the type."""
    readings = proof[2]
    row, at = places_of(readings, "o")[4]
    wrong = dispute(readings, row, at, "o", "0")
    assert said(proof, readings, wrong) is Says.READING
    (fault,) = weighed(proof, readings, [wrong]).faults
    assert fault.status is Status.FAULT


def test_what_the_page_can_not_say_is_a_query(proof) -> None:
    readings = proof[2]
    row, at = places_of(readings, ";")[0]
    (query,) = weighed(proof, readings, [dispute(readings, row, at, ";", ":")]).faults
    assert query.status is Status.QUERY
    assert query.certainty >= 0.02


def test_one_line_says_which_characters_look_the_same(proof) -> None:
    """Half the o's taken for noughts: then o and 0 have one shape here, as in some old faces."""
    readings = proof[2]
    halves = places_of(readings, "o")
    one_shape = relabelled(readings, dict.fromkeys([*halves[::2], halves[1]], "q"))
    row, at = halves[1]
    found = weighed(proof, one_shape, [dispute(one_shape, row, at, "q", "o", Kind.CASE)])
    assert found.faults == ()
    (gone,) = found.let_go
    assert gone.reason == "q and o can't be told apart in this face"
    assert found.notes == ("q and o can't be told apart in this face: 1 place",)


def test_a_double_quote_has_two_marks_whatever_was_read(proof) -> None:
    readings = proof[2]
    row = next(k for k, reading in enumerate(readings) if "“" in reading.text)
    text = readings[row].text
    at = text.index("“")
    letters = list(readings[row].letters)
    straight = replace(letters[at], text='"')
    right = Box(straight.box.right - 2, straight.box.y, 2, straight.box.height)
    letters[at : at + 1] = [straight, replace(straight, text="'", box=right)]
    three = (*readings[:row], Reading(readings[row].line, tuple(letters)), *readings[row + 1 :])
    assert said(proof, three, dispute(three, row, at + 1, "'", "", Kind.POINT_EXTRA)) is Says.COPY


@pytest.mark.parametrize(
    ("char", "base"),
    [
        ("Š", "s"),
        ("ł", "l"),
        ("ę", "e"),
        ("đ", "d"),
        ("ı", "i"),
        ("Ž", "z"),
        ("λ", "λ"),
        ("x", "x"),
    ],
)
def test_the_plain_letter_in_an_accented_one(char: str, base: str) -> None:
    """By the Unicode names: LATIN SMALL LETTER L WITH STROKE …"""
    assert base_of(char) == base


def test_letters_the_reader_has_not_are_one_question_for_those_that_look_alike(proof) -> None:
    """Three w's read as m where the copy has a dotted m: all look the same, and not like an m."""
    readings = proof[2]
    strange = places_of(readings, "w")[:3]
    given = relabelled(readings, dict.fromkeys(strange, "m"))
    asked = [dispute(given, row, at, "m", "ṃ") for row, at in strange]
    found = weighed(proof, given, asked, unknown="ṃ")
    (query,) = found.faults
    assert query.status is Status.QUERY
    assert {gone.reason for gone in found.let_go} == {AS_THE_FIRST}
    assert len(found.let_go) == len(asked) - 1


def test_strange_letters_of_one_word_are_one_query(proof) -> None:
    readings = proof[2]
    start = readings[0].text.index("looms")
    two = [dispute(readings, 0, start + k, readings[0].text[start + k], "ø") for k in (0, 3)]
    (query,) = weighed(proof, readings, two, unknown="ø").faults
    assert (query.proof_text, query.copy_text) == ("loom", "øooø")


def test_a_nought_among_letters_read_as_o_is_put_to_a_person(proof) -> None:
    """The typesetter printed 0; reading and copy both say O there."""
    readings = proof[2]
    row, at = places_of(readings, "0")[1]
    given = relabelled(readings, {(row, at): "O"})
    found = _overlooked(proof, given)
    assert [(d.line, d.proof.start, d.proof_text, d.copy_text) for d in found] == [
        (readings[row].line, at, "0", "O")
    ]
    assert all(difference.only_query for difference in found)
    assert _overlooked(proof, readings) == ()


@pytest.mark.parametrize(("printed", "told"), [("0", True), ("o", False)])
def test_a_ring_that_the_reader_doubts_is_put_to_a_person(proof, printed: str, told: bool) -> None:
    """Unless it is as like the page's own o's as they are among themselves."""
    readings = proof[2]
    row, at = places_of(readings, printed)[1]
    letters = list(readings[row].letters)
    letters[at] = replace(letters[at], text="o", certainty=0.6)
    given = (*readings[:row], replace(readings[row], letters=tuple(letters)), *readings[row + 1 :])
    found = _overlooked(proof, given)
    place = (readings[row].line, at, "0", "o")
    assert [(d.line, d.proof.start, d.proof_text, d.copy_text) for d in found] == [place] * told
    assert all(difference.only_query for difference in found)


def _overlooked(proof, readings):
    """What is overlooked where the copy agrees with the reading in all."""
    sheet, lines, _ = proof
    text = "\n".join(reading.text for reading in readings)
    starts = np.cumsum([0] + [len(reading.text) + 1 for reading in readings]).tolist()
    placings = tuple(
        Placing(reading.line, Span(start, start + len(reading.text)))
        for reading, start in zip(readings, starts, strict=False)
    )
    copy = Copy(text, "made", "0" * 64, "utf-8", (Span(0, len(text)),))
    page = PageSays([sheet], lines, readings, ())
    return overlooked(Collation(placings, ()), lines, readings, copy, page.fellows)


def stems(ascending_px: int, bar_px: int, *, serifs: bool = False):
    """A line of bars 5 px wide on one baseline: capitals of 20 px, b d h k, then one to judge."""
    tall = [("H", 20), ("E", 20), ("T", 20), *((c, ascending_px) for c in "bdh"), ("l", bar_px)]
    image = np.full((60, 20 * len(tall)), 255, np.uint8)
    letters = []
    for k, (char, height) in enumerate(tall):
        box = Box(20 * k + 4, 50 - height, 5, height)
        if serifs:
            box = Box(box.x - 3, box.y, 11, height)
            image[box.bottom - 2 : box.bottom, box.x : box.right] = 0
        image[box.y : box.bottom, 20 * k + 4 : 20 * k + 9] = 0
        letters.append(Letter(char, box, 0.9))
    line = Line(1, 0, 0, Box(0, 26, image.shape[1], 24), (50.0, 50.0), 14.0, 10.0)
    scan = Scan("made.png", 0, "0" * 64, image.shape[1], image.shape[0])
    sheet = Sheet(image, scan, 0, 300.0, "option", 0, mirrored=False, skew_deg=0.0,
                  to_scan=np.eye(3))  # fmt: skip
    return sheet, (line,), (Reading(1, tuple(letters)),)


@pytest.mark.parametrize(
    ("ascending_px", "bar_px", "serifs", "says"),
    [
        (25, 20, False, Says.COPY),
        (20, 20, False, Says.ALIKE),
        (25, 25, False, Says.NOTHING),
        (25, 20, True, Says.NOTHING),
    ],
)
def test_a_bare_stem_is_told_by_its_height(ascending_px, bar_px, serifs, says) -> None:
    """Read l where the copy has I; by the picture it is as tall as the capitals, or as b d h."""
    given = stems(ascending_px, bar_px, serifs=serifs)
    assert said(given, given[2], dispute(given[2], 0, 6, "l", "I")) is says


@pytest.mark.parametrize(("height_px", "says"), [(20, Says.COPY), (14, Says.NOTHING)])
def test_a_letter_as_tall_as_the_capitals_beside_it_is_one(height_px: int, says: Says) -> None:
    sheet, lines, (reading,) = stems(25, height_px)
    letters = (*reading.letters[:-1], replace(reading.letters[-1], text="s"))
    given = (Reading(1, letters),)
    asked = dispute(given, 0, 6, "s", "S", Kind.CASE)
    assert said((sheet, lines, given), given, asked) is says
