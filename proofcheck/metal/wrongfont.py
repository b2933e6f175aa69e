"""Wrong font: a letter of another face, size or posture among its fellows.

The letter is right and whole, and yet unlike all others of its kind on the proof, where the
letters beside it in the word are as usual. A word or line in another face is a change of type,
which the copy may want; one letter never is.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.metal.certain import grown
from proofcheck.values import Kind, Span

if TYPE_CHECKING:
    from proofcheck.metal.findings import MetalFinding
    from proofcheck.metal.matter import Matter

__all__ = ["wrong_fonts"]

EVEN, STEP = 5.0, 0.7
"""The comparer's log odds as likely a wrong font as not: rarer than 1 sound letter in 1,000."""
BESIDE_AT_MOST = 3.0
FEW = 6.0
"""More that capitals, figures and other sizes must show: few fellows, and often two styles."""
STRANGE_BESIDE = 0.34
"""Nor may more than that share of the letters near it be strange: italic is, and small print."""
LEAST_BESIDE = 2
"""Letters of its word that must be as usual."""
LEAST_CERTAINTY = 0.4


def wrong_fonts(matter: Matter) -> list[MetalFinding]:
    """Single letters of another face in words of the proof's own."""
    fount, odds = matter.fount, matter.odds
    strange = matter.borne_out & matter.cut_true & (odds.strange > EVEN - 2 * STEP)
    strange &= (odds.strange > odds.broken) & (matter.strange_beside < STRANGE_BESIDE)
    found = []
    for number in np.flatnonzero(strange):
        if not str(fount.text[number]).isalnum() or not _alone(matter, int(number)):
            continue
        sure = str(fount.text[number]).islower() and matter.is_text(int(fount.line[number]))
        even = EVEN if sure else EVEN + FEW
        certainty = grown(float(odds.strange[number]), even, STEP)
        if certainty < LEAST_CERTAINTY:
            continue
        row, at = int(fount.line[number]), int(fount.at[number])
        letters, text = Span(at, at + 1), str(fount.text[number])
        found.append(
            matter.finding(
                Kind.WRONG_FONT,
                row,
                letters,
                certainty,
                proof_text=text,
                copy_text=text,
                # Old houses mixed figures of two styles; capitals are few, and often small ones.
                only_query=not text.islower(),
            )
        )
    return found


def _alone(matter: Matter, number: int) -> bool:
    """Whether the other letters of its word are as usual."""
    fellows = np.flatnonzero(matter.word == matter.word[number])
    others = fellows[(fellows != number) & np.isfinite(matter.fount.unlike[fellows])]
    if len(others) < LEAST_BESIDE or (matter.oddness[others] >= BESIDE_AT_MOST).any():
        return False
    row, box = matter.fount.line[number], matter.letter(number).box
    beside = [n for n in (number - 1, number + 1) if 0 <= n < len(matter.word)]
    boxes = [matter.letter(n).box for n in beside if matter.fount.line[n] == row]
    texts = [str(matter.fount.text[n]) for n in (number, *beside) if matter.fount.line[n] == row]
    if "f" in texts and set("fil") & set(texts[1:]):
        return False  # It may be half of a ligature.
    # A neighbour that leans over it (the hook of an f) looks like ink of its own.
    return not any(other.x < box.right and other.right > box.x for other in boxes)
