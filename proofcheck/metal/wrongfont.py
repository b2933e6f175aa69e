"""Wrong font: a letter of another face, size or posture among its fellows.

The letter is right and whole, and yet unlike all others of its kind on the proof, where the
letters beside it in the word are as usual.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.base.kinds import Kind
from proofcheck.metal.certain import grown
from proofcheck.metal.finder import Finder
from proofcheck.metal.unsound import EVEN, NEVER, STEP

if TYPE_CHECKING:
    from proofcheck.metal.findings import MetalFinding
    from proofcheck.metal.judged import Judged

__all__ = ["wrong_fonts"]

LEAST_CERTAINTY = 0.5
"""What is likelier sound is not worth a query: of the like a person agrees with one in four."""


def wrong_fonts(judged: Judged) -> list[MetalFinding]:
    """Single letters of another face in words of the proof's own."""
    matter = judged.matter
    fount, running = matter.fount, matter.running
    found = []
    for number in np.flatnonzero((judged.unsound > NEVER) & ~judged.broken):
        certainty = grown(float(judged.unsound[number]), EVEN, STEP)
        if certainty < LEAST_CERTAINTY:
            continue
        # Heads and notes are often of a face of their own, old figures of two styles.
        doubtful = not (str(fount.text[number]).islower() and running[fount.line[number]])
        finding = matter.finding_on(Kind.WRONG_FONT, int(number), certainty, only_query=doubtful)
        found.append(finding)
    return found


FINDER = Finder(60, wrong_fonts)
