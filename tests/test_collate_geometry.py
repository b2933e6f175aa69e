"""Collation with the lines' geometry: paragraphs, divisions, columns, folios.

What needs no more than a case is in `data/kinds/line_ends.toml`.
"""

from dataclasses import replace

import pytest
from collating import copy_of, lines_of, pages_of, readings_of

from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Emphasis, Reading, Span
from proofcheck.collate import collate
from proofcheck.collate.same import Rules

FIRST = (
    "The band will meet at the bridge at six o'clock and march by way of Mill Lane to the green."
)
SECOND = (
    "The concert begins at seven and will be held in the schoolroom if the evening should be wet."
)
PROOF = [
    "  The band will meet at the bridge at six",
    "o'clock and march by way of Mill Lane to",
    "the green.",
    "  The concert begins at seven and will be",
    "held in the schoolroom if the evening",
    "should be wet. Bring a rug or a cushion,",
    "for the grass may be damp at that hour.",
]
THIRD = " Bring a rug or a cushion, for the grass may be damp at that hour."


def _laid(copy, proof, **options):
    readings = readings_of([line.strip() for line in proof])
    lines = []
    for line, text in zip(lines_of(readings, [0] * len(proof)), proof, strict=True):
        indent = 10 * (len(text) - len(text.lstrip()))
        x, y, width, height = line.box
        lines.append(
            type(line)(
                line.number,
                line.sheet,
                line.column,
                Box(x + indent, y, width, height),
                line.baseline,
                line.x_height_px,
                line.body_pt,
            )
        )
    return collate(copy_of(copy), readings, lines=lines, **options).differences


def test_a_paragraph_the_copy_does_not_have():
    (found,) = _laid(f"{FIRST} {SECOND}{THIRD}", PROOF)
    assert (found.kind, found.line, found.proof) == (Kind.PARAGRAPH, 4, Span(0, 0))
    assert (found.proof_text, found.copy_text) == ("¶", "")
    assert found.copy.start == len(FIRST) + 1


@pytest.mark.parametrize("down_px", [0, 10, 40, 60])
def test_a_line_indented_for_the_initial_of_the_one_before_begins_no_paragraph(down_px):
    """An initial of two lines makes the second stand in: common practice."""
    proof = ["held by the wardens in", "the schoolroom, and", "   what is over goes", *PROOF[4:]]
    copy = " ".join(line.strip() for line in proof)
    readings = readings_of([line.strip() for line in proof])
    lines = []
    for line, text in zip(lines_of(readings, [0] * len(proof)), proof, strict=True):
        box = line.box._replace(x=line.box.x + 15 * (len(text) - len(text.lstrip())))
        lines.append(replace(line, box=box))
    told = _told(copy, readings, lines)
    assert told == [Kind.PARAGRAPH], "nothing but an indent after a short line"
    pitch = lines[2].box.bottom - lines[1].box.bottom
    box = lines[1].box
    lines[1] = replace(lines[1], box=box._replace(height=box.height + down_px))
    reaches = down_px > pitch - lines[2].x_height_px
    assert _told(copy, readings, lines) == ([] if reaches else [Kind.PARAGRAPH])


def _told(copy, readings, lines):
    return [d.kind for d in collate(copy_of(copy), readings, lines=lines).differences]


def test_a_paragraph_of_the_copy_run_on():
    copy = f"{FIRST}\n{SECOND}\n{THIRD.strip()}"
    (found,) = _laid(copy, PROOF)
    assert (found.kind, found.line) == (Kind.PARAGRAPH, 6)
    assert (found.proof_text, found.copy_text) == ("", "¶")
    assert PROOF[5][found.proof.start :].startswith("Bring")
    assert copy[found.copy.start :].startswith("Bring")


def test_a_line_whose_number_is_out_begins_no_paragraph_of_its_own():
    copy = (
        "The band will meet at the bridge at six\nand march by way of Mill Lane to the green\n"
        "1. Each man brings his own light\n2. The drums go in front of the band\n"
        "3. Nobody plays beyond the last house\n4. Each man leaves his light in the hall"
    )
    proof = copy.replace("2. ", "   ").split("\n")
    told = [(d.kind, d.copy_text.strip()) for d in _laid(copy, proof)]
    assert told == [(Kind.WORD_MISSING, "2.")]


def test_a_paragraph_begun_after_a_point_left_out():
    proof = [*PROOF[:2], "the green", *PROOF[3:]]
    told = [(d.kind, d.line) for d in _laid(f"{FIRST} {SECOND}{THIRD}", proof)]
    assert told == [(Kind.POINT_MISSING, 3), (Kind.PARAGRAPH, 4)]


def test_without_geometry_no_paragraph_is_judged():
    collation = collate(
        copy_of(f"{FIRST} {SECOND}{THIRD}"), readings_of([p.strip() for p in PROOF])
    )
    assert collation.differences == ()


# ------------------------------------------------------------------------------- divisions


def _divided(copy, proof, **options):
    found = collate(copy_of(copy), readings_of(proof), **options).differences
    return [(d.line, d.proof_text, d.only_query) for d in found if d.kind is Kind.BAD_DIVISION]


def test_the_third_division_running_is_a_fault_unless_allowed():
    # US Government "Manual of Style" (1922): three divisions running not passed but in extremity.
    copy = "The committee regrets the programme committee must acknowledge nothing whatever here"
    proof = [
        "The com-",
        "mittee regrets the pro-",
        "gramme com-",
        "mittee must acknowledge",
        "nothing whatever here",
    ]
    assert _divided(copy, proof) == [(3, "-", False)]
    allowed = Rules().along_with("division-run")
    assert _divided(copy, proof, rules=allowed) == []


def test_the_span_of_a_bad_division_is_its_hyphen():
    (found,) = collate(
        copy_of("Come over the hill"), readings_of(["Come ov-", "er the hill"])
    ).differences
    assert (found.proof, found.copy, found.copy_text) == (Span(7, 8), Span(7, 7), "")


# --------------------------------------------------------------------------------- folios


def test_a_folio_is_told_when_the_rule_is_off():
    proof = ["14", "The band will meet at the bridge"]
    copy = copy_of("The band will meet at the bridge")
    strict = collate(copy, readings_of(proof), rules=Rules().without("folio"))
    assert [d.kind for d in strict.differences] == [Kind.LINE_FOREIGN]
    assert collate(copy, readings_of(proof)).differences == ()


def test_a_folio_under_a_speck_is_a_folio():
    sheet = ["      14", "The band will meet at the bridge", "and march to the green"]
    readings, lines = pages_of([[sheet]])
    speck = replace(lines[0], number=9, box=Box(700, 10, 8, 15), baseline=(25.0, 25.0))
    copy = copy_of("The band will meet at the bridge and march to the green")
    read = [Reading(9, ()), *readings]
    collation = collate(copy, read, lines=[speck, *lines])
    assert (collation.differences, dict(collation.waived)) == ((), {"folio": 1})
    # Under a line of matter it is a number in the text.
    letters = tuple(replace(letter, box=speck.box) for letter in readings[1].letters[:3])
    matter = collate(copy, [Reading(9, letters), *readings], lines=[speck, *lines])
    assert Kind.LINE_FOREIGN in {d.kind for d in matter.differences}


def test_a_number_within_the_column_is_no_folio():
    proof = ["The band will meet at the bridge", "14", "at six o'clock sharp"]
    found = collate(
        copy_of("The band will meet at the bridge at six o'clock sharp"), readings_of(proof)
    )
    assert [(d.kind, d.line) for d in found.differences] == [(Kind.LINE_FOREIGN, 2)]


def test_a_folio_beside_a_running_head_needs_no_copy():
    copy = copy_of("THE SUMMER CONCERT\nThe band will meet at the bridge at six")
    proof = ["14\u2003THE SUMMER CONCERT", "The band will meet at the bridge", "at six"]
    readings, lines = pages_of([[proof]])
    collation = collate(copy, readings, lines=lines)
    assert collation.differences == ()
    assert dict(collation.waived) == {"folio": 1}
    # How far off it stands can't be told from its letters alone.
    assert [d.kind for d in collate(copy, readings).differences] == [Kind.WORD_EXTRA]
    middle = ["THE SUMMER CONCERT", "14\u2003The band will meet at the bridge", "at six"]
    readings, lines = pages_of([[middle]])
    found = collate(copy, readings, lines=lines).differences
    assert [d.kind for d in found] == [Kind.WORD_EXTRA]


def test_small_capitals_asked_for_are_no_query():
    copy = copy_of("The band of Mill Lane will play at seven")
    asked = replace(copy, emphasis=(Emphasis(Span(12, 21), "small-caps"),))
    readings = readings_of(["The band of MILL LANE will play at seven"])
    assert [d.only_query for d in collate(copy, readings).differences] == [True]
    assert collate(asked, readings).differences == ()
    assert dict(collate(asked, readings).waived) == {"small-caps": 1}


def test_a_rule_to_write_on_stands_for_underscores():
    copy = copy_of("Name ________ Seats ____ at 6d.")
    assert collate(copy, readings_of(["Name Seats at 6d."])).differences == ()
    assert collate(copy, readings_of(["Name ____________ Seats _ at 6d."])).differences == ()


def _two_sheets(first, second):
    readings = readings_of([*first, *second])
    lines = [
        replace(line, sheet=int(k >= len(first)), box=line.box._replace(y=20 * (k % len(first))))
        for k, line in enumerate(lines_of(readings, [0] * len(readings)))
    ]
    return readings, lines


def test_a_running_head_repeated_on_the_next_sheet_needs_no_copy():
    copy = copy_of("THE SUMMER CONCERT\nThe band will meet at the bridge at six o'clock and march")
    readings, lines = _two_sheets(
        ["THE SUMMER CONCERT", "The band will meet", "at the bridge"],
        ["15 THE SUMMER CONCERT", "at six o'clock", "and march"],
    )
    collation = collate(copy, readings, lines=lines)
    assert collation.differences == ()
    assert dict(collation.waived) == {"folio": 1}


def test_the_last_line_of_a_sheet_set_again_on_the_next_is_doubled():
    copy = copy_of("The band will meet at the bridge by the old mill at six o'clock and march")
    readings, lines = _two_sheets(
        ["The band will meet at", "the bridge by the old mill"],
        ["the bridge by the old mill", "at six o'clock and march"],
    )
    (found,) = collate(copy, readings, lines=lines).differences
    assert (found.kind, found.line, found.other_lines) == (Kind.LINE_DOUBLED, 3, (2,))


# ------------------------------------------------------------------------------- beside a brace


@pytest.mark.parametrize(("low", "asked"), [(6, True), (12, True), (16, False), (24, False)])
def test_what_stands_beside_a_brace_changes_no_places_for_sure(low, asked):
    """The copy names it in one of two rows, the sheet between them. Under a row it is a line."""
    copy = copy_of("181. A morning in Ouse pair 300\n182. An evening by Corsley 300")
    rows = [
        "181. A morning in Ouse 300",
        "                     pair",
        "182. An evening by Corsley 300",
    ]
    readings, lines = pages_of([[rows]])
    top = lines[0].box.y
    heights = (top, top + low, top + 30)
    lines = [
        replace(line, box=line.box._replace(y=y), baseline=(y + 12.0, y + 12.0))
        for line, y in zip(lines, heights, strict=True)
    ]
    found = collate(copy, readings, lines=lines).differences
    assert {d.kind for d in found} == {Kind.WORDS_TRANSPOSED}
    assert {d.only_query for d in found} == {asked}
