"""Author's alterations in slugs: against the full plan on proofs of the test typesetter.

The full plan knows every letter's place on the proof; the docket has only the report's lines. How
many slugs running on takes (the usual custom) comes from the typesetter, with its own widths.
"""

from __future__ import annotations

import random
import re
from decimal import Decimal

import pytest
from docket_cases import JOB, add_copy, begun, pull, quick_folder
from report_cases import COPY_LINES
from typesetter import Head, Para, Style, compose, copy_of, lines_of, print_proof, readings_of
from typesetter.jobs import CONCERT, PRICES, PRICES_STYLE

from proofcheck.base.found import Fault, Mark, Status
from proofcheck.base.values import Box, Copy, Span
from proofcheck.collate import collate
from proofcheck.docket.alterations import alterations_of
from proofcheck.docket.billing import bill_of
from proofcheck.docket.overrun import overrun_of
from proofcheck.docket.shop import Shop
from proofcheck.recast.plan import plan_recast
from proofcheck.recast.settings import CastSettings

ABOUT = [block.text for block in CONCERT if isinstance(block, Para)][:3]
STYLES = [
    Style(family="schola", body_pt=10, bands="thick"),
    Style(family="old-standard", body_pt=9, bands="thick"),
    Style(family="goudy", body_pt=12, bands="thick"),
]
WORDS = ["both", "gates", "the", "old", "mill", "water", "meadow", "ferryman", "again", "in"]
MARK = Mark("insert", "", "", "caret", "")


def copy_with(text):
    spans = tuple(Span(*found.span()) for found in re.finditer(r"[^\n]+", text))
    return Copy(text, "copy.txt", "0" * 64, "utf-8", spans)


class Pulled:
    """A proof of some blocks, and the report's lines as the docket keeps them."""

    def __init__(self, blocks, text, **how):
        self.forme = compose(blocks, **how)
        self.copy = copy_with(text)
        self.proof = print_proof(self.forme)
        self.lines, self.readings = lines_of(self.proof), readings_of(self.proof)
        collation = collate(self.copy, self.readings, lines=self.lines, language="eng")
        spans = {placing.line: placing.copy for placing in collation.placings}
        read = {reading.line: reading.text for reading in self.readings}
        self.report = {
            "scans": [{"dpi": self.proof.dpi, "turned_deg": 0}],
            "lines": [
                {
                    "number": line.number,
                    "scan": 0,
                    "column": line.column,
                    "box": [line.box.x, line.box.y, line.box.width, line.box.height],
                    "body_pt": line.body_pt,
                    "text": read[line.number],
                    "copy": list(spans[line.number]) if spans[line.number] else None,
                }
                for line in self.lines
            ],
        }

    def overrun(self, text):
        """What the new copy takes by the docket's reckoning."""
        return overrun_of(
            self.report, self.copy.text, copy_with(text), alterations_of(self.copy.text, text)
        )

    def planned(self, text):
        """How many slugs the full plan takes to make this proof agree with the new copy."""
        copy = copy_with(text)
        collation = collate(copy, self.readings, lines=self.lines, language="eng")
        faults = [
            Fault(f"F{n}", d.kind, d.line, 0, Box(0, 0, 1, 1), d.copy, d.copy_text, d.proof_text,
                  MARK, 1.0, Status.FAULT, d.cause, d.other_lines)
            for n, d in enumerate(collation.differences, 1)
        ]  # fmt: skip
        plan = plan_recast(
            self.lines, self.readings, copy, collation, faults, dpi={0: self.proof.dpi},
            settings=CastSettings(),
        )  # fmt: skip
        return len(plan.slugs)


def altered(text, rng):
    """The text with some words of one sentence changed, put in or taken out."""
    words = text.split(" ")
    at, many = rng.randrange(2, len(words) - 8), rng.randint(1, 5)
    put_in = rng.choices(
        ["both", "gates", "the", "old", "mill", "water", "meadow", "ferryman", "again", "in"],
        k=many,
    )
    how = rng.choice(["change", "put in", "take out"])
    words[at : at + (0 if how == "put in" else many)] = [] if how == "take out" else put_in
    return " ".join(words)


@pytest.mark.parametrize("style", STYLES, ids=[style.family for style in STYLES])
def test_the_reckoning_comes_near_the_full_plan(style):
    text = "\n\n".join(ABOUT)
    pulled = Pulled([Para(t) for t in ABOUT], text, measure_picas=20, style=style)
    rng = random.Random(7)
    pairs = []
    for _ in range(10):
        paragraph = rng.randrange(3)
        changed = list(ABOUT)
        changed[paragraph] = altered(changed[paragraph], rng)
        new = "\n\n".join(changed)
        pairs.append((pulled.overrun(new).new_slugs, pulled.planned(new)))
    assert sum(mine == full for mine, full in pairs) >= 7, pairs
    assert sum(mine for mine, _ in pairs) == pytest.approx(sum(full for _, full in pairs), rel=0.2)


def test_words_put_in_run_over_to_the_end_of_the_paragraph_and_no_farther():
    text = "\n\n".join(ABOUT)
    how = {"measure_picas": 20, "style": STYLES[0]}
    pulled = Pulled([Para(t) for t in ABOUT], text, **how)
    longer = text.replace("new bass drum", "very fine new big brass-bound bass drum")
    told = pulled.overrun(longer)
    before = [r.text for r in pulled.readings]
    anew = compose([Para(t) for t in longer.split("\n\n")], **how)
    set_again = [r.text for r in readings_of(print_proof(anew)) if r.text not in before]
    # The change falls in one line; the typesetter, running on, sets three anew.
    assert len(set_again) == 3
    assert told.new_slugs == 3
    last = before.index(next(t for t in before if "drum" in t)) + 1
    # Two alterations of one line run over together, from it to the paragraph's end.
    assert told.by_alteration == (tuple(range(last, len(before) + 1)),) * 2
    # A letter's change of width stays in its line.
    assert pulled.overrun(text.replace("geese", "goose")).new_slugs == 1


def test_heads_and_rows_with_leaders_are_cast_alone():
    blocks = [Head("A CONCERT IS GIVEN", 14, letterspace_pt=1.0), *(Para(t) for t in ABOUT)]
    text = "\n\n".join(["A CONCERT IS GIVEN", *ABOUT])
    told = Pulled(blocks, text, measure_picas=20).overrun(text.replace("IS GIVEN", "WILL BE GIVEN"))
    assert (told.new_slugs, told.by_alteration) == (1, ((1,),))
    text = copy_of(PRICES)
    pulled = Pulled(PRICES, text, measure_picas=33, style=PRICES_STYLE)
    row = next(line for line in text.splitlines() if "\t" in line)
    told = pulled.overrun(text.replace(row, row.replace(row.split(",")[0], "Handbells"), 1))
    assert told.new_slugs == 1


def test_a_paragraph_taken_out_is_no_slug_and_one_put_in_is_all_slugs():
    text = "\n\n".join(ABOUT)
    pulled = Pulled([Para(t) for t in ABOUT], text, measure_picas=20)
    per = [len(compose([Para(t)], measure_picas=20).slugs) for t in ABOUT]
    gone = pulled.overrun("\n\n".join(ABOUT[:2]))
    assert (gone.new_slugs, gone.taken_out) == (0, per[2])
    shorter = Pulled([Para(t) for t in ABOUT[:2]], "\n\n".join(ABOUT[:2]), measure_picas=20)
    more = shorter.overrun(text)
    assert more.new_slugs == pytest.approx(per[2], abs=1)


def test_where_a_scan_was_turned_only_the_lines_touched_are_counted():
    text = "\n\n".join(ABOUT)
    pulled = Pulled([Para(t) for t in ABOUT], text, measure_picas=20, style=STYLES[0])
    pulled.report["scans"][0]["turned_deg"] = 90
    told = pulled.overrun(text.replace("new bass drum", "very fine new big brass-bound bass drum"))
    assert told.new_slugs == 1


@pytest.mark.parametrize("new", ["", "x" * 4000, "\u202e\x00 " * 50, "a-b—" * 300])
def test_strange_copy_is_reckoned_without_harm(new):
    text = "\n\n".join(ABOUT)
    pulled = Pulled([Para(t) for t in ABOUT], text, measure_picas=20)
    # Nothing is cast for nothing, and something for anything.
    assert (pulled.overrun(new).new_slugs > 0) == (new != "")


def test_copy_changed_twice_before_the_next_proof_is_not_billed_twice():
    with quick_folder() as folder:
        docket = begun(folder)
        add_copy(docket, [*COPY_LINES[:4], "Tea and cakes will be served afterwards."])
        # Nothing was set yet.
        assert bill_of(docket.job(JOB), Shop()).slugs == 0
        pull(docket, faults=False)
        once = [*COPY_LINES[:4], "Tea and buns will be served afterwards."]
        add_copy(docket, once)
        first = bill_of(docket.job(JOB), Shop(minutes_a_slug=Decimal(4)))
        assert (first.slugs, first.minutes) == (1, 4)
        add_copy(docket, [*COPY_LINES[:4], "Tea and cider will be served afterwards."])
        assert bill_of(docket.job(JOB), Shop()).slugs == 1
        twice = [COPY_LINES[0], COPY_LINES[1].replace("green", "lawn"), *COPY_LINES[2:4]]
        add_copy(docket, [*twice, "Tea and cider will be served afterwards."])
        last = bill_of(docket.job(JOB), Shop())
        assert (last.slugs, last.alterations) == (2, 4)
        assert docket.job(JOB).copy.alterations[0]["slugs"] == [2]
