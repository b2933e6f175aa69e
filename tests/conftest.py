"""Shared fixtures. pytest puts this folder on the path, so tests import `typesetter` as it is."""

from __future__ import annotations

import ctypes
import gc
import os

# The suite runs beside other work: one thread a process keeps its times steady. Two that wait for
# each other took twice the processor's time of one. It has to be said before numpy is loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# Nor may it hang on how wide the window is, which pytest-xdist tells its processes.
os.environ.pop("COLUMNS", None)

import cv2
import pytest
from hypothesis import settings
from typesetter import Head, Para, Proof, Rule, compose, print_proof

cv2.setNumThreads(1)
# How long an example takes hangs on what runs beside it; speed is measured in the benchmarks.
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")


def _keep_memory() -> None:
    """Large pictures come and go by the thousand: what is freed stays with the process.

    By default glibc hands every block over 128 KiB back at once (mallopt(3)), and the system
    clears it anew page by page: two fifths of the processor's time of some tests.
    """
    trim, top_pad, mmap = -1, -2, -3  # malloc.h: M_TRIM_THRESHOLD, M_TOP_PAD, M_MMAP_THRESHOLD
    try:
        mallopt = ctypes.CDLL(None).mallopt
    except (AttributeError, OSError, TypeError):
        return  # Another library of C than glibc, or another system.
    mallopt(mmap, 1 << 30)
    mallopt(trim, 1 << 29)
    mallopt(top_pad, 1 << 26)


_keep_memory()

MOST_WORKERS = 8
"""Each holds a gigabyte or a little more: pictures, a reader, now and then a browser."""
SEVERAL_FILES = 4


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """How many processes share the tests where nobody says (`-n 2` says, `-n 0` is none).

    The whole suite has one for each processor that may be used. A file or a few are run right here:
    making workers ready takes longer than they save, and a debugger can be used.
    """
    named = [arg for arg in config.args if arg.split("::")[0].endswith(".py")]
    if 0 < len(named) < SEVERAL_FILES and len(named) == len(config.args):
        return 0
    able = getattr(os, "sched_getaffinity", None)
    return min(len(able(0)) if able else os.cpu_count() or 1, MOST_WORKERS)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Files with what takes long come first, so that none of it runs alone when all else is done.

    Whole files, since what a file makes once for all its tests is made once a process then.
    """
    slow = {item.path for item in items if item.get_closest_marker("slow")}
    items.sort(key=lambda item: item.path not in slow)


@pytest.hookimpl(trylast=True)
def pytest_collection_finish() -> None:
    """What has been loaded by now stays: the collector of cycles need not look through it again.

    All there is to let go is let go first. A collection that a test asks for, as those do that
    serve a desk, took a fifth of a second with all test files loaded.
    """
    gc.collect()
    gc.freeze()


NOTICE = (
    (
        "The band was first gathered in the winter when the mill stood still, and the office of "
        "bandmaster fell to the blacksmith, who could not read a note but had a fine sense of "
        "pitch; the effect, on a difficult affair of fifty flutes, was efficient and soft. Those"
        " who remember say that the first practice lasted until the candles failed, and that "
        "nobody went home."
    ),
    "Programmes may be had at the gate for 2½d. each, or of Mr. Pender at the forge.",
)


@pytest.fixture(scope="session")
def notice_forme():
    """A short notice in set lines: a head, a rule, a justified paragraph, a short one."""
    blocks = [Head("A BAND IS FORMED", 14, letterspace_pt=1.0), Rule(width_pt=90)]
    return compose([*blocks, *(Para(text) for text in NOTICE)], measure_picas=22)


@pytest.fixture(scope="session")
def notice_proof(notice_forme) -> Proof:
    """A perfect impression of the notice at 300 dpi."""
    return print_proof(notice_forme)
