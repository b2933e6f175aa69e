"""The lines of one of several tickets in the order that lays best on the copy."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.collate.sheet_order import sheet_in_order
from proofcheck.collate.sideways_lines import with_sideways_placed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.values import Copy, Line, Reading
    from proofcheck.collate.same import Rules

__all__ = ["ticket_in_order"]


def ticket_in_order(
    copy: Copy, proof: list[tuple[Line, Reading]], place: Sequence[int], rules: Rules
) -> tuple[int, ...]:
    """The lines of a ticket, by their places in the proof, in the order they are read in.

    Args:
        copy: the approved copy.
        proof: all lines; parts of those that must be parted for it are added at its end.
        place: the lines of the ticket.
        rules: the allowances made.
    """
    held = [proof[k] for k in place if proof[k][0].home is None]
    way = sheet_in_order(copy, held, rules) if rules.reading_order and held else held
    if way != held:
        sideways = [k for k in place if proof[k][0].home is not None]
        place = [*range(len(proof), len(proof) + len(way)), *sideways]
        proof += way
    return tuple(with_sideways_placed(copy, proof, place, rules))
