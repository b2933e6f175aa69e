"""Author's alterations: new copy laid against old copy, totted up in slugs and time.

A proof that differs from the copy it was set from shows printer's errors (PE), set right at the
shop's cost; what the customer changes in his copy is an author's alteration (AA) and goes on the
bill by the time it takes (trade custom of the US employing printers' body, 1922).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from rapidfuzz.distance import Levenshtein

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence


__all__ = [
    "Alteration",
    "alterations_of",
    "charge_of",
    "slugs_touched",
]


@dataclass(frozen=True, slots=True)
class Alteration:
    """One place where the new copy is not the old."""

    old: tuple[int, int]
    """Code points of the old copy, end exclusive; empty where something was put in."""
    new: tuple[int, int]
    was: str
    now: str

    @property
    def prints_alike(self) -> bool:
        """Whether both are the same on paper (another shape of a quote): nothing is to be set."""
        from proofcheck.collate.same import compared

        return compared(self.was, typed=True).text == compared(self.now, typed=True).text


def alterations_of(old: str, new: str) -> tuple[Alteration, ...]:
    """Where the new copy parts from the old, word by word; white space alone is no change."""
    a, b = _words(old), _words(new)
    opcodes = Levenshtein.opcodes([word for word, _, _ in a], [word for word, _, _ in b])
    found: list[Alteration] = []
    before: tuple[int, int] | None = None
    for code in opcodes:
        if code.tag == "equal":
            before = None
            continue
        was = _span(a, code.src_start, code.src_end)
        now = _span(b, code.dest_start, code.dest_end)
        if before is not None:
            # A replacement and what is put in or taken out beside it are one change.
            last = found.pop()
            was, now = _joined(last.old, was), _joined(last.new, now)
        found.append(Alteration(was, now, old[slice(*was)], new[slice(*now)]))
        before = was
    return tuple(found)


def _words(text: str) -> list[tuple[str, int, int]]:
    return [(match.group(), match.start(), match.end()) for match in re.finditer(r"\S+", text)]


def _span(words: Sequence[tuple[str, int, int]], start: int, end: int) -> tuple[int, int]:
    if start < end:
        return words[start][1], words[end - 1][2]
    at = words[start - 1][2] if start else 0
    return at, at


def _joined(a: tuple[int, int], b: tuple[int, int]) -> tuple[int, int]:
    held = [span for span in (a, b) if span[0] < span[1]] or [a]
    return min(span[0] for span in held), max(span[1] for span in held)


def slugs_touched(alteration: Alteration, lines: Sequence[Mapping[str, Any]]) -> tuple[int, ...]:
    """Numbers of the printed lines (of a report on the old copy) that an alteration falls in.

    Words carried over to later lines are not among them: for those see `overrun`.
    """
    start, end = alteration.old
    placed = [(line["number"], line["copy"]) for line in lines if line["copy"] is not None]
    if start < end:
        return tuple(number for number, (a, b) in placed if a < end and start < b)
    before = [(b, number) for number, (a, b) in placed if a <= start]
    return (max(before)[1],) if before else ()


def charge_of(
    copy_span: tuple[int, int], printed: str, altered: Sequence[Mapping[str, Any]]
) -> str:
    """Whether a fault is an author's alteration not yet set ("AA") or a printer's error ("PE").

    Args:
        copy_span: the fault's place in the new copy.
        printed: what stands on the proof there.
        altered: alterations of that copy as recorded (`new`, `was`).
    """
    start, end = copy_span
    for change in altered:
        a, b = change["new"]
        # Only where one of them is a mere gap is it enough that they touch.
        gap = start == end or a == b
        meet = start <= b and a <= end if gap else start < b and a < end
        if meet and _squeezed(printed) in _squeezed(change["was"]):
            return "AA"
    return "PE"


def _squeezed(text: str) -> str:
    return "".join(text.split()).casefold()
