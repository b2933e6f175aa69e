"""The service for other programs: a scan and its copy sent in, the record of the proof sent back.

Described by OpenAPI 3.1 in `files/openapi.json`, which is served beside it.
"""

from __future__ import annotations

import asyncio
import json
import time
from collections.abc import Awaitable, Callable
from dataclasses import replace
from functools import lru_cache, wraps
from importlib import resources
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from proofcheck.base.errors import ProofcheckError
from proofcheck.base.visible import visible
from proofcheck.desk.proof_queue import FullError, State, Unread
from proofcheck.results.report_json import report_schema

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.types import Message

    from proofcheck.base.options import Options
    from proofcheck.desk.proof_queue import Asked, ProofQueue

__all__ = ["LARGEST_BYTES", "SERVICE_ROUTES", "ServiceState"]

_View: TypeAlias = Callable[[Request], Awaitable[Response]]

LARGEST_BYTES: Final = 256 << 20
"""All that is sent at once."""
_LARGEST_COPY: Final = 16 << 20
_MOST_SCANS: Final = 50
_LONGEST_WAIT_S: Final = 300
_LOOK_EVERY_S: Final = 0.1
_ASK_AGAIN_S: Final = "2"


class ServiceState:
    """What the service works with.

    Args:
        proofs: those to be read.
        options: the shop's choices, over which a request may make its own.
    """

    def __init__(self, proofs: ProofQueue, options: Options) -> None:
        self.proofs, self.options = proofs, options


class _RefusedError(Exception):
    def __init__(self, status: int, words: str) -> None:
        super().__init__(words)
        self.status = status


def _told_plainly(view: _View) -> _View:
    """The view with its trouble told as JSON too."""

    @wraps(view)
    async def answered(request: Request) -> Response:
        try:
            return await view(request)
        except FullError as error:
            return _trouble(503, str(error), {"retry-after": "30"})
        except ProofcheckError as error:
            return _trouble(400, str(error))
        except _RefusedError as error:
            return _trouble(error.status, str(error))
        except HTTPException as error:
            return _trouble(error.status_code, error.detail)

    return answered


def _trouble(status: int, words: str, headers: dict[str, str] | None = None) -> Response:
    return JSONResponse({"trouble": visible(words)}, status, headers)


def _state(request: Request) -> ServiceState:
    state: ServiceState = request.app.state.desk.service
    return state


# ------------------------------------------------------------------------------ a proof asked


@_told_plainly
async def _ask(request: Request) -> Response:
    """Take a proof in; answer with its record where it is read within the time one waits."""
    wait_s = _wait(request)
    state = _state(request)
    unread = await _sent(request, state.options)
    asked = await run_in_threadpool(state.proofs.take, unread)
    until = time.monotonic() + wait_s
    while wait_s and time.monotonic() < until:
        now = state.proofs.of(asked.name)
        if now is None or now.over:
            return await _record_of(state.proofs, asked.name)
        await asyncio.sleep(_LOOK_EVERY_S)
    return _told(state.proofs.of(asked.name) or asked, 202)


def _wait(request: Request) -> int:
    text = request.query_params.get("wait", "0")
    if not text.isdecimal() or len(text) > 4 or int(text) > _LONGEST_WAIT_S:
        raise _RefusedError(400, f"wait is whole seconds from 0 to {_LONGEST_WAIT_S}")
    return int(text)


async def _sent(request: Request, options: Options) -> Unread:
    length = request.headers.get("content-length", "0")
    if not length.isdecimal() or int(length) > LARGEST_BYTES:
        raise _RefusedError(413, f"no more than {LARGEST_BYTES >> 20} MiB is taken at once")
    if not request.headers.get("content-type", "").startswith("multipart/form-data"):
        raise _RefusedError(415, "send scan and copy as multipart/form-data")
    bounded = Request(request.scope, _bounded(request))
    async with bounded.form(max_files=2 * _MOST_SCANS + 1, max_fields=30) as form:
        scans, copies = await _files(form, "scan"), await _files(form, "copy")
        lines = await _files(form, "lines")
        chosen = _chosen(form, options)
    if not 1 <= len(scans) <= _MOST_SCANS:
        raise _RefusedError(
            400, f"give the scan of the proof, or several in order (1 to {_MOST_SCANS})"
        )
    if len(copies) != 1:
        raise _RefusedError(400, "give the approved copy, as one file")
    if len(copies[0][1]) > _LARGEST_COPY:
        raise _RefusedError(413, f"the copy may be no larger than {_LARGEST_COPY >> 20} MiB")
    return Unread(tuple(scans), copies[0], tuple(lines), chosen)


def _bounded(request: Request) -> Callable[[], Any]:
    """What comes in, bounded where its length was not said."""
    seen = 0

    async def receive() -> Message:
        nonlocal seen
        message = await request.receive()
        seen += len(message.get("body", b""))
        if seen > LARGEST_BYTES:
            raise _RefusedError(413, f"no more than {LARGEST_BYTES >> 20} MiB is taken at once")
        return message

    return receive


async def _files(form: FormData, name: str) -> list[tuple[str, bytes]]:
    held = form.getlist(name)
    if any(not isinstance(value, UploadFile) for value in held):
        raise _RefusedError(400, f"{name} is to be sent as a file")
    return [(v.filename or name, await v.read()) for v in held if isinstance(v, UploadFile)]


def _chosen(form: FormData, options: Options) -> Options:
    """The shop's choices with those of the request. Raises SettingError for what can't be used."""
    made: dict[str, Any] = {}
    for name in {key for key in form if key not in {"scan", "copy", "lines"}}:
        if name not in _CHOICES:
            raise _RefusedError(
                400, f"no choice {name!r}; there are: {', '.join(sorted(_CHOICES))}"
            )
        text = form.get(name)
        field, read = _CHOICES[name]
        try:
            made[field] = read(text if isinstance(text, str) else "")
        except ValueError:
            raise _RefusedError(400, f"{name} can't be {str(text)[:40]!r}") from None
    return replace(options, **made)


def _yes(text: str) -> bool:
    if text not in {"true", "false"}:
        raise ValueError
    return text == "true"


def _word(text: str) -> str:
    if not text.isascii() or not text.replace("-", "").replace("_", "").replace("+", "").isalnum():
        raise ValueError
    return text


_CHOICES: Final[dict[str, tuple[str, Callable[[str], Any]]]] = {
    "part": ("part", _yes), "up": ("up", int), "dpi": ("dpi", float),
    "measure_picas": ("measure_picas", float), "hand_set": ("hand_set", _yes),
    "language": ("language", _word), "encoding": ("encoding", _word),
    "type_too": ("type_too", _yes), "recast": ("recast", _yes), "unfit": ("unfit", _yes),
}  # fmt: skip
"""What a request may choose: the field it sets, and how its text is read."""


# ------------------------------------------------------------------------------ asked after


@_told_plainly
async def _stands(request: Request) -> Response:
    """Where a proof stands."""
    asked = _state(request).proofs.of(request.path_params["name"])
    if asked is None:
        raise _RefusedError(404, "no such proof is known here, or no longer")
    return _told(asked, 200)


def _told(asked: Asked, status: int) -> Response:
    place = f"/service/proofs/{asked.name}"
    held = {
        "name": asked.name, "state": asked.state.value, "ahead": asked.ahead,
        "words": visible(asked.words), "proof": place, "record": f"{place}/record",
    }  # fmt: skip
    headers = {"location": place} if status == 202 else {}
    if not asked.over:
        headers["retry-after"] = _ASK_AGAIN_S
    return JSONResponse(held, status, headers)


@_told_plainly
async def _record(request: Request) -> Response:
    """The record of a proof that was read."""
    return await _record_of(_state(request).proofs, request.path_params["name"])


async def _record_of(proofs: ProofQueue, name: str) -> Response:
    asked = proofs.of(name)
    if asked is None:
        raise _RefusedError(404, "no such proof is known here, or no longer")
    if asked.state is State.REFUSED:
        raise _RefusedError(422, asked.words)
    text = await run_in_threadpool(proofs.record, name)
    if text is None:
        headers = {"retry-after": _ASK_AGAIN_S}
        return _trouble(409, f"it is not read yet: {asked.words}", headers)
    return Response(text, media_type="application/json")


@_told_plainly
async def _withdraw(request: Request) -> Response:
    """Let go of a proof."""
    known = await run_in_threadpool(_state(request).proofs.withdraw, request.path_params["name"])
    if not known:
        raise _RefusedError(404, "no such proof is known here, or no longer")
    return Response(status_code=204)


# ------------------------------------------------------------------------------ described


@lru_cache(maxsize=1)
def _described() -> str:
    return resources.files("proofcheck.desk").joinpath("files", "openapi.json").read_text("utf-8")


async def _description(_: Request) -> Response:
    """The service as OpenAPI 3.1 describes it."""
    return Response(_described(), media_type="application/json")


async def _schema(_: Request) -> Response:
    """The shape of a record (JSON Schema)."""
    return Response(json.dumps(report_schema()), media_type="application/schema+json")


SERVICE_ROUTES: Final = [
    Route("/service/openapi.json", _description),
    Route("/service/record-schema.json", _schema),
    Route("/service/proofs", _ask, methods=["POST"]),
    Route("/service/proofs/{name}", _stands),
    Route("/service/proofs/{name}", _withdraw, methods=["DELETE"]),
    Route("/service/proofs/{name}/record", _record),
]
"""To be put among the desk's; under its guard, as all of them."""
