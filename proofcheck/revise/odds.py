"""The odds that a slug was cast again, from how its letters are seated.

One slug pulled twice: each letter is off by the raggedness of the ink alone, every letter for
itself. Cast again: each mat besides has its side play, and each spaceband its own, which carries
all that follows with it while the line keeps its length. The logarithm of how much likelier the
second makes the offsets than the first adds up along the line, so a long line tells more than a
short one, and a line of one letter tells nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.revise.seats import order_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from proofcheck.revise.seats import Seats

__all__ = ["USUAL_NOISE", "noise_of", "recast_odds"]

_PLAY_MAT, _PLAY_BAND, _PLAY_DOWN = 0.012, 0.03, 0.006
"""Play a recast is taken to have (standard deviation, x-heights): in 10-point some two thousandths
of an inch for a band, eight ten-thousandths for a mat along the line and half of that up and
down. `common practice`; no measured figure was found. Slighter recasts are told less surely:
the benchmark tries half of it."""
_FAR = 5.0
"""Standard deviations beyond which an offset counts no more: a speck is no recast."""
_FLOOR = 0.0008
"""What the scans' own grids put a letter off, x-heights."""
USUAL_NOISE = 0.6
"""Offsets of one slug pulled twice as a share of their reckoned spread; what the softening of
the pictures leaves of it, since neighbouring pixels err together."""
_NOISE_RANGE = 0.9, 1.75
"""A sheet's own share is believed between these multiples of the usual."""
_MARGIN = 1.2
"""By so much the share is taken higher: slugs of one sheet are not all inked alike, and one
falsely called another cast is read again for nothing."""
_SHARE = 35.0
"""Percentile taken over a sheet's slugs: up to a half of them may have been cast again."""


def recast_odds(seats: Seats, noise: float = USUAL_NOISE) -> float:
    """Natural logarithm of the odds that the slug was cast again: above 0 likelier so.

    Args:
        seats: its letters' offsets.
        noise: offsets on this sheet as a share of their reckoned spread (`noise_of`).
    """
    order = order_of(len(seats.places))
    jointly = _band_play(seats.words)
    told = 0.0
    for off, spread, play, bands, most in (
        (seats.off[0], seats.spread[0], _PLAY_MAT, jointly, order),
        (seats.off[1], seats.spread[1], _PLAY_DOWN, None, min(order, 1)),
    ):
        if len(off) <= most + 1:
            continue
        ragged = (noise * spread) ** 2 + _FLOOR**2
        same = np.diag(ragged)
        recast = same + play**2 * np.eye(len(off))
        if bands is not None:
            recast = recast + bands
        held = np.clip(off, -_FAR * np.sqrt(ragged), _FAR * np.sqrt(ragged))
        told += _log_ratio(held, same, recast, _beyond(seats.places, most))
    return told


def noise_of(sheet: Iterable[Seats]) -> float:
    """A sheet's own noise, from slugs most of which, or half, are the same as before."""
    shares = []
    for seats in sheet:
        count = seats.off.size
        if count >= 16:
            spare = count / (count - 5)  # what the fits took out of the offsets
            share = 1.4826 * float(np.median(np.abs(seats.off) / seats.spread))
            shares.append(share * np.sqrt(spare))
    if len(shares) < 3:
        return USUAL_NOISE
    low, high = (USUAL_NOISE * part for part in _NOISE_RANGE)
    return float(np.clip(np.percentile(shares, _SHARE) * _MARGIN, low, high))


def _band_play(words: NDArray[np.int64]) -> NDArray[np.float64] | None:
    """How the bands' play carries words along: a walk, tied at both ends of the line."""
    last = int(words[-1])
    if last == 0:
        return None
    one, other = words[:, None].astype(float), words[None, :].astype(float)
    return np.asarray(_PLAY_BAND**2 * (np.minimum(one, other) - one * other / last))


def _beyond(places: NDArray[np.float64], order: int) -> NDArray[np.float64]:
    """Directions of offsets, (letters, letters − order − 1), that no even change can make."""
    span = max(float(np.ptp(places)), 1e-6)
    powers = np.vander((places - places.mean()) / span, order + 1)
    full, _ = np.linalg.qr(powers, mode="complete")
    return np.asarray(full[:, order + 1 :])


def _log_ratio(
    off: NDArray[np.float64],
    same: NDArray[np.float64],
    recast: NDArray[np.float64],
    beyond: NDArray[np.float64],
) -> float:
    seen = beyond.T @ off
    told = 0.0
    for covariance, sign in ((same, 1.0), (recast, -1.0)):
        held = beyond.T @ covariance @ beyond
        _, size = np.linalg.slogdet(held)
        told += sign * 0.5 * (float(seen @ np.linalg.solve(held, seen)) + float(size))
    return told
