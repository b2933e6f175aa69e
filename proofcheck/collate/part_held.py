"""Whether a proof plainly holds only a part of its copy, which was not said."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from proofcheck.base.found import Collation
    from proofcheck.base.values import Copy

__all__ = ["part_notes"]

_MUCH = 0.2
"""Share of the copy's letters from which on an end that no line holds is more than an out."""
_PLAINLY = 0.9
"""Share of what is printed that the copy bears out: what stands there is no other text."""


def part_notes(copy: Copy, collation: Collation) -> tuple[str, ...]:
    """A line on an end of the copy with nothing printed of it, and how a part is read.

    It says so only: the missing matter is a fault until a person says that it is to be missing.

    Args:
        copy: the approved copy.
        collation: the lines laid on it, as the whole of it.
    """
    spans = [placing.copy for placing in collation.placings if placing.copy is not None]
    if not spans or collation.agreement < _PLAINLY:
        return ()
    head, foot = copy.text[: min(s.start for s in spans)], copy.text[max(s.end for s in spans) :]
    shares = [_letters(end) / max(_letters(copy.text), 1) for end in (head, foot)]
    named = [
        f"the {which} {share:.0%}"
        for which, share in zip(("first", "last"), shares, strict=True)
        if share >= _MUCH
    ]
    if not named:
        return ()
    missing = f"no line holds {' and '.join(named)} of the copy: told as missing"
    return (f"{missing}; if the proof is to hold only a part, --part reads it as one",)


def _letters(text: str) -> int:
    return sum(char.isalnum() for char in text)
