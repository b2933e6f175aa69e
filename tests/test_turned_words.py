"""Turned letters as a person is told of them: never as a box, nor by the number of a code point."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import replace

from report_cases import programme

from proofcheck.base.turned_letters import IN_WORDS, TURNED
from proofcheck.base.visible import in_ascii, visible
from proofcheck.reading.turned import set_right
from proofcheck.results.lists import correction_csv, correction_list
from proofcheck.results.page.fault_page import page_html

HARD = "".join(IN_WORDS)


def test_every_turned_character_few_faces_have_is_told_in_words():
    for letter, turned in TURNED.items():
        assert set_right(turned) == letter
        shown = visible(turned)
        assert shown in {turned, f"⟨{letter} turned⟩"}
        assert not any(
            "\ue000" <= char <= "\uf8ff" or "\ua780" <= char <= "\ua7ff" for char in shown
        )
    assert visible("mi\ua781k") == "mi⟨l turned⟩k"
    assert in_ascii(visible("\ua781")) == "<l turned>"
    # What stands for no turned sort is told as before.
    assert visible("\ue000") == "⟨U+E000⟩"


def test_no_list_and_no_page_shows_a_box():
    report = programme()
    letter = report.readings[1].letters[9]
    for turned in HARD:
        reading = replace(
            report.readings[1],
            letters=(*report.readings[1].letters[:9], replace(letter, text=turned),
                     *report.readings[1].letters[10:]),
        )  # fmt: skip
        fault = replace(report.faults[0], proof_text=turned)
        told = replace(
            report,
            readings=(report.readings[0], reading, *report.readings[2:]),
            faults=(fault, *report.faults[1:]),
        )
        rows = list(csv.reader(io.StringIO(correction_csv(told))))
        for text in (correction_list(told), page_html(told), " ".join(map(" ".join, rows))):
            assert turned not in text
            assert "turned" in text
            assert not re.search(r"U\+(A78|E1)", text)
