"""The second look at very many places in dispute: the engine takes no picture of any length."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from proofcheck import Options, check_proof
from proofcheck.weigh import second_look
from proofcheck.weigh.evidence import disputes_of
from proofcheck.weigh.second_look import MOST_PLACES, SecondLook

SAMPLES = Path(__file__).parent.parent / "samples"
QUICK = Options(type_too=False, recast=False, second_look=False)


@pytest.mark.slow
def test_two_thousand_places_are_looked_at_or_left_but_never_fail(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Stacked in one column 2,000 places would be 248,000 pixels high; the engine takes 32,767."""
    copy = tmp_path / "copy.txt"
    text = (SAMPLES / "notice-copy.txt").read_text()
    copy.write_text(re.sub(r"\b([a-z]+)e([a-z]+)\b", r"\1o\2", text))
    report = check_proof(SAMPLES / "notice-proof.png", copy, options=QUICK)
    found = disputes_of(report.collation.differences, report.sheets, report.lines, report.readings)
    disputes = list(found.values())
    assert len(disputes) > 10
    many = (disputes * (2000 // len(disputes) + 1))[:2000]
    looker = SecondLook()
    votes = looker.testify(many)
    assert len(votes) == 2000
    # What the engine is asked about it answers as it would alone; the rest goes without.
    alone = looker.testify(disputes)
    assert votes[: len(disputes)] == alone
    assert votes[MOST_PLACES:] == [None] * (2000 - MOST_PLACES)
    assert sum(vote is not None for vote in votes[:MOST_PLACES]) > 0.9 * MOST_PLACES
    # And were all of them asked about, in as many columns as it takes, none is dropped.
    shown: list[int] = []
    monkeypatch.setattr(second_look, "MOST_PLACES", 2000)
    monkeypatch.setattr(
        "proofcheck.reading.ocr.words_in",
        lambda _engine, column, _language, *, layout: shown.append(column.shape[0]) or _nothing(),
    )
    assert looker.testify(many) == [None] * 2000
    assert max(shown) <= 32_767
    assert sum(shown) > 2000 * 110


def _nothing() -> dict[str, list[object]]:
    return {name: [] for name in ("text", "conf", "left", "top", "width", "height")}
