"""The desk put together: its views, its guard, and what they share."""

from __future__ import annotations

import asyncio
import importlib
from contextlib import asynccontextmanager, suppress
from typing import TYPE_CHECKING

from starlette.applications import Starlette
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.routing import Route

from proofcheck.base.errors import ProofcheckError
from proofcheck.base.visible import visible
from proofcheck.desk import come_back, customer_page, figures_page, hand_pages, saying, views
from proofcheck.desk.door import Door
from proofcheck.desk.guard import Guard
from proofcheck.desk.service import SERVICE_ROUTES
from proofcheck.desk.views import page

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Callable

    from starlette.requests import Request
    from starlette.types import ASGIApp

    from proofcheck.desk.admitted import Readers
    from proofcheck.desk.shared import Desk

__all__ = ["make_site"]


def make_site(
    desk: Desk, hosts: tuple[str, ...], readers: Callable[[], Readers] | None = None
) -> ASGIApp:
    """The desk as an application.

    Args:
        desk: what its views share.
        hosts: names and ports it is called by ("127.0.0.1:8765").
        readers: who may come in from other machines; None for a desk on its own machine alone.
    """

    @asynccontextmanager
    async def opened(_: Starlette) -> AsyncIterator[None]:
        tasks = [asyncio.create_task(desk.news.watch()), asyncio.create_task(_made_ready())]
        yield
        for task in tasks:
            task.cancel()
            with suppress(asyncio.CancelledError):
                await task
        desk.service.proofs.close()
        desk.room.close()
        desk.news.kept.let_go()

    app = Starlette(routes=_ROUTES, lifespan=opened, exception_handlers={ProofcheckError: _told})
    app.state.desk = desk
    if readers is None:
        return Guard(app, hosts)
    return Guard(Door(app, readers, lambda wrong: page("enter.html", desk, wrong=wrong)), hosts)


async def _made_ready() -> None:
    """Load what the first proof will need, once the first page is there."""
    await asyncio.sleep(_FIRST_PAGE_S)
    for name in _NEEDED:
        await asyncio.to_thread(importlib.import_module, f"proofcheck.{name}")


_FIRST_PAGE_S = 1.5
_NEEDED = ("results.page.fault_page", "papers_job", "recast.plan", "docket.taking_in")


async def _told(request: Request, error: Exception) -> Response:
    """Foreseen trouble in a plain line; `visible`, since names in it come from anywhere."""
    words = visible(str(error))
    if request.method != "GET" and request.headers.get("content-type") == "application/json":
        return JSONResponse({"trouble": words}, 400)
    status = 404 if request.method == "GET" else 400
    if "text/html" not in request.headers.get("accept", ""):
        return PlainTextResponse(words, status)
    said = request.method != "GET"
    answer = page("trouble.html", request.app.state.desk, words=words.removesuffix("."), said=said)
    answer.status_code = status
    return answer


_ROUTES = [
    Route("/", views.jobs),
    Route("/job", views.one_job),
    Route("/proof", views.proof),
    Route("/state", views.state),
    Route("/rows", views.rows),
    Route("/letters", views.letters),
    Route("/card", views.card),
    Route("/picture", views.picture),
    Route("/papers", views.papers),
    Route("/readings", views.readings),
    Route("/news", views.news),
    Route("/customer", customer_page.customer),
    Route("/hands", hand_pages.hands),
    Route("/ticks", hand_pages.ticks),
    Route("/figures", figures_page.figures),
    Route("/figures.csv", figures_page.figures_csv),
    Route("/files/{name}", views.file),
    Route("/decide", saying.decided, methods=["POST"]),
    Route("/answer", saying.answered, methods=["POST"]),
    Route("/mark", saying.marked, methods=["POST"]),
    Route("/new", saying.new_job, methods=["POST"]),
    Route("/drop", saying.drop_proof, methods=["POST"]),
    Route("/sign", saying.signed, methods=["POST"]),
    *SERVICE_ROUTES,
    Route("/reply", customer_page.customer_answers, methods=["POST"]),
    Route("/tick", hand_pages.tick_off, methods=["POST"]),
    Route("/take", come_back.came_back, methods=["POST"]),
]
