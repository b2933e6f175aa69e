"""The truth of a proof as the values that pass through the house: lines and readings."""

from __future__ import annotations

import math

from proofcheck.base.values import Box, Letter, Line, Reading

from .printing import FloatBox, Proof

__all__ = ["box_of", "lines_of", "readings_of"]


def box_of(box: FloatBox) -> Box:
    """The smallest whole-pixel box round a box."""
    x, y = math.floor(box[0]), math.floor(box[1])
    return Box(x, y, math.ceil(box[0] + box[2]) - x, math.ceil(box[1] + box[3]) - y)


def lines_of(proof: Proof, sheet: int = 0) -> tuple[Line, ...]:
    """The printed lines, exactly where they stand."""
    return tuple(
        Line(
            line.number,
            sheet,
            line.column,
            box_of(line.box),
            (line.baseline_y, line.baseline_y),
            line.x_height_px,
            line.body_pt,
        )
        for line in proof.lines
    )


def readings_of(proof: Proof, certainty: float = 1.0) -> tuple[Reading, ...]:
    """What a reader that never errs would see."""
    return tuple(
        Reading(
            line.number,
            tuple(Letter(item.text, box_of(item.box), certainty) for item in line.letters),
        )
        for line in proof.lines
    )
