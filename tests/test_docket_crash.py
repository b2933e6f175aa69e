"""The record killed, crowded and tampered with: a little of what the benchmark does."""

from __future__ import annotations

import sys

import pytest
from benchmark.crash import crowd, flips_missed, kills_survived

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="needs processes that fork")


@pytest.mark.slow
def test_killed_at_any_moment_nothing_acknowledged_is_lost():
    told = kills_survived(6, seed=3)
    assert told["lost"] == told["broken"] == 0
    assert told["acknowledged"] > 0


@pytest.mark.slow
def test_many_record_at_once_and_all_is_there():
    told = crowd(20, 60)
    assert (told["recorded"], told["troubles"]) == (60, 0)


def test_a_byte_flipped_is_found():
    assert set(flips_missed(60, seed=3).values()) == {0}
