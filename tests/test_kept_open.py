"""The docket's file kept open over a run of decisions: nothing is lost by it, and it is let go."""

from __future__ import annotations

import asyncio

import pytest
from docket_cases import JOB, begun, child, decide_all, pull, quick_folder

from proofcheck.desk.news import News
from proofcheck.docket import decide, open_docket, verify
from proofcheck.docket.kept_open import KeptOpen


@pytest.fixture
def docket():
    with quick_folder() as folder:
        held = begun(folder)
        pull(held)
        yield held


def log_of(docket):
    return docket.originals.folder.parent / "docket.db-wal"


def test_the_log_is_written_into_the_file_when_it_is_let_go(docket) -> None:
    kept = KeptOpen(docket.store)
    kept.use()
    decide_all(docket)
    assert log_of(docket).stat().st_size > 0
    assert not kept.quiet(60.0)
    assert kept.quiet(0.0)
    kept.let_go()
    assert not log_of(docket).exists()
    kept.let_go()
    kept.use()
    kept.let_go()
    assert verify(docket).troubles == ()


def record_and_die(place, told):
    import os

    docket = open_docket(place)
    KeptOpen(docket.store).use()
    decide(docket, JOB, "1", "correct", by="B.A.")
    told.send("done")
    os._exit(9)


def test_what_was_recorded_while_it_was_kept_open_outlives_a_kill(docket) -> None:
    assert child(record_and_die, docket.store.place) == ["done"]
    assert docket.job(JOB).at("1/F1").decision.what == "correct"
    assert verify(docket).troubles == ()


def test_the_desk_lets_it_go_when_the_reader_pauses(docket, monkeypatch) -> None:
    monkeypatch.setattr("proofcheck.desk.news._PAUSE_S", 0.05)
    news = News(docket)
    news.kept.use()
    decide(docket, JOB, "1", "correct", by="B.A.")
    assert log_of(docket).exists()

    async def watched():
        watching = asyncio.create_task(news.watch())
        await asyncio.sleep(1.0)
        watching.cancel()

    asyncio.run(watched())
    assert not log_of(docket).exists()
