"""Anchors outside the file: what was done to a docket, and by what it is told."""

from __future__ import annotations

import base64
import json
import shutil
import sqlite3
from datetime import timedelta

import pytest
from docket_cases import JOB, Clock, add_copy, begun, decide_all, ok, pull, quick_folder
from docket_cases import START as CLOCK
from report_cases import COPY_LINES

from proofcheck.docket import clear_for_press, open_docket, open_job, verify
from proofcheck.docket.canonical import canonical, sha256_of
from proofcheck.docket.checkpoint import anchor_of, anchor_text
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.given import noted_link
from proofcheck.docket.history_page import job_html
from proofcheck.docket.schema import START, link
from proofcheck.docket.show import job_text


@pytest.fixture
def tmp_path():
    with quick_folder() as folder:
        yield folder


def signed(folder):
    """A docket with a job signed and another opened, and its anchor."""
    folder.mkdir(exist_ok=True)
    # Each begun at a moment of its own, as dockets are.
    docket = begun(folder, clock=Clock(CLOCK + timedelta(days=len(folder.name))))
    pull(docket)
    decide_all(docket, "stand")
    ok(docket)
    open_job(docket, folder.name, {}, by="P.C.")
    return docket, docket.anchor()


def rewritten(path, bodies):
    """The file with just these entries, every hash, both chains and the last link worked out."""
    held = sqlite3.connect(path)
    held.execute("DELETE FROM docket_entries")
    last, book = {}, START
    for number, entry in enumerate(bodies, 1):
        place, before = last.get(entry["job"], (0, START))
        body = canonical({**entry, "place": place + 1, "before": before})
        book = link(book, number, sha256_of(body))
        last[entry["job"]] = place + 1, sha256_of(body)
        held.execute(
            "INSERT INTO docket_entries VALUES (?, ?, ?, ?, ?, ?)",
            (number, entry["job"], place + 1, body, sha256_of(body), book),
        )
    held.execute("UPDATE docket_head SET number = ?, book = ?", (len(bodies), book))
    held.commit()
    held.close()


def bodies_of(docket):
    return [json.loads(entry.body) for entry in docket.entries()]


def put_back(docket, folder):
    """An older copy of the file, taken before the copy was changed, laid in its place."""
    path = folder / "docket.db"
    entries = bodies_of(docket)
    rewritten(path, entries[:-1])


def swapped(docket, folder):
    other, _ = signed(folder / "other")
    for _ in range(3):
        add_copy(other, [*COPY_LINES, f"Copy {len(other.entries())}"])
    shutil.copy(folder / "other" / "docket.db", folder / "docket.db")


def spliced(docket, folder):
    """Entries of another docket's job put in among those of this one, and the chain mended."""
    other, _ = signed(folder / "other")
    entries = bodies_of(docket)
    entries[2:2] = [e for e in bodies_of(other) if e["job"] == "other"]
    rewritten(folder / "docket.db", entries)


def made_anew(docket, folder):
    entries = bodies_of(docket)
    entries[2]["data"]["verdict"] = "clean"
    entries[2]["data"]["found"] = []
    rewritten(folder / "docket.db", [e for e in entries if e["kind"] != "decided"])


_TOLD = {
    put_back: ("ends at", "an older copy was put back"),
    swapped: ("another docket", "it was swapped"),
    spliced: ("others spliced in",),
    made_anew: ("went on to entry",),
}


@pytest.mark.parametrize("done", list(_TOLD))
def test_what_was_done_to_it_is_told_by_what_was_noted(tmp_path, done):
    docket, anchor = signed(tmp_path)
    done(docket, tmp_path)
    # Whoever did it has cleared away what lies beside it as well.
    docket.heads.path.unlink()
    docket.heads.path.with_suffix(".snapshot").unlink(missing_ok=True)
    noted = anchor_of(anchor)
    told = " ".join(verify(open_docket(tmp_path / "docket.db"), noted=noted).troubles)
    assert "by what was noted outside" in told
    assert all(words in told for words in _TOLD[done]), told
    answer = clear_for_press(open_docket(tmp_path / "docket.db"), JOB, noted=noted)
    assert not answer.clear


@pytest.mark.parametrize("done", list(_TOLD))
def test_and_by_the_list_of_links_where_that_is_left(tmp_path, done):
    docket, _ = signed(tmp_path)
    assert verify(docket).troubles == ()
    done(docket, tmp_path)
    told = " ".join(verify(docket).troubles)
    assert "by the list of links beside it" in told
    assert not clear_for_press(docket, JOB).clear


def test_an_anchor_holds_for_all_that_is_recorded_after(tmp_path):
    docket, anchor = signed(tmp_path)
    add_copy(docket, [*COPY_LINES, "Should it rain, the concert is off."])
    assert verify(docket, noted=anchor_of(anchor)).troubles == ()


def test_an_anchor_is_three_lines_and_read_in_any_way_a_person_hands_it_in(tmp_path):
    docket, anchor = signed(tmp_path)
    origin, number, root = anchor.splitlines()
    first, last = docket.entries()[0], verify(docket)
    assert origin == f"docket-{first.sha256[:16]}"
    assert (number, base64.b64decode(root).hex()) == (str(last.number), last.book)
    assert last.anchor == anchor == anchor_text(origin, last.number, last.book)
    path = tmp_path / "noted.txt"
    path.write_text(anchor)
    wanted = (last.number, last.book, origin)
    for text in (anchor, " ".join(anchor.split()), str(path), f"\r\n{anchor}\r\n"):
        assert tuple(noted_link(text)) == wanted
    assert tuple(noted_link(f"{last.number}:{last.book}")) == (last.number, last.book, "")
    assert noted_link("") is None
    for wrong in ("x", "7", f"{origin} 7", f"{origin} x {root}", f"{origin} 7 {root[:-2]}",
                  f"docket-x 7 {root}", "9" * 400, "\0"):  # fmt: skip
        with pytest.raises(DocketError, match="no link"):
            noted_link(wrong)


def test_the_anchor_stands_on_the_job_sheet_in_text_and_as_a_page(tmp_path):
    docket, anchor = signed(tmp_path)
    job = docket.job(JOB)
    assert all(line in job_text(job, docket.shop, anchor=anchor) for line in anchor.splitlines())
    assert anchor.splitlines()[0] in job_html(job, docket.shop, anchor=anchor)
    assert "stands at" not in job_text(job, docket.shop)
