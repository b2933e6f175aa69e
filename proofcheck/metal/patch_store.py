"""Patches of all letters of a proof: in memory for a short one, for a long one in a file.

The file has no name and goes with them. Either way they are looked at a block at a time.
"""

from __future__ import annotations

import tempfile
import weakref
from typing import TYPE_CHECKING, Any

import numpy as np

from proofcheck.base.errors import OutputError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

__all__ = ["BLOCK", "MOST_IN_MEMORY", "Patches", "blocks"]

MOST_IN_MEMORY = 16_384
"""Letters: 140 MB, some seven pages. The patches of a hundred pages would be 2 GB."""
BLOCK = 1152
"""Letters looked at in one go. Libraries of linear algebra take rows so many at a time (a power of
two, or three times one); where blocks begin at multiples of that, sums come out as they would over
all, to the last bit (seen with OpenBLAS on one thread)."""


class Patches:
    """Patches (n, rows, columns), asked for like an array by number, by numbers or by a mask.

    Args:
        count: how many.
        shape: rows and columns of each.

    Raises:
        OutputError: no room on the disk for those of a long proof.
    """

    def __init__(self, count: int, shape: tuple[int, int]) -> None:
        self._count, self._shape = count, shape
        self._row_bytes = shape[0] * shape[1] * np.dtype(np.float32).itemsize
        self._held = np.zeros((count if count <= MOST_IN_MEMORY else 0, *shape), np.float32)
        self._file = None
        if count > MOST_IN_MEMORY:
            try:
                self._file = tempfile.TemporaryFile(prefix="proofcheck-", buffering=0)  # noqa: SIM115
                self._file.truncate(count * self._row_bytes)
            except OSError as error:
                raise OutputError(_no_room(error)) from error
            weakref.finalize(self, self._file.close)

    @classmethod
    def of(cls, held: NDArray[np.float32]) -> Patches:
        """Patches there are already, (n, rows, columns)."""
        made = cls(0, (held.shape[1], held.shape[2]))
        made._count, made._held = len(held), held
        return made

    def __len__(self) -> int:
        return self._count

    def put(self, number: int, patch: NDArray[np.float32]) -> None:
        """Set one patch. Raises OutputError where the disk is full."""
        if self._file is None:
            self._held[number] = patch
            return
        try:
            self._file.seek(number * self._row_bytes)
            self._file.write(np.ascontiguousarray(patch, np.float32).data)
        except OSError as error:
            raise OutputError(_no_room(error)) from error

    def __getitem__(self, who: Any) -> NDArray[np.float32]:  # noqa: ANN401 - whatever numpy takes
        if self._file is None:
            return np.asarray(self._held[who])
        numbers = np.arange(self._count)[who]
        found = np.empty((*numbers.shape, *self._shape), np.float32)
        for patch, number in zip(
            found.reshape(-1, *self._shape), numbers.reshape(-1).tolist(), strict=True
        ):
            self._file.seek(number * self._row_bytes)
            self._file.readinto(patch.data.cast("B"))
        return found


def blocks(who: NDArray[np.intp]) -> Iterator[NDArray[np.intp]]:
    """Numbers a block at a time; few stay together, and none is left alone."""
    count = max(round(len(who) / BLOCK), 1)
    for start in range(0, count * BLOCK, BLOCK):
        end = start + BLOCK if start + BLOCK < count * BLOCK else len(who)
        if end > start:
            yield who[start:end]


def _no_room(error: OSError) -> str:
    return (
        f"no room for the letters of this proof in {tempfile.gettempdir()} ({error.strerror}); "
        "free some, or set TMPDIR to a folder with room"
    )
