"""The one catch round the command line: whatever happens ends in one line and a status.

A foreseen trouble says its own line. An unforeseen one says that it was not foreseen, and names a
file that holds the trace, to be sent to whoever looks after the program. Output goes out in
whatever encoding the terminal has, and a full disk or a pipe that nobody reads is told, never
taken for a finished result.
"""

from __future__ import annotations

import codecs
import contextlib
import errno
import io
import logging
import os
import platform
import sys
import tempfile
import traceback
import warnings
from typing import TYPE_CHECKING

import typer

from proofcheck.base.errors import ProofcheckError
from proofcheck.base.visible import in_ascii, visible

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

__all__ = ["DEBUG", "INTERRUPTED", "caught", "without_debug"]

DEBUG = "--debug"
"""Show the trace of an unforeseen trouble in place of writing it to a file."""

TROUBLE = 2
INTERRUPTED = 130
"""Status of a program that was stopped by Ctrl-C (128 + SIGINT, as POSIX shells give it)."""

_MISUSED: type[Exception] = typer.BadParameter.__bases__[0].__bases__[0]
"""Base of what the command line's library raises where it was called wrongly. Its own name moves
between versions of the library; that of its child does not."""

_AS_SIGNS = "proofcheck.signs"
_FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}


def without_debug(arguments: Sequence[str]) -> tuple[list[str], bool]:
    """The arguments less `--debug`, wherever it stands before a bare `--`, and whether it did."""
    end = arguments.index("--") if "--" in arguments else len(arguments)
    asked = DEBUG in arguments[:end]
    kept = [word for word in arguments[:end] if word != DEBUG]
    return [*kept, *arguments[end:]], asked


def caught(run: Callable[[], object], *, debug: bool = False) -> int:
    """Run the command line; return its status, 2 and one line on standard error for any trouble.

    Args:
        run: does the work and returns its status, or None for 0.
        debug: show the trace of an unforeseen trouble.
    """
    _settle_streams()
    try:
        status = run()
        sys.stdout.flush()
    except (KeyboardInterrupt, typer.Abort):
        _drop_output()
        return INTERRUPTED
    except BrokenPipeError:
        # Whoever read our output has gone and has not all of it: silent, but no clean bill.
        _drop_output()
        return TROUBLE
    except Exception as error:  # noqa: BLE001 - the one place that answers for everything
        return _told(error, debug=debug)
    return status if isinstance(status, int) else 0


def _told(error: Exception, *, debug: bool) -> int:
    """Say one line on an error; the status it gives."""
    if isinstance(error, ProofcheckError):
        _finish_output()
        _say(str(error))
        return error.exit_status
    if isinstance(error, _MISUSED):
        return _misused(error)
    if isinstance(error, OSError) and error.errno in _FULL and error.filename is None:
        _drop_output()
        _say("the result can't be written out: the disk is full; make room and read again")
        return TROUBLE
    _finish_output()
    if debug:
        with contextlib.suppress(OSError, ValueError):
            traceback.print_exception(error)
    elif isinstance(error, MemoryError):
        _say("not enough memory for this proof; scan it at a lower resolution, or in parts")
    else:
        _say(_unforeseen(error))
    return TROUBLE


def _misused(error: Exception) -> int:
    """An argument that is missing, unknown or wrong; with no argument at all, the help."""
    if type(error).__name__ == "NoArgsIsHelpError":
        error.show()  # type: ignore[attr-defined]
    else:
        words = error.format_message()  # type: ignore[attr-defined]
        _say(f"{words.rstrip('.')}; see --help")
    return TROUBLE


def _unforeseen(error: Exception) -> str:
    kind = type(error).__name__
    try:
        with tempfile.NamedTemporaryFile(
            "w", prefix="proofcheck-trouble-", suffix=".txt", delete=False, encoding="utf-8"
        ) as file:
            file.write(_trace(error))
    except OSError:
        return f"an unforeseen trouble ({kind}), nothing was judged; run it with {DEBUG} to see it"
    return (
        f"an unforeseen trouble ({kind}), nothing was judged; send {file.name} to whoever looks "
        f"after this program, with the files it was given"
    )


def _trace(error: Exception) -> str:
    from proofcheck.results.report import program_version

    system = f"Python {platform.python_version()} on {platform.platform()}"
    trace = "".join(traceback.format_exception(error))
    clean = trace.encode("utf-8", "backslashreplace").decode("utf-8")
    return f"proofcheck {program_version()}, {system}\n\n{clean}"


def _settle_streams() -> None:
    """Let everything be written in any encoding, and keep libraries' own remarks to themselves."""
    codecs.register_error(_AS_SIGNS, _as_signs)
    # A stream that was closed by whoever started the program is none at all.
    sys.stdout = sys.stdout or io.StringIO()
    sys.stderr = sys.stderr or io.StringIO()
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(AttributeError, ValueError, OSError):
            stream.reconfigure(errors=_AS_SIGNS)  # type: ignore[union-attr]
    warnings.showwarning = _unshown
    logging.getLogger("proofcheck").addHandler(logging.NullHandler())
    logging.lastResort = None


def _as_signs(error: UnicodeError) -> tuple[str, int]:
    """What stands for characters that the output's encoding lacks: plain forms or escapes."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return in_ascii(visible(error.object[error.start : error.end])), error.end


def _unshown(*_: object, **__: object) -> None:
    """Show no warning: they are for whoever works on the program."""


def _finish_output() -> None:
    """Send out what was written before the trouble."""
    try:
        sys.stdout.flush()
    except (OSError, ValueError):
        _drop_output()


def _drop_output() -> None:
    """Let what can no longer be written go, so that leaving the program does not fail on it."""
    with contextlib.suppress(OSError, ValueError, AttributeError):
        place = sys.stdout.fileno()
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, place)
        os.close(nowhere)


def _say(message: str) -> None:
    with contextlib.suppress(OSError, ValueError, AttributeError):
        sys.stderr.write(f"proofcheck: {visible(message)}\n")
        sys.stderr.flush()
