"""Whether the copy has two lines, as they are laid on it, in one paragraph or cell of a table."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from proofcheck.base.values import Copy
    from proofcheck.collate.laying import Laying

__all__ = ["is_one_cell"]


def is_one_cell(copy: Copy, laid: Laying, upper: int, lower: int) -> bool:
    """Whether two lines, by their places in the proof, run on in the copy from one to the other."""
    stream = laid.alignment.stream
    held = []
    for line in (upper, lower):
        if line not in stream.order:
            return False
        held += laid.alignment.held_in(stream.order.index(line)).tolist()
    if not held:
        return False
    text = copy.text[int(laid.copy.start[min(held)]) : int(laid.copy.end[max(held)])]
    return "\n" not in text and "\t" not in text
