"""What decisions are called wherever people read of them: on the desk's buttons, papers, record."""

from __future__ import annotations

from typing import Final

from proofcheck.base.found import Status

__all__ = ["BUTTONS", "decided_called", "in_full", "status_called"]

BUTTONS: Final = {
    "correct": "It is so: correct",
    "stand": "Let it stand",
    "query": "Ask the customer",
    "sound": "No fault: read wrongly",
}
"""By the name on the record."""
_SHORT = {
    "correct": "correct",
    "stand": "let it stand",
    "query": "ask the customer",
    "sound": "no fault",
}


def in_full(what: str) -> str:
    """A decision in a note or a reply, in the words of its button."""
    words = BUTTONS.get(what, what)
    return words[:1].lower() + words[1:]


def decided_called(what: str) -> str:
    """A decision within a line."""
    return _SHORT.get(what, what)


def status_called(status: Status) -> str:
    """What a mark on a paper is: a fault, a query, or what is let stand."""
    return _SHORT["stand"] if status is Status.STAND else status.value
