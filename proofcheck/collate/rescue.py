"""Short lines that voting can't place and order didn't: a price column, a strayed word."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rapidfuzz.distance import Indel

from proofcheck.collate.edits import How
from proofcheck.collate.place import Loose, loose

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.collate.aligning import Alignment

__all__ = ["found_out_of_place", "not_too_many"]

_MOST_TOGETHER = 4
"""Short lines that are looked for together."""


def found_out_of_place(
    alignment: Alignment, wanted: Mapping[int, str]
) -> dict[int, tuple[int, int]]:
    """Places, in the copy's compared form, of lines that are word for word what is missing.

    So are a few that follow one another, a day over its date, together.
    The missing stretches are used up in their order, so that a column of like prices falls into
    its rows.

    Args:
        alignment: of the other lines.
        wanted: the compared form of lines not in it, by their place in the proof.
    """
    by_text: dict[str, list[tuple[int, int]]] = {}
    within: set[int] = set()
    for edit in alignment.edits:
        if edit.how is How.WORDS and edit.p0 == edit.p1:
            text = alignment.copy[edit.c0 : edit.c1]
            by_text.setdefault(text, []).append((edit.c0, edit.c1))
            around = alignment.stream.text[max(edit.p0 - 1, 0) : edit.p0 + 1]
            if "\n" not in around and edit.p0:
                within.add(edit.c0)
    out: dict[int, tuple[int, int]] = {}
    last = -1
    lines = sorted(wanted)
    for at, line in enumerate(lines):
        if line in out:
            continue
        for end in range(at + 1, min(at + _MOST_TOGETHER, len(lines)) + 1):
            run = lines[at:end]
            places = by_text.get(" ".join(wanted[k] for k in run))
            # Nothing that is missing within a line stands on several of its own.
            if not places or (len(run) > 1 and places[0][0] in within):
                continue
            # On from the last one found, else from the top again.
            first = next((k for k, place in enumerate(places) if place[0] > last), 0)
            last = start = places.pop(first)[0]
            for k in run:
                out[k] = (start, start + len(wanted[k]))
                start += len(wanted[k]) + 1
            break
    return out


def not_too_many(
    alignment: Alignment, doubled: Mapping[int, int], lines: Sequence[Loose]
) -> frozenset[int]:
    """Lines taken for doubled whose like the copy has once more, and lacks just there.

    Args:
        alignment: of the other lines.
        doubled: lines by their place in the proof, and what they seem to repeat.
        lines: all lines, letters and figures only.
    """
    stream = alignment.stream
    out = set()
    for line in doubled:
        # The line's own place is after those before it in the proof.
        rows = [row for row, k in enumerate(stream.order) if k < line]
        gap = int(stream.line_start[rows[-1] + 1]) - 1 if rows else 0
        for edit in alignment.edits:
            here = edit.how is How.WORDS and edit.p0 == edit.p1 and abs(edit.p0 - gap) <= 1
            if here and _holds(alignment.copy[edit.c0 : edit.c1], lines[line]):
                out.add(line)
    return frozenset(out)


def _holds(missing: str, line: Loose) -> bool:
    """Whether a line is like some stretch of what is missing."""
    codes = loose(missing).codes.tolist()
    return Indel.distance(codes, line.codes.tolist()) - abs(
        len(codes) - len(line.codes)
    ) <= 0.3 * len(line.codes) and len(codes) >= 0.7 * len(line.codes)
