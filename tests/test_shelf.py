"""Sheets of a long proof on disk: what was looked at is let go of, and reads the same again."""

import errno
import gc
import mmap
import os
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest

from proofcheck.base.errors import OutputError
from proofcheck.sheet import shelf
from proofcheck.sheet.shelf import looked_at, on_disk

MB = 2**20


def mapped_mb():
    """Files in this process's memory (Linux, proc(5): statm counts them in pages, third)."""
    return int(Path("/proc/self/statm").read_text().split()[2]) * mmap.PAGESIZE / MB


def test_of_two_sheets_on_disk_one_is_in_memory_at_a_time():
    if not Path("/proc/self/statm").exists():
        pytest.skip("this system does not say what is mapped")
    one, two = (on_disk(np.full((40, MB), shade, np.uint8)) for shade in (3, 5))
    before = mapped_mb()
    assert int(looked_at(one).sum(dtype=np.int64)) == 3 * 40 * MB
    assert mapped_mb() > before + 35
    assert int(looked_at(two).sum(dtype=np.int64)) == 5 * 40 * MB
    assert mapped_mb() < before + 45
    assert int(looked_at(one)[7:9].sum(dtype=np.int64)) == 3 * 2 * MB


def test_what_lies_in_memory_or_is_a_part_is_looked_at_as_well():
    held = np.arange(12).reshape(3, 4)
    assert looked_at(held) is held
    part = on_disk(held)[1:]
    assert looked_at(part) is part
    assert looked_at(on_disk(held)).tolist() == held.tolist()
    assert part.tolist() == held[1:].tolist()


def test_a_thousand_arrays_on_disk_leave_few_files_open():
    """A system commonly lets a program have 1,024 files open, some 256 (common practice)."""
    if not Path("/proc/self/fd").exists():
        pytest.skip("this system does not say what is open")
    before = len(list(Path("/proc/self/fd").iterdir()))
    held = [on_disk(np.full((3, 5), shade, np.int32)) for shade in range(1000)]
    assert len(list(Path("/proc/self/fd").iterdir())) < before + 10
    assert [int(looked_at(each)[2, 4]) for each in held] == list(range(1000))
    assert not held[0].flags.writeable
    # An array larger than such a file has one of its own; the file goes with its arrays.
    large = on_disk(np.full((300, MB), 7, np.uint8))
    assert int(large[-1, -1]) == 7
    del held, large
    gc.collect()
    assert len(list(Path("/proc/self/fd").iterdir())) <= before


def test_a_full_disk_is_said(monkeypatch):
    def full(**_):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(shelf.tempfile, "TemporaryFile", full)
    monkeypatch.setattr(shelf, "_rooms", [])
    with pytest.raises(OutputError, match=r"no room for the sheets .*No space left"):
        on_disk(np.ones((2, 2)))


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_a_forked_process_writes_over_nothing():
    if not hasattr(os, "fork"):
        pytest.skip("this system does not fork")
    first = on_disk(np.full((4, 4), 1, np.int32))
    child = os.fork()
    if not child:
        on_disk(np.full((4, 4), 2, np.int32))
        os._exit(0)
    assert os.waitpid(child, 0)[1] == 0
    second = on_disk(np.full((4, 4), 3, np.int32))
    assert (first == 1).all()
    assert (second == 3).all()
    # It put its own into a file of its own, and none where this one's next would lie.
    child = os.fork()
    if not child:
        os._exit(int(shelf._rooms[0]().has_room(1)))
    assert os.waitpid(child, 0)[1] == 0


def test_threads_put_theirs_side_by_side():
    with ThreadPoolExecutor(8) as pool:
        held = list(pool.map(lambda n: on_disk(np.full(5000, n, np.int32)), range(200)))
    assert all((each == n).all() for n, each in enumerate(held))
