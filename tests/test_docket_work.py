"""The docket at work: decisions, alterations, the customer's word, and clear for press."""

from __future__ import annotations

from decimal import Decimal

import pytest
from docket_cases import (
    JOB,
    add_copy,
    begun,
    decide_all,
    ok,
    pull,
    quick_folder,
    report_on,
    shown_made,
)
from hypothesis import given, settings
from hypothesis import strategies as st
from report_cases import COPY_LINES

from proofcheck.base.carried import carried_span, kept_span
from proofcheck.base.fault_numbers import proof_name
from proofcheck.docket import (
    ProofTaken,
    Word,
    answer_query,
    clear_for_press,
    decide,
    open_job,
    override,
    pull_proof,
)
from proofcheck.docket.alterations import alterations_of
from proofcheck.docket.billing import bill_of
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.originals import Original
from proofcheck.docket.shop import Shop
from proofcheck.docket.show_bill import bill_text
from proofcheck.results.sealing import sealed


@pytest.fixture
def tmp_path():
    with quick_folder() as folder:
        yield folder


def why_not(docket, **held):
    answer = clear_for_press(docket, JOB, **held)
    assert answer.clear == (not answer.reasons)
    return [reason.key for reason in answer.reasons]


def test_proofs_are_numbered_in_series():
    # First proof, R, 2d R, 3d R: the series of the US government's printing office.
    assert [proof_name(n) for n in (1, 2, 3, 4)] == [
        "first proof", "revise", "second revise", "third revise",
    ]  # fmt: skip


def test_the_whole_way_to_the_press(tmp_path):
    docket = begun(tmp_path)
    assert why_not(docket) == ["no-proof"]
    pull(docket)
    assert why_not(docket) == [*(f"undecided:1/F{n}" for n in (1, 2, 3, 4)), "no-ok"]
    for fault in ("F1", "F2", "F3"):
        decide(docket, JOB, fault, "correct", by="B.A.")
    decide(docket, JOB, "F4", "query", by="B.A.", note="a full point at the end?")
    assert why_not(docket) == [
        "query:1/F4", "correction:1/F1", "correction:1/F2", "correction:1/F3", "no-ok",
    ]  # fmt: skip
    answer_query(
        docket, JOB, "F4", "stand", "no point, please", answered_by="the secretary", by="B.A."
    )
    ok(docket, "ok-with-corrections")
    assert why_not(docket) == ["correction:1/F1", "correction:1/F2", "correction:1/F3"]
    pull(docket, b"revise", faults=False, revise=shown_made(docket))
    assert why_not(docket) == []


def test_a_correction_missed_on_the_revise_bars_the_press(tmp_path):
    docket = begun(tmp_path)
    pull(docket)
    decide_all(docket)
    ok(docket, "ok-with-corrections")
    pull(docket, b"revise", faults=False, revise=shown_made(docket, **{"1/F2": "missed"}))
    answer = clear_for_press(docket, JOB)
    assert [reason.key for reason in answer.reasons] == ["correction:1/F2"]
    assert "missed on the revise" in answer.reasons[0].words


def test_an_ok_with_corrections_is_not_met_without_a_revise(tmp_path):
    docket = begun(tmp_path)
    pull(docket)
    decide_all(docket)
    ok(docket, "ok-with-corrections")
    pull(docket, b"second", faults=False)
    assert why_not(docket) == [*(f"correction:1/F{n}" for n in (1, 2, 3, 4)), "ok-other-proof"]


def test_what_the_revise_found_must_be_decided(tmp_path):
    docket = begun(tmp_path)
    pull(docket)
    decide_all(docket)
    ok(docket, "ok-with-corrections")
    swap = {"id": "R1", "kind": "slugs-swapped", "line": 2, "words": "slugs 2 and 3 are swapped"}
    pull(docket, b"revise", faults=False, revise=shown_made(docket), findings=[swap])
    assert why_not(docket) == ["undecided:2/R1"]


def test_an_ok_holds_for_one_proof_and_one_copy(tmp_path):
    docket = begun(tmp_path)
    pull(docket, faults=False)
    ok(docket)
    assert why_not(docket) == []
    pull(docket, b"second", faults=False)
    assert why_not(docket) == ["ok-other-proof"]
    ok(docket)
    add_copy(docket, [*COPY_LINES, "God save the band."])
    assert why_not(docket) == ["copy-changed", "ok-other-copy"]
    ok(docket, "revise-wanted")
    assert why_not(docket)[-1] == "revise-wanted"


def test_the_proof_and_copy_in_hand_are_held_against_the_record(tmp_path):
    docket = begun(tmp_path)
    pull(docket, b"first", faults=False)
    pull(docket, b"second", faults=False)
    ok(docket)
    first, second = (proof.hashes for proof in docket.job(JOB).proofs)
    assert why_not(docket, scans=second, copy=docket.job(JOB).copy.sha256) == []
    answer = clear_for_press(docket, JOB, scans=first)
    assert "the first proof, superseded by the revise" in answer.reasons[0].words
    assert why_not(docket, scans=["0" * 64]) == ["proof-in-hand"]
    assert why_not(docket, copy="0" * 64) == ["copy-in-hand"]


def test_an_override_has_a_name_a_reason_and_no_more_reach_than_it_names(tmp_path):
    docket = begun(tmp_path)
    pull(docket)
    decide_all(docket, "stand")
    for by, reason in (("", "asked by telephone"), ("M.K.", " ")):
        with pytest.raises(DocketError):
            override(docket, JOB, by=by, reason=reason)
    override(docket, JOB, by="M.K.", reason="the secretary is away; I answer for it")
    answer = clear_for_press(docket, JOB)
    assert answer.clear
    assert answer.overridden.by == "M.K."
    assert [reason.key for reason in answer.reasons] == ["no-ok"]
    decide(docket, JOB, "F2", "query", by="B.A.")
    assert not clear_for_press(docket, JOB).clear
    assert docket.entries(JOB)[-2].data["words"] == ["the customer has not given an O.K."]


def test_nothing_talks_a_broken_record_round(tmp_path):
    docket = begun(tmp_path)
    pull(docket, faults=False)
    ok(docket)
    path = docket.originals.path(docket.job(JOB).proof.hashes[0])
    path.write_bytes(b"another")
    answer = clear_for_press(docket, JOB)
    assert not answer.clear
    assert "proof.png" in answer.reasons[0].words
    with pytest.raises(DocketError, match="broken record"):
        override(docket, JOB, by="M.K.", reason="never mind")


def test_a_query_unanswered_goes_with_every_later_proof(tmp_path):
    docket = begun(tmp_path)
    pull(docket)
    decide(docket, JOB, "F4", "query", by="B.A.")
    pull(docket, b"second")
    pull(docket, b"third")
    assert docket.entries(JOB)[-1].data["carried"] == ["1/F4"]
    assert [f.ref for f in docket.job(JOB).open_queries] == ["1/F4"]
    again = docket.job(JOB).at("3/F4")
    assert again.decision.open
    assert again.carried_from == "1/F4"
    answer_query(docket, JOB, "3/F4", "stand", "as it is", answered_by="the secretary", by="B.A.")
    assert docket.job(JOB).open_queries == ()
    assert docket.job(JOB).at("3/F4").decision.what == "stand"


def test_what_was_let_stand_stands_on_the_next_proof_too(tmp_path):
    docket = begun(tmp_path)
    pull(docket)
    decide(docket, JOB, "F1", "stand", by="B.A.")
    pull(docket, b"second")
    assert [f.ref for f in docket.job(JOB).undecided] == ["2/F2", "2/F3", "2/F4"]


def test_a_correction_missed_is_carried_to_the_revise(tmp_path):
    """Missed marks are carried to the revise: the practice of the US government's office."""
    docket = begun(tmp_path)
    pull(docket)
    decide_all(docket)
    pull(docket, b"revise", revise=shown_made(docket, **{"1/F2": "missed"}))
    job = docket.job(JOB)
    assert [f.ref for f in job.undecided] == ["2/F1", "2/F3", "2/F4"]
    assert job.at("2/F2").carried_from == "1/F2"
    assert [f.ref for f in job.corrections] == ["1/F2"]


def test_wrong_decisions_are_refused_in_one_line(tmp_path):
    docket = begun(tmp_path)
    with pytest.raises(DocketError, match="no proof yet"):
        decide(docket, JOB, "F1", "correct", by="B.A.")
    pull(docket)
    for fault, what, by in (
        ("F9", "correct", "B.A."),
        ("F1", "perhaps", "B.A."),
        ("F1", "stand", ""),
    ):
        with pytest.raises(DocketError) as caught:
            decide(docket, JOB, fault, what, by=by)
        assert "\n" not in str(caught.value)
    with pytest.raises(DocketError, match="no query is open"):
        answer_query(docket, JOB, "F1", "stand", "yes", answered_by="the secretary", by="B.A.")
    for words, how in (("fine", "in person"), ("ok", "in a dream"), ("ok", "signed sheet")):
        with pytest.raises(DocketError):
            Word(words, "the secretary", how)
    with pytest.raises(DocketError, match="no proof 3"):
        ok(docket, proof=3)
    with pytest.raises(DocketError, match="none is decided"):
        ok(docket, "ok-with-corrections")
    assert [e.kind for e in docket.entries(JOB)] == ["opened", "copy", "proof"]


def test_a_proof_of_another_job_or_copy_is_refused(tmp_path):
    docket = begun(tmp_path)
    pull(docket)
    with pytest.raises(DocketError, match="on record already"):
        pull(docket)
    open_job(docket, "1043", {}, by="P.C.")
    add_copy(docket, ["A price list"], job="1043")
    with pytest.raises(DocketError, match="first proof of job 1042"):
        pull(docket, job="1043", faults=False)
    report = report_on(docket, scan=b"other")
    with pytest.raises(DocketError, match="not the one that was read"):
        pull_proof(docket, JOB, ProofTaken(report, (Original("p.png", b"x"),)), by="B.A.")
    scans = (Original("p.png", b"other"),)
    report["copy"]["sha256"] = "0" * 64
    with pytest.raises(DocketError, match="not on the docket"):
        pull_proof(docket, JOB, ProofTaken(report, scans, here=True), by="B.A.")
    report["verdict"] = "mismatch"
    with pytest.raises(DocketError, match="another job"):
        pull_proof(docket, JOB, ProofTaken(report, scans, here=True), by="B.A.")


def test_pages_in_another_order_are_refused(tmp_path):
    docket = begun(tmp_path)
    report = report_on(docket, scan=b"one")
    second = dict(report["scans"][0])
    second["sha256"] = Original("two", b"two").reference()["sha256"]
    report["scans"].append(second)
    scans = (Original("two.png", b"two"), Original("one.png", b"one"))
    with pytest.raises(DocketError, match="another order"):
        pull_proof(docket, JOB, ProofTaken(report, scans, here=True), by="B.A.")
    pull_proof(docket, JOB, ProofTaken(report, scans[::-1], here=True), by="B.A.")
    assert (
        "another order"
        in clear_for_press(docket, JOB, scans=docket.job(JOB).proof.hashes[::-1]).reasons[0].words
    )


# ------------------------------------------------------------------ author's alterations


def test_changes_of_copy_are_told_word_by_word():
    old = "Tickets 1s. 6d. at the door; children free.\nTea and cake."
    new = "Tickets 2s. at the\ndoor; all children free.\nTea and cake."
    told = [(change.was, change.now) for change in alterations_of(old, new)]
    assert told == [("1s. 6d.", "2s."), ("", "all")]
    assert alterations_of(old, old.replace(" ", "\n")) == ()


def test_copy_that_prints_alike_is_no_alteration_and_is_not_charged(tmp_path):
    """Quotes of another shape and typed dashes: common practice, not charged."""
    docket = begun(tmp_path)
    pull(docket)
    quoted = [line.replace("children free", "“children” free—all") for line in COPY_LINES]
    add_copy(docket, quoted)
    typed = [line.replace("“", '"').replace("”", '"').replace("—", "--") for line in quoted]
    add_copy(docket, [*typed[:-1], typed[-1].replace("cake", "buns")])
    last = docket.job(JOB).copies[-1]
    assert [(c["was"], c["now"]) for c in last.alterations] == [("cake", "buns")]
    assert last.alike > 0
    bill = bill_text(docket, docket.job(JOB), docket.shop)
    assert "printing alike, not charged" in bill
    assert "--" not in bill


def test_what_was_let_stand_is_not_asked_again_though_the_copy_was_changed_elsewhere(tmp_path):
    docket = begun(tmp_path)
    pull(docket)
    decide(docket, JOB, "1", "stand", by="B.A.", note="as the customer writes it")
    longer = "A CONCERT BY THE VILLAGE BAND"
    add_copy(docket, [longer, *COPY_LINES[1:]])
    moved = len(longer) - len(COPY_LINES[0])

    def further(report):
        for fault in report["faults"]:
            fault["copy"]["start"] += moved
            fault["copy"]["end"] += moved
        report |= sealed(report)

    pull(docket, b"second", more=further)
    carried = docket.job(JOB).at("2/F1")
    assert (carried.decision.what, carried.carried_from) == ("stand", "1/F1")
    assert docket.job(JOB).at("2/F2").decision is None


def test_what_was_wrongly_alleged_is_no_printers_error(tmp_path):
    docket = begun(tmp_path)
    pull(docket)
    count = len([f for f in docket.job(JOB).found if f.status == "fault"])
    assert f"{count} PE found" in bill_text(docket, docket.job(JOB), docket.shop)
    decide(docket, JOB, "1", "sound", by="B.A.")
    decide(docket, JOB, "2", "stand", by="B.A.")
    assert f"{count - 2} PE found" in bill_text(docket, docket.job(JOB), docket.shop)


@given(
    st.lists(st.sampled_from("ab c\n"), max_size=30),
    st.lists(st.sampled_from("ab c\n"), max_size=30),
)
@settings(max_examples=200)
def test_old_copy_with_its_alterations_is_new_copy(old, new):
    old, new = "".join(old), "".join(new)
    out, at = [], 0
    for change in alterations_of(old, new):
        assert old[slice(*change.old)] == change.was
        assert new[slice(*change.new)] == change.now
        out += [old[at : change.old[0]], " ", change.now, " "]
        at = change.old[1]
    assert "".join([*out, old[at:]]).split() == new.split()


def test_a_place_in_old_copy_is_found_in_new():
    old, new = "one two three four five six", "one twosome three four five more six"
    assert carried_span((0, 3), old, new) == (0, 3)
    assert carried_span((8, 13), old, new) == (12, 17)
    assert carried_span((5, 6), old, new) == (4, 11)
    assert carried_span((24, 27), old, new) == (33, 36)
    # What begins where a change begins goes with all of it, the gap before it gone or not.
    assert carried_span((4, 6), old, new) == (4, 11)
    assert carried_span((8, 13), "one two three four", "one two four") == (7, 7)
    assert carried_span((0, 7), "one two three", "one two 3") == (0, 7)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("mill", "the mill"), ("the mill", "mill"), ("a  mill", "an old mill"),
        ("a\n\nmill", "a b\n\nmill"), ("a mill", "a\n\n\nmill"), ("x mill", "x -- -- mill"),
    ],
)  # fmt: skip
def test_a_place_after_a_change_is_off_by_no_space(old, new):
    """At the head nothing parts what is put in from what follows but a space of its own."""
    at, now = old.index("mill"), new.index("mill")
    for start, end in ((0, 4), (1, 3), (2, 2), (4, 4), (0, 0)):
        assert carried_span((at + start, at + end), old, new) == (now + start, now + end)
        assert kept_span((at + start, at + end), old, new) == (now + start, now + end)


@given(
    st.lists(st.sampled_from(["a", "bb", "ccc", " ", "\n", "  "]), max_size=20),
    st.lists(st.sampled_from(["a", "bb", "ccc", " ", "\n", "  "]), max_size=20),
    st.tuples(st.integers(0, 40), st.integers(0, 40)),
)
@settings(max_examples=300)
def test_a_place_carried_over_lies_in_the_text_and_what_is_kept_reads_the_same(old, new, at):
    old, new = "".join(old), "".join(new)
    start, end = sorted(min(x, len(old)) for x in at)
    a, b = carried_span((start, end), old, new)
    assert 0 <= a <= b <= len(new)
    kept = kept_span((start, end), old, new)
    if kept is not None and " " not in old[start:end] and "\n" not in old[start:end]:
        assert new[slice(*kept)] == old[start:end]
        assert (a, b) == kept


def test_a_change_of_copy_is_charged_and_a_wrong_letter_is_not(tmp_path):
    docket = begun(tmp_path)
    pull(docket, faults=False)
    changed = [*COPY_LINES[:3], COPY_LINES[3].replace("at the door", "at door"), COPY_LINES[4]]
    changed[3] = changed[3].replace("at door", "at the gate")
    add_copy(docket, changed)
    version = docket.job(JOB).copy
    assert [(c["was"], c["now"], c["slugs"]) for c in version.alterations] == [
        ("door;", "gate;", [4])
    ]
    report = report_on(docket, scan=b"second")
    start = version.alterations[0]["new"][0]
    report["faults"][0] |= {"copy": {"start": start, "end": start + 5, "text": "gate;"}}
    report["faults"][0]["proof"] = {"text": "door;"}
    taken = ProofTaken(report, (Original("p.png", b"second"),), here=True)
    pull_proof(docket, JOB, taken, by="B.A.")
    assert [f.charge for f in docket.job(JOB).proof.found] == ["AA", "PE", "PE", "PE"]
    decide(docket, JOB, "F2", "correct", by="B.A.", charge="AA")
    assert docket.job(JOB).at("2/F2").charged == "AA"
    bill = bill_of(docket.job(JOB), Shop(minutes_a_slug=Decimal(4), hour_costs=Decimal(36)))
    # The slug altered and the one charged by hand, at four minutes and 36 an hour: 8/60 of 36.
    assert (bill.alterations, bill.slugs, bill.minutes, str(bill.cost)) == (1, 2, 8, "4.80")
