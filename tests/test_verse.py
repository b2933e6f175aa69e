"""Lines of verse that stand in by turns, and one among them that is out of its place."""

from __future__ import annotations

import pytest
from PIL import Image
from typesetter import Gap, Para, Style, compose, print_proof, pull

from proofcheck import Options, check_proof
from proofcheck.base.kinds import Kind

LINES = (
    "The ferry lies beneath the hill", "And waits upon the tide;",
    "The lamps are lit, the oars are still,", "The water dark and wide.",
    "The miller shuts the upper gate", "And hangs his apron by;",
    "The carter thinks it growing late", "And looks along the sky.",
    "A bell is rung, the rope is cast,", "The lanterns swing and go;",
    "And all who would be home are past", "Before the wind can blow.",
)  # fmt: skip
QUICK = Options(recast=False, second_look=False)


def crooked(tmp_path, moved=None, by_pt=0.0, wear="good"):
    """Lines told as out of their edge where every second one stands in by two ems."""
    blocks = []
    for at, text in enumerate(LINES):
        indent = 22.0 * (at % 2) + by_pt * (at == moved)
        blocks += [Para(text, align="left", indent_pt=indent), *([Gap(12)] if at % 4 == 3 else [])]
    forme = compose(blocks, measure_picas=22, style=Style(body_pt=11, lead_pt=2))
    path, copy = tmp_path / "verse.png", tmp_path / "verse.txt"
    Image.fromarray(pull(print_proof(forme), wear, seed=4)).save(path, dpi=(300, 300))
    stanzas = ["\n".join(LINES[at : at + 4]) for at in range(0, len(LINES), 4)]
    copy.write_text("\n\n".join(stanzas) + "\n", encoding="utf-8")
    report = check_proof(path, copy, options=QUICK)
    return [fault.line - 1 for fault in report.faults if fault.kind is Kind.CROOKED_LINE]


@pytest.mark.parametrize("wear", ["good", "worn"])
def test_verse_that_stands_in_by_turns_has_no_crooked_lines(tmp_path, wear):
    assert not crooked(tmp_path, wear=wear)


@pytest.mark.parametrize(("moved", "by_pt"), [(2, 8.0), (6, 8.0), (6, -12.0)])
def test_a_line_of_verse_that_stands_by_itself_is_told_as_ever(tmp_path, moved, by_pt):
    assert moved in crooked(tmp_path, moved, by_pt)
