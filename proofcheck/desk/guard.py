"""Who may ask the desk for anything: the browser on this machine that opened it, and no page else.

The desk listens on this machine alone. A page of another site in the same browser could still
send it requests: so every request must name the desk's own host (a name pointed at this machine
from outside does not), and one that changes anything must come from the desk's own pages, which
browsers say in `Origin` (RFC 6454; Fetch standard).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.responses import PlainTextResponse

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["LARGEST_BYTES", "Guard"]

LARGEST_BYTES = 1 << 30
"""What is dropped in at once may be no larger."""
_HEADERS = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
        "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "x-content-type-options": "nosniff",
    # Not "no-referrer": with that a browser hides the origin of a form from the desk as well.
    "referrer-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cache-control": "no-store",
}
_SAFE = frozenset({"GET", "HEAD"})


class Guard:
    """Turns away what does not come from the desk's own pages, and says how answers are used.

    Args:
        app: the desk.
        hosts: names and ports it is called by ("127.0.0.1:8765").
    """

    def __init__(self, app: ASGIApp, hosts: tuple[str, ...]) -> None:
        self.app = app
        self._hosts = frozenset(hosts)
        self._origins = frozenset(f"http://{host}" for host in hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or hand it on."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return
        refused = self._refused(scope)
        if refused:
            await PlainTextResponse(refused, 403)(scope, receive, self._sealed(send))
            return
        await self.app(scope, _bounded(receive), self._sealed(send))

    def _refused(self, scope: Scope) -> str:
        """Why a request is turned away; "" if it is not."""
        heads = scope["headers"]
        named = [value.decode("latin-1") for name, value in heads if name == b"host"]
        if len(named) != 1 or named[0].lower() not in self._hosts:
            return "this desk is not called by that name"
        if scope["method"] in _SAFE:
            return ""
        origin = [value.decode("latin-1") for name, value in heads if name == b"origin"]
        if len(origin) != 1 or origin[0].lower() not in self._origins:
            return "only the desk's own pages can change anything"
        length = [value for name, value in heads if name == b"content-length"]
        if any(not value.isdigit() or int(value) > LARGEST_BYTES for value in length):
            return "too much at once"
        return ""

    def _sealed(self, send: Send) -> Send:
        async def sealed(message: Message) -> None:
            if message["type"] == "http.response.start":
                own = {name for name, _ in message.get("headers", ())}
                more = [
                    (name.encode(), value.encode())
                    for name, value in _HEADERS.items()
                    if name.encode() not in own
                ]
                message = {**message, "headers": [*message.get("headers", ()), *more]}
            await send(message)

        return sealed


def _bounded(receive: Receive) -> Receive:
    """A body that comes in pieces, without its length, is bounded too."""
    seen = 0

    async def bounded() -> Message:
        nonlocal seen
        message = await receive()
        seen += len(message.get("body", b""))
        if seen > LARGEST_BYTES:
            return {"type": "http.disconnect"}
        return message

    return bounded
