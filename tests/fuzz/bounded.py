"""Run the command line in a forked process with bounds, and say how it ended.

The libraries are loaded once, in the parent; a case costs a fork, not a start of Python. One
letter reader with a single thread serves all cases that name no other, since threads do not outlive
a fork.
"""

from __future__ import annotations

import contextlib
import gc
import io
import os
import re
import resource
import signal
import sys
import tempfile
import time
import traceback
from dataclasses import dataclass
from pathlib import Path

import cv2
import typer

import proofcheck.cli.program
import proofcheck.stages
from proofcheck.cli.program import app, main
from proofcheck.reading.letter_reader import LetterReader

MOST_SECONDS = 60
MOST_BYTES = 2 * 2**30
SAFETY_BYTES = 8 * 2**30
"""Address space at which a case is stopped for the machine's sake; what counts is what it used."""

_CONTROL = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")


@dataclass(frozen=True)
class Ended:
    """How one run ended."""

    status: int
    """Exit status; minus the signal's number where one ended it."""
    out: str
    err: str
    seconds: float
    """By the clock, less the time it stood ready and other programs had the processor."""
    most_bytes: int

    def troubles(self) -> list[str]:
        """What must not be: a trace, a second line, an odd status, too much time or room."""
        found = []
        lines = self.err.splitlines()
        if self.status not in {0, 1, 2}:
            found.append(f"status {self.status}")
        if "Traceback" in self.err or "unforeseen trouble" in self.err:
            found.append("trace")
        if len(lines) > 1:
            found.append(f"{len(lines)} lines on standard error")
        if self.status == 2 and not lines and not self.out:
            found.append("status 2 and not a word why")
        if _CONTROL.search(self.out + self.err.replace("\n", "")):
            found.append("control characters printed")
        if self.seconds > MOST_SECONDS:
            found.append(f"{self.seconds:.0f} s")
        if self.most_bytes > MOST_BYTES:
            found.append(f"{self.most_bytes / 2**30:.1f} GB")
        return found


def ready(scan: bytes, copy: str) -> None:
    """Load what every case needs, once, with no thread running: by reading a sound proof.

    Args:
        scan: a proof, as the bytes of a picture.
        copy: its copy.
    """
    cv2.setNumThreads(1)
    one = LetterReader(threads=1)
    open_another = proofcheck.stages.open_reader

    def shared(options):
        usual = options.reader == "letters" and not options.weights
        return one if usual else open_another(options)

    proofcheck.stages.open_reader = shared
    # The commands are put together anew at each call of the program; here once for all.
    proofcheck.cli.program.app = typer.main.get_command(app)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "a.png").write_bytes(scan)
        (folder / "a.txt").write_text(copy)
        (folder / "a.toml").write_text("second_look = false\nunfit = true\n")
        files = [str(folder / "a.png"), "--copy", str(folder / "a.txt")]
        with contextlib.redirect_stdout(io.StringIO()):
            status = app(
                ["read", *files, "--settings", str(folder / "a.toml")], standalone_mode=False
            )
    assert status in {0, 1}, "the sound proof was not read"
    gc.freeze()


def run_bounded(arguments: list[str], folder: Path, *, encoding: str = "utf-8") -> Ended:
    """`proofcheck ARGUMENTS` run in `folder`, its output in that encoding."""
    begun = time.monotonic()
    process = os.fork()
    if process == 0:
        _run_and_leave(arguments, folder, encoding)
    status, used, stopped, seconds = _waited_for(process, begun)
    out, err = ((folder / name).read_bytes() for name in ("out", "err"))
    return Ended(
        -signal.SIGALRM if stopped else os.waitstatus_to_exitcode(status),
        out.decode(encoding, "replace"),
        err.decode(encoding, "replace"),
        seconds,
        used.ru_maxrss * 1024,
    )


def _waited_for(process: int, begun: float):
    pause, stood = 0.002, 0.0
    while True:
        stood = max(stood, _stood_ready(process))
        done, status, used = os.wait4(process, os.WNOHANG)
        seconds = time.monotonic() - begun - stood
        if done:
            return status, used, False, seconds
        if seconds > MOST_SECONDS + 5:
            os.killpg(process, signal.SIGKILL)
            _, status, used = os.wait4(process, 0)
            return status, used, True, seconds
        time.sleep(pause)
        pause = min(pause * 1.5, 0.05)


def _stood_ready(process: int) -> float:
    """Seconds a process could have run and was not let, where the kernel says (its sched-stats)."""
    try:
        return int(Path(f"/proc/{process}/schedstat").read_text().split()[1]) / 1e9
    except (OSError, IndexError, ValueError):
        return 0.0


def _run_and_leave(arguments: list[str], folder: Path, encoding: str) -> None:
    status = 70
    try:
        os.setsid()
        resource.setrlimit(resource.RLIMIT_AS, (SAFETY_BYTES, SAFETY_BYTES))
        os.chdir(folder)
        for name, place in (("out", 1), ("err", 2)):
            held = os.open(name, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
            os.dup2(held, place)
            stream = os.fdopen(place, "w", encoding=encoding, closefd=False)
            setattr(sys, f"std{name}", stream)
        sys.stdin = io.TextIOWrapper(io.BytesIO())
        sys.argv = ["proofcheck", *arguments]
        main()
    except SystemExit as left:
        status = left.code if isinstance(left.code, int) else 0 if left.code is None else 1
    except BaseException:  # noqa: BLE001 - a trace here is what is looked for
        traceback.print_exc()
    finally:
        for stream in (sys.stdout, sys.stderr):
            try:
                stream.flush()
            except (OSError, ValueError):
                status = 70
        os._exit(status)
