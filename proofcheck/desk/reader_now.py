"""Who is asking, where readers of the house's network are known by name."""

from __future__ import annotations

from contextvars import ContextVar

__all__ = ["READER", "reader_now"]

READER: ContextVar[str] = ContextVar("reader", default="")
"""Set for each request; "" on a desk that listens on its own machine alone."""


def reader_now() -> str:
    """The name of the reader whose request is being answered; "" where none is known."""
    return READER.get()
