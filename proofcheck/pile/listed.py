"""A table of proofs: one row a job, with columns proof, copy, job, options.

CSV as spreadsheets write it: UTF-8 with or without a mark, UTF-16 with one, Windows-1252; commas,
semicolons or tabs. The first two columns are wanted. A cell may name several sheets, parted by `|`,
or a pattern (307-*.png). Files lie beside the table, or where their path says.
"""

from __future__ import annotations

import csv
import io
from glob import glob
from pathlib import Path
from typing import TYPE_CHECKING

from proofcheck.base.errors import SettingError
from proofcheck.base.visible import visible
from proofcheck.pile.cell_options import options_in
from proofcheck.pile.piled import Pile, Piled, Source, natural, without_twins

if TYPE_CHECKING:
    from collections.abc import Mapping

    from proofcheck.base.options import Options

__all__ = ["pile_of_table"]

COLUMNS = ("proof", "copy", "job", "options")
_MOST_BYTES = 256 * 2**20
_ENCODINGS = ("utf-8-sig", "cp1252")


def pile_of_table(table: Path, options: Options) -> Pile:
    """The jobs a table names; a row that can't be used stands among them with its trouble.

    Raises:
        SettingError: the table can't be read, has no row, or lacks a column.
    """
    text = _text(table)
    rows = list(_rows(text, table))
    if not rows:
        msg = f"{visible(str(table))} names no proof: there is no row under its head"
        raise SettingError(msg)
    return Pile(without_twins([_job(table, number, row, options) for number, row in rows]))


def _text(table: Path) -> str:
    try:
        with table.open("rb") as file:
            data = file.read(_MOST_BYTES + 1)
    except OSError as error:
        reason = (error.strerror or "no file to be read").lower()
        msg = f"the table {visible(str(table))} can't be read ({reason}); check the path"
        raise SettingError(msg) from error
    if len(data) > _MOST_BYTES or (b"\0" in data and not _marked(data)):
        msg = f"{visible(str(table))} is no table of proofs; give a CSV file, or a folder"
        raise SettingError(msg)
    for encoding in ("utf-16",) if _marked(data) else _ENCODINGS:
        try:
            return data.decode(encoding)
        except UnicodeDecodeError:
            continue
    msg = f"the table {visible(str(table))} is in no encoding known here; save it as UTF-8"
    raise SettingError(msg)


def _marked(data: bytes) -> bool:
    return data.startswith((b"\xff\xfe", b"\xfe\xff"))


def _rows(text: str, table: Path) -> list[tuple[int, dict[str, str]]]:
    """Each row that says anything, with its number in the file, by column."""
    name = visible(str(table))
    head_line = next((line for line in text.splitlines() if line.strip()), "")
    parted = max(",;\t", key=head_line.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=parted, strict=True)
    head: list[str] = []
    found = []
    try:
        for cells in reader:
            if not any(cell.strip() for cell in cells):
                continue
            if not head:
                head = _checked_head([cell.strip().casefold() for cell in cells], name)
                continue
            if len(cells) > len(head) and any(cell.strip() for cell in cells[len(head) :]):
                msg = f"{name}, row {reader.line_num}: more cells than the head has columns"
                raise SettingError(msg)
            row = {column: cell.strip() for column, cell in zip(head, cells, strict=False)}
            found.append((reader.line_num, row))
    except csv.Error as error:
        msg = f"{name}, row {reader.line_num}: no table can be made of it ({error})"
        raise SettingError(msg) from error
    return found


def _checked_head(head: list[str], name: str) -> list[str]:
    while head and not head[-1]:
        head.pop()
    for wanted in ("proof", "copy"):
        if wanted not in head:
            msg = f"{name} has no column {wanted!r}; its head must name: {', '.join(COLUMNS)}"
            raise SettingError(msg)
    for column in head:
        if column not in COLUMNS or head.count(column) > 1:
            why = "unknown" if column not in COLUMNS else "there twice"
            msg = f"{name}: the column {visible(column)!r} is {why}; known: {', '.join(COLUMNS)}"
            raise SettingError(msg)
    return head


def _job(table: Path, number: int, row: Mapping[str, str], options: Options) -> Piled:
    job = visible(row.get("job") or _stem(row.get("proof", "")) or f"row {number}")
    try:
        chosen = options_in(row.get("options", ""), options, table.parent)
        scans = _sheets(table.parent, row.get("proof", ""))
        copy = _found(table.parent, row.get("copy", ""))
    except SettingError as error:
        return Piled(job, trouble=f"row {number} of {visible(table.name)}: {error}")
    return Piled(job, scans, copy, chosen)


def _stem(cell: str) -> str:
    return Path(cell.split("|", maxsplit=1)[0].strip().replace("\\", "/")).stem


def _sheets(folder: Path, cell: str) -> tuple[Source, ...]:
    found: list[Source] = []
    for part in (part.strip() for part in cell.split("|")):
        if any(sign in part for sign in "*?[") and "://" not in part:
            # By names within the folder, as they were given; a path from the root goes too.
            names = sorted(glob(part, root_dir=folder), key=natural)  # noqa: PTH207
            if not names:
                msg = f"no file is there for {visible(part)}"
                raise SettingError(msg)
            found += [_found(folder, name) for name in names]
        else:
            found.append(_found(folder, part))
    return tuple(found)


def _found(folder: Path, named: str) -> Source:
    """A file a cell names. Raises SettingError where it is not there."""
    if not named:
        msg = "a proof or its copy is not named"
        raise SettingError(msg)
    if "://" in named:
        return Source(named, visible(named))
    path = folder / named
    try:
        there = path.is_file()
    except (OSError, ValueError):
        there = False
    if not there:
        msg = f"the file {visible(named)[:120]} is not there; check its name"
        raise SettingError(msg)
    return Source(str(path), visible(named))
