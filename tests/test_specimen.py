"""The corrected proof of 1913: our marks against those a reader of the day made.

Source: Bleyer, *Newspaper Writing and Editing* (1913), the plate of a corrected proof
(tests/data/specimen-1913.toml has the lines, the right text and the meaning of every mark). The
faulty text is set again in the plate's own line breaks, faults of the type included.

    plate                                        answered by                     evidence
    ⊙ period, = hyphen, ⋁ apostrophe and         point-missing at the caret      text
      quotes, ⋀ comma, |—| dash
    ⁐ close up                                   space-extra                     text
    l/ e/ put in a letter                        letter-missing                  text
    the/ put in a word                           word-missing                    text
    # space                                      space-missing                   text
    tr. of two letters, of two words             letters-, words-transposed      text
    dele through a letter, a hyphen, a word      letter-extra, point-extra,      text
                                                 word-doubled
    9 turn (the d that reads p)                  wrong-letter, "turned sort",    text
                                                 d/: a slug has no sort to turn
    l.c., cap                                    case                            text
    = after Jack at the line's end               a word broken with no hyphen    text
    no ¶                                         paragraph                       text
    lead, ] move right, ‖ align, = straighten,   not to be had from the text     type
      ✓✓✓ even spaces, × broken, w.f.,
      push down
    buried? query, stet                          nothing: the copy stands        judgement
"""

from __future__ import annotations

import hashlib

import pytest
from typesetter import lines_of, print_proof, readings_of
from typesetter.specimen import PlateMark, Specimen, load_specimen

from proofcheck.base.found import Collation, Difference
from proofcheck.base.values import Copy, Span
from proofcheck.collate import collate
from proofcheck.marks import SIGNS, mark_for

# Signs of ours that say what the plate's sign says: to the eye a turned d is a p, and the line is
# cast again with a d, where the compositor of 1913 turned the sort.
SAME_ORDER = {"turn": {"turn", "replace"}}
TEXT = [mark for mark in load_specimen().marks if mark.evidence == "text"]
QUOTES = str.maketrans("’‘“”", "''\"\"")


@pytest.fixture(scope="module")
def specimen() -> Specimen:
    return load_specimen()


@pytest.fixture(scope="module")
def collation(specimen: Specimen) -> Collation:
    """The lines as a reader that never errs sees them, laid against the right text."""
    proof = print_proof(specimen.forme)
    return collate(_copy(specimen.right), readings_of(proof), lines=lines_of(proof))


def _copy(text: str) -> Copy:
    spans, at = [], 0
    for paragraph in text.split("\n\n"):
        spans.append(Span(at, at + len(paragraph)))
        at += len(paragraph) + 2
    digest = hashlib.sha256(text.encode()).hexdigest()
    return Copy(text, "specimen", digest, "utf-8", tuple(spans))


def _plain(text: str) -> str:
    return text.translate(QUOTES).strip()


def _answers(found, mark: PlateMark) -> bool:
    """Whether a difference (or a fault) of ours is the plate's mark."""
    return (
        found.line == mark.line
        and found.kind in mark.kinds
        and _plain(found.copy_text) == _plain(mark.copy)
        and _plain(found.proof_text) == _plain(mark.printed)
        and (mark.cause is None or found.cause == mark.cause)
    )


def test_the_lines_are_set_as_the_plate_reads(specimen: Specimen):
    assert [line.text for line in print_proof(specimen.forme).lines] == list(specimen.lines)


def test_every_mark_is_in_the_table_of_marks(specimen: Specimen):
    assert {mark.sign for mark in specimen.marks} <= set(SIGNS)
    assert all("1913" in SIGNS[mark.sign].sources for mark in specimen.marks)


def test_every_mark_stands_where_its_line_has_what_it_corrects(specimen: Specimen):
    for mark in TEXT:
        assert mark.printed.removeprefix("¶") in specimen.lines[mark.line - 1]
    assert len(specimen.marks) == 36
    assert len(TEXT) == 24


@pytest.mark.parametrize("mark", TEXT, ids=lambda mark: f"{mark.line}-{mark.sign}")
def test_every_mark_of_the_text_is_found_at_its_line(collation: Collation, mark: PlateMark):
    assert any(_answers(found, mark) for found in collation.differences)


def test_our_marks_are_the_plates_marks(specimen: Specimen, collation: Collation):
    # As for type set by hand, because the plate has "tr" for letters.
    for mark in TEXT:
        for found in collation.differences:
            if _answers(found, mark) and mark.kinds != ("point-missing",):
                ours = mark_for(found, hand_set=True).sign
                assert ours in SAME_ORDER.get(mark.sign, {mark.sign}), mark.meaning
    points = [m for m in TEXT if m.kinds == ("point-missing",)]
    ours = [d for d in collation.differences if any(_answers(d, m) for m in points)]
    assert [mark_for(d).sign for d in ours] == [m.sign for m in points]


def test_nothing_is_marked_that_the_plate_does_not_mark(specimen: Specimen, collation: Collation):
    marks = [*TEXT]
    beyond: list[Difference] = []
    for found in collation.differences:
        answered = next((m for m in marks if _answers(found, m)), None)
        if answered is None:
            beyond.append(found)
        else:
            marks.remove(answered)
    assert not beyond
