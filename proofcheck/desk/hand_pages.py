"""The lists for hands on the desk: slugs to cast, and what to do at the stone, ticked off there."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse, Response

from proofcheck.base.visible import visible
from proofcheck.desk.asked import asked_proof
from proofcheck.desk.open_proofs import job_at, proof_at
from proofcheck.desk.saying import said_json, text_of, whole_of
from proofcheck.desk.views import page
from proofcheck.docket.decided import NOT_DECIDED, disputes_of, undecided_words
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.ticks import LISTS, row_key, rows_of, tick, ticked
from proofcheck.results.castlists.hand_rows import SECTIONS, SlugRow, StoneRow
from proofcheck.results.castlists.list_words import SAFETY, plan_notes

if TYPE_CHECKING:
    from collections.abc import Mapping

    from starlette.requests import Request

    from proofcheck.desk.shared import Desk
    from proofcheck.docket.entry import Entry
    from proofcheck.docket.facts import ProofPulled
    from proofcheck.docket.job import Job
    from proofcheck.recast.plan import RecastPlan
    from proofcheck.results.castlists.hand_rows import HandLists

__all__ = ["hands", "tick_off", "ticks"]

_TITLES = {"machine": "Slugs to cast", "stone": "At the stone"}


def hands(request: Request) -> Response:
    """One of the lists, to be ticked off."""
    desk, job, held = asked_proof(request)
    which = _which(request.query_params.get("list", ""))
    lists, plan = desk.hand_lists(job, held)
    done = ticked(job, held.number, which)
    rows = rows_of(lists, which) if lists else ()
    told = [_row(row, done) for row in rows]
    sections = [
        (title, [row for row in told if row["sort"] == sort])
        for sort, title in ({"cast": ""} if which == "machine" else SECTIONS).items()
    ]
    hand_set = bool(lists and lists.hand_set)
    return page(
        "hands.html",
        desk,
        job=job.number,
        number=visible(job.number),
        held=held,
        which=which,
        title="Lines to set" if hand_set and which == "machine" else _TITLES[which],
        other=[(name, _TITLES[name]) for name in LISTS if name != which],
        sections=[(title, rows) for title, rows in sections if rows],
        count=len(told),
        left=sum(not row["done"] for row in told),
        safety="" if hand_set or which != "machine" else SAFETY,
        notes=_notes(plan, held) if plan and which == "machine" else [],
        disputed=", ".join(found.shown for found in held.found if found.others),
        undecided=_undecided(held, lists, which),
        not_decided=NOT_DECIDED,
        latest=held.number == len(job.proofs),
    )


def _which(name: str) -> str:
    if name not in LISTS:
        msg = f"no list {visible(name)!r}; there are: {', '.join(LISTS)}"
        raise DocketError(msg)
    return name


def _undecided(held: ProofPulled, lists: HandLists | None, which: str) -> str:
    """The numbers of faults that a list is for, though nobody has decided them."""
    rows = lists.stone if lists else ()
    listed = {name for row in rows if which == "stone" or row.new for name in row.faults}
    return undecided_words(held, {found.id for found in held.found if found.shown in listed})


def _notes(plan: RecastPlan, held: ProofPulled) -> list[str]:
    """What the plan comes to, without what stands at the head of the page already."""
    said = {visible(words) for words in disputes_of(held)}
    return [n for n in plan_notes(plan) if n not in said and not n.startswith(NOT_DECIDED)]


def _row(row: SlugRow | StoneRow, done: Mapping[str, Entry]) -> dict[str, Any]:
    key = row_key(row)
    by = done[key].by if key in done else ""
    return {
        "key": key,
        "sort": row.sort if isinstance(row, StoneRow) else "cast",
        "label": row.label if isinstance(row, StoneRow) else str(row.number),
        "runs": row.runs,
        "words": row.words,
        "seat": row.seat if isinstance(row, StoneRow) else "",
        "faults": ", ".join(row.faults) if isinstance(row, StoneRow) else "",
        "new": row.new if isinstance(row, StoneRow) else 0,
        "done": bool(by),
        "by": visible(by),
    }


def ticks(request: Request) -> Response:
    """What is ticked off on a list now, as JSON: the initials by the row's key."""
    desk, job, held = asked_proof(request)
    which = _which(request.query_params.get("list", ""))
    lists, _ = desk.hand_lists(job, held)
    done = ticked(job, held.number, which)
    rows = rows_of(lists, which) if lists else ()
    told = {key: visible(done[key].by) if key in done else "" for key in map(row_key, rows)}
    return JSONResponse({"rows": told, "entry": job.entries[-1].number})


async def tick_off(request: Request) -> Response:
    """A row ticked off, or its tick taken back; on disk when this answers."""
    desk: Desk = request.app.state.desk
    told = await said_json(request)
    return JSONResponse(await run_in_threadpool(_tick, desk, told))


def _tick(desk: Desk, told: dict[str, Any]) -> dict[str, Any]:
    number, which, key = text_of(told, "job"), _which(text_of(told, "list")), text_of(told, "key")
    job: Job = job_at(desk.docket, number)
    held: ProofPulled = proof_at(job, whole_of(told, "proof"))
    lists, _ = desk.hand_lists(job, held)
    row = next((r for r in (rows_of(lists, which) if lists else ()) if row_key(r) == key), None)
    if row is None:
        msg = "the plan is another by now; load the list again"
        raise DocketError(msg)
    done, by = whole_of(told, "done") == 1, text_of(told, "by")
    with desk.saying:
        desk.news.kept.use()
        tick(desk.docket, number, held.number, which, row, done=done, by=by)
    desk.news.stir()
    job = job_at(desk.docket, number)
    entry = ticked(job, held.number, which).get(key)
    return {"by": visible(entry.by) if entry else "", "entry": job.entries[-1].number}
