"""Readers: what is really printed, letter by letter.

A reader takes a sheet and its lines and returns one `Reading` a line. Two stand here: our own
letter reader (`letter_reader`), which sees too little at a time to guess words, and the OCR engine
(`ocr`), which serves as a second witness and as a reader where the first can't run.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol, runtime_checkable

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.values import Line, Reading, Sheet

__all__ = ["Reader"]


@runtime_checkable
class Reader(Protocol):
    """Reads every line of one sheet.

    The caller hands over one sheet with all its lines, in order, and never changes either; the
    reader returns exactly one reading for each line, in the same order, with an empty reading
    where it saw no letter. What it keeps between calls, besides its model, must be bounded and
    must not bear on any later reading.
    """

    name: str
    """Short name as given on the command line and in the report."""

    def read(self, sheet: Sheet, lines: Sequence[Line]) -> tuple[Reading, ...]:
        """Read `lines` of `sheet`; boxes come back in sheet pixels."""
        ...
