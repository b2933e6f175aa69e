"""The printed sign-off sheet: what is being approved and its picture, the words, the signature.

Set as the customer's sheet is (`approval_parts`), and beside it the shop's own: all that the docket
says of the job, and everything that was found and is not settled.
"""

from __future__ import annotations

from itertools import islice
from typing import TYPE_CHECKING, TypeAlias

from proofcheck.base.fault_numbers import proof_name
from proofcheck.base.visible import visible
from proofcheck.docket.approval_parts import (
    CHANGED,
    TALL,
    Flow,
    Spot,
    full_height,
    pages_numbered,
    picture,
    places_of,
    sign,
    terms,
)
from proofcheck.docket.decided import paper_of
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.proved import how_taken
from proofcheck.docket.record_words import details_of, to_do
from proofcheck.results.plain_page import MARGIN, plain_pdf

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.docket.facts import Found
    from proofcheck.docket.job import Job
    from proofcheck.docket.shop import Shop
    from proofcheck.docket.verify import Checked
    from proofcheck.results.report import Report

    _Told: TypeAlias = tuple[str, list[tuple[Found, str]]]
    """A head, and what stands under it."""

__all__ = ["sign_off_pdf"]

_SIZE = 9.5
_LABEL = 96.0
"""From the margin to what is said beside a label, in points."""
_MOST = 24
"""Corrections and queries listed before the rest are only counted."""
_ENOUGH = 0.6
"""A picture that would have less of the height it has by itself gets a page of its own."""


def sign_off_pdf(
    job: Job, shop: Shop, checked: Checked, report: Report | None, no_picture: str = ""
) -> bytes:
    """The sheet for the job's latest proof, as the bytes of a PDF.

    Args:
        job: as it stands.
        shop: the shop's choices.
        checked: the record gone through, for the link the sheet bears.
        report: of the latest proof as decided, with its pictures; None where it has none.
        no_picture: why it has none; the sheet says so.

    Raises:
        DocketError: there is no proof to sign, or the record is broken.
    """
    if checked.troubles:
        msg = f"no sheet is made from a broken record: {checked.troubles[0]}"
        raise DocketError(msg)
    if job.proof is None or job.copy is None:
        msg = f"job {visible(job.number)} has no proof to sign off"
        raise DocketError(msg)
    told = _told(job)
    flow, bare = Flow(), Flow()
    _what(bare, job, shop, no_picture)
    _rest(bare, job, checked, told, pictured=report is not None)
    _what(flow, job, shop, no_picture)
    pictures = list(report.sheets) if report is not None else []
    spots = _spots(report, len(job.proofs), told) if report is not None else []
    left = bare.left - 16 if len(bare.pages) == 1 else 0.0
    if len(pictures) == 1 and left > _ENOUGH * full_height(pictures[0]):
        picture(flow, pictures.pop(), spots, left)
    _rest(flow, job, checked, told, pictured=report is not None)
    for sheet in pictures:
        flow.room(full_height(sheet) + 50)
        flow.page.y += 8
        flow.text("B", 12, f"Sheet {sheet.number + 1} of the proof")
        picture(flow, sheet, spots, TALL)
    foot = pages_numbered(flow, job)
    return plain_pdf(flow.pages, f"{foot}: sign-off", paper_of(job, job.proof).name)


def _rest(flow: Flow, job: Job, checked: Checked, told: Sequence[_Told], *, pictured: bool) -> None:
    """All that stands below the head."""
    _still_open(flow, job, told, "framed in the picture" if pictured else "on the marked proof")
    if pictured and any(rows for _, rows in told):
        flow.page.y += 4
        flow.text("P", 8, "What stands on this proof is framed and numbered on its picture.")
    sign(flow)
    terms(flow, job, checked)


def _pair(flow: Flow, label: str, words: str) -> None:
    """A label with what it says beside it."""
    flow.room(_SIZE * 1.35)
    flow.page.put("B", 9, MARGIN, flow.page.y + _SIZE * 1.35, label)
    flow.text("P", _SIZE, visible(words) or "–", MARGIN + _LABEL)


def _what(flow: Flow, job: Job, shop: Shop, no_picture: str) -> None:
    proof, copy = job.proof, job.copy
    if proof is None or copy is None:
        return
    if shop.name:
        flow.text("P", 11, visible(shop.name))
    flow.text("B", 17, f"Proof for approval: job {visible(job.number)}, {proof.name}")
    flow.parted()
    for key, value in details_of(job):
        _pair(flow, visible(key).capitalize(), value)
    local = proof.entry.at.astimezone(shop.clock_zone())
    _pair(flow, "Proof recorded", f"{local:%d %B %Y, %H:%M} {proof.entry.zone}")
    if how_taken(proof):
        _pair(flow, "Not read here", how_taken(proof))
    held = job.copies[proof.copy - 1]
    _pair(flow, f"Copy, version {held.number}", held.name)
    if no_picture:
        _pair(flow, "No picture", f"the proof can't be shown here: {no_picture}")
    if copy.number != proof.copy:
        flow.text("B", 10, CHANGED)
    flow.page.y += 4


def _told(job: Job) -> tuple[_Told, ...]:
    """What is not settled, under its heads."""
    return (
        ("Queries to you", [(f, _asked(f)) for f in job.open_queries]),
        ("Marked to be corrected", [(f, to_do(f)) for f in job.corrections]),
        ("Found, and not yet decided by us", [(f, to_do(f)) for f in job.undecided]),
    )


def _asked(found: Found) -> str:
    return (found.decision.note if found.decision else "") or to_do(found)


def _still_open(flow: Flow, job: Job, told: Sequence[_Told], where: str) -> None:
    """What is not settled; that for which there is no room is counted, and where it is shown."""
    left = _MOST
    for head, rows in told:
        if not rows:
            continue
        flow.room(44)
        flow.page.y += 8
        flow.text("B", 12, head)
        flow.page.y += 2
        for found, words in islice(rows, left):
            of = "" if found.proof == len(job.proofs) else f" ({proof_name(found.proof)})"
            _pair(flow, f"{found.shown}, line {found.line}{of}", words)
        if len(rows) > left:
            rest = f"and {len(rows) - left} more" if left else f"{len(rows)}"
            flow.text("P", _SIZE, f"{rest}, {where}", MARGIN + _LABEL)
        left = max(0, left - len(rows))


def _spots(report: Report, number: int, told: Sequence[_Told]) -> list[Spot]:
    """Where that stands on the sheets of the proof of that number."""
    held = places_of(report)
    return [
        Spot(found.shown, *held[found.id])
        for _, rows in told
        for found, _ in rows
        if found.proof == number and found.id in held
    ]
