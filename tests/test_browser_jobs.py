"""Jobs that a browser sets: the copy their source holds, and the faults put into it.

The browser itself is not wanted here. That a block ends a line, and that the cells of a row are
given with a tab between them, is how `innerText` has it (HTML Living Standard; from memory).
"""

from __future__ import annotations

import re
from itertools import pairwise

import pytest
from benchmark.browserset import JOBS, ROLES
from benchmark.markedup import read_markup
from benchmark.misset import APART, missaid, misset

FILES = sorted(JOBS.glob("*.html"))
SORTS = ("turned", "wrong-fount")


def job_of(body, kind="card"):
    return read_markup(f'<main data-kind="{kind}">{body}</main>')


@pytest.mark.parametrize(
    ("body", "copy"),
    [
        ("<p>One\n  line</p><p>and another</p>", "One line\nand another"),
        ("<p>broken<br>here, <i>in italic</i></p>", "broken\nhere, in italic"),
        ("<table><tr><td>Tea</td><td>1s. 6d.</td></tr><tr><td>Bun</td></tr></table>",
         "Tea\t1s. 6d.\nBun"),
        ("<p>Salt &amp; Co.&nbsp;at 3&#8211;5</p>", "Salt & Co. at 3–5"),
        ("<p>long&shy;word</p><p data-not-copy>* <b>*</b> *</p><p>end</p>", "longword\nend"),
        ("<style>p{color:red}</style><p>seen</p>", "seen"),
    ],
)  # fmt: skip
def test_the_copy_is_what_a_customer_would_have_typed(body, copy):
    job = job_of(body)
    assert (job.kind, job.copy) == ("card", copy)
    for char, (start, end) in zip(job.copy, job.places, strict=True):
        raw = job.source[start:end]
        assert raw == char if char.isascii() and char not in "& \t\n" else raw


@pytest.mark.parametrize("source", ["", "<p>words</p>", '<main data-kind="card"></main>'])
def test_a_source_without_a_kind_or_words_is_refused(source):
    with pytest.raises(ValueError, match="data-kind"):
        read_markup(source)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_each_job_has_faults_where_it_says_so_and_nowhere_else(path):
    job = read_markup(path.read_text(encoding="utf-8"))
    for seed in range(3):
        faults = misset(job, seed)
        assert len(faults) >= 2
        starts = [fault.start for fault in faults]
        assert all(b - a >= APART for a, b in pairwise(starts))
        wanted = job.copy
        for fault in reversed(faults):
            assert job.copy[fault.start : fault.end] == fault.wanted
            printed = fault.wanted if fault.kind in SORTS else fault.printed
            assert fault.kind in SORTS or printed != fault.wanted
            wanted = wanted[: fault.start] + printed + wanted[fault.end :]
        assert read_markup(missaid(job, faults)).copy == wanted


def test_the_jobs_are_many_and_ask_for_no_face_that_is_not_there():
    assert len(FILES) > 50
    kinds = {read_markup(path.read_text(encoding="utf-8")).kind for path in FILES}
    assert {"card", "table", "form", "columns", "multi", "sideways"} <= kinds
    assert "text" in ROLES
    # What begins with a `#` is drawn in the sheet itself: nothing is fetched for it.
    fetched = re.compile(r"url\((?!#)|\bhref=(?!.#)|\bsrc=|@import", re.IGNORECASE)
    assert [p.stem for p in FILES if fetched.search(p.read_text(encoding="utf-8"))] == []
