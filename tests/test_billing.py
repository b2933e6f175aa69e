"""The bill slug by slug: what changed, why it goes, and what is not charged.

That the customer pays for what he altered by the time it takes, and never for the shop's own
errors, is the custom of the US employing printers' body (1922).
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from docket_cases import JOB, add_copy, begun, decide_all, pull, quick_folder
from report_cases import COPY_LINES
from typer.testing import CliRunner

from proofcheck.cli.program import app
from proofcheck.docket import decide
from proofcheck.docket.billing import bill_lines, bill_of
from proofcheck.docket.shop import Shop
from proofcheck.docket.show_bill import bill_text
from proofcheck.results.sealing import sealed

RATES = Shop(minutes_a_slug=Decimal(5), hour_costs=Decimal(36), money="£")


@pytest.fixture
def docket():
    with quick_folder() as folder:
        held = begun(folder)
        pull(held)
        yield held


def altered(docket, *changes):
    lines = list(COPY_LINES)
    for was, now in changes:
        lines = [line.replace(was, now) for line in lines]
    add_copy(docket, lines)
    return docket.job(JOB)


def told(docket, job):
    return [(one.slug, one.was, one.now, one.why, one.charged) for one in bill_lines(docket, job)]


def test_each_slug_says_what_was_altered_in_it(docket) -> None:
    job = altered(docket, ("fourth,", "fifth,"), ("Tea", "Ale"))
    assert told(docket, job) == [
        (3, "fourth,", "fifth,", "altered", True), (5, "Tea", "Ale", "altered", True),
    ]  # fmt: skip
    text = bill_text(docket, job, RATES)
    assert "slug 3  “fourth,” → “fifth,”  altered" in text
    # Two slugs at 5 minutes, 36 an hour: 6.00.
    assert "2 AA, 2 new slugs, 10 minutes, £6.00 (5 minutes a slug)" in text
    assert "no rate is set, no time charged" in bill_text(docket, job, Shop())
    assert "£" not in bill_text(docket, job, Shop(money="£"))


def test_a_slug_that_two_alterations_fall_in_is_charged_once(docket) -> None:
    job = altered(docket, ("Saturday", "Sunday"), ("half past", "a quarter past"))
    rows = told(docket, job)
    assert [row[0] for row in rows if row[-1]] == sorted({row[0] for row in rows})
    assert len(rows) > len({row[0] for row in rows})
    assert sum(row[-1] for row in rows) == bill_of(job, RATES).slugs


def test_words_run_over_say_from_which_slug(docket) -> None:
    job = altered(docket, ("the green,", "the green by the mill and the old ferry house below it,"))
    rows = told(docket, job)
    assert rows[0][:1] == (2,)
    assert all("run over after slug 2" in row[3] for row in rows[1:])


def test_an_alteration_let_stand_unset_is_not_charged(docket) -> None:
    altered(docket, ("fourth,", "fifth,"), ("Tea", "Ale"))
    unset_word(docket, "fourth", "fifth")
    assert docket.job(JOB).at("2/F1").charge == "AA"
    assert bill_of(docket.job(JOB), RATES).slugs == 2
    decide(docket, JOB, "2/1", "stand", by="B.A.", note="left as it was, the customer agrees")
    job = docket.job(JOB)
    bill = bill_of(job, RATES)
    assert (bill.alterations, bill.slugs, bill.minutes) == (1, 1, 5)
    assert (3, "fourth,", "fifth,", "let stand unset", False) in told(docket, job)
    assert "let stand unset, not charged" in bill_text(docket, job, RATES)


def unset_word(docket, was, now):
    """A proof on which the alteration of a word is not made."""
    start = docket.job(JOB).copies[-1].entry.data["text"].index(now)

    def unset(report):
        report["faults"][0] |= {"copy": {"start": start, "end": start + len(now), "text": now}}
        report["faults"][0]["proof"] = {"text": was}
        report |= sealed(report)

    pull(docket, b"second", more=unset)


def test_an_alteration_that_a_person_put_to_the_shop_is_not_charged(docket) -> None:
    altered(docket, ("fourth,", "fifth,"), ("Tea", "Ale"))
    unset_word(docket, "fourth", "fifth")
    assert docket.job(JOB).at("2/F1").charged == "AA"
    decide(docket, JOB, "2/1", "correct", by="B.A.", charge="PE", note="our slip in the copy")
    job = docket.job(JOB)
    bill = bill_of(job, RATES)
    assert (bill.alterations, bill.slugs, bill.minutes) == (1, 1, 5)
    assert (3, "fourth,", "fifth,", "2/1, put to the shop by B.A.", False) in told(docket, job)
    assert sum(row[-1] for row in told(docket, job)) == bill.slugs
    assert "2/1, put to the shop by B.A., not charged" in bill_text(docket, job, RATES)


def test_an_alteration_that_one_of_two_put_to_the_shop_is_charged_once_it_is_settled(
    docket,
) -> None:
    altered(docket, ("fourth,", "fifth,"))
    unset_word(docket, "fourth", "fifth")
    decide(docket, JOB, "2/1", "correct", by="B.A.", charge="PE")
    decide(docket, JOB, "2/1", "query", by="X.Y.", note="whose is it?")
    assert bill_of(docket.job(JOB), RATES).slugs == 0
    decide(
        docket, JOB, "2/1", "correct", by="P.C.", note="the customer's", charge="AA", settles=True
    )
    assert bill_of(docket.job(JOB), RATES).slugs == 1


def test_what_a_person_charged_to_the_customer_is_on_the_bill_with_his_name(docket) -> None:
    decide(docket, JOB, "2", "correct", by="B.A.", charge="AA")
    job = docket.job(JOB)
    ((slug, _, _, why, charged),) = told(docket, job)
    assert (slug, why, charged) == (
        job.at("1/F2").line,
        "1/2, charged to the customer by B.A.",
        True,
    )
    assert bill_of(job, RATES).slugs == 1
    decide(docket, JOB, "2", "sound", by="X.Y.")
    assert bill_of(docket.job(JOB), RATES).slugs == 0, "what is in dispute is charged to nobody"


def test_printers_errors_and_what_is_let_stand_are_not_charged(docket) -> None:
    decide_all(docket, "stand")
    text = bill_text(docket, docket.job(JOB), RATES)
    assert "0 AA, 0 new slugs" in text
    assert "4 places let pass, not charged" in text


def test_the_bill_from_the_command_line(docket) -> None:
    altered(docket, ("fourth,", "fifth,"))
    place = str(docket.originals.folder.with_name("docket.db"))
    for asked in (["bill", JOB], ["show", JOB, "--bill"]):
        told = CliRunner().invoke(app, ["docket", *asked, "--docket", place])
        assert told.exit_code == 0, told.output
        assert "“fourth,” → “fifth,”" in told.output
        assert "no rate is set, no time charged" in told.output
