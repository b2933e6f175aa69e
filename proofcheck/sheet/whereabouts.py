"""Where a place on a sheet is and how large, in the words a person would use."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.base.units import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.values import Box, Line, Sheet

__all__ = ["place_words", "size_words"]


def size_words(sheet: Sheet, box: Box) -> str:
    """How large a place is: in millimetres where the resolution is known, else by the sheet."""
    if sheet.dpi_source == "guess":
        height, width = sheet.image.shape
        return f"{box.width / width:.0%} × {box.height / height:.0%} of the sheet"
    mm = MM_PER_INCH / sheet.dpi
    return f"{max(box.width * mm, 1):.0f} × {max(box.height * mm, 1):.0f} mm"


def place_words(sheet: Sheet, box: Box, lines: Sequence[Line]) -> str:
    """Where a place is, beside the lines that were read."""
    middle = box.y + box.height / 2
    if not lines:
        share = middle / sheet.image.shape[0]
        return "at the head" if share < 1 / 3 else "at the foot" if share > 2 / 3 else "midway"
    if box.right <= min(line.box.x for line in lines):
        return "in the left margin"
    if box.x >= max(line.box.right for line in lines):
        return "in the right margin"
    if box.bottom <= min(line.box.y for line in lines):
        return "at the head"
    if box.y >= max(line.box.bottom for line in lines):
        return "at the foot"
    nearest = min(lines, key=lambda line: abs(line.box.y + line.box.height / 2 - middle))
    return f"near line {nearest.number}"
