"""Whole or not at all; never over another file unless asked; one clear line of trouble."""

import errno
import os
import stat
import tempfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from proofcheck.base import writing
from proofcheck.base.errors import OutputError
from proofcheck.base.visible import in_ascii, visible
from proofcheck.base.writing import check_free, whole_file, write_whole


@pytest.fixture
def plain_user():
    """Work as a user whom folder permissions bind (root passes through them all)."""
    if os.name != "posix" or os.geteuid() != 0:
        yield
        return
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)


@pytest.fixture
def read_only_folder():
    with tempfile.TemporaryDirectory() as folder:
        Path(folder).chmod(0o555)
        yield Path(folder)
        Path(folder).chmod(0o755)


def one_line(error):
    text = str(error.value)
    assert "\n" not in text
    assert text.isprintable()
    return text


def test_writes_bytes_and_text_whole(tmp_path):
    assert write_whole(tmp_path / "a.bin", b"\x00\r\n").read_bytes() == b"\x00\r\n"
    assert write_whole(tmp_path / "b.txt", "½ lb.\n").read_bytes() == "½ lb.\n".encode()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.bin", "b.txt"]


def test_a_taken_name_is_left_alone_unless_asked(tmp_path):
    path = tmp_path / "proof.json"
    path.write_text("old")
    with pytest.raises(OutputError) as error:
        write_whole(path, "new")
    assert "exists already" in one_line(error)
    assert path.read_text() == "old"
    write_whole(path, "new", overwrite=True)
    assert path.read_text() == "new"
    assert list(tmp_path.iterdir()) == [path]


def test_a_name_taken_while_we_write_is_left_alone(tmp_path):
    path = tmp_path / "proof.json"

    def write_late():
        with whole_file(path) as out:
            out.write(b"ours")
            path.write_text("theirs")

    with pytest.raises(OutputError, match="exists already"):
        write_late()
    assert path.read_text() == "theirs"
    assert list(tmp_path.iterdir()) == [path]


def test_without_hard_links_a_name_still_takes_and_still_refuses(tmp_path, monkeypatch):
    def refuse(self, target):
        raise OSError(errno.EPERM, "no links here")

    monkeypatch.setattr(Path, "hardlink_to", refuse)
    path = write_whole(tmp_path / "a", b"1")
    with pytest.raises(OutputError, match="exists already"):
        write_whole(path, b"2")
    assert path.read_bytes() == b"1"


def test_a_block_that_fails_leaves_no_file_and_keeps_the_old_one(tmp_path):
    path = tmp_path / "proof.png"
    path.write_bytes(b"old")

    def write_half():
        with whole_file(path, overwrite=True) as out:
            out.write(b"half")
            raise RuntimeError

    with pytest.raises(RuntimeError):
        write_half()
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_trouble_with_another_file_is_not_called_ours(tmp_path):
    def read_missing():
        with whole_file(tmp_path / "out") as out:
            out.write((tmp_path / "missing").read_bytes())

    with pytest.raises(FileNotFoundError):
        read_missing()
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs the system's always full device")
def test_a_full_disk_is_one_clear_line():
    # /dev/full: "returns the error code ENOSPC on writing", Linux manual page full(4).
    with pytest.raises(OutputError) as error:
        write_whole("/dev/full", b"x" * 100_000)
    assert "the disk is full; make room" in one_line(error)


def test_a_disk_that_fills_while_syncing_leaves_nothing(tmp_path, monkeypatch):
    def full(handle):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(writing.os, "fsync", full)
    with pytest.raises(OutputError, match="the disk is full"):
        write_whole(tmp_path / "a", b"1")
    assert list(tmp_path.iterdir()) == []


def test_a_read_only_folder_is_one_clear_line(read_only_folder, plain_user):
    for act in (lambda p: write_whole(p, b"1"), lambda p: check_free([p])):
        with pytest.raises(OutputError) as error:
            act(read_only_folder / "a.csv")
        assert f"the folder {read_only_folder} may not be written to" in one_line(error)


def test_wrong_places_say_what_to_do(tmp_path):
    (tmp_path / "file").write_text("")
    cases = {
        tmp_path / "none" / "a": "does not exist; make it first",
        tmp_path / "file" / "a": "is not a folder",
        tmp_path: "is a folder; give the name of a file in it",
        tmp_path / ("n" * 300): "the name is too long",
        "": "no file name",
        "a\0b": "no file name",
    }
    for path, words in cases.items():
        with pytest.raises(OutputError) as error:
            write_whole(path, b"")
        assert words in one_line(error)


def test_a_name_with_a_line_end_still_makes_one_line(tmp_path):
    path = tmp_path / "two\nlines\x1b[31m"
    path.write_text("")
    with pytest.raises(OutputError) as error:
        write_whole(path, b"")
    one_line(error)


def test_permissions_follow_the_umask_and_are_kept(tmp_path):
    before = os.umask(0o027)
    try:
        path = write_whole(tmp_path / "a", b"1")
    finally:
        os.umask(before)
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    path.chmod(0o604)
    write_whole(path, b"2", overwrite=True)
    assert stat.S_IMODE(path.stat().st_mode) == 0o604


def test_a_link_is_followed_and_a_pipe_written_to(tmp_path):
    real = write_whole(tmp_path / "real", b"1")
    link = tmp_path / "link"
    link.symlink_to(real)
    write_whole(link, b"2", overwrite=True)
    assert link.is_symlink()
    assert real.read_bytes() == b"2"
    write_whole("/dev/null", b"gone")


def test_names_are_checked_before_the_work(tmp_path):
    (tmp_path / "old").write_text("")
    check_free([tmp_path / "a", tmp_path / "b"])
    check_free([tmp_path / "old"], overwrite=True)
    for paths, words in (
        ([tmp_path / "a", tmp_path / "x" / ".." / "a"], "two results"),
        ([tmp_path / "old"], "exists already"),
        ([tmp_path / "none" / "a"], "does not exist"),
    ):
        with pytest.raises(OutputError, match=words):
            check_free(paths)
    assert [p.name for p in tmp_path.iterdir()] == ["old"]


def test_what_cannot_be_seen_is_shown():
    assert visible("plain £1 æ ½") == "plain £1 æ ½"
    assert visible("a\x1b[31mb\x07\x7f") == "a␛[31mb␇␡"
    assert visible("a\nb\tc\r\u2028") == "a b c  "
    # Unicode Standard Annex 9: the directional overrides and isolates.
    for char in "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f":
        assert visible(f"a{char}b") == f"a⟨U+{ord(char):04X}⟩b"
    for char in "\u00ad\u200b\u200d\ufeff\ufe0f\x80\udc80\ue000":
        assert visible(char) == f"⟨U+{ord(char):04X}⟩"
    assert visible("\u0301a") == "◌\u0301a"
    assert visible("cafe\u0301") == "cafe\u0301"


@given(st.text())
def test_whatever_is_shown_can_be_printed(text):
    assert visible(text).isprintable()
    assert visible(visible(text)) == visible(text)
    assert in_ascii(text).isascii()


def test_ascii_guesses_nothing_away():
    assert in_ascii("‘a’ — b–c…") == "'a' -- b-c..."
    assert in_ascii("é½") == "\\xe9\\xbd"
