"""Seeing on opening that a docket is one, of the present version, and bringing up older ones."""

from __future__ import annotations

import sqlite3
import time
from contextlib import closing, suppress
from itertools import chain, count
from pathlib import Path
from typing import TYPE_CHECKING

import sqlalchemy as sa

from proofcheck.base.visible import visible
from proofcheck.docket import schema
from proofcheck.docket.docket_errors import DocketError

if TYPE_CHECKING:
    from proofcheck.docket.database import Store

__all__ = ["settle"]

_OURS = 0x70726F6F
"""Number of the lock under which a server lets one at a time make tables or bring them up."""


def settle(store: Store, *, create: bool) -> None:
    """See that the tables are of the present version: make them, or bring them up to date.

    Raises:
        DocketError: there is no docket and `create` is off; it was written by a newer version,
            or is something else (left untouched, both).
    """
    with store.engine.connect() as connection:
        found = schema.version_of(connection)
        strange = found is None and bool(sa.inspect(connection).get_table_names())
    if found is not None and found > schema.VERSION:
        msg = (
            f"the docket {store.place} was written by a newer version (tables {found}, here "
            f"{schema.VERSION}) and was left untouched; use that version"
        )
        raise DocketError(msg)
    if found is None and store.is_file and strange:
        msg = f"{store.place} is a database, but not a docket; name another file"
        raise DocketError(msg)
    if found is None and not create:
        msg = f"there is no docket at {store.place}; open a job to begin one"
        raise DocketError(msg)
    if found == schema.VERSION:
        return
    if store.is_file:
        with store.engine.connect() as connection:
            _keep_log(connection, store.patience_s)
    _bring_up(store)


def _bring_up(store: Store) -> None:
    with store.engine.connect() as connection:
        if store.is_file:
            connection.exec_driver_sql("BEGIN IMMEDIATE")
        elif store.engine.dialect.name == "postgresql":
            connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_OURS})")
        found = schema.version_of(connection)
        if found is None:
            schema.make_tables(connection)
        elif found < schema.VERSION:
            _keep_old(store, connection, found)
            schema.migrate(connection, found)
        connection.commit()


def _keep_log(connection: sa.Connection, patience_s: float) -> None:
    """Have SQLite write ahead to a log: readers and the one who records don't wait for another.

    Made once in a docket's life; SQLite does not wait its turn for it by itself.
    """
    until = time.monotonic() + patience_s
    while connection.exec_driver_sql("PRAGMA journal_mode").scalar() != "wal":
        try:
            connection.exec_driver_sql("PRAGMA journal_mode=WAL")
        except sa.exc.OperationalError as error:
            if "locked" not in str(error) or time.monotonic() > until:
                raise
            time.sleep(0.02)


def _keep_old(store: Store, connection: sa.Connection, found: int) -> None:
    """Keep the docket as it is, beside it, before it is changed."""
    if not store.is_file:
        for table in ("docket_about", "docket_entries"):
            connection.exec_driver_sql(f"CREATE TABLE {table}_v{found} AS TABLE {table}")
        return
    source = Path(store.place)
    target = _free_name(source.with_name(f"{source.name}.version-{found}"))
    # A copy that was broken off is never taken for a whole one.
    begun = target.with_name(target.name + ".part")
    try:
        begun.unlink(missing_ok=True)
        with closing(sqlite3.connect(source)) as held, closing(sqlite3.connect(begun)) as kept:
            held.backup(kept)
        begun.replace(target)
    except OSError as error:
        msg = (
            f"a copy of the older docket can't be kept as {visible(str(target))} "
            f"({error.strerror}); it was left as it is"
        )
        raise DocketError(msg) from error
    finally:
        with suppress(OSError):
            begun.unlink(missing_ok=True)


def _free_name(path: Path) -> Path:
    """The path, or the first with a number behind it that is not taken."""
    names = (path.with_name(f"{path.name}.{number}") for number in count(2))
    return next(name for name in chain([path], names) if not name.exists())
