"""The customer at the desk: the proof, what is asked, what the alterations cost, the word given."""

from __future__ import annotations

from typing import TYPE_CHECKING
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from proofcheck.base.visible import visible
from proofcheck.desk.asked import asked_proof
from proofcheck.desk.forms import field
from proofcheck.desk.open_proofs import job_at
from proofcheck.desk.views import page
from proofcheck.docket.decisions import answer_query
from proofcheck.docket.signoff import HOW, WORDS

if TYPE_CHECKING:
    from starlette.requests import Request

    from proofcheck.desk.shared import Desk

__all__ = ["customer", "customer_answers"]

_FIELDS = ("job", "fault", "what", "words", "named", "by")


def customer(request: Request) -> Response:
    """The page: the latest proof of a job for its customer."""
    from proofcheck.docket.approval_parts import MEANING
    from proofcheck.docket.customer_sheet import altered_rows, asked_of, bill_words

    desk, job, held = asked_proof(request)
    report = desk.proofs.of(held).report
    places = {fault.id: (fault.sheet, fault.box) for fault in report.faults}
    places |= {
        found.id: (int(found.place["sheet"]), found.place["box"])
        for found in held.found
        if found.place is not None
    }
    asked = asked_of(job)
    spots = [
        {"number": one.number, "sheet": places[one.found.id][0], "box": places[one.found.id][1]}
        for one in asked
        if one.found.proof == held.number and one.found.id in places
    ]
    return page(
        "customer.html",
        desk,
        job=job.number,
        number=visible(job.number),
        customer=visible(job.details.get("customer", "")),
        held=held,
        latest=held.number == len(job.proofs),
        asked=asked,
        spots=spots,
        sheets=[
            {"number": s.number, "width": s.image.shape[1], "height": s.image.shape[0]}
            for s in report.sheets
        ],
        alterations=altered_rows(job),
        bill=bill_words(job, desk.docket.shop),
        words=WORDS,
        meaning=MEANING,
        how=[way for way in HOW if way != "signed sheet"],
        signed=desk.signed_words(job),
    )


async def customer_answers(request: Request) -> Response:
    """The customer's answer to one query, given at the desk."""
    desk: Desk = request.app.state.desk
    async with request.form(max_files=0, max_fields=20) as form:
        told = {name: field(form, name) for name in _FIELDS}

    def record() -> None:
        said = told["words"] or {"correct": "yes, change it", "stand": "no, leave it"}.get(
            told["what"], ""
        )
        answer_query(
            desk.docket, told["job"], told["fault"], told["what"], said,
            answered_by=told["named"], by=told["by"],
        )  # fmt: skip

    await run_in_threadpool(record)
    desk.news.stir()
    latest = len(job_at(desk.docket, told["job"]).proofs)
    return RedirectResponse(f"/customer?job={quote(told['job'], safe='')}&proof={latest}", 303)
