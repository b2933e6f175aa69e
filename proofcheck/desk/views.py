"""The desk's pages, and what they ask for: each view takes a request and answers it."""

from __future__ import annotations

import asyncio
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING, Any

import jinja2
from starlette.responses import HTMLResponse, JSONResponse, Response, StreamingResponse

from proofcheck.base.decision_words import BUTTONS
from proofcheck.base.visible import visible
from proofcheck.desk.asked import asked_proof, desk_of
from proofcheck.desk.line_strips import line_strip
from proofcheck.desk.open_proofs import job_at
from proofcheck.desk.reader_now import reader_now
from proofcheck.desk.rows_told import lines_told, proof_told, rows_named
from proofcheck.docket.against import reasons_against
from proofcheck.docket.decided import as_decided
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.own_marks import OF_NO_LINE, OF_THE_TYPE
from proofcheck.docket.record_words import reason_words, waits_for
from proofcheck.docket.signoff import HOW, WORDS

if TYPE_CHECKING:
    from starlette.requests import Request

    from proofcheck.desk.shared import Desk

__all__ = [
    "card",
    "file",
    "jobs",
    "letters",
    "news",
    "one_job",
    "page",
    "papers",
    "picture",
    "proof",
    "readings",
    "rows",
    "state",
]

_MARGIN = 12
"""White beside a sheet for the signs of its marks: its width over this."""
_OWN = ("proofcheck.desk", "files")
_FILES = {
    "desk.css": ("text/css", _OWN),
    "desk.js": ("text/javascript", _OWN),
    "hands.js": ("text/javascript", _OWN),
    # Of the page that shows cards too; what draws them is not loaded for its style alone.
    "page.css": ("text/css", ("proofcheck.results", "page/templates")),
}
"""Files by name: what each is, and its room and folder."""


@lru_cache(maxsize=1)
def _templates() -> jinja2.Environment:
    folder = resources.files("proofcheck.desk").joinpath("files")
    return jinja2.Environment(
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        loader=jinja2.FunctionLoader(lambda name: folder.joinpath(name).read_text("utf-8")),
    )


def page(name: str, desk: Desk, **told: Any) -> HTMLResponse:  # noqa: ANN401
    """One of the desk's pages, made of what it is told."""
    reader = reader_now()
    by = reader or desk.by
    return HTMLResponse(_templates().get_template(name).render(by=by, reader=reader, **told))


def file(request: Request) -> Response:
    """One of the desk's own files."""
    name = request.path_params["name"]
    if name not in _FILES:
        msg = "the desk has no such file"
        raise DocketError(msg)
    room, folder = _FILES[name][1]
    text = resources.files(room).joinpath(folder, name).read_text("utf-8")
    return Response(text, media_type=_FILES[name][0])


def jobs(request: Request) -> Response:
    """All jobs, and what each waits for."""
    desk = desk_of(request)
    rows = []
    for job in reversed(desk.docket.jobs()):
        who, what = waits_for(job)
        rows.append(
            {
                "number": job.number,
                "shown": visible(job.number),
                "customer": visible(job.details.get("customer", "")),
                "proof": job.proof.number if job.proof else 0,
                "name": job.proof.name if job.proof else "no proof yet",
                "who": who,
                "what": visible(what),
            }
        )
    return page("jobs.html", desk, jobs=rows, place=visible(str(desk.docket.store.place)))


def one_job(request: Request) -> Response:
    """One job: its copy, its proofs, its papers, the customer's word, and what bars the press."""
    desk = desk_of(request)
    job = job_at(desk.docket, request.query_params.get("job", ""))
    who, what = waits_for(job)
    reasons = reasons_against(job)
    return page(
        "job.html",
        desk,
        job=job,
        number=visible(job.number),
        details=[(key, visible(value)) for key, value in job.details.items() if value],
        waits=f"{who}: {what}",
        reasons=reason_words(reasons),
        words=WORDS,
        how=[way for way in HOW if way != "signed sheet"],
        signed=desk.signed_words(job),
        visible=visible,
    )


def proof(request: Request) -> Response:
    """A proof laid open."""
    desk, job, held = asked_proof(request)
    report = desk.proofs.of(held).report
    kinds = [(name, name.replace("-", " ")) for name in (*OF_THE_TYPE, *OF_NO_LINE)]
    return page(
        "proof.html",
        desk,
        job=job.number,
        number=visible(job.number),
        held=held,
        customer=visible(job.details.get("customer", "")),
        told=proof_told(job, held, report),
        sheets=[
            {
                "number": s.number,
                "width": s.image.shape[1],
                "height": s.image.shape[0],
                "margin": s.image.shape[1] // _MARGIN,
                "unread": [each.box for each in report.unread if each.sheet == s.number],
            }
            for s in report.sheets
        ],
        unread=[visible(each.words) for each in report.unread],
        latest=held.number == len(job.proofs),
        kinds=kinds,
        buttons=BUTTONS,
    )


def state(request: Request) -> Response:
    """All that is decided on a proof, as JSON; no more than the entry where `seen` is the last."""
    desk, job, held = asked_proof(request)
    entry = job.entries[-1].number
    if request.query_params.get("seen", "") == str(entry):
        return JSONResponse({"entry": entry})
    return JSONResponse(proof_told(job, held, desk.proofs.of(held).report))


def rows(request: Request) -> Response:
    """What has changed with one fault, as JSON: so that news of it costs little."""
    desk, job, held = asked_proof(request)
    ref = request.query_params.get("fault", "")
    return JSONResponse(rows_named(job, held, desk.proofs.of(held).report, ref))


def letters(request: Request) -> Response:
    """The lines of a proof with the places of their letters."""
    desk, _, held = asked_proof(request)
    return JSONResponse(lines_told(desk.proofs.of(held).report))


def card(request: Request) -> Response:
    """One fault: the strip of the proof with the copy's line above it, and its words."""
    desk, _, held = asked_proof(request)
    read, name = desk.proofs.of(held).report, request.query_params.get("fault", "")
    report = as_decided(read, held, plan=False, only=name)
    # What was called no fault is shown as it was read.
    fault = next((each for each in (*report.faults, *read.faults) if each.id == name), None)
    if fault is not None:
        from proofcheck.results.page.fault_page import card_html

        return HTMLResponse(card_html(report, fault, held.number))
    found = next((each for each in held.found if each.id == name), None)
    if found is None:
        msg = f"no fault {visible(name)} on this proof"
        raise DocketError(msg)
    strip = line_strip(read, found.line) if found.status == "revise" else None
    return page("bare.html", desk, found=found, strip=strip, visible=visible)


def picture(request: Request) -> Response:
    """A sheet of the proof."""
    desk, _, held = asked_proof(request)
    number = request.query_params.get("sheet", "0")
    made = desk.proofs.of(held).picture(int(number) if number.isdecimal() else -1)
    return Response(made, media_type="image/webp")


def papers(request: Request) -> Response:
    """One of the papers, drawn now with what is decided."""
    desk, job, held = asked_proof(request)
    return desk.drawn(job, held, request.query_params.get("paper", ""))


def readings(request: Request) -> Response:
    """What is being read, as JSON."""
    desk = desk_of(request)
    told = [
        {"job": r.number, "words": r.words, "done": r.done, "trouble": r.trouble, "place": r.place}
        for r in desk.room.readings()
    ]
    return JSONResponse(told)


async def news(request: Request) -> Response:
    """The news, for as long as the page stays open."""
    desk = desk_of(request)
    await asyncio.sleep(0)
    return StreamingResponse(desk.news.listen(), media_type="text/event-stream")
