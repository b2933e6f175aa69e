"""Quotes the wrong way round are told, and no sound one is.

Oracle: the typesetter knows which quote it set, and where. That an opening quote is shaped as a 6
and a closing one, or an apostrophe, as a 9 is the Unicode Standard's own description (chapter 6,
General Punctuation; from memory) and common practice.
"""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from typesetter import Para, Style, compose, lines_of, print_proof, pull, readings_of
from typesetter.wear import PRESETS

from proofcheck import Options, check_proof
from proofcheck.base.found import Collation, Difference, Placing
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Copy, Reading, Scan, Sheet, Span
from proofcheck.weigh.fellows import Fellows
from proofcheck.weigh.quote_ways import QUOTES, quotes_of, wrong_way
from proofcheck.weigh.quotes_amiss import quotes_amiss

FACES = ("goudy", "old-standard", "schola")
WORDS = (
    "He said, “I do not know it,” and the miller’s wife replied: “That is the cook’s own trumpet, "
    "and no man’s but his.” “Well,” said the bandmaster, “let it stand.”"
)


def pulled(printed: str, face: str, wear: str = "good"):
    """Readings of a proof as the reader writes them, and its letters."""
    proof = print_proof(compose([Para(printed)], measure_picas=22, style=Style(face, 11, 2)),
                        dpi=300, seed=5)  # fmt: skip
    image = pull(proof, replace(PRESETS[wear], skew_deg=0.0), seed=5)
    scan = Scan("made.png", 0, "0" * 64, image.shape[1], image.shape[0])
    sheet = Sheet(image, scan, 0, 300.0, "option", 0, mirrored=False, skew_deg=0.0,
                  to_scan=np.eye(3))  # fmt: skip
    lines = lines_of(proof)
    readings = [
        Reading(one.line, tuple(replace(c, text=c.text.translate(QUOTES)) for c in one.letters))
        for one in readings_of(proof)
    ]
    return readings, Fellows([sheet], lines, readings, ())


def told(copy: str, printed: str, face: str, wear: str = "good") -> list[str]:
    """What stands the wrong way round, as "instead for wanted", in the order of the proof."""
    readings, fellows = pulled(printed, face, wear)
    held, at = [], 0
    for reading in readings:
        agreed = {k: at + k for k in range(len(reading.letters))}
        held += quotes_of(reading, agreed, copy, fellows)
        at += len(reading.letters) + 1
    return [f"{one.instead} for {one.wanted}" for one in wrong_way(held)]


@pytest.mark.parametrize("wear", ["good", "worn"])
@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize("typed", [WORDS, WORDS.translate(QUOTES)], ids=["curly", "straight"])
def test_none_is_told_of_a_sound_sheet(typed, face, wear):
    assert told(typed, WORDS, face, wear) == []


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize("typed", [WORDS, WORDS.translate(QUOTES)], ids=["curly", "straight"])
@pytest.mark.parametrize(
    ("right", "wrong"),
    [("know it,”", "know it,“"), ("miller’s", "miller‘s"), ("“let", "”let"), ("man’s", "man‘s")],
)
def test_one_for_the_other_is_told(right, wrong, typed, face):
    was, is_ = (next(c for c in word if c in "‘’“”") for word in (right, wrong))
    assert told(typed, WORDS.replace(right, wrong), face) == [f"{is_} for {was}"]


@pytest.mark.parametrize("wear", ["good", "worn"])
@pytest.mark.parametrize("face", ["old-standard", "schola"])
def test_straight_ones_are_of_neither_way(face, wear):
    assert told(WORDS, WORDS.translate(QUOTES), face, wear) == []


def test_one_shape_for_both_is_asked_once():
    """The straight quotes of this face are slanted, and all lean one way."""
    assert told(WORDS, WORDS.translate(QUOTES), "goudy") == ["” for “"]
    assert told(WORDS, WORDS.replace("“", "”"), "schola") == ["” for “"]


@pytest.mark.parametrize("face", FACES)
def test_the_only_apostrophe_of_a_card_is_told(face):
    copy = "O’Hara sells tickets at the door"
    assert told(copy, copy.replace("’", "‘"), face) == ["‘ for ’"]
    assert told(copy, copy, face) == []


@pytest.mark.parametrize("face", FACES)
def test_the_only_quotation_of_a_card_is_told_by_its_other_end(face):
    copy = "the play called “Rosamund and the Bear” is given"
    assert told(copy, copy.replace("”", "“"), face) == ["“ for ”"]
    assert told(copy, copy.replace("“", "”"), face) == ["” for “"]
    both = "the play called ”Rosamund and the Bear“ is given"
    assert told(copy, both, face) == ["” for “", "“ for ”"]
    assert told(copy.translate(QUOTES), both, face) == [], "as German is set, where copy is typed"


@pytest.mark.parametrize("face", FACES)
def test_one_that_hardly_leans_is_told_by_its_shape(face):
    # A lean is measured to a share of the mark's height: small and blurred, that is nothing.
    readings, fellows = pulled(WORDS.replace("trumpet, and", "trumpet,“ and", 1), face)
    copy = WORDS.replace("trumpet, and", "trumpet,” and", 1)
    held, at = [], 0
    for reading in readings:
        agreed = {k: at + k for k in range(len(reading.letters))}
        held += quotes_of(reading, agreed, copy, fellows)
        at += len(reading.letters) + 1
    level = [replace(one, lean=0.0) for one in held]
    assert [f"{one.instead} for {one.wanted}" for one in wrong_way(level)] == ["“ for ”"]


@pytest.mark.parametrize("face", FACES)
def test_of_two_apostrophes_that_hardly_lean_the_turned_one_is_told(face):
    # No opening single quote is on the sheet to hold it against but the other, turned about.
    copy = "the miller’s wife and the cook’s own trumpet"
    readings, fellows = pulled(copy.replace("miller’s", "miller‘s"), face)
    (reading,) = readings
    held = list(quotes_of(reading, {k: k for k in range(len(copy))}, copy, fellows))
    first, second = (replace(one, lean=lean) for one, lean in zip(held, (0.001, 0.03), strict=True))
    assert [one.at for one in wrong_way([first, second])] == [copy.index("’")]


def test_what_may_be_either_is_not_judged():
    """’Tis and ‘Tis: typed straight, the copy does not say which."""
    copy = "'Tis the cook, and \" alone stands for the same"
    assert told(copy, "‘Tis the cook, and ” alone stands for the same", "schola") == []


def test_one_is_told_where_a_single_was_read_for_a_double():
    """Of a double quote read as a single one two marks are seen, and the reading let go."""
    copy = "He said, “I do not know,” and went."
    (reading,), fellows = pulled(copy.replace("know,”", "know,“"), "old-standard")
    at = copy.index("”")
    letters = (*reading.letters[:at], replace(reading.letters[at], text="'"),
               *reading.letters[at + 1 :])  # fmt: skip
    dispute = Difference(
        Kind.POINT_WRONG, reading.line, Span(at, at + 1), "'", Span(at, at + 1), "”"
    )
    collation = Collation((Placing(reading.line, Span(0, len(copy))),), (dispute,))
    paragraphs = (Span(0, len(copy)),)
    found, instead_of = quotes_amiss(
        collation,
        [Reading(reading.line, letters)],
        Copy(copy, "-", "0" * 64, "utf-8", paragraphs),
        fellows,
    )
    assert [(one.proof_text, one.copy_text, one.proof) for one in found] == [
        ("“", "”", Span(at, at + 1))
    ]
    assert instead_of == {dispute}


def test_a_proof_with_one_is_not_clean(tmp_path):
    image = pull(
        print_proof(
            compose([Para(WORDS.replace("“let", "”let"))], measure_picas=22,
                    style=Style("old-standard", 11, 2)),
            dpi=300,
        ),
        "good",
        seed=3,
    )  # fmt: skip
    scan, copy = tmp_path / "proof.png", tmp_path / "copy.txt"
    cv2.imwrite(str(scan), image)
    copy.write_text(WORDS, encoding="utf-8")
    report = check_proof(scan, copy, options=Options(type_too=False, recast=False, dpi=300))
    (fault,) = report.faults
    assert (fault.proof_text, fault.copy_text, fault.status.value) == ("”", "“", "query")
    assert fault.mark.words == "query: change closing quotes to opening quotes?"
