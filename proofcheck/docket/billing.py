"""The bill slug by slug: which slug is charged, and why; and what is not charged, and why not.

By the custom of the trade (US employing printers' body, 1922) the customer pays for what he altered
by the time it takes, and the shop for its own errors. Time and money are only ever reckoned by
rates the shop has set.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import TYPE_CHECKING, Any

from proofcheck.docket.alterations import Alteration, slugs_touched

if TYPE_CHECKING:
    from collections.abc import Container, Mapping, Sequence

    from proofcheck.docket.book import Docket
    from proofcheck.docket.facts import CopyVersion, Found, ProofPulled
    from proofcheck.docket.job import Job
    from proofcheck.docket.shop import Shop

__all__ = ["Bill", "BillLine", "bill_lines", "bill_of", "charge_words", "let_pass", "slugs_words"]


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


@dataclass(frozen=True, slots=True)
class BillLine:
    """One slug, or one change that goes with none."""

    copy: int
    """Version of the copy that asks for it; 0 for what a person charged to the customer."""
    slug: int
    """Printed line of the proof it was reckoned on; 0 for none."""
    was: str
    now: str
    why: str
    """Why it goes, or why it is not charged."""
    charged: bool = True


def bill_of(job: Job, shop: Shop) -> Bill:
    """All author's alterations of a job: slugs, and time and money where the shop has rates.

    Not charged is what was let pass: an alteration that was let stand unset, or that a person put
    to the shop's own cost. A printer's error that a person charged to the customer is one slug a
    line.
    """
    passed = let_pass(job)
    changes = sum(len(copy.alterations) for copy in job.copies) - len(passed)
    slugs = sum(
        max(0, copy.new_slugs - len(_slugs_of_none(copy, passed))) for copy in job.copies
    ) + len({(found.proof, found.line) for found in _charged_by_hand(job)})
    taken_out = sum(copy.taken_out for copy in job.copies)
    times = ((slugs, shop.minutes_a_slug), (taken_out, shop.minutes_a_change))
    charged = [(count, rate) for count, rate in times if count]
    cost = minutes = None
    if all(rate is not None for _, rate in charged):
        minutes = sum((count * rate for count, rate in charged if rate is not None), Decimal(0))
    if shop.hour_costs is not None and minutes is not None:
        cost = (minutes * shop.hour_costs / 60).quantize(Decimal("0.01"), ROUND_HALF_UP)
    return Bill(changes, slugs, taken_out, minutes, cost)


def let_pass(job: Job) -> dict[tuple[int, int], str]:
    """Alterations not charged, each by its copy's version and which of its: why it is not."""
    out = {}
    for copy in job.copies:
        lifted = _lifted(job, copy)
        for at, change in enumerate(copy.alterations):
            why = next((why for found, why in lifted if _is_of(found, change)), "")
            if why:
                out[copy.number, at] = why
    return out


def _lifted(job: Job, copy: CopyVersion) -> list[tuple[Found, str]]:
    """Places of an alteration by which it is not charged: let stand unset, or put to the shop.

    What two decide differently is charged to nobody till it is settled.
    """
    out = []
    for proof in job.proofs:
        for found in proof.found if proof.copy == copy.number else ():
            decision = found.decision
            if found.charge != "AA" or decision is None:
                continue
            shop = [one.by for one in (decision, *found.beside) if one.charge == "PE"]
            if found.settled and decision.what == "stand":
                out.append((found, "let stand unset"))
            elif shop:
                out.append((found, f"{found.shown}, put to the shop by {shop[0]}"))
    return out


def _is_of(found: Found, change: Mapping[str, Any]) -> bool:
    (a, b), (start, end) = change["new"], found.copy
    gap = a == b or start == end
    return bool(start <= b and a <= end if gap else start < b and a < end)


def _slugs_of_none(copy: CopyVersion, passed: Container[tuple[int, int]]) -> set[int]:
    """Slugs that went for alterations let pass, and for no other."""
    gone: set[int] = set()
    kept: set[int] = set()
    for at, change in enumerate(copy.alterations):
        (gone if (copy.number, at) in passed else kept).update(change["slugs"])
    return gone - kept


def _charged_by_hand(job: Job) -> list[Found]:
    """Printer's errors by the reckoning that a person charged to the customer, to be corrected."""
    return [
        found
        for found in job.found
        if found.decision is not None
        and found.decision.charge == "AA"
        and found.decision.what == "correct"
        and found.charge != "AA"
        and not found.others
        and not found.carried_from
    ]


# ------------------------------------------------------------------ slug by slug


def bill_lines(docket: Docket, job: Job) -> tuple[BillLine, ...]:
    """Every slug that goes for the customer's alterations, with what was altered in it.

    Args:
        docket: where the reports lie that the alterations were reckoned on.
        job: of that docket.
    """
    out: list[BillLine] = []
    passed = let_pass(job)
    for copy in job.copies:
        proof = _reckoned_on(job, copy)
        lines = _lines_of(docket, proof) if proof is not None else []
        exact = proof is not None and proof.copy == copy.number - 1
        seen: set[int] = set()
        for at, change in enumerate(copy.alterations):
            why = passed.get((copy.number, at), "")
            out += _of_change(copy, change, lines if exact else [], seen, not_charged=why)
    out += [
        BillLine(0, found.line, found.printed, found.wanted, _by_hand(found))
        for found in _charged_by_hand(job)
    ]
    return tuple(out)


def _of_change(
    copy: CopyVersion,
    change: Mapping[str, Any],
    lines: Sequence[Mapping[str, Any]],
    seen: set[int],
    *,
    not_charged: str,
) -> list[BillLine]:
    was, now = str(change["was"]), str(change["now"])
    slugs = list(change["slugs"])
    if not_charged:
        return [BillLine(copy.number, n, was, now, not_charged, charged=False)
                for n in slugs or [0]]  # fmt: skip
    if not slugs:
        return [BillLine(copy.number, 0, was, now, "no slug goes for it", charged=False)]
    told = Alteration(tuple(change["old"]), tuple(change["new"]), was, now)
    touched = set(slugs_touched(told, lines)) & set(slugs) or {slugs[0]}
    out = []
    for number in slugs:
        why = "altered" if number in touched else f"run over after slug {max(touched)}"
        again = number in seen
        words = (was, now) if number in touched else ("", "")
        if number in touched or not again:
            why = f"{why}, in the same slug" if again else why
            out.append(BillLine(copy.number, number, *words, why, charged=not again))
        seen.add(number)
    return out


def _by_hand(found: Found) -> str:
    by = found.decision.by if found.decision is not None else ""
    return f"{found.shown}, charged to the customer by {by}"


def _reckoned_on(job: Job, copy: CopyVersion) -> ProofPulled | None:
    """The proof that stood when the copy was taken in."""
    before = [proof for proof in job.proofs if proof.entry.place < copy.entry.place]
    return before[-1] if before else None


def _lines_of(docket: Docket, proof: ProofPulled) -> list[Mapping[str, Any]]:
    report = json.loads(docket.originals.read(proof.report_sha256))
    return list(report["lines"])


# ------------------------------------------------------------------ in words


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
