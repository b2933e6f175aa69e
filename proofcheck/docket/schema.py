"""The tables the record lies in, and the steps from each version of them to the next.

Version 1 had entries chained within each job. Version 2 chains them through the whole docket as
well (`book`), and keeps the last link apart (`head`), so that an entry taken off the end is
missed too.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import sqlalchemy as sa

from proofcheck.base.visible import visible
from proofcheck.docket.canonical import sha256_of
from proofcheck.docket.docket_errors import DocketError

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = [
    "FORMS",
    "START",
    "VERSION",
    "about",
    "entries",
    "head",
    "link",
    "make_tables",
    "migrate",
    "version_of",
]

VERSION = 2
START = "0" * 64
"""What stands for the hash of the entry before the first."""

_tables = sa.MetaData()

about = sa.Table(
    "docket_about",
    _tables,
    sa.Column("name", sa.String(40), primary_key=True),
    sa.Column("value", sa.Text, nullable=False),
)
entries = sa.Table(
    "docket_entries",
    _tables,
    sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("job", sa.Text, nullable=False, index=True),
    sa.Column("place", sa.Integer, nullable=False),
    sa.Column("body", sa.LargeBinary, nullable=False),
    sa.Column("sha256", sa.String(64), nullable=False),
    sa.Column("book", sa.String(64), nullable=False),
    sa.UniqueConstraint("job", "place"),
)
head = sa.Table(
    "docket_head",
    _tables,
    sa.Column("only", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("number", sa.Integer, nullable=False),
    sa.Column("book", sa.String(64), nullable=False),
)


_ENTRIES = (
    "CREATE TABLE docket_entries(number INTEGER NOT NULL,job TEXT NOT NULL,"
    "place INTEGER NOT NULL,body BLOB NOT NULL,sha256 VARCHAR(64)NOT NULL,"
)
_KEYS = "PRIMARY KEY(number),UNIQUE(job,place)"
FORMS: Mapping[tuple[str, str, str], tuple[str | None, ...]] = {
    ("table", "docket_about", "docket_about"): (
        "CREATE TABLE docket_about(name VARCHAR(40)NOT NULL,value TEXT NOT NULL,PRIMARY KEY(name))",
    ),
    ("index", "sqlite_autoindex_docket_about_1", "docket_about"): (None,),
    ("table", "docket_entries", "docket_entries"): (
        f"{_ENTRIES}book VARCHAR(64)NOT NULL,{_KEYS})",
        f"{_ENTRIES}book VARCHAR(64)NOT NULL DEFAULT '{START}',{_KEYS})",
    ),
    ("index", "sqlite_autoindex_docket_entries_1", "docket_entries"): (None,),
    ("index", "ix_docket_entries_job", "docket_entries"): (
        "CREATE INDEX ix_docket_entries_job ON docket_entries(job)",
    ),
    ("table", "docket_head", "docket_head"): (
        (
            "CREATE TABLE docket_head(only INTEGER NOT NULL,number INTEGER NOT NULL,"
            "book VARCHAR(64)NOT NULL,PRIMARY KEY(only))"
        ),
    ),
}
"""All that a docket's SQLite file holds, by kind, name and table: the text it was made with, white
space but for one space between words left out; the entries as made and as brought up from
version 1."""


def link(before: str, number: int, entry_sha256: str) -> str:
    """The docket-wide link of entry `number`: over the link before it and its own hash."""
    return sha256_of(f"{before}:{number}:{entry_sha256}")


def make_tables(connection: sa.Connection) -> None:
    """Make the tables of the present version where there are none."""
    _tables.create_all(connection)
    if version_of(connection) is None:
        connection.execute(about.insert().values(name="version", value=str(VERSION)))
    if connection.execute(sa.select(head.c.only)).first() is None:
        connection.execute(head.insert().values(only=1, number=0, book=START))


def version_of(connection: sa.Connection) -> int | None:
    """Version of the tables found; None where there are none.

    Raises:
        DocketError: the version can't be read: that is no docket of ours.
    """
    if not sa.inspect(connection).has_table("docket_about"):
        return None
    held = connection.execute(sa.select(about.c.value).where(about.c.name == "version")).scalar()
    if held is None:
        return None
    if not held.isascii() or not held.isdigit() or int(held[:9]) < 1:
        msg = f"the docket's version is {visible(held)!r}, which is none; keep it and ask for help"
        raise DocketError(msg)
    return int(held)


def migrate(connection: sa.Connection, found: int) -> None:
    """Bring older tables up to the present version; the entries themselves are not touched."""
    if found < 2:
        _give_book_links(connection)
    connection.execute(about.update().where(about.c.name == "version").values(value=str(VERSION)))


def _give_book_links(connection: sa.Connection) -> None:
    connection.exec_driver_sql(
        f"ALTER TABLE docket_entries ADD COLUMN book VARCHAR(64) NOT NULL DEFAULT '{START}'"
    )
    head.create(connection)
    before, number = START, 0
    rows = connection.execute(
        sa.select(entries.c.number, entries.c.sha256).order_by(entries.c.number)
    ).all()
    for number, sha256 in rows:
        before = link(before, number, sha256)
        connection.execute(entries.update().where(entries.c.number == number).values(book=before))
    connection.execute(head.insert().values(only=1, number=number, book=before))
