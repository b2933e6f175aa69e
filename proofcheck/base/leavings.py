"""Files begun and not finished: held while they are written, cleared away where nobody holds them.

A program that is killed leaves its half-written file. Whether one is still being written is told by
a lock on it, which the system lets go with the program, however it ends.
"""

from __future__ import annotations

import contextlib
import os
import re
import secrets
from dataclasses import dataclass
from typing import TYPE_CHECKING, BinaryIO

try:
    import fcntl
except ImportError:  # Windows: no such locks; nothing is cleared away there
    fcntl = None  # type: ignore[assignment]

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["Begun", "begin_file", "clear_leavings"]

_NAME = re.compile(r"\.[0-9a-f]{16}\.part")
_MOST_TRIES = 100


@dataclass(frozen=True, slots=True)
class Begun:
    """A file begun under a name of its own."""

    path: Path
    handle: BinaryIO
    lock: int
    """Descriptor that holds the lock when the handle is closed; -1 for none."""

    def end(self) -> None:
        """Remove the name, if it is still there, and let go of the lock."""
        with contextlib.suppress(OSError):
            self.path.unlink(missing_ok=True)
        if self.lock >= 0:
            with contextlib.suppress(OSError):
                os.close(self.lock)


def begin_file(folder: Path) -> Begun:
    """Begin a file in the folder. Raises OSError where none can be made there."""
    for _ in range(_MOST_TRIES):
        path = folder / f".{secrets.token_hex(8)}.part"
        handle = path.open("xb")
        lock = -1
        if fcntl is not None:
            with contextlib.suppress(OSError):  # some file systems know no locks
                fcntl.flock(handle, fcntl.LOCK_EX)
                lock = os.dup(handle.fileno())
            # Between making it and locking it another program may have taken it for a leaving.
            if not _is_same(path, handle):
                handle.close()
                Begun(path, handle, lock).end()
                continue
        return Begun(path, handle, lock)
    msg = f"no file stays where it is made in {folder}"
    raise OSError(msg)


def clear_leavings(folder: Path) -> int:
    """Remove the half-written files that nobody holds; how many there were."""
    if fcntl is None:
        return 0
    cleared = 0
    with contextlib.suppress(OSError):
        for path in folder.iterdir():
            if _NAME.fullmatch(path.name) and _cleared(path):
                cleared += 1
    return cleared


def _cleared(path: Path) -> bool:
    try:
        with path.open("rb") as handle:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            path.unlink(missing_ok=True)
    except OSError:  # held, or another's
        return False
    return True


def _is_same(path: Path, handle: BinaryIO) -> bool:
    try:
        named, held = path.stat(), os.fstat(handle.fileno())
    except OSError:
        return False
    return (named.st_dev, named.st_ino) == (held.st_dev, held.st_ino)
