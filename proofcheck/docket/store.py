"""Opening the database the record lies in."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy.pool import NullPool

from proofcheck.base.visible import visible
from proofcheck.docket.database import Store
from proofcheck.docket.database_errors import NOT_OPENED, READ_ONLY, REFUSED, clear_errors
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.migrations import settle

__all__ = ["PATIENCE_S", "open_store"]

PATIENCE_S = 60.0
"""How long others who are recording are waited for, unless one says otherwise."""


def open_store(place: str | Path, *, create: bool = False, patience_s: float = PATIENCE_S) -> Store:
    """Open (or begin) the docket at a path or a database's address.

    A docket of an older version is brought up to date, with a copy of the old one kept beside it.

    Raises:
        DocketError: there is none and `create` is off; its folder can't be written to; it was
            written by a newer version (it is left untouched); the file is something else.
    """
    address = str(place)
    if "://" in address:
        engine = _engine_at(address)
    else:
        engine = _engine_of(Path(address), patience_s, create=create)
    store = Store(_shown(engine, address), engine, patience_s)
    with clear_errors(store.place):
        settle(store, create=create)
    return store


def _engine_at(address: str) -> sa.Engine:
    try:
        return sa.create_engine(address, poolclass=NullPool)
    except (sa.exc.ArgumentError, sa.exc.NoSuchModuleError, ModuleNotFoundError) as error:
        msg = f"the docket's address can't be used ({error}); check it, or install its driver"
        raise DocketError(msg.replace("\n", " ")) from error


def _shown(engine: sa.Engine, address: str) -> str:
    """The place without a password."""
    if "://" not in address:
        return visible(address)
    return visible(engine.url.render_as_string(hide_password=True))


def _engine_of(path: Path, patience_s: float, *, create: bool) -> sa.Engine:
    if path.is_dir():
        msg = f"{visible(str(path))} is a folder; name the docket's file"
        raise DocketError(msg)
    if not path.exists():
        if not create:
            msg = f"there is no docket at {visible(str(path))}; open a job to begin one"
            raise DocketError(msg)
        if not path.resolve().parent.is_dir():
            msg = f"the folder of {visible(str(path))} does not exist; make it first"
            raise DocketError(msg)

    def connect() -> sqlite3.Connection:
        return _connect(path.resolve(), patience_s, create=create)

    return sa.create_engine("sqlite://", creator=connect, poolclass=NullPool)


def _connect(path: Path, patience_s: float, *, create: bool) -> sqlite3.Connection:
    mode = "rwc" if create else "rw"
    held = _opened(f"{path.as_uri()}?mode={mode}", patience_s)
    try:
        held.execute("PRAGMA synchronous=FULL")
        held.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except sqlite3.OperationalError as error:
        held.close()
        shut = any(words in str(error) for words in (*READ_ONLY, *NOT_OPENED, *REFUSED))
        if not shut or not path.exists():
            raise
        # In a folder that can't be written to, or on a full disk, the log of a docket at rest
        # can't be opened; without one the file is whole as it lies.
        log = path.with_name(path.name + "-wal")
        at_rest = not log.exists() or log.stat().st_size == 0
        held = _opened(f"{path.as_uri()}?{'immutable=1' if at_rest else 'mode=ro'}", patience_s)
        held.execute("SELECT count(*) FROM sqlite_master")
    # A damaged text must be read to be named.
    held.text_factory = _readable
    return held


def _readable(data: bytes) -> str:
    return data.decode("utf-8", "surrogateescape")


def _opened(address: str, patience_s: float) -> sqlite3.Connection:
    return sqlite3.connect(
        address, uri=True, isolation_level=None, timeout=patience_s, check_same_thread=False
    )
