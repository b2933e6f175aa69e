"""Accents over capitals that stand above what the reader is shown of a line.

Where capitals are tall beside the small letters, the top of an accented one is cut off, and it is
read as the plain letter. So the line is shown once more, smaller, with more room over it; and the
copy is borne out only where its own accent is likelier than none and than any other.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from proofcheck.reading.alphabet import CHARACTERS
from proofcheck.reading.letter_reader import LetterReader, log_likelihood_ratio

if TYPE_CHECKING:
    from proofcheck.reading import Reader
    from proofcheck.weigh.evidence import Dispute

__all__ = ["Crowns", "crowns_of"]

SMALLER = (1.2, 1.3, 1.4)
"""Times smaller the line is shown: with room for capitals of 2.2 to 2.6 x-heights with their
accents, of which the reader is else shown 1.9."""
PLAINLY = 1.0
"""Nats by which the copy's capital must be likelier, in the mean of them, than the plain one, and
than any other."""


@dataclass(frozen=True, slots=True)
class Crowns:
    """Looks at capitals once more, with room over them."""

    reader: LetterReader

    def bears_out(self, dispute: Dispute) -> bool:
        """Whether the accented capitals that the copy has are what stands there."""
        start, end = dispute.in_copy
        copy = dispute.as_copy
        others = {dispute.as_read}
        for at in range(start, end):
            others.update(copy[:at] + other + copy[at + 1 :] for other in _others(copy[at]))
        size = dispute.line.x_height_px
        lines = [replace(dispute.line, x_height_px=smaller * size) for smaller in SMALLER]
        seen = self.reader.evidence(dispute.sheet, lines)
        if not all(len(each.log_probs) for each in seen):
            return False
        for other in others:
            apart = [log_likelihood_ratio(each, other, copy) for each in seen]
            if sum(apart) / len(apart) > -PLAINLY:
                return False
        return True


@lru_cache(maxsize=256)
def _others(capital: str) -> tuple[str, ...]:
    """The same letter under every other accent that the reader knows."""
    plain = unicodedata.normalize("NFD", capital)[0]
    return tuple(
        other
        for other in CHARACTERS
        if other and other != capital and unicodedata.normalize("NFD", other)[0] == plain
    )


def crowns_of(reader: Reader) -> Crowns | None:
    """What looks at capitals once more, where the reader can."""
    return Crowns(reader) if isinstance(reader, LetterReader) else None
