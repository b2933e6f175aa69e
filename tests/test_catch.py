"""Whatever happens to a run is one line and a status.

130 for a program stopped by Ctrl-C is 128 + SIGINT, as POSIX shells give it (POSIX.1-2017, Shell
Command Language 2.8.2, from memory); 2 is trouble, as with diff.
"""

from __future__ import annotations

import errno
import io
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest
from PIL import Image

import proofcheck
from proofcheck.base.errors import ScanError
from proofcheck.cli import program as cli
from proofcheck.cli import start
from proofcheck.cli.catch import caught, without_debug
from proofcheck.results.marked.own_pictures import open_own
from tests.test_cli import NOTICE, NOTICE_COPY, run


class Stream(io.TextIOWrapper):
    """A text stream in an encoding, whose bytes may fail to go out."""

    def __init__(self, encoding: str = "utf-8", failure: OSError | None = None) -> None:
        self.failure = failure
        super().__init__(io.BytesIO(), encoding=encoding)

    def flush(self) -> None:
        if self.failure is not None:
            raise self.failure
        super().flush()

    def shown(self) -> str:
        super().flush()
        return self.buffer.getvalue().decode(self.encoding)


@pytest.fixture
def streams(monkeypatch):
    """Standard output and error, in a given encoding."""

    def give(encoding: str = "utf-8", failure: OSError | None = None) -> tuple[Stream, Stream]:
        out, err = Stream(encoding, failure), Stream(encoding)
        monkeypatch.setattr(sys, "stdout", out)
        monkeypatch.setattr(sys, "stderr", err)
        return out, err

    return give


def raising(error: BaseException):
    def run_it() -> None:
        raise error

    return run_it


def test_an_unforeseen_trouble_is_one_line_that_names_a_file_with_the_trace(
    streams, tmp_path, monkeypatch
):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    _, err = streams()
    assert caught(raising(ZeroDivisionError("by\nnought"))) == 2
    (line,) = err.shown().splitlines()
    (kept,) = tmp_path.iterdir()
    assert str(kept) in line
    assert "ZeroDivisionError" in line
    trace = kept.read_text()
    assert "Traceback" in trace
    assert "nought" in trace
    assert trace.startswith("proofcheck ")


def test_debug_shows_the_trace(streams, tmp_path, monkeypatch):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    _, err = streams()
    assert caught(raising(ZeroDivisionError()), debug=True) == 2
    assert "Traceback" in err.shown()
    assert not list(tmp_path.iterdir())


def test_debug_is_taken_wherever_it_stands_but_not_after_a_bare_dash_pair():
    assert without_debug(["read", "--debug", "a"]) == (["read", "a"], True)
    assert without_debug(["read", "--", "--debug"]) == (["read", "--", "--debug"], False)


def test_a_temporary_folder_that_is_full_is_no_second_trouble(streams, tmp_path, monkeypatch):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "none"))
    _, err = streams()
    assert caught(raising(KeyError("x"))) == 2
    assert "--debug" in err.shown()


def test_ctrl_c_is_130_and_silent(streams):
    out, err = streams()
    assert caught(raising(KeyboardInterrupt())) == 130
    assert out.shown() + err.shown() == ""


def test_ctrl_c_while_reading_is_130(streams, monkeypatch):
    streams()
    monkeypatch.setattr("proofcheck.read_job.run_read", lambda *_: raising(KeyboardInterrupt())())
    monkeypatch.setattr(sys, "argv", ["proofcheck", "read", "a.png", "--copy", "a.txt"])
    with pytest.raises(SystemExit) as left:
        cli.main()
    assert left.value.code == 130


@pytest.mark.parametrize(
    ("number", "said"), [(errno.ENOSPC, "the disk is full"), (errno.EPIPE, "")]
)
def test_a_result_that_can_not_be_written_out_is_no_clean_bill(streams, number, said):
    _, err = streams(failure=OSError(number, "no"))
    assert caught(lambda: 0) == 2
    assert said in err.shown()
    assert len(err.shown().splitlines()) == bool(said)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_a_full_device_as_standard_output(monkeypatch):
    err = Stream()
    monkeypatch.setattr(sys, "stderr", err)
    with Path("/dev/full").open("w", encoding="utf-8") as full:
        monkeypatch.setattr(sys, "stdout", full)
        assert caught(lambda: full.write("x") and 0) == 2
    assert "the disk is full" in err.shown()


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp1252", "utf-8"])
def test_everything_can_be_said_in_any_encoding(streams, encoding):
    out, err = streams(encoding)

    def work() -> int:
        sys.stdout.write("₰ ‸ — “a” é \udcff\n")
        raise ScanError("ł.png: no “such” file \ud800\x1b[31m")

    assert caught(work) == 2
    assert out.shown().startswith("dele ^ --" if encoding == "ascii" else "")
    assert ("é" in out.shown()) == (encoding != "ascii")
    assert len(err.shown().splitlines()) == 1
    assert "\x1b" not in err.shown()


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp1252"])
def test_the_table_of_marks_in_any_encoding(streams, monkeypatch, encoding):
    out, err = streams(encoding)
    monkeypatch.setattr(sys, "argv", ["proofcheck", "marks"])
    with pytest.raises(SystemExit) as left:
        cli.main()
    assert left.value.code in {0, None}
    assert "wrong font" in out.shown()
    assert err.shown() == ""


def test_a_stream_that_is_closed_is_no_trouble(monkeypatch):
    monkeypatch.setattr(sys, "stdout", None)
    monkeypatch.setattr(sys, "stderr", None)
    assert caught(lambda: sys.stdout.write("x") and 1) == 1


@pytest.mark.parametrize(
    "arguments",
    [
        ["nothing"],
        ["read"],
        ["read", "a.png"],
        ["read", "a.png", "--copy", "b", "--dpi", "x"],
        ["read", "--nothing"],
        ["docket", "sign", "1", "ok", "--proof", "x"],
    ],
)
def test_a_call_that_is_wrong_is_one_line(arguments):
    done = run(*arguments)
    assert done.returncode == 2
    assert len(done.stderr.splitlines()) == 1
    assert "--help" in done.stderr


def test_names_of_files_are_made_visible(tmp_path):
    folder = tmp_path / "\x1b[31mred\u202e"
    folder.mkdir()
    done = run("read", NOTICE, "--copy", NOTICE_COPY, "--out", folder, "--text-only")
    assert done.returncode == 0
    assert "␛[31mred⟨U+202E⟩" in done.stdout
    assert not set("\x1b\u202e") & set(done.stdout + done.stderr)


def test_ctrl_c_while_the_libraries_load_is_130(monkeypatch):
    stopped = SimpleNamespace(main=raising(KeyboardInterrupt()))
    monkeypatch.setitem(sys.modules, "proofcheck.cli.program", stopped)
    monkeypatch.setattr("proofcheck.cli.program", stopped)
    with pytest.raises(SystemExit) as left:
        start.main()
    assert left.value.code == 130


def test_the_start_is_light():
    asking = "import sys, proofcheck.cli.start; sys.exit(bool({'numpy', 'cv2'} & set(sys.modules)))"
    assert subprocess.run([sys.executable, "-c", asking], check=False).returncode == 0


def test_the_packages_names_are_all_there():
    assert all(getattr(proofcheck, name) is not None for name in proofcheck.__all__)
    with pytest.raises(AttributeError):
        _ = proofcheck.nothing  # type: ignore[attr-defined]


def test_a_picture_of_our_own_may_be_of_any_size(tmp_path, monkeypatch):
    path = tmp_path / "marked.png"
    Image.new("L", (40, 40)).save(path)
    monkeypatch.setattr(Image, "MAX_IMAGE_PIXELS", 100)
    with pytest.raises(Image.DecompressionBombError):
        Image.open(path)
    with open_own(path) as picture:
        assert picture.size == (40, 40)
    assert Image.MAX_IMAGE_PIXELS == 100
