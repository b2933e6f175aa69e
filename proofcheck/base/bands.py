"""Spacebands by kind, and what a line asks of them.

A band is a wedge of two halves: it goes in at its least width and is driven up until the line
fills the measure. Its width does not depend on the size of the type, so small type looks wider
spaced (Stewart, *Typesetting*, 1919). Least and greatest widths: *Linotype Manual* (1898) for the
two old kinds; a keyboard handbook, as quoted in a modern summary, for the other five.
"""

from __future__ import annotations

from dataclasses import dataclass

from proofcheck.base.errors import SettingError
from proofcheck.base.units import inches_to_pt

__all__ = ["BANDS", "THIN_SPACE_IN", "Band", "band_kind"]

THIN_SPACE_IN = 0.0385
"""The widest of the thin spaces a machine carries (.028 to .0385 inch; Stewart 1919)."""


@dataclass(frozen=True, slots=True)
class Band:
    """One kind of spaceband."""

    name: str
    least_in: float
    greatest_in: float

    @property
    def least_pt(self) -> float:
        """Width it goes in with, in American points."""
        return inches_to_pt(self.least_in)

    @property
    def greatest_pt(self) -> float:
        """Width it can be driven to, in American points."""
        return inches_to_pt(self.greatest_in)


BANDS: dict[str, Band] = {
    band.name: band
    for band in (
        Band("thick", 0.0375, 0.1035),
        Band("extra-thin", 0.028, 0.0943),
        Band("extra-thick", 0.046, 0.146),
        Band("special-taper", 0.0369, 0.1219),
        Band("wide-range", 0.0345, 0.1194),
        Band("thick-1898", 0.0375, 0.100),
        Band("thin-1898", 0.032, 0.095),
    )
}
"""Every kind by its name."""


def band_kind(name: str) -> Band:
    """The kind of that name; SettingError where there is none."""
    if name not in BANDS:
        msg = f"no spaceband is called {name!r}; there are: {', '.join(BANDS)}"
        raise SettingError(msg)
    return BANDS[name]
