"""Whether a line fills its measure, and how it then looks.

A slug machine justifies by widening spaces only: a line fits where its letters and its bands at
their least are no longer than the measure, and with its bands at their greatest no shorter. Type
from the case is spaced with the spaces of the case, within the limits good work keeps to.

How spacing is judged, in ems of the body: for the case Stewart (1919), De Vinne (*Correct
Composition*) and Vaughn set .20 to .50 as good and .67 as the end; slugs run wider, and the upper
limits for them are the 90th percentile measured on set matter (.51 to .64).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from proofcheck.base.bands import THIN_SPACE_IN, Band
from proofcheck.base.units import inches_to_pt

__all__ = ["Fitted", "Limits", "Shape", "fit_line", "limits_of_bands", "limits_of_case"]

_GOOD_LOW, _GOOD_HIGH = 0.20, 0.50
_WATCH_LOW, _WATCH_HIGH = 0.17, 0.67
_SLUG_GOOD_HIGH, _SLUG_WATCH_HIGH = 0.51, 0.64
_USUAL_EM = 1 / 3
"""The 3-to-em space: normal for lower case (Stewart 1919)."""
_THIN_STEPS = 4
"""A line that takes thin spaces beside its bands is worse than any that does not."""


@dataclass(frozen=True, slots=True)
class Limits:
    """What a word space may come to, in points."""

    least_pt: float
    greatest_pt: float
    usual_pt: float
    good_pt: tuple[float, float]
    watch_pt: tuple[float, float]
    thin_pt: float = 0.0
    """Thin space that may stand beside each band where bands alone won't do; 0 for none."""
    margin_pt: float = 0.0
    """Length by which a line must clear either limit: as much as its length is unsure."""

    def with_thin(self) -> Limits:
        """The same with a thin space allowed beside each band."""
        return replace(self, thin_pt=inches_to_pt(THIN_SPACE_IN))

    def steps(self, space_pt: float) -> int:
        """0 where the spacing is good, 1 where it is to be watched, 2 where it is bad."""
        for steps, (low, high) in enumerate((self.good_pt, self.watch_pt)):
            if low <= space_pt <= high:
                return steps
        return 2


def limits_of_bands(band: Band, body_pt: float, *, margin_pt: float = 0.0) -> Limits:
    """Limits of a slug machine with this kind of band."""
    usual = min(max(_USUAL_EM * body_pt, band.least_pt), band.greatest_pt)
    return Limits(
        band.least_pt,
        band.greatest_pt,
        usual,
        (_GOOD_LOW * body_pt, _SLUG_GOOD_HIGH * body_pt),
        (_WATCH_LOW * body_pt, _SLUG_WATCH_HIGH * body_pt),
        margin_pt=margin_pt,
    )


def limits_of_case(body_pt: float, *, margin_pt: float = 0.0) -> Limits:
    """Limits of good spacing by hand, from the 5-to-em to two 3-to-ems."""
    return Limits(
        _GOOD_LOW * body_pt,
        _WATCH_HIGH * body_pt,
        _USUAL_EM * body_pt,
        (_GOOD_LOW * body_pt, _GOOD_HIGH * body_pt),
        (_WATCH_LOW * body_pt, _WATCH_HIGH * body_pt),
        margin_pt=margin_pt,
    )


@dataclass(frozen=True, slots=True)
class Shape:
    """The room a paragraph's lines have."""

    measure_pt: float
    first_indent_pt: float = 0.0
    indent_pt: float = 0.0
    """Of every line after the first."""
    justified: bool = True
    """False for centred and ragged lines, which need only be no longer than the measure."""

    def room_pt(self, *, first: bool) -> float:
        """Length that a line's matter has."""
        return self.measure_pt - (self.first_indent_pt if first else self.indent_pt)


@dataclass(frozen=True, slots=True)
class Fitted:
    """A line that fits."""

    space_pt: float
    """Width its word spaces come to; 0 for a line without any."""
    steps: int
    """How far its spacing is from good, 0 for good."""
    thin: bool = False
    """True where a thin space must stand beside each band."""


def fit_line(
    room_pt: float, letters_pt: float, gaps: int, limits: Limits, *, spread: bool
) -> Fitted | None:
    """Fit one line; None where it can't be.

    Args:
        room_pt: the measure less the indention.
        letters_pt: length of its letters.
        gaps: how many word spaces it has.
        limits: what these may come to.
        spread: whether it must fill the room (False for the last line of a paragraph and for
            lines that are not justified).
    """
    over = letters_pt + gaps * limits.least_pt - (room_pt - limits.margin_pt)
    if over > 0:
        return None
    if not spread:
        space = min(limits.usual_pt, (room_pt - letters_pt) / gaps) if gaps else 0.0
        return Fitted(space, limits.steps(space) if gaps else 0)
    if not gaps:
        short = room_pt - letters_pt <= max(limits.margin_pt, 0.01 * room_pt)
        return Fitted(0.0, 0) if short else None
    space = (room_pt - letters_pt) / gaps
    greatest = limits.greatest_pt - limits.margin_pt / gaps
    if space <= greatest:
        return Fitted(space, limits.steps(space))
    if limits.thin_pt and space <= greatest + limits.thin_pt:
        return Fitted(space, _THIN_STEPS + limits.steps(space), thin=True)
    return None
