"""The database a docket lies in, and waiting one's turn in it."""

from __future__ import annotations

import random
import time
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

import sqlalchemy as sa

from proofcheck.docket import schema
from proofcheck.docket.database_errors import clear_errors, is_busy

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["Store"]

_ASK_AGAIN_S = (0.001, 0.01)
_SNAPSHOTS = ("postgresql", "mysql", "mariadb")
"""Servers that show one moment to all of a transaction only if asked to."""


@dataclass(frozen=True, slots=True)
class Store:
    """A database that holds a docket: a SQLite file, or any other SQLAlchemy speaks."""

    place: str
    """Path of the file, or the address (URL) of a database."""
    engine: sa.Engine
    patience_s: float
    """How long to wait for others who are recording."""

    @property
    def is_file(self) -> bool:
        """Whether it is one file of our own."""
        return self.engine.dialect.name == "sqlite"

    @contextmanager
    def writing(self) -> Iterator[sa.Connection]:
        """A transaction nobody else can record beside; committed when the block ends well.

        Raises:
            DocketBusyError: others were recording all the while.
            DocketError: the disk is full, or the database may not be written to.
        """
        with clear_errors(self.place), self.engine.connect() as connection:
            if self.is_file:
                _take_turn(connection, self.patience_s)
            else:
                if self.engine.dialect.name == "postgresql":
                    wait_ms = int(self.patience_s * 1000)
                    connection.exec_driver_sql(f"SET LOCAL lock_timeout = {wait_ms}")
                # Whoever records changes the last link; the server lets them wait in a queue.
                connection.execute(sa.select(schema.head.c.only).with_for_update()).all()
            try:
                yield connection
            except BaseException:
                connection.rollback()
                raise
            connection.commit()

    @contextmanager
    def reading(self) -> Iterator[sa.Connection]:
        """The record as it stands at one moment."""
        with clear_errors(self.place), self.engine.connect() as connection:
            if self.is_file:
                connection.exec_driver_sql("BEGIN")
            elif self.engine.dialect.name in _SNAPSHOTS:
                connection.execution_options(isolation_level="REPEATABLE READ")
            yield connection
            connection.rollback()


def _take_turn(connection: sa.Connection, patience_s: float) -> None:
    """Begin a transaction in a SQLite file as the only one who records.

    SQLite's own waiting sleeps longer the longer it has waited, so that in a crowd the newest
    comes first and the oldest is left out. Here all ask alike, at random moments.
    """
    until = time.monotonic() + patience_s
    while True:
        try:
            # Nothing is waited for inside: the pragma is set back below.
            connection.exec_driver_sql("PRAGMA busy_timeout=0")
            connection.exec_driver_sql("BEGIN IMMEDIATE")
            break
        except sa.exc.OperationalError as error:
            if not is_busy(error) or time.monotonic() > until:
                raise
        time.sleep(random.uniform(*_ASK_AGAIN_S))  # noqa: S311 - only to part the askers
    connection.exec_driver_sql(f"PRAGMA busy_timeout={int(patience_s * 1000)}")
