"""Half-written files that a kill left behind go with the next writing; held ones stay."""

from __future__ import annotations

import os
import signal
import subprocess
import sys

import pytest

from proofcheck.base.leavings import begin_file, clear_leavings
from proofcheck.base.writing import whole_file, write_whole

pytest.importorskip("fcntl")

WRITING = """
import sys
from proofcheck.base.writing import whole_file
with whole_file(sys.argv[1]) as out:
    out.write(b"half")
    out.flush()
    sys.stdout.write("begun\\n")
    sys.stdout.flush()
    sys.stdin.read()
"""


def parts(folder):
    return sorted(path.name for path in folder.iterdir() if path.name.endswith(".part"))


def test_what_a_killed_program_left_is_cleared_by_the_next(tmp_path):
    with subprocess.Popen(
        [sys.executable, "-c", WRITING, str(tmp_path / "a.pdf")],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    ) as writing:
        assert writing.stdout is not None
        assert writing.stdout.readline() == b"begun\n"
        assert len(parts(tmp_path)) == 1
        # While it is being written nobody takes it away.
        assert clear_leavings(tmp_path) == 0
        os.kill(writing.pid, signal.SIGKILL)
        writing.wait()
    assert len(parts(tmp_path)) == 1
    write_whole(tmp_path / "b.pdf", b"whole")
    assert [path.name for path in tmp_path.iterdir()] == ["b.pdf"]


def test_a_file_being_written_outlives_another_writing_in_the_folder(tmp_path):
    with whole_file(tmp_path / "a.pdf") as out:
        out.write(b"first")
        write_whole(tmp_path / "b.pdf", b"second")
        out.write(b" whole")
    assert (tmp_path / "a.pdf").read_bytes() == b"first whole"
    assert parts(tmp_path) == []


def test_only_names_of_our_own_kind_are_leavings(tmp_path):
    for name in (".0123.part", "0123456789abcdef.part", ".0123456789abcdef.part.txt"):
        (tmp_path / name).write_text("somebody's")
    assert clear_leavings(tmp_path) == 0
    (tmp_path / ".0123456789abcdef.part").write_text("ours")
    assert clear_leavings(tmp_path) == 1


def test_a_file_taken_away_before_it_was_locked_is_begun_again(tmp_path, monkeypatch):
    import fcntl

    whole, taken = fcntl.flock, []

    def late(handle, how):
        if not taken:
            taken.append(True)
            for path in tmp_path.iterdir():
                path.unlink()
        return whole(handle, how)

    monkeypatch.setattr(fcntl, "flock", late)
    begun = begin_file(tmp_path)
    assert taken
    assert begun.path.exists()
    begun.handle.close()
    begun.end()
    assert parts(tmp_path) == []
