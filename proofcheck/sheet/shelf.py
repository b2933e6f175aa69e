"""Keeps memory flat over a long proof: sheets past the first few lie on disk until looked at."""

from __future__ import annotations

import mmap
import tempfile
import weakref
from dataclasses import replace
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from proofcheck.base.errors import OutputError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.base.values import Sheet

__all__ = ["SHEETS_IN_MEMORY", "looked_at", "on_disk", "shelve"]

SHEETS_IN_MEMORY = 4
_Number = TypeVar("_Number", bound=np.generic)
_last: list[weakref.ref[mmap.mmap]] = []
"""What was looked at last of all that lies on disk."""


def shelve(sheet: Sheet) -> Sheet:
    """The same sheet with its picture on disk, where it is past the first few of the proof.

    The file has no name and goes when the sheet does. Raises OutputError where the disk is full.
    """
    if sheet.number < SHEETS_IN_MEMORY:
        return sheet
    return replace(sheet, image=on_disk(sheet.image))


def on_disk(held: NDArray[_Number]) -> NDArray[_Number]:
    """The same array in a file without a name, which goes when the array does.

    Raises:
        OutputError: the disk is full.
    """
    if not held.size:
        return held
    try:
        with tempfile.TemporaryFile(prefix="proofcheck-") as file:
            file.write(np.ascontiguousarray(held).data)
            file.flush()
            return np.memmap(file, held.dtype, mode="r", shape=held.shape)
    except OSError as error:
        msg = (
            f"no room for the sheets of this proof in {tempfile.gettempdir()} ({error.strerror}); "
            "free some, or set TMPDIR to a folder with room"
        )
        raise OutputError(msg) from error


def looked_at(held: NDArray[_Number]) -> NDArray[_Number]:
    """The same array, about to be looked at: what is in memory of the last on disk may go.

    Else all that was ever looked at would count as this program's, sheet after sheet.
    """
    base: object = held
    while isinstance(base, np.ndarray):
        base = base.base
    last = _last[0]() if _last else None
    if not isinstance(base, mmap.mmap) or base is last:
        return held
    if last is not None and hasattr(mmap, "MADV_DONTNEED"):
        last.madvise(mmap.MADV_DONTNEED)
    _last[:] = [weakref.ref(base)]
    return held
