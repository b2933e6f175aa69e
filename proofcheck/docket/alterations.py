"""Author's alterations: new copy laid against old copy, totted up in slugs and time.

A proof that differs from the copy it was set from shows printer's errors (PE), set right at the
shop's cost; what the customer changes in his copy is an author's alteration (AA) and goes on the
bill by the time it takes (trade custom of the US employing printers' body, 1922).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import TYPE_CHECKING, Any

from rapidfuzz.distance import Levenshtein

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.docket.job import Job
    from proofcheck.docket.shop import Shop

__all__ = [
    "Alteration",
    "Bill",
    "alterations_of",
    "bill_of",
    "charge_of",
    "charge_words",
    "slugs_touched",
    "slugs_words",
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


@dataclass(frozen=True, slots=True)
class Bill:
    """Author's alterations of a job totted up."""

    alterations: int
    slugs: int
    """Cast anew, over-run lines too."""
    taken_out: int
    """Lines that only go."""
    minutes: Decimal | None = None
    """By the shop's rates; None where it has set none for what there is to charge."""
    cost: Decimal | None = None


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


def charge_words(bill: Bill, money: str) -> str:
    """What a bill comes to, in time and money; that no rate is set, where none is."""
    if bill.minutes is None:
        return "no rate is set, no time charged"
    cost = f", {money}{bill.cost}" if bill.cost is not None else ""
    return f"{bill.minutes} minutes{cost}"


def slugs_words(bill: Bill) -> str:
    """The slugs of a bill in words."""
    words = f"{bill.slugs} new slug{'' if bill.slugs == 1 else 's'}"
    gone = f"{bill.taken_out} line{'' if bill.taken_out == 1 else 's'} taken out"
    return f"{words}, {gone}" if bill.taken_out else words


def bill_of(job: Job, shop: Shop) -> Bill:
    """All author's alterations of a job: slugs, and time and money where the shop has rates."""
    changes = sum(len(copy.alterations) for copy in job.copies)
    slugs = sum(copy.new_slugs for copy in job.copies)
    taken_out = sum(copy.taken_out for copy in job.copies)
    times = ((slugs, shop.minutes_a_slug), (taken_out, shop.minutes_a_change))
    charged = [(count, rate) for count, rate in times if count]
    cost = minutes = None
    if all(rate is not None for _, rate in charged):
        minutes = sum((count * rate for count, rate in charged if rate is not None), Decimal(0))
    if shop.hour_costs is not None and minutes is not None:
        cost = (minutes * shop.hour_costs / 60).quantize(Decimal("0.01"), ROUND_HALF_UP)
    return Bill(changes, slugs, taken_out, minutes, cost)
