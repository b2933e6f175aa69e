"""What the answer for the press says, in its words and in what it rests on.

Common practice: a proof and its copy are held against the docket before the forme goes to press.
"""

from __future__ import annotations

import pytest
from docket_cases import JOB, add_copy, begun, decide_all, ok, pull, quick_folder
from report_cases import COPY_LINES

from proofcheck.docket import clear_for_press, decide, open_job, override, vouch
from proofcheck.docket.clear import order_for, to_vouch_for
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.vouching import Reason


@pytest.fixture
def docket():
    with quick_folder() as folder:
        yield begun(folder)


def words_in_hand(docket, **held):
    """What is said of the proof or the copy in hand."""
    reasons = clear_for_press(docket, JOB, **held).reasons
    return [reason.words for reason in reasons if reason.key.endswith("-in-hand")]


def test_a_proof_in_hand_that_is_none_of_the_jobs_is_called_so(docket):
    strange = ["0" * 64]
    assert words_in_hand(docket, scans=strange) == ["the proof in hand is none of this job's"]
    pull(docket, faults=False)
    assert words_in_hand(docket, scans=strange) == ["the proof in hand is none of this job's"]


def test_the_same_sheet_in_hand_twice_is_that_sheet(docket):
    pull(docket, faults=False)
    (sheet,) = docket.job(JOB).proof.hashes
    assert words_in_hand(docket, scans=[sheet, sheet]) == []


def test_a_copy_in_hand_is_named_by_its_version_or_is_none_of_the_jobs(docket):
    pull(docket, faults=False)
    add_copy(docket, [*COPY_LINES, "God save the band."])
    first, second = (held.sha256 for held in docket.job(JOB).copies)
    assert words_in_hand(docket, copy=second) == []
    assert words_in_hand(docket, copy=first) == ["the copy in hand is version 1, changed since"]
    assert words_in_hand(docket, copy="0" * 64) == ["the copy in hand is none of this job's"]


def test_a_job_without_copy_has_no_copy_in_hand(docket):
    open_job(docket, "7", {}, by="P.C.")
    answer = clear_for_press(docket, "7", copy=docket.job(JOB).copy.sha256)
    assert not answer.clear
    assert "the copy in hand is none of this job's" in [reason.words for reason in answer.reasons]


def test_a_clear_answer_rests_on_the_sign_off_and_an_order_on_none(docket):
    pull(docket, faults=False)
    barred = clear_for_press(docket, JOB)
    assert (barred.clear, barred.signoff, barred.overridden, barred.vouched) == (
        False, None, None, (),
    )  # fmt: skip
    override(docket, JOB, by="M.K.", reason="the fair is tomorrow")
    ordered = clear_for_press(docket, JOB)
    assert ordered.clear
    assert ordered.signoff is None
    assert ordered.overridden.by == "M.K."
    assert [reason.key for reason in ordered.reasons] == ["no-ok"]
    ok(docket)
    cleared = clear_for_press(docket, JOB)
    assert (cleared.clear, cleared.reasons, cleared.overridden) == (True, (), None)
    assert cleared.signoff == docket.job(JOB).signoffs[-1]
    assert cleared.checked.troubles == ()


def test_there_is_nothing_to_override_where_it_is_clear_or_has_no_proof(docket):
    with pytest.raises(DocketError, match=f"job {JOB} has no proof; there is nothing to override"):
        override(docket, JOB, by="M.K.", reason="in haste")
    pull(docket, faults=False)
    ok(docket)
    with pytest.raises(DocketError, match=f"job {JOB} is clear for press; there is nothing"):
        override(docket, JOB, by="M.K.", reason="in haste")
    assert docket.job(JOB).overrides == ()


def test_an_order_holds_for_its_reasons_or_fewer_on_its_proof_and_copy_alone(docket):
    job = docket.job(JOB)
    assert order_for(job, ()) is None
    pull(docket)
    assert order_for(docket.job(JOB), ()) is None
    decide_all(docket, "stand")
    override(docket, JOB, by="M.K.", reason="the fair is tomorrow")
    job = docket.job(JOB)
    standing = Reason("no-ok", "the customer has not given an O.K.")
    assert order_for(job, (standing,)) == order_for(job, ()) == job.overrides[-1]
    assert order_for(job, (standing, Reason("undecided:1/F9", "another"))) is None
    decide(docket, JOB, "F2", "query", by="B.A.")
    assert not clear_for_press(docket, JOB).clear
    pull(docket, b"second", faults=False)
    assert order_for(docket.job(JOB), (standing,)) is None


def test_an_order_does_not_hold_for_copy_changed_since(docket):
    pull(docket, faults=False)
    override(docket, JOB, by="M.K.", reason="the fair is tomorrow")
    add_copy(docket, [*COPY_LINES, "God save the band."])
    job = docket.job(JOB)
    assert job.overrides
    assert order_for(job, (Reason("no-ok", "no word yet"),)) is None
    assert not clear_for_press(docket, JOB).clear


def of_three_lines(report):
    report["lines"] = report["lines"][:3]
    report["made"]["settings"]["part"] = True


def test_what_a_person_may_answer_for_is_that_alone_and_is_recorded_once(docket):
    assert to_vouch_for(docket, JOB) == ()
    pull(docket, faults=False, more=of_three_lines)
    (lacking,) = to_vouch_for(docket, JOB)
    assert lacking.key == "not-proved:4-5"
    how = {"by": "A. Mason", "reason": "read by eye against the copy"}
    for keys, said in (
        ((), "nothing is named to answer for; name what clear shows in brackets"),
        (("no-ok",), "no 'no-ok' to answer for in job 1042; there is: not-proved:4-5"),
        (("not-proved:4-5", "no-ok"), "no 'no-ok' to answer for"),
    ):
        with pytest.raises(DocketError, match=said):
            vouch(docket, JOB, keys, **how)
    for lacks in ({"by": " "}, {"reason": " "}):
        with pytest.raises(DocketError):
            vouch(docket, JOB, ["not-proved:4-5"], **{**how, **lacks})
    entry = vouch(docket, JOB, ["not-proved:4-5", "not-proved:4-5"], **how)
    assert entry.data["keys"] == ["not-proved:4-5"]
    assert entry.data["words"] == [lacking.words]
    assert entry.data["reason"] == "read by eye against the copy"
    assert to_vouch_for(docket, JOB) == ()
    with pytest.raises(DocketError, match="there is: nothing"):
        vouch(docket, JOB, ["not-proved:4-5"], **how)
    answer = clear_for_press(docket, JOB)
    assert [held.by for held in answer.vouched] == ["A. Mason"]
    assert not answer.clear


def test_a_job_that_is_not_there_is_an_error_and_no_answer(docket):
    with pytest.raises(DocketError, match="404"):
        clear_for_press(docket, "404")


def said(docket, job=JOB):
    return {reason.key: reason.words for reason in clear_for_press(docket, job).reasons}


FAULTS = {
    "1/F1": "change n to u", "1/F2": "take out the second “the”", "1/F3": "insert “the”",
    "1/F4": "insert a full point?",
}  # fmt: skip
"""What the programme's report finds, by its reference."""


def shown(ref):
    return ref.replace("F", "")


def test_what_is_wanting_is_said_step_by_step_in_plain_words(docket):
    open_job(docket, "7", {}, by="P.C.")
    assert said(docket, "7") == {"no-copy": "no copy is on the docket"}
    assert said(docket) == {"no-proof": "no proof has been pulled"}
    pull(docket)
    no_ok = {"no-ok": "the customer has not given an O.K."}
    undecided = {
        f"undecided:{ref}": f"{'query' if ref == '1/F4' else 'fault'} {shown(ref)} is undecided: "
        f"{words}"
        for ref, words in FAULTS.items()
    }
    assert said(docket) == undecided | no_ok
    decide(docket, JOB, "1/F1", "query", by="B.A.", note="is it to be in italic?")
    open_query = {"query:1/F1": "query 1/1 to the customer is open: is it to be in italic?"}
    del undecided["undecided:1/F1"]
    assert said(docket) == undecided | open_query | no_ok
    decide_all(docket)
    ok(docket)
    corrections = {
        f"correction:{ref}": f"correction {shown(ref)} is not shown made: {words}"
        for ref, words in FAULTS.items()
        if ref != "1/F1"
    }
    assert said(docket) == corrections | open_query
    entry = decide(docket, JOB, "1/F1", "stand", by="B.A.", note="so let it")
    after = {
        f"decided-after:1/F1@{entry.place}": (
            "1/1 was let stand by B.A. after the O.K. of the band's secretary, who has not seen it "
            "so: change n to u; it takes the O.K. again"
        )
    }
    assert said(docket) == corrections | after
    add_copy(docket, [*COPY_LINES, "God save the band."])
    other_copy = {"ok-other-copy": "the O.K. of the band's secretary was given on another copy"}
    changed = {
        "copy-changed": "the copy was changed since: the first proof was read against version 1, "
        "version 2 holds"
    }
    assert said(docket) == changed | corrections | other_copy | after
    pull(docket, b"second", faults=False)
    other_proof = {
        "ok-other-proof": "the O.K. of the band's secretary was given on another proof: the first "
        "proof, superseded by the revise"
    }
    assert said(docket) == corrections | other_copy | other_proof | after


def test_who_wants_a_revised_proof_has_not_given_his_word_on_the_next(docket):
    pull(docket, faults=False)
    ok(docket, "revise-wanted")
    assert said(docket) == {"revise-wanted": "the band's secretary wants a revised proof"}
    pull(docket, b"second", faults=False)
    assert said(docket) == {
        "no-ok": "the band's secretary wanted a revised proof and has not O.K.’d it"
    }


def test_an_ok_with_corrections_carries_over_to_no_proof_that_was_not_laid_on_the_last(docket):
    pull(docket)
    decide_all(docket)
    ok(docket, "ok-with-corrections")
    corrections = {
        f"correction:{ref}": f"correction {shown(ref)} is not shown made: {words}"
        for ref, words in FAULTS.items()
    }
    assert said(docket) == corrections
    pull(docket, b"second", faults=False)
    assert said(docket) == corrections | {
        "ok-other-proof": "the O.K. with corrections of the band's secretary was given on another "
        "proof: the first proof, superseded by the revise"
    }


def test_a_word_given_on_a_proof_that_is_superseded_says_nothing_of_the_parts_pulled_since(docket):
    pull(docket)
    decide_all(docket, "stand", note="as it is")
    ok(docket)
    pull(docket, b"head", faults=False, more=of_three_lines)
    pull(docket, b"foot", faults=False, more=of_the_rest)
    told = said(docket)
    assert {key: words for key, words in told.items() if key.startswith("no-ok")} == {
        f"no-ok:{number}": f"the customer has not given an O.K. on the {name}, which holds a part"
        for number, name in ((2, "revise"), (3, "second revise"))
    }
    assert not any(key.startswith("decided-after") for key in told)


def of_the_rest(report):
    """One part more, which holds the last two lines of the copy."""
    report["lines"] = report["lines"][3:]
    report["made"]["settings"]["part"] = True
