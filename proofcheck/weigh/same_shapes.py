"""Figures and letters that are nearly of one shape in the proof's own face.

Said whether or not one of them is in dispute: the reader takes the one for the other and sees
nothing to dispute.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.weigh.fellows import LEAST_FELLOWS

if TYPE_CHECKING:
    from collections.abc import Container

    from proofcheck.weigh.fellows import Fellows

__all__ = ["same_shapes"]

_PAIRS = (("o", "0"), ("O", "0"), ("l", "1"), ("I", "1"))
"""Letters and figures that are cut alike in some faces, old-style figures above all; common
practice."""


def same_shapes(fellows: Fellows, said: Container[str]) -> tuple[str, ...]:
    """A line for each pair that the proof's own letters can hardly tell apart.

    Args:
        fellows: the proof's letters.
        said: pairs that are spoken of already ("o and 0").
    """
    notes = []
    for letter, figure in _PAIRS:
        pair = f"{letter} and {figure}"
        # Figures are few, and asked for first: most pages need no letters laid on one another.
        if pair in said or f"{figure} and {letter}" in said:
            continue
        if len(fellows.stock(figure).patches) >= LEAST_FELLOWS and fellows.look_alike(
            letter, figure
        ):
            notes.append(
                f"{pair} can hardly be told apart in this face: a wrong one may not be seen"
            )
    return tuple(notes)
