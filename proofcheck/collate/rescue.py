"""Short lines that voting can't place and order didn't: a price column, a strayed word."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.collate.edits import How

if TYPE_CHECKING:
    from collections.abc import Mapping

    from proofcheck.collate.lay import Alignment

__all__ = ["found_out_of_place"]


def found_out_of_place(
    alignment: Alignment, wanted: Mapping[int, str]
) -> dict[int, tuple[int, int]]:
    """Places, in the copy's compared form, of lines that are word for word what is missing.

    The missing stretches are used up in their order, so that a column of like prices falls into
    its rows.

    Args:
        alignment: of the other lines.
        wanted: the compared form of lines not in it, by their place in the proof.
    """
    by_text: dict[str, list[tuple[int, int]]] = {}
    for edit in alignment.edits:
        if edit.how is How.WORDS and edit.p0 == edit.p1:
            text = alignment.copy[edit.c0 : edit.c1]
            by_text.setdefault(text, []).append((edit.c0, edit.c1))
    out: dict[int, tuple[int, int]] = {}
    last = -1
    for line in sorted(wanted):
        places = by_text.get(wanted[line])
        if not places:
            continue
        # On from the last one found, else from the top again.
        at = next((k for k, place in enumerate(places) if place[0] > last), 0)
        out[line] = places.pop(at)
        last = out[line][0]
    return out
