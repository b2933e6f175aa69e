"""What the customer is shown: the proof with what he is asked, his alterations with their cost.

As a sheet it is answered and signed by hand; the words are real type, so that it can be searched.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from proofcheck.base.fault_numbers import proof_name
from proofcheck.base.visible import visible
from proofcheck.docket.approval_parts import (
    CHANGED,
    TALL,
    WIDE,
    Flow,
    Spot,
    pages_numbered,
    picture,
    places_of,
    sign,
    terms,
)
from proofcheck.docket.billing import bill_of, charge_words, slugs_words
from proofcheck.docket.decided import paper_of
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.proved import how_taken
from proofcheck.docket.record_words import counted, to_do
from proofcheck.results.plain_page import MARGIN, plain_pdf

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.docket.facts import Found
    from proofcheck.docket.job import Job
    from proofcheck.docket.shop import Shop
    from proofcheck.docket.verify import Checked
    from proofcheck.results.report import Report

__all__ = [
    "ANSWER",
    "Asked",
    "altered_rows",
    "asked_of",
    "bill_words",
    "customer_pdf",
]

ANSWER = "answer:"
"""What the field of the answer to a query is called, with its reference behind."""
_FIRST_TALL = 240.0
"""So high at least the picture of a single sheet may stand on the first page."""


@dataclass(frozen=True, slots=True)
class Asked:
    """One open query to the customer."""

    number: int
    """On the sheet, from 1."""
    found: Found
    words: str
    line: str
    here: bool
    """Asked on the latest proof."""


def asked_of(job: Job) -> tuple[Asked, ...]:
    """The open queries, in the order they are put."""
    out = []
    for number, found in enumerate(job.open_queries, 1):
        note = found.decision.note if found.decision else ""
        of = "" if found.proof == len(job.proofs) else f" of the {proof_name(found.proof)}"
        out.append(
            Asked(number, found, visible(note) or to_do(found), f"line {found.line}{of}", not of)
        )
    return tuple(out)


def altered_rows(job: Job) -> list[tuple[str, str, str]]:
    """Each author's alteration: what it was, what it is, and the slugs that go for it."""
    return [
        (visible(change["was"]), visible(change["now"]), counted(len(change["slugs"]), "slug"))
        for copy in job.copies
        for change in copy.alterations
    ]


def bill_words(job: Job, shop: Shop) -> str:
    """What the alterations come to, in a line; "" where there are none."""
    bill = bill_of(job, shop)
    if not bill.alterations:
        return ""
    words = counted(bill.alterations, "alteration")
    return f"{words}, {slugs_words(bill)}, {charge_words(bill, visible(shop.money))}"


def customer_pdf(job: Job, shop: Shop, checked: Checked, report: Report) -> bytes:
    """The sheet as the bytes of a PDF.

    Args:
        job: as it stands.
        shop: the shop's choices.
        checked: the record gone through, for the link the sheet bears.
        report: of the latest proof as decided, with its pictures.

    Raises:
        DocketError: there is no proof.
    """
    if job.proof is None or job.copy is None:
        msg = f"job {visible(job.number)} has no proof to sign off"
        raise DocketError(msg)
    flow = Flow()
    _head(flow, job, shop)
    asked = asked_of(job)
    spots = _spots(report, asked)
    single = len(report.sheets) == 1
    if single:
        bare = Flow()
        _head(bare, job, shop)
        _words(bare, job, shop, asked, checked)
        # As large as leaves all on one page: it is what is approved.
        left = bare.left - 16 if len(bare.pages) == 1 else 0.0
        picture(flow, report.sheets[0], spots, max(_FIRST_TALL, left))
    _words(flow, job, shop, asked, checked)
    for at in range(0 if not single else 1, len(report.sheets)):
        flow.over()
        flow.text("B", 12, f"Sheet {at + 1} of the proof")
        picture(flow, report.sheets[at], spots, TALL)
    foot = pages_numbered(flow, job)
    return plain_pdf(flow.pages, f"{foot}: for approval", paper_of(job, job.proof).name)


def _words(flow: Flow, job: Job, shop: Shop, asked: Sequence[Asked], checked: Checked) -> None:
    """What the customer is asked, what alterations cost, and where to sign."""
    _queries(flow, asked)
    _alterations(flow, job, shop)
    sign(flow)
    terms(flow, job, checked)


def _spots(report: Report, asked: Sequence[Asked]) -> list[Spot]:
    """Where on the sheets the queries of this proof stand."""
    held = places_of(report)
    return [
        Spot(str(one.number), *held[one.found.id])
        for one in asked
        if one.here and one.found.id in held
    ]


def _head(flow: Flow, job: Job, shop: Shop) -> None:
    if shop.name:
        flow.text("P", 11, visible(shop.name))
    proof = job.proof
    name = proof.name if proof is not None else ""
    flow.text("B", 17, f"For your approval: job {visible(job.number)}, {name}")
    details = [("customer", "for"), ("quantity", ""), ("stock", ""), ("ink", ""), ("size", "")]
    said = [
        f"{word} {visible(job.details[key])}".strip()
        for key, word in details
        if job.details.get(key)
    ]
    if said:
        flow.text("P", 10, "; ".join(said))
    if proof is not None and job.copy is not None and job.copy.number != proof.copy:
        flow.text("B", 10, CHANGED)
    taken = how_taken(proof) if proof is not None else ""
    if taken:
        flow.text("P", 9, f"This proof was not read here: {visible(taken)}.")
    flow.parted()


def _queries(flow: Flow, asked: Sequence[Asked]) -> None:
    if not asked:
        return
    flow.room(90)
    flow.text("B", 12, "We ask you")
    for one in asked:
        flow.room(62)
        flow.page.y += 6
        top = flow.page.y + 13.5
        flow.page.put("B", 10, MARGIN, top, f"{one.number}.")
        flow.text("P", 10, f"{one.words} ({one.line})", MARGIN + 18)
        flow.page.y += 16
        for k, words in enumerate(("yes, change it", "no, leave it as it is")):
            told = f"{ANSWER}{one.found.ref}", ("correct", "stand")[k]
            flow.page.tick(*told, MARGIN + 18 + k * 110, flow.page.y + 1, 9)
            flow.page.put("P", 9, MARGIN + 32 + k * 110, flow.page.y, words)
        flow.page.rule(MARGIN + 255, flow.page.y, WIDE - 255)
        flow.page.y += 4


def _alterations(flow: Flow, job: Job, shop: Shop) -> None:
    rows = altered_rows(job)
    if not rows:
        return
    flow.room(60)
    flow.page.y += 10
    flow.text("B", 12, "Your alterations of the copy")
    for was, now, slugs in rows:
        flow.text("P", 9.5, f"“{was}” now “{now}”: {slugs}")
    flow.text("B", 10, f"Together {bill_words(job, shop)}.")
