"""Which lines stand within a frame or a border, or are set into it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from proofcheck.base.values import Box
from proofcheck.sheet.lifted import in_box

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.values import Line, Sheet

__all__ = ["framed_lines"]

_SLENDER: Final = 3
_NO_FRAME: Final = ("sideways", "initial", "cut")


def framed_lines(sheets: Sequence[Sheet], lines: Sequence[Line]) -> frozenset[int]:
    """Numbers of the lines that have a frame or a border round them, or stand in its band.

    Args:
        sheets: of the proof, with what was lifted off them.
        lines: of the proof.
    """
    frames = {sheet.number: _frames(sheet) for sheet in sheets}
    return frozenset(
        line.number
        for line in lines
        if any(in_box(line.box, frame) for frame in frames.get(line.sheet, ()))
    )


def _frames(sheet: Sheet) -> list[Box]:
    """Round each group of rules that meet, two upright and two level ones at least."""
    groups: list[list[Box]] = []
    for box in _rules(sheet):
        met = [group for group in groups if any(_meet(box, other) for other in group)]
        groups = [group for group in groups if group not in met]
        groups.append([box, *(one for group in met for one in group)])
    return [Box.around(group) for group in groups if _is_frame(group)]


def _rules(sheet: Sheet) -> list[Box]:
    """Boxes of what was lifted, blocks and type left out; further parts go with the one before."""
    boxes, of_frame = [], False
    for part in sheet.lifted:
        of_frame = part.look not in _NO_FRAME if part.look else of_frame
        if of_frame:
            boxes.append(part.box)
    return boxes


def _is_frame(group: Sequence[Box]) -> bool:
    upright = sum(box.height > _SLENDER * box.width for box in group)
    level = sum(box.width > _SLENDER * box.height for box in group)
    return upright > 1 and level > 1


def _meet(one: Box, other: Box) -> bool:
    across = one.x <= other.right and other.x <= one.right
    return across and one.y <= other.bottom and other.y <= one.bottom
