"""How likely a letter is no sound letter of the proof's own: of another face, or broken.

Three measures are taken together: what the comparer says, how far out the letter stands among those
of its kind, and how unlike its nearest fellows it is.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.metal.company import (
    MAYBE_STRANGE,
    PLAINLY_LOST,
    among_leaning,
    judgeable,
    small_in_running,
)
from proofcheck.metal.comparing import OWN_COMPARER, compare_as
from proofcheck.metal.overlaying import lay_on, shifted
from proofcheck.metal.patches import BASELINE_ROW, X_HEIGHT

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.metal.comparing import Odds
    from proofcheck.metal.context import Matter
    from proofcheck.metal.fount import Fount
    from proofcheck.metal.patches import Cut

__all__ = [
    "ALIKE",
    "EVEN",
    "NEVER",
    "STEP",
    "broken_as",
    "measures",
    "odds_unsound",
    "rather_broken",
    "unsound",
    "worth_comparing",
]

NEVER = -99.0
"""Of a letter that can't be judged, or is plainly sound."""
EVEN, STEP = 0.8, 1.0
"""Log odds as likely a fault as not; 1 letter in 3,500 of the pages for fitting has as much as
printed."""
WEIGHTS = (0.441, 0.971, 1.777)
CONSTANT = 1.191
"""Of the three `measures`; by `tests.lab.typefit`, which says how."""
LOSS = 44.0
"""Log odds of broken rather than strange that ink wanting is worth, as a share of its fellows'; by
`tests.lab.typefit` too."""
GAIN = -39.0
"""The same of ink too much, which a broken letter has none of."""
JUST_LOST, TO_ADDED = 0.03, 10.0
"""Ink wanting, as a share of its fellows', and so many times what is over, is broken whatever the
comparer says, which was shown ragged breaks alone: of what is told on five pages for fitting 45 of
56 broken letters have that, none of 33 of another roman, and 4 of 63 of italic."""
LEAST_LOST = 0.02
"""Share of its fellows' ink that a broken letter wants at least: of 60 letters of seven pages that
had lost a third, and were told, none wanted less than 0.03."""
ALIKE = 0.13
"""No more unlike its nearest fellows than this, nobody sees a letter as another in a worn face,
which has such all over: none so like of 70 of other faces on the seven pages was told."""
PLAINLY_UNLIKE = 3.0
"""On a clean sheet one is seen sooner: where it is so many times as unlike as its fellows are."""
ADDED_AT_MOST = 0.05
"""A broken letter has no ink where its fellows have none; another letter has."""
DOT_LEFT = 0.25
"""Share of the dot's usual ink with which it is gone."""
_DOTTED = frozenset("ij")
_UNDER_DOT = BASELINE_ROW - round(1.15 * X_HEIGHT)
"""Row of a patch that the dot stands over."""
_INKED = 0.3
RARE = 2.0
"""More that letters of heads, notes and small print must show, and capitals and figures: they are
few, and often of two styles."""
_COMPARED, _ODDNESS = (-10.0, 20.0), (-2.0, 6.0)
"""Least and most that either measure counts for."""
_HOPELESS = -2.0
"""Without the comparer a letter must have so much: of 152 planted on ten pages for fitting and told
none had less than -0.9. One letter in twelve has it."""


def measures(matter: Matter, odds: Odds) -> NDArray[np.float64]:
    """(n, 3): the comparer's log odds of not sound, oddness, and logarithm of how unlike it is."""
    compared = np.logaddexp(odds.strange, odds.broken)
    return _measures(compared, matter.oddness, matter.fount.unlike)


def _measures(
    compared: NDArray[np.floating], oddness: NDArray[np.floating], unlike: NDArray[np.floating]
) -> NDArray[np.float64]:
    columns = (
        np.clip(compared, *_COMPARED),
        np.clip(oddness, *_ODDNESS),
        np.log(np.nan_to_num(unlike, nan=0.0).astype(np.float64) + 0.02),
    )
    return np.stack(columns, axis=1).astype(np.float64)


def _log_odds(measured: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(measured @ np.array(WEIGHTS) + CONSTANT)


def worth_comparing(matter: Matter) -> NDArray[np.bool_]:
    """For each letter whether the comparer may make it unsound; of all, about one in twelve."""
    silent = np.zeros(len(matter.fount.text))
    return _log_odds(_measures(silent, matter.oddness, matter.fount.unlike)) > _HOPELESS


def odds_unsound(matter: Matter, odds: Odds) -> NDArray[np.float64]:
    """For each letter of the fount the log odds that it is not sound, whether or not it is judged.

    Args:
        matter: the proof.
        odds: what the comparer says.
    """
    return np.asarray(_log_odds(measures(matter, odds)) - RARE * ~small_in_running(matter))


def unsound(matter: Matter, odds: Odds, odd_company: NDArray[np.bool_]) -> NDArray[np.float64]:
    """For each letter of the fount the log odds that it is not sound; `NEVER` for unjudged.

    Args:
        matter: the proof.
        odds: what the comparer says.
        odd_company: of each letter, by `company.among_odd`.
    """
    found = odds_unsound(matter, odds)
    sure = judgeable(matter, odd_company) & (found > EVEN - 2 * STEP)
    looks_odd = np.logaddexp(odds.strange, odds.broken) > MAYBE_STRANGE
    usual: dict[str, float] = {}
    for number in np.flatnonzero(sure).tolist():
        seen = _is_seen(matter, number, usual, looks_odd=bool(looks_odd[number]))
        sure[number] = seen and not among_leaning(matter, number)
    return np.where(sure, found, NEVER)


def _is_seen(matter: Matter, number: int, usual: dict[str, float], *, looks_odd: bool) -> bool:
    """Whether a letter is so unlike its nearest fellows that an eye sees it on this sheet.

    Args:
        matter: the proof.
        number: of the letter.
        usual: how unlike letters of each kind usually are; filled as it is asked for.
        looks_odd: whether the comparer would have it so; else a clean sheet makes no difference.
    """
    fount, kind, least = matter.fount, str(matter.fount.text[number]), ALIKE
    if looks_odd:
        if kind not in usual:
            unlike = np.nan_to_num(fount.unlike[fount.text == kind])
            usual[kind] = float(np.median(unlike[unlike > 0])) if (unlike > 0).any() else ALIKE
        least = min(ALIKE, PLAINLY_UNLIKE * usual[kind])
    return bool(np.nan_to_num(fount.unlike[number]) > least)


def broken_as(matter: Matter, character: str, cut: Cut, number: int = -1) -> float:
    """Log odds that a letter is what it was not read as, and broken; `NEVER` if it can't be.

    Args:
        matter: the proof.
        character: what it may be; one that has fellows.
        cut: the fount's, or of a letter that is none of the fount's.
        number: of the letter in the fount; −1 for the last of another cut.
    """
    fellows = matter.fount.fellows[character]
    laid = lay_on(cut, np.array([number]), fellows)
    weights = matter.settings.comparer or OWN_COMPARER
    strange, broken = compare_as(character, cut, number, laid, fellows, weights)
    lost, added = float(laid.lost[0]), float(laid.added[0])
    wanting = lost >= PLAINLY_LOST or bool(_wants_ink(broken - strange, lost, added))
    if not wanting or added > ADDED_AT_MOST:
        return NEVER
    compared = np.array([np.logaddexp(strange, broken)])
    measured = _measures(compared, matter.odd_as(character, laid.unlike), laid.unlike)
    return float(_log_odds(measured)[0])


def rather_broken(fount: Fount, odds: Odds) -> NDArray[np.bool_]:
    """For each letter whether, if it is not sound, it is rather broken than of another face."""
    rather = _wants_ink(odds.broken - odds.strange, fount.lost, fount.added)
    return np.asarray((rather & (fount.lost >= LEAST_LOST)) | _without_dot(fount))


def _wants_ink(
    rather: NDArray[np.floating] | float,
    lost: NDArray[np.floating] | float,
    added: NDArray[np.floating] | float,
) -> NDArray[np.bool_]:
    """Whether letters are rather broken, of one letter or many.

    Args:
        rather: the comparer's log odds of broken rather than strange.
        lost: ink wanting, as a share of its fellows'.
        added: ink too much, likewise.
    """
    plainly = lost >= np.maximum(JUST_LOST, TO_ADDED * np.asarray(added))
    return np.asarray(plainly | (rather + LOSS * lost + GAIN * added > 0))


def _without_dot(fount: Fount) -> NDArray[np.bool_]:
    """Letters i and j with no ink where their fellows have the dot: broken, of whatever face."""
    found = np.zeros(len(fount.text), bool)
    for character in _DOTTED & fount.fellows.keys():
        dot = fount.fellows[character].mould[:_UNDER_DOT]
        mine = np.flatnonzero((fount.text == character) & (fount.lost >= LEAST_LOST))
        inked = dot > _INKED
        if len(mine) and inked.any():
            laid = shifted(fount.cut.ink[mine], fount.shift[mine])[:, :_UNDER_DOT]
            found[mine] = laid[:, inked].mean(axis=1) < DOT_LEFT * dot[inked].mean()
    return found
