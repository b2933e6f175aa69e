"""Figures over time: which sorts, mats and operators' lines give which faults."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.docket.record_words import counted
from proofcheck.docket.show import table

if TYPE_CHECKING:
    from collections.abc import Iterable

    from proofcheck.docket.facts import Found
    from proofcheck.docket.job import Job
    from proofcheck.docket.shop import Shop

__all__ = ["Figures", "figures_of", "figures_text"]

_SHOWN = 20


@dataclass(frozen=True, slots=True)
class Figures:
    """Faults counted; those let stand are no faults, nor are author's alterations."""

    proofs: int
    faults: int
    alleged_wrongly: int
    """What was said of sound type, by a person's decision: no fault, and the tool's own error."""
    kinds: Counter[str]
    causes: Counter[str]
    sorts: Counter[tuple[str, str]]
    """For each pair: what the copy has and what was printed, one or two letters each."""
    operators: Counter[tuple[str, str]]
    """Initials and kind; empty where the shop does not wish it."""


def figures_of(jobs: Iterable[Job], shop: Shop) -> Figures:
    """Count the faults of all proofs on record."""
    proofs = faults = wrongly = 0
    kinds: Counter[str] = Counter()
    causes: Counter[str] = Counter()
    sorts: Counter[tuple[str, str]] = Counter()
    operators: Counter[tuple[str, str]] = Counter()
    for job in jobs:
        for proof in job.proofs:
            proofs += 1
            wrongly += sum(map(_is_alleged_wrongly, proof.found))
            for found in filter(_counts, proof.found):
                faults += 1
                kinds[found.kind] += 1
                if found.cause:
                    causes[found.cause] += 1
                if 0 < len(found.wanted) <= 2 and 0 < len(found.printed) <= 2:
                    sorts[found.wanted, found.printed] += 1
                who = proof.people.get("operator", "")
                if who and shop.operators_in_figures:
                    operators[who, found.kind] += 1
    return Figures(proofs, faults, wrongly, kinds, causes, sorts, operators)


def _counts(found: Found) -> bool:
    own = found.status == "fault" and found.charged == "PE"
    # A fault missed on the revise is the same fault.
    return own and not found.settled and not found.carried_from


def _is_alleged_wrongly(found: Found) -> bool:
    decision = found.decision
    sound = decision is not None and decision.what == "sound"
    return sound and found.settled and not found.carried_from


def figures_text(figures: Figures) -> str:
    """The figures for a terminal."""
    lines = [f"{counted(figures.faults, 'fault')} on {counted(figures.proofs, 'proof')}"]
    if figures.alleged_wrongly:
        lines.append(f"alleged of sound type, by decision: {figures.alleged_wrongly}")
    lines += _part("by kind", [(kind, n) for kind, n in figures.kinds.most_common(_SHOWN)])
    lines += _part("by likely cause", figures.causes.most_common(_SHOWN))
    pairs = [(f"{w} printed {p}", n) for (w, p), n in figures.sorts.most_common(_SHOWN)]
    lines += _part("by mat or sort", pairs)
    operators = [(f"{who} {kind}", n) for (who, kind), n in figures.operators.most_common(_SHOWN)]
    lines += _part("by operator", operators)
    return "\n".join(lines) + "\n"


def _part(head: str, counted: list[tuple[str, int]]) -> list[str]:
    if not counted:
        return []
    return ["", head, *("  " + line for line in table([(str(n), visible(w)) for w, n in counted]))]
