"""What the corrections cost: slugs, ems and time at the shop's own rates.

Matter is counted in ems of its own body, as the trade pays for it (Stewart 1919). The printer's
errors are the printer's; author's alterations are charged by time (MacKellar 1893).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["Rates", "Toll", "toll_of"]


@dataclass(frozen=True, slots=True)
class Rates:
    """Minutes a correction takes in this shop; 0 where the shop has not said."""

    minutes_a_slug: float = 0.0
    """To key and cast one slug."""
    minutes_a_change: float = 0.0
    """To make one change at the stone."""


@dataclass(frozen=True, slots=True)
class Toll:
    """What a plan takes."""

    slugs: int
    ems: float
    minutes: float
    """0 where the shop has given no rates."""
    alteration_slugs: int
    """Of the slugs, those that only the customer's alterations ask for."""
    alteration_minutes: float


def toll_of(
    changes: Iterable[tuple[int, float, bool]], stone_only: int = 0, rates: Rates | None = None
) -> Toll:
    """Sum up.

    Args:
        changes: for each change its slugs, their ems, and whether it is an author's alteration.
        stone_only: changes at the stone that need no new slug.
        rates: the shop's.
    """
    rates = rates or Rates()
    held = list(changes)
    each = [
        (alteration, slugs, slugs * rates.minutes_a_slug + rates.minutes_a_change)
        for slugs, _, alteration in held
    ]
    return Toll(
        sum(slugs for slugs, _, _ in held),
        sum(ems for _, ems, _ in held),
        sum(minutes for *_, minutes in each) + stone_only * rates.minutes_a_change,
        sum(slugs for alteration, slugs, _ in each if alteration),
        sum(minutes for alteration, _, minutes in each if alteration),
    )
