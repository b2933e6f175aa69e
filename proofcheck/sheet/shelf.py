"""Keeps memory flat over a long proof: sheets past the first few lie on disk until looked at."""

from __future__ import annotations

import mmap
import os
import tempfile
import threading
import weakref
from dataclasses import replace
from typing import IO, TYPE_CHECKING, NamedTuple, TypeVar

import numpy as np

from proofcheck.base.errors import OutputError

if TYPE_CHECKING:
    from typing import Self

    from numpy.typing import NDArray

    from proofcheck.base.values import Sheet

__all__ = ["SHEETS_IN_MEMORY", "looked_at", "on_disk", "shelve"]

SHEETS_IN_MEMORY = 4
_Number = TypeVar("_Number", bound=np.generic)
_ROOM_BYTES = 256 * 2**20
"""Of a file; one sheet at 300 dpi takes about 8 MB."""


def shelve(sheet: Sheet) -> Sheet:
    """The same sheet with its picture on disk, where it is past the first few of the proof.

    The file has no name and goes when the sheet does. Raises OutputError where the disk is full.
    """
    if sheet.number < SHEETS_IN_MEMORY:
        return sheet
    return replace(sheet, image=on_disk(sheet.image))


def on_disk(held: NDArray[_Number]) -> NDArray[_Number]:
    """The same array, to be read only, in a file without a name, which goes when the array does.

    Many lie in one file, for a system lets a program have some hundreds open.

    Raises:
        OutputError: the disk is full.
    """
    if not held.size:
        return held
    try:
        with _one_at_a_time:
            last = _rooms[0]() if _rooms else None
            if last is None or not last.has_room(held.nbytes):
                last = _Room.of(max(held.nbytes, _ROOM_BYTES))
                _rooms[:] = [weakref.ref(last)]
            return last.put(held)
    except OSError as error:
        msg = (
            f"no room for the sheets of this proof in {tempfile.gettempdir()} ({error.strerror}); "
            "free some, or set TMPDIR to a folder with room"
        )
        raise OutputError(msg) from error


class _Room(mmap.mmap):
    """A file of arrays, each at the beginning of a page of memory; the arrays hold it open."""

    file: IO[bytes]
    used: int
    owner: int
    """The process that puts into it: a forked one has the same file, and would write over it."""

    @classmethod
    def of(cls, size: int) -> Self:
        """One of so many bytes; they take no disk until they are written."""
        file = tempfile.TemporaryFile(prefix="proofcheck-")  # noqa: SIM115 - open as long as this
        file.truncate(size)
        made = cls(file.fileno(), size, access=mmap.ACCESS_READ)
        made.file, made.used, made.owner = file, 0, os.getpid()
        weakref.finalize(made, file.close)
        return made

    def has_room(self, size: int) -> bool:
        """Whether so many bytes more go in, of this process."""
        return self.owner == os.getpid() and self.used + size <= len(self)

    def put(self, held: NDArray[_Number]) -> NDArray[_Number]:
        """The same array, lying here."""
        # Written as a file: on a full disk writing to the memory would end the program.
        self.file.seek(self.used)
        self.file.write(np.ascontiguousarray(held).data)
        self.file.flush()
        there = np.frombuffer(self, held.dtype, held.size, self.used).reshape(held.shape)
        ends = self.used + held.nbytes
        self.used = -(-ends // mmap.ALLOCATIONGRANULARITY) * mmap.ALLOCATIONGRANULARITY
        return there


def looked_at(held: NDArray[_Number]) -> NDArray[_Number]:
    """The same array, about to be looked at: what is in memory of the last on disk may go.

    Else all that was ever looked at would count as this program's, sheet after sheet.
    """
    whole: NDArray[np.generic] = held
    while isinstance(whole.base, np.ndarray):
        whole = whole.base
    room = whole.base.obj if isinstance(whole.base, memoryview) else whole.base
    if not isinstance(room, _Room):
        return held
    start = whole.ctypes.data - np.frombuffer(room, np.uint8, 1).ctypes.data
    last = _last[0] if _last else None
    if last is None or last.room() is not room or last.start != start:
        before = last.room() if last else None
        if last and before is not None and hasattr(mmap, "MADV_DONTNEED"):
            before.madvise(mmap.MADV_DONTNEED, last.start, last.size)
        _last[:] = [_Lying(weakref.ref(room), start, whole.nbytes)]
    return held


class _Lying(NamedTuple):
    """Where an array lies."""

    room: weakref.ref[_Room]
    start: int
    size: int


_one_at_a_time = threading.Lock()
_rooms: list[weakref.ref[_Room]] = []
"""The one that was put into last."""
_last: list[_Lying] = []
"""What was looked at last of all that lies on disk."""
