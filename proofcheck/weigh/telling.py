"""What may never pass in silence: figures, dashes, points, case, accents, look-alikes.

A wrong letter makes a word that is none, so that a slip of the reading and a fault of the type
can be told by what is around them. A wrong figure, dash or point makes sense as well as the right
one: where one was read otherwise than the copy has it, a person looks.
"""

from __future__ import annotations

import unicodedata
from typing import TYPE_CHECKING

from proofcheck.base.kinds import Group, Kind, of_group

if TYPE_CHECKING:
    from proofcheck.weigh.evidence import Dispute

__all__ = ["differing", "never_silent"]

_ALIKE = (frozenset("Il1|"), frozenset("Oo0"))
"""Letters that face for face look alike; common practice."""
_SURE = 0.5
"""The reader's certainty from which on an accent read otherwise is no slip to be let go: acutes for
circumflexes were read with 0.93 and 0.65, and let go as borne out by the picture. On 14 pages of
French and German catalogues, as printed, no accent read otherwise was let go at all."""
_SPACES = of_group(Group.SPACES)


def never_silent(dispute: Dispute) -> bool:
    """Whether a difference must be told unless the page's own letters settle it."""
    difference = dispute.difference
    if difference.kind in _SPACES:
        start, end = difference.proof
        before, after = dispute.as_read[:start][-1:], dispute.as_read[end:][:1]
        return any(map(_is_point, before + after))
    read, wanted = differing(difference.proof_text, difference.copy_text)
    if difference.kind is Kind.CASE or read.casefold() == wanted.casefold():
        return True
    if any(set(read + wanted) <= alike for alike in _ALIKE):
        return True
    if _plain(read) == _plain(wanted) and _is_sure(dispute):
        return True
    return any(char.isnumeric() or _is_point(char) for char in read + wanted)


def _plain(text: str) -> str:
    """Letters without their accents."""
    return "".join(c for c in unicodedata.normalize("NFD", text) if not unicodedata.combining(c))


def _is_sure(dispute: Dispute) -> bool:
    """Whether every letter there was read with some certainty."""
    start, end = dispute.difference.proof
    return all(letter.certainty >= _SURE for letter in dispute.reading.letters[start:end])


def differing(read: str, wanted: str) -> tuple[str, str]:
    """Two texts without what they have in common at the beginning and at the end."""
    short = min(len(read), len(wanted))
    head = next((k for k in range(short) if read[k] != wanted[k]), short)
    rest = short - head
    tail = next((k for k in range(rest) if read[-1 - k] != wanted[-1 - k]), rest)
    return read[head : len(read) - tail], wanted[head : len(wanted) - tail]


def _is_point(char: str) -> bool:
    """Points, dashes, quotes, signs: what is neither letter, figure nor space."""
    return not char.isalnum() and not char.isspace()
