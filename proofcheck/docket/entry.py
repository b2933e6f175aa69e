"""One entry of the record: what it says, and how it is read from its bytes, or refused."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, field
from datetime import UTC, datetime

from proofcheck.docket.canonical import Data, sha256_of

__all__ = ["Draft", "Entry", "body_bytes", "entry_of", "stamp", "when"]

_FARTHEST = 1 << 53
_HASH = re.compile("[0-9a-f]{64}")
_MOMENT = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{6}Z")
_STAMP = "%Y-%m-%dT%H:%M:%S.%fZ"


@dataclass(frozen=True, slots=True)
class Draft:
    """What is to be recorded."""

    kind: str
    by: str
    """Initials (for a customer, the name) of whoever did it."""
    data: Data
    originals: list[Data] = field(default_factory=list)
    """What belongs to it, by hash (`Original.reference`)."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing recorded."""

    job: str
    place: int
    """Place in the job's own chain, from 1."""
    before: str
    """Hash of the job's entry before it."""
    at: datetime
    """When, in UTC, by the clock of the machine it was recorded on."""
    zone: str
    """The shop's zone then: its name and offset ("Europe/London +01:00")."""
    kind: str
    by: str
    data: Data
    originals: tuple[Data, ...]
    clock_back: bool
    """The clock stood earlier than at the job's entry before (or by more than a minute earlier
    than at the docket's): order is by place, not by date."""
    sha256: str
    body: bytes
    number: int = 0
    """Place in the whole docket, from 1; 0 in an archive."""
    link: str = field(default="", compare=False)
    """Of the docket's chain, where it was just recorded."""


def stamp(moment: datetime) -> str:
    """A moment as it is recorded, in UTC."""
    return moment.astimezone(UTC).strftime(_STAMP)


def when(text: str) -> datetime:
    """A moment from its record. Raises ValueError for anything else."""
    if not _MOMENT.fullmatch(text):
        msg = "it is not written as moments are"
        raise ValueError(msg)
    return datetime.fromisoformat(text)


def body_bytes(held: bytes | memoryview | str) -> bytes:
    """A body as the database gave it; one meddled with may come as text."""
    return held.encode("utf-8", "surrogateescape") if isinstance(held, str) else bytes(held)


def entry_of(body: bytes, number: int = 0) -> Entry:
    """An entry from its body. Raises ValueError where the body is none."""
    try:
        held = json.loads(body)
        return Entry(
            job=_text(held["job"]),
            place=_place(held["place"]),
            before=_text(held["before"]),
            at=when(held["at"]),
            zone=_text(held["zone"]),
            kind=_text(held["kind"]),
            by=_text(held["by"]),
            data=_group(held["data"]),
            originals=tuple(_original(one) for one in held["originals"]),
            clock_back=held.get("clock_back", False) is True,
            sha256=sha256_of(body),
            body=body,
            number=number,
        )
    except (KeyError, TypeError, AttributeError, UnicodeDecodeError, RecursionError) as error:
        msg = f"no entry: {error}"
        raise ValueError(msg) from error


def _text(value: object) -> str:
    if not isinstance(value, str):
        msg = "what should be text is none"
        raise TypeError(msg)
    return value


def _place(value: object) -> int:
    if type(value) is not int or not 0 < value < _FARTHEST:
        msg = "its place is none"
        raise TypeError(msg)
    return value


def _group(value: object) -> Data:
    if not isinstance(value, dict):
        msg = "what should be a group of values is none"
        raise TypeError(msg)
    return value


def _original(value: object) -> Data:
    held = _group(value)
    # The hash is looked for as a file of that name: it may be nothing else.
    if not _HASH.fullmatch(_text(held["sha256"])) or type(held["bytes"]) is not int:
        msg = "an original is not named by its hash"
        raise TypeError(msg)
    _text(held["name"])
    return held
