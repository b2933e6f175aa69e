"""Upside-down and mirrored sheets: exact flips, cheap guesses, and the choice of what reads.

A picture of the type itself reads backwards; a sheet may lie on the glass head down. Neither
shows in the geometry of the lines, so a reader has the last word.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final, TypeVar

import numpy as np

from proofcheck.base.values import Box, Lifted, Panel

if TYPE_CHECKING:
    from collections.abc import Callable

    from proofcheck.base.values import Sheet

__all__ = ["GOOD_LEGIBILITY", "choose_variant", "turned"]

GOOD_LEGIBILITY: Final = 0.75
"""A sheet that reads this well (share of what a good one gives) is taken as it lies."""

_Part = TypeVar("_Part", Panel, Lifted)

_CLEAR_GAIN: Final = 0.05
"""Another way up must read better by this much: a doubt leaves the sheet as it is."""

_NOTHING_READS: Final = 0.45
"""Below this in all four ways the lines themselves may run down the page."""


def turned(sheet: Sheet, turned_deg: int, mirrored: bool = False) -> Sheet:
    """The sheet mirrored left to right (if asked), then turned clockwise; no pixel is changed.

    `turned_deg` and `mirrored` of the result tell the whole way from the scan in that order:
    first mirrored, then turned.

    Raises:
        ValueError: not a multiple of 90°.
    """
    if turned_deg % 90:
        msg = f"can only turn by quarters, not by {turned_deg}°"
        raise ValueError(msg)
    image, to_old = sheet.image, np.eye(3)
    panels, lifted = sheet.panels, sheet.lifted
    if mirrored:
        to_old = to_old @ np.array([[-1.0, 0, image.shape[1] - 1], [0, 1, 0], [0, 0, 1]])
        panels = _mirrored(panels, image.shape[1])
        lifted = _mirrored(lifted, image.shape[1])
        image = image[:, ::-1]
    for _ in range(turned_deg // 90 % 4):
        # A quarter clockwise: what is now at (x, y) was at (y, height - 1 - x).
        to_old = to_old @ np.array([[0, 1.0, 0], [-1, 0, image.shape[0] - 1], [0, 0, 1]])
        panels = _quarter(panels, image.shape[0])
        lifted = _quarter(lifted, image.shape[0])
        image = np.rot90(image, -1)
    if turned_deg % 180:
        panels = tuple(replace(panel, sideways=not panel.sideways) for panel in panels)
    # Mirroring a turned sheet is turning the mirrored one the other way.
    before = -sheet.turned_deg if mirrored else sheet.turned_deg
    return replace(
        sheet,
        image=np.ascontiguousarray(image),
        turned_deg=(before + turned_deg) % 360,
        mirrored=sheet.mirrored != mirrored,
        skew_deg=-sheet.skew_deg if mirrored else sheet.skew_deg,
        to_scan=sheet.to_scan @ to_old,
        panels=panels,
        lifted=lifted,
    )


def _mirrored(parts: tuple[_Part, ...], width: int) -> tuple[_Part, ...]:
    """Parts of a sheet of that width, once it is mirrored left to right."""
    return tuple(
        replace(
            part,
            box=Box(width - part.box.right, part.box.y, part.box.width, part.box.height),
            image=part.image[:, ::-1],
        )
        for part in parts
    )


def _quarter(parts: tuple[_Part, ...], height: int) -> tuple[_Part, ...]:
    """Parts of a sheet of that height, once it is turned a quarter clockwise."""
    return tuple(
        replace(
            part,
            box=Box(height - part.box.bottom, part.box.x, part.box.height, part.box.width),
            image=np.rot90(part.image, -1),
        )
        for part in parts
    )


def choose_variant(
    sheet: Sheet,
    legibility: Callable[[Sheet], float],
    *,
    good: float = GOOD_LEGIBILITY,
) -> Sheet:
    """The way up in which the sheet reads best.

    A sheet that reads well as it lies costs one reading. Otherwise the other three ways are
    tried, and where none reads at all, the four with the lines a quarter turned.

    Args:
        sheet: as `clean_sheet` gives it.
        legibility: how well a sheet reads, 0 to 1, higher is better: the share of what is read
            that the copy or the language bears out. A reader's own certainty won't do: one that
            knows turned sorts is sure of 0.93 to 0.99 of a page on its head. Called at most
            eight times.
        good: the score at which a sheet is taken without trying further.
    """
    score = legibility(sheet)
    best, best_score = sheet, score + _CLEAR_GAIN
    if score >= good:
        return sheet
    tried = [*_ways(0), *_ways(90)]
    for place, (turn, mirrored) in enumerate(tried[1:], start=1):
        if place == 4 and best_score >= _NOTHING_READS:
            break
        other = turned(sheet, turn, mirrored=mirrored)
        other_score = legibility(other)
        if other_score > best_score:
            best, best_score = other, other_score
        if other_score >= good and other_score > score + _CLEAR_GAIN:
            return other
    return best


def _ways(first_deg: int) -> list[tuple[int, bool]]:
    """Turn and mirroring of the four ways, for lines level (0) or upright (90)."""
    return [
        (first_deg, False),
        (first_deg + 180, False),
        (first_deg, True),
        (first_deg + 180, True),
    ]
