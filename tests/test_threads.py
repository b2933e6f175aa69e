"""The last digits of a report do not hang on how many cores the machine has."""

from test_cli import NOTICE, NOTICE_COPY
from threadpoolctl import threadpool_info

import proofcheck.check
from proofcheck import Options, check_proof
from proofcheck.results.report_json import report_text

QUICK = Options(second_look=False)


def blas():
    """Threads of each library of linear algebra that is loaded."""
    return [each["num_threads"] for each in threadpool_info() if each["user_api"] == "blas"]


def test_a_proof_is_read_on_one_thread_of_linear_algebra_and_then_left_as_it_was(monkeypatch):
    seen, before = [], blas()
    own = proofcheck.check.weigh_up

    def looked(proof, work):
        seen.extend(blas())
        return own(proof, work)

    monkeypatch.setattr(proofcheck.check, "weigh_up", looked)
    check_proof(NOTICE, NOTICE_COPY, options=QUICK)
    assert seen
    assert set(seen) == {1}
    assert blas() == before


def test_the_report_is_the_same_byte_for_byte_with_more_threads():
    from threadpoolctl import threadpool_limits

    texts = []
    for count in (1, 4):
        with threadpool_limits(count, user_api="blas"):
            texts.append(report_text(check_proof(NOTICE, NOTICE_COPY, options=QUICK)))
    assert texts[0] == texts[1]
