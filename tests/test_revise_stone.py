"""What a hand puts right without a new slug, seen on the revise; and pulls unlike each other.

That a space is pushed down, a sort changed, a rule joined and a slug put back at the stone, the
rest of the forme left as it stood, is common practice.
"""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from revise_cases import TEXTS, moves, notice, pulled, recast, rng_of
from test_revise import corrected, first
from typesetter import broken_letter, drop_lines, misset, off_line, swap_lines, turned_sort, work_up

from proofcheck.base.found import Fault, Mark, Status
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Span
from proofcheck.revise import Made, compare_proofs
from proofcheck.revise.revise_report import tally
from proofcheck.revise.sheet_place import changed_ink

LEFT, RIGHT = 150, 900


def of_the_case(report):
    """The report as of type set by hand."""
    made = replace(report.provenance, settings={"hand_set": True})
    return replace(report, provenance=made)


def fault_at(report, kind, line, box, place, *, told=True):
    """The report with a fault of the type put in, if it was told."""
    mark = Mark("look", "", "×", "ring", kind.value)
    fault = Fault("T1", kind, line, 0, box, place, "", "", mark, 0.95, Status.FAULT)
    return replace(report, faults=(*report.faults, *([fault] if told else [])))


def with_rule(report, *, broken, told):
    """The report with a rule under its last line, broken or whole; told or passed over."""
    (sheet,), line = report.sheets, report.lines[-1]
    image = sheet.image.copy()
    y = line.box.bottom + 25
    cv2.line(image, (LEFT, y), (RIGHT, y), 20, 4)
    if broken:
        image[y - 9 : y + 10, 500:508] = 240  # two thirds of a millimetre
    box = Box(492, y - 10, 24, 20)
    held = replace(report, sheets=(replace(sheet, image=image),))
    return fault_at(held, Kind.BROKEN_RULE, line.number, box, Span(0, 0), told=told)


def made_of(told, fault="T1"):
    return next(c.made for c in told.corrections if c.fault == fault)


@pytest.fixture(scope="module")
def ruled():
    plain = pulled(notice(), 201)
    return with_rule(plain, broken=True, told=True), pulled(notice(), 202)


def test_a_rule_joined_at_the_stone_is_made(ruled):
    before, again = ruled
    told = compare_proofs(before, with_rule(again, broken=False, told=False))
    assert made_of(told) is Made.MADE
    assert told.findings == ()


@pytest.mark.parametrize("found_again", [True, False])
def test_a_rule_still_broken_is_missed_whether_or_not_it_is_told_again(ruled, found_again):
    before, again = ruled
    told = compare_proofs(before, with_rule(again, broken=True, told=found_again))
    assert made_of(told) is Made.MISSED


def test_a_rule_left_broken_is_not_made_by_a_new_slug_beside_it():
    """The line it was told at was cast again, and the rule under it left as it was."""
    forme = corrected(8)
    before = with_rule(first(), broken=True, told=True)
    last = max(c.line for c in compare_proofs(first(), pulled(forme, 203)).corrections)
    faults = [replace(f, line=last) if f.id == "T1" else f for f in before.faults]
    before = replace(before, faults=tuple(faults))
    told = compare_proofs(before, with_rule(pulled(forme, 204), broken=True, told=False))
    assert made_of(told) is Made.MISSED


def test_a_rule_broken_since_is_told_as_new(ruled):
    _, again = ruled
    whole = with_rule(pulled(notice(), 205), broken=False, told=False)
    told = compare_proofs(whole, with_rule(again, broken=True, told=True))
    assert [kind for kind, _ in moves(told)] == ["new-fault"]


@pytest.mark.parametrize("heavier", [-3, 3])
def test_inking_alone_changes_no_rule(heavier):
    """An edge a pixel or so further in or out is the same rule (300 dpi)."""
    one = np.full((120, 400), 240, np.uint8)
    cv2.line(one, (20, 60), (380, 60), 20, 6)
    one[50:70, 200:209] = 240
    ink = cv2.GaussianBlur(255 - one, (0, 0), 1.0)
    other = 255 - np.clip(ink.astype(int) + heavier * 12 * (ink > 40), 15, 240).astype(np.uint8)
    box, same = Box(190, 48, 30, 24), np.array([[1.0, 0, 0], [0, 1.0, 0]])
    assert not changed_ink(one, other, box, same, 300)
    joined = one.copy()
    cv2.line(joined, (190, 60), (220, 60), 20, 6)
    assert changed_ink(one, joined, box, same, 300)


def told_broken(report, *, told=True):
    line = next(r.line for r in report.readings if " fine " in r.text)
    at = report.reading(line).text.index("fine") + 2
    box = report.reading(line).letters[at].box
    held = report.placed(line).start + at
    return fault_at(report, Kind.BROKEN_LETTER, line, box, Span(held, held + 1), told=told)


def line_of(word):
    return next(n for n, slug in enumerate(notice().slugs, 1) if f" {word} " in slug.text)


def test_a_broken_sort_changed_by_hand_is_made_and_one_left_is_missed():
    """In a slug nobody can change one letter; in a line from the case all else stays."""
    spoiled = broken_letter(notice(), line_of("fine"), "fine", letter=2, seed=3)
    before = of_the_case(told_broken(pulled(spoiled, 211)))
    told = compare_proofs(before, of_the_case(pulled(notice(), 212)))
    assert [c.made for c in told.corrections] == [Made.MADE]
    for found_again in (True, False):
        left = told_broken(pulled(spoiled, 213), told=found_again)
        told = compare_proofs(before, of_the_case(left))
        assert [c.made for c in told.corrections] == [Made.MISSED]


def test_a_short_slug_swapped_with_its_neighbour_and_put_back_is_made():
    """The collation tells such a swap as a word too much here and one missing there."""
    forme = notice(20, (TEXTS[0] + " So be it.", TEXTS[1], TEXTS[0]))
    short = next(n for n, slug in enumerate(forme.slugs, 1) if len(slug.text) < 16 and n > 1)
    swapped = swap_lines(forme, short, short + 1)
    before = pulled(swapped, 221, copy=forme.copy)
    told = compare_proofs(before, pulled(forme, 222))
    assert {c.made for c in told.corrections} == {Made.MADE}
    assert told.findings == ()
    again = pulled(swapped, 223, copy=forme.copy)
    left = compare_proofs(before, replace(again, faults=()))
    assert {c.made for c in left.corrections} == {Made.MISSED}


def test_a_revise_of_a_part_says_nothing_of_what_it_does_not_show():
    """Only the upper slugs were pulled again; the lower correction is still waited for."""
    later = pulled(corrected(4, 8), 241, copy=notice().copy, part=(1, 6))
    told = compare_proofs(first(), later)
    assert [(c.line, c.made) for c in told.corrections] == [(4, Made.MADE), (8, Made.UNSEEN)]
    assert (told.findings, told.gone, told.clean) == ((), (), False)
    assert "1 not on this part" in tally(told)
    # Within the part nothing goes in silence.
    gap = drop_lines(corrected(4, 8), 2)
    told = compare_proofs(first(), pulled(gap, 242, copy=notice().copy, part=(1, 5)))
    assert [kind for kind, _ in moves(told)] == ["slug-dropped"]


def test_a_query_is_told_put_right_still_there_or_gone_with_its_slug():
    """Asked for as a correction, it is made; left, missed; and its slug lost, it is not made."""
    query = replace(first().faults[0], status=Status.QUERY)
    before = replace(first(), faults=(query, *first().faults[1:]))
    for forme, seed, made in (
        (corrected(4), 251, Made.MADE),
        (corrected(8), 252, Made.MISSED),
        (drop_lines(corrected(4, 8), 4), 253, None),
    ):
        told = compare_proofs(before, pulled(forme, seed, copy=notice().copy), [query.id])
        (said,) = told.corrections
        assert said.made is made if made else said.made is not Made.MADE


@pytest.mark.parametrize(
    "how",
    [{"turn_deg": 4.0}, {"turn_deg": -3.0}, {"scale": 0.75}, {"spread_mil": 1.2},
     {"spread_mil": -0.7, "wear": "worn"}, {"quarters": 2}, {"quarters": 1}, {"quarters": 3},
     {"dpi": 200}, {"dpi": 600}],
    ids=["turned", "turned the other way", "smaller", "heavier", "lighter", "on its head",
         "on its side", "on the other side", "coarser", "finer"],
)  # fmt: skip
def test_a_revise_scanned_or_inked_otherwise_tells_the_same(how):
    told = compare_proofs(first(), pulled(corrected(4), 231, **how))
    assert [(c.line, c.made) for c in told.corrections] == [(4, Made.MADE), (8, Made.MISSED)]
    assert told.findings == ()


PAIRS = (("turned", "band", 2), ("turned", "fine", 2), ("broken", "fine", 3), ("broken", "mill", 0),
         ("changed", "bandmaster", 0), ("changed", "candles", 0), ("off its line", "band", 0),
         ("off its line", "mill", 0))  # fmt: skip
"""What was amiss, and at which letter of which word: an n turned is next to a u."""
OF_TYPE = {"broken": Kind.BROKEN_LETTER, "off its line": Kind.OFF_LINE}
CHANGED_TO = {"b": "d", "c": "e"}


def spoiled(forme, what, word, letter):
    line = next(n for n, slug in enumerate(forme.slugs, 1) if word in slug.text.split(" "))
    if what == "turned":
        return line, turned_sort(forme, line, word, letter=letter)
    if what == "off its line":
        return line, off_line(forme, line, word)
    if what == "broken":
        return line, broken_letter(forme, line, word, letter=letter, seed=4)
    wrong = word[:letter] + CHANGED_TO[word[letter]] + word[letter + 1 :]
    return line, misset(forme, line, word, wrong, "wrong-letter")


@pytest.mark.parametrize(("what", "word", "letter"), PAIRS)
@pytest.mark.parametrize(
    "how", [{}, {"dpi": 200}, {"spread_mil": 1.2}, {"spread_mil": -0.5, "wear": "worn"}],
    ids=["alike", "coarser", "heavier", "lighter"],
)  # fmt: skip
def test_one_letter_put_right_by_hand_is_told_from_one_left_whatever_is_read(
    what, word, letter, how
):
    """The copy's own letter there, or the same metal again that was read rightly this time."""
    line, wrong = spoiled(notice(), what, word, letter)
    before = pulled(wrong, 261)
    if what in OF_TYPE:
        place = before.reading(line).text.index(word) + letter
        at = before.placed(line).start + place
        box = before.reading(line).letters[place].box
        before = fault_at(before, OF_TYPE[what], line, box, Span(at, at + 1))
        char = word[letter]
        faults = [replace(f, copy_text=char, proof_text=char) for f in before.faults]
        before = replace(before, faults=tuple(faults))
    before = of_the_case(before)
    (fault,) = before.faults
    for forme, made in ((notice(), Made.MADE), (wrong, Made.MISSED)):
        later = pulled(forme, 262, copy=notice().copy, **how)
        told = compare_proofs(before, of_the_case(replace(later, faults=())))
        assert [(c.fault, c.made) for c in told.corrections] == [(fault.id, made)]


def test_a_short_slug_put_back_is_made_on_a_part_whatever_the_rest_of_the_copy_repeats():
    """What stands above the part says the same again, and is not on it."""
    above = "Of the first march it is said that when they played it nobody went home. Amen."
    below = "Programmes may be had for nothing of the ferryman, who can not read them."
    forme = notice(20, (above, TEXTS[1], TEXTS[0] + " Amen.", below))
    texts, last = [slug.text for slug in forme.slugs], len(forme.slugs)
    short = max(n for n, said in enumerate(texts, 1) if said == "Amen.")
    swapped = swap_lines(forme, short - 1, short)
    before = pulled(swapped, 224, copy=forme.copy)
    for now, made in ((forme, Made.MADE), (swapped, Made.MISSED)):
        later = pulled(now, 225, copy=forme.copy, part=(short - 5, last))
        later = replace(later, faults=())
        asked = [fault.id for fault in before.faults]
        told = compare_proofs(before, later, asked)
        assert {c.made for c in told.corrections} == {made}


def test_a_word_missing_at_a_lines_end_and_put_in_on_the_next_is_made():
    """The line it was missing after need not be touched: the word begins the next, set anew."""
    right = notice()
    texts = [slug.text for slug in right.slugs]
    # The word that begins a line within a paragraph, left out, leaves the line above as it was.
    line = next(n for n, said in enumerate(texts, 1) if n > 3 and len(said.split()[0]) > 7)
    word = texts[line - 1].split()[0]
    short = notice(texts=tuple(text.replace(f"{word} ", "", 1) for text in TEXTS))
    stayed = [slug.text for slug in short.slugs][: line - 1]
    assert stayed == texts[: line - 1]
    before = pulled(short, 271, copy=right.copy)
    lack = next(fault for fault in before.faults if word in fault.copy_text)
    again = recast(right, rng_of(5), range(line, len(texts) + 1))
    told = compare_proofs(before, pulled(again, 272), [lack.id])
    assert [c.made for c in told.corrections] == [Made.MADE]
    left = replace(pulled(short, 273, copy=right.copy), faults=())
    assert [c.made for c in compare_proofs(before, left, [lack.id]).corrections] == [Made.MISSED]


@pytest.mark.parametrize("heavier", [{}, {"spread_mil": 1.4}, {"dpi": 200, "spread_mil": 0.6}])
def test_a_space_that_fills_its_gap_is_told_pushed_down_or_left_however_it_is_inked(heavier):
    """Inked heavily it runs together with the letters beside it, and looks as it never did."""
    line = line_of("fine")
    right = notice()
    gap = right.slugs[line - 1].text.split(" ").index("fine")
    wrong = work_up(right, line, gap)
    plain = pulled(wrong, 281)
    reading = plain.reading(line)
    at = reading.text.index("fine") - 1
    held = plain.placed(line).start + at
    box, low = reading.letters[at].box, round(plain.line(line).baseline[0])
    inked = Box(box.x, plain.line(line).box.y, box.width, low - plain.line(line).box.y)
    before = fault_at(plain, Kind.WORK_UP, line, inked, Span(held, held + 1))
    for forme, made in ((right, Made.MADE), (wrong, Made.MISSED)):
        told = compare_proofs(before, pulled(forme, 282, **heavier), ["T1"])
        assert made_of(told) is made
