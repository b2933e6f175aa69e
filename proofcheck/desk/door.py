"""The door of a desk that listens on the house's network: who comes in says who he is.

A reader gives his name and token once; his browser then holds a random word (a cookie that no
script can read and no other site can send), known here till the desk is closed or twelve hours
are over. Neither token nor word stands in any address, so that none gets into a history or a log.
"""

from __future__ import annotations

import asyncio
import secrets
import time
from collections import OrderedDict
from typing import TYPE_CHECKING
from urllib.parse import parse_qs

from starlette.requests import Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response

from proofcheck.base.errors import ProofcheckError
from proofcheck.desk.admitted import Readers
from proofcheck.desk.reader_now import READER

if TYPE_CHECKING:
    from collections.abc import Callable

    from starlette.types import ASGIApp, Receive, Scope, Send


__all__ = ["Door"]

_COOKIE = "proofcheck-reader"
_LASTS_S = 12 * 3600.0
_MOST_IN = 200
_MOST_BYTES = 4096
_AFTER_A_WRONG_ONE_S = 1.0


class Door:
    """Lets in whom the readers' list admits, and says who each request is from.

    Args:
        app: the desk.
        readers: says who there is; asked at each entry, so that one taken off stays out.
        page: makes the page to enter by, given what is wrong ("" for nothing).
    """

    def __init__(
        self, app: ASGIApp, readers: Callable[[], Readers], page: Callable[[str], Response]
    ) -> None:
        self.app = app
        self._readers, self._page = readers, page
        self._in: OrderedDict[str, tuple[str, float]] = OrderedDict()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or hand it on."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        request = Request(scope, receive)
        word = request.cookies.get(_COOKIE, "")
        name, path = self._name_of(word), scope["path"]
        answer: Response | None = None
        if path == "/enter":
            answer = await self._enter(request) if request.method == "POST" else self._page("")
        elif path == "/leave" and request.method == "POST":
            self._in.pop(word, None)
            answer = RedirectResponse("/enter", 303)
        elif not name and not path.startswith("/files/"):
            answer = self._kept_out(request)
        if answer is not None:
            await answer(scope, receive, send)
            return
        held = READER.set(name)
        try:
            await self.app(scope, receive, send)
        finally:
            READER.reset(held)

    def _name_of(self, word: str) -> str:
        """Whose word it is; "" for nobody's, one too old, or of a reader taken off since."""
        name, since = self._in.get(word, ("", 0.0))
        if not name:
            return ""
        if time.monotonic() - since > _LASTS_S or name not in self._listed().hashes:
            self._in.pop(word, None)
            return ""
        return name

    def _listed(self) -> Readers:
        """The readers there are; none where their list can't be read."""
        try:
            return self._readers()
        except ProofcheckError:
            return Readers({})

    def _kept_out(self, request: Request) -> Response:
        page = request.method == "GET" and "text/html" in request.headers.get("accept", "")
        if page:
            return RedirectResponse("/enter", 303)
        return PlainTextResponse("say first who you are: open /enter", 403)

    async def _enter(self, request: Request) -> Response:
        body = b""
        async for part in request.stream():
            body += part
            if len(body) > _MOST_BYTES:
                return PlainTextResponse("too much at once", 403)
        told = parse_qs(body.decode("utf-8", "replace"))
        name, token = (told.get(key, [""])[0].strip() for key in ("name", "token"))
        if not self._listed().admits(name, token):
            await asyncio.sleep(_AFTER_A_WRONG_ONE_S)
            answer = self._page("That name and token do not go together.")
            answer.status_code = 403
            return answer
        word = secrets.token_urlsafe(32)
        self._in[word] = (name, time.monotonic())
        while len(self._in) > _MOST_IN:
            self._in.popitem(last=False)
        answer = RedirectResponse("/", 303)
        answer.set_cookie(_COOKIE, word, httponly=True, samesite="strict", path="/")
        return answer
