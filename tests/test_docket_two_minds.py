"""Two who decide differently, a decision after the O.K., who recorded and who said, and charges."""

from __future__ import annotations

from decimal import Decimal

import pytest
from docket_cases import JOB, add_copy, begun, decide_all, ok, pull, quick_folder, shown_made
from report_cases import COPY_LINES

from proofcheck.docket import Word, answer_query, clear_for_press, decide, sign_off, verify
from proofcheck.docket.billing import bill_of
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.history_page import job_html
from proofcheck.docket.record_words import waits_for
from proofcheck.docket.shop import Shop
from proofcheck.docket.show import job_text
from proofcheck.docket.show_bill import bill_text


@pytest.fixture
def docket():
    with quick_folder() as folder:
        held = begun(folder)
        pull(held)
        decide_all(held, "stand")
        yield held


def keys(docket):
    return [reason.key for reason in clear_for_press(docket, JOB).reasons]


def test_what_two_decide_differently_stands_both_ways_and_bars_the_press(docket):
    ok(docket)
    assert keys(docket) == []
    decide(docket, JOB, "2", "sound", by="X.Y.", note="it is the copy")
    assert [key.partition("@")[0] for key in keys(docket)] == ["disputed:1/F2"]
    told = clear_for_press(docket, JOB).reasons[0].words
    assert told == "1/2 is decided in two ways: B.A.: let it stand; X.Y.: no fault"
    assert waits_for(docket.job(JOB)) == ("reader", "1 decided in two ways, to be settled")
    assert "B.A.: let it stand; X.Y.: no fault" in job_text(docket.job(JOB), docket.shop)
    assert not docket.job(JOB).at("1/F2").settled
    assert verify(docket).troubles == ()


def test_it_is_settled_by_agreeing_by_one_who_says_so_or_by_taking_it_back(docket):
    for name in ("2", "3", "4"):
        decide(docket, JOB, name, "sound", by="X.Y.")
    assert [f.shown for f in docket.job(JOB).disputed] == ["1/2", "1/3", "1/4"]
    decide(docket, JOB, "2", "sound", by="B.A.")
    with pytest.raises(DocketError, match=r"settles .* needs a reason"):
        decide(docket, JOB, "3", "stand", by="M.K.", settles=True)
    decide(docket, JOB, "3", "stand", by="M.K.", note="the foreman's word", settles=True)
    decide(docket, JOB, "4", "undecided", by="M.K.")
    assert docket.job(JOB).disputed == ()
    assert [f.shown for f in docket.job(JOB).undecided] == ["1/4"]
    # Whoever changes his own mind is of one mind.
    decide(docket, JOB, "1", "correct", by="B.A.")
    assert docket.job(JOB).disputed == ()


def test_a_third_who_says_what_one_said_settles_nothing(docket):
    decide(docket, JOB, "1", "correct", by="X.Y.")
    decide(docket, JOB, "1", "stand", by="M.K.")
    (found,) = docket.job(JOB).disputed
    assert [(one.by, one.what) for one in (*found.others, found.decision)] == [
        ("X.Y.", "correct"), ("M.K.", "stand"),
    ]  # fmt: skip


def test_who_agreed_and_changes_his_mind_is_held_against_the_other_again(docket):
    decide(docket, JOB, "1", "stand", by="X.Y.")
    assert docket.job(JOB).disputed == ()
    decide(docket, JOB, "1", "sound", by="X.Y.")
    (found,) = docket.job(JOB).disputed
    assert [one.by for one in found.others] == ["B.A."]
    decide(docket, JOB, "1", "stand", by="X.Y.", note="the foreman's word", settles=True)
    decide(docket, JOB, "1", "sound", by="X.Y.")
    assert docket.job(JOB).disputed == ()


def test_the_customers_answer_is_not_argued_with(docket):
    decide(docket, JOB, "1", "query", by="X.Y.", note="u or n?")
    assert docket.job(JOB).disputed
    answer_query(docket, JOB, "1", "correct", "an n", answered_by="the secretary", by="X.Y.")
    assert docket.job(JOB).disputed == ()


def test_a_dispute_goes_with_the_fault_to_the_next_proof(docket):
    decide(docket, JOB, "1", "sound", by="X.Y.")
    pull(docket, b"revise", revise=shown_made(docket))
    carried = docket.job(JOB).proof.found[0]
    assert (carried.carried_from, len(carried.others)) == ("1/F1", 1)
    assert [f.ref for f in docket.job(JOB).disputed] == ["1/F1"]


def test_after_the_ok_a_decision_needs_a_reason_and_withdraws_it(docket):
    ok(docket)
    for what in ("correct", "query", "stand", "sound", "undecided"):
        with pytest.raises(DocketError, match="needs a reason"):
            decide(docket, JOB, "1", what, by="B.A.", note=" ")
    decide(docket, JOB, "1", "sound", by="B.A.", note="looked at under the glass")
    assert "takes the O.K. again" in clear_for_press(docket, JOB).reasons[0].words
    ok(docket, "revise-wanted")
    decide(docket, JOB, "1", "stand", by="B.A.")


def test_who_recorded_stands_beside_who_said(docket):
    word = Word("ok", "the band's secretary", "letter")
    sign_off(docket, JOB, word, recorded_by="P.C.")
    assert docket.job(JOB).signoffs[-1].recorded_by == "P.C."
    told = job_text(docket.job(JOB), docket.shop)
    assert "O.K.: the band's secretary, letter, of the first proof; recorded by P.C." in told
    ok(docket)
    assert docket.job(JOB).signoffs[-1].recorded_by == ""


def test_nothing_is_charged_by_rates_the_shop_has_not_set(docket):
    add_copy(docket, [*COPY_LINES, "Should it rain, the concert is off."])
    job = docket.job(JOB)
    assert job.copies[-1].new_slugs
    bill = bill_of(job, Shop(hour_costs=Decimal(36)))
    assert (bill.minutes, bill.cost) == (None, None)
    assert "no rate is set, no time charged" in bill_text(docket, job, Shop(hour_costs=Decimal(36)))
    assert "no rate is set" in job_html(job, Shop())
    rated = Shop(minutes_a_slug=Decimal(5), hour_costs=Decimal(36), money="£")
    slugs = job.copies[-1].new_slugs
    assert f"{5 * slugs} minutes, £{Decimal(3 * slugs):.2f}" in bill_text(docket, job, rated)
