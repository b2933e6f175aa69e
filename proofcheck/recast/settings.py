"""What a shop says of its casting."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from proofcheck.base.bands import band_kind
from proofcheck.recast.cost import Rates
from proofcheck.recast.faces import Face, usual_face

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["CastSettings"]


@dataclass(frozen=True, slots=True)
class CastSettings:
    """Choices for planning; SettingError for a kind of spaceband there is none of."""

    bands: str = "thick"
    """Kind of spaceband (`bands.BANDS`)."""
    hand_set: bool = False
    """Type from the case: spaced by hand, sorts counted."""
    language: str = "eng"
    """Of the words, for divisions."""
    face: Face = field(default_factory=usual_face)
    """Fallen back on for letters the proof does not show."""
    bill: Mapping[str, int] | None = None
    """Sorts that the font holds; None to count none."""
    rates: Rates = field(default_factory=Rates)
    """The shop's own rates."""

    def __post_init__(self) -> None:
        band_kind(self.bands)
