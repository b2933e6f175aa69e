"""Keeps memory flat over a long proof: sheets past the first few lie on disk until looked at."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.errors import OutputError

if TYPE_CHECKING:
    from proofcheck.base.values import Sheet

__all__ = ["SHEETS_IN_MEMORY", "shelve"]

SHEETS_IN_MEMORY = 4


def shelve(sheet: Sheet) -> Sheet:
    """The same sheet with its picture on disk, where it is past the first few of the proof.

    The file has no name and goes when the sheet does. Raises OutputError where the disk is full.
    """
    if sheet.number < SHEETS_IN_MEMORY:
        return sheet
    try:
        with tempfile.TemporaryFile(prefix="proofcheck-") as file:
            file.write(np.ascontiguousarray(sheet.image).data)
            file.flush()
            image = np.memmap(file, np.uint8, mode="r", shape=sheet.image.shape)
    except OSError as error:
        msg = (
            f"no room for the sheets of this proof in {tempfile.gettempdir()} ({error.strerror}); "
            "free some, or set TMPDIR to a folder with room"
        )
        raise OutputError(msg) from error
    return replace(sheet, image=image)
