"""Letters of italic where few of their kind are there to tell them by: capitals, figures, heads.

An upright letter has a slope of its own in every face, a little more or less (`uprights.csv`, means
and spreads over 71 romans); italic leans by 0.1 to 0.3 more. So one letter that leans where those
beside it stand upright may be of italic, and is a query.
"""

from __future__ import annotations

import csv
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.kinds import Kind
from proofcheck.metal.certain import grown
from proofcheck.metal.company import without_its_like
from proofcheck.metal.finder import Finder
from proofcheck.metal.neighbours import median_beside, share_beside
from proofcheck.metal.slope import slopes_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.metal.context import Matter
    from proofcheck.metal.findings import MetalFinding
    from proofcheck.metal.judged import Judged

__all__ = ["leaning_letters", "upright_slopes"]

ITALIC, ITALIC_SPREAD = 0.18, 0.08
"""How much more italic leans than roman: means of 54 italics less those of 71 romans."""
PRINTED_SPREAD = 0.03
"""What print and scan add to the slope of a letter."""
EVEN, STEP = 7.0, 2.0
"""Log odds of leaning against upright, as likely a fault as not: one letter leans so in 20,000 of
old books, among their capitals, figures and heads."""
LEAST_CERTAINTY = 0.4
UPRIGHT = 0.08
"""No more than that may the letters beside it, and those of its word, lean in the middle."""
SLANTING, MOST_SLANTING = 0.05, 0.3
"""Nor may more of those beside it than that share lean so far; in some italics few letters do."""
NEAR, LEAST_BESIDE, WORD = 8, 3, 14
LEAST_LETTERS = 2
"""Of its word: a letter by itself is the name of something, and often in italic."""


def leaning_letters(judged: Judged) -> list[MetalFinding]:
    """Capitals, figures and letters of heads and notes that lean among upright ones."""
    matter, fount = judged.matter, judged.matter.fount
    found = []
    look = without_its_like(matter) & ~judged.among_odd
    odds = _odds_of_leaning(matter, np.isin(fount.line, fount.line[look]))
    for number in np.flatnonzero(look & (odds > EVEN - STEP)):
        certainty = grown(float(odds[number]), EVEN, STEP)
        if certainty < LEAST_CERTAINTY:
            continue
        words = f"wrong font: {fount.text[number]} leans"
        finding = matter.finding_on(
            Kind.WRONG_FONT, int(number), certainty, words=words, only_query=True
        )
        found.append(finding)
    return found


FINDER = Finder(70, leaning_letters)


def _odds_of_leaning(matter: Matter, look: NDArray[np.bool_]) -> NDArray[np.float64]:
    """For letters of whole lines the log odds that each leans, beside those near it; 0 for none."""
    fount, usual = matter.fount, upright_slopes()
    found = np.zeros(len(fount.text))
    known = np.flatnonzero([text in usual for text in fount.text.tolist()] & look)
    if not len(known):
        return found
    mean, spread = np.array([usual[text] for text in fount.text[known].tolist()]).T
    lean = slopes_of(fount.cut, known) - mean
    beside = median_beside(lean, fount.line[known], NEAR, LEAST_BESIDE)
    of_word = median_beside(lean, matter.word[known], WORD, LEAST_LETTERS - 1)
    more = np.maximum(np.nan_to_num(lean - beside), 0.0)
    upright, leaning = np.hypot(spread, PRINTED_SPREAD), np.hypot(spread, ITALIC_SPREAD)
    odds = (more / upright) ** 2 / 2 - ((more - ITALIC) / leaning) ** 2 / 2
    odds += np.log(upright / leaning)
    among = (np.abs(beside) < UPRIGHT) & (np.abs(of_word) < UPRIGHT)
    slanting = share_beside(lean > SLANTING, fount.line[known], NEAR, LEAST_BESIDE)
    among &= slanting < MOST_SLANTING
    found[known] = np.where(among, odds, 0.0)
    return found


@cache
def upright_slopes() -> dict[str, tuple[float, float]]:
    """The slope of each upright letter and figure, and its spread over faces."""
    text = resources.files("proofcheck.metal").joinpath("uprights.csv").read_text("utf-8")
    rows = csv.DictReader(text.splitlines())
    return {row["character"]: (float(row["slope"]), float(row["spread"])) for row in rows}
