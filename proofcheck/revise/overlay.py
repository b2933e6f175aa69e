"""Is it the same slug? One print laid over another, letter by letter.

The same metal prints its letters in the same places, whatever the inking, the paper's lie and the
scan do: what they change goes evenly along the line. A slug cast again has its mats and bands
seated anew, and stands a fraction of a point otherwise from letter to letter; another letter
has another shape.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.revise.odds import USUAL_NOISE, recast_odds
from proofcheck.revise.rough import pieces_in, seek_pieces
from proofcheck.revise.seats import Seats, seats_of
from proofcheck.revise.slugs import profile_lag

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.revise.slugs import Print

__all__ = ["SAME_LIKENESS", "SAME_ODDS", "Overlay", "lay_over"]

SAME_ODDS = 4.0
"""Least logarithm of the odds of a recast for a slug to be told as one: chosen, with the
likeness, from `benchmark.revising --fit`, on books no figure is quoted on."""
SAME_LIKENESS = 0.75
"""Least likeness of the worst letters of the same slug, by the correlation of their ink."""
_SPARED = 12
"""Of so many pieces one may be unlike: a speck, or a letter changed by hand in set type, says
nothing of the rest. A slug with another letter is told by the seats of all the others."""
_SPECK = 0.06
"""Ink of a piece that may be a speck or lost to one, in squares of the x-height: points are left
to the reading."""


@dataclass(frozen=True, slots=True, eq=False)
class Overlay:
    """What laying one print over another showed."""

    likeness: float
    """Correlation of the worst pieces' ink, −1 to 1, either way round, one in twelve spared."""
    pieces: int
    seats: Seats | None
    """None where there was nothing to lay over."""

    @property
    def shift(self) -> float:
        """Letters off their places along the line, root mean square, x-heights."""
        return 1.0 if self.seats is None else float(np.sqrt(np.mean(self.seats.off[0] ** 2)))

    def odds(self, noise: float = USUAL_NOISE) -> float:
        """Logarithm of the odds that the slug was cast again (`odds.recast_odds`)."""
        return np.inf if self.seats is None else recast_odds(self.seats, noise)

    def same(self, noise: float = USUAL_NOISE) -> bool:
        """Whether it is the same slug, on a sheet of that noise."""
        return self.likeness >= SAME_LIKENESS and self.odds(noise) < SAME_ODDS


def lay_over(a: Print, b: Print) -> Overlay:
    """Lay the later print `b` over the earlier `a`."""
    lag, _ = profile_lag(a, b)
    there, back = seek_pieces(a, b, lag), seek_pieces(b, a, -lag)
    if not len(there) or not len(back):
        return Overlay(0.0, 0, None)
    likeness = min(_worst(a, b, there, lag), _worst(b, a, back, -lag))
    return Overlay(likeness, len(there), seats_of(a, b, lag, there))


def _worst(held: Print, other: Print, found: NDArray[np.float64], lag: float) -> float:
    """Likeness of the worst piece that counts.

    Specks don't count, nor what was found too far off for the other picture to show it: dirt at
    the sheet's edge taken into a line. 0 where that is half of the line.
    """
    least = _SPECK * held.x_height_px**2
    inked = np.array([held.ink[:, start:end].sum() >= least for start, end in pieces_in(held)])
    there = found[:, 0] + lag
    shown = (there >= 0) & (there < other.ink.shape[1])
    if shown.sum() * 2 < len(found):
        return 0.0
    alike = np.sort(found[shown & inked, 3]) if (shown & inked).any() else np.sort(found[:, 3])
    return float(alike[len(alike) // _SPARED])
