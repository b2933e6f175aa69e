"""The record: entries that are only ever added, each carrying the hash of the one before.

Every entry is chained twice: within its job (so that a job can be taken elsewhere and still be
proved whole), and through the whole docket (so that no job, and no entry off the end, can go
without being missed).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import sqlalchemy as sa

from proofcheck.docket.canonical import Data, canonical, sha256_of
from proofcheck.docket.checkpoint import anchor_text, origin_of
from proofcheck.docket.docket_errors import RecordBrokenError
from proofcheck.docket.entry import Draft, Entry, body_bytes, entry_of, stamp, when
from proofcheck.docket.schema import START, entries, head, link

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

__all__ = [
    "HOUSE",
    "Draft",
    "Entry",
    "add_entry",
    "as_far_as_read",
    "body_bytes",
    "entries_after",
    "entry_of",
    "jobs_named",
    "jobs_naming",
    "last_number",
    "put_entry",
    "read_entries",
    "stamp",
    "standing",
    "stands",
    "verify_job",
    "when",
]

FORM = 1
"""Version of an entry's form."""
HOUSE = ""
"""What stands for a job in entries about the docket itself: they have a chain of their own."""
_SLACK = timedelta(minutes=1)
"""Clocks of two machines at one docket may differ so much without a word."""
_LONG_AGO = datetime(1970, 1, 1, tzinfo=UTC)


def add_entry(connection: sa.Connection, job: str, draft: Draft, now: datetime, zone: str) -> Entry:
    """Add an entry at the end of its job and of the docket, within an open transaction."""
    last = _last_of(connection, job)
    body: Data = {
        "entry": FORM,
        "job": job,
        "place": last.place + 1 if last else 1,
        "before": last.sha256 if last else START,
        "at": stamp(now),
        "zone": zone,
        "kind": draft.kind,
        "by": draft.by,
        "data": draft.data,
        "originals": draft.originals,
    }
    if (last is not None and now < last.at) or now < _last_moment(connection) - _SLACK:
        body["clock_back"] = True
    return put_entry(connection, entry_of(canonical(body)))


def put_entry(connection: sa.Connection, entry: Entry) -> Entry:
    """Put a finished entry at the end of the docket, within an open transaction.

    Raises:
        RecordBrokenError: the last link kept apart is not that of the last entry.
    """
    before, end = _end_of(connection)
    number = before + 1
    book = link(end, number, entry.sha256)
    connection.execute(
        entries.insert().values(
            number=number,
            job=entry.job,
            place=entry.place,
            body=entry.body,
            sha256=entry.sha256,
            book=book,
        )
    )
    connection.execute(head.update().where(head.c.only == 1).values(number=number, book=book))
    return replace(entry_of(entry.body, number), link=book)


def _end_of(connection: sa.Connection) -> tuple[int, str]:
    """Number and link of the last entry, from the link kept apart and held against the entry."""
    kept = connection.execute(sa.select(head.c.only, head.c.number, head.c.book)).all()
    last = connection.execute(
        sa.select(entries.c.number, entries.c.book).order_by(entries.c.number.desc()).limit(1)
    ).first()
    number, book = (last.number, last.book) if last else (0, START)
    if [tuple(row) for row in kept] != [(1, number, book)]:
        msg = (
            "the docket's last link is not that of its last entry; nothing was recorded, "
            "run verify to see what was changed"
        )
        raise RecordBrokenError(msg)
    return number, book


def _last_moment(connection: sa.Connection) -> datetime:
    """When the docket's last entry of this machine or another was made; long ago for none."""
    row = connection.execute(
        sa.select(entries.c.number, entries.c.body, entries.c.sha256)
        .order_by(entries.c.number.desc())
        .limit(1)
    ).first()
    return _read(row.number, body_bytes(row.body), row.sha256).at if row else _LONG_AGO


def _last_of(connection: sa.Connection, job: str) -> Entry | None:
    row = connection.execute(
        sa.select(entries.c.number, entries.c.body, entries.c.sha256)
        .where(entries.c.job == job)
        .order_by(entries.c.place.desc())
        .limit(1)
    ).first()
    return _read(row.number, body_bytes(row.body), row.sha256) if row else None


def read_entries(
    connection: sa.Connection, job: str | None = None, *, after: int = 0
) -> tuple[Entry, ...]:
    """The entries of a job in their order, or of the whole docket in its order.

    Args:
        connection: to the record.
        job: its number; None for the whole docket.
        after: only those of the job that come after this place of its chain.

    Raises:
        RecordBrokenError: an entry is not as it was recorded.
    """
    query = sa.select(entries.c.number, entries.c.body, entries.c.sha256)
    if job is not None:
        query = query.where(entries.c.job == job, entries.c.place > after)
    rows = connection.execute(query.order_by(entries.c.number))
    return tuple(_read(row.number, body_bytes(row.body), row.sha256) for row in rows)


def entries_after(connection: sa.Connection, number: int) -> tuple[Entry, ...]:
    """Entries of the whole docket after the one of that number, in order.

    Raises RecordBrokenError as `read_entries`.
    """
    query = sa.select(entries.c.number, entries.c.body, entries.c.sha256)
    rows = connection.execute(query.where(entries.c.number > number).order_by(entries.c.number))
    return tuple(_read(row.number, body_bytes(row.body), row.sha256) for row in rows)


def last_number(connection: sa.Connection) -> int:
    """Number of the docket's last entry, as kept apart; 0 for none."""
    found = connection.execute(sa.select(head.c.number)).first()
    return int(found.number) if found else 0


def standing(connection: sa.Connection) -> str:
    """Where the docket's chain stands, in the lines of an anchor; "" for an empty docket.

    Raises:
        RecordBrokenError: the last link kept apart is not that of the last entry.
    """
    number, book = _end_of(connection)
    first = connection.execute(sa.select(entries.c.sha256).order_by(entries.c.number).limit(1))
    held = first.scalar()
    return anchor_text(origin_of(str(held)), number, book) if held else ""


def as_far_as_read(
    connection: sa.Connection,
) -> tuple[dict[str, list[Entry]], dict[str, str]]:
    """All entries that can be read, by job, and what is wrong in jobs with others.

    Jobs come in the order they were opened in; of a broken one the first trouble is told.
    """
    query = sa.select(entries.c.number, entries.c.job, entries.c.body, entries.c.sha256)
    chains: dict[str, list[Entry]] = {}
    broken: dict[str, str] = {}
    for row in connection.execute(query.order_by(entries.c.number)):
        job = str(row.job)
        chain = chains.setdefault(job, [])
        try:
            chain.append(_read(row.number, body_bytes(row.body), row.sha256))
        except RecordBrokenError as error:
            broken.setdefault(job, str(error))
    return chains, broken


def jobs_named(connection: sa.Connection) -> tuple[str, ...]:
    """Numbers of all jobs, in the order they were opened."""
    query = sa.select(entries.c.job).where(entries.c.place == 1, entries.c.job != HOUSE)
    rows = connection.execute(query.order_by(entries.c.number))
    return tuple(dict.fromkeys(str(row.job) for row in rows))


def jobs_naming(connection: sa.Connection, hashes: Sequence[str]) -> tuple[str, ...]:
    """Numbers of the jobs with an entry in which one of these hashes stands, looked for whole."""
    # The server looks, so that a long docket need not be read over.
    place = "position(:sought in body)"
    if connection.dialect.name != "postgresql":
        place = "instr(body, :sought)"
    found: dict[str, None] = {}
    for sought in hashes:
        seek = sa.text(f"SELECT DISTINCT job FROM docket_entries WHERE {place} > 0")  # noqa: S608
        rows = connection.execute(seek, {"sought": sought.encode()})
        found.update(dict.fromkeys(row.job for row in rows))
    return tuple(found)


def stands(connection: sa.Connection, entry: Entry) -> bool:
    """Whether an entry read before stands in the record as and where it stood."""
    row = connection.execute(
        sa.select(entries.c.number, entries.c.sha256).where(
            entries.c.job == entry.job, entries.c.place == entry.place
        )
    ).first()
    return row is not None and (row.number, row.sha256) == (entry.number, entry.sha256)


def _read(number: int, body: bytes, sha256: str) -> Entry:
    if sha256_of(body) == sha256:
        try:
            return entry_of(body, number)
        except ValueError:
            pass
    msg = f"entry {number} of the record is not as it was recorded; run verify to see all of it"
    raise RecordBrokenError(msg)


def verify_job(job: str, chain: Sequence[Entry] | Iterable[Entry]) -> list[str]:
    """What is wrong with one job's chain, each in a line; empty if it holds."""
    found = []
    named = f"job {job}" if job != HOUSE else "the docket's own chain"
    before, place = START, 0
    for entry in chain:
        place += 1
        if entry.job != job:
            found.append(f"an entry of job {entry.job} stands in {named}")
        elif entry.place != place:
            found.append(f"{named}: entry {place} is missing or out of its place")
            place = entry.place
        elif entry.before != before:
            found.append(f"{named}: entry {place} does not follow on the one before it")
        before = entry.sha256
    return found
