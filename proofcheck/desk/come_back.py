"""A marked proof that came back, taken in at the desk: first shown, then recorded."""

from __future__ import annotations

import uuid
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool

from proofcheck.base.visible import visible
from proofcheck.desk.forms import field, files
from proofcheck.desk.views import page
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.originals import Original
from proofcheck.docket.show_taken import taken_summary

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response

    from proofcheck.desk.shared import Desk
    from proofcheck.docket.taken_lines import TakenIn

__all__ = ["came_back"]


async def came_back(request: Request) -> Response:
    """Show what is said on a marked proof; or record it, where it was shown before."""
    desk: Desk = request.app.state.desk
    async with request.form(max_files=1, max_fields=20) as form:
        by, customer = field(form, "by"), field(form, "customer") == "yes"
        name, given = field(form, "shown"), await files(form, "marked")
    if name:
        sheet = desk.come_back(name)
        if sheet is None:
            msg = "that marked proof is no longer at hand; give it again"
            raise DocketError(msg)
    elif given:
        sheet = Original(*given[0])
    else:
        msg = "give the marked proof that came back, a PDF"
        raise DocketError(msg)

    def take() -> TakenIn:
        from proofcheck.docket.taking_in import take_marked

        return take_marked(desk.docket, sheet, by=by, customer=customer, only_show=not name)

    taken = await run_in_threadpool(take)
    if not name:
        name = uuid.uuid4().hex
        desk.keep(name, sheet)
        shown = True
    else:
        shown = False
    return page(
        "taken.html", desk, taken=taken, shown=shown, kept=name, initials=by, customer=customer,
        number=visible(taken.job), file=visible(sheet.name),
        summary=taken_summary(taken, only_show=shown),
        any=any(line.recorded for line in taken.lines),
    )  # fmt: skip
