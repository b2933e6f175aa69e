"""What was not proved bars the press till a named person answers for exactly that."""

from __future__ import annotations

import json
import re
from types import SimpleNamespace

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
from report_cases import COPY_LINES

from proofcheck.docket import (
    ProofTaken,
    clear_for_press,
    decide,
    export_job,
    import_job,
    open_docket,
    override,
    pull_proof,
    verify,
    vouch,
)
from proofcheck.docket.chain import Draft, add_entry
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.job import standing_proofs
from proofcheck.docket.originals import Original
from proofcheck.docket.proved import (
    lax_choices,
    laxness,
    left_out,
    lines_words,
    unread_words,
)
from proofcheck.docket.show import clearance_text, job_text, list_text
from proofcheck.docket.unproved import _same_place, unproved_reasons
from proofcheck.docket.vouching import facts_of


@pytest.fixture
def tmp_path():
    with quick_folder() as folder:
        yield folder


def keys(docket, job=JOB, **held):
    return [reason.key for reason in clear_for_press(docket, job, **held).reasons]


def answered(docket, *names, by="A. Mason", reason="read by eye against the copy"):
    return vouch(docket, JOB, names, by=by, reason=reason)


def of_lines(first, last, *, part=True):
    """Makes of a report one on these lines of the copy alone."""

    def change(report):
        report["lines"] = report["lines"][first - 1 : last]
        report["made"]["settings"]["part"] = part

    return change


# ------------------------------------------------------------------ part of the copy


def test_a_proof_of_part_of_the_copy_is_cleared_for_none_of_the_rest(tmp_path):
    docket = begun(tmp_path)
    pull(docket, faults=False, more=of_lines(1, 3))
    ok(docket)
    answer = clear_for_press(docket, JOB)
    assert [reason.key for reason in answer.reasons] == ["not-proved:4-5"]
    assert "lines 4-5 of the copy not proved: from “Tickets 1s." in answer.reasons[0].words
    assert "[not-proved:4-5]" in clearance_text(answer)


def test_part_proofs_that_hold_the_copy_between_them_prove_it(tmp_path):
    docket = begun(tmp_path)
    pull(docket, faults=False, more=of_lines(1, 3))
    ok(docket)
    pull(docket, b"second", faults=False, more=of_lines(4, 5))
    assert [proof.number for proof in standing_proofs(docket.job(JOB))] == [1, 2]
    assert keys(docket) == ["no-ok:2"]
    ok(docket)
    answer = clear_for_press(docket, JOB)
    assert (answer.clear, left_out(docket.job(JOB))) == (True, [])
    first, second = (proof.hashes for proof in docket.job(JOB).proofs)
    for held in (first, second, first + second):
        assert keys(docket, scans=held) == []
    assert keys(docket, scans=second + first) == ["proof-in-hand"]


def test_a_fault_on_an_earlier_part_is_not_superseded_by_a_proof_of_another(tmp_path):
    docket = begun(tmp_path)

    def first_three(report):
        of_lines(1, 3)(report)
        report["faults"] = report["faults"][:2]
        report["counts"] = {"faults": 2, "queries": 0}

    pull(docket, more=first_three)
    pull(docket, b"second", faults=False, more=of_lines(4, 5))
    ok(docket, proof=1)
    ok(docket)
    assert keys(docket) == ["undecided:1/F1", "undecided:1/F2"]


def test_of_an_earlier_part_that_alone_is_superseded_which_a_later_one_holds_again(tmp_path):
    docket = begun(tmp_path)

    def first_three(report):
        of_lines(1, 3)(report)
        report["faults"] = report["faults"][:2]  # In lines 2 and 3.
        report["counts"] = {"faults": 2, "queries": 0}

    pull(docket, more=first_three)
    pull(docket, b"second", faults=False, more=of_lines(3, 5))
    ok(docket, proof=1)
    ok(docket)
    # That the other was never decided is told with the proof that took its place.
    assert keys(docket) == ["left-behind:1", "undecided:1/F1"]


def test_new_copy_supersedes_a_proof_of_part_of_the_old(tmp_path):
    docket = begun(tmp_path)
    pull(docket, faults=False, more=of_lines(1, 3))
    ok(docket)
    add_copy(docket, [*COPY_LINES[:4], "Tea and buns will be served afterwards."])
    pull(docket, b"second", faults=False, more=of_lines(4, 5))
    ok(docket)
    assert [proof.number for proof in standing_proofs(docket.job(JOB))] == [2]
    assert any(key.startswith("not-proved:1") for key in keys(docket))


def test_an_open_query_says_what_is_asked_or_what_was_found(tmp_path):
    docket = begun(tmp_path)
    pull(docket)
    decide(docket, JOB, "1/F1", "query", by="B.A.", note="is it to be in italic?")
    decide(docket, JOB, "1/F2", "query", by="B.A.")
    ok(docket)
    words = {each.key: each.words for each in clear_for_press(docket, JOB).reasons}
    assert words["query:1/F1"].endswith("is open: is it to be in italic?")
    assert re.search(r"is open: \S.+", words["query:1/F2"])


def test_a_part_pulled_again_takes_the_place_of_the_first_pull(tmp_path):
    docket = begun(tmp_path)
    for scan in (b"first", b"second"):
        pull(docket, scan, faults=False, more=of_lines(1, 3))
    pull(docket, b"third", faults=False, more=of_lines(4, 5))
    assert [proof.number for proof in standing_proofs(docket.job(JOB))] == [2, 3]


def test_a_correction_the_ok_was_given_with_is_asked_for_though_the_shop_thinks_again(tmp_path):
    docket = begun(tmp_path)
    pull(docket)
    decide_all(docket)
    ok(docket, "ok-with-corrections")
    asked = docket.job(JOB).signoffs[-1].corrections
    assert "1/F1" in asked
    assert not any(key.startswith("ok-correction") for key in keys(docket))
    decide(docket, JOB, "1/F1", "stand", by="B.A.", note="the customer is of two minds")
    assert "ok-correction:1/F1" in keys(docket)


@pytest.mark.parametrize(
    ("held", "words"),
    [([2, 3], "2-3"), ([2, 4], "2, 4"), ([1, 2, 3, 5], "1-3, 5"), ([4], "4"), ([], "")],
)
def test_stretches_of_copy_are_named_by_its_lines_those_that_follow_on_together(held, words):
    text = "\n".join(COPY_LINES) + "\n"
    starts = [0, *(at + 1 for at, char in enumerate(text) if char == "\n")]
    spans = [(starts[line - 1], starts[line - 1] + len(COPY_LINES[line - 1])) for line in held]
    assert lines_words(spans, text) == words


def test_a_proof_of_the_whole_supersedes_those_of_parts(tmp_path):
    docket = begun(tmp_path)
    pull(docket, faults=False, more=of_lines(1, 3))
    pull(docket, b"whole", faults=False)
    ok(docket)
    assert keys(docket) == []


def test_a_person_answers_for_exactly_the_lines_named_and_no_others(tmp_path):
    docket = begun(tmp_path)
    pull(docket, faults=False, more=of_lines(1, 3))
    ok(docket)
    with pytest.raises(DocketError, match="there is: not-proved:4-5"):
        answered(docket, "not-proved:5")
    answered(docket, "not-proved:4-5")
    answer = clear_for_press(docket, JOB)
    assert answer.clear
    assert "A. Mason answers for: lines 4-5 of the copy not proved" in clearance_text(answer)
    assert "Answered for: A. Mason" in job_text(docket.job(JOB), docket.shop)
    # Of another proof he did not answer for the same lines, nor for others.
    pull(docket, b"second", faults=False, more=of_lines(1, 2))
    ok(docket)
    assert keys(docket) == ["not-proved:4-5"]
    add_copy(docket, [*COPY_LINES, "God save the band."])
    pull(docket, b"third", faults=False, more=of_lines(1, 3))
    ok(docket)
    assert [key for key in keys(docket) if key.startswith("not-proved")] == ["not-proved:4-6"]


def test_a_whole_proof_that_leaves_a_line_out_in_silence_is_told(tmp_path):
    docket = begun(tmp_path)

    def without_one(report):
        del report["lines"][2]

    pull(docket, faults=False, more=without_one)
    ok(docket)
    assert keys(docket) == ["not-proved:3"]


@pytest.mark.parametrize(("by", "reason"), [("", "by eye"), ("A. Mason", "  ")])
def test_nobody_answers_without_a_name_and_a_reason(tmp_path, by, reason):
    docket = begun(tmp_path)
    pull(docket, faults=False, more=of_lines(1, 3))
    with pytest.raises(DocketError):
        answered(docket, "not-proved:4-5", by=by, reason=reason)
    with pytest.raises(DocketError, match="nothing is named"):
        answered(docket)
    with pytest.raises(DocketError, match="no 'no-ok'"):
        answered(docket, "no-ok")


# ------------------------------------------------------------------ how it was read


@pytest.mark.parametrize(
    ("setting", "told"),
    [
        (
            {"fault_certainty": 1.0, "query_certainty": 1.0},
            "differences less sure than 1.0 let go as slips of the reading; usual is 0.02",
        ),
        ({"query_certainty": 0.4}, "less sure than 0.4 let go as slips of the reading"),
        ({"fault_certainty": 0.9}, "no difference called a fault that is less sure than 0.9"),
        ({"second_look": False}, "without the second look"),
        ({"type_too": False}, "the type itself not looked at"),
        ({"unfit": True}, "not fit to be judged"),
        ({"allowed": "division-run"}, "letting pass more than two divisions running"),
        ({"weights": "mine.onnx"}, "other weights"),
    ],
)
def test_choices_that_hide_faults_are_on_record_and_bar_the_press(tmp_path, setting, told):
    docket = begun(tmp_path)
    pull(docket, faults=False, more=lambda report: report["made"]["settings"].update(setting))
    ok(docket)
    answer = clear_for_press(docket, JOB)
    assert [reason.key for reason in answer.reasons] == ["choices:1"]
    assert told in answer.reasons[0].words
    assert told in job_text(docket.job(JOB), docket.shop)
    read = docket.entries(JOB)[-2].data["read"]
    assert {name: json.loads(read["settings"][name]) for name in setting} == setting
    assert read["version"]
    answered(docket, "choices:1")
    assert keys(docket) == []


def test_choices_that_are_stricter_than_usual_are_no_reason(tmp_path):
    docket = begun(tmp_path)
    strict = {"query_certainty": 0.01, "fault_certainty": 0.3, "enforced": "point-space"}
    pull(docket, faults=False, more=lambda report: report["made"]["settings"].update(strict))
    assert laxness(docket.job(JOB).proof) == []


def test_a_report_that_does_not_say_its_choices_is_not_taken_to_have_the_usual(tmp_path):
    docket = begun(tmp_path)
    pull(docket, faults=False, more=lambda report: report["made"]["settings"].clear())
    assert "less sure than what let go" in laxness(docket.job(JOB).proof)[1]
    assert "is not said" in laxness(docket.job(JOB).proof)[1]


def test_reasons_name_a_setting_in_brackets_alone_and_what_is_answered_for_stays(tmp_path):
    """The facts have the wording they had in older records, so that answers given hold on."""
    docket = begun(tmp_path)
    changed = {"query_certainty": 0.4, "allowed": "division-run", "second_look": False}
    pull(docket, faults=False, more=lambda report: report["made"]["settings"].update(changed))
    proof = docket.job(JOB).proof
    for words in laxness(proof):
        assert "_" not in re.sub(r"\([a-z_]+\)$", "", words), words
    assert lax_choices(proof) == [
        "query_certainty 0.4 (usual 0.02)", "without the second look",
        "allowing division-run",
    ]  # fmt: skip
    (reason,) = unproved_reasons(docket.job(JOB))
    facts = {"scans": list(proof.hashes), "report": proof.report_sha256}
    assert reason.facts == facts_of("choices", {**facts, "lax": lax_choices(proof)})


def test_a_report_taken_in_is_said_to_be_and_bars_the_press(tmp_path):
    docket = begun(tmp_path)
    report = report_on(docket, faults=False)
    taken = ProofTaken(report, (Original("proof.png", b"first"),))
    pull_proof(docket, JOB, taken, by="B.A.")
    ok(docket)
    assert keys(docket) == ["taken-in:1"]
    assert "taken in, not read here" in job_text(docket.job(JOB), docket.shop)
    answered(docket, "taken-in:1")
    assert keys(docket) == []


def test_ink_that_was_not_read_bars_the_press(tmp_path):
    docket = begun(tmp_path)

    def unread(report):
        report["verdict"] = "not-wholly-read"
        report["unread"] = [{"scan": 0, "box": [0, 0, 9, 9], "words": "40 × 12 mm at the foot"}]

    pull(docket, faults=False, more=unread)
    ok(docket)
    answer = clear_for_press(docket, JOB)
    assert [reason.key for reason in answer.reasons] == ["unread:1"]
    assert "40 × 12 mm at the foot" in answer.reasons[0].words
    answered(docket, "unread:1", reason="it is the cut, looked at")
    assert keys(docket) == []


def test_ink_that_was_not_read_bars_it_though_the_sheet_was_read_unfit(tmp_path):
    docket = begun(tmp_path)

    def unread(report):
        report["unread"] = [{"scan": 0, "box": [0, 0, 9, 9], "words": "9 × 9 mm at the head"}]
        report["made"]["settings"]["unfit"] = True

    pull(docket, faults=False, more=unread)
    ok(docket)
    assert keys(docket) == ["choices:1", "unread:1"]


def test_queries_alone_bar_the_press_till_settled(tmp_path):
    docket = begun(tmp_path)

    def queries(report):
        report["verdict"] = "queries"
        report["faults"] = report["faults"][3:]
        report["counts"] = {"faults": 0, "queries": 1}

    pull(docket, more=queries)
    decide_all(docket, "query")
    ok(docket)
    assert keys(docket) == ["query:1/F4"]


def test_a_proof_recorded_before_it_was_said_how_it_was_read_asks_a_person(tmp_path):
    docket = begun(tmp_path)
    entry = pull(docket, faults=False)
    old = {key: held for key, held in entry.data.items() if key != "read"}
    old["scans"] = [{"sha256": Original("x", b"old").reference()["sha256"], "page": 0}]
    report = Original("report.json", json.dumps(report_on(docket, scan=b"old", faults=False),
                      sort_keys=True).encode())  # fmt: skip
    old["report"] = report.reference()["sha256"]
    docket.record(JOB, lambda _: Draft("proof", "B.A.", old), [Original("old.png", b"old"), report])
    ok(docket)
    assert verify(docket).troubles == ()
    assert keys(docket) == ["not-said:2"]
    answered(docket, "not-said:2")
    assert keys(docket) == []


# ------------------------------------------------------------------ decided, and when


def test_a_fault_let_stand_after_the_ok_is_named_with_it_and_takes_another(tmp_path):
    docket = begun(tmp_path)
    pull(docket)
    ok(docket)
    with pytest.raises(DocketError, match=r"has given an O.K. on the first proof.*needs a reason"):
        decide_all(docket, "stand")
    decide_all(docket, "stand", note="the house style")
    answer = clear_for_press(docket, JOB)
    assert len(answer.reasons) == 4
    assert answer.reasons[0].key == "decided-after:1/F1@5"
    words = answer.reasons[0].words
    assert "1/1 was let stand by B.A. after the O.K. of the band's secretary" in words
    assert "n to u" in words
    ok(docket)
    assert keys(docket) == []
    # And again, whatever it was decided to be before.
    decide(docket, JOB, "F3", "stand", by="B.A.", note="so after all")
    assert [key.partition("@")[0] for key in keys(docket)] == ["decided-after:1/F3"]
    # What is to be corrected after all is not what he gave his word on either.
    ok(docket)
    decide(docket, JOB, "F3", "correct", by="B.A.", note="not so after all")
    assert "put down to be corrected" in clear_for_press(docket, JOB).reasons[1].words


def test_an_order_in_spite_of_it_does_not_hold_for_the_next_decision(tmp_path):
    docket = begun(tmp_path)
    pull(docket)
    ok(docket)
    decide_all(docket, "stand", note="the house style")
    override(docket, JOB, by="M.K.", reason="the fair is tomorrow")
    assert clear_for_press(docket, JOB).clear
    decide(docket, JOB, "F2", "stand", by="B.A.", note="again")
    assert not clear_for_press(docket, JOB).clear


def test_a_finding_of_the_revise_let_stand_unseen_by_the_customer_takes_his_ok(tmp_path):
    docket = begun(tmp_path)
    pull(docket)
    decide_all(docket)
    ok(docket, "ok-with-corrections")
    moved = {"id": "R1", "kind": "slug-moved", "line": 2, "words": "slug 4 stands here"}
    pull(docket, b"revise", faults=False, revise=shown_made(docket), findings=[moved])
    decide(docket, JOB, "R1", "stand", by="B.A.")
    assert [key.partition("@")[0] for key in keys(docket)] == ["decided-after:2/R1"]


def test_a_fault_never_decided_does_not_go_with_the_next_proof(tmp_path):
    """The same metal pulled again may be read otherwise."""
    docket = begun(tmp_path)
    pull(docket)
    pull(docket, b"second", faults=False)
    ok(docket)
    answer = clear_for_press(docket, JOB)
    assert [reason.key for reason in answer.reasons] == ["left-behind:1"]
    assert "1/1, 1/2, 1/3, 1/4" in answer.reasons[0].words
    answered(docket, "left-behind:1", reason="all four set right before the second pull")
    assert keys(docket) == []


def test_what_the_next_proof_finds_again_at_its_place_is_not_left_behind(tmp_path):
    docket = begun(tmp_path)

    def two_of_four(report):
        report["faults"] = report["faults"][:2]
        report["counts"] = {"faults": 2, "queries": 0}

    pull(docket)
    pull(docket, b"second", more=two_of_four)
    ok(docket)
    words = {reason.key: reason.words for reason in clear_for_press(docket, JOB).reasons}
    assert words["left-behind:1"].endswith("not found again: 1/3, 1/4")
    assert {"undecided:2/F1", "undecided:2/F2"} <= words.keys()
    assert words["undecided:2/F1"].startswith("fault 2/1 is undecided: ")


# ------------------------------------------------------------------ from elsewhere


def test_a_job_from_an_archive_is_no_better_than_the_hand_it_came_from(tmp_path):
    docket = begun(tmp_path)
    pull(docket, faults=False)
    ok(docket)
    archive = export_job(docket, JOB, tmp_path / "job.zip")
    (tmp_path / "there").mkdir()
    there = open_docket(tmp_path / "there" / "docket.db", create=True)
    import_job(there, archive, by="X.Y.")
    answer = clear_for_press(there, JOB)
    assert [reason.key for reason in answer.reasons] == ["archive:1-4"]
    assert "taken in from job.zip by X.Y." in answer.reasons[0].words
    answered(there, "archive:1-4", reason="our own other shop; telephoned")
    assert keys(there) == []
    # What is recorded on there is its own.
    ok(there)
    assert keys(there) == []


def test_an_entry_of_a_kind_not_known_here_bars_the_press_and_the_list_goes_on(tmp_path):
    docket = begun(tmp_path)
    pull(docket, faults=False)
    ok(docket)
    with docket.store.writing() as connection:
        add_entry(connection, JOB, Draft("withdrawn", "P.C.", {}), docket.clock(), "UTC +00:00")
    answer = clear_for_press(docket, JOB)
    assert [reason.key for reason in answer.reasons] == ["record"]
    assert "of a kind not known here" in answer.reasons[0].words
    assert "the record is broken" in list_text(docket.jobs())


# ------------------------------------------------------------------ words and what they rest on


def reason_of(docket, start):
    return next(r for r in clear_for_press(docket, JOB).reasons if r.key.startswith(start))


def test_copy_not_proved_is_named_by_its_lines_its_first_words_and_its_last(tmp_path):
    docket = begun(tmp_path)
    pull(docket, faults=False, more=of_lines(1, 3))
    held = docket.job(JOB)
    reason = reason_of(docket, "not-proved")
    last_two = "\n".join(COPY_LINES[3:5])
    assert reason.words == (
        f"lines 4-5 of the copy not proved: from “{last_two[:30]}” to “{last_two[-30:]}”"
    )
    (span,) = left_out(held)
    assert reason.facts == facts_of(
        "not-proved",
        {"copy": held.copy.sha256, "proofs": [list(held.proof.hashes)], "spans": [list(span)]},
    )
    pull(docket, b"second", faults=False, more=of_lines(1, 4))
    reason = reason_of(docket, "not-proved")
    last = COPY_LINES[4]
    assert reason.key == "not-proved:5"
    assert reason.words == (f"line 5 of the copy not proved: from “{last[:30]}” to “{last[-30:]}”")


@pytest.mark.parametrize(
    ("count", "key", "words"),
    [(4, "not-proved:1,3,5,7", "lines 1, 3, 5, 7 of the copy not proved: from “Line 1 of"),
     (5, "not-proved:5-[0-9a-f]{8}", "lines 1, 3, 5, 7 … of the copy not proved: from “Line 1")],
)  # fmt: skip
def test_of_many_stretches_four_are_named_and_the_rest_is_a_number(tmp_path, count, key, words):
    docket = begun(tmp_path)
    lines = [f"Line {n} of the long programme of the concert" for n in range(1, 13)]
    add_copy(docket, lines)

    starts = [sum(len(line) + 1 for line in lines[:n]) for n in range(12)]

    def every_other(report):
        held = [starts[n] for n in range(12) if n % 2 or n >= 2 * count]
        one = report["lines"][0]
        report["lines"] = [
            {**one, "number": k, "copy": [at, at + len(lines[starts.index(at)])]}
            for k, at in enumerate(held, 1)
        ]
        report["made"]["settings"]["part"] = True

    pull(docket, faults=False, more=every_other)
    reason = reason_of(docket, "not-proved")
    assert re.fullmatch(key, reason.key)
    assert reason.words.startswith(words)


def test_ink_not_read_is_told_with_its_sheet_where_there_are_several():
    unread = {"words": "a stain", "scan": 1}
    assert unread_words(unread, 2) == "a stain of sheet 2"
    assert unread_words(unread, 1) == "a stain"


def test_whoever_answers_says_how_it_was_proved_instead_and_for_what(tmp_path):
    docket = begun(tmp_path)
    pull(docket, faults=False, more=of_lines(1, 3))
    for reason in ("", "  "):
        with pytest.raises(DocketError) as refused:
            answered(docket, "not-proved:4-5", reason=reason)
        assert str(refused.value) == (
            "it needs a reason (how it was proved instead); it stands in the record"
        )
    with pytest.raises(DocketError) as refused:
        answered(docket, "no-ok:1")
    assert str(refused.value) == (
        f"no 'no-ok:1' to answer for in job {JOB}; there is: not-proved:4-5"
    )


def test_a_fault_found_once_is_gone_only_where_it_was_seen_again():
    def found(start, end, status="fault", kind="wrong-letter"):
        return SimpleNamespace(copy=(start, end), status=status, kind=kind)

    one = found(10, 15)
    # Places that touch are one.
    assert _same_place(one, found(15, 20))
    assert _same_place(one, found(5, 10))
    assert not _same_place(one, found(16, 20))
    assert not _same_place(one, found(5, 9))
    # What a revise says of the metal has no place in the copy: its kind tells it.
    lead = found(0, 0, "revise", "lead")
    assert _same_place(lead, found(50, 60, "revise", "lead"))
    assert not _same_place(lead, found(0, 0, "revise", "crooked"))
    assert not _same_place(lead, found(0, 0))
