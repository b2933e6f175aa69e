"""The desk where two decide differently, and after the O.K.: shown, settled, with a reason."""

from __future__ import annotations

import json

import pytest
from desk_cases import JOB, served, with_proof
from docket_cases import decide_all, ok, quick_folder
from test_desk import asked, right, told

from proofcheck.docket.against import reasons_against


@pytest.fixture
def desk():
    with quick_folder() as folder:
        docket = with_proof(folder)
        with served(docket) as address:
            host = address.removeprefix("http://")
            said = iter(range(99))

            def say(what, by, **more):
                words = {"job": JOB, "proof": 1, "fault": "F1", "what": what, "note": "",
                         "charge": "", "by": by, "said": str(next(said)), **more}  # fmt: skip
                status, _, body = asked(host, "POST", "/decide", told(words), right(host))
                return status, json.loads(body)

            yield docket, say, lambda path: asked(host, "GET", path)[2]


def test_both_stand_at_the_desk_till_one_settles_it_in_sight_of_both(desk) -> None:
    docket, say, page = desk
    first = say("correct", "A.A.")[1]["row"]
    assert (first["sides"], first["wanting"]) == ([], "")
    second = say("stand", "B.B.")[1]["row"]
    assert second["sides"] == [{"by": "A.A.", "what": "correct"}, {"by": "B.B.", "what": "stand"}]
    assert "in two ways, to be settled" in second["said"]
    assert any(r.key == "disputed:1/F1" for r in reasons_against(docket.job(JOB)))
    assert "not settled: 1/1." in page(f"/hands?job={JOB}&proof=1&list=stone")
    assert second["seen"] == docket.entries(JOB)[-1].place
    status, body = say("correct", "C.C.", settles=1, saw=second["seen"])
    assert (status, "needs a reason" in body["trouble"]) == (400, True)
    status, body = say("correct", "C.C.", settles=1, saw=first["seen"], note="by the glass")
    assert (status, "decided by B.B. meanwhile" in body["trouble"]) == (400, True)
    for wrong in ({"settles": 1}, {"settles": 1, "saw": -1}, {"settles": "yes"}):
        assert say("correct", "C.C.", note="by the glass", **wrong)[0] == 400
    assert docket.job(JOB).disputed
    status, body = say("correct", "C.C.", settles=1, saw=second["seen"], note="by the glass")
    assert (status, body["row"]["sides"]) == (200, [])
    assert docket.job(JOB).disputed == ()
    assert "not settled" not in page(f"/hands?job={JOB}&proof=1&list=stone")
    assert docket.entries(JOB)[-1].data["settles"] is True


def test_after_the_o_k_the_page_is_told_that_a_reason_is_wanted(desk) -> None:
    docket, say, _ = desk
    decide_all(docket, "stand")
    ok(docket)
    status, body = say("correct", "B.A.")
    assert (status, "needs a reason" in body["trouble"]) == (400, True)
    row = say("correct", "B.A.", note="seen by the foreman")[1]["row"]
    assert "has given an O.K. on the first proof; a decision after it" in row["wanting"]
