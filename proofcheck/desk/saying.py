"""What a person says at the desk: decisions, marks, new jobs and proofs, the customer's word."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse, RedirectResponse, Response

from proofcheck.base.values import Box
from proofcheck.base.visible import visible
from proofcheck.desk.forms import field, files
from proofcheck.desk.open_proofs import job_at, proof_at
from proofcheck.desk.reader_now import reader_now
from proofcheck.desk.reading_room import Dropped
from proofcheck.desk.rows_told import row_told
from proofcheck.docket.decisions import answer_query, decide
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.originals import Original
from proofcheck.docket.own_marks import OwnMark, mark_own
from proofcheck.docket.recording import checked_name, open_job, take_copy
from proofcheck.docket.signoff import Word, sign_off

if TYPE_CHECKING:
    from collections.abc import Callable

    from starlette.requests import Request

    from proofcheck.desk.shared import Desk
    from proofcheck.docket.job import Job

__all__ = [
    "answered",
    "decided",
    "drop_proof",
    "marked",
    "new_job",
    "said_json",
    "signed",
    "text_of",
    "whole_of",
]

_MOST_FILES = 200
_LONGEST_JSON = 20_000
_BOX = ("left", "top", "width", "height")


async def said_json(request: Request) -> dict[str, Any]:
    """What a page says. Raises DocketError for anything but a small group of texts and numbers."""
    body = await request.body()
    if len(body) > _LONGEST_JSON or request.headers.get("content-type") != "application/json":
        msg = "the desk was sent what it does not know"
        raise DocketError(msg)
    try:
        held = await request.json()
    except ValueError as error:
        msg = "the desk was sent what is no JSON"
        raise DocketError(msg) from error
    if not isinstance(held, dict) or any(not isinstance(v, str | int) for v in held.values()):
        msg = "the desk was sent what it does not know"
        raise DocketError(msg)
    # Who came in by the door says nothing in another's name.
    return {**held, "by": reader_now()} if reader_now() else held


def text_of(held: dict[str, Any], name: str) -> str:
    """A text of what a page says. Raises DocketError for anything else."""
    value = held.get(name, "")
    if not isinstance(value, str):
        msg = f"{name} is no text"
        raise DocketError(msg)
    return value


def whole_of(held: dict[str, Any], name: str) -> int:
    """A whole number of what a page says. Raises DocketError for anything else."""
    value = held.get(name)
    if type(value) is not int or not 0 <= value < 1 << 31:
        msg = f"{name} is no number"
        raise DocketError(msg)
    return value


async def _said(request: Request, record: Callable[[Desk, dict[str, Any]], str]) -> Response:
    """Record what is said, and tell the fault as it stands then."""
    desk: Desk = request.app.state.desk
    held = await said_json(request)
    return JSONResponse(await run_in_threadpool(_once, desk, held, record))


def _once(
    desk: Desk, held: dict[str, Any], record: Callable[[Desk, dict[str, Any]], str]
) -> dict[str, Any]:
    """The fault's row; what was said before is not recorded again. `record` names the fault."""
    number, proof, said = text_of(held, "job"), whole_of(held, "proof"), text_of(held, "said")
    with desk.saying:
        desk.news.kept.use()
        if not desk.said_before(said):
            desk.note_said(said, record(desk, held))
            desk.news.stir()
        name = desk.named_before(said)
    return _row(desk, number, proof, name)


async def decided(request: Request) -> Response:
    """A decision, on disk when this answers; one said twice is recorded once."""
    return await _said(request, _decide)


def _decide(desk: Desk, held: dict[str, Any]) -> str:
    name, what, note = text_of(held, "fault"), text_of(held, "what"), text_of(held, "note")
    number, ref = text_of(held, "job"), f"{whole_of(held, 'proof')}/{name}"
    by, charge = text_of(held, "by"), text_of(held, "charge")
    settles = "settles" in held and whole_of(held, "settles") == 1
    if settles:
        _refuse_unseen(job_at(desk.docket, number), ref, whole_of(held, "saw"))
    decide(desk.docket, number, ref, what, by=by, note=note, charge=charge, settles=settles)
    return name


def _refuse_unseen(job: Job, ref: str, saw: int) -> None:
    """What settles is said in sight of all: of the last decision too. `saw` is its place."""
    found = job.at(ref)
    if found is not None and found.decision is not None and found.decision.entry.place != saw:
        msg = f"{found.shown} was decided by {visible(found.decision.by)} meanwhile; look again"
        raise DocketError(msg)


async def answered(request: Request) -> Response:
    """The customer's answer to a query."""
    return await _said(request, _answer)


def _answer(desk: Desk, held: dict[str, Any]) -> str:
    name = text_of(held, "fault")
    answer_query(
        desk.docket,
        text_of(held, "job"),
        f"{whole_of(held, 'proof')}/{name}",
        text_of(held, "what"),
        text_of(held, "words"),
        answered_by=text_of(held, "answered_by"),
        by=text_of(held, "by"),
    )
    return name


async def marked(request: Request) -> Response:
    """A reader's own mark."""
    return await _said(request, _mark)


def _mark(desk: Desk, held: dict[str, Any]) -> str:
    mark = OwnMark(
        line=whole_of(held, "line"),
        start=whole_of(held, "start"),
        end=whole_of(held, "end"),
        wanted=text_of(held, "wanted"),
        kind=text_of(held, "kind"),
        note=text_of(held, "note"),
        box=Box(*(whole_of(held, part) for part in _BOX)) if "left" in held else None,
    )
    number, proof, by = text_of(held, "job"), whole_of(held, "proof"), text_of(held, "by")
    entry = mark_own(desk.docket, number, mark, by=by, proof=proof)
    return str(entry.data["found"]["id"])


def _row(desk: Desk, number: str, proof: int, name: str) -> dict[str, Any]:
    job = job_at(desk.docket, number)
    held = proof_at(job, proof)
    left = sum(found.decision is None for found in held.found)
    row = row_told(job, held, desk.proofs.of(held).report, name)
    return {"row": row, "left": left, "entry": job.entries[-1].number}


async def new_job(request: Request) -> Response:
    """A job opened, with its copy, and its first proof if that is there already."""
    desk: Desk = request.app.state.desk
    async with request.form(max_files=_MOST_FILES, max_fields=20) as form:
        number, by = field(form, "number"), field(form, "by")
        customer = field(form, "customer")
        copies, scans = await files(form, "copy"), await files(form, "scan")
    if len(copies) != 1:
        msg = "give the approved copy, as one file"
        raise DocketError(msg)
    await run_in_threadpool(_open, desk, (number, customer, by), copies[0])
    if scans:
        desk.room.take(Dropped(number, tuple(scans), by))
    return RedirectResponse(_job_url(number), 303)


def _open(desk: Desk, said: tuple[str, str, str], file: tuple[str, bytes]) -> None:
    from proofcheck.copytext import load_copy

    number, customer, by = said
    checked_name(by, "initials")
    with tempfile.TemporaryDirectory(prefix="proofcheck-") as folder:
        # Its ending tells what kind of file it is; nothing else of its name is used.
        path = Path(folder) / f"copy{Path(file[0]).suffix}"
        path.write_bytes(file[1])
        copy = load_copy(path)
    open_job(desk.docket, number, {"customer": customer} if customer else {}, by=by)
    take_copy(desk.docket, number, copy, Original(Path(file[0]).name or "copy", file[1]), by=by)


async def drop_proof(request: Request) -> Response:
    """The next proof of a job; it is read in the background."""
    desk: Desk = request.app.state.desk
    async with request.form(max_files=_MOST_FILES, max_fields=20) as form:
        number, by = field(form, "job"), field(form, "by")
        scans = await files(form, "scan")
    checked_name(by, "initials")
    await run_in_threadpool(job_at, desk.docket, number)
    if not scans:
        msg = "give the scan of the proof, or several in order"
        raise DocketError(msg)
    desk.room.take(Dropped(number, tuple(scans), by))
    return RedirectResponse(_job_url(number), 303)


async def signed(request: Request) -> Response:
    """The customer's word on the latest proof."""
    desk: Desk = request.app.state.desk
    async with request.form(max_files=1, max_fields=20) as form:
        number = field(form, "job")
        word = Word(
            field(form, "words"), field(form, "customer"), field(form, "how"),
            field(form, "note"),
        )  # fmt: skip
        recorder = checked_name(field(form, "by"), "initials")
    await run_in_threadpool(sign_off, desk.docket, number, word, recorded_by=recorder)
    return RedirectResponse(_job_url(number), 303)


def _job_url(number: str) -> str:
    from urllib.parse import quote

    return f"/job?job={quote(number, safe='')}"
