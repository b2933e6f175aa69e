"""What each allowance must and must not let pass, by a table; and what none of them may."""

import tomllib
from dataclasses import fields, replace
from pathlib import Path
from random import Random

import pytest
from collating import copy_of, pages_of, set_in_lines
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from proofcheck.base.kinds import Kind
from proofcheck.base.values import Emphasis, Span
from proofcheck.collate import collate
from proofcheck.collate.arranging import arrange
from proofcheck.collate.same import Rules
from proofcheck.collate.several_up import collate_tickets

CASES = tomllib.loads(
    (Path(__file__).parent / "data" / "allowance_cases.toml").read_text(encoding="utf-8")
)["case"]
PASSING = [case for case in CASES if not case.get("faults")]


def _named(cases):
    return {"argvalues": cases, "ids": [f"{c['allowance']}: {c['name']}" for c in cases]}


def _collated(case, rules):
    copy = copy_of(case["copy"])
    spans = [Span(at, at + len(t)) for t in case.get("small_caps", ())
             if (at := case["copy"].index(t)) >= 0]  # fmt: skip
    copy = replace(copy, emphasis=tuple(Emphasis(span, "small-caps") for span in spans))
    readings, lines = pages_of(case.get("sheets") or [[case["proof"]]])
    if case.get("tickets"):
        held = [replace(line, ticket=line.column + 1) for line in lines]
        found = arrange(copy, held, readings, rules)
        laid = collate_tickets(
            found.gang, found.readings, found.lines, rules, language="eng", hand_set=False
        )
        differences = [replace(d, copy=found.gang.home(d.copy)) for d in laid.differences]
        return replace(laid, differences=tuple(differences))
    return collate(copy, readings, lines=lines, rules=rules)


def _rules(case):
    return Rules().along_with(case["allowance"]) if case.get("allowed") else Rules()


@pytest.mark.parametrize("case", **_named(CASES))
def test_the_allowance_lets_pass_what_the_table_says(case):
    collation = _collated(case, _rules(case))
    told = [
        [d.kind.value, d.line, d.proof_text, d.copy_text] + (["query"] if d.only_query else [])
        for d in collation.differences
    ]
    assert told == case.get("faults", [])
    assert not collation.mismatch
    if not told:
        assert collation.waived.get(case["allowance"])


@pytest.mark.parametrize("case", **_named(PASSING))
def test_what_passes_is_told_once_the_allowance_is_not_made(case):
    collation = _collated(case, Rules().without(case["allowance"]))
    assert collation.differences
    assert case["allowance"] not in collation.waived


def test_every_allowance_has_cases_of_both_sorts():
    names = {field.name.replace("_", "-") for field in fields(Rules)}
    assert {case["allowance"] for case in PASSING} == names
    assert {case["allowance"] for case in CASES if case.get("faults")} == names


# ------------------------------------------------------------- what no allowance lets pass

MATTER_WORDS = """
the band won't play upon Mill Lane at 6:30 to-day; "come in," she said, (and wait) for us all …
T. W. Penny & Co. 4½d. each 1908 boys' hats ‘old mill’ waltz—or march 10–12 o'clock café no. 27
"""
WORDS = MATTER_WORDS.split()
QUICK = settings(max_examples=60, derandomize=True, suppress_health_check=list(HealthCheck))
EVERY = Rules().along_with(*(field.name.replace("_", "-") for field in fields(Rules)))
NEVER = "aeiozAEIOZ0123456789éèÉÈ-–—,"
"""Letters, capitals, figures, accents, dashes and the comma."""


def _differs(text, lines):
    readings, laid = pages_of([[lines]])
    collation = collate(copy_of(text), readings, lines=laid, rules=EVERY)
    kept = [d for d in collation.differences if d.kind not in (Kind.BAD_DIVISION, Kind.PARAGRAPH)]
    return bool(kept) or collation.mismatch


MATTER = st.lists(st.sampled_from(WORDS), min_size=3, max_size=40).map(" ".join)


@QUICK
@given(MATTER, st.integers(16, 50), st.sampled_from(NEVER), st.integers(0, 10**6))
def test_no_allowance_lets_pass_a_letter_figure_dash_accent_or_capital(text, measure, char, seed):
    rng = Random(seed)
    lines = set_in_lines(text, measure, rng, divide=False)
    assert not _differs(text, lines)
    row = rng.randrange(len(lines))
    at = rng.choice([k for k, old in enumerate(lines[row]) if old not in (" ", char)])
    changed = f"{lines[row][:at]}{char}{lines[row][at + 1 :]}"
    assert _differs(text, [*lines[:row], changed, *lines[row + 1 :]]), changed


@QUICK
@given(MATTER, st.integers(16, 50), st.booleans(), st.integers(0, 10**6))
def test_no_word_at_the_edge_of_a_line_is_let_pass(text, measure, dropped, seed):
    rng = Random(seed)
    lines = set_in_lines(text, measure, rng, divide=False)
    row = rng.choice([0, len(lines) - 1, rng.randrange(len(lines))])
    words = lines[row].split()
    at = rng.choice([0, len(words) - 1])
    if dropped and len(words) > 1:
        del words[at]
    else:
        words.insert(at + (at > 0), rng.choice(["6", "OK", "1914", "IN", "B", words[at]]))
    if " ".join(words) != lines[row]:
        assert _differs(text, [*lines[:row], " ".join(words), *lines[row + 1 :]]), words


@QUICK
@given(MATTER, st.integers(16, 50), st.integers(0, 10**6))
def test_a_hyphen_at_the_end_of_a_line_is_let_pass_only_within_a_word(text, measure, seed):
    rng = Random(seed)
    lines = set_in_lines(text, measure, rng, divide=False)
    row = rng.choice([0, len(lines) - 1])
    assert _differs(text, [*lines[:row], f"{lines[row]}-", *lines[row + 1 :]])


def test_one_letter_at_either_end_of_a_card_is_told():
    for text in ("Admission free", "Tea 4d."):
        for at in range(len(text)):
            printed = text[:at] + text[at + 1 :]
            assert _differs(text, [" ".join(printed.split())])
