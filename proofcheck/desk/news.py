"""What is new on the docket, told to every open page (server-sent events, HTML standard)."""

from __future__ import annotations

import asyncio
import json
from contextlib import suppress
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa

from proofcheck.base.errors import ProofcheckError
from proofcheck.docket.kept_open import KeptOpen

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Callable

    from proofcheck.docket.book import Docket

__all__ = ["News"]

_LOOK_EVERY_S = 0.1
"""How often the docket is looked at for entries of other programs: one small question to the
database. What is recorded at this desk is looked for at once."""
_BREATH_S = 15.0
"""After so long without news a line of comment shows that the desk is still there."""
_CLOSES_IN_S = 0.3
"""A desk that is being closed lets its pages go within this time."""
_MOST_WAITING = 1000
_PAUSE_S = 2.0
"""After so long without a decision the docket's file is let go."""


class News:
    """Tells pages of every entry, whoever recorded it, and of readings under way."""

    def __init__(self, docket: Docket) -> None:
        self.closing: Callable[[], bool] = bool
        """Says whether the desk is being closed: then pages are let go."""
        self.kept = KeptOpen(docket.store)
        """The docket's file, kept open while decisions come one after the other."""
        self._docket = docket
        self._pages: set[asyncio.Queue[str]] = set()
        self._seen = docket.last_number()
        self._stirred = asyncio.Event()
        self._loop: asyncio.AbstractEventLoop | None = None

    def wake(self) -> None:
        """Something about a reading has changed; from any thread."""
        if self._loop is not None:
            self._loop.call_soon_threadsafe(self._tell, "reading", {})

    def stir(self) -> None:
        """Something was recorded here; from any thread."""
        if self._loop is not None:
            self._loop.call_soon_threadsafe(self._stirred.set)

    async def watch(self) -> None:
        """Look at the docket as long as the desk is open."""
        self._loop = asyncio.get_running_loop()
        while True:
            if self._pages:
                await self._look()
            if self.kept.quiet(_PAUSE_S):
                await asyncio.to_thread(self.kept.let_go)
            with suppress(TimeoutError):
                await asyncio.wait_for(self._stirred.wait(), _LOOK_EVERY_S)
            self._stirred.clear()

    async def _look(self) -> None:
        try:
            last = await asyncio.to_thread(self._docket.last_number)
            if last <= self._seen:
                return
            later = await asyncio.to_thread(self._docket.later, self._seen)
        except (ProofcheckError, sa.exc.SQLAlchemyError, OSError):
            return  # Whatever it was, it is looked again in a moment: the news must not end.
        self._seen = last
        for entry in later:
            fault = entry.data.get("fault") or _named(entry.data)
            self._tell(
                "entry", {"number": entry.number, "job": entry.job, "kind": entry.kind,
                          "fault": fault}
            )  # fmt: skip

    def _tell(self, name: str, data: dict[str, Any]) -> None:
        words = f"event: {name}\ndata: {json.dumps(data)}\n\n"
        for page in self._pages:
            if page.qsize() < _MOST_WAITING:
                page.put_nowait(words)

    async def listen(self) -> AsyncIterator[str]:
        """The news for one page, for as long as it stays."""
        page: asyncio.Queue[str] = asyncio.Queue()
        if not self._pages:
            self._seen = await asyncio.to_thread(self._docket.last_number)
        self._pages.add(page)
        try:
            # Said only now: what a page asks for on hearing it, and all later news, is everything.
            yield "retry: 500\nevent: joined\ndata: {}\n\n"
            quiet_s = 0.0
            while not self.closing():
                try:
                    yield await asyncio.wait_for(page.get(), _CLOSES_IN_S)
                    quiet_s = 0.0
                except TimeoutError:
                    quiet_s += _CLOSES_IN_S
                if quiet_s >= _BREATH_S:
                    quiet_s = 0.0
                    yield ": still here\n\n"
        finally:
            self._pages.discard(page)


def _named(data: dict[str, Any]) -> str:
    """Reference of a reader's own mark."""
    found = data.get("found")
    return f"{data.get('proof')}/{found['id']}" if isinstance(found, dict) else ""
