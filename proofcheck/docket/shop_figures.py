"""Figures of the shop, by each thing the docket knows: kind, cause, sort, machine, face and so on.

Faults of the type stand beside what the tool said of sound type (alleged wrongly) and what a reader
saw and it did not (missed): by these two it is judged.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from typing import TYPE_CHECKING

from proofcheck.base.visible import visible

if TYPE_CHECKING:
    from collections.abc import Iterable

    from proofcheck.docket.facts import Found, ProofPulled
    from proofcheck.docket.job import Job
    from proofcheck.docket.shop import Shop

__all__ = ["GROUPS", "ShopFigures", "ShopRow", "shop_csv", "shop_figures"]

GROUPS = {
    "kind": "Kind of fault",
    "cause": "Likely cause",
    "sort": "Mat or sort",
    "machine": "Machine",
    "face": "Face",
    "operator": "Operator",
    "customer": "Customer",
    "week": "Week",
}
"""By what is counted, and its heading."""
_OF_A_FAULT = frozenset({"kind", "cause", "sort"})
"""Said of each fault; the others of a whole proof, which has its own ems."""


@dataclass(slots=True)
class ShopRow:
    """One name counted: a kind, a machine, a week."""

    group: str
    """One of `GROUPS`, or "" for all together."""
    name: str
    proofs: int = 0
    faults: int = 0
    """Of the type, printer's errors: alleged and not taken back, queries granted, readers' marks;
    none that is let stand, or carried from an earlier proof."""
    missed: int = 0
    """Those of them that a reader saw and the tool did not."""
    wrongly: int = 0
    """What the tool said of sound type, by a person's decision."""
    ems: int = 0
    """Matter on the proofs whose ems are on record; 0 where none are."""
    measured: int = 0
    """Faults on those proofs."""
    wrongly_measured: int = 0

    @property
    def a_thousand(self) -> float | None:
        """Faults for a thousand ems; None where no ems are known."""
        return 1000 * self.measured / self.ems if self.ems else None

    @property
    def wrongly_a_thousand(self) -> float | None:
        """Wrongly alleged for a thousand ems; None likewise."""
        return 1000 * self.wrongly_measured / self.ems if self.ems else None


@dataclass(frozen=True, slots=True)
class ShopFigures:
    """All of them."""

    whole: ShopRow
    rows: tuple[ShopRow, ...]
    """In the order of `GROUPS`; of each the most faults first, weeks by date."""

    def of(self, group: str) -> tuple[ShopRow, ...]:
        """Those of one group."""
        return tuple(row for row in self.rows if row.group == group)


def shop_figures(jobs: Iterable[Job], shop: Shop) -> ShopFigures:
    """Count what all proofs on record show."""
    whole = ShopRow("", "all")
    held: dict[tuple[str, str], ShopRow] = {}

    def row(group: str, name: str) -> ShopRow:
        return held.setdefault((group, name), ShopRow(group, name))

    for job in jobs:
        for proof in job.proofs:
            of_proof = [row(*named) for named in _of_the_proof(job, proof, shop)]
            ems = _ems(proof)
            for each in (whole, *of_proof):
                each.proofs += 1
                each.ems += ems
            for found in proof.found:
                own = [row(*named) for named in _of_the_fault(found)]
                for each in (whole, *of_proof, *own):
                    _count(each, found, measured=ems > 0)
    kept = [each for each in held.values() if each.faults or each.wrongly or each.proofs]
    for each in kept:
        if each.group in _OF_A_FAULT:
            each.ems, each.proofs = whole.ems, whole.proofs
    return ShopFigures(whole, tuple(sorted(kept, key=_order)))


def _order(row: ShopRow) -> tuple[object, ...]:
    first = 0 if row.group == "week" else -(row.faults + row.wrongly)
    return list(GROUPS).index(row.group), first, row.name


def _ems(proof: ProofPulled) -> int:
    return int(proof.read.get("ems", 0)) if proof.read is not None else 0


def _of_the_proof(job: Job, proof: ProofPulled, shop: Shop) -> list[tuple[str, str]]:
    year, week, _ = proof.entry.at.astimezone(shop.clock_zone()).isocalendar()
    named = [(key, job.details.get(key, "").strip()) for key in ("machine", "face", "customer")]
    if shop.operators_in_figures:
        named.append(("operator", proof.people.get("operator", "").strip()))
    return [*((key, name) for key, name in named if name), ("week", f"{year}-W{week:02d}")]


def _of_the_fault(found: Found) -> list[tuple[str, str]]:
    named = [("kind", found.kind.replace("-", " "))]
    if found.cause:
        named.append(("cause", found.cause))
    if 0 < len(found.wanted) <= 2 and 0 < len(found.printed) <= 2:
        other = found.wanted != found.printed
        named.append(("sort", f"{found.wanted} printed {found.printed}" if other else found.wanted))
    return named


def _count(row: ShopRow, found: Found, *, measured: bool) -> None:
    if found.carried_from:
        return  # The same fault, missed on the revise.
    if found.settled and found.decision is not None and found.decision.what == "sound":
        row.wrongly += 1
        row.wrongly_measured += measured
        return
    saw = found.decision is not None and found.decision.what == "correct"
    by_reader = found.status == "reader" and saw
    granted = found.status == "query" and saw
    if (found.status == "fault" or by_reader or granted) and (
        found.charged == "PE" and not found.settled
    ):
        row.faults += 1
        row.measured += measured
        row.missed += by_reader


def shop_csv(figures: ShopFigures) -> str:
    """The figures as CSV (RFC 4180), a row a name; the first of all together.

    What a spreadsheet could take for a formula gets an apostrophe before it.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
    writer.writerow(
        ("by", "name", "proofs", "faults", "missed_by_the_tool", "alleged_wrongly", "ems",
         "faults_per_1000_ems", "alleged_wrongly_per_1000_ems")
    )  # fmt: skip
    for row in (figures.whole, *figures.rows):
        name = visible(row.name)
        name = f"'{name}" if name.startswith(("=", "+", "-", "@")) else name
        rates = (row.a_thousand, row.wrongly_a_thousand)
        writer.writerow(
            (row.group or "all", name, row.proofs, row.faults, row.missed, row.wrongly, row.ems,
             *("" if rate is None else round(rate, 3) for rate in rates))
        )  # fmt: skip
    return out.getvalue()
