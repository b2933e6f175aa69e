"""Short lines that voting can't place and order didn't: a price column, a strayed word."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.collate.edits import How

if TYPE_CHECKING:
    from collections.abc import Collection

    from proofcheck.collate.lay import Alignment

__all__ = ["found_out_of_place"]


def found_out_of_place(
    alignment: Alignment, foreign: Collection[int]
) -> dict[int, tuple[int, int]]:
    """Places, in the copy's compared form, of foreign lines that are word for word what is missing.

    The missing stretches are used up in their order, so that a column of like prices falls into
    its rows.
    """
    missing = [
        (edit.c0, edit.c1)
        for edit in alignment.edits
        if edit.how is How.WORDS and edit.p0 == edit.p1
    ]
    by_text: dict[str, list[tuple[int, int]]] = {}
    for c0, c1 in missing:
        by_text.setdefault(alignment.copy[c0:c1], []).append((c0, c1))
    out: dict[int, tuple[int, int]] = {}
    last = -1
    for row, line in sorted(enumerate(alignment.stream.order), key=lambda pair: pair[1]):
        places = by_text.get(alignment.stream.parts[row].text)
        if line not in foreign or not places:
            continue
        # On from the last one found, else from the top again.
        at = next((k for k, place in enumerate(places) if place[0] > last), 0)
        out[line] = places.pop(at)
        last = out[line][0]
    return out
