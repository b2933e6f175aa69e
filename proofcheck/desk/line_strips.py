"""One line of a proof as a strip, for what is said of its slug as a whole."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from proofcheck.results.report import Report

__all__ = ["LineStrip", "line_strip"]

_X_HEIGHT_PX = 10.0
"""x-height as it is shown, in CSS pixels, like that of other strips."""


@dataclass(frozen=True, slots=True)
class LineStrip:
    """The line's picture."""

    address: str
    """As a data address."""
    width: int
    height: int
    """As shown, in CSS pixels."""
    text: str
    """As read."""


def line_strip(report: Report, number: int) -> LineStrip | None:
    """The strip of a line; None where there is no line of that number.

    Args:
        report: of the proof, with its pictures.
        number: the line's.
    """
    from proofcheck.results.page.embedded import as_address

    line = next((each for each in report.lines if each.number == number), None)
    if line is None:
        return None
    sheet = next(each for each in report.sheets if each.number == line.sheet)
    air = round(line.x_height_px)
    left, top = max(0, line.box.x - air), max(0, line.box.y - air // 2)
    cut = sheet.as_printed()[top : line.box.bottom + air // 2, left : line.box.right + air]
    scale = _X_HEIGHT_PX / max(line.x_height_px, 1.0)
    reading = report.reading(number)
    return LineStrip(
        as_address(cut),
        max(1, round(cut.shape[1] * scale)),
        max(1, round(cut.shape[0] * scale)),
        reading.text if reading is not None else "",
    )
