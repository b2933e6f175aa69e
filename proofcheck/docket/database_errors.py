"""Turning what a database says went wrong into one clear line each."""

from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import contextmanager
from typing import TYPE_CHECKING

import sqlalchemy as sa

from proofcheck.base.visible import visible
from proofcheck.docket.docket_errors import DocketBusyError, DocketError, RecordBrokenError

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["NOT_OPENED", "READ_ONLY", "REFUSED", "clear_errors", "is_busy"]

_BUSY = ("database is locked", "lock timeout", "LockNotAvailable", "database table is locked")
_FULL = ("disk is full", "No space left", "DiskFull")
READ_ONLY = ("readonly database", "read-only", "ReadOnlySqlTransaction")
"""Signs of a file that may not be written to."""
_ROOM = 1 << 16
"""Bytes without which SQLite can't open its log, nor say that the disk is full."""
REFUSED = ("disk I/O error", "could not write", "could not extend", "could not fsync")
"""Signs of a disk that does not do as it is told."""
_BROKEN = ("malformed", "not a database", "file is encrypted")
NOT_OPENED = ("unable to open", "could not connect", "connection failed", "Connection refused")
"""Signs of a database that can't be got at."""


def is_busy(error: sa.exc.DBAPIError) -> bool:
    """Whether somebody else is recording."""
    return any(sign in str(error.orig) for sign in _BUSY)


@contextmanager
def clear_errors(place: str) -> Iterator[None]:
    """Raise a DocketError, in one line, for whatever the database says within the block.

    Args:
        place: how the docket is named to a person.
    """
    try:
        yield
    except sa.exc.DBAPIError as error:
        raise _explained(place, str(error.orig)) from error
    except sqlite3.Error as error:
        raise _explained(place, str(error)) from error
    except UnicodeDecodeError as error:
        # What the library has to say of a damaged text has the damage in it.
        raise _explained(place, f"malformed text ({error.reason})") from error


def _no_room(place: str) -> bool:
    """Whether the disk of a file that may be written to is full, whatever the error says."""
    try:
        return os.access(place, os.W_OK) and shutil.disk_usage(place).free < _ROOM
    except OSError:
        return False


def _explained(place: str, said: str) -> DocketError:
    words = " ".join(said.split())
    if any(sign in words for sign in (*READ_ONLY, *REFUSED)) and _no_room(place):
        words = f"{_FULL[0]}; {words}"
    kinds: list[tuple[tuple[str, ...], type[DocketError], str]] = [
        (_BUSY, DocketBusyError, "others are recording in it; nothing was recorded, try again"),
        (_FULL, DocketError, "the disk is full; nothing was recorded, make room and try again"),
        (READ_ONLY, DocketError, "it may not be written to; nothing was recorded"),
        (
            REFUSED,
            DocketError,
            f"the disk refused it ({words}); nothing was recorded, see to its room and limits",
        ),
        (_BROKEN, RecordBrokenError, f"its file is damaged ({words}); go back to a kept copy"),
        (NOT_OPENED, DocketError, f"it can't be opened ({words}); check the path and its folder"),
    ]
    for signs, kind, meaning in kinds:
        if any(sign in words for sign in signs):
            return kind(f"the docket {place}: {meaning}")
    return DocketError(f"the docket {place} can't be used ({visible(words)})")
