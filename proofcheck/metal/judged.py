"""What is judged of a proof's letters, once for all kinds of fault: made of what was measured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.metal.by_face import ByFace, by_face
from proofcheck.metal.by_line import by_line
from proofcheck.metal.company import among_odd
from proofcheck.metal.comparing import OWN_COMPARER, compare
from proofcheck.metal.in_line import in_line, rows_asked
from proofcheck.metal.spaces import word_spaces
from proofcheck.metal.unsound import odds_unsound, rather_broken, unsound, worth_comparing

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.metal.comparing import Odds
    from proofcheck.metal.context import Matter
    from proofcheck.metal.face_book import FaceBook
    from proofcheck.metal.spaces import Spaces

__all__ = ["Judged", "judge"]


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """A proof judged; what is said of letters is in the order of the fount."""

    matter: Matter
    """What it is made of."""
    odds: Odds
    """What the comparer says of each letter that is worth comparing."""
    among_odd: NDArray[np.bool_]
    """Whether many letters beside it look odd (`company`)."""
    unsound: NDArray[np.float64]
    """The log odds that it is no sound letter (`unsound`, `in_line`)."""
    broken: NDArray[np.bool_]
    """Whether, if it is not sound, it is rather broken than of another face."""
    own_odds: NDArray[np.float64]
    """The log odds of unsound before it is asked which letters can be judged."""
    by_line: NDArray[np.bool_]
    """Whether it was held against the letters beside it, which have the word then (`in_line`)."""
    face: ByFace
    """What the shop's book of faces says."""
    spaces: Spaces
    """Every word space of lines of words."""


def judge(matter: Matter, book: FaceBook | None = None) -> Judged:
    """Judge the letters and spaces of a proof.

    Args:
        matter: the proof.
        book: the shop's book of faces, where it has one.
    """
    comparer = matter.settings.comparer or OWN_COMPARER
    odds = compare(matter.fount, worth_comparing(matter), comparer)
    odd_company = among_odd(matter, odds)
    own_odds = odds_unsound(matter, odds)
    line = in_line(matter, own_odds, by_line(matter, rows_asked(matter)))
    return Judged(
        matter,
        odds,
        odd_company,
        np.where(line.asked, line.unsound, unsound(matter, odds, odd_company)),
        np.where(line.asked, line.broken, rather_broken(matter.fount, odds)),
        own_odds,
        line.asked,
        by_face(matter, book.faces if book else (), odd_company),
        word_spaces(matter),
    )
