"""One job told from the snapshot: as sure of that job as going through the whole record, and soon.

Believed of the snapshot is only what the rows bear out. The last link it names must be that of its
entry, so that every entry up to there stands for itself as it stood; every entry since must follow
on, link by link, to the end that is kept apart and in the list beside the docket; and of the job
all entries are read and chained, as many as there must be, up to the last that there must be.
Wherever anything is otherwise there is no answer, and the record is gone through whole.

What is wrong in the rows of other jobs is for `verify` to tell.
"""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa

from proofcheck.docket.canonical import sha256_of
from proofcheck.docket.chain import HOUSE, Entry, entry_of, verify_job
from proofcheck.docket.filecheck import outward_troubles
from proofcheck.docket.schema import VERSION, about, entries, head, link
from proofcheck.docket.snapshot import Snapshot, read_snapshot, write_snapshot

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from proofcheck.docket.book import Docket

__all__ = ["Told", "keep_snapshot", "told_quickly"]

_SETTLE_NS = 2_000_000_000
"""A folder changed so shortly before it was looked at may have been changed again unseen."""
_RENEWED = 128
"""Entries since the snapshot from which on it is made anew."""
_COLUMNS = (
    entries.c.number, entries.c.job, entries.c.place, entries.c.body, entries.c.sha256,
    entries.c.book,
)  # fmt: skip


_INDEXES = ("ix_docket_entries_job", "sqlite_autoindex_docket_entries_1")
_BY = "SELECT job FROM docket_entries INDEXED BY {} WHERE job = ?"
"""Entries of a job by one index: each must lead to all of them, and to no other."""


@dataclass(frozen=True, slots=True)
class Told:
    """What the record says of one job, every entry borne out."""

    number: int
    book: str
    """Of the docket's last entry."""
    chains: dict[str, list[Entry]]
    """The job's entries and the docket's own."""
    unnamed: tuple[str, ...]
    """Hashes of originals lying there that no entry names."""


class _OtherwiseError(Exception):
    """The rows do not bear the snapshot out."""


def _path(docket: Docket) -> Path:
    return docket.heads.path.with_suffix(".snapshot")


def told_quickly(docket: Docket, number: str) -> Told | None:
    """What the record says of a job; None where it must be gone through whole to say.

    Args:
        docket: the record.
        number: the job's.
    """
    held = read_snapshot(_path(docket))
    if held is None:
        return None
    try:
        with docket.store.reading() as connection:
            _about(docket, connection)
            tail = _tail(connection, held, docket)
            chains = {job: _chain(connection, job, tail.expected(job)) for job in (number, HOUSE)}
    except _OtherwiseError:
        return None
    named = {one["sha256"] for entry in tail.entries for one in entry.originals}
    lying = tuple(sorted(s for s in _changed(docket, held) if s not in named and not held.names(s)))
    if len(tail.entries) >= _RENEWED:
        _renew(docket, held, tail)
    return Told(tail.number, tail.book, chains, lying)


def _renew(docket: Docket, held: Snapshot, tail: _Tail) -> None:
    """Keep what the record comes to now: the snapshot and all entries since, borne out."""
    jobs = {job: tail.expected(job) for job in {entry.job for entry in tail.entries}}
    named = {one["sha256"] for entry in tail.entries for one in entry.originals}
    end = (tail.number, tail.book)
    write_snapshot(_path(docket), end, jobs, named, tail.listed, before=held)


def _about(docket: Docket, connection: sa.Connection) -> None:
    if docket.store.is_file and outward_troubles(connection):
        raise _OtherwiseError
    told = connection.execute(sa.select(about.c.name, about.c.value)).all()
    if [tuple(row) for row in told] != [("version", str(VERSION))]:
        raise _OtherwiseError


@dataclass(slots=True)
class _Tail:
    """Entries made since the snapshot, each following on the one before it."""

    held: Snapshot
    number: int
    book: str
    entries: list[Entry] = field(default_factory=list)
    listed: int = 0
    """Bytes of the list of links that were held against it."""

    def expected(self, job: str) -> tuple[int, str]:
        """How many entries a job must have now, and the hash of the last."""
        count, last = self.held.job(job)
        for entry in self.entries:
            if entry.job == job:
                count, last = count + 1, entry.sha256
        return count, last


def _tail(connection: sa.Connection, held: Snapshot, docket: Docket) -> _Tail:
    query = sa.select(*_COLUMNS).where(entries.c.number >= held.number).order_by(entries.c.number)
    rows = connection.execute(query).all()
    if not rows or (rows[0].number, rows[0].book) != (held.number, held.book):
        raise _OtherwiseError
    _entry(rows[0])
    tail = _Tail(held, held.number, held.book)
    links = {held.number: held.book}
    for row in rows[1:]:
        entry = _entry(row)
        book = link(tail.book, row.number, entry.sha256)
        if row.number != tail.number + 1 or row.book != book:
            raise _OtherwiseError
        tail.number, tail.book = row.number, book
        tail.entries.append(entry)
        links[row.number] = book
    end = [tuple(row) for row in connection.execute(sa.select(head))]
    if end != [(1, tail.number, tail.book)]:
        raise _OtherwiseError
    tail.listed = _listed(docket, held, links)
    return tail


def _listed(docket: Docket, held: Snapshot, links: dict[int, str]) -> int:
    """Links noted since the snapshot must be the rows' own; returns how far the list goes."""
    noted = docket.heads.read(held.listed)
    short = noted.size < held.listed
    if short or noted.torn or any(links.get(n) != book for n, book in noted.lines):
        raise _OtherwiseError
    return noted.size


def _entry(row: Any) -> Entry:  # noqa: ANN401 - a row of the table
    kinds = ((int,), (str,), (int,), (bytes, memoryview), (str,), (str,))
    if not all(type(one) in kind for one, kind in zip(row, kinds, strict=True)):
        raise _OtherwiseError
    body = bytes(row.body)
    if sha256_of(body) != row.sha256:
        raise _OtherwiseError
    try:
        entry = entry_of(body, row.number)
    except ValueError as error:
        raise _OtherwiseError from error
    if (entry.job, entry.place) != (row.job, row.place):
        raise _OtherwiseError
    return entry


def _chain(connection: sa.Connection, job: str, expected: tuple[int, str]) -> list[Entry]:
    """All entries of a job: as many as there must be, chained up to the last there must be."""
    query = sa.select(*_COLUMNS).where(entries.c.job == job).order_by(entries.c.place)
    chain = [_entry(row) for row in connection.execute(query)]
    found = (len(chain), chain[-1].sha256 if chain else "")
    if connection.dialect.name == "sqlite" and any(
        [row[0] for row in connection.exec_driver_sql(_BY.format(index), (job,))]
        != [job] * len(chain)
        for index in _INDEXES
    ):
        raise _OtherwiseError
    if found != expected or verify_job(job, chain):
        raise _OtherwiseError
    return chain


def _changed(docket: Docket, held: Snapshot) -> Iterator[str]:
    """Hashes of the originals in all folders that were changed since the snapshot."""
    try:
        folders = list(os.scandir(docket.originals.folder))
    except OSError:
        return
    for folder in folders:
        if len(folder.name) != 2:
            continue
        changed = folder.stat().st_mtime_ns
        settled = changed < held.taken_ns - _SETTLE_NS
        if settled and held.folders.get(folder.name) == changed:
            continue
        yield from docket.originals.held_in(folder.name)


def keep_snapshot(
    docket: Docket, chains: dict[str, list[Entry]], end: tuple[int, str], listed: int
) -> None:
    """Keep what a record came to that was gone through whole and holds.

    Args:
        docket: the record.
        chains: entries by job, all of them.
        end: number and link of the last entry.
        listed: bytes of the list of links that were held against it.
    """
    if not end[0]:
        return
    jobs = {job: (len(chain), chain[-1].sha256) for job, chain in chains.items() if chain}
    named = {o["sha256"] for chain in chains.values() for e in chain for o in e.originals}
    write_snapshot(_path(docket), end, jobs, named, listed)
