"""Whether a docket's file is, to the last byte that is used, as the docket itself would write it.

SQLite's own check finds an index at odds with its table and a page that is out of place; it says
nothing of the text of the tables' own making, of the fields of the file's head, or of how a
value is stored. Those are held here against what a docket has: its tables and no others, the
fields of the head by the published file format of SQLite 3, every row's kinds of value as they
are written for these very values. What nothing reads (the free room in a page, and in the head
two counters that only the library uses for itself) is left alone.
"""

from __future__ import annotations

import mmap
import re
import time
from contextlib import closing
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.docket.schema import FORMS

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    import sqlalchemy as sa

__all__ = ["file_troubles", "outward_troubles", "record_head"]

_HEAD_BYTES = 100
_WHITE = re.compile(r"[ \n\t]+")
_TIGHT = re.compile(r" ?([(),]) ?")
_TRIES = 4
"""Looks at the head of a file, which another process may be writing at that moment."""


def file_troubles(connection: sa.Connection, rows: Sequence[Sequence[object]]) -> list[str]:
    """What is wrong with the SQLite file a transaction reads, a line each; empty if it is sound.

    Args:
        connection: within the transaction.
        rows: all rows of the entries as read in it. What they hold has hashes of its own; here it
            is looked at how they are stored.
    """
    said = [row[0] for row in connection.exec_driver_sql("PRAGMA integrity_check(3)")]
    if said != ["ok"]:
        words = "; ".join(visible(str(one)) for one in said)
        return [f"the docket's file is damaged ({words}); go back to a kept copy"]
    return _strange_tables(connection) or _strange_file(connection, rows)


def _strange_tables(connection: sa.Connection) -> list[str]:
    query = "SELECT rowid, type, name, tbl_name, sql FROM sqlite_master ORDER BY rowid"
    out: list[str] = []
    names: list[object] = []
    for place, (rowid, kind, name, table, sql) in enumerate(connection.exec_driver_sql(query), 1):
        names.append(name)
        forms = FORMS.get((kind, name, table), ())
        if rowid != place or (_plain(sql) if isinstance(sql, str) else sql) not in forms:
            out.append(f"{visible(str(kind))} {visible(str(name))} of the docket's file is not its")
    missing = [name for _, name, _ in FORMS if name not in names]
    out += [f"{name} is missing from the docket's file" for name in missing]
    return [f"{words}; go back to a kept copy" for words in out]


def _plain(sql: str) -> str:
    return _TIGHT.sub(r"\1", _WHITE.sub(" ", sql))


def outward_troubles(connection: sa.Connection) -> list[str]:
    """What is wrong with the file's tables and its head, as far as that is told without its rows.

    Args:
        connection: within a transaction.
    """
    return _strange_tables(connection) or _strange_outside(_path_of(connection), connection)[0]


def _strange_file(connection: sa.Connection, rows: Sequence[Sequence[object]]) -> list[str]:
    path = _path_of(connection)
    troubles, at_rest = _strange_outside(path, connection)
    if troubles or path is None or not at_rest:
        return troubles
    return _strange_records(connection, rows, path)


def _path_of(connection: sa.Connection) -> Path | None:
    """Where the file lies; None for one in memory."""
    held = connection.exec_driver_sql("PRAGMA database_list")
    path = next((row[2] for row in held if row[1] == "main"), "")
    return Path(path) if path else None


def _strange_outside(path: Path | None, connection: sa.Connection) -> tuple[list[str], bool]:
    """What is wrong with the file's head; and whether nothing waits in its log."""
    if path is None:
        return [], False
    pages = int(connection.exec_driver_sql("PRAGMA page_count").scalar() or 0)
    at_rest = not _log_size(path)
    found = ""
    for turn in range(_TRIES):
        if turn:
            time.sleep(0.02)
        found = _strange_head(path, pages if at_rest else None)
        if not found:
            return [], at_rest
    return [f"the head of the docket's file is not as it was written: {found}"], at_rest


def _log_size(path: Path) -> int:
    """Bytes in the log that is written ahead; while there are any the file lags behind."""
    log = path.with_name(path.name + "-wal")
    return log.stat().st_size if log.exists() else 0


def _strange_head(path: Path, pages: int | None) -> str:
    """Which field of the file's head is not as a docket's is; "" if none.

    Offsets and meanings: "Database File Format" of SQLite 3, section 1.3.
    """
    with path.open("rb") as held:
        head = held.read(_HEAD_BYTES)
        held.seek(0, 2)
        size = held.tell()
    if len(head) < _HEAD_BYTES:
        return "it is cut short"

    def figure(at: int, width: int = 4) -> int:
        return int.from_bytes(head[at : at + width], "big")

    page = 65536 if figure(16, 2) == 1 else figure(16, 2)
    version = figure(96)
    checks = {
        "kind of file": head[:16] == b"SQLite format 3\0",
        "size of page": 512 <= page <= 65536 and page & (page - 1) == 0 and size % page == 0,
        "way of writing": head[18] == head[19] and head[18] in (1, 2),
        "fixed fields": head[20:24] == bytes((0, 64, 32, 32)),
        "counter of changes": head[24:28] == head[92:96],
        "number of pages": pages is None or figure(28) * page == size == pages * page,
        "form of the tables": figure(44) in (1, 2, 3, 4) and figure(40) < 1 << 16,
        "settings": figure(52) == figure(64) == figure(60) == figure(68) == 0,
        "size of cache": figure(48) == 0,
        "encoding": figure(56) == 1,
        "empty fields": not any(head[72:92]),
        "version of the writer": 3_007_000 <= version < 3_100_000 and version % 1000 < 100,
    }
    return next((name for name, right in checks.items() if not right), "")


# ------------------------------------------------------------------ how rows are stored


def _strange_records(
    connection: sa.Connection, rows: Sequence[Sequence[object]], path: Path
) -> list[str]:
    """Rows that are not stored the way their values are: read as they should be, all the same."""
    query = "SELECT name, rootpage FROM sqlite_master WHERE type = 'table'"
    roots = {row[0]: row[1] for row in connection.exec_driver_sql(query)}
    size = int(connection.exec_driver_sql("PRAGMA page_size").scalar() or 0)
    tables: dict[str, Iterable[Sequence[object]]] = {
        # The number of a row is its place in the tree, and no value of its own.
        "docket_entries": ((row[0], None, *row[1:]) for row in rows),
        "docket_head": connection.exec_driver_sql(
            "SELECT only, NULL, number, book FROM docket_head NOT INDEXED"
        ),
        "docket_about": connection.exec_driver_sql(
            "SELECT rowid, name, value FROM docket_about NOT INDEXED"
        ),
    }
    if not path.stat().st_size:
        return []
    with (
        path.open("rb") as file,
        closing(mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)) as held,
    ):
        for table, held_rows in tables.items():
            heads: dict[object, bytes] = dict(_heads_in(held, size, roots[table]))
            for rowid, *values in held_rows:
                wanted = record_head(values)
                if not heads.get(rowid, b"").startswith(wanted):
                    return [f"row {rowid} of {table} is not stored as it was written"]
    return []


def record_head(values: Sequence[object]) -> bytes:
    """The head of a record of these values, as SQLite 3 writes it (file format, section 2.1)."""
    kinds = b"".join(_varint(_kind_of(value)) for value in values)
    return _varint(len(kinds) + 1) + kinds if len(kinds) < 127 else b""


def _kind_of(value: object) -> int:
    if value is None:
        return 0
    if isinstance(value, int):
        if value in (0, 1):
            return 8 + value
        needed = (value if value >= 0 else ~value).bit_length() + 1
        return next((kind for kind, bits in _WIDTHS if needed <= bits), 6)
    if isinstance(value, str):
        return 13 + 2 * len(value.encode("utf-8", "surrogateescape"))
    return 12 + 2 * len(value) if isinstance(value, bytes) else 7


_WIDTHS = ((1, 8), (2, 16), (3, 24), (4, 32), (5, 48))


@lru_cache(maxsize=4096)
def _varint(value: int) -> bytes:
    out = [value & 0x7F]
    while value := value >> 7:
        out.append(0x80 | value & 0x7F)
    return bytes(reversed(out))


def _heads_in(data: mmap.mmap, size: int, root: int) -> Iterator[tuple[int, bytes]]:
    """Row number and first bytes of each record of a table, its pages having been checked."""
    pages = [root]
    while pages:
        page = pages.pop()
        base = (page - 1) * size
        head = base + (_HEAD_BYTES if page == 1 else 0)
        inner = data[head] == 5
        first = head + (12 if inner else 8)
        count = int.from_bytes(data[head + 3 : head + 5], "big")
        if inner:
            pages.append(int.from_bytes(data[head + 8 : head + 12], "big"))
        for at in range(first, first + 2 * count, 2):
            cell = base + int.from_bytes(data[at : at + 2], "big")
            if inner:
                pages.append(int.from_bytes(data[cell : cell + 4], "big"))
            else:
                _, cell = _figure(data, cell)
                rowid, cell = _figure(data, cell)
                yield rowid, data[cell : cell + 32]


def _figure(data: mmap.mmap, at: int) -> tuple[int, int]:
    """A number of variable length, and where it ends."""
    value = 0
    for _ in range(8):
        value = value << 7 | data[at] & 0x7F
        at += 1
        if data[at - 1] < 0x80:
            break
    return value, at
