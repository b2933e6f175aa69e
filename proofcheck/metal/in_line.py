"""What the letters beside a letter say of it, and its fellows, taken together.

On a card or a bill every line may be of another face, and a letter's fellows are no measure of it:
what they say counts for little there, and what its own line says for much.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from proofcheck.metal.by_line import NOT_ASKED
from proofcheck.metal.company import cut_as_cast, letters_of_word, small_in_running
from proofcheck.metal.neighbours import share_beside
from proofcheck.metal.rare import overhanging
from proofcheck.metal.unsound import ALIKE, EVEN, NEVER

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.metal.by_line import ByLine
    from proofcheck.metal.context import Matter

__all__ = ["FEW_LETTERS", "InLine", "in_line", "rows_asked"]

FEW_LETTERS = 900
"""A proof with no more is looked at line by line; of a longer one the heads in capitals: small
letters have fellows enough there."""
MANY_UNLIKE = 0.05
"""Share of a proof's letters that an eye sees to be unlike their fellows, from which these are of
several faces: on 24 sheets set in one face and pulled in three states of wear 0 to 0.018, on most
bills of several faces 0.07 to 0.7."""
OTHER = (0.227, 0.663, -0.775)
BROKEN = (0.161, 0.652, -0.907)
"""Log odds of another fount, and of broken: for each of what the letter's fellows say and of what
its line says, and to begin with. By `tests.lab.linefit`: 140 bills with 87 letters of other faces
that have fellows, and 50 with 27 broken ones; the beginning of broken is one more than fitted, so
that 6 of 23,000 sound letters are likelier broken."""
OTHER_ALONE, BROKEN_ALONE = 2.5, 3.0
"""What the line must say of a letter without fellows, to be as likely as not; of 5,600 sound
letters 3 and 2 had as much."""
CAPITAL_AMONG_SMALL = 2.0
"""More that must be said of a capital where most are small letters, which show little of what the
capitals of their face look like: of 1,300 sound ones 2 were as likely as not without it."""
IN_ONE_FACE, OF_A_FIGURE = 2.0, 2.0
"""More that must be said of either where the proof is of one face but for its heads, and of a
figure there: those of old founts are of two styles. Without that 12 letters of 150 sound sheets in
eight faces, rough ones among them, were told, most by a little."""
_MOST_OTHER, _WORD = 0.5, 14
"""Share of the other letters of its word, so many letters off at most, that may be likelier of
another fount: else the word is in another face, as the figures of a table's last column are."""
_OWN, _LINE = 8.0, 9.0
"""Most that fellows and line count for either way."""


class InLine(NamedTuple):
    """For each letter of a fount."""

    unsound: NDArray[np.float64]
    """Log odds that it is not sound, on the scale of `unsound`; `NEVER` where no line was asked."""
    broken: NDArray[np.bool_]
    """Whether, if it is not, it is rather broken than of another fount."""
    asked: NDArray[np.bool_]
    """Whether this holds, and not what its fellows say alone."""


def rows_asked(matter: Matter) -> list[int]:
    """Lines whose letters are held against one another."""
    few = _is_short(matter)
    return [row for row in range(len(matter.lines)) if few or _is_head(matter, row)]


def _is_short(matter: Matter) -> bool:
    return len(matter.fount.text) <= FEW_LETTERS


def _is_head(matter: Matter, row: int) -> bool:
    return not matter.running[row] and not matter.is_mostly_small(row)


def in_line(matter: Matter, own_odds: NDArray[np.float64], line: ByLine) -> InLine:
    """Weigh what a line says of its letters with what their fellows say.

    Args:
        matter: the proof.
        own_odds: of each letter, what its fellows say that it is not sound.
        line: what the letters beside it say.
    """
    fellows = np.isfinite(matter.fount.unlike)
    other = _both(own_odds, line.other, OTHER, OTHER_ALONE, fellows)
    broken = _both(own_odds, line.broken, BROKEN, BROKEN_ALONE, fellows)
    if not _is_short(matter):
        # Heads of books are battered all over: of 3,200 letters of such four were told, two sound.
        broken[:] = NEVER
    asked = line.other > NOT_ASKED
    if not _is_of_many_faces(matter):
        asked &= ~small_in_running(matter)
        figure = np.array([text.isdigit() for text in matter.fount.text.tolist()], bool)
        more = IN_ONE_FACE + OF_A_FIGURE * figure
        other, broken = other - more, broken - more
    judged = asked & matter.borne_out & cut_as_cast(matter) & ~overhanging(matter)
    # A folio is of any face, and so is a letter or a figure that stands alone.
    judged &= letters_of_word(matter) > 1
    other -= CAPITAL_AMONG_SMALL * _among_small(matter)
    other[share_beside(line.other > 0, matter.word, _WORD, 1) > _MOST_OTHER] = NEVER
    odds = np.where(judged, EVEN + np.maximum(other, broken), NEVER)
    return InLine(odds, broken > other, asked)


def _among_small(matter: Matter) -> NDArray[np.bool_]:
    """Letters that are capitals on lines of mostly small letters."""
    capital = np.array([text.isupper() for text in matter.fount.text.tolist()], bool)
    rows = range(len(matter.lines))
    small = np.array([matter.is_mostly_small(row) for row in rows], bool)
    return np.asarray(capital & small[matter.fount.line])


def _is_of_many_faces(matter: Matter) -> bool:
    """Whether the letters of a kind are of several faces, so that fellows are no measure."""
    unlike = matter.fount.unlike[np.isfinite(matter.fount.unlike)]
    return bool(len(unlike) and (unlike > ALIKE).mean() > MANY_UNLIKE)


def _both(
    own: NDArray[np.float64],
    line: NDArray[np.float32],
    weights: tuple[float, float, float],
    alone: float,
    fellows: NDArray[np.bool_],
) -> NDArray[np.float64]:
    """Log odds, 0 as likely as not."""
    said = np.clip(line.astype(np.float64), -_LINE, _LINE)
    of_fellows, of_line, first = weights
    together = of_fellows * np.clip(own, -_OWN, _OWN) + of_line * said + first
    return np.where(fellows, together, said - alone)
