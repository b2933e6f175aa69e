"""The bill for a terminal: each slug that is charged and why, and what is not charged."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.docket.billing import bill_lines, bill_of, charge_words, slugs_words
from proofcheck.docket.record_words import counted
from proofcheck.docket.show import table

if TYPE_CHECKING:
    from proofcheck.docket.billing import BillLine
    from proofcheck.docket.book import Docket
    from proofcheck.docket.facts import Found
    from proofcheck.docket.job import Job
    from proofcheck.docket.shop import Shop

__all__ = ["bill_text"]


def bill_text(docket: Docket, job: Job, shop: Shop) -> str:
    """Author's alterations slug by slug and totted up, with what is not charged beside."""
    lines = [f"Job {visible(job.number)}: author's alterations"]
    lines += ["  " + line for line in table([_row(one) for one in bill_lines(docket, job)])]
    bill = bill_of(job, shop)
    charged = charge_words(bill, visible(shop.money))
    rate = shop.minutes_a_slug
    each = f" ({rate} minutes a slug)" if bill.minutes is not None and rate is not None else ""
    lines.append(f"  {bill.alterations} AA, {slugs_words(bill)}, {charged}{each}")
    alike = sum(copy.alike for copy in job.copies)
    if alike:
        lines.append(f"  {counted(alike, 'change')} of the copy printing alike, not charged")
    stood = sum(map(_is_let_stand, job.found))
    if stood:
        lines.append(f"  {counted(stood, 'place')} let pass, not charged")
    pe = sum(map(_is_printers, job.found))
    lines.append(f"  {pe} PE found on {counted(len(job.proofs), 'proof')}, not charged")
    return "\n".join(lines) + "\n"


def _row(one: BillLine) -> tuple[str, ...]:
    change = f"“{visible(one.was)}” → “{visible(one.now)}”" if one.was or one.now else ""
    why = visible(one.why) + ("" if one.charged else ", not charged")
    where = f"copy {one.copy}" if one.copy else "by hand"
    return where, f"slug {one.slug}" if one.slug else "", change, why


def _is_printers(found: Found) -> bool:
    """Whether it counts as a printer's error: not what was let stand, or wrongly alleged."""
    own = found.charged == "PE" and found.status in {"fault", "reader"}
    return own and not found.settled and not found.carried_from


def _is_let_stand(found: Found) -> bool:
    decided = found.decision is not None and found.decision.what == "stand"
    return decided and found.settled and not found.carried_from
